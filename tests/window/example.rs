//! A unit made by hand, in the shape of the built-in one: two groups, four shots and one.

use std::sync::Arc;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{
    Capture, Caution, Channel, ControllerChoice, DoNotExceed, Event, EventKind, Evidence, Facts,
    InspectedCapture, InspectedChannel, Inspection, Judged, Limit, Measured, Options, Outcome,
    Proposed, Pyramid, Quantity, Role, Setup, ShotKind, Stage, StageFinding, StageState, Status,
    Suspect, Term, ThreeLines, TimeAxis, Unit, Value, Verdict,
};
use firstpulse::inspect::{Case, Group, Shot};

/// Facts as a pass over the samples would find them, as far as the window uses them.
pub fn facts(values: &[f64], base: usize, factor: usize) -> Facts {
    let pair = |chunk: &[f64]| {
        let low = chunk.iter().copied().fold(f64::INFINITY, f64::min);
        let high = chunk.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (mut down, mut up) = (low as f32, high as f32);
        if f64::from(down) > low {
            down = down.next_down();
        }
        if f64::from(up) < high {
            up = up.next_up();
        }
        (down, up)
    };
    let mut levels = vec![values.chunks(base).map(pair).collect::<Vec<_>>()];
    while levels.last().unwrap().len() > factor {
        let coarser = levels.last().unwrap().chunks(factor);
        let join = |pairs: &[(f32, f32)]| {
            pairs
                .iter()
                .fold((f32::INFINITY, f32::NEG_INFINITY), |a, p| {
                    (a.0.min(p.0), a.1.max(p.1))
                })
        };
        let next = coarser.map(join).collect();
        levels.push(next);
    }
    let mean = |chunk: &[f64]| {
        let numbers: Vec<f64> = chunk.iter().copied().filter(|v| v.is_finite()).collect();
        numbers.iter().sum::<f64>() / numbers.len() as f64
    };
    Facts {
        count: values.len() as u64,
        valid: values.iter().filter(|value| value.is_finite()).count() as u64,
        min: values.iter().copied().fold(f64::NAN, f64::min),
        max: values.iter().copied().fold(f64::NAN, f64::max),
        mean: mean(values),
        pyramid: Pyramid {
            base,
            factor,
            levels,
            means: values.chunks(base).map(mean).collect(),
        },
        ..Facts::default()
    }
}

/// Small fixed-seed noise, uniform from −1 to 1.
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

type Wave = Box<dyn Fn(f64, &mut Noise) -> f64>;

pub fn shot(file: &str, length_s: f64, count: usize, waves: Vec<(&str, Wave)>) -> Arc<Shot> {
    let step_s = length_s / count as f64;
    let time = Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s,
        count,
    });
    let mut noise = Noise(7);
    let mut channels = Vec::new();
    let mut found = Vec::new();
    for (name, wave) in waves {
        let values: Vec<f64> = (0..count)
            .map(|k| {
                let exact = wave(k as f64 * step_s, &mut noise);
                // an 8-bit instrument
                (exact / 0.08).round() * 0.08
            })
            .collect();
        found.push(Arc::new(facts(&values, 64, 8)));
        channels.push(Channel::of_volts(name, Arc::clone(&time), values));
    }
    let capture = Arc::new(Capture {
        file: file.to_owned(),
        format: "csv",
        channels,
        decisions: Vec::new(),
        notes: Vec::new(),
    });
    Arc::new(Shot {
        capture,
        facts: found,
    })
}

const START: f64 = 16.04;
const STOP: f64 = 10.06;

fn swept(t: f64) -> f64 {
    let phase = (t / 10.0).fract();
    if phase < 0.5 {
        40.0 * phase
    } else {
        40.0 * (1.0 - phase)
    }
}

fn swept_runs(t: f64) -> bool {
    let vcc = swept(t);
    let rising = (t / 10.0).fract() < 0.5;
    if rising { vcc > START } else { vcc > STOP }
}

