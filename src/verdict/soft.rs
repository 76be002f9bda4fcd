//! A threshold that is right although a meter says otherwise: VCC is soft, not the controller wrong.

use crate::data::text::engineering;
use crate::data::{Judged, Quantity, Unit, Verdict};

/// Thresholds, and what a meter would read there.
const BOTH: [(Quantity, Quantity); 2] = [
    (Quantity::StopThreshold, Quantity::StopThresholdMean),
    (Quantity::StartThreshold, Quantity::StartThresholdMean),
];

/// Says so beside every threshold that is in limits while the mean of VCC at the event is outside them.
pub fn add(judged: &mut [Judged]) {
    for (row, mean_v) in BOTH
        .iter()
        .flat_map(|both| found(judged, *both))
        .collect::<Vec<_>>()
    {
        judged[row].measured.remarks.push(format!(
            "The threshold is right, VCC is soft: a meter's {} would be outside the limits, what the pin does is not. Look at the VCC capacitor, its series resistance and the feed before the controller.",
            engineering(mean_v, Unit::Volt, 3)
        ));
    }
}

/// The first of these: its quantity, what a meter would read, and what the pin does, in volts.
pub fn first(judged: &[Judged]) -> Option<(Quantity, f64, f64)> {
    BOTH.iter().find_map(|both| {
        let (row, mean_v) = *found(judged, *both).first()?;
        Some((both.0, mean_v, judged[row].measured.value()?.value))
    })
}

/// Rows in limits whose mean is outside them, with that mean.
fn found(judged: &[Judged], (seen, mean): (Quantity, Quantity)) -> Vec<(usize, f64)> {
    let means = judged.iter().filter(|j| j.measured.quantity == mean);
    let means: Vec<_> = means
        .filter_map(|j| Some((j.measured.capture, j.measured.value()?.value)))
        .collect();
    let of_row = |(index, row): (usize, &Judged)| {
        let own = row.measured.quantity == seen && row.verdict == Verdict::InLimits;
        let beside = means.iter().find(|m| own && m.0 == row.measured.capture)?;
        is_outside(row, beside.1).then_some((index, beside.1))
    };
    judged.iter().enumerate().filter_map(of_row).collect()
}

fn is_outside(row: &Judged, volts: f64) -> bool {
    row.expected.as_ref().is_some_and(|limit| {
        limit.max.is_some_and(|max| volts > max) || limit.min.is_some_and(|min| volts < min)
    })
}
