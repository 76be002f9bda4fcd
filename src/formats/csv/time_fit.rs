//! Is a printed time axis even? Watched row by row, without keeping the times.
//!
//! A time printed with rounding stands for an interval one printed digit wide. The axis is even if
//! one straight line over the row number passes through all those intervals. The set of such lines
//! is kept by its steepest and its flattest member and by the convex hulls of the interval ends, the
//! known on-line algorithm for a line through vertical segments (O'Rourke, Communications of the
//! ACM 24, 1981, 574-578), so that each row costs a constant time on average.

use crate::formats::text::number::Number;

/// How the numbers of a column are printed, which is how well they are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Printed {
    /// The last digit always has this power of ten.
    Fixed(i32),
    /// So many significant digits, trailing zeros perhaps cut off.
    Digits(i32),
}

impl Printed {
    /// How these numbers are printed; nine significant digits when there are none.
    pub fn of(numbers: &[Number]) -> Self {
        let mut seen = Seen::default();
        for number in numbers {
            seen.add(number);
        }
        seen.printed().unwrap_or(Printed::Digits(9))
    }
}

/// What was seen of the printing of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Seen {
    lowest: i32,
    highest: i32,
    /// The longest row of digits, as a number.
    longest: Option<u64>,
}

impl Default for Seen {
    fn default() -> Self {
        Self {
            lowest: i32::MAX,
            highest: i32::MIN,
            longest: None,
        }
    }
}

impl Seen {
    /// Looks at one more number.
    #[inline]
    pub fn add(&mut self, number: &Number) {
        self.lowest = self.lowest.min(number.exponent);
        self.highest = self.highest.max(number.exponent);
        self.longest = self.longest.max(Some(number.mantissa));
    }

    /// Takes in what was seen elsewhere.
    pub fn merge(&mut self, other: &Seen) {
        self.lowest = self.lowest.min(other.lowest);
        self.highest = self.highest.max(other.highest);
        self.longest = self.longest.max(other.longest);
    }

    /// The way of printing that fits all numbers seen; `None` when there were none.
    pub fn printed(&self) -> Option<Printed> {
        let longest = self.longest?;
        if self.lowest == self.highest {
            return Some(Printed::Fixed(self.lowest));
        }
        let digits = longest.max(1).ilog10() as i32 + 1;
        Some(Printed::Digits(digits.min(17)))
    }
}

/// Time stood still or ran backwards, or is no number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotRising {
    /// The time before.
    pub before: f64,
    /// The time found.
    pub found: f64,
}

/// A straight line over the row number.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Line {
    at_zero: f64,
    slope: f64,
}

impl Line {
    fn through((x0, y0): (f64, f64), (x1, y1): (f64, f64)) -> Self {
        let slope = (y1 - y0) / (x1 - x0);
        Self {
            at_zero: y0 - slope * x0,
            slope,
        }
    }

    fn at(&self, x: f64) -> f64 {
        self.at_zero + self.slope * x
    }
}

/// A chain of hull points, of which those before `from` can no longer carry a limiting line.
#[derive(Debug, Clone, Default)]
struct Hull {
    points: Vec<(f64, f64)>,
    from: usize,
}

impl Hull {
    /// Adds a point on the right; `side` is +1 for a chain that is convex upwards, −1 downwards.
    fn add(&mut self, new: (f64, f64), side: f64) {
        while let [.., a, b] = self.points.as_slice() {
            let turn = (b.0 - a.0) * (new.1 - a.1) - (b.1 - a.1) * (new.0 - a.0);
            if turn * side < 0.0 {
                break;
            }
            self.points.pop();
        }
        self.points.push(new);
        self.from = self.from.min(self.points.len() - 1);
    }

    /// The line from a chain point to `new` that limits the slope most.
    fn tangent(&mut self, new: (f64, f64), side: f64) -> Option<Line> {
        let slope_from = |p: &(f64, f64)| (new.1 - p.1) / (new.0 - p.0);
        while let (Some(here), Some(next)) =
            (self.points.get(self.from), self.points.get(self.from + 1))
        {
            if (slope_from(next) - slope_from(here)) * side > 0.0 {
                break;
            }
            self.from += 1;
        }
        self.points
            .get(self.from)
            .map(|point| Line::through(*point, new))
    }
}

/// Watches a time axis as its rows come by.
#[derive(Debug, Clone)]
pub struct TimeFit {
    printed: Printed,
    count: usize,
    first: f64,
    last: f64,
    even: bool,
    /// Range of sizes for which `half` holds.
    decade: (f64, f64),
    half: f64,
    above: Hull,
    below: Hull,
    steepest: Line,
    flattest: Line,
    equal_may_be: bool,
}

