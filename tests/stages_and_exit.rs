//! Stages, suspects and exit codes: of the modelled unit with one fault each, read back from its CSV
//! text, and of captures made by hand. What is expected follows from the cause that was put in, and from
//! the contract in `DEVELOPERS.md`; where the program cannot tell, the table says so, with the reason.

mod made;

use std::sync::Arc;

use firstpulse::data::{
    Inspection, MemorySource, Options, Progress, Role, Source, Stage, StageState, Verdict,
};
use firstpulse::inspect::{self, ReadOptions, Shot};

fn simulated(cause: &str, seed: u64) -> Vec<Arc<Shot>> {
    let files = inspect::simulate(cause, seed).unwrap_or_else(|e| panic!("{e}"));
    files
        .into_iter()
        .flat_map(|file| {
            let bytes = file.csv.into_bytes();
            let source: Arc<dyn Source> = Arc::new(MemorySource::new(file.name, bytes));
            inspect::load(&source, &ReadOptions::default(), &Progress::new())
                .unwrap_or_else(|e| panic!("{cause}: {e}"))
        })
        .collect()
}

fn with_controller() -> Options {
    Options {
        controller: Some("UC3844".to_owned()),
        ..Options::default()
    }
}

/// The user knows on which pins the probes are.
fn with_roles() -> Options {
    let pins = [
        [Role::Vcc, Role::Vref],
        [Role::Vcc, Role::RtCt],
        [Role::RtCt, Role::Out],
        [Role::Vcc, Role::Vref],
    ];
    let mut options = with_controller();
    for (shot, roles) in pins.iter().enumerate() {
        options
            .roles
            .extend(made::roles(roles).into_iter().map(|mut choice| {
                choice.channel.capture = Some(shot + 1);
                choice
            }));
    }
    options
}

fn state(inspection: &Inspection, stage: Stage) -> StageState {
    inspection
        .stage(stage)
        .map_or(StageState::NotTested, |s| s.state)
}

fn letters(inspection: &Inspection) -> String {
    Stage::ALL
        .into_iter()
        .map(|stage| match state(inspection, stage) {
            StageState::Working => 'w',
            StageState::Marginal => 'm',
            StageState::Dead => 'D',
            StageState::NotTested => '-',
        })
        .collect()
}

/// A stage is dead only where what feeds it is shown good in the same run. Supply has nothing before
/// it; VCC past the start threshold shows it good for the reference.
fn dead_only_behind_good_ones(what: &str, inspection: &Inspection) {
    let needs = |stage| match stage {
        Stage::Reference => Some(Stage::Supply),
        Stage::Oscillator => Some(Stage::Reference),
        Stage::Drive => Some(Stage::Oscillator),
        Stage::OwnSupply => Some(Stage::Drive),
        Stage::Supply | Stage::CurrentSense => None,
    };
    for found in inspection
        .stages
        .iter()
        .filter(|s| s.state == StageState::Dead)
    {
        if let Some(before) = needs(found.stage) {
            let good = matches!(
                state(inspection, before),
                StageState::Working | StageState::Marginal
            );
            assert!(good, "{what}: {found:?} behind {before:?}");
        }
    }
}

/// Cause put in, states in waking order (supply, reference, oscillator, drive, current sense, own
/// supply; w working, m marginal, D dead, - not tested), exit code, causes that may stand first.
const TABLE: &[(&str, &str, u8, &[&str])] = &[
    ("nothing-wrong-in-what-was-tested", "wwww-w", 3, &[]),
    ("aux-path-open", "wwww-D", 1, &["aux-path-open"]),
];

#[test]
fn simulated_faults_are_told_as_the_table_says() {
    let mut failures = Vec::new();
    for (cause, states, exit, first) in TABLE {
        for seed in [3, 17] {
            let inspection = made::examine(&simulated(cause, seed), &with_controller());
            dead_only_behind_good_ones(cause, &inspection);
            let top = inspection.suspects.first().map(|s| s.cause);
            let fits = letters(&inspection) == *states
                && inspection.exit_code() == *exit
                && top.map_or(first.is_empty(), |t| first.contains(&t));
            if !fits {
                let why: Vec<_> = inspection
                    .stages
                    .iter()
                    .map(|s| s.because.clone())
                    .collect();
                failures.push(format!(
                    "{cause} {seed}: {} exit {} first {top:?} {why:#?}",
                    letters(&inspection),
                    inspection.exit_code()
                ));
            }
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

#[test]
fn probe_all() {
    for cause in inspect::causes() {
        for seed in [3, 17] {
            let i = made::examine(&simulated(cause, seed), &with_roles());
            println!(
                "== {cause} {seed}: {} exit {} {:?}",
                letters(&i),
                i.exit_code(),
                i.suspects
                    .iter()
                    .map(|s| (s.cause, (s.weight * 100.0).round()))
                    .collect::<Vec<_>>()
            );
            for e in i
                .events
                .iter()
                .filter(|e| e.capture == 3 && cause == "vcc-capacitor-low")
            {
                println!("   {e:?}");
            }
            for s in &i.stages {
                println!(
                    "   {:?} {} not_seen {:?}",
                    s.state, s.because, s.not_seen_together
                );
            }
            for c in &i.captures {
                println!(
                    "   kind {:?} roles {:?}",
                    c.kind.value,
                    c.channels
                        .iter()
                        .map(|c| (c.role.value, c.role.reason.clone()))
                        .collect::<Vec<_>>()
                );
            }
            for j in i
                .measured
                .iter()
                .filter(|j| j.verdict == Verdict::CannotSay || j.verdict == Verdict::Outside)
            {
                println!(
                    "   {:?} {:?} {:?} prov {} {}",
                    j.measured.quantity,
                    j.verdict,
                    j.measured.value().map(|v| (v.value, v.u95)),
                    j.provisional,
                    j.settle
                );
            }
        }
    }
}