fn ticking(t: f64) -> (f64, bool) {
    let first = 1.1;
    if t < first {
        return (
            START * (1.0 - (-t / 0.55_f64).exp()) / (1.0 - (-first / 0.55_f64).exp()),
            false,
        );
    }
    let phase = (t - first) % 0.42;
    if phase < 0.06 {
        (START - (START - STOP) * phase / 0.06, true)
    } else {
        (STOP + (START - STOP) * (phase - 0.06) / 0.36, false)
    }
}

fn ramp(t: f64) -> f64 {
    let phase = (t * 67_500.0).fract();
    if phase < 0.93 {
        1.2 + 1.6 * phase / 0.93
    } else {
        2.8 - 1.6 * (phase - 0.93) / 0.07
    }
}

pub fn case() -> Case {
    let fuzz = |value: f64, noise: &mut Noise| value + 0.06 * noise.next();
    let sweep_vref = shot(
        "gv24-injected-vcc-vref.csv",
        10.0,
        100_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(swept(t), n))),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if swept_runs(t) { 4.98 } else { 0.02 }, n)),
            ),
        ],
    );
    let sweep_ramp = shot(
        "gv24-injected-vcc-rtct.csv",
        10.0,
        100_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(swept(t), n))),
            (
                "CH2",
                Box::new(move |t, n| {
                    let level = if swept_runs(t) {
                        2.0 + 0.8 * n.next()
                    } else {
                        0.0
                    };
                    fuzz(level, n)
                }),
            ),
        ],
    );
    let running = shot(
        "gv24-injected-running-rtct-out.csv",
        2e-4,
        5_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(ramp(t), n))),
            (
                "CH2",
                Box::new(move |t, n| {
                    let on = (t * 33_750.0).fract() < 0.47;
                    fuzz(if on { 13.4 } else { 0.1 }, n)
                }),
            ),
        ],
    );
    let ticks = shot(
        "gv24-mains-start-vcc-vref.csv",
        4.0,
        80_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(ticking(t).0, n))),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if ticking(t).1 { 4.98 } else { 0.02 }, n)),
            ),
        ],
    );
    let taken_over = shot(
        "gv24-after-mains-start.csv",
        4.0,
        80_000,
        vec![
            (
                "CH1",
                Box::new(move |t, n| {
                    let level = if t < 1.1 {
                        ticking(t).0
                    } else {
                        13.1 + 2.9 * (-(t - 1.1) / 0.02).exp()
                    };
                    fuzz(level, n)
                }),
            ),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if t >= 1.1 { 4.98 } else { 0.02 }, n)),
            ),
        ],
    );
    let group = |title: &str, shots| Group {
        title: title.to_owned(),
        shots,
        options: Options {
            controller: Some("UC3844".to_owned()),
            ..Options::default()
        },
    };
    Case {
        title: "GV-24".to_owned(),
        groups: vec![
            group("as found", vec![sweep_vref, sweep_ramp, running, ticks]),
            group("after the repair", vec![taken_over]),
        ],
    }
}

fn limit(min: f64, typ: f64, max: f64, unit: Unit) -> Limit {
    Limit {
        min: Some(min),
        typ: Some(typ),
        max: Some(max),
        unit,
        condition: "TJ = 0 to 70 °C".to_owned(),
        source: "SLUS223G, electrical characteristics".to_owned(),
        status: Status::VerifiedFull,
        status_limits: Status::VerifiedFull,
    }
}

fn controller() -> ControllerChoice {
    ControllerChoice {
        marking: "UC3844".to_owned(),
        id: "uc3844".to_owned(),
        title: "UC3844 class, 16 V start, 10 V stop, half of the oscillator".to_owned(),
        candidates: vec!["uc3844".to_owned()],
        start: Some(limit(14.5, 16.0, 17.5, Unit::Volt)),
        stop: Some(limit(8.5, 10.0, 11.5, Unit::Volt)),
        vref: Some(limit(4.82, 5.0, 5.18, Unit::Volt)),
        ramp_peak: Some(Limit {
            min: None,
            max: None,
            ..limit(0.0, 2.8, 0.0, Unit::Volt)
        }),
        ramp_valley: Some(Limit {
            min: None,
            max: None,
            ..limit(0.0, 1.2, 0.0, Unit::Volt)
        }),
        divide: Some(2),
    }
}

