//! The supply's input as typed: `230ac`, `230ac±6%`, `85..265ac`, `48dc`.

use std::fmt;

use super::{Kind, clean, value};
use crate::data::{Bounded, budget::Feed};

/// Tolerance of mains and direct inputs where none is told (EN 50160: ±10 %).
pub const USUAL: f64 = 0.10;
/// No supply of the bench is fed with more, in volts.
const MOST_V: f64 = 10e3;

/// What feeds the unit, as it was told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Direct, as opposed to alternating.
    pub dc: bool,
    /// In volts; of an alternating one the effective value.
    pub volts: InputVolts,
}

/// The voltage of an input with its limits, as they were told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum InputVolts {
    /// A nominal voltage alone.
    Nominal(f64),
    /// A nominal voltage, and by how many per cent it may differ.
    Within(f64, f64),
    /// Least and most.
    Between(f64, f64),
}

impl Input {
    /// Reads `230ac`, `230ac±6%`, `85..265ac` or `48dc`, with or without `V` and spaces: above 0 and up to
    /// 10 kV.
    ///
    /// # Errors
    /// A sentence that names the text and the forms expected: `ac` or `dc` missing, no voltage, a tolerance
    /// of 100 % or more, limits in the wrong order.
    pub fn read(text: &str) -> Result<Input, String> {
        let wrong = || {
            format!(
                "'{}' is no input; write it like 230ac, 230ac±6%, 85..265ac, 48dc or 36..72dc",
                clean(text)
            )
        };
        let typed: String = text.to_ascii_lowercase().split_whitespace().collect();
        let typed = typed.replace("+-", "±");
        let (volts, tolerance, dc) = match (typed.split_once("ac"), typed.split_once("dc")) {
            (Some((volts, rest)), _) => (volts, rest, false),
            (None, Some((volts, rest))) => (volts, rest, true),
            (None, None) => return Err(wrong()),
        };
        let tolerance = tolerance.strip_prefix('±').unwrap_or(tolerance);
        let volts = match (volts.split_once(".."), tolerance) {
            (Some((low, high)), "") => InputVolts::between(low, high),
            (Some(_), _) => None,
            (None, "") => one(volts).map(InputVolts::Nominal),
            (None, tolerance) => InputVolts::within(volts, tolerance),
        };
        volts.map(|volts| Input { dc, volts }).ok_or_else(wrong)
    }

    /// What the budget computes with; ±10 % where no limits were told.
    pub fn feed(self) -> Feed {
        let volts = match self.volts {
            InputVolts::Nominal(volts) => Bounded::within(volts, USUAL, USUAL),
            InputVolts::Within(volts, percent) => {
                Bounded::within(volts, percent / 100.0, percent / 100.0)
            }
            InputVolts::Between(low, high) => Bounded::around(0.5 * (low + high), low, high),
        };
        Feed {
            ac: !self.dc,
            volts,
            limits_told: !matches!(self.volts, InputVolts::Nominal(_)),
        }
    }
}

impl InputVolts {
    fn between(low: &str, high: &str) -> Option<InputVolts> {
        let (low, high) = (one(low)?, one(high)?);
        (low <= high).then_some(InputVolts::Between(low, high))
    }

    fn within(volts: &str, tolerance: &str) -> Option<InputVolts> {
        let percent = value(tolerance.strip_suffix('%')?, Kind::Ratio).ok()?;
        let good = (0.0..100.0).contains(&percent);
        good.then_some(InputVolts::Within(one(volts)?, percent))
    }
}

fn one(text: &str) -> Option<f64> {
    let found = value(text.trim_end_matches('v'), Kind::Volt).ok();
    found.filter(|volts| *volts > 0.0 && *volts <= MOST_V)
}

/// As [`Input::read`] reads it back, without loss.
impl fmt::Display for Input {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = if self.dc { "dc" } else { "ac" };
        match self.volts {
            InputVolts::Nominal(volts) => write!(f, "{volts}{kind}"),
            InputVolts::Within(volts, percent) => write!(f, "{volts}{kind}±{percent}%"),
            InputVolts::Between(low, high) => write!(f, "{low}..{high}{kind}"),
        }
    }
}

/// The input that a text means, as [`Input::read`] reads it.
///
/// # Errors
/// As there.
pub fn feed(text: &str) -> Result<Feed, String> {
    Input::read(text).map(Input::feed)
}
