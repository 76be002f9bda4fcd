//! Records that no scope should write and some do: loading and examining them must not panic, and must
//! give no number that is silently wrong. What is expected follows from the definition of each kind of
//! record (`data::SampleKind`, `data::Mask`) and from counting.

mod made;

use std::sync::Arc;

use firstpulse::data::time::Segment;
use firstpulse::data::{
    Channel, Inspection, Mask, MemorySource, Options, Outcome, Progress, Quantity, Role,
    SampleKind, Samples, ShotKind, Source, StageState, Store, TimeAxis, Unit,
};
use firstpulse::inspect::{self, ReadOptions};

/// Every role and kind of shot, one after the other, so that every rule meets the record.
fn look_from_all_sides(channels: impl Fn() -> Vec<Channel>) -> Vec<Inspection> {
    let all = [
        [Role::Vcc, Role::Vref],
        [Role::RtCt, Role::Out],
        [Role::Vcc, Role::RtCt],
        [Role::Gate, Role::Cs],
        [Role::Output, Role::Bulk],
    ];
    let kinds = [
        None,
        Some(ShotKind::Sweep),
        Some(ShotKind::Start),
        Some(ShotKind::Running),
    ];
    let mut found = Vec::new();
    for kind in kinds {
        let mut options = Options {
            controller: Some("UC3844".to_owned()),
            ..Options::default()
        };
        options.capture_kinds.extend(kind.map(|k| (0, k)));
        found.push(made::examine(&[made::shot(channels())], &options));
        for roles in &all {
            options.roles = made::roles(&roles[..channels().len().min(2)]);
            found.push(made::examine(&[made::shot(channels())], &options));
        }
    }
    found
}

/// Values are finite, their budgets too, and no stage is called dead or marginal.
fn nothing_is_claimed(what: &str, inspections: &[Inspection]) {
    for inspection in inspections {
        all_finite(what, inspection);
        for stage in &inspection.stages {
            assert!(
                !matches!(stage.state, StageState::Dead | StageState::Marginal),
                "{what}: {stage:?}"
            );
        }
    }
}

fn all_finite(what: &str, inspection: &Inspection) {
    for value in inspection
        .measured
        .iter()
        .filter_map(|j| j.measured.value())
    {
        let good = value.value.is_finite() && value.u95.is_finite() && value.u.is_finite();
        assert!(good, "{what}: {:?}", inspection.measured);
    }
    for event in &inspection.events {
        assert!(
            event.at_s.is_finite() && event.within_s.is_finite(),
            "{what}: {event:?}"
        );
    }
}

fn plain(values: Vec<f64>) -> Channel {
    let time = made::even(1e-3, values.len());
    Channel::of_volts("CH1", time, values)
}

#[test]
fn no_numbers_or_hardly_any() {
    for (what, values) in [
        ("no sample", vec![]),
        ("one sample", vec![5.0]),
        ("two samples", vec![0.0, 5.0]),
        ("seven samples", vec![0.0, 5.0, 0.0, 5.0, 0.0, 5.0, 0.0]),
        ("NaN only", vec![f64::NAN; 5000]),
        ("infinities only", vec![f64::INFINITY; 5000]),
        (
            "one number among NaN",
            [vec![f64::NAN; 999], vec![5.0], vec![f64::NAN; 999]].concat(),
        ),
    ] {
        let found = look_from_all_sides(|| vec![plain(values.clone()), plain(values.clone())]);
        for inspection in &found {
            all_finite(what, inspection);
        }
        let numbers = values.iter().filter(|v| v.is_finite()).count();
        if numbers == 0 {
            nothing_is_claimed(what, &found);
            for inspection in &found {
                let counted = inspection
                    .measured
                    .iter()
                    .filter_map(|j| j.measured.value());
                let other = counted.filter(|v| v.u > 0.0).count();
                assert_eq!(
                    other, 0,
                    "{what}: a level of nothing: {:?}",
                    inspection.measured
                );
            }
        }
    }
}

