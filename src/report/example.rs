//! An inspection made by hand, for tests: the invented unit GV-24, which ticks and never starts.

use std::sync::Arc;

use crate::data::options::Accuracy;
use crate::data::{
    Capture, Caution, Channel, ControllerChoice, Decision, DoNotExceed, Event, EventKind, Evidence,
    Facts, InspectedCapture, InspectedChannel, Inspection, Judged, Limit, Measured, Note, Outcome,
    Proposed, Quantity, Role, Setup, ShotKind, Stage, StageFinding, StageState, Status, Suspect,
    Term, ThreeLines, TimeAxis, Unit, Value, Verdict,
};

/// A capture of five samples a channel, with the facts that go with them.
pub(crate) fn capture(file: &str, channels: &[&str]) -> (Arc<Capture>, Vec<Arc<Facts>>) {
    let time = Arc::new(TimeAxis::Uniform {
        start_s: -0.5,
        step_s: 0.25,
        count: 5,
    });
    let values = vec![0.0, 4.0, 16.0, 10.0, 2.0];
    let facts = Facts {
        count: 5,
        valid: 5,
        min: 0.0,
        max: 16.0,
        mean: 6.4,
        ..Facts::default()
    };
    let record = Capture {
        file: file.to_owned(),
        format: "csv",
        channels: channels
            .iter()
            .map(|name| Channel::of_volts(*name, Arc::clone(&time), values.clone()))
            .collect(),
        decisions: vec![Decision {
            what: "separator".to_owned(),
            value: ",".to_owned(),
            why: "every line splits into the same number of fields".to_owned(),
        }],
        notes: vec![Note::at_line(
            "the last line is cut short and was left out",
            7,
        )],
    };
    (
        Arc::new(record),
        channels.iter().map(|_| Arc::new(facts.clone())).collect(),
    )
}

fn shot(file: &str, kind: ShotKind, setup: Setup, pins: &[(&str, Role)]) -> InspectedCapture {
    let names: Vec<&str> = pins.iter().map(|(name, _)| *name).collect();
    let (capture, facts) = capture(file, &names);
    let known = |(facts, (_, role)): (Arc<Facts>, &(&str, Role))| InspectedChannel {
        facts,
        role: Proposed::because(*role, "its levels and the name fit"),
        place: (*role == Role::Vcc).then(|| "pin".to_owned()),
        gain: 1.0,
        offset: 0.0,
        accuracy: Accuracy {
            gain: 0.03,
            offset: 0.05,
        },
        accuracy_assumed: true,
        bandwidth_hz: None,
        range: 0,
        set_to_meter: None,
        factor_offer: None,
    };
    InspectedCapture {
        capture,
        channels: facts.into_iter().zip(pins).map(known).collect(),
        kind: Proposed::because(kind, "VCC moves as in such a shot"),
        setup: Proposed::set(setup),
    }
}

fn limit(min: f64, typ: f64, max: f64) -> Limit {
    Limit {
        min: Some(min),
        typ: Some(typ),
        max: Some(max),
        unit: Unit::Volt,
        condition: "0 to 70 °C".to_owned(),
        source: "SLUS223G 7.5".to_owned(),
        status: Status::VerifiedFull,
        status_limits: Status::VerifiedFull,
    }
}

fn volts(quantity: Quantity, value: f64, half: f64, expected: Limit, verdict: Verdict) -> Judged {
    let value = Value::from_terms(value, vec![Term::within("gain (assumed)", half)]);
    Judged {
        measured: Measured {
            quantity,
            capture: Some(0),
            channel: Some(0),
            outcome: Outcome::Value(value),
            span_s: Some((-0.5, 0.0)),
            marks: Vec::new(),
            remarks: Vec::new(),
        },
        expected: Some(expected),
        verdict,
        p_in: Some(if verdict == Verdict::CannotSay {
            0.9
        } else {
            1.0
        }),
        provisional: quantity == Quantity::StopThreshold,
        settle: if verdict == Verdict::CannotSay {
            "tie the channel to a multimeter reading of VCC".to_owned()
        } else {
            String::new()
        },
    }
}

fn measured() -> Vec<Judged> {
    use Quantity::{HiccupPeriod, StartThreshold, StopThreshold};
    let unsaid = Judged {
        measured: Measured {
            quantity: HiccupPeriod,
            capture: Some(3),
            channel: Some(0),
            outcome: Outcome::NotMeasurable(
                "the record holds one start only; record longer".to_owned(),
            ),
            span_s: None,
            marks: Vec::new(),
            remarks: Vec::new(),
        },
        expected: None,
        verdict: Verdict::NoLimit,
        p_in: None,
        provisional: false,
        settle: String::new(),
    };
    vec![
        volts(
            StartThreshold,
            15.983,
            0.5,
            limit(14.5, 16.0, 17.5),
            Verdict::InLimits,
        ),
        volts(
            StopThreshold,
            9.0,
            0.4,
            limit(8.5, 10.0, 11.5),
            Verdict::CannotSay,
        ),
        unsaid,
    ]
}

