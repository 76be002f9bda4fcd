//! Settings of a channel and of the time base, from the 1-2-5 series.

use super::words::volts;
use crate::data::shot_list::DIVISIONS_UP;

/// Least room left free above and below the expected range, in divisions.
const ROOM_DIVISIONS: f64 = 0.5;
/// Finest and coarsest decade of the series.
const DECADES: (i32, i32) = (-9, 4);

/// A vertical setting.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Scale {
    /// Volts a division.
    pub volts_per_division: f64,
    /// Zero volts, in whole divisions above the bottom edge.
    pub zero_divisions: f64,
}

/// The 1-2-5 series, rising, from a nanounit on.
fn series() -> impl Iterator<Item = f64> {
    (DECADES.0..=DECADES.1).flat_map(|decade| {
        [1.0, 2.0, 5.0].map(|digit| {
            // division by a power of ten is exact to the last digit, multiplication is not
            let power = 10_f64.powi(decade.abs());
            if decade < 0 {
                digit / power
            } else {
                digit * power
            }
        })
    })
}

/// The smallest value of the series that is not below `least`; the largest there is where `least` lies
/// beyond it, the smallest for NaN and what is not above zero.
pub(super) fn at_least(least: f64) -> f64 {
    let enough = |value: &f64| *value >= least * (1.0 - 1e-9);
    let mut last = 0.0;
    for value in series() {
        if least.is_nan() || enough(&value) {
            return value;
        }
        last = value;
    }
    last
}

/// The finest setting from 1 mV a division on that shows `low_v` to `high_v`, and zero volts, with half
/// a division of room on both sides and zero on a line of the grid. Limits that are not finite
/// count as zero; a range beyond the coarsest setting gets that one.
pub(super) fn fit(low_v: f64, high_v: f64) -> Scale {
    let finite = |v: f64| if v.is_finite() { v } else { 0.0 };
    let (low, high) = (finite(low_v).min(0.0), finite(high_v).max(0.0));
    let mut coarsest = Scale {
        volts_per_division: 1.0,
        zero_divisions: 1.0,
    };
    for step in series().filter(|step| *step >= 1e-3) {
        let zero = (ROOM_DIVISIONS - low / step).ceil();
        coarsest = Scale {
            volts_per_division: step,
            zero_divisions: zero,
        };
        if zero <= DIVISIONS_UP - ROOM_DIVISIONS - high / step {
            break;
        }
    }
    coarsest
}

/// Where zero lies, what the screen then shows, and what clips otherwise.
pub(super) fn position(scale: Scale, range_v: (f64, f64)) -> String {
    let step = scale.volts_per_division;
    let (zero, high) = (scale.zero_divisions, range_v.1);
    let divisions = match zero {
        z if z < 1.5 => "1 division".to_owned(),
        z => format!("{z:.0} divisions"),
    };
    let top = (DIVISIONS_UP - zero) * step;
    let mut text = format!(
        "zero {divisions} above the bottom edge shows {} to {}",
        volts(-zero * step),
        volts(top)
    );
    let middle = DIVISIONS_UP / 2.0 * step;
    if middle < high {
        text.push_str(&format!(
            "; with zero in the middle it clips at {}",
            volts(middle)
        ));
    }
    let finer = series().take_while(|s| *s < step * 0.99).last();
    if let Some(finer) = finer.filter(|f| *f >= 1e-3) {
        let lowest = (-range_v.0 / finer).max(0.0);
        let clips = (DIVISIONS_UP - lowest) * finer;
        let told = format!("{}/div", volts(finer));
        text.push_str(&if clips < high * (1.0 - 1e-9) {
            format!(
                "; {told} clips above {} at the latest",
                volts(clips.max(0.0))
            )
        } else {
            format!("; {told} leaves no room")
        });
    }
    text
}
