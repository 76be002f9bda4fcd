//! Voltage steps: the bench supply set to a voltage, and whether the controller works there.
//!
//! The start threshold is crossed going up and the stop threshold going down, so a reading says
//! most where it is known from which side the voltage came.

/// From which side the supply came to the voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    /// The voltage was being raised.
    Up,
    /// The voltage was being lowered.
    Down,
}

impl Direction {
    /// The word used in JSON and in files: `up` or `down`.
    pub fn id(self) -> &'static str {
        match self {
            Direction::Up => "up",
            Direction::Down => "down",
        }
    }
}

/// Where a reading comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StepPlace {
    /// This line of a file, from 1.
    Line(usize),
    /// Typed in.
    Typed,
    /// This capture, from 0: VCC and a pin that shows whether the controller works.
    Shot(usize),
}

impl StepPlace {
    /// In words: `line 3`, `typed`, `shot 2`.
    pub fn in_words(self) -> String {
        match self {
            StepPlace::Line(line) => format!("line {line}"),
            StepPlace::Typed => "typed".to_owned(),
            StepPlace::Shot(index) => format!("shot {}", index.saturating_add(1)),
        }
    }
}

/// One works-or-dead reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VoltageStep {
    /// VCC as read, in volts.
    pub volts: f64,
    /// Does the controller work there (as opposed to being dead)?
    pub works: bool,
    /// From which side the voltage came; `None` where nobody said.
    pub going: Option<Direction>,
    /// Supply current there, in amperes, where it was read.
    pub current_a: Option<f64>,
    /// Where the reading comes from.
    pub place: StepPlace,
}

impl VoltageStep {
    /// `works` or `dead`.
    pub fn state_id(&self) -> &'static str {
        if self.works { "works" } else { "dead" }
    }
}

/// Between which readings a threshold lies, in volts.
///
/// `low_v` is the highest voltage at which it is dead, `high_v` the lowest at which it works, of the
/// readings going in the threshold's direction. A side is `None` where no such reading was taken. Where readings
/// contradict each other, `low_v` is not below `high_v`.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bracket {
    /// Highest dead.
    pub low_v: Option<f64>,
    /// Lowest working.
    pub high_v: Option<f64>,
}

impl Bracket {
    /// Both sides, where both are there and the lower one lies below the upper one.
    pub fn sides(&self) -> Option<(f64, f64)> {
        let (low, high) = (self.low_v?, self.high_v?);
        (low < high).then_some((low, high))
    }
}

/// A threshold that scatters: P(works) = Φ((V − centre) / sigma), fitted by maximum likelihood.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProbitFit {
    /// Voltage at which it works in half of the cases, in volts.
    pub centre_v: f64,
    /// Standard uncertainty of the centre, in volts.
    pub u_v: f64,
    /// Standard deviation of the scatter, in volts; small samples give it too small.
    pub sigma_v: f64,
    /// Number of readings.
    pub count: usize,
}

/// What the voltage steps of a run say.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StepsFinding {
    /// All readings, in the order given, those of captures last.
    pub readings: Vec<VoltageStep>,
    /// Between which readings the start threshold lies.
    pub start: Bracket,
    /// Between which readings the stop threshold lies.
    pub stop: Bracket,
    /// The start threshold where its readings contradict each other and are enough for a fit.
    pub start_fit: Option<ProbitFit>,
    /// The same of the stop threshold.
    pub stop_fit: Option<ProbitFit>,
    /// The start lies above this, in volts, by the readings without direction: dead at V, so start > V.
    pub start_above_v: Option<f64>,
    /// The stop lies at or below this, in volts, by the readings without direction: works at V, so
    /// stop ≤ V.
    pub stop_at_most_v: Option<f64>,
    /// What can't be true together, as sentences.
    pub contradictions: Vec<String>,
    /// What else should be said, as sentences.
    pub remarks: Vec<String>,
}
