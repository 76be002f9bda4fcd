//! How the unit was fed, and what a capture shows.

/// Bulk voltage below which a bench supply may be connected, in volts (common practice).
pub const BULK_DISCHARGED_V: f64 = 10.0;

/// How the unit is fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Setup {
    /// Unpowered; meter readings only.
    Cold,
    /// Mains out, a current-limited bench supply feeds VCC.
    Injected,
    /// Injected, plus 30 to 50 V on the bulk capacitor.
    LowBulk,
    /// On mains, through an isolating transformer and a limiter.
    Mains,
}

impl Setup {
    /// All set-ups, from the least to the most dangerous.
    pub const ALL: [Setup; 4] = [Setup::Cold, Setup::Injected, Setup::LowBulk, Setup::Mains];

    /// The word used on the command line and in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Setup::Cold => "cold",
            Setup::Injected => "injected",
            Setup::LowBulk => "low-bulk",
            Setup::Mains => "mains",
        }
    }

    /// The set-up of this word.
    pub fn from_id(id: &str) -> Option<Setup> {
        Setup::ALL
            .into_iter()
            .find(|setup| setup.id().eq_ignore_ascii_case(id))
    }

    /// What it means, in a line.
    pub fn meaning(self) -> &'static str {
        match self {
            Setup::Cold => "unpowered, meter readings only",
            Setup::Injected => "mains out, bench supply on VCC",
            Setup::LowBulk => "bench supply on VCC, 30 to 50 V on the bulk capacitor",
            Setup::Mains => "on mains, isolated and limited",
        }
    }

    /// Is a bench supply on VCC in this set-up?
    pub fn bench_fed(self) -> bool {
        matches!(self, Setup::Injected | Setup::LowBulk)
    }
}

/// What a capture shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum ShotKind {
    /// VCC driven up and down from outside.
    Sweep,
    /// VCC climbing by itself, starting, falling back or taking over.
    Start,
    /// A fast record of something that runs.
    Running,
}

impl ShotKind {
    /// All kinds.
    pub const ALL: [ShotKind; 3] = [ShotKind::Sweep, ShotKind::Start, ShotKind::Running];

    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            ShotKind::Sweep => "sweep",
            ShotKind::Start => "start",
            ShotKind::Running => "running",
        }
    }
}
