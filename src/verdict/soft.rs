//! A threshold that is right although a meter says otherwise: VCC is soft, not the controller wrong.

use crate::data::text::engineering;
use crate::data::{Judged, Quantity, Unit, Verdict};

/// Says so beside every threshold that is in limits while the mean of VCC at the event is outside them.
pub fn add(judged: &mut [Judged]) {
    let pairs = [
        (Quantity::StartThreshold, Quantity::StartThresholdMean),
        (Quantity::StopThreshold, Quantity::StopThresholdMean),
    ];
    for (seen, mean) in pairs {
        let means: Vec<_> = judged
            .iter()
            .filter(|j| j.measured.quantity == mean)
            .filter_map(|j| Some((j.measured.capture, j.measured.value()?.value)))
            .collect();
        for row in judged.iter_mut().filter(|j| j.measured.quantity == seen) {
            let beside = means.iter().find(|m| m.0 == row.measured.capture);
            let outside = beside
                .filter(|(_, volts)| row.verdict == Verdict::InLimits && is_outside(row, *volts));
            if let Some((_, volts)) = outside {
                row.measured.remarks.push(format!(
                    "The threshold is right, VCC is soft: a meter's {} would be outside the limits, what the pin does is not. Look at the VCC capacitor, its series resistance and the feed before the controller.",
                    engineering(*volts, Unit::Volt, 3)
                ));
            }
        }
    }
}

fn is_outside(row: &Judged, volts: f64) -> bool {
    row.expected.as_ref().is_some_and(|limit| {
        limit.max.is_some_and(|max| volts > max) || limit.min.is_some_and(|min| volts < min)
    })
}
