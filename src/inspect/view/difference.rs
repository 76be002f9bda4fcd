//! Two records drawn over each other: the one minus the other.

use super::Column;

/// `after` minus `before` at the middles of the columns of `before`, as instants of the common axis and
/// differences: for drawing, to the width of a column. Each side is its columns and what its own time is
/// ahead of the common axis, in seconds. Nothing where one side has no number.
pub fn difference(before: (&[Column], f64), after: (&[Column], f64)) -> Vec<(f64, f64)> {
    let at = |column: &Column, ahead_s: f64| 0.5 * (column.from_s + column.to_s) - ahead_s;
    let middle = |column: &Column| 0.5 * (column.min + column.max);
    let (line, ahead_s) = after;
    let mut found = Vec::new();
    let mut next = 0;
    for column in before.0.iter().filter(|c| c.min.is_finite()) {
        let now = at(column, before.1);
        while line.get(next + 1).is_some_and(|c| at(c, ahead_s) <= now) {
            next += 1;
        }
        let (Some(a), Some(b)) = (line.get(next), line.get(next + 1)) else {
            continue;
        };
        let (from, to) = (at(a, ahead_s), at(b, ahead_s));
        if now < from || now > to || to <= from {
            continue;
        }
        let share = (now - from) / (to - from);
        let there = middle(a) + share * (middle(b) - middle(a));
        if there.is_finite() {
            found.push((now, there - middle(column)));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ramp(count: usize, step_s: f64, ahead_s: f64, slope: f64) -> Vec<Column> {
        (0..count)
            .map(|k| {
                let at_s = k as f64 * step_s + ahead_s;
                let value = slope * k as f64 * step_s;
                Column {
                    from_s: at_s,
                    to_s: at_s,
                    min: value,
                    max: value,
                    first: None,
                    last: None,
                }
            })
            .collect()
    }

    #[test]
    fn two_ramps_of_other_rates_and_times_differ_by_their_slopes() {
        let (before, after) = (ramp(50, 0.1, 0.0, 2.0), ramp(30, 0.17, 3.0, 5.0));
        let found = difference((&before, 0.0), (&after, 3.0));
        assert!(found.len() > 40);
        for (at_s, value) in found {
            assert!((value - 3.0 * at_s).abs() < 1e-9, "{at_s} {value}");
        }
        assert_eq!(difference((&[], 0.0), (&after, 3.0)), Vec::new());
        assert_eq!(difference((&before, 0.0), (&after[..1], 3.0)), Vec::new());
    }
}
