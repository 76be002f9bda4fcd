//! A time axis from a column of clock times.

use super::dialect::shortened;
use super::plan::{AxisPlan, ClockPlan, Rows};
use super::time_axis::{Known, TimeColumn};
use super::time_fit::Printed;
use crate::data::{Answer, Decision};
use crate::formats::text::clock::{self, Clock, DateOrder};
use crate::formats::{FormatError, layout};

/// Time from a column of clock times, counted from the first sample.
pub(super) fn from_column(
    known: &Known<'_>,
    index: usize,
    decisions: &mut Vec<Decision>,
) -> Result<(AxisPlan, TimeColumn), FormatError> {
    let texts = known.dialect.column(known.head, index);
    let clocks: Vec<Clock<'_>> = texts.iter().filter_map(|text| clock::parse(text)).collect();
    let Some(first) = clocks.first() else {
        return Err(FormatError::TooLittle {
            file: known.head.file.clone(),
            what: format!("column {} holds no time", index + 1),
            wanted: "a time in each row",
        });
    };
    let order = order(known, &clocks, decisions)?;
    // while the order is open, any order tells whether the date stays the same
    let reading = order.unwrap_or(DateOrder::DayFirst);
    let day = first.date.and_then(|date| clock::day_number(date, reading));
    decisions.push(Decision {
        what: format!("unit.{}", index + 1),
        value: "s".to_owned(),
        why: format!(
            "clock times, counted from the first, {}",
            shortened(texts.first().unwrap_or(&""))
        ),
    });
    let numbers: Vec<_> = clocks.iter().map(|clock| clock.seconds).collect();
    let axis = AxisPlan::Column {
        index,
        printed: Printed::of(&numbers),
        even: true,
        rows: Rows::Each,
        clock: Some(ClockPlan { order, day }),
    };
    let column = TimeColumn {
        index,
        factor: 1.0,
        offset: -first.seconds.value,
    };
    Ok((axis, column))
}

/// The order of dates: as told, as they show, any where all dates looked at are the same.
fn order(
    known: &Known<'_>,
    clocks: &[Clock<'_>],
    decisions: &mut Vec<Decision>,
) -> Result<Option<DateOrder>, FormatError> {
    let dates: Vec<&str> = clocks.iter().filter_map(|clock| clock.date).collect();
    let Some(first) = dates.first() else {
        return Ok(None);
    };
    let (order, why) = match layout::given(known.options, "date") {
        Some(value) => (
            DateOrder::from_id(value),
            layout::why_given(known.options, "date"),
        ),
        None => (
            dates.iter().find_map(|date| clock::order(date)),
            format!("as `{}` shows", shortened(first)),
        ),
    };
    let Some(order) = order else {
        if dates.iter().all(|date| date == first) {
            return Ok(None);
        }
        return Err(FormatError::ask(
            &known.head.file,
            format!(
                "in the date `{}` day and month could be either; which order is it?",
                shortened(first)
            ),
            vec![Answer::of("date", "dmy"), Answer::of("date", "mdy")],
        ));
    };
    decisions.push(Decision {
        what: "date".to_owned(),
        value: match order {
            DateOrder::YearFirst => "ymd",
            DateOrder::DayFirst => "dmy",
            DateOrder::MonthFirst => "mdy",
        }
        .to_owned(),
        why,
    });
    Ok(Some(order))
}
