//! Records that do not show all of it: clipped, with samples missing, with a VCC that jumps, from a soft feed.
//! What such a record says of a threshold either holds it, or is a reason.

use firstpulse::data::{Channel, EventKind, SampleKind, ShotKind};

use super::*;

fn why(found: &Inspection, quantity: Quantity) -> String {
    format!("{:?}", row(found, quantity).measured.outcome)
}

fn channels(swept: &Swept) -> Vec<Channel> {
    vec![
        record("VCC", swept.vcc.clone(), 0.06),
        record("VREF", vref(&swept.runs), 0.02),
    ]
}

fn examined(channels: Vec<Channel>) -> Inspection {
    made::examine(&[made::shot(channels)], &options(&[Role::Vcc, Role::Vref]))
}

/// At 2 V a division and zero at the bottom the range ends at 16 V (common practice); here the sweep goes past the
/// end of the range on its way to the start.
#[test]
fn a_start_beyond_the_range_is_no_threshold() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let clipped = |end: f64| {
        let mut all = channels(&swept);
        let count = all[0].samples.len();
        let cut = all[0].valid_slice(0..count).into_iter().map(|v| v.min(end));
        all[0] = Channel::of_volts("VCC", all[0].time.clone(), cut.collect());
        examined(all)
    };
    let found = clipped(8.046_875);
    let said = why(&found, Quantity::StartThreshold);
    assert!(
        said.contains("VCC is clipped at 8.047 V where it starts"),
        "{said}"
    );
    holds(&found, Quantity::StopThreshold, STOP_V);
    assert!(row(&found, Quantity::Hysteresis).measured.value().is_none());
    // beyond both thresholds nothing is cut off that counts
    let found = clipped(9.453_125);
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
}

/// VCC that stays at the end of the range does not turn there: such a sweep is no start on mains.
#[test]
fn a_vcc_that_leaves_the_range_is_not_taken_to_turn() {
    let two = |t: f64| by_hand(t % 30.0);
    let swept = swept(two, |_, _| 0.0, 60.0);
    for (low, high) in [(0, 102), (0, 110), (99, 256), (95, 256)] {
        let [low, high] = [low, high].map(|code| f64::from(code) * 20.0 / 256.0);
        let mut all = channels(&swept);
        let count = all[0].samples.len();
        let cut = all[0].valid_slice(0..count).into_iter();
        let cut: Vec<f64> = cut.map(|v| v.clamp(low, high)).collect();
        all[0] = Channel::of_volts("VCC", all[0].time.clone(), cut);
        let untold = Options {
            setup: None,
            ..options(&[Role::Vcc, Role::Vref])
        };
        let found = made::examine(&[made::shot(all)], &untold);
        let kind = found.captures[0].kind.value;
        assert_eq!(kind, Some(ShotKind::Sweep), "{low} {high}");
        assert_eq!(found.captures[0].setup.value, Some(Setup::Injected));
    }
}

/// With zero in the middle and 1 V a division the range ends at 4 V: VREF lies beyond, and is not 4 V.
#[test]
fn a_vref_beyond_the_range_is_no_level() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let mut all = channels(&swept);
    let noisy = record("VREF", vref(&swept.runs), 0.06);
    let count = noisy.samples.len();
    let cut = noisy
        .valid_slice(0..count)
        .into_iter()
        .map(|v| v.min(3.984_375));
    all[1] = Channel::of_volts("VREF", noisy.time.clone(), cut.collect());
    let found = examined(all);
    let said = why(&found, Quantity::VrefVoltage);
    assert!(
        said.contains("the record is clipped at 3.98 V, and the level lies beyond"),
        "{said}"
    );
    assert_ne!(found.stages[1].state, StageState::Marginal);
    holds(&found, Quantity::StartThreshold, START_V);
}

/// A witness without samples around an event leaves all that time open.
#[test]
fn an_event_among_missing_samples_may_lie_anywhere_there() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let starts = swept.runs.iter().position(|on| *on).unwrap();
    for (before, after) in [(800, 40), (40, 800), (400, 400)] {
        let mut all = channels(&swept);
        (starts - before..starts + after).for_each(|i| all[1].missing.mark(i));
        let found = examined(all);
        let event = &found.events[0];
        assert_eq!(event.kind, EventKind::Start);
        let at_s = starts as f64 / RATE;
        assert!((event.at_s - at_s).abs() <= event.within_s + 1.5 / RATE);
        let value = value(&found, Quantity::StartThreshold);
        let open_v = 0.5 * 0.25 * f64::from(before as u32 + after as u32) / RATE;
        assert!(
            (value.value - START_V).abs() <= 1.1 * open_v + 0.02,
            "{value:?}"
        );
        assert!(
            value.u95 > 0.9 * open_v && value.u95 < 1.3 * open_v + 0.02,
            "{}",
            value.u95
        );
        holds(&found, Quantity::StopThreshold, STOP_V);
    }
    // of VCC itself: nothing to read there
    let mut all = channels(&swept);
    (starts - 500..starts + 5).for_each(|i| all[0].missing.mark(i));
    let said = why(&examined(all), Quantity::StartThreshold);
    assert!(
        said.contains("samples of VCC are missing where it starts"),
        "{said}"
    );
}