impl TimeFit {
    /// Nothing seen yet of a column that is printed so.
    pub fn new(printed: Printed) -> Self {
        Self {
            printed,
            count: 0,
            first: f64::NAN,
            last: f64::NAN,
            even: true,
            decade: (0.0, 0.0),
            half: 0.0,
            above: Hull::default(),
            below: Hull::default(),
            steepest: Line::default(),
            flattest: Line::default(),
            equal_may_be: true,
        }
    }

    /// As [`TimeFit::new`], but a time that equals the one before is refused.
    pub fn strict(printed: Printed) -> Self {
        Self {
            equal_may_be: false,
            ..Self::new(printed)
        }
    }

    /// The time before the one looked at last.
    pub fn last(&self) -> f64 {
        self.last
    }

    /// Times seen.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Takes the next time.
    ///
    /// # Errors
    /// [`NotRising`] when it is below the one before, or equal where that is refused.
    #[inline]
    pub fn push(&mut self, time: f64) -> Result<(), NotRising> {
        let rises = time.partial_cmp(&self.last);
        if self.count == 0 {
            self.first = time;
        } else if rises != Some(std::cmp::Ordering::Greater)
            // two samples within one printed digit: even if the line says so in the end
            && !(self.equal_may_be && rises == Some(std::cmp::Ordering::Equal))
        {
            return Err(NotRising {
                before: self.last,
                found: time,
            });
        }
        self.last = time;
        if self.even {
            self.narrow(time);
        }
        self.count += 1;
        Ok(())
    }

    /// Half of what the last printed digit of `time` is worth, and a few roundings of a double.
    fn half_width(&mut self, time: f64) -> f64 {
        let size = time.abs();
        let rounding = 8.0 * f64::EPSILON * (size + self.first.abs());
        if let Printed::Digits(digits) = self.printed
            && !(self.decade.0..self.decade.1).contains(&size)
        {
            let decade = if size > 0.0 {
                (size * (1.0 + 1e-12)).log10().floor() as i32
            } else {
                i32::MIN / 4
            };
            self.decade = (10_f64.powi(decade), 10_f64.powi(decade.saturating_add(1)));
            self.half = 0.5 * 10_f64.powi(decade.saturating_add(1).saturating_sub(digits));
        } else if let Printed::Fixed(power) = self.printed
            && self.count == 0
        {
            self.half = 0.5 * 10_f64.powi(power);
        }
        self.half * (1.0 + 1e-9) + rounding
    }

    /// Narrows the set of lines that pass through all intervals by one more.
    fn narrow(&mut self, time: f64) {
        let half = self.half_width(time);
        let (x, y) = (self.count as f64, time - self.first);
        let (high, low) = ((x, y + half), (x, y - half));
        if self.count == 1 {
            self.steepest = self.below.tangent(high, 1.0).unwrap_or_default();
            self.flattest = self.above.tangent(low, -1.0).unwrap_or_default();
        } else if self.count > 1 {
            let (top, bottom) = (self.steepest.at(x), self.flattest.at(x));
            if low.1 > top || high.1 < bottom {
                self.even = false;
                self.above = Hull::default();
                self.below = Hull::default();
                return;
            }
            if high.1 < top {
                self.steepest = self.below.tangent(high, 1.0).unwrap_or(self.steepest);
            }
            if low.1 > bottom {
                self.flattest = self.above.tangent(low, -1.0).unwrap_or(self.flattest);
            }
        }
        self.above.add(high, -1.0);
        self.below.add(low, 1.0);
    }

    /// Start and step of the even axis, in the file's unit; `None` when it is not even or has fewer
    /// than two times.
    ///
    /// The line in the middle between the steepest and the flattest that fit, its start at the first
    /// printed time and its step to 12 digits where that fits as well.
    pub fn line(&self) -> Option<(f64, f64)> {
        if !self.even || self.count < 2 {
            return None;
        }
        let middle = Line {
            at_zero: 0.5 * (self.steepest.at_zero + self.flattest.at_zero),
            slope: 0.5 * (self.steepest.slope + self.flattest.slope),
        };
        let short = rounded(middle.slope, 12);
        let candidates = [(0.0, short), (0.0, middle.slope), (middle.at_zero, short)];
        let best = candidates
            .into_iter()
            .map(|(at_zero, slope)| Line { at_zero, slope })
            .find(|line| self.holds(line))
            .unwrap_or(middle);
        (best.slope > 0.0).then_some((self.first + best.at_zero, best.slope))
    }

    fn holds(&self, line: &Line) -> bool {
        let under = |&(x, y): &(f64, f64)| line.at(x) <= y;
        let over = |&(x, y): &(f64, f64)| line.at(x) >= y;
        self.above.points.iter().all(under) && self.below.points.iter().all(over)
    }
}