fn judged(
    quantity: Quantity,
    place: (usize, usize),
    value: f64,
    half_width: f64,
    expected: Option<Limit>,
    verdict: Verdict,
) -> Judged {
    let terms = vec![
        Term::within("gain (assumed)", half_width),
        Term::normal("noise", 0.1 * half_width),
    ];
    let value = Value::from_terms(value, terms);
    let p_in = expected
        .as_ref()
        .filter(|limit| limit.has_limits())
        .map(|limit| value.probability_within(limit.min, limit.max));
    Judged {
        measured: Measured {
            quantity,
            capture: Some(place.0),
            channel: Some(place.1),
            outcome: Outcome::Value(value),
            span_s: None,
        },
        expected,
        verdict,
        p_in,
        provisional: false,
        settle: if verdict == Verdict::CannotSay {
            "Set the channel to a multimeter reading.".to_owned()
        } else {
            String::new()
        },
    }
}

fn gap(quantity: Quantity, capture: usize, why: &str) -> Judged {
    Judged {
        measured: Measured {
            quantity,
            capture: Some(capture),
            channel: None,
            outcome: Outcome::NotMeasurable(why.to_owned()),
            span_s: None,
        },
        expected: None,
        verdict: Verdict::NoLimit,
        p_in: None,
        provisional: false,
        settle: String::new(),
    }
}

fn measured() -> Vec<Judged> {
    use Quantity as Q;
    use Verdict::{CannotSay, InLimits, NoLimit, Outside};
    let choice = controller();
    let mut provisional = judged(
        Q::RampAmplitude,
        (2, 0),
        1.61,
        0.05,
        Some(limit(1.5, 1.7, 1.9, Unit::Volt)),
        InLimits,
    );
    provisional.provisional = true;
    vec![
        judged(
            Q::StartThreshold,
            (0, 0),
            16.04,
            0.43,
            choice.start.clone(),
            InLimits,
        ),
        judged(
            Q::StopThreshold,
            (0, 0),
            10.06,
            0.31,
            choice.stop.clone(),
            InLimits,
        ),
        judged(Q::Hysteresis, (0, 0), 5.98, 0.14, None, NoLimit),
        judged(
            Q::StartThreshold,
            (1, 0),
            15.98,
            0.43,
            choice.start.clone(),
            InLimits,
        ),
        judged(
            Q::StopThreshold,
            (1, 0),
            11.35,
            0.31,
            choice.stop.clone(),
            CannotSay,
        ),
        gap(
            Q::StandbyCurrent,
            0,
            "no reading of the bench supply was given",
        ),
        judged(
            Q::VrefVoltage,
            (0, 1),
            4.98,
            0.13,
            choice.vref.clone(),
            CannotSay,
        ),
        judged(
            Q::OscillatorFrequency,
            (2, 0),
            67_520.0,
            40.0,
            Some(limit(62e3, 67e3, 72e3, Unit::Hertz)),
            InLimits,
        ),
        provisional,
        judged(
            Q::OutDutyCycle,
            (2, 1),
            0.471,
            0.004,
            Some(limit(0.46, 0.48, 0.5, Unit::One)),
            InLimits,
        ),
        judged(Q::HiccupPeriod, (3, 0), 0.42, 0.002, None, NoLimit),
        judged(Q::HiccupRatio, (3, 0), 6.0, 0.2, None, NoLimit),
        judged(
            Q::StartMargin,
            (3, 0),
            -0.04,
            0.02,
            Some(Limit {
                typ: None,
                max: None,
                ..limit(1.0, 0.0, 0.0, Unit::Volt)
            }),
            Outside,
        ),
        gap(Q::BulkVoltage, 3, "no channel is on the bulk capacitor"),
    ]
}