/// A constant has a level and nothing else.
#[test]
fn a_constant() {
    let still = || vec![plain(vec![5.0; 5000]), plain(vec![12.0; 5000])];
    for inspection in look_from_all_sides(still) {
        all_finite("constant", &inspection);
        assert!(inspection.events.is_empty());
        for quantity in [
            Quantity::StartThreshold,
            Quantity::StopThreshold,
            Quantity::OscillatorFrequency,
            Quantity::OutFrequency,
            Quantity::OutDutyCycle,
            Quantity::RampAmplitude,
            Quantity::HiccupPeriod,
        ] {
            let value = made::entry(&inspection, quantity).and_then(|j| j.measured.value());
            assert_eq!(value, None, "{}", quantity.info().id);
        }
    }
    let mut options = Options {
        roles: made::roles(&[Role::Vref]),
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    let inspection = made::examine(&[made::shot(vec![plain(vec![5.0; 5000])])], &options);
    let vref = made::value(&inspection, Quantity::VrefVoltage);
    assert!(
        (vref.value - 5.0).abs() < 1e-9 && vref.u95 > 0.0,
        "{vref:?}"
    );
}

/// Codes of 8 bits; those at `missing` hold 255 but are marked as missing.
fn coded(codes: Vec<u8>, missing: impl Fn(usize) -> bool) -> Channel {
    let mut mask = Mask::new();
    let mut codes = codes;
    for (index, code) in codes.iter_mut().enumerate().filter(|(i, _)| missing(*i)) {
        *code = 255;
        mask.mark(index);
    }
    Channel {
        name: "CH1".to_owned(),
        unit: Unit::Volt,
        kind: SampleKind::Instant,
        time: made::even(1e-6, codes.len()),
        samples: Samples::new(Store::U8(codes), 0.1, 0.0),
        missing: mask,
        clipped: Mask::new(),
        full_scale: Some((0.0, 25.6)),
    }
}

/// Pulses of 0.5 V and 12 V, 40 samples a period; every code that is marked as missing says 25.5 V.
#[test]
fn codes_behind_the_missing_mask_are_no_samples() {
    let codes: Vec<u8> = (0..4000)
        .map(|i| {
            let level = if i % 40 < 20 { 5 } else { 120 };
            level + u8::from(i * 7 % 5 == 0)
        })
        .collect();
    // within a low state, and across an edge
    let missing = |i: usize| matches!(i % 400, 5..=8 | 58..=61);
    let facts = firstpulse::signal::of_channel(&coded(codes.clone(), missing));
    let whole = firstpulse::signal::of_channel(&coded(codes, |_| false));
    assert!((facts.max - 12.1).abs() < 1e-9, "{}", facts.max);
    let (pulses, all) = (facts.pulses.unwrap(), whole.pulses.unwrap());
    assert_eq!(pulses.rising.len(), all.rising.len());
    assert_eq!(pulses.falling.len(), all.falling.len());
    assert!(pulses.peaks.mean < 12.2, "{:?}", pulses.peaks);
    for (mine, theirs) in pulses.rising.iter().zip(&all.rising) {
        // a missing edge is known to the gap only
        assert!((mine - theirs).abs() <= 4.0, "{mine} instead of {theirs}");
    }
}

#[test]
fn all_missing_or_all_clipped() {
    let codes: Vec<u8> = (0..5000).map(|i| (i % 200) as u8).collect();
    let blank = || {
        vec![
            coded(codes.clone(), |_| true),
            coded(codes.clone(), |_| true),
        ]
    };
    let found = look_from_all_sides(blank);
    nothing_is_claimed("all missing", &found);
    for inspection in &found {
        let facts = &inspection.captures[0].channels[0].facts;
        assert!(facts.valid == 0 && facts.max.is_nan() && facts.pulses.is_none());
    }
    let clipped = || {
        let mut channel = coded(vec![200; 5000], |_| false);
        (0..5000).for_each(|i| channel.clipped.mark(i));
        vec![channel]
    };
    for inspection in look_from_all_sides(clipped) {
        all_finite("all clipped", &inspection);
        assert_eq!(inspection.captures[0].channels[0].facts.clipped, 5000);
    }
}

/// Volts are what all quantities of pins are in: a current is none of them.
#[test]
fn another_unit_is_no_pin() {
    for unit in [Unit::Ampere, Unit::Unknown] {
        let time = made::even(50e-9, 20_000);
        let mut channel = made::channel("CH1", &time, 0.01, 1, made::ramp);
        channel.unit = unit;
        let inspection = made::examine(&[made::shot(vec![channel])], &Options::default());
        let role = inspection.captures[0].channels[0].role.value;
        let wanted = (unit == Unit::Unknown).then_some(Role::RtCt);
        assert_eq!(role, wanted, "{unit:?}");
    }
}

#[test]
fn values_at_the_end_of_the_numbers() {
    for big in [1e300, f64::MAX, -f64::MAX, f64::MIN_POSITIVE, 5e-324] {
        for other in [0.0, 5.0, -big] {
            let channel = || {
                plain(
                    (0..4000)
                        .map(|i| if i % 50 < 25 { big } else { other })
                        .collect(),
                )
            };
            let facts = firstpulse::signal::of_channel(&channel());
            assert_eq!(
                (facts.min, facts.max),
                (big.min(other), big.max(other)),
                "{big} {other}"
            );
            look_from_all_sides(|| vec![channel(), plain(vec![5.0; 4000])]);
        }
    }
}

#[test]
fn huge_values_in_a_file() {
    let rows: String = (0..2000).fold("Time (s),CH1 (V),CH2 (V)\n".to_owned(), |mut text, i| {
        text += &format!(
            "{},{},{}\n",
            f64::from(i) * 1e-6,
            if i % 9 < 4 { "1e300" } else { "-1.7e308" },
            i % 7
        );
        text
    });
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("big.csv", rows.into_bytes()));
    let shots = inspect::load(&source, &ReadOptions::default(), &Progress::new()).unwrap();
    let inspection = made::examine(&shots, &Options::default());
    assert_eq!(inspection.captures[0].channels.len(), 2);
}

