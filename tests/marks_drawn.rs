//! What the lane shows for a value lies where the formula of the record has it.

mod made;

use firstpulse::data::{Inspection, Mark, Options, Quantity, Role};
use made::{FALL_S, RISE_S};

fn marks(found: &Inspection, quantity: Quantity) -> Vec<Mark> {
    let entry = made::entry(found, quantity).unwrap_or_else(|| panic!("{quantity:?}"));
    assert!(entry.measured.value().is_some(), "{entry:?}");
    entry.measured.marks.clone()
}

fn levels(marks: &[Mark]) -> Vec<f64> {
    let level = |mark: &Mark| match mark {
        Mark::Level { level, .. } => Some(*level),
        Mark::Instant { .. } => None,
    };
    marks.iter().filter_map(level).collect()
}

fn instants(marks: &[Mark]) -> Vec<f64> {
    let at_s = |mark: &Mark| match mark {
        Mark::Instant { at_s, .. } => Some(*at_s),
        Mark::Level { .. } => None,
    };
    marks.iter().filter_map(at_s).collect()
}

#[test]
fn height_and_flanks_of_a_ramp() {
    let time = made::even(50e-9, 20_000);
    let channel = made::channel("CH1", &time, 0.005, 31, made::ramp);
    let options = Options {
        roles: made::roles(&[Role::RtCt]),
        ..Options::default()
    };
    let found = made::examine(&[made::shot(vec![channel])], &options);
    let height = levels(&marks(&found, Quantity::RampAmplitude));
    assert_eq!(height.len(), 2);
    assert!((height[0] - 1.0).abs() < 0.05 && (height[1] - 2.7).abs() < 0.05);
    let period_s = RISE_S + FALL_S;
    // the ramp begins to rise at 0 s: distance from the nearest turning point of that kind
    let off = |at_s: f64, first_s: f64| {
        let phase_s = (at_s - first_s).rem_euclid(period_s);
        phase_s.min(period_s - phase_s)
    };
    let rise = instants(&marks(&found, Quantity::RampRiseDuration));
    assert_eq!(rise.len(), 2);
    // a mark stands within 15 % of the rise of its corner: what is drawn is a straight flank
    assert!(off(rise[0], 0.0) < 0.15 * RISE_S, "{rise:?}");
    assert!(off(rise[1], RISE_S) < 0.15 * RISE_S, "{rise:?}");
    let fall = instants(&marks(&found, Quantity::RampFallDuration));
    assert!((fall[1] - fall[0] - FALL_S).abs() < 50e-9, "{fall:?}");
    assert!(off(fall[0], RISE_S) < 50e-9, "{fall:?}");
}

#[test]
fn starts_of_a_hiccup_and_its_first_climb() {
    let (burst_s, recharge_s) = (22.6e-3, 202.6e-3);
    let time = made::even(14e-6, 200_000);
    let channels = vec![
        made::channel("CH1", &time, 0.02, 6, |t| {
            made::hiccup(t, burst_s, recharge_s)
        }),
        made::channel("CH2", &time, 0.01, 7, |t| {
            made::vref_of_hiccup(t, burst_s, recharge_s, 5e-3)
        }),
    ];
    let options = Options {
        roles: made::roles(&[Role::Vcc, Role::Vref]),
        ..Options::default()
    };
    let found = made::examine(&[made::shot(channels)], &options);
    let starts = instants(&marks(&found, Quantity::HiccupPeriod));
    assert!(starts.len() >= 9, "{starts:?}");
    for (number, at_s) in starts.iter().enumerate() {
        let wanted_s = 0.55 + number as f64 * (burst_s + recharge_s);
        assert!((at_s - wanted_s).abs() < 1e-3, "{at_s} not {wanted_s}");
    }
    let both = instants(&marks(&found, Quantity::HiccupRatio));
    assert!(both.len() > starts.len());
    let delay = instants(&marks(&found, Quantity::FirstStartDelay));
    assert!((delay[0] - 0.05).abs() < 0.01 && (delay[1] - 0.55).abs() < 1e-3);
}