fn stage(stage: Stage, state: StageState, because: &str, figures: &[&str]) -> StageFinding {
    StageFinding {
        stage,
        state,
        because: because.to_owned(),
        not_seen_together: Vec::new(),
        figures: figures.iter().map(|figure| (*figure).to_owned()).collect(),
    }
}

fn suspects() -> Vec<Suspect> {
    let seen = |text: &str| Evidence {
        text: text.to_owned(),
        quantity: "hiccup_period",
        capture: Some(3),
        span_s: Some((1.1, 1.52)),
    };
    let suspect =
        |cause, title: &str, weight, for_it: &[&str], against: &[&str], next: &str| Suspect {
            cause,
            title: title.to_owned(),
            weight,
            reasons_for: for_it.iter().map(|text| seen(text)).collect(),
            reasons_against: against.iter().map(|text| seen(text)).collect(),
            next_check: next.to_owned(),
        };
    vec![
        suspect(
            "aux-path-open",
            "auxiliary winding path open: diode, resistor or winding",
            0.72,
            &[
                "VCC falls straight from start to stop in every burst: nothing feeds it",
                "supply, reference, oscillator and drive work when fed from the bench",
            ],
            &[],
            "Unpowered, diode test across the auxiliary diode and its series resistor.",
        ),
        suspect(
            "winding-or-rectifier-shorted",
            "winding or output rectifier shorted",
            0.14,
            &["each burst is short"],
            &["no sign of overload on the current-sense pin, which was not recorded"],
            "Unpowered, diode test of the output rectifier.",
        ),
        suspect(
            "vcc-capacitor-low",
            "VCC capacitor has lost capacitance",
            0.06,
            &["each burst is short"],
            &[],
            "Measure the VCC capacitor out of circuit.",
        ),
    ]
}

fn inspected(shot: &Arc<Shot>, roles: [Role; 2], kind: ShotKind, setup: Setup) -> InspectedCapture {
    let channel = |index: usize| InspectedChannel {
        facts: Arc::clone(&shot.facts[index]),
        role: Proposed::because(roles[index], "its levels fit and nothing else does"),
        place: None,
        gain: 1.0,
        offset: 0.0,
        accuracy: Accuracy {
            gain: 0.03,
            offset: 0.0,
        },
        accuracy_assumed: true,
    };
    InspectedCapture {
        capture: Arc::clone(&shot.capture),
        channels: vec![channel(0), channel(1)],
        kind: Proposed::because(kind, "VCC moves as in this kind of shot"),
        setup: Proposed::because(setup, "said by the file name"),
    }
}

fn event(capture: usize, kind: EventKind, at_s: f64, volts: f64) -> Event {
    Event {
        capture,
        kind,
        at_s,
        within_s: 1e-4,
        witness: Role::Vref,
        vcc: Some((volts, 0.43)),
    }
}

fn events() -> Vec<Event> {
    let mut events = Vec::new();
    for capture in [0, 1] {
        events.push(event(capture, EventKind::Start, START / 4.0, START));
        events.push(event(capture, EventKind::Stop, 10.0 - STOP / 4.0, STOP));
    }
    for k in 0..7 {
        let at_s = 1.1 + 0.42 * f64::from(k);
        events.push(event(3, EventKind::Start, at_s, START));
        events.push(event(3, EventKind::Stop, at_s + 0.06, STOP));
    }
    events
}

