//! The inspections of the example's two groups.

use std::sync::Arc;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{
    Caution, DoNotExceed, Event, EventKind, InspectedCapture, InspectedChannel, Inspection, Limit,
    Proposed, Quantity, Role, Setup, ShotKind, Stage, StageFinding, StageState, ThreeLines, Unit,
    Verdict,
};
use firstpulse::inspect::{Case, Shot};

use super::findings::{controller, judged, limit, measured, suspects};
use super::{START, STOP};

fn stage(stage: Stage, state: StageState, because: &str, figures: &[&str]) -> StageFinding {
    StageFinding {
        stage,
        state,
        because: because.to_owned(),
        not_seen_together: Vec::new(),
        figures: figures.iter().map(|figure| (*figure).to_owned()).collect(),
    }
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
        bandwidth_hz: None,
        range: 0,
        set_to_meter: None,
        factor_offer: None,
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
        why_no_vcc: None,
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
    let as_found = Inspection {
        fits: None,
        setup: Proposed::unknown("its captures differ"),
        controller: Some(controller()),
        captures: vec![
            inspected(&shots[0], [Role::Vcc, Role::Vref], ShotKind::Sweep, Setup::Injected),
            inspected(&shots[1], [Role::Vcc, Role::RtCt], ShotKind::Sweep, Setup::Injected),
            inspected(&shots[2], [Role::RtCt, Role::Out], ShotKind::Running, Setup::Injected),
            inspected(&shots[3], [Role::Vcc, Role::Vref], ShotKind::Start, Setup::Mains),
        ],
        events: events(),
        joined: Vec::new(),
        measured: measured(),
        steps: None,
        stages: stages_found(),
        suspects: suspects(),
        lines: ThreeLines {
            works: "Supply, reference, oscillator and drive, fed from the bench.".to_owned(),
            fails: "The unit does not run on its own winding: it starts and stops every 420 ms.".to_owned(),
            next: "Unpowered and discharged, diode test across the auxiliary diode and its series resistor.".to_owned(),
        },
        not_tested: vec!["Current sense: record CS (3) while the unit runs.".to_owned(), "Feedback loop.".to_owned()],
        cautions: cautions(),
        shot_list: None,
        reference_levels: Default::default(),
        do_not_exceed: Some(DoNotExceed {
            volts: 30.0,
            volts_source: "UC3844 supply voltage, SLUS223G".to_owned(),
            amps: 0.03,
            amps_source: "usual limit for an injected sweep".to_owned(),
        }),
        notes: Vec::new(),
    };
    let after = after(case, &as_found);
    vec![as_found, after]
}

fn after(case: &Case, as_found: &Inspection) -> Inspection {
    let after_shot = &case.groups[1].shots[0];
    Inspection {
        captures: vec![inspected(
            after_shot,
            [Role::Vcc, Role::Vref],
            ShotKind::Start,
            Setup::Mains,
        )],
        events: vec![event(0, EventKind::Start, 1.1, START)],
        joined: Vec::new(),
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
        steps: None,
        stages: stages_after(),
        suspects: Vec::new(),
        lines: ThreeLines {
            works: "Supply, reference and own supply.".to_owned(),
            fails: String::new(),
            next: "Current sense and feedback loop.".to_owned(),
        },
        shot_list: None,
        reference_levels: Default::default(),
        do_not_exceed: None,
        cautions: Vec::new(),
        ..as_found.clone()
    }
}

fn stages_found() -> Vec<StageFinding> {
    use StageState::{Dead, NotTested, Working};
    vec![
        stage(
            Stage::Supply,
            Working,
            "VCC reaches the start threshold and the controller stops where it should.",
            &["start 16.04 ± 0.43 V", "stop 10.06 ± 0.31 V"],
        ),
        stage(
            Stage::Reference,
            Working,
            "VREF comes up at the start and goes at the stop.",
            &["VREF 4.98 ± 0.13 V"],
        ),
        stage(
            Stage::Oscillator,
            Working,
            "The ramp runs at the rate that RT and CT dictate.",
            &["67.52 ± 0.04 kHz", "height 1.61 ± 0.05 V"],
        ),
        stage(
            Stage::Drive,
            Working,
            "OUT switches at half of the oscillator.",
            &["duty 47.1 ± 0.4 %"],
        ),
        stage(
            Stage::CurrentSense,
            NotTested,
            "No shot has the current-sense pin.",
            &[],
        ),
        stage(
            Stage::OwnSupply,
            Dead,
            "On mains the controller starts seven times and stops each time: its own winding never takes over.",
            &["7 starts, 420 ms apart", "margin −0.04 ± 0.02 V"],
        ),
    ]
}

fn stages_after() -> Vec<StageFinding> {
    use StageState::{NotTested, Working};
    vec![
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
    ]
}

fn cautions() -> Vec<Caution> {
    vec![
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
        ]
}
