//! A VCC that is soft: what a meter shows and what the pin does, and the pin against its capacitor.

use super::*;

/// Dips of 2 V within each pulse of a controller that starts at 16 V and stops at 10 V: the pin falls to
/// 10 V while a meter shows nearly 12 V, which is outside the published limits.
#[test]
fn a_soft_supply_is_told_from_a_wrong_threshold() {
    let dips = |t: f64, on: bool| {
        if on && (t * 61_803.4).fract() < 0.12 {
            -2.0
        } else {
            0.0
        }
    };
    let supply = |t: f64| {
        if t < 20.0 {
            2.0 + 0.8 * t
        } else {
            18.0 - 0.25 * (t - 20.0)
        }
    };
    let swept = swept_between((16.0, 10.0), supply, dips, 48.0);
    let mut options = options(&[Role::Vcc, Role::Vref]);
    options.controller = Some("UC3844".to_owned());
    let found = made::examine(&[with_vref(&swept)], &options);
    holds(&found, Quantity::StartThreshold, 16.0);
    holds(&found, Quantity::StopThreshold, 10.0);
    assert!(value(&found, Quantity::StopThresholdMean).value > 11.6);
    let said = row(&found, Quantity::StopThreshold)
        .measured
        .remarks
        .join(" ");
    assert!(said.contains("A meter reads 11."), "{said}");
    assert!(
        said.contains("The threshold is right, VCC is soft"),
        "{said}"
    );
    let supply = &found.stages[0];
    assert_eq!(supply.state, StageState::Marginal);
    assert!(
        supply.because.starts_with("VCC is soft: a meter reads 11."),
        "{}",
        supply.because
    );
    assert_eq!(found.suspects[0].cause, "vcc-capacitor-esr");
    // steps read with a meter agree with its mean: they are no thresholds beside what the pin does
    let step = |volts, works, going| VoltageStep {
        volts,
        works,
        going: Some(going),
        current_a: None,
        place: StepPlace::Typed,
    };
    options.steps = vec![
        step(15.8, false, Direction::Up),
        step(16.1, true, Direction::Up),
        step(11.9, true, Direction::Down),
        step(11.7, false, Direction::Down),
    ];
    let found = made::examine(&[with_vref(&swept)], &options);
    let by_hand = found
        .measured
        .iter()
        .filter(|j| j.measured.capture.is_none());
    let quantities: Vec<Quantity> = by_hand.map(|j| j.measured.quantity).collect();
    assert!(
        quantities.contains(&Quantity::StopThresholdMean),
        "{quantities:?}"
    );
    assert!(
        !quantities.contains(&Quantity::StopThreshold),
        "{quantities:?}"
    );
    let said = found.steps.as_ref().unwrap().remarks.join(" ");
    assert!(
        said.contains("what the meter reads is no threshold, VCC is soft"),
        "{said}"
    );
    assert!(!said.contains("Not both are right"), "{said}");
}

/// Dips that the record follows, a hundred samples to a cycle: the line before the stop lies within the last dip,
/// and a meter averages over many (by their share of the time).
#[test]
fn a_meter_averages_dips_that_the_record_follows() {
    let dip_v = 0.88;
    for (hertz, share) in [(10.0, 0.3), (10.0, 0.1), (31.7, 0.5)] {
        let dips = |t: f64, on: bool| {
            let within = on && (t * hertz).fract() < share;
            -dip_v * f64::from(u8::from(within))
        };
        let supply = |t: f64| 2.0 + 0.8 * t.min(20.0) - 0.25 * (t - 20.0).max(0.0);
        let swept = swept_between((16.0, 10.0), supply, dips, 56.0);
        let mut options = options(&[Role::Vcc, Role::Vref]);
        options.controller = Some("UC3844".to_owned());
        let found = made::examine(&[with_vref(&swept)], &options);
        let seen = value(&found, Quantity::StopThreshold);
        let off = seen.value - 10.0;
        assert!(off.abs() < 0.1, "{hertz} {share}: {off} {}", seen.u95);
        assert!(off.abs() <= seen.u95, "{hertz} {share}: {off} {}", seen.u95);
        let mean = value(&found, Quantity::StopThresholdMean);
        let off = mean.value - (10.0 + dip_v * (1.0 - share));
        assert!(
            off.abs() <= mean.u95 && mean.u95 < 0.2,
            "{hertz} {share}: {off} {}",
            mean.u95
        );
        let stop = &row(&found, Quantity::StopThreshold).measured;
        let said = stop.remarks.join(" ");
        assert!(said.contains("but the pin falls to "), "{said}");
    }
}

/// VCC at the pin and at its capacitor: the pin counts, and what lies between is said.
#[test]
fn one_net_at_two_places_is_compared() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let at_capacitor = swept.vcc.iter().map(|v| v + 0.25).collect();
    let shot = made::shot(vec![
        record("A", at_capacitor, 0.03),
        record("B", swept.vcc.clone(), 0.03),
        record("C", vref(&swept.runs), 0.02),
    ]);
    let mut options = options(&[Role::Vcc, Role::Vcc, Role::Vref]);
    options.roles[0].place = Some("capacitor".to_owned());
    options.roles[1].place = Some("pin".to_owned());
    let found = made::examine(&[shot], &options);
    holds(&found, Quantity::StartThreshold, START_V);
    let said = found
        .notes
        .iter()
        .find(|n| n.text.contains("lies on average"))
        .unwrap();
    assert!(
        said.text.contains("above the pin") && said.text.contains("0.25"),
        "{}",
        said.text
    );
    let same = |n: &&firstpulse::data::Note| n.text.contains("running or stopped, VCC (7)");
    assert!(found.notes.iter().any(|n| same(&n)), "{:?}", found.notes);
    // 14 mA through a bad joint of 40 Ω between the two is 0.56 V, only while it runs (Ohm's law)
    let drop = |on: &bool| if *on { 0.56 } else { 0.0 };
    let at_capacitor = swept
        .vcc
        .iter()
        .zip(&swept.runs)
        .map(|(v, on)| v + drop(on));
    let shot = made::shot(vec![
        record("A", at_capacitor.collect(), 0.03),
        record("B", swept.vcc.clone(), 0.03),
        record("C", vref(&swept.runs), 0.02),
    ]);
    let found = made::examine(&[shot], &options);
    let lies = |n: &&firstpulse::data::Note| n.text.contains("while it runs, VCC (7)");
    let said = &found.notes.iter().find(lies).unwrap().text;
    assert!(
        said.contains("at the capacitor lies 0.56") || said.contains("at the capacitor lies 0.55"),
        "{said}"
    );
}