/// The inspections of both groups.
pub fn inspections(case: &Case) -> Vec<Inspection> {
    let shots = &case.groups[0].shots;
    use StageState::{Dead, NotTested, Working};
    let as_found = Inspection {
        setup: Proposed::unknown("its captures differ"),
        controller: Some(controller()),
        captures: vec![
            inspected(&shots[0], [Role::Vcc, Role::Vref], ShotKind::Sweep, Setup::Injected),
            inspected(&shots[1], [Role::Vcc, Role::RtCt], ShotKind::Sweep, Setup::Injected),
            inspected(&shots[2], [Role::RtCt, Role::Out], ShotKind::Running, Setup::Injected),
            inspected(&shots[3], [Role::Vcc, Role::Vref], ShotKind::Start, Setup::Mains),
        ],
        events: events(),
        measured: measured(),
        stages: vec![
            stage(Stage::Supply, Working, "VCC reaches the start threshold and the controller stops where it should.", &["start 16.04 ± 0.43 V", "stop 10.06 ± 0.31 V"]),
            stage(Stage::Reference, Working, "VREF comes up at the start and goes at the stop.", &["VREF 4.98 ± 0.13 V"]),
            stage(Stage::Oscillator, Working, "The ramp runs at the rate that RT and CT dictate.", &["67.52 ± 0.04 kHz", "height 1.61 ± 0.05 V"]),
            stage(Stage::Drive, Working, "OUT switches at half of the oscillator.", &["duty 47.1 ± 0.4 %"]),
            stage(Stage::CurrentSense, NotTested, "No shot has the current-sense pin.", &[]),
            stage(Stage::OwnSupply, Dead, "On mains the controller starts seven times and stops each time: its own winding never takes over.", &["7 starts, 420 ms apart", "margin −0.04 ± 0.02 V"]),
        ],
        suspects: suspects(),
        lines: ThreeLines {
            works: "Supply, reference, oscillator and drive, fed from the bench.".to_owned(),
            fails: "The unit does not run on its own winding: it starts and stops every 420 ms.".to_owned(),
            next: "Unpowered and discharged, diode test across the auxiliary diode and its series resistor.".to_owned(),
        },
        not_tested: vec!["Current sense: record CS (3) while the unit runs.".to_owned(), "Feedback loop.".to_owned()],
        cautions: vec![
            Caution {
                title: "Bulk voltage not measured".to_owned(),
                text: "Measure the bulk capacitor with a meter and enter it before the bench supply is connected.".to_owned(),
                banner: true,
            },
            Caution {
                title: "Before mains".to_owned(),
                text: "Bench leads off, earthed clips off, differential probe on, lamp in line, dummy load on, cover considered. Local rules come first.".to_owned(),
                banner: false,
            },
        ],
        do_not_exceed: Some(DoNotExceed {
            volts: 30.0,
            volts_source: "UC3844 supply voltage, SLUS223G".to_owned(),
            amps: 0.03,
            amps_source: "usual limit for an injected sweep".to_owned(),
        }),
        notes: Vec::new(),
    };
    let after_shot = &case.groups[1].shots[0];
    let after = Inspection {
        captures: vec![inspected(
            after_shot,
            [Role::Vcc, Role::Vref],
            ShotKind::Start,
            Setup::Mains,
        )],
        events: vec![event(0, EventKind::Start, 1.1, START)],
        measured: vec![judged(
            Quantity::StartMargin,
            (0, 0),
            2.9,
            0.1,
            Some(Limit {
                typ: None,
                max: None,
                ..limit(1.0, 0.0, 0.0, Unit::Volt)
            }),
            Verdict::InLimits,
        )],
        stages: vec![
            stage(
                Stage::Supply,
                Working,
                "VCC reaches the start threshold.",
                &["start 16.04 ± 0.43 V"],
            ),
            stage(
                Stage::Reference,
                Working,
                "VREF comes up at the start.",
                &["VREF 4.98 ± 0.13 V"],
            ),
            stage(
                Stage::Oscillator,
                NotTested,
                "No shot has the RT/CT pin.",
                &[],
            ),
            stage(Stage::Drive, NotTested, "No shot has OUT.", &[]),
            stage(
                Stage::CurrentSense,
                NotTested,
                "No shot has the current-sense pin.",
                &[],
            ),
            stage(
                Stage::OwnSupply,
                Working,
                "The own winding takes over after the first start.",
                &["margin 2.90 ± 0.10 V"],
            ),
        ],
        suspects: Vec::new(),
        lines: ThreeLines {
            works: "Supply, reference and own supply.".to_owned(),
            fails: String::new(),
            next: "Current sense and feedback loop.".to_owned(),
        },
        do_not_exceed: None,
        cautions: Vec::new(),
        ..as_found.clone()
    };
    vec![as_found, after]
}
