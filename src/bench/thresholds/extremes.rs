//! Records of extremes: what of the room between lowest and highest the comparator saw. Noise of the scope
//! widens it as ripple within an interval does, and only a stretch with less of it tells them apart.

use crate::data::EventKind;
use crate::signal::stats;

use super::reading::Reading;
use super::ripple;

/// Half of the room over the scatter of the middles, for normal noise alone: 3.5 times for 10 samples an
/// interval, 8 for 100, 13 for 1,000 (order statistics). Beyond this it is not noise alone.
const OF_NOISE: f64 = 16.0;
/// What noise then adds to the ripple, in scatters of the middles, and the half-width within which it does: of a sine
/// of 1 to 20 cycles an interval, in 10 to 400 samples, −0.4 to 6.
const ADDED: (f64, f64) = (3.0, 3.5);
/// Share of the room before the starts by which that before the stops has to be larger.
const LARGER: f64 = 0.15;
/// What noise adds at least to a ripple that it does not give away, in scatters of the middles (of the same sines, in
/// 97 of 100): the rest of the room may all be ripple.
const LEAST_ADDED: f64 = 0.5;

/// Adds to the ripple of each reading what happens within the intervals.
pub(super) fn within_intervals(readings: &mut [Option<Reading>], code_v: f64) {
    let starts = readings.iter().flatten();
    let starts = starts.filter(|r| r.kind == EventKind::Start);
    let mut halves: Vec<f64> = starts.filter_map(|r| Some(r.half?.0)).collect();
    let quiet = (!halves.is_empty()).then(|| stats::median(&mut halves));
    for reading in readings.iter_mut().flatten() {
        let Some((half, u)) = reading.half else {
            continue;
        };
        let scatter = ripple::noise_square(&reading.scatter.clean).map_or(0.0, f64::sqrt);
        let (by, doubt) = supply(quiet.unwrap_or(half), scatter, code_v);
        let own = quiet.map_or((0.0, 0.0), |quiet| more(half, quiet, u));
        reading.ripple.above_v += by + own.0;
        reading.ripple.below_v += by + own.0;
        reading.ripple.doubt_v += doubt + own.1;
    }
}

/// Ripple of the supply, and within what half-width.
fn supply(half: f64, scatter: f64, code_v: f64) -> (f64, f64) {
    let rounded = scatter.max(0.25 * code_v);
    if half > OF_NOISE * rounded {
        ((half - ADDED.0 * rounded).max(0.0), ADDED.1 * rounded)
    } else {
        (0.0, (half - LEAST_ADDED * scatter).max(0.0))
    }
}

/// Ripple of the controller itself: noise and ripple add up to less than their sum, the less the smaller
/// one is.
fn more(half: f64, quiet: f64, u: f64) -> (f64, f64) {
    let more = half - quiet;
    if more > (LARGER * quiet).max(3.0 * u) {
        (more + 0.25 * quiet, 0.2 * quiet)
    } else {
        (0.0, 0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn noise_alone_hides_ripple_and_gives_none() {
        // noise alone may have made all of the room, or next to nothing of it
        let (by, doubt) = supply(0.2, 0.025, 0.0);
        assert!(
            by.abs() < 1e-12 && (0.17..0.2).contains(&doubt),
            "{by} {doubt}"
        );
        // 0.314 V is a sine of 0.298 V with noise of 0.055 V, in 10 samples
        let (by, doubt) = supply(0.314, 0.030, 0.0);
        assert!(by + doubt >= 0.298, "{by} {doubt}");
        let (by, doubt) = supply(0.2, 0.005, 0.0);
        assert!((by - 0.19).abs() <= doubt, "{by} {doubt}");
    }

    #[test]
    fn wider_room_at_a_stop_is_ripple() {
        assert_eq!(more(0.21, 0.2, 0.001), (0.0, 0.0));
        let (by, doubt) = more(0.45, 0.2, 0.001);
        assert!(by - doubt <= 0.3 && 0.3 <= by + doubt, "{by} {doubt}");
    }
}
