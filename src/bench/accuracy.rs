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
/// or the user gave it, else from the code step of an 8- or 12-bit record, else from the range seen.
pub fn assumed(channel: &Channel, facts: &Facts) -> Accuracy {
    Accuracy {
        gain: ASSUMED_GAIN,
        offset: ASSUMED_OFFSET_DIVISIONS * division(channel, facts),
    }
}

/// Volts per division, as well as the record tells.
fn division(channel: &Channel, facts: &Facts) -> f64 {
    if let Some((low, high)) = channel.full_scale {
        return (high - low).abs() / DIVISIONS;
    }
    let range = facts.peak_to_peak().max(0.0);
    let from_range = range.max(facts.max.abs()) / DIVISIONS;
    let from_step = facts.resolution.and_then(|step| {
        let codes = range / step;
        [256.0, 4096.0]
            .into_iter()
            .find(|bits| codes < *bits)
            .map(|bits| bits * step / DIVISIONS)
    });
    let division = from_step.unwrap_or(0.0).max(from_range);
    if division.is_finite() { division } else { 0.0 }
}
