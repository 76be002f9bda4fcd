//! Channels set to meter readings: corrections and what they leave, against JCGM 100 and closed forms.

// a panic is how a test fails
#![allow(clippy::unwrap_used)]

mod made;

use std::sync::Arc;

use firstpulse::data::options::{Accuracy, ChannelChoice, MeterPoint};
use firstpulse::data::{Corrected, InspectedChannel, Inspection, Options, Value};
use firstpulse::inspect::{Library, Shot, examine};
use made::Dice;

/// Half-widths of scope and meter as in the budget recomputed below: 2 %, 0.2 V, 0.3 %, 10 mV.
const SCOPE: Accuracy = Accuracy {
    gain: 0.02,
    offset: 0.2,
};
const METER: Accuracy = Accuracy {
    gain: 0.003,
    offset: 0.01,
};

/// Samples each millisecond: 1 s at each of `levels`, then a slow rise to 18 V; shown with `gain` and
/// `offset`, and with a little noise that is the same each time.
fn shot(levels: &[f64], gain: f64, offset: f64) -> Arc<Shot> {
    let flat = levels.len() as f64;
    let level = |t: f64| {
        let at = levels.get(t as usize).copied();
        at.unwrap_or(1.0 + 17.0 * (t - flat) / 4.0) * gain + offset
    };
    let time = made::even(1e-3, 1000 * levels.len() + 4000);
    made::shot(vec![made::channel("CH1", &time, 0.012, 5, level)])
}

fn point(from_s: f64, to_s: f64, volts: f64) -> MeterPoint {
    MeterPoint {
        channel: made::nth(1),
        from_s,
        to_s,
        volts,
    }
}

fn options(points: Vec<MeterPoint>) -> Options {
    Options {
        accuracies: vec![(made::nth(1), SCOPE)],
        meter: Some(METER),
        meter_points: points,
        ..Options::default()
    }
}

fn inspected(shot: &Arc<Shot>, points: Vec<MeterPoint>) -> Result<Inspection, String> {
    let library = Library::built_in().unwrap();
    examine(std::slice::from_ref(shot), &options(points), &library).map_err(|e| e.to_string())
}

fn channel(shot: &Arc<Shot>, points: Vec<MeterPoint>) -> InspectedChannel {
    inspected(shot, points).unwrap().captures[0].channels[0].clone()
}

/// Uncertainty of a level by the errors that are left.
fn u_at(channel: &InspectedChannel, volts: f64) -> f64 {
    let errors = &channel.set_to_meter.as_ref().unwrap().errors;
    Value::from_terms(volts, errors.iter().map(|e| e.at(volts)).collect()).u
}

/// Rectangular half-widths by JCGM 100:2008, 4.3.7.
fn u(half: f64) -> f64 {
    half / 3.0_f64.sqrt()
}

/// Two readings, by the law of propagation (JCGM 100:2008, 5.1): u² is
/// `[(s₂−V)² u₁² + (V−s₁)² u₂²] / (s₂−s₁)²` and the square of meter gain × V. With 5 and 15 V, 10 mV of counts and 0.3 % of gain that is 28 mV at 15.8 V, where the
/// scope alone (2 %, 0.1 division of 2 V) leaves 216 mV.
#[test]
fn two_readings_leave_an_eighth() {
    let shot = shot(&[5.0, 15.0], 1.018, -0.06);
    let tied = channel(&shot, vec![point(0.1, 0.9, 5.0), point(1.5, 1.5, 15.0)]);
    let set = tied.set_to_meter.clone().unwrap();
    assert_eq!(set.corrected, Corrected::GainAndOffset);
    assert!((set.gain - 1.0 / 1.018).abs() < 2e-4, "{set:?}");
    assert!((set.offset_v - 0.06 / 1.018).abs() < 2e-3, "{set:?}");
    let volts: f64 = 15.8;
    let counts = u(METER.offset);
    let by_hand =
        ((volts - 15.0).powi(2) * counts.powi(2) + (volts - 5.0).powi(2) * counts.powi(2)).sqrt()
            / 10.0;
    let expected = by_hand.hypot(u(METER.gain * volts));
    let found = u_at(&tied, volts);
    assert!((found / expected - 1.0).abs() < 0.02, "{found} {expected}");
    let alone = u(SCOPE.gain * volts).hypot(u(SCOPE.offset));
    assert!((alone - 0.216).abs() < 1e-3, "{alone}");
    assert!((found - 0.028).abs() < 1e-3, "{found}");
    // a level of 15.8 V comes back from what the scope shows
    assert!((tied.corrected(15.8 * 1.018 - 0.06) - 15.8).abs() < 2e-3);
}

