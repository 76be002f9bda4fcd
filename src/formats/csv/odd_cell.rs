//! Cells that are not simply a number: words for "no value", odd numbers, clock times.

use super::dialect::shortened;
use super::piece::Stop;
use super::plan::{AxisPlan, ClockPlan, ColumnPlan, Plan, Slot};
use crate::formats::text::cell::{self, CellKind};
use crate::formats::text::clock::{self, DateOrder};
use crate::formats::text::encoding::Encoding;
use crate::formats::text::number::{self, Number};
use crate::formats::text::odd::{self, Marks, Suffix};
use crate::formats::text::unit::Scaled;

/// How cells of a column that are no plain numbers are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Rule {
    /// How numbers are written.
    pub marks: Marks,
    /// The encoding of the cells.
    pub encoding: Encoding,
    /// The column's axis.
    pub axis: usize,
    /// May the time be missing, because the channel ends before others?
    pub may_end: bool,
    /// Clock times.
    clock: Option<ClockPlan>,
    /// The unit that may stand behind a number.
    unit: Option<Scaled>,
}

impl Default for Rule {
    fn default() -> Self {
        Self {
            marks: Marks::of(b'.'),
            encoding: Encoding::Utf8,
            axis: 0,
            may_end: false,
            clock: None,
            unit: None,
        }
    }
}

impl Rule {
    /// The rule of a column.
    pub fn of(plan: &Plan, column: &ColumnPlan) -> Self {
        let clock = match plan.axes.get(column.axis) {
            Some(AxisPlan::Column { clock, .. }) if column.slot == Slot::Time => *clock,
            _ => None,
        };
        let scaled = Scaled {
            unit: column.unit,
            factor: column.factor,
        };
        Self {
            marks: plan.marks,
            encoding: plan.form.cells(),
            axis: column.axis,
            may_end: plan.axes.len() > 1,
            clock,
            unit: (!column.codes).then_some(scaled),
        }
    }
}

/// Why there is no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Gap {
    /// Nothing, or a word for it.
    Missing,
    /// The file says that the value lies beyond the range.
    BeyondRange,
}

/// What a cell holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Taken {
    /// A number.
    Number(Number),
    /// None.
    Gap(Gap),
}

/// Takes the cell of column `index`.
pub(super) fn take(text: &[u8], index: usize, rule: &Rule) -> Result<Taken, Stop> {
    let text = rule.encoding.decode(text);
    let bare = cell::bare(&text);
    let refused = || Stop::NotANumber(index, shortened(&text));
    if let Some(clock) = &rule.clock {
        return match clock::parse(bare) {
            Some(found) => with_day(found, clock, index).map(Taken::Number),
            None if bare.is_empty() => Ok(Taken::Gap(Gap::Missing)),
            None => Err(refused()),
        };
    }
    match cell::kind(&text, rule.marks) {
        CellKind::Number => number::whole(bare, rule.marks.decimal)
            .map(Taken::Number)
            .ok_or_else(refused),
        CellKind::Odd => odd_number(bare, rule).ok_or_else(refused),
        CellKind::Empty | CellKind::Missing => Ok(Taken::Gap(Gap::Missing)),
        CellKind::Overload => Ok(Taken::Gap(Gap::BeyondRange)),
        CellKind::Clock | CellKind::Text => Err(refused()),
    }
}

/// A number with marks between thousands, or with a prefix or a unit behind it. In a column in plain
/// units both are understood; in one with a prefix only its own unit is.
fn odd_number(text: &str, rule: &Rule) -> Option<Taken> {
    let odd = odd::parse(text, rule.marks)?;
    let plain = rule
        .unit
        .is_some_and(|u| u.factor.to_bits() == 1.0_f64.to_bits());
    let number = match odd.suffix {
        Suffix::None => Some(odd.number),
        Suffix::Prefix(_) => plain.then_some(odd.number),
        Suffix::Unit(found) => rule.unit.and_then(|own| {
            let same = (own.factor / found.factor - 1.0).abs() < 1e-9;
            match own.unit == found.unit {
                true if plain => Some(odd.number),
                true if same => Some(odd.bare),
                _ => None,
            }
        }),
    };
    number.map(Taken::Number)
}

/// Seconds since the midnight before the first sample.
fn with_day(found: clock::Clock<'_>, plan: &ClockPlan, index: usize) -> Result<Number, Stop> {
    let (Some(date), Some(first)) = (found.date, plan.day) else {
        return Ok(found.seconds);
    };
    let order = plan.order.unwrap_or(DateOrder::DayFirst);
    let refused = || Stop::NotANumber(index, shortened(date));
    let days = clock::day_number(date, order).ok_or_else(refused)? - first;
    if plan.order.is_none() && days != 0 {
        return Err(Stop::DateOrder(index, shortened(date)));
    }
    let seconds = found.seconds;
    let more = days.saturating_mul(86_400);
    let power = 10_i64
        .checked_pow(seconds.exponent.unsigned_abs())
        .ok_or_else(refused)?;
    let mantissa = more
        .checked_mul(power)
        .and_then(|more| more.checked_add_unsigned(seconds.mantissa))
        .ok_or_else(refused)?;
    Ok(Number {
        value: more as f64 + seconds.value,
        mantissa: mantissa.unsigned_abs(),
        exponent: seconds.exponent,
    })
}
