//! What was done: parts replaced, checks before mains, soak, pictures, hours and cost.

/// A part that was replaced.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Replaced {
    /// Which one: `D7`.
    pub part: String,
    /// Why.
    pub why: String,
    /// With what.
    pub with: String,
    /// When, ISO 8601; empty where nobody said.
    pub date: String,
}

/// A check that somebody entered.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MainsCheck {
    /// By what it was checked: `1.1 V into CS through 1 kohm stops OUT`.
    pub by: String,
    /// When, ISO 8601; empty where nobody said.
    pub date: String,
}

/// The checks that a bench-fed run leaves out and that come before mains.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct MainsChecks {
    /// The current sense stops the pulses.
    pub current_sense: Option<MainsCheck>,
    /// The feedback loop holds the output.
    pub feedback_loop: Option<MainsCheck>,
}

/// A long run under load after the repair.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Soak {
    /// The load: `2 A`, `dummy 12 ohm`.
    pub load: String,
    /// How long it ran, in minutes.
    pub minutes: f64,
    /// Whether it ended as it should; `None` while it runs or where nobody said.
    pub passed: Option<bool>,
    /// What was seen.
    pub result: String,
    /// When, ISO 8601; empty where nobody said.
    pub date: String,
}

/// A photo or a picture of a scope's screen.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Picture {
    /// Path in the job's folder, with `/`.
    pub file: String,
    /// SHA-256 of the file, 64 hexadecimal digits (FIPS 180-4).
    pub sha256: String,
    /// What it shows.
    pub title: String,
}

/// What the job costs.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Work {
    /// What the owner was told it would cost.
    pub estimate: Option<f64>,
    /// Hours worked.
    pub hours: Option<f64>,
    /// What it costs.
    pub cost: Option<f64>,
    /// Currency of both: three capital letters (ISO 4217); empty where nobody said.
    pub currency: String,
}