/// One reading: where only the gain may be off the correction is proportional to the level, where only
/// the offset may it is the same everywhere (least squares; both closed forms by hand).
#[test]
fn one_reading_corrects_what_may_be_off() {
    let shot = shot(&[15.0], 1.02, 0.0);
    let gain_only = Accuracy {
        gain: 0.03,
        offset: 0.0,
    };
    let offset_only = Accuracy {
        gain: 0.0,
        offset: 0.5,
    };
    for (accuracy, of) in [(gain_only, 1.0 / 1.02), (offset_only, 1.0)] {
        let mut options = options(vec![point(0.5, 0.5, 15.0)]);
        options.accuracies[0].1 = accuracy;
        let library = Library::built_in().unwrap();
        let found = examine(std::slice::from_ref(&shot), &options, &library).unwrap();
        let channel = &found.captures[0].channels[0];
        assert!(
            (channel.gain - of).abs() < 3e-4,
            "{accuracy:?} {}",
            channel.gain
        );
        assert!((channel.corrected(15.3) - 15.0).abs() < 2e-3);
        // at the reading itself nothing but the meter is left
        let meter = u(METER.gain * 15.0).hypot(u(METER.offset));
        assert!((u_at(channel, 15.0) / meter - 1.0).abs() < 0.02);
        // at half the level the error of the scope that is left is none in both cases
        let counts = if accuracy.offset > 0.0 { 1.0 } else { 0.5 };
        let there = u(METER.gain * 15.0 * counts).hypot(u(METER.offset * counts));
        assert!(
            (u_at(channel, 7.5) / there - 1.0).abs() < 0.02,
            "{accuracy:?}"
        );
    }
}

/// With both, what is left by least squares is never more than the scope alone leaves.
#[test]
fn one_reading_never_makes_it_worse() {
    let shot = shot(&[5.0], 1.0, 0.0);
    let tied = channel(&shot, vec![point(0.5, 0.5, 5.0)]);
    for volts in [0.5, 2.0, 5.0, 8.0, 12.0, 18.0] {
        let alone = u(SCOPE.gain * volts).hypot(u(SCOPE.offset));
        let left = u_at(&tied, volts);
        assert!(left < alone * 1.001, "{volts} V: {left} {alone}");
    }
}

/// The law that all of the above rests on, by drawing: 4,000 scopes and meters within their accuracies.
#[test]
fn the_uncertainty_is_that_of_drawn_scopes_and_meters() {
    let mut dice = Dice(9);
    let (read, volts) = (12.0, 8.0);
    // the correction of a level shown as x by a reading d of a piece shown as s, as documented
    let (g2, o2) = ((SCOPE.gain * read).powi(2), SCOPE.offset.powi(2));
    let share = |v: f64| (v / read * g2 + o2) / (g2 + o2);
    let mut squares = 0.0;
    for _ in 0..4000 {
        let (g, o) = (dice.within(SCOPE.gain), dice.within(SCOPE.offset));
        let meter = read * dice.within(METER.gain) + dice.within(METER.offset);
        let shown = |v: f64| v * (1.0 + g) + o;
        let difference = shown(read) - (read + meter);
        let corrected = shown(volts) - share(volts) * difference;
        squares += (corrected - volts).powi(2);
    }
    let drawn = (squares / 4000.0).sqrt();
    let shot = shot(&[12.0], 1.0, 0.0);
    let tied = channel(&shot, vec![point(0.5, 0.5, 12.0)]);
    let found = u_at(&tied, volts);
    assert!((found / drawn - 1.0).abs() < 0.06, "{found} {drawn}");
}

#[test]
fn readings_that_cannot_be_are_refused_with_the_reason() {
    let shot = shot(&[5.0, 15.0], 1.0, 0.0);
    let refused = |p: MeterPoint| inspected(&shot, vec![p]).unwrap_err();
    assert!(refused(point(3.0, 4.0, 5.0)).contains("moves by"));
    assert!(refused(point(0.5, 0.5, -5.0)).contains("far more apart"));
    assert!(refused(point(0.5, 0.5, 50.0)).contains("probe factor"));
    assert!(refused(point(100.0, 101.0, 5.0)).contains("runs from 0 s"));
    let doubtful = channel(&shot, vec![point(0.5, 0.5, 5.5)])
        .set_to_meter
        .unwrap();
    assert!(doubtful.doubts[0].contains("more apart than both may be off"));
    assert!(
        doubtful
            .errors
            .iter()
            .any(|e| e.name == "meter and scope disagree")
    );
}

