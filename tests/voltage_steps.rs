//! Voltage steps: a fact of the trade, brackets against order statistics, a scatter that is drawn and
//! found again, contradictions, missing readings, captures beside them, and the command line.

#![expect(clippy::unwrap_used, reason = "a test may fail where it stands")]

mod made;

#[path = "voltage_steps/terminal.rs"]
mod terminal;

use firstpulse::bench::steps;
use firstpulse::data::{
    Direction, Inspection, Judged, Measured, Options, Outcome, Quantity, Role, Setup, StepPlace,
    StepsFinding, Verdict, VoltageStep,
};
use firstpulse::inspect::{self, Library};
use made::Dice;

const UP: Option<Direction> = Some(Direction::Up);
const DOWN: Option<Direction> = Some(Direction::Down);

fn step(volts: f64, works: bool, going: Option<Direction>) -> VoltageStep {
    VoltageStep {
        volts,
        works,
        going,
        current_a: None,
        place: StepPlace::Typed,
    }
}

fn found(steps_taken: Vec<VoltageStep>) -> (StepsFinding, Vec<Measured>) {
    let options = Options {
        steps: steps_taken,
        ..Options::default()
    };
    steps::find(&options, &[], &[]).unwrap()
}

fn inspected(marking: &str, steps_taken: Vec<VoltageStep>) -> Inspection {
    let options = Options {
        controller: Some(marking.to_owned()),
        setup: Some(Setup::Injected),
        steps: steps_taken,
        ..Options::default()
    };
    inspect::examine(&[], &options, &Library::built_in().unwrap()).unwrap()
}

fn judged(run: &Inspection, quantity: Quantity) -> &Judged {
    let mut of = run.measured.iter();
    of.find(|j| j.measured.quantity == quantity).unwrap()
}

fn why(measured: &Measured) -> &str {
    match &measured.outcome {
        Outcome::NotMeasurable(why) => why,
        Outcome::Value(value) => panic!("a value: {value:?}"),
    }
}

/// An 8.4 V controller that starts where it should and stops far too early: what the meter does not
/// show are the dips of VCC at the pin (common practice). Limits: SLUS223G, 7.8 to 9.0 V and 7.0 to
/// 8.2 V.
#[test]
fn a_stop_far_above_its_limits_sends_the_scope_to_the_pin_first() {
    let run = inspected(
        "UC3843",
        vec![
            step(8.5, false, UP),
            step(8.8, true, UP),
            step(8.53, true, DOWN),
            step(8.5, false, DOWN),
        ],
    );
    let steps = run.steps.as_ref().unwrap();
    assert_eq!(steps.start.sides(), Some((8.5, 8.8)));
    assert_eq!(steps.stop.sides(), Some((8.5, 8.53)));
    assert!(steps.contradictions.is_empty(), "{steps:?}");

    let start = judged(&run, Quantity::StartThreshold);
    let limit = start.expected.as_ref().unwrap();
    assert_eq!((limit.min, limit.max), (Some(7.8), Some(9.0)));
    assert_eq!(start.verdict, Verdict::InLimits);
    let stop = judged(&run, Quantity::StopThreshold);
    let limit = stop.expected.as_ref().unwrap();
    assert_eq!((limit.min, limit.max), (Some(7.0), Some(8.2)));
    assert_eq!((stop.verdict, stop.provisional), (Verdict::Outside, false));
    let value = stop.measured.value().unwrap();
    assert!((value.value - 8.515).abs() < 1e-9);

    let said = steps.remarks.join(" ");
    assert!(
        said.contains("start threshold, between 8.5 V and 8.8 V, lies within"),
        "{said}"
    );
    assert!(
        said.contains("stop threshold, between 8.5 V and 8.53 V, lies outside"),
        "{said}"
    );
    for text in [&said, &run.lines.next] {
        assert!(text.contains("at its pin with a scope"), "{text}");
        assert!(text.contains("a meter averages dips"), "{text}");
    }
    assert_eq!(run.suspects[0].cause, "vcc-dips-at-pin");
    assert_eq!(run.exit_code(), 1);
}

