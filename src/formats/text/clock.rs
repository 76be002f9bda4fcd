//! Dates and times of day.

use super::number::Number;

/// The order of year, month and day in a date.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateOrder {
    /// 2026-11-25
    YearFirst,
    /// 25.11.2026
    DayFirst,
    /// 11/25/2026
    MonthFirst,
}

impl DateOrder {
    /// The order of this word.
    pub fn from_id(id: &str) -> Option<DateOrder> {
        Some(match id {
            "ymd" => DateOrder::YearFirst,
            "dmy" => DateOrder::DayFirst,
            "mdy" => DateOrder::MonthFirst,
            _ => return None,
        })
    }
}

/// A time of day, with its date where there is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clock<'a> {
    /// Seconds since midnight, as printed.
    pub seconds: Number,
    /// The date as it stands there.
    pub date: Option<&'a str>,
}

/// The time of day that `text` is as a whole: `12:00:00.001`, `2026-11-25T12:00:00,5Z`,
/// `25.11.2026 1:05:09 PM`. Hours and minutes alone are none: they could be minutes and seconds.
pub fn parse(text: &str) -> Option<Clock<'_>> {
    let text = text.trim().trim_end_matches(['Z', 'z']);
    let (text, half_day) = half_day(text);
    let start = text
        .find(':')
        .map(|colon| {
            text.get(..colon)
                .unwrap_or("")
                .trim_end_matches(|c: char| c.is_ascii_digit())
        })?
        .len();
    let (date, time) = (text.get(..start)?, text.get(start..)?);
    let date = date.trim().trim_end_matches(['T', 't', ',']).trim_end();
    let date = match date {
        "" => None,
        date => Some(fields(date).map(|_| date)?),
    };
    Some(Clock {
        seconds: of_day(time, half_day)?,
        date,
    })
}

fn half_day(text: &str) -> (&str, Option<bool>) {
    let lower = text.to_ascii_lowercase();
    for (mark, afternoon) in [("am", false), ("pm", true)] {
        if lower.ends_with(mark) {
            let rest = text.get(..text.len() - 2).unwrap_or(text).trim_end();
            return (rest, Some(afternoon));
        }
    }
    (text, None)
}

/// Seconds since midnight of `h:mm:ss`, with a fraction behind a point, a comma or a third colon.
fn of_day(text: &str, half_day: Option<bool>) -> Option<Number> {
    let mut parts = text.splitn(3, ':');
    let (hours, minutes, seconds) = (parts.next()?, parts.next()?, parts.next()?);
    let (seconds, fraction) = match seconds.split_once(['.', ',', ':']) {
        Some((_, "")) => return None,
        Some((seconds, fraction)) => (seconds, fraction),
        None => (seconds, ""),
    };
    let whole = |text: &str, digits: std::ops::RangeInclusive<usize>, below: u64| {
        let fits = digits.contains(&text.len()) && text.bytes().all(|b| b.is_ascii_digit());
        text.parse::<u64>().ok().filter(|n| fits && *n < below)
    };
    let mut hours = whole(hours, 1..=2, 24)?;
    if let Some(afternoon) = half_day {
        hours = hours % 12 + if afternoon { 12 } else { 0 };
    }
    let seconds = hours * 3600 + whole(minutes, 2..=2, 60)? * 60 + whole(seconds, 2..=2, 61)?;
    let digits = fraction.len();
    let part = match fraction {
        "" => 0,
        text => whole(text, 1..=9, u64::MAX)?,
    };
    let mantissa = seconds * 10_u64.pow(digits as u32) + part;
    Some(Number {
        // both are whole numbers below 2^53: the quotient is correctly rounded
        value: mantissa as f64 / 10_f64.powi(digits as i32),
        mantissa,
        exponent: -(digits as i32),
    })
}

/// The three fields of a date and what stands between them.
fn fields(text: &str) -> Option<([&str; 3], char)> {
    let mark = text.chars().find(|c| matches!(c, '-' | '/' | '.' | ' '))?;
    let mut parts = text.split(mark);
    let fields = [parts.next()?, parts.next()?, parts.next()?];
    let fits = |field: &&str| !field.is_empty() && field.len() <= 4;
    let month =
        |field: &&str| field.bytes().all(|b| b.is_ascii_digit()) || named_month(field).is_some();
    (parts.next().is_none() && fields.iter().all(fits) && fields.iter().all(month))
        .then_some((fields, mark))
}

