//! Sweeps of a run are joined by VCC: what several shots say of one threshold has to agree.

use crate::data::text::engineering;
use crate::data::{
    InspectedCapture, Joined, Measured, Quantity, Setup, ShotKind, TieSource, Unit, Value,
};

const JOINED: [Quantity; 3] = [
    Quantity::StartThreshold,
    Quantity::StopThreshold,
    Quantity::Hysteresis,
];

/// The thresholds that two or more sweeps of one set-up gave, joined. Two values disagree where they
/// lie further apart than the 95 % interval of their difference, in which a gain error that both share
/// counts once.
pub fn sweeps(measured: &[Measured], shots: &[&InspectedCapture]) -> Vec<Joined> {
    JOINED
        .into_iter()
        .filter_map(|quantity| of_quantity(quantity, measured, shots))
        .collect()
}

fn of_quantity(
    quantity: Quantity,
    measured: &[Measured],
    shots: &[&InspectedCapture],
) -> Option<Joined> {
    let swept = |capture: usize| {
        let shot = shots.get(capture)?;
        let bench = shot.setup.value.is_none_or(Setup::bench_fed);
        (shot.kind.value == Some(ShotKind::Sweep) && bench).then_some(capture)
    };
    let values: Vec<(usize, &Value)> = measured
        .iter()
        .filter(|m| m.quantity == quantity)
        .filter_map(|m| Some((swept(m.capture?)?, m.value()?)))
        .collect();
    if values.len() < 2 {
        return None;
    }
    let captures = values.iter().map(|v| v.0).collect();
    let why_not = disagreement(quantity, &values).unwrap_or_default();
    let value = why_not.is_empty().then(|| mean(&values));
    Some(Joined {
        quantity,
        captures,
        value,
        why_not,
    })
}

/// The two that lie furthest beyond what they may differ by, in words.
fn disagreement(quantity: Quantity, values: &[(usize, &Value)]) -> Option<String> {
    let pairs = values
        .iter()
        .enumerate()
        .flat_map(|(i, a)| values[i + 1..].iter().map(move |b| (a, b)));
    // ripple of one shot is not that of another
    let alone = |value: &Value| value.loosened(|source| !matches!(source, TieSource::Ripple(_)));
    let beyond = pairs.filter_map(|(a, b)| {
        let apart = a.1.value - b.1.value;
        let may = Value::linear(apart, &[(1.0, &alone(a.1)), (-1.0, &alone(b.1))]).u95;
        (apart.abs() > may).then_some((apart.abs() - may, may, a, b))
    });
    let (_, may, a, b) = beyond.max_by(|x, y| x.0.total_cmp(&y.0))?;
    let volts = |v: f64| engineering(v, Unit::Volt, 4);
    Some(format!(
        "Shots {} and {} are not joined: the {} is {} in one and {} in the other, and they may differ by {} at most. Something was changed between them, or VCC was measured at another place or range.",
        a.0 + 1,
        b.0 + 1,
        quantity.info().title,
        volts(a.1.value),
        volts(b.1.value),
        volts(may)
    ))
}

/// Mean over all events: a shot counts as often as it has events.
fn mean(values: &[(usize, &Value)]) -> Value {
    let count: usize = values.iter().map(|v| v.1.count).sum();
    let part = |v: &Value| v.count as f64 / count as f64;
    let middle = values.iter().map(|v| part(v.1) * v.1.value).sum();
    let parts: Vec<(f64, &Value)> = values.iter().map(|v| (part(v.1), v.1)).collect();
    let singles = values
        .iter()
        .flat_map(|v| v.1.singles.iter().copied())
        .collect();
    let mut joined = Value::linear(middle, &parts).with_singles(singles);
    joined.count = count;
    joined
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::Term;

    /// Ripple that is known to 50 mV in each of two shots lets their thresholds differ by 60 mV: it is not one
    /// error of both, though they came over one range.
    #[test]
    fn ripple_of_two_shots_does_not_cancel() {
        let with = |volts: f64, source: TieSource| {
            Value::from_terms(volts, vec![Term::within("ripple", 0.05).tied(source, 1.0)])
        };
        let apart = |source: TieSource| {
            let (a, b) = (with(8.40, source), with(8.46, source));
            disagreement(Quantity::StartThreshold, &[(0, &a), (1, &b)])
        };
        assert_eq!(apart(TieSource::Ripple(7)), None);
        assert!(apart(TieSource::Gain(7)).is_some());
    }
}