/// The running ramp and OUT, in pairs of extremes or as instants.
fn running(kind: SampleKind) -> Vec<Channel> {
    let time = made::even(50e-9, 40_000);
    let rtct = made::channel("CH1", &time, 0.01, 1, made::ramp);
    let out = made::channel("CH2", &time, 0.05, 2, made::out);
    [rtct, out].map(|c| Channel { kind, ..c }).into()
}

/// The extremes of an interval come in no known order: edges between them are no edges of the signal.
#[test]
fn pairs_of_extremes_give_no_frequency_and_no_duty_cycle() {
    let timed = [
        Quantity::OscillatorFrequency,
        Quantity::OutFrequency,
        Quantity::OutDutyCycle,
        Quantity::RampRiseDuration,
        Quantity::RampFallDuration,
        Quantity::OscillatorToOutRatio,
    ];
    let mut options = Options {
        roles: made::roles(&[Role::RtCt, Role::Out]),
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    let instants = made::examine(&[made::shot(running(SampleKind::Instant))], &options);
    let pairs = made::examine(&[made::shot(running(SampleKind::MinMaxPair))], &options);
    for quantity in timed {
        made::value(&instants, quantity);
        let entry = made::entry(&pairs, quantity);
        let value = entry.and_then(|j| j.measured.value());
        assert_eq!(value, None, "{}", quantity.info().id);
    }
    for quantity in [Quantity::OscillatorFrequency, Quantity::OutFrequency] {
        let entry = made::entry(&pairs, quantity).unwrap();
        let Outcome::NotMeasurable(why) = &entry.measured.outcome else {
            panic!("{entry:?}");
        };
        assert!(why.contains("extremes"), "{why}");
    }
    // levels stand: extremes are real samples
    let high = made::value(&pairs, Quantity::OutHighLevel);
    assert!((high.value - 12.5).abs() < high.u95, "{high:?}");
}

/// A gap in time is not a long period, and a segment's step is not another's.
#[test]
fn segmented_and_explicit_time() {
    let step_s = 50e-9;
    let count = 40_000;
    let part = |first_index, start_s, step_s| Segment {
        first_index,
        count: count / 2,
        start_s,
        step_s,
    };
    let even = made::even(step_s, count);
    let same = TimeAxis::Segmented(vec![
        part(0, 0.0, step_s),
        part(count / 2, step_s * (count / 2) as f64, step_s),
    ]);
    let gap = TimeAxis::Segmented(vec![part(0, 0.0, step_s), part(count / 2, 0.5, step_s)]);
    let written = TimeAxis::Explicit((0..count).map(|i| even.at(i)).collect());
    let options = Options {
        roles: made::roles(&[Role::RtCt, Role::Out]),
        ..Options::default()
    };
    let wanted = 1.0 / (made::RISE_S + made::FALL_S);
    for (what, axis) in [("joined", same), ("gap", gap), ("explicit", written)] {
        let axis = Arc::new(axis);
        let mut options = options.clone();
        options.capture_kinds.insert(0, ShotKind::Running);
        let rtct = made::channel("CH1", &axis, 0.01, 1, made::ramp);
        let out = made::channel("CH2", &axis, 0.05, 2, made::out);
        let inspection = made::examine(&[made::shot(vec![rtct, out])], &options);
        all_finite(what, &inspection);
        for (quantity, wanted) in [
            (Quantity::OscillatorFrequency, wanted),
            (Quantity::OutFrequency, 0.5 * wanted),
        ] {
            let found = made::entry(&inspection, quantity).unwrap();
            match found.measured.value() {
                Some(value) => assert!(
                    (value.value - wanted).abs() <= 1.5 * value.u95,
                    "{what}: {} instead of {wanted}: {value:?}",
                    quantity.info().id
                ),
                None => assert_eq!(what, "gap", "{found:?}"),
            }
        }
    }
}

/// Steps of time that differ: a mean step must not be taken for all of them.
#[test]
fn uneven_time() {
    let mut at_s = 0.0;
    let times: Vec<f64> = (0..40_000)
        .map(|i| {
            at_s += if i < 20_000 { 50e-9 } else { 100e-9 };
            at_s
        })
        .collect();
    let axis = Arc::new(TimeAxis::Explicit(times));
    let mut options = Options {
        roles: made::roles(&[Role::RtCt, Role::Out]),
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    let rtct = made::channel("CH1", &axis, 0.01, 1, made::ramp);
    let out = made::channel("CH2", &axis, 0.05, 2, made::out);
    let inspection = made::examine(&[made::shot(vec![rtct, out])], &options);
    let period_s = made::RISE_S + made::FALL_S;
    for (quantity, wanted) in [
        (Quantity::OscillatorFrequency, 1.0 / period_s),
        (Quantity::OutFrequency, 0.5 / period_s),
        (Quantity::OutDutyCycle, 0.5 * made::RISE_S / period_s),
        (Quantity::RampRiseDuration, made::RISE_S),
    ] {
        let Some(value) = made::entry(&inspection, quantity).and_then(|j| j.measured.value())
        else {
            continue;
        };
        assert!(
            (value.value - wanted).abs() <= 1.5 * value.u95,
            "{}: {} instead of {wanted}: {value:?}",
            quantity.info().id,
            value.value
        );
    }
}