/// `value` to so many significant digits.
pub(super) fn rounded(value: f64, digits: usize) -> f64 {
    let text = format!("{value:.*e}", digits.saturating_sub(1));
    text.parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::formats::text::number;
    use proptest::prelude::*;

    fn fit_of(texts: &[String]) -> TimeFit {
        let numbers: Vec<Number> = texts
            .iter()
            .map(|t| number::whole(t, b'.').expect("a number"))
            .collect();
        let mut fit = TimeFit::new(Printed::of(&numbers));
        for number in &numbers {
            fit.push(number.value).expect("rising");
        }
        fit
    }

    fn near(a: f64, b: f64, within: f64) -> bool {
        (a - b).abs() <= within
    }

    #[test]
    fn an_even_axis_is_found_whatever_its_rounding() {
        let third = 1.0 / 3.0;
        for (step, digits) in [(1e-6, 6), (third, 3), (0.0004, 4), (0.123456, 2)] {
            let texts: Vec<String> = (0..1000)
                .map(|i| format!("{:.digits$}", -7.0 + f64::from(i) * step))
                .collect();
            let (start, found) = fit_of(&texts).line().expect("even");
            let last_digit = 10_f64.powi(-(digits as i32));
            assert!(near(start, -7.0, last_digit), "{step} {start}");
            assert!(near(found, step, last_digit / 900.0), "{step} {found}");
        }
    }

    #[test]
    fn significant_digits_with_cut_zeros_are_understood() {
        let texts: Vec<String> = (0..2000)
            .map(|i| {
                let rounded: f64 = format!("{:.5e}", f64::from(i) * 1.234567e-5)
                    .parse()
                    .expect("a number");
                format!("{rounded:e}")
            })
            .collect();
        let (_, step) = fit_of(&texts).line().expect("even");
        assert!(near(step, 1.234567e-5, 1e-10), "{step}");
    }

    #[test]
    fn one_time_beyond_its_rounding_makes_it_uneven() {
        let mut texts: Vec<String> = (0..100)
            .map(|i| format!("{:.3}", f64::from(i) * 0.01))
            .collect();
        assert!(fit_of(&texts).line().is_some());
        if let Some(text) = texts.get_mut(50) {
            *text = "0.502".to_owned();
        }
        assert!(fit_of(&texts).line().is_none());
    }

    #[test]
    fn a_time_that_does_not_rise_is_refused() {
        let mut fit = TimeFit::strict(Printed::Fixed(-1));
        assert!(fit.push(0.1).is_ok() && fit.push(0.2).is_ok());
        assert!(fit.push(0.2).is_err() && fit.push(f64::NAN).is_err());
    }

    #[test]
    fn times_within_one_printed_digit_are_even_where_a_line_fits() {
        let texts: Vec<String> = (0..200)
            .map(|i| format!("{:.1}", f64::from(i) * 0.04))
            .collect();
        let fit = fit_of(&texts);
        let (_, step) = fit.line().expect("even");
        assert!(near(step, 0.04, 0.1 / 190.0), "{step}");
        let stuck: Vec<String> = [0.0, 0.3, 0.3, 0.3, 0.6]
            .map(|t| format!("{t:.1}"))
            .to_vec();
        assert!(fit_of(&stuck).line().is_none());
    }

    proptest! {
        /// The slow oracle: the widest span of slopes over all pairs of intervals.
        #[test]
        fn the_limits_of_slope_equal_those_of_all_pairs(jitter in prop::collection::vec(-60_i64..60, 3..40)) {
            let times: Vec<f64> = jitter.iter().enumerate()
                .map(|(i, j)| (100 * i as i64 + j) as f64).collect();
            prop_assume!(times.windows(2).all(|w| w[1] > w[0]));
            let mut fit = TimeFit::new(Printed::Fixed(2));
            for time in &times {
                fit.push(*time).expect("rising");
            }
            let (mut least, mut most) = (f64::NEG_INFINITY, f64::INFINITY);
            for (i, early) in times.iter().enumerate() {
                for (j, late) in times.iter().enumerate().skip(i + 1) {
                    let span = (j - i) as f64;
                    least = least.max((late - early - 100.0) / span);
                    most = most.min((late - early + 100.0) / span);
                }
            }
            prop_assert_eq!(fit.line().is_some(), least <= most + 1e-6);
            if fit.line().is_some() {
                prop_assert!(near(fit.steepest.slope, most, 1e-5));
                prop_assert!(near(fit.flattest.slope, least, 1e-5));
            }
        }
    }
}