/// Switched on at 10 V, and a contact that opens for 60 ms while it runs: no threshold shows there.
#[test]
fn a_vcc_that_jumps_past_a_threshold_tells_none() {
    let on = |t: f64| {
        if t < 2.0 {
            0.0
        } else {
            (10.0 - 0.25 * (t - 2.0)).max(6.5)
        }
    };
    let found = examined(channels(&swept(on, |_, _| 0.0, 30.0)));
    let said = why(&found, Quantity::StartThreshold);
    assert!(
        said.contains("VCC jumps from") && said.contains("the threshold lies somewhere between"),
        "{said}"
    );
    holds(&found, Quantity::StopThreshold, STOP_V);
    let opens = |t: f64| {
        if (15.0..15.06).contains(&t) {
            6.0
        } else {
            by_hand(t)
        }
    };
    let found = examined(channels(&swept(opens, |_, _| 0.0, 30.0)));
    assert_eq!(found.events.len(), 4, "{:?}", found.events);
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
    let said = row(&found, Quantity::StartThreshold)
        .measured
        .remarks
        .join(" ");
    assert!(
        said.contains("1 of 2 starts is not counted: VCC jumps from"),
        "{said}"
    );
    let reasons = found
        .events
        .iter()
        .filter(|e| e.why_no_vcc.is_some())
        .count();
    assert_eq!(reasons, 2);
}

/// 14 mA through 80 Ω is 1.1 V, more than the hysteresis of 0.8 V (Ohm's law): each start takes its own VCC away.
#[test]
fn a_soft_feed_makes_it_start_many_times_in_a_sweep() {
    let (mut v, mut on) = (by_hand(0.0), false);
    let (mut vcc, mut runs, mut starts) = (Vec::new(), Vec::new(), 0);
    for i in 0..(30.0 * RATE) as usize {
        for _ in 0..20 {
            let amps = if on { 0.014 } else { 0.0005 };
            v += ((by_hand(i as f64 / RATE) - v) / 80.0 - amps) / 220e-6 / (20.0 * RATE);
            let now = if on { v > STOP_V } else { v >= START_V };
            starts += usize::from(now && !on);
            on = now;
        }
        vcc.push(v);
        runs.push(on);
    }
    assert!(starts > 3, "{starts}");
    let found = examined(channels(&Swept { vcc, runs }));
    // VCC charges by 80 Ω and 220 µF in 18 ms: a line through 17 samples of that lies 0.03 V beyond
    holds(&found, Quantity::StartThreshold, START_V);
    holds(&found, Quantity::StopThreshold, STOP_V);
    let hysteresis = value(&found, Quantity::Hysteresis);
    assert!((hysteresis.value - START_V + STOP_V).abs() < hysteresis.u95 && hysteresis.u95 < 0.03);
    assert!((value(&found, Quantity::StartsPerSweep).value - starts as f64).abs() < 0.5);
    let words =
        format!("it starts {starts} times in one sweep: VCC is not clean, or the feed is soft");
    assert!(
        found.stages[0].because.contains(&words),
        "{}",
        found.stages[0].because
    );
    assert_eq!(found.exit_code(), 1);
}

/// Of the interval in which VREF falls the lowest is kept before the highest: that is one stop, not two.
#[test]
fn an_interval_that_holds_the_fall_of_vref_is_one_stop() {
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    for offset in 0..4 {
        let mut dice = Dice(31);
        let mut pairs = |values: &[f64]| -> Channel {
            let groups = values[offset..].chunks_exact(4);
            let extremes = groups.flat_map(|group| {
                let noisy: Vec<f64> = group.iter().map(|v| v + 0.02 * dice.normal()).collect();
                [
                    noisy.iter().copied().fold(f64::MAX, f64::min),
                    noisy.iter().copied().fold(f64::MIN, f64::max),
                ]
            });
            let samples: Vec<f64> = extremes.collect();
            let time = made::even(2.0 / RATE, samples.len());
            let mut channel = Channel::of_volts("pairs", time, samples);
            channel.kind = SampleKind::MinMaxPair;
            channel
        };
        let vref: Vec<f64> = swept
            .runs
            .iter()
            .map(|on| if *on { 5.0 } else { 0.0 })
            .collect();
        let found = examined(vec![pairs(&swept.vcc), pairs(&vref)]);
        let kinds: Vec<EventKind> = found.events.iter().map(|e| e.kind).collect();
        assert_eq!(kinds, [EventKind::Start, EventKind::Stop], "{offset}");
        holds(&found, Quantity::StopThreshold, STOP_V);
    }
}

/// UC3844: 14.5 V to 17.5 V (SLUS223G). Charged to 17.2 V and no further, some parts would have started.
#[test]
fn a_vcc_that_parks_between_the_limits_blames_nobody() {
    for (park_v, state) in [(17.2, StageState::NotTested), (12.0, StageState::Dead)] {
        let charge = |t: f64| park_v * (1.0 - (-t / 4.0).exp());
        let swept = swept_between((17.4, 10.0), charge, |_, _| 0.0, 30.0);
        let mut options = options(&[Role::Vcc, Role::Vref]);
        (options.controller, options.setup) = (Some("UC3844".to_owned()), Some(Setup::Mains));
        let found = made::examine(&[made::shot(channels(&swept))], &options);
        assert_eq!(found.stages[0].state, state, "{}", found.stages[0].because);
    }
}
