//! The start-up order: the stages as a supply wakes.

/// A stage of the start-up order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// VCC reaches the start threshold, and the controller stops where it should.
    Supply,
    /// VREF comes up.
    Reference,
    /// The RT/CT ramp runs.
    Oscillator,
    /// OUT switches and the gate follows.
    Drive,
    /// The current-sense input sees what it should.
    CurrentSense,
    /// The unit runs on its own winding.
    OwnSupply,
}

impl Stage {
    /// All stages, in waking order.
    pub const ALL: [Stage; 6] = [
        Stage::Supply,
        Stage::Reference,
        Stage::Oscillator,
        Stage::Drive,
        Stage::CurrentSense,
        Stage::OwnSupply,
    ];

    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Stage::Supply => "supply",
            Stage::Reference => "reference",
            Stage::Oscillator => "oscillator",
            Stage::Drive => "drive",
            Stage::CurrentSense => "current-sense",
            Stage::OwnSupply => "own-supply",
        }
    }

    /// The name shown.
    pub fn title(self) -> &'static str {
        match self {
            Stage::Supply => "Supply",
            Stage::Reference => "Reference",
            Stage::Oscillator => "Oscillator",
            Stage::Drive => "Drive",
            Stage::CurrentSense => "Current sense",
            Stage::OwnSupply => "Own supply",
        }
    }
}

/// State of a stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StageState {
    /// Shown to work, with more margin than the number stated for the stage.
    Working,
    /// Works, with a margin below the number stated for the stage.
    Marginal,
    /// Does not work although its inputs were shown good in the same run.
    Dead,
    /// Nothing in the run says.
    NotTested,
}

impl StageState {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            StageState::Working => "working",
            StageState::Marginal => "marginal",
            StageState::Dead => "dead",
            StageState::NotTested => "not-tested",
        }
    }

    /// The word shown.
    pub fn title(self) -> &'static str {
        match self {
            StageState::NotTested => "not tested",
            other => other.id(),
        }
    }
}