fn stages() -> Vec<StageFinding> {
    let finding = |stage, state, because: &str, figures: &[&str]| StageFinding {
        stage,
        state,
        because: because.to_owned(),
        not_seen_together: Vec::new(),
        figures: figures.iter().map(|f| (*f).to_owned()).collect(),
    };
    use StageState::{Dead, NotTested, Working};
    let mut all = vec![
        finding(
            Stage::Supply,
            Working,
            "VCC reached the start threshold",
            &["start 15.98 ± 0.48 V", "stop 9.00 ± 0.38 V"],
        ),
        finding(
            Stage::Reference,
            Working,
            "VREF came up",
            &["VREF 5.02 ± 0.05 V"],
        ),
        finding(
            Stage::Oscillator,
            Working,
            "the ramp runs at its rate",
            &["135.0 ± 0.4 kHz"],
        ),
        finding(
            Stage::Drive,
            Working,
            "OUT switches",
            &["67.5 ± 0.2 kHz", "48.6 %"],
        ),
        finding(
            Stage::CurrentSense,
            NotTested,
            "no shot shows the current-sense pin",
            &[],
        ),
        finding(
            Stage::OwnSupply,
            Dead,
            "VCC falls back after every start while the drive runs",
            &["hiccup"],
        ),
    ];
    if let Some(last) = all.last_mut() {
        last.not_seen_together = vec![Stage::Drive];
    }
    all
}

fn suspects() -> Vec<Suspect> {
    let evidence = |text: &str, quantity| Evidence {
        text: text.to_owned(),
        quantity,
        capture: Some(3),
        span_s: Some((0.1, 0.4)),
    };
    vec![
        Suspect {
            cause: "aux-path-open",
            title: "the path from the auxiliary winding to VCC is open".to_owned(),
            weight: 0.8,
            reasons_for: vec![evidence(
                "VCC falls at a constant slope in every burst",
                "burst_slope",
            )],
            reasons_against: vec![evidence("the output was not recorded", "")],
            next_check:
                "Unit unplugged and discharged: measure the auxiliary diode both ways with a meter."
                    .to_owned(),
        },
        Suspect {
            cause: "vcc-capacitor-low",
            title: "the VCC capacitor has lost its capacitance".to_owned(),
            weight: 0.05,
            reasons_for: Vec::new(),
            reasons_against: vec![evidence("the slopes fit the value given", "charge_slope")],
            next_check: String::new(),
        },
    ]
}

/// The run that decides.
pub(crate) fn gv24() -> Inspection {
    use ShotKind::{Running, Start, Sweep};
    Inspection {
        fits: None,
        setup: Proposed::unknown("the shots were taken in different set-ups"),
        controller: Some(ControllerChoice {
            marking: "UC3844".to_owned(),
            id: "ti-uc3844".to_owned(),
            title: "UC3844 (Texas Instruments)".to_owned(),
            candidates: vec!["ti-uc3844".to_owned(), "ti-uc3844a".to_owned()],
            start: Some(limit(14.5, 16.0, 17.5)),
            stop: Some(limit(8.5, 10.0, 11.5)),
            vref: None,
            ramp_peak: None,
            ramp_valley: None,
            divide: Some(2),
        }),
        captures: vec![
            shot(
                "1-sweep-vref.csv",
                Sweep,
                Setup::Injected,
                &[("VCC", Role::Vcc), ("VREF", Role::Vref)],
            ),
            shot(
                "2-sweep-rtct.csv",
                Sweep,
                Setup::Injected,
                &[("VCC", Role::Vcc), ("RTCT", Role::RtCt)],
            ),
            shot(
                "3-running.csv",
                Running,
                Setup::Injected,
                &[("RTCT", Role::RtCt), ("OUT", Role::Out)],
            ),
            shot(
                "4-mains.csv",
                Start,
                Setup::Mains,
                &[("VCC", Role::Vcc), ("OUT", Role::Out)],
            ),
        ],
        events: vec![
            event(EventKind::Start, 0.0, Some((15.983, 0.48))),
            event(EventKind::Stop, 0.25, None),
        ],
        joined: Vec::new(),
        measured: measured(),
        steps: None,
        stages: stages(),
        suspects: suspects(),
        lines: ThreeLines {
            works: "supply, reference, oscillator and drive".to_owned(),
            fails: "own supply: the unit starts and falls back, again and again".to_owned(),
            next: "the auxiliary diode, out of circuit, both ways".to_owned(),
        },
        not_tested: vec!["current sense: no shot shows the pin".to_owned()],
        cautions: vec![
            Caution {
                title: "Bulk capacitor".to_owned(),
                text: "Measure it before you touch anything: it can hold a deadly charge."
                    .to_owned(),
                banner: true,
            },
            Caution {
                title: "Change-over".to_owned(),
                text: "Bench leads off before mains goes on.".to_owned(),
                banner: false,
            },
        ],
        shot_list: None,
        reference_levels: Default::default(),
        do_not_exceed: Some(DoNotExceed {
            volts: 30.0,
            volts_source: "absolute maximum of VCC, SLUS223G 7.1".to_owned(),
            amps: 0.03,
            amps_source: "twice the running current".to_owned(),
        }),
        notes: vec![Note::new("shots 1 and 2 were joined by VCC level")],
    }
}

fn event(kind: EventKind, at_s: f64, vcc: Option<(f64, f64)>) -> Event {
    Event {
        capture: 0,
        kind,
        at_s,
        within_s: 0.002,
        witness: Role::Vref,
        vcc,
        why_no_vcc: None,
    }
}
