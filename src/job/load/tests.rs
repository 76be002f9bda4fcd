use super::*;
use crate::data::options::RoleChoice;
use crate::data::{MemorySource, Role, Setup};

fn two_tables(name: &str) -> Option<Arc<dyn Source>> {
    let text = "t,A,B\n0,1,2\n1,2,3\n2,3,4\n";
    let known = ["one.csv", "two.csv", "three.csv"];
    let source: Arc<dyn Source> = Arc::new(MemorySource::new(name.to_owned(), text.as_bytes()));
    known.contains(&name).then_some(source)
}

fn choice(capture: Option<usize>, role: Role) -> RoleChoice {
    RoleChoice {
        channel: ChannelChoice {
            capture,
            channel: "1".to_owned(),
        },
        role,
        place: None,
    }
}

fn job(files: &[&str]) -> Job {
    let shot = |file: &&str| RunShot {
        file: (*file).to_owned(),
        setup: Some(if *file == "three.csv" {
            Setup::Mains
        } else {
            Setup::Injected
        }),
        ..RunShot::default()
    };
    let run = Run {
        shots: files.iter().map(shot).collect(),
        roles: vec![
            choice(Some(1), Role::Vcc),
            choice(Some(2), Role::Vref),
            choice(Some(3), Role::Out),
            choice(None, Role::Cs),
        ],
        ..Run::default()
    };
    Job {
        runs: vec![run],
        ..Job::default()
    }
}

fn loaded(job: Job) -> Loaded {
    load_from(
        job,
        &two_tables,
        &|_| ReadOptions::default(),
        &Progress::new(),
    )
    .unwrap()
}

#[test]
fn a_run_becomes_a_group_with_all_its_shots() {
    let loaded = loaded(job(&["one.csv", "two.csv", "three.csv"]));
    assert!(loaded.problems.is_empty());
    let group = &loaded.case.groups[0];
    assert_eq!((group.shots.len(), group.options.roles.len()), (3, 4));
    assert_eq!(group.options.capture_setups[&2], Setup::Mains);
}

#[test]
fn a_shot_without_its_file_is_told_and_the_others_keep_what_was_told_of_them() {
    let loaded = loaded(job(&["one.csv", "gone.csv", "three.csv"]));
    assert_eq!(loaded.problems.len(), 1);
    assert_eq!(loaded.problems[0].file, "gone.csv");
    assert_eq!(loaded.problems[0].kind, ProblemKind::Missing);
    let group = &loaded.case.groups[0];
    assert_eq!(group.shots.len(), 2);
    let of = |role| group.options.roles.iter().find(|r| r.role == role);
    assert_eq!(of(Role::Vcc).map(|r| r.channel.capture), Some(Some(1)));
    assert_eq!(of(Role::Vref), None);
    assert_eq!(of(Role::Out).map(|r| r.channel.capture), Some(Some(2)));
    assert_eq!(of(Role::Cs).map(|r| r.channel.capture), Some(None));
    assert_eq!(group.options.capture_setups[&1], Setup::Mains);
    assert_eq!(group.options.capture_setups.len(), 2);
}

#[test]
fn a_capture_that_the_file_does_not_hold_is_told() {
    let mut job = job(&["one.csv"]);
    job.runs[0].shots[0].capture = Some(4);
    let loaded = loaded(job);
    assert!(loaded.case.groups.is_empty());
    assert!(
        loaded.problems[0].text.contains("number 4"),
        "{:?}",
        loaded.problems
    );
}
