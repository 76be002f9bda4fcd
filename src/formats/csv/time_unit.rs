//! Seconds of one unit of a time column, and whether the file agrees with itself about them.

use super::draft;
use super::keys::Key;
use super::preamble::{Said, interval};
use super::time_axis::Known;
use super::time_fit::{Printed, TimeFit};
use crate::data::{Answer, Decision, Unit};
use crate::formats::text::number::Number;
use crate::formats::text::unit::{self, Scaled};
use crate::formats::{FormatError, layout};

/// Seconds of one unit of a time column: as named with it, in the preamble, or as its step compared
/// with the sample interval tells.
pub(super) fn unit_of(
    known: &Known<'_>,
    index: usize,
    step: Option<f64>,
    decisions: &mut Vec<Decision>,
) -> Result<f64, FormatError> {
    let draft = known.drafts.get(index);
    let named = draft.and_then(|d| d.unit);
    let in_preamble = || {
        let (text, line) = known.preamble.text(Key::TimeUnit)?;
        let scaled = unit::parse(text).filter(|scaled| scaled.unit == Unit::Second)?;
        Some((scaled, line))
    };
    let (unit, why) = match (named, in_preamble()) {
        (Some(scaled), _) => (Some(scaled), draft.map_or(String::new(), |d| d.why.clone())),
        (None, Some((scaled, line))) => (Some(scaled), format!("told in line {line}")),
        (None, None) => (None, String::new()),
    };
    let said = interval(known.preamble, &known.head.file)?;
    let (unit, why) = match (unit, step, said) {
        (unit, Some(step), Some(said)) => agreed(known, index, step, said, unit.zip(Some(why)))?,
        (Some(scaled), ..) => (scaled.factor, why),
        (None, ..) => (1.0, "no unit named: seconds assumed".to_owned()),
    };
    decisions.push(Decision {
        what: format!("unit.{}", index + 1),
        value: super::columns::shown_unit(Unit::Second, unit),
        why,
    });
    Ok(unit)
}

/// The unit in which the column's step is the interval that the file tells.
fn agreed(
    known: &Known<'_>,
    index: usize,
    step: f64,
    said: Said,
    named: Option<(Scaled, String)>,
) -> Result<(f64, String), FormatError> {
    let told = layout::given(known.options, &format!("unit.{}", index + 1)).is_some();
    let number = index + 1;
    match (named, time_unit_between(said.si(), step)) {
        (Some((scaled, why)), _) if told => Ok((scaled.factor, why)),
        (Some((scaled, why)), Some(factor)) if (scaled.factor / factor - 1.0).abs() < 1e-9 => {
            Ok((scaled.factor, why))
        }
        (None, Some(factor)) => Ok((
            factor,
            format!("its step is then the sample interval of line {}", said.line),
        )),
        (named, _) if coarse(known, index, step) => Ok(named.map_or_else(
            || (1.0, "no unit named: seconds assumed".to_owned()),
            |(scaled, why)| (scaled.factor, why),
        )),
        _ => Err(FormatError::ask(
            &known.head.file,
            format!(
                "line {} tells a sample interval of {:e} s, but column {number} steps by {step:e}; which unit has it, or is the interval right?",
                said.line,
                said.si()
            ),
            vec![
                Answer::open(format!("unit.{number}")),
                Answer::of("interval", format!("{:e}", said.si())),
            ],
        )),
    }
}

/// Are the times rounded so coarsely that the first rows do not give the step to 2 %?
fn coarse(known: &Known<'_>, index: usize, step: f64) -> bool {
    let numbers = draft::numbers(known.head, known.dialect, index).unwrap_or_default();
    let digit = match Printed::of(&numbers) {
        Printed::Fixed(power) => 10_f64.powi(power),
        Printed::Digits(digits) => {
            let most = numbers.iter().map(|n| n.value.abs()).fold(0.0, f64::max);
            most * 10_f64.powi(1 - digits)
        }
    };
    2.0 * digit > 0.01 * step * numbers.len() as f64
}

/// Seconds of one unit of a column that steps by `step`, if its interval is `interval_s` and the unit
/// is s, ms, us or ns.
pub(super) fn time_unit_between(interval_s: f64, step: f64) -> Option<f64> {
    [1.0, 1e-3, 1e-6, 1e-9]
        .into_iter()
        .find(|factor| (step * factor / interval_s - 1.0).abs() < 0.02)
}

/// The step of numbers that rise evenly, to within their rounding.
pub(super) fn even_step(numbers: &[Number]) -> Option<f64> {
    let mut fit = TimeFit::new(Printed::of(numbers));
    let rises = numbers.iter().all(|n| fit.push(n.value).is_ok());
    let (_, step) = fit.line().filter(|_| rises)?;
    Some(step)
}
