//! Records of extremes, as peak detection keeps them: the lowest and the highest of each interval, here of
//! 40 samples with noise. The comparator sees VCC with its ripple and none of the noise of the scope.

use firstpulse::data::{Channel, SampleKind};

use super::*;

/// Pairs of extremes: `level(i)` is the mean in an interval, `peak(i)` the ripple on it.
fn extremes(
    name: &str,
    count: usize,
    level: impl Fn(usize) -> f64,
    peak: impl Fn(usize) -> f64,
) -> Channel {
    let mut dice = Dice(23);
    let code = 20.0 / 256.0;
    let mut values = Vec::with_capacity(2 * count);
    for i in 0..count {
        let all: Vec<f64> = (0..40)
            .map(|_| {
                let turn = std::f64::consts::TAU * dice.uniform();
                level(i) + peak(i) * turn.sin() + 0.03 * dice.normal()
            })
            .collect();
        let low = all.iter().copied().fold(f64::MAX, f64::min);
        let high = all.iter().copied().fold(f64::MIN, f64::max);
        values.extend([low, high].map(|v| (v / code).round() * code));
    }
    let mut channel = Channel::of_volts(name, made::even(0.5 / RATE, 2 * count), values);
    channel.kind = SampleKind::MinMaxPair;
    channel
}

/// VCC and OUT at 50 kHz with a ripple of the controller's own; an interval holds 50 cycles.
fn inspected(peak_v: f64) -> Inspection {
    let swing = |t: f64, on: bool| {
        if on {
            peak_v * (std::f64::consts::TAU * 50_123.0 * t).sin()
        } else {
            0.0
        }
    };
    let swept = swept(by_hand, swing, 30.0);
    let runs = &swept.runs;
    let mean = |i: usize| by_hand(i as f64 / RATE) - if runs[i] { FEED_V } else { 0.0 };
    let own = |i: usize| if runs[i] { peak_v } else { 0.0 };
    let pulses = |i: usize| if runs[i] { 0.5 * (mean(i) - 1.5) } else { 0.0 };
    let count = runs.len();
    let shot = made::shot(vec![
        extremes("VCC", count, mean, own),
        extremes("OUT", count, pulses, pulses),
    ]);
    made::examine(&[shot], &options(&[Role::Vcc, Role::Out]))
}

#[test]
fn noise_of_the_scope_is_no_ripple() {
    let found = inspected(0.0);
    for (quantity, truth) in [
        (Quantity::StartThreshold, START_V),
        (Quantity::StopThreshold, STOP_V),
    ] {
        holds(&found, quantity, truth);
        assert!(value(&found, quantity).u95 < 0.08);
        let said = row(&found, quantity).measured.remarks.join(" ");
        assert!(said.contains("lowest and highest of intervals"), "{said}");
    }
}

/// Ripple of 0.25 V that is there while it runs: a meter reads that much more at the stop.
#[test]
fn what_widens_the_intervals_while_it_runs_is_ripple() {
    let found = inspected(0.25);
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
    let mean = value(&found, Quantity::StopThresholdMean);
    assert!((mean.value - (STOP_V + 0.25)).abs() < 0.03, "{mean:?}");
}
