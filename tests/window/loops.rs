//! The threshold loop over all sweeps of a run.

use std::sync::Arc;

use firstpulse::app::commands::{Command, apply};
use firstpulse::app::models::loop_parts::{self, LoopPart};
use firstpulse::app::models::vcc_loop::{LoopModel, LoopPoint};
use firstpulse::app::models::{Middle, PanelModel};
use firstpulse::app::state::{AppState, MiddleView};
use firstpulse::data::{Outcome, Quantity, Role, Value};

use super::use_it::example_state;

fn path(vcc: impl IntoIterator<Item = f64>) -> Vec<LoopPoint> {
    let point = |vcc| LoopPoint {
        vcc,
        low: 0.0,
        high: 0.0,
    };
    vcc.into_iter().map(point).collect()
}

#[test]
fn a_sweep_is_cut_where_vcc_turns_and_not_by_its_noise() {
    // up from 0 V to 20 V in 100 steps and down again, with 0.3 V of ripple
    let triangle = (0..=200_i32).map(|k| {
        let up = f64::from(100 - (k - 100).abs());
        0.2 * up + if k % 2 == 0 { 0.15 } else { -0.15 }
    });
    let parts = loop_parts::parts(&path(triangle));
    let ways: Vec<bool> = parts.iter().map(|part| part.rising).collect();
    assert_eq!(ways, [true, false], "{parts:?}");
    assert!(parts[0].last.abs_diff(100) <= 1, "{parts:?}");
    assert_eq!((parts[0].first, parts[1].last), (0, 200));
    assert_eq!(parts[0].last, parts[1].first, "no gap between them");
}

#[test]
fn every_swing_of_a_row_is_a_part_and_short_or_flat_paths_do_no_harm() {
    // three teeth between 10 V and 16 V, begun downwards
    let teeth = (0..120_i32).map(|k| 10.0 + 0.3 * f64::from((k % 40 - 20).abs()));
    let ways: Vec<bool> = loop_parts::parts(&path(teeth))
        .iter()
        .map(|part| part.rising)
        .collect();
    assert_eq!(ways, [false, true, false, true, false, true]);
    assert!(loop_parts::parts(&[]).is_empty());
    assert!(loop_parts::parts(&path([1.0])).is_empty());
    let flat = LoopPart {
        rising: true,
        first: 0,
        last: 2,
    };
    assert_eq!(loop_parts::parts(&path([5.0, 5.0, 5.0])), [flat]);
}

fn shown(state: &AppState) -> LoopModel {
    match PanelModel::of(state, None).middle {
        Middle::Loop(model) => model,
        other => panic!("no loop: {other:?}"),
    }
}

#[test]
fn sweeps_of_different_shots_stand_over_one_vcc_axis() {
    let mut state = example_state();
    apply(&mut state, Command::Show(MiddleView::Loop));
    let model = shown(&state);
    let roles: Vec<Role> = model.panels.iter().map(|panel| panel.role).collect();
    assert_eq!(roles, [Role::Vref, Role::RtCt]);
    let shots = |index: usize| -> Vec<usize> {
        let runs = model.panels[index].runs.iter();
        runs.map(|run| run.shot).collect()
    };
    assert_eq!((shots(0), shots(1)), (vec![0, 3], vec![1]));
    // the ramp of the example runs from 1.2 V to 2.8 V, and stands still below the start
    let run = &model.panels[1].runs[0];
    let highest = run.points.iter().map(|p| p.high).fold(0.0, f64::max);
    assert!((highest - 1.6).abs() < 0.3, "{highest}");
    let still = run.points[..run.points.len() / 4].iter();
    assert!(still.clone().all(|p| p.vcc > 12.0 || p.high < 0.5));
    apply(&mut state, Command::LoopRole(Some(Role::RtCt)));
    let model = shown(&state);
    assert_eq!(model.panels.len(), 1);
    assert_eq!(model.chosen, Some(Role::RtCt));
    apply(&mut state, Command::LoopRole(None));
    assert_eq!(shown(&state).panels.len(), 2);
}

#[test]
fn the_mean_is_marked_where_the_comparator_sees_another_value() {
    let mut state = example_state();
    apply(&mut state, Command::Show(MiddleView::Loop));
    let run = Arc::make_mut(state.inspections[0].as_mut().unwrap());
    let of_shot = |quantity| {
        move |judged: &&mut firstpulse::data::Judged| {
            let measured = &judged.measured;
            measured.quantity == quantity && measured.capture == Some(0)
        }
    };
    // ripple of 0.88 V: the pin falls to 7.63 V where a meter reads 8.51 V
    let given = [
        (Quantity::StopThreshold, 7.63),
        (Quantity::StopThresholdMean, 8.51),
    ];
    for (quantity, volts) in given {
        let outcome = Outcome::Value(Value::from_terms(volts, Vec::new()));
        match run.measured.iter_mut().find(of_shot(quantity)) {
            Some(judged) => judged.measured.outcome = outcome,
            None => {
                let mut judged = run.measured[0].clone();
                judged.measured.quantity = quantity;
                judged.measured.capture = Some(0);
                judged.measured.outcome = outcome;
                run.measured.push(judged);
            }
        }
    }
    let model = shown(&state);
    let levels = model.panels[0].levels.iter();
    let stops: Vec<_> = levels
        .filter(|level| level.text.contains("stop") && level.text.contains("shot 1"))
        .collect();
    assert_eq!(stops.len(), 2, "{stops:?}");
    assert_eq!(stops[0].text, "stop 7.630 V at the pin, shot 1");
    assert_eq!(
        stops[1].text,
        "mean at stop 8.510 V, as a meter reads, shot 1"
    );
    assert!(!stops[0].mean && stops[1].mean);
    assert!(model.spoken.contains(&stops[1].text));
    let run = Arc::make_mut(state.inspections[0].as_mut().unwrap());
    let mean = run.measured.iter_mut();
    for judged in mean.filter(|j| j.measured.quantity == Quantity::StopThresholdMean) {
        judged.measured.outcome = Outcome::Value(Value::from_terms(7.64, Vec::new()));
    }
    let model = shown(&state);
    let levels = &model.panels[0].levels;
    assert!(levels.iter().all(|level| !level.mean), "{levels:?}");
}