fn named_month(text: &str) -> Option<u32> {
    const NAMES: [&str; 12] = [
        "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
    ];
    let lower = text.to_ascii_lowercase();
    let at = NAMES.iter().position(|name| *name == lower)?;
    Some(at as u32 + 1)
}

/// Is `text` a date?
pub fn is_date(text: &str) -> bool {
    fields(text.trim()).is_some_and(|(fields, _)| {
        fields.iter().any(|f| f.len() == 4)
            || fields.iter().all(|f| f.len() == 2)
            || fields.iter().any(|f| named_month(f).is_some())
    })
}

/// The order that a date shows by itself: a year of four digits in front, a month by name, a number
/// above 12, or points between (day first, common practice); `None` where it could be either.
pub fn order(text: &str) -> Option<DateOrder> {
    let ([a, b, _], mark) = fields(text.trim())?;
    let above_12 = |field: &str| field.parse::<u32>().is_ok_and(|n| n > 12);
    if a.len() == 4 {
        Some(DateOrder::YearFirst)
    } else if mark == '.' || named_month(b).is_some() || above_12(a) {
        Some(DateOrder::DayFirst)
    } else if named_month(a).is_some() || above_12(b) {
        Some(DateOrder::MonthFirst)
    } else {
        None
    }
}

/// Days since 1970-01-01 of a date in this order; `None` when it is none.
pub fn day_number(text: &str, order: DateOrder) -> Option<i64> {
    let ([a, b, c], _) = fields(text.trim())?;
    let (year, month, day) = match order {
        DateOrder::YearFirst => (a, b, c),
        DateOrder::DayFirst => (c, b, a),
        DateOrder::MonthFirst => (c, a, b),
    };
    let month = named_month(month).or_else(|| month.parse().ok())?;
    let (mut year, day) = (year.parse::<i64>().ok()?, day.parse::<i64>().ok()?);
    if year < 100 {
        year += 2000;
    }
    if !(1..=12).contains(&month) || !(1..=31).contains(&day) {
        return None;
    }
    // days of the civil calendar, years beginning in March
    let month = i64::from(month);
    let shifted = year - i64::from(month <= 2);
    let (era, month) = (shifted.div_euclid(400), (month + 9) % 12);
    let (of_era, of_year) = (shifted.rem_euclid(400), (153 * month + 2) / 5 + day - 1);
    Some(era * 146_097 + of_era * 365 + of_era / 4 - of_era / 100 + of_year - 719_468)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seconds(text: &str) -> Option<f64> {
        parse(text).map(|clock| clock.seconds.value)
    }

    #[test]
    fn times_of_day_are_read() {
        assert_eq!(seconds("12:00:00.001"), Some(43_200.001));
        assert_eq!(seconds("00:00:01,5"), Some(1.5));
        assert_eq!(seconds("12:00:00:250"), Some(43_200.25));
        assert_eq!(seconds("1:05:09 PM"), Some(47_109.0));
        assert_eq!(seconds("12:00:00 AM"), Some(0.0));
        let dated = parse("2026-11-25T23:59:59.9Z").expect("a clock");
        assert_eq!(dated.date, Some("2026-11-25"));
        assert_eq!(
            parse("25.11.2026 23:59:59").and_then(|c| c.date),
            Some("25.11.2026")
        );
        for text in [
            "12:00",
            "25:00:00",
            "1:2:3",
            "a 12:00:00",
            "",
            "::",
            "12:00:00.",
            "12:60:00",
        ] {
            assert_eq!(seconds(text), None, "{text}");
        }
    }

    #[test]
    fn dates_become_days_in_the_order_that_they_show() {
        // days from the Unix epoch: 2026-11-25 is 20782, 2000-03-01 is 11017 (GNU date)
        assert_eq!(day_number("2026-11-25", DateOrder::YearFirst), Some(20_782));
        assert_eq!(day_number("1.3.2000", DateOrder::DayFirst), Some(11_017));
        assert_eq!(day_number("03/01/00", DateOrder::MonthFirst), Some(11_017));
        assert_eq!(day_number("25-Nov-2026", DateOrder::DayFirst), Some(20_782));
        assert_eq!(day_number("1970-01-01", DateOrder::YearFirst), Some(0));
        assert_eq!(order("03/04/2026"), None);
        assert_eq!(order("13/04/2026"), Some(DateOrder::DayFirst));
        assert_eq!(order("03/14/2026"), Some(DateOrder::MonthFirst));
        assert!(is_date("2026-11-25") && !is_date("1.2.3") && !is_date("0.5"));
    }
}
