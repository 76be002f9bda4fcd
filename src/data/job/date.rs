//! Dates as text: ISO 8601, calendar form, `2026-11-26` or `2026-11-26T14:05:00Z`.
//!
//! Nothing here knows a clock: the seconds come from a face.

/// Is this a date, or a date with a time of day, of the calendar?
///
/// Taken: `YYYY-MM-DD`, alone or with `THH:MM` or `THH:MM:SS` and then nothing, `Z` or `±HH:MM`.
pub fn is_date(text: &str) -> bool {
    let (day, time) = match text.split_once('T') {
        Some((day, time)) => (day, Some(time)),
        None => (text, None),
    };
    is_day(day) && time.is_none_or(is_time)
}

fn is_day(text: &str) -> bool {
    let [year, month, day] = match numbers(text, '-', &[4, 2, 2]).as_deref() {
        Some(&[year, month, day]) => [year, month, day],
        _ => return false,
    };
    let leap = is_leap(u64::from(year));
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u32::from(leap),
        1..=12 => 31,
        _ => 0,
    };
    (1..=days).contains(&day)
}

fn is_time(text: &str) -> bool {
    let (clock, zone) = match text.find(['Z', '+', '-']) {
        Some(at) => text.split_at(at),
        None => (text, ""),
    };
    let of_day = |numbers: Option<Vec<u32>>| {
        numbers.is_some_and(|n| n[0] < 24 && n[1..].iter().all(|part| *part < 60))
    };
    let clock = numbers(clock, ':', &[2, 2]).or_else(|| numbers(clock, ':', &[2, 2, 2]));
    let zone_is_one = match zone.get(1..) {
        None => true,
        Some("") => zone == "Z",
        Some(offset) => !zone.starts_with('Z') && of_day(numbers(offset, ':', &[2, 2])),
    };
    of_day(clock) && zone_is_one
}

/// The numbers between separators, each with just so many digits.
fn numbers(text: &str, separator: char, digits: &[usize]) -> Option<Vec<u32>> {
    let parts: Vec<&str> = text.split(separator).collect();
    let fits = parts.len() == digits.len()
        && parts
            .iter()
            .zip(digits)
            .all(|(part, count)| part.len() == *count && part.bytes().all(|b| b.is_ascii_digit()));
    fits.then(|| parts.iter().filter_map(|part| part.parse().ok()).collect())
}

/// The instant that lies so many seconds after 1970-01-01T00:00:00Z, to the second, in UTC.
pub fn from_unix_seconds(seconds: u64) -> String {
    let (days, rest) = (seconds / 86_400, seconds % 86_400);
    let (year, month, day) = civil(days);
    format!(
        "{year:04}-{month:02}-{day:02}T{:02}:{:02}:{:02}Z",
        rest / 3600,
        rest / 60 % 60,
        rest % 60
    )
}

fn is_leap(year: u64) -> bool {
    year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400))
}

/// Year, month and day of a number of days after 1970-01-01, counted year by year and month by month.
fn civil(mut days: u64) -> (u64, u64, u64) {
    let mut year = 1970;
    // whole cycles of 400 years first, so that a wild number takes no longer
    year += days / 146_097 * 400;
    days %= 146_097;
    while days >= 365 + u64::from(is_leap(year)) {
        days -= 365 + u64::from(is_leap(year));
        year += 1;
    }
    let february = 28 + u64::from(is_leap(year));
    let months = [31, february, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let mut month = 1;
    for length in months {
        if days < length {
            break;
        }
        days -= length;
        month += 1;
    }
    (year, month, days + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_of_the_calendar_are_taken_and_others_refused() {
        for good in [
            "2026-11-26",
            "2024-02-29",
            "2000-02-29",
            "2026-11-26T14:05",
            "2026-11-26T14:05:59Z",
            "2026-11-26T14:05:59+01:00",
            "2026-11-26T23:59-11:30",
        ] {
            assert!(is_date(good), "{good}");
        }
        for bad in [
            "",
            "26.11.2026",
            "2026-13-01",
            "2026-02-30",
            "1900-02-29",
            "2026-00-10",
            "2026-11-26T",
            "2026-11-26T24:00",
            "2026-11-26T12:60",
            "2026-11-26T12:00ZZ",
            "2026-11-26T12:00+1",
            "2026-11-26 12:00",
            "２026-11-26",
        ] {
            assert!(!is_date(bad), "{bad}");
        }
    }

    /// Values of the POSIX formula "seconds since the Epoch" (IEEE Std 1003.1, 4.16), worked by hand;
    /// 1,000,000,000 and 2^31 - 1 as commonly known.
    #[test]
    fn seconds_of_the_epoch_are_the_known_dates() {
        for (seconds, date) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (1_000_000_000, "2001-09-09T01:46:40Z"),
            (2_147_483_647, "2038-01-19T03:14:07Z"),
        ] {
            assert_eq!(from_unix_seconds(seconds), date);
            assert!(is_date(date));
        }
        assert!(from_unix_seconds(u64::MAX).ends_with('Z'));
    }
}
