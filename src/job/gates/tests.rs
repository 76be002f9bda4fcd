use super::*;
use crate::data::job::{MainsCheck, Soak};

fn fed(setup: Setup, bulk: Option<f64>) -> Run {
    Run {
        setup: Some(setup),
        readings: bulk
            .map(|volts| ("bulk".to_owned(), volts))
            .into_iter()
            .collect(),
        ..Run::default()
    }
}

/// 10 V: common practice.
#[test]
fn injection_asks_for_a_measured_bulk_voltage_near_zero() {
    for setup in [Setup::Injected, Setup::LowBulk] {
        assert_eq!(before_injection(&fed(setup, None)).len(), 1);
        assert_eq!(before_injection(&fed(setup, Some(12.0))).len(), 1);
        assert_eq!(before_injection(&fed(setup, Some(-12.0))).len(), 1);
        assert_eq!(before_injection(&fed(setup, Some(f64::NAN))).len(), 1);
        assert!(before_injection(&fed(setup, Some(0.4))).is_empty());
    }
    assert!(before_injection(&fed(Setup::Mains, None)).is_empty());
    assert_eq!(before_injection(&Run::default()).len(), 1);
}

#[test]
fn every_line_of_the_list_is_asked_for_until_it_is_ticked() {
    let mut run = fed(Setup::Mains, None);
    assert_eq!(change_over(&run).len(), ChangeOver::ALL.len());
    run.change_over = ChangeOver::ALL.into_iter().collect();
    assert!(change_over(&run).is_empty());
    run.change_over.remove(&ChangeOver::EarthedClipsOff);
    let open = change_over(&run);
    assert_eq!(open.len(), 1);
    assert!(open[0].what.contains("earthed clip") && !open[0].why.is_empty());
}

#[test]
fn mains_is_not_cleared_until_both_checks_say_by_what() {
    let mut job = Job::default();
    assert_eq!(not_cleared_for_mains(&job).len(), 2);
    let check = |by: &str| {
        Some(MainsCheck {
            by: by.to_owned(),
            date: String::new(),
        })
    };
    job.mains.current_sense = check(" ");
    job.mains.feedback_loop = check("2.5 V into FB through 1 kΩ");
    assert_eq!(not_cleared_for_mains(&job).len(), 1);
    job.mains.current_sense = check("1.1 V into CS through 1 kΩ stops OUT");
    assert!(not_cleared_for_mains(&job).is_empty());
}

#[test]
fn the_end_asks_for_a_soak_that_ended_well() {
    let mut job = Job::default();
    assert_eq!(soak(&job).len(), 1);
    let run = |minutes, passed| Soak {
        minutes,
        passed,
        ..Soak::default()
    };
    job.soaks.push(run(60.0, None));
    assert!(soak(&job)[0].what.contains("no result"));
    job.soaks.push(run(60.0, Some(false)));
    assert!(soak(&job)[0].what.contains("did not"));
    job.soaks.push(run(60.0, Some(true)));
    assert!(soak(&job).is_empty());
}

#[test]
fn a_run_asks_for_what_its_set_up_needs() {
    let job = Job::default();
    assert!(of_run(&job, &fed(Setup::Cold, None)).is_empty());
    assert_eq!(of_run(&job, &fed(Setup::Injected, None)).len(), 3);
    assert_eq!(of_run(&job, &fed(Setup::Mains, None)).len(), 9);
}