/// A 16 V controller in the middle of what is published; nothing to look for.
#[test]
fn thresholds_within_their_limits_make_the_supply_working() {
    let run = inspected(
        "UC3844",
        vec![
            step(15.9, false, UP),
            step(16.1, true, UP),
            step(10.05, true, DOWN),
            step(9.95, false, DOWN),
        ],
    );
    assert_eq!(
        judged(&run, Quantity::StartThreshold).verdict,
        Verdict::InLimits
    );
    assert_eq!(
        judged(&run, Quantity::StopThreshold).verdict,
        Verdict::InLimits
    );
    let state = run.stage(firstpulse::data::Stage::Supply).unwrap();
    assert_eq!(state.state, firstpulse::data::StageState::Working);
    assert!(run.suspects.is_empty(), "{:?}", run.suspects);
    // one meter read both: half widths 0.1 and 0.05 V, its counts of 10 mV twice, and 0.5 % of the
    // difference of 6 V (JCGM 100:2008, 4.3.7 and 5.2)
    let value = judged(&run, Quantity::Hysteresis).measured.value().unwrap();
    let squares: f64 = [0.1, 0.05, 0.01, 0.01, 0.005 * 6.0]
        .iter()
        .map(|a| a * a / 3.0)
        .sum();
    assert!((value.value - 6.0).abs() < 1e-9);
    assert!((value.u - squares.sqrt()).abs() < 1e-9, "{value:?}");
}

/// The same with the current of the bench supply: a stopped UC3843 draws 1 mA at most, a running one 11 mA
/// typical (SLUS223G), which the fitter sees as a jump of ten times or more at the start (common practice).
#[test]
fn a_current_that_contradicts_its_word_is_named_with_both_figures() {
    let with = |volts, works, going, current_a| VoltageStep {
        current_a: Some(current_a),
        ..step(volts, works, going)
    };
    let said = |marking: Option<&str>, taken: Vec<VoltageStep>| {
        let options = Options {
            controller: marking.map(str::to_owned),
            steps: taken,
            ..Options::default()
        };
        let run = inspect::examine(&[], &options, &Library::built_in().unwrap()).unwrap();
        (run.steps.clone().unwrap().remarks.join(" "), run)
    };
    let agree = vec![
        with(8.3, false, UP, 0.4e-3),
        with(8.5, true, UP, 12.2e-3),
        with(7.7, true, DOWN, 11.8e-3),
        with(7.5, false, DOWN, 0.38e-3),
    ];
    let (words, run) = said(Some("UC3843"), agree.clone());
    assert!(!words.contains(" mA") && !words.contains("µA"), "{words}");
    let standby = judged(&run, Quantity::StandbyCurrent);
    assert!((standby.measured.value().unwrap().value - 0.4e-3).abs() < 1e-12);
    assert_eq!(standby.verdict, Verdict::InLimits);
    assert!(standby.measured.remarks[0].contains("8.3 V"), "{standby:?}");
    let running = judged(&run, Quantity::RunCurrent);
    assert!((running.measured.value().unwrap().value - 12.2e-3).abs() < 1e-12);

    // dead by its word, with the current of one that runs; and the other way round
    let mut one = agree.clone();
    one[0] = with(8.3, false, UP, 11.9e-3);
    let (words, _) = said(Some("UC3843"), one.clone());
    for part in [
        "dead at 8.3 V with 11.9 mA",
        "1 mA at most (Texas Instruments SLUS223G",
        "typically 11 mA",
    ] {
        assert!(words.contains(part), "{part}: {words}");
    }
    let (words, _) = said(None, one);
    assert!(
        words.contains("7.7 V with 11.8 mA") && words.contains("8.3 V with 11.9 mA"),
        "{words}"
    );
    let mut other = agree.clone();
    other[1] = with(8.5, true, UP, 0.45e-3);
    let (words, _) = said(Some("UC3843"), other);
    assert!(words.contains("works at 8.5 V with 450 µA"), "{words}");
    assert!(words.contains("it did not run"), "{words}");
    // too near the limit for a meter to tell
    let mut near = agree;
    near[1] = with(8.5, true, UP, 0.98e-3);
    assert!(!said(Some("UC3843"), near).0.contains("mA"));
}

