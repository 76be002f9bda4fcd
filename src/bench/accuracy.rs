//! DC accuracy of a channel: what the user gave, else the usual figure of a bench scope.

use crate::data::options::Accuracy;
use crate::data::{Channel, Facts};

/// Gain error assumed where none is given: ±2 % of the reading (common practice for 8-bit bench
/// scopes with their probe compensated).
pub const ASSUMED_GAIN: f64 = 0.02;

/// Offset error assumed where none is given: ±0.1 division (common practice, as above).
pub const ASSUMED_OFFSET_DIVISIONS: f64 = 0.1;

/// Vertical divisions of a full screen (common practice).
const DIVISIONS: f64 = 8.0;

/// Accuracy assumed for a channel, in raw units: the division comes from the full scale if the file
/// or the user gave it, else from the code step and the noise, which together tell
/// the converter's bits, and never less than the range seen needs.
pub fn assumed(channel: &Channel, facts: &Facts) -> Accuracy {
    Accuracy {
        gain: ASSUMED_GAIN,
        offset: ASSUMED_OFFSET_DIVISIONS * division(channel, facts),
    }
}

/// Noise of a bench scope, as a share of a division, that it does not fall below: with it a fine
/// code step tells a converter of more bits from a small range (common practice: about a hundredth
/// of a division).
const LEAST_NOISE_DIVISIONS: f64 = 0.008;

/// Codes of the converters in use: 8, 10 and 12 bits.
const CODES: [f64; 3] = [4096.0, 1024.0, 256.0];

/// Volts per division, as well as the record tells.
fn division(channel: &Channel, facts: &Facts) -> f64 {
    if let Some((low, high)) = channel.full_scale {
        return (high - low).abs() / DIVISIONS;
    }
    let range = facts.peak_to_peak().max(0.0);
    let from_range = range.max(facts.max.abs()) / DIVISIONS;
    let from_step = facts.resolution.map_or(0.0, |step| {
        let of = |codes: f64| codes * step / DIVISIONS;
        let fits = |codes: &f64| range < codes * step;
        let noisy = |codes: &f64| facts.noise >= LEAST_NOISE_DIVISIONS * of(*codes);
        let smallest = CODES.into_iter().rev().find(fits).map_or(0.0, of);
        CODES
            .into_iter()
            .filter(fits)
            .find(noisy)
            .map_or(smallest, of)
    });
    let division = from_step.max(from_range);
    if division.is_finite() { division } else { 0.0 }
}
