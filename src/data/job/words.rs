//! Words of a record that stand for one of a few things.

/// Before or after the repair.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum When {
    /// As found, before anything was changed.
    Before,
    /// After something was changed.
    After,
}

impl When {
    /// Both, in order of time.
    pub const ALL: [When; 2] = [When::Before, When::After];

    /// The word used in JSON and in the record.
    pub fn id(self) -> &'static str {
        match self {
            When::Before => "before",
            When::After => "after",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            When::Before => "before the repair",
            When::After => "after the repair",
        }
    }
}

/// How warm the unit was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Heat {
    /// At the temperature of the room.
    Cold,
    /// After running for a while.
    Warm,
}

impl Heat {
    /// Both.
    pub const ALL: [Heat; 2] = [Heat::Cold, Heat::Warm];

    /// The word used in JSON and in the record.
    pub fn id(self) -> &'static str {
        match self {
            Heat::Cold => "cold",
            Heat::Warm => "warm",
        }
    }
}

/// A line of the list to go through between the bench supply and mains (common practice).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ChangeOver {
    /// Every lead of the bench supply is off.
    BenchLeadsOff,
    /// Every earthed clip is off: a forgotten one connects the primary to earth.
    EarthedClipsOff,
    /// Differential probes, rated for it, are on.
    DifferentialProbes,
    /// A series lamp or an electronic limiter is in.
    Limiter,
    /// A dummy load is on the main output.
    DummyLoad,
    /// The customer's load is off.
    CustomersLoadOff,
    /// A cover is over switch and bulk capacitor.
    Cover,
}

impl ChangeOver {
    /// All lines, in the order in which they are gone through.
    pub const ALL: [ChangeOver; 7] = [
        ChangeOver::BenchLeadsOff,
        ChangeOver::EarthedClipsOff,
        ChangeOver::DifferentialProbes,
        ChangeOver::Limiter,
        ChangeOver::DummyLoad,
        ChangeOver::CustomersLoadOff,
        ChangeOver::Cover,
    ];

    /// The word used in JSON and in the record.
    pub fn id(self) -> &'static str {
        match self {
            ChangeOver::BenchLeadsOff => "bench-leads-off",
            ChangeOver::EarthedClipsOff => "earthed-clips-off",
            ChangeOver::DifferentialProbes => "differential-probes",
            ChangeOver::Limiter => "limiter",
            ChangeOver::DummyLoad => "dummy-load",
            ChangeOver::CustomersLoadOff => "customers-load-off",
            ChangeOver::Cover => "cover",
        }
    }

    /// The line of the list.
    pub fn title(self) -> &'static str {
        match self {
            ChangeOver::BenchLeadsOff => "Every lead of the bench supply off",
            ChangeOver::EarthedClipsOff => "Every earthed clip off",
            ChangeOver::DifferentialProbes => "Differential probes on, rated for it",
            ChangeOver::Limiter => "Lamp or limiter in series",
            ChangeOver::DummyLoad => "Dummy load on the main output",
            ChangeOver::CustomersLoadOff => "Customer's load off",
            ChangeOver::Cover => "Cover over switch and bulk capacitor",
        }
    }

    /// Why it is on the list.
    pub fn why(self) -> &'static str {
        match self {
            ChangeOver::BenchLeadsOff => "a lead left on carries mains to the bench",
            ChangeOver::EarthedClipsOff => "one forgotten clip connects the primary to earth",
            ChangeOver::DifferentialProbes => {
                "the primary has no earth to measure against, and the scope keeps its own"
            }
            ChangeOver::Limiter => "a second fault then lights a lamp instead of bursting a part",
            ChangeOver::DummyLoad => "a supply without load may not regulate",
            ChangeOver::CustomersLoadOff => "a supply that loses its feedback destroys its load",
            ChangeOver::Cover => "a part that bursts throws its pieces",
        }
    }
}