/// Ten readings spread at random over 4 V, the threshold in the middle. The distances R and L to the
/// next reading above and below have P(R > r, L > l) = (1 − r − l)^10 of the range, so their sum is
/// 2/11 of it on average, and the middle is off by 1/√264 of it rms: 0.73 and 0.25 V.
#[test]
fn random_readings_bracket_as_order_statistics_say() {
    let mut dice = Dice(88);
    let runs = 4000;
    let (mut width, mut square) = (0.0, 0.0);
    for _ in 0..runs {
        let threshold = 14.0;
        let mut taken = vec![step(12.0, false, UP), step(16.0, true, UP)];
        for _ in 0..10 {
            let volts = 12.0 + 4.0 * dice.uniform();
            taken.push(step(volts, volts >= threshold, UP));
        }
        let (finding, measured) = found(taken);
        let (low, high) = finding.start.sides().unwrap();
        assert!(low < threshold && threshold <= high);
        width += (high - low) / f64::from(runs);
        square += (measured[0].value().unwrap().value - threshold).powi(2) / f64::from(runs);
    }
    assert!((width - 8.0 / 11.0).abs() < 0.03, "{width}");
    assert!(
        (square.sqrt() - 4.0 / 264.0_f64.sqrt()).abs() < 0.012,
        "{}",
        square.sqrt()
    );
}

#[test]
fn seven_readings_that_halve_four_volts_leave_31_millivolts() {
    let threshold = 15.83;
    let (mut low, mut high) = (13.0, 17.0);
    let mut taken = vec![step(low, false, UP), step(high, true, UP)];
    for _ in 0..7 {
        let volts = 0.5 * (low + high);
        let works = volts >= threshold;
        *(if works { &mut high } else { &mut low }) = volts;
        taken.push(step(volts, works, UP));
    }
    let (low, high) = found(taken).0.start.sides().unwrap();
    assert!((high - low - 4.0 / 128.0).abs() < 1e-9, "{low} to {high}");
    assert!(low < threshold && threshold <= high);
}

/// 33 readings over 1 V of a threshold that is drawn anew at each, with a standard deviation of 0.15 V.
/// A likelihood of so few readings gives the scatter a little too small.
#[test]
fn a_scatter_that_was_drawn_is_found_again() {
    let mut dice = Dice(41);
    let (mut fits, mut centre, mut sigma, mut normed) = (0.0, 0.0, 0.0, 0.0);
    for _ in 0..400 {
        let taken = (0..33).map(|k| {
            let volts = 8.0 + f64::from(k) / 32.0;
            step(volts, volts >= 8.5 + 0.15 * dice.normal(), UP)
        });
        let (finding, measured) = found(taken.collect());
        let Some(fit) = finding.start_fit else {
            continue;
        };
        assert_eq!(fit.count, 33);
        assert!((measured[0].value().unwrap().value - fit.centre_v).abs() < 1e-12);
        assert!(
            finding.contradictions[0].contains("scatters by"),
            "{finding:?}"
        );
        fits += 1.0;
        centre += (fit.centre_v - 8.5).powi(2);
        sigma += fit.sigma_v;
        normed += ((fit.centre_v - 8.5) / fit.u_v).powi(2);
    }
    assert!(fits > 360.0, "{fits} of 400");
    let rms = (centre / fits).sqrt();
    let (sigma, normed) = (sigma / fits, (normed / fits).sqrt());
    println!("{fits} fits, rms {rms}, sigma {sigma}, normed {normed}");
    assert!((0.045..0.06).contains(&rms), "{rms}");
    assert!((0.13..0.15).contains(&sigma), "{sigma}");
    assert!((0.9..1.2).contains(&normed), "{normed}");
}

#[test]
fn readings_that_contradict_each_other_give_no_threshold_and_are_explained() {
    let (finding, measured) = found(vec![
        step(8.6, true, UP),
        step(8.7, false, UP),
        step(8.9, true, UP),
    ]);
    assert!(why(&measured[0]).contains("contradict"), "{measured:?}");
    let said = &finding.contradictions[0];
    assert!(said.contains("dead at 8.7 V, above 8.6 V"), "{said}");
    assert!(said.contains("noisy") && said.contains("contact") && said.contains("VCC at the pin"));

    // stop ≤ V where it works; start > V where it is dead
    let brackets = [
        step(8.4, false, UP),
        step(8.5, true, UP),
        step(7.7, true, DOWN),
        step(7.6, false, DOWN),
    ];
    let with = |volts, works| {
        let mut taken = brackets.to_vec();
        taken.push(step(volts, works, None));
        found(taken).0.contradictions.len()
    };
    assert_eq!(
        (with(8.0, true), with(8.0, false)),
        (0, 0),
        "both are right in between"
    );
    assert_eq!((with(7.5, true), with(8.6, false)), (1, 1));
    assert_eq!((with(7.5, false), with(8.6, true)), (0, 0));

    let (finding, _) = found(vec![step(8.5, true, UP), step(8.9, false, DOWN)]);
    assert!(finding.contradictions[0].contains("Going down it was dead at 8.9 V"));
}

