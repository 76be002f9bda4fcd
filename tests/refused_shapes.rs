//! Shapes that look like what they are not: nothing is given of them that is not there, and the reason is said.
//! Which quantities a record can't hold follows from how it is made.

mod made;

use firstpulse::data::{
    Channel, Inspection, Options, Outcome, Quantity, Role, SampleKind, ShotKind, Stage, StageState,
};

fn running(channels: Vec<Channel>, roles: &[Role]) -> Inspection {
    let mut options = Options {
        roles: made::roles(roles),
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    made::examine(&[made::shot(channels)], &options)
}

/// Refused with a reason that holds this word, or not in the list.
fn none_of(inspection: &Inspection, quantities: &[Quantity], word: &str) {
    let mut reasons = Vec::new();
    for quantity in quantities {
        match made::entry(inspection, *quantity).map(|j| &j.measured.outcome) {
            Some(Outcome::NotMeasurable(why)) => reasons.push(why.clone()),
            Some(Outcome::Value(value)) => panic!("{quantity:?}: {value:?}"),
            None => {}
        }
    }
    assert!(reasons.iter().any(|why| why.contains(word)), "{reasons:?}");
}

const LEVELS: [Quantity; 3] = [
    Quantity::RampPeak,
    Quantity::RampValley,
    Quantity::RampAmplitude,
];

/// A ramp from 1.0 to 2.7 V on a range that ends at 2.56 V: its valley is there, its peak is not, nor what
/// follows from it.
#[test]
fn a_ramp_beyond_the_range_has_no_peak() {
    let time = made::even(100e-9, 5_000);
    let whole = made::channel("CH1", &time, 0.01, 3, |t| made::ramp(t * 0.8));
    let values = whole.valid_slice(0..5_000);
    let cut = values.iter().map(|v| ((v / 0.01).round() * 0.01).min(2.56));
    let rtct = Channel::of_volts("CH1", time, cut.collect());
    let found = running(vec![rtct], &[Role::RtCt]);
    let gone = [
        Quantity::RampPeak,
        Quantity::RampAmplitude,
        Quantity::RampRiseDuration,
        Quantity::RampFallDuration,
        Quantity::RampAsymptote,
    ];
    none_of(&found, &gone, "clipped");
    let product = made::entry(&found, Quantity::RtCtProduct);
    assert!(product.is_none_or(|j| j.measured.value().is_none()));
    let valley = made::value(&found, Quantity::RampValley);
    assert!((valley.value - 1.0).abs() <= valley.u95, "{valley:?}");
}

/// A probe that hangs in the air: mains with flat tops, ±2 V.
#[test]
fn hum_on_a_floating_probe_neither_switches_nor_oscillates() {
    for hertz in [50.0, 60.0] {
        let time = made::even(20e-6, 20_000);
        let hum = |t: f64| {
            let turn = std::f64::consts::TAU * hertz * t;
            2.6 * turn.sin() + 0.6 * (3.0 * turn).sin()
        };
        let out = made::channel("CH1", &time, 0.03, 1, hum);
        let rtct = made::channel("CH2", &time, 0.02, 2, |t| 0.5 * hum(t));
        let found = running(vec![out, rtct], &[Role::Out, Role::RtCt]);
        let of_out = [Quantity::OutHighLevel, Quantity::OutFrequency];
        none_of(&found, &of_out, "hum");
        none_of(&found, &LEVELS, "hum");
        for stage in [Stage::Drive, Stage::Oscillator] {
            let state = found.stages.iter().find(|s| s.stage == stage);
            let works = state.is_some_and(|s| s.state == StageState::Working);
            assert!(!works, "{hertz} {state:?}");
        }
    }
}

/// Ringing behind the fall crosses the middle once, half a period after the rise: the rises alone would seem
/// even, at twice the rate.
#[test]
fn edges_that_are_even_in_one_direction_only_give_no_frequency() {
    let time = made::even(20e-9, 6_000);
    let period_s = 12e-6;
    let out = made::channel("CH1", &time, 0.05, 1, |t| {
        let phase = t.rem_euclid(period_s);
        let rings = (6e-6..6.3e-6).contains(&phase);
        if phase < 5.7e-6 || rings { 12.0 } else { 0.2 }
    });
    let found = running(vec![out], &[Role::Out]);
    let jitter = Quantity::OutJitter;
    none_of(&found, &[Quantity::OutFrequency, jitter], "differ by more");
}

/// Lowest and highest of intervals that hold a sixth of a cycle each.
#[test]
fn extremes_of_a_part_of_a_cycle_are_not_those_of_the_ramp() {
    let time = made::even(0.6e-6, 3_000);
    let values = (0..1_500).flat_map(|k| {
        let inside = (0..40).map(|i| made::ramp(1.2e-6 * f64::from(k) + 0.03e-6 * f64::from(i)));
        let (low, high) = inside.fold((f64::MAX, f64::MIN), |a, v| (a.0.min(v), a.1.max(v)));
        [low, high]
    });
    let mut rtct = Channel::of_volts("CH1", time, values.collect());
    rtct.kind = SampleKind::MinMaxPair;
    let found = running(vec![rtct], &[Role::RtCt]);
    none_of(&found, &LEVELS, "part of a cycle");
}

/// A level that drifts through its noise has one state, however wide that noise is.
#[test]
fn a_drift_has_no_two_states() {
    let time = made::even(200e-9, 4_000);
    for (slope, sigma) in [(0.86, 0.02), (0.4, 0.03), (2.5, 0.15)] {
        let drift = |t: f64| 2.5 - slope * t / 0.8e-3;
        let rtct = made::channel("CH1", &time, sigma, 5, drift);
        let out = made::channel("CH2", &time, 3.0 * sigma, 6, |t| 3.0 * drift(t));
        let found = running(vec![rtct, out], &[Role::RtCt, Role::Out]);
        none_of(&found, &LEVELS, "does not oscillate");
        none_of(&found, &[Quantity::OutHighLevel], "");
    }
}