/// What corrects one channel corrects the others on its range, and one gain error of the meter then
/// leaves their ratio alone.
#[test]
fn a_range_is_corrected_as_one() {
    let shot = shot(&[5.0, 15.0], 1.018, -0.06);
    let points = vec![point(0.5, 0.5, 5.0), point(1.5, 1.5, 15.0)];
    let pair = [Arc::clone(&shot), shot];
    let mut told = options(points);
    told.meter_points
        .iter_mut()
        .for_each(|p| p.channel.capture = Some(1));
    let of = |capture| ChannelChoice {
        capture: Some(capture),
        ..made::nth(1)
    };
    told.same_range = vec![vec![of(1), of(2)]];
    let library = Library::built_in().unwrap();
    let found = examine(&pair, &told, &library).unwrap();
    let gains: Vec<f64> = found.captures.iter().map(|c| c.channels[0].gain).collect();
    assert!((gains[0] - gains[1]).abs() < 1e-12, "{gains:?}");
    assert!(
        found
            .notes
            .iter()
            .any(|n| n.text.contains("by the readings of shot 1"))
    );
    told.same_range.clear();
    told.meter_points
        .iter_mut()
        .for_each(|p| p.channel.capture = None);
    let error = examine(&pair, &told, &library).unwrap_err().to_string();
    assert!(error.contains("captures 1, 2"), "{error}");
}

/// VCC that moves by 5 V a second is nowhere flat, however coarse its codes; a second held still is.
#[test]
fn an_instant_of_a_slope_is_refused() {
    let time = made::even(2e-3, 5_000);
    for (code, sigma) in [(0.08, 0.03), (0.08, 0.005), (0.002, 0.03)] {
        let mut dice = Dice(3);
        let level = |t: f64| match t {
            t if t < 2.0 => 5.0,
            t if t < 4.0 => 5.0 + 5.0 * (t - 2.0),
            t if t < 5.0 => 15.0,
            t => 15.0 - 2.0 * (t - 5.0),
        };
        let coded = |i: usize| ((level(time.at(i)) + sigma * dice.normal()) / code).round() * code;
        let values = (0..5_000).map(coded).collect();
        let channel = firstpulse::data::Channel::of_volts("CH1", time.clone(), values);
        let shot = made::shot(vec![channel]);
        for at_s in [2.5, 3.0, 3.5, 7.0] {
            let refused = inspected(&shot, vec![point(at_s, at_s, level(at_s))]);
            let why = refused.err().unwrap_or_default();
            assert!(why.contains("it moves by"), "{code} {sigma} {at_s}: {why}");
        }
        let held = inspected(&shot, vec![point(4.5, 4.5, 15.0)]);
        assert!(held.is_ok(), "{code} {sigma}: {:?}", held.err());
    }
}

/// Counts that are off in both readings alike (a zero), or in each by itself: no data sheet of a multimeter says which,
/// so what is left has to hold either, here half way between two readings (4,000 meters drawn).
#[test]
fn counts_may_be_off_alike_or_each_by_itself() {
    let shot = shot(&[5.0, 15.0], 1.0, 0.0);
    let mut told = options(vec![point(0.5, 0.5, 5.0), point(1.5, 1.5, 15.0)]);
    let counts = 0.05;
    told.meter = Some(Accuracy {
        gain: 0.0,
        offset: counts,
    });
    let library = Library::built_in().unwrap();
    let found = examine(std::slice::from_ref(&shot), &told, &library).unwrap();
    let errors = &found.captures[0].channels[0]
        .set_to_meter
        .as_ref()
        .unwrap()
        .errors;
    let u95 = Value::from_terms(10.0, errors.iter().map(|e| e.at(10.0)).collect()).u95;
    let mut dice = Dice(11);
    for alike in [true, false] {
        let mut held = 0;
        for _ in 0..4000 {
            let first = dice.within(counts);
            let second = if alike { first } else { dice.within(counts) };
            held += usize::from((0.5 * (first + second)).abs() <= u95);
        }
        let share = f64::from(held as u32) / 4000.0;
        assert!((0.88..=1.0).contains(&share), "{alike}: {share}");
    }
    assert!(u95 < counts, "{u95}");
}

/// One of two readings taken wrongly by 0.6 V, as a gain of 6 % where 2 % are allowed, and one of two at nearly one
/// level: it says so, and the true level stays within the ± (the line through the readings, by hand).
#[test]
fn readings_that_contradict_each_other_are_doubted() {
    let cases = [
        (
            [5.0, 13.0],
            [5.0, 13.6],
            "more than the 2.6 % that scope and meter may be",
        ),
        ([13.0, 13.1], [13.0, 13.5], "off the line"),
    ];
    for (levels, read, why) in cases {
        let shot = shot(&levels, 0.99, 0.05);
        let points = vec![point(0.5, 0.5, read[0]), point(1.5, 1.5, read[1])];
        let tied = channel(&shot, points);
        let set = tied.set_to_meter.clone().unwrap();
        assert!(
            set.doubts.iter().any(|d| d.contains(why)),
            "{:?}",
            set.doubts
        );
        for volts in [10.0, 16.0] {
            let terms = set.errors.iter().map(|e| e.at(volts)).collect();
            let u95 = Value::from_terms(volts, terms).u95;
            let off = tied.corrected(volts * 0.99 + 0.05) - volts;
            assert!(off.abs() <= u95, "{levels:?} {volts}: {off} {u95}");
        }
    }
}