#[test]
fn a_missing_side_is_named() {
    let (finding, measured) = found(vec![step(8.8, true, UP), step(8.5, false, None)]);
    assert!(
        why(&measured[0]).starts_with("no dead reading going up"),
        "{measured:?}"
    );
    assert!(why(&measured[0]).contains("above 8.5 V"), "{measured:?}");
    assert!(why(&measured[1]).starts_with("no reading going down"));
    assert_eq!(
        (finding.start_above_v, finding.stop_at_most_v),
        (Some(8.5), None)
    );
    let (_, measured) = found(vec![step(8.5, false, UP), step(8.4, true, DOWN)]);
    assert!(why(&measured[0]).starts_with("no working reading going up"));
    assert!(why(&measured[1]).starts_with("no dead reading going down"));
    assert!(steps::find(&Options::default(), &[], &[]).is_none());
}

/// A sweep by formula: 16 V up, 10 V down, 4 V/s.
fn sweep() -> std::sync::Arc<inspect::Shot> {
    let time = made::even(5e-4, 20_000);
    made::shot(vec![
        made::channel("VCC", &time, 0.005, 1, |t| made::triangle(t, 20.0, 4.0)),
        made::channel("VREF", &time, 0.005, 2, |t| {
            made::vref_of_triangle(t, 20.0, 4.0, 16.0, 10.0, 2e-3)
        }),
    ])
}

#[test]
fn steps_are_held_against_a_sweep() {
    let with = |taken: Vec<VoltageStep>| {
        let options = Options {
            roles: made::roles(&[Role::Vcc, Role::Vref]),
            steps: taken,
            ..Options::default()
        };
        made::examine(&[sweep()], &options)
            .steps
            .unwrap()
            .remarks
            .join(" ")
    };
    let agree = with(vec![step(15.9, false, UP), step(16.1, true, UP)]);
    assert!(
        agree.contains("Shot 1 gives a start threshold of 16.0"),
        "{agree}"
    );
    assert!(agree.contains("agree"), "{agree}");
    // the drop of a diode in the feed: read at the supply, not at the pin
    let apart = with(vec![step(17.2, false, UP), step(17.3, true, UP)]);
    assert!(apart.contains("between 17.2 V and 17.3 V"), "{apart}");
    for word in ["units", "probe factor", "terminals", "pin"] {
        assert!(apart.contains(word), "{word}: {apart}");
    }
}

/// Records at three set voltages, the controller dead in one: works at V says stop ≤ V, dead at V says
/// start > V.
#[test]
fn records_at_a_set_voltage_count_as_readings_without_direction() {
    let at = |volts: f64, works: bool, seed: u64| {
        let time = made::even(1e-6, 4000);
        let vref = if works { 5.0 } else { 0.02 };
        made::shot(vec![
            made::channel("VCC", &time, 0.005, seed, |_| volts),
            made::channel("VREF", &time, 0.005, seed + 50, move |_| vref),
        ])
    };
    let shots = [at(12.0, true, 1), at(9.5, true, 2), at(9.0, false, 3)];
    let options = Options {
        roles: made::roles(&[Role::Vcc, Role::Vref]),
        ..Options::default()
    };
    let run = made::examine(&shots, &options);
    let steps = run.steps.as_ref().unwrap();
    let read: Vec<_> = steps
        .readings
        .iter()
        .map(|s| (s.works, s.going, s.place))
        .collect();
    let wanted = [(true, 0), (true, 1), (false, 2)].map(|(w, i)| (w, None, StepPlace::Shot(i)));
    assert_eq!(read, wanted);
    assert!(
        (steps.stop_at_most_v.unwrap() - 9.5).abs() < 0.01,
        "{steps:?}"
    );
    assert!(
        (steps.start_above_v.unwrap() - 9.0).abs() < 0.01,
        "{steps:?}"
    );
    // nobody told a direction, so nothing is missed
    assert!(made::entry(&run, Quantity::StartThreshold).is_none());
    assert!(made::examine(&shots[..1], &options).steps.is_none());
}
