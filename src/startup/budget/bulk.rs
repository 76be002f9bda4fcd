//! From the input to the bulk: the crest of the mains less the bridge, and the trough under load.

use crate::data::Bounded;
use crate::data::budget::Feed;

/// Drop of one diode of a bridge under charging current, V (common practice).
pub const DIODE_V: f64 = 1.0;
/// By how much a flattened crest lowers the bulk at most, as a share (common practice: 2 to 5 %).
pub const FLATTENED: f64 = 0.05;

/// Bulk without load, V. Mains: √2 times the r.m.s. value less two diodes; the low bound has a flattened
/// crest as well, the high one no drop at all. A direct input passes as it is.
pub fn unloaded_v(feed: &Feed) -> Bounded {
    if !feed.ac {
        return feed.volts;
    }
    let crest = |rms: f64| std::f64::consts::SQRT_2 * rms;
    let typ = (crest(feed.volts.typ) - 2.0 * DIODE_V).max(0.0);
    let low = (crest(feed.volts.low) * (1.0 - FLATTENED) - 2.0 * DIODE_V).max(0.0);
    Bounded::around(typ, low, crest(feed.volts.high))
}

/// Lowest bulk of a cycle at constant power behind a full-wave bridge, V: from the crest the capacitor
/// gives ½·C·(V² − v²) until the rectified sine meets it. 0 where the power empties it. NaN for values
/// that are not positive.
pub fn trough_v(peak_v: f64, hertz: f64, farad: f64, watts: f64) -> f64 {
    let positive = [peak_v, hertz, farad, watts].iter().all(|v| *v > 0.0);
    if !positive {
        return f64::NAN;
    }
    let (mut empty, mut full) = (0.0, peak_v);
    for _ in 0..100 {
        let v = 0.5 * (empty + full);
        let runs_s = 0.25 / hertz + (v / peak_v).asin() / (2.0 * std::f64::consts::PI * hertz);
        let left = peak_v * peak_v - 2.0 * watts * runs_s / farad;
        if left > v * v {
            empty = v;
        } else {
            full = v;
        }
    }
    0.5 * (empty + full)
}
