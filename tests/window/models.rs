//! Finished text and shapes, without drawing.

use firstpulse::app::commands::{Command, apply};
use firstpulse::app::models::cards::{Thread, cards};
use firstpulse::app::models::table::{Bar, table};
use firstpulse::app::models::{Middle, PanelModel, known, summary};
use firstpulse::app::state::{AppState, MiddleView};
use firstpulse::data::{Limit, Options, Role, Stage, StageState, Status, Unit, Verdict};
use firstpulse::inspect::ReadOptions;

use super::example;
use super::use_it::example_state;

#[test]
fn the_thread_is_whole_then_open_then_broken_then_slack() {
    let case = example::case();
    let mut inspection = example::inspections(&case).remove(0);
    let threads = |inspection: &_| -> Vec<Thread> {
        cards(Some(inspection), Stage::Supply)
            .iter()
            .map(|card| card.thread)
            .collect()
    };
    let found = threads(&inspection);
    assert_eq!(found[..4], [Thread::Whole; 4]);
    assert_eq!(found[4..], [Thread::Open, Thread::Broken { seen: false }]);
    inspection.stages[2].state = StageState::Dead;
    let found = threads(&inspection);
    assert_eq!(found[2], Thread::Broken { seen: true });
    assert_eq!(found[3..], [Thread::Slack; 3]);
    let none = cards(None, Stage::Drive);
    assert_eq!(none.len(), 6);
    assert!(none.iter().all(|card| card.state == StageState::NotTested));
    assert!(none[3].focused && !none[0].focused);
}

#[test]
fn the_bar_keeps_order_and_stays_inside() {
    let limit = |min, typ, max| Limit {
        min,
        typ,
        max,
        unit: Unit::Volt,
        condition: String::new(),
        source: String::new(),
        status: Status::Memory,
        status_limits: Status::Memory,
    };
    let bar = Bar::of(18.0, 0.5, &limit(Some(14.5), Some(16.0), Some(17.5))).unwrap();
    let places = [
        bar.min.unwrap(),
        bar.typ.unwrap(),
        bar.max.unwrap(),
        bar.value,
        bar.reach.1,
    ];
    assert!(places.windows(2).all(|pair| pair[0] < pair[1]), "{bar:?}");
    assert!(places.iter().all(|place| (0.0..=1.0).contains(place)));
    assert!((bar.reach.0 - bar.max.unwrap()).abs() < 1e-6);
    let bar = Bar::of(0.0, 0.0, &limit(Some(0.0), None, None)).unwrap();
    assert!(bar.value.is_finite() && bar.max.is_none());
    assert!(Bar::of(f64::NAN, 0.1, &limit(Some(0.0), None, None)).is_none());
    assert!(Bar::of(1.0, 0.1, &limit(None, None, None)).is_none());
}

#[test]
fn a_row_says_limits_verdict_source_and_doubt() {
    let case = example::case();
    let inspections = example::inspections(&case);
    let model = table(Some(&inspections[0]), None, Stage::Oscillator);
    assert_eq!(model.rows.len(), 2);
    let height = &model.rows[1];
    assert_eq!(height.word, "in limits, provisional");
    assert_eq!(height.verdict, Verdict::InLimits);
    assert!(height.why.contains("from memory"), "{}", height.why);
    assert!(height.source.contains("SLUS223G") && height.source.contains("verified-full"));
    let lines: Vec<&str> = model.copied.lines().collect();
    assert_eq!(lines.len(), 3);
    assert!(
        lines.iter().all(|line| line.split('\t').count() == 6),
        "{lines:?}"
    );
    let own = table(Some(&inspections[0]), None, Stage::OwnSupply);
    assert_eq!(own.gaps.len(), 1);
    assert!(own.copied.contains("no channel is on the bulk capacitor"));
    assert!(table(None, None, Stage::Supply).rows.is_empty());
}

#[test]
fn there_are_always_three_lines_and_the_banner_has_its_sources() {
    assert_eq!(summary::lines(None).len(), 3);
    let case = example::case();
    let banner = summary::banner(
        &example::inspections(&case)[0],
        known::bulk(&example_state()),
    );
    assert_eq!(banner[0].title, "Do not exceed 30 V, 30 mA");
    assert!(banner[0].text.contains("SLUS223G"));
    assert_eq!(banner.len(), 2);
}

#[test]
fn lanes_follow_the_start_up_order_and_carry_limits_marks_and_span() {
    let mut state = example_state();
    apply(&mut state, Command::MarkSpan(Some((3.0, 2.0))));
    let model = PanelModel::of(&state, None);
    let Middle::Lanes(lanes) = model.middle else {
        panic!("lanes are shown");
    };
    let roles: Vec<_> = lanes.lanes.iter().map(|lane| lane.role).collect();
    assert_eq!(roles, [Some(Role::Vcc), Some(Role::Vref)]);
    let bands: Vec<_> = lanes.lanes[0]
        .bands
        .iter()
        .map(|b| (b.low, b.high))
        .collect();
    assert_eq!(bands, [(14.5, 17.5), (8.5, 11.5)]);
    assert_eq!(lanes.marks.len(), 2);
    let span = lanes.span.unwrap();
    assert_eq!(span.length, "1.000 s");
    assert!(
        lanes.lanes[0].span.contains("slope 4.00 V/s"),
        "{}",
        lanes.lanes[0].span
    );
    assert!(span.copied.contains("VCC (7)\t"));
    apply(&mut state, Command::Show(MiddleView::Loop));
    let Middle::Loop(model) = PanelModel::of(&state, None).middle else {
        panic!("the loop is shown");
    };
    assert_eq!(model.choices, [Role::Vref, Role::RtCt]);
    let run = &model.panels[0].runs[0];
    let rising = &run.points[..run.points.len() / 2];
    let before = rising.iter().filter(|point| point.vcc < 15.8);
    assert!(before.clone().count() > 100);
    assert!(before.clone().all(|point| point.high < 0.5));
}

#[test]
fn zoom_and_pan_stay_within_the_record() {
    let mut state = example_state();
    for _ in 0..200 {
        let zoom = Command::Zoom {
            at_s: 4.0,
            factor: 0.5,
        };
        apply(&mut state, zoom);
    }
    let (from, to) = state.shown_s().unwrap();
    assert!(to > from && to - from < 1e-2 && (3.9..4.1).contains(&from));
    apply(&mut state, Command::Pan(1e9));
    let full = state.full_s().unwrap();
    assert!((state.shown_s().unwrap().1 - full.1).abs() < 1e-9);
    for at_s in [f64::NAN, 4.0] {
        for factor in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
            apply(&mut state, Command::Zoom { at_s, factor });
        }
    }
    let zoom = Command::Zoom {
        at_s: 4.0,
        factor: 1e12,
    };
    apply(&mut state, zoom);
    assert_eq!(state.window_s, None);
    let mut empty = AppState::empty(ReadOptions::default(), Options::default());
    apply(&mut empty, Command::Pan(1.0));
    apply(&mut empty, Command::RemoveShot(0));
    assert_eq!(empty.window_s, None);
}

#[test]
fn the_value_explained_shows_where_it_was_taken_and_what_it_is_made_of() {
    use firstpulse::app::state::Explained;
    use firstpulse::data::Mark;
    let mut state = example_state();
    let mut inspection = (**state.inspections[0].as_ref().unwrap()).clone();
    let taken = |model: &PanelModel| -> usize {
        let Middle::Lanes(lanes) = &model.middle else {
            panic!("lanes were expected");
        };
        lanes.lanes.iter().map(|lane| lane.taken.len()).sum()
    };
    inspection.measured[0].measured.marks = vec![
        Mark::Level {
            level: 16.0,
            from_s: 0.1,
            to_s: 0.2,
        },
        Mark::Instant {
            at_s: 0.15,
            level: Some(16.0),
        },
    ];
    let (capture, channel) = (
        inspection.measured[0].measured.capture.unwrap(),
        inspection.measured[0].measured.channel.unwrap(),
    );
    state.inspections[0] = Some(std::sync::Arc::new(inspection));
    assert_eq!(taken(&PanelModel::of(&state, None)), 0);
    apply(&mut state, Command::Visit(Explained::Measured(0)));
    assert_eq!(state.shot, capture);
    let model = PanelModel::of(&state, None);
    assert_eq!(taken(&model), 2);
    let Middle::Lanes(lanes) = &model.middle else {
        panic!("lanes were expected");
    };
    let lane = lanes
        .lanes
        .iter()
        .find(|lane| !lane.taken.is_empty())
        .unwrap();
    assert_eq!(lane.channel, channel);
    let labels: Vec<&str> = lane.taken.iter().map(|taken| &*taken.label).collect();
    assert_eq!(labels, ["16.00 V", ""]);
    let told = model.details.lines.join("\n");
    assert!(
        told.contains("of the variance") && told.contains("Where:"),
        "{told}"
    );
    // another shot does not show them
    apply(&mut state, Command::SelectShot(capture + 1));
    state.explained = Some(Explained::Measured(0));
    assert_eq!(taken(&PanelModel::of(&state, None)), 0);
}

#[test]
fn a_probe_factor_is_offered_and_told_by_one_press() {
    use firstpulse::data::FactorOffer;
    let mut state = example_state();
    let mut inspection = (**state.inspections[0].as_ref().unwrap()).clone();
    inspection.captures[0].channels[1].factor_offer = Some(FactorOffer {
        factor: 10.0,
        role: Role::Vref,
        reason: "it would be VREF if the probe's factor were 10".to_owned(),
    });
    state.inspections[0] = Some(std::sync::Arc::new(inspection));
    let Middle::Lanes(lanes) = PanelModel::of(&state, None).middle else {
        panic!("lanes were expected");
    };
    let mut offers = lanes.lanes.iter().filter_map(|lane| lane.offer.clone());
    let offer = offers.next().unwrap();
    assert_eq!(
        (offer.words.as_str(), offer.factor.as_str()),
        ("Use factor 10", "10")
    );
    assert!(offers.next().is_none() && offer.reason.contains("VREF"));
    let fields = known::known(&state).rows[2].1.clone();
    let beside: Vec<_> = fields.into_iter().filter(|f| f.offer.is_some()).collect();
    assert_eq!(beside.len(), 1);
    assert_eq!(beside[0].label, "CH2 probe factor");
    assert_eq!(beside[0].offer.as_ref(), Some(&offer));
    let field = firstpulse::app::told::Field::Factor(0, 1);
    apply(&mut state, Command::EditField(field, "10".to_owned()));
    apply(&mut state, Command::EnterField(field));
    assert_eq!(state.group().unwrap().options.probes.len(), 1);
}

#[test]
fn a_proposed_pin_says_how_sure_it_is_and_a_told_one_who_told_it() {
    use firstpulse::data::Proposed;
    let mut state = example_state();
    let mut inspection = (**state.inspections[0].as_ref().unwrap()).clone();
    let channels = &mut inspection.captures[0].channels;
    channels[0].role = Proposed::because(Role::Vcc, "it climbs").with_confidence(0.974);
    channels[1].role = Proposed::because(Role::Vref, "5 V").with_confidence(0.62);
    inspection.captures[1].channels[0].role = Proposed::set(Role::Vcc);
    state.inspections[0] = Some(std::sync::Arc::new(inspection));
    let model = PanelModel::of(&state, None);
    let text = |shot: usize, channel: usize| model.shots[shot].channels[channel].text.clone();
    assert_eq!(text(0, 0), "CH1: VCC (7), likely 97 %");
    assert_eq!(text(0, 1), "CH2: VREF (8), possible 62 %");
    assert_eq!(text(1, 0), "CH1: VCC (7), set by you");
    let Middle::Lanes(lanes) = &model.middle else {
        panic!("lanes were expected");
    };
    assert_eq!(lanes.lanes[0].sure, "likely 97 %");
    assert_eq!(lanes.lanes[0].reason, "it climbs");
}

#[test]
fn a_count_has_no_budget_and_a_limit_without_numbers_is_none() {
    use firstpulse::app::models::details::measured;
    use firstpulse::data::Value;
    let case = example::case();
    let mut judged = example::inspections(&case)[0].measured[0].clone();
    judged.measured.outcome = firstpulse::data::Outcome::Value(Value::from_terms(6.0, Vec::new()));
    let limit = judged.expected.as_mut().unwrap();
    (limit.min, limit.typ, limit.max) = (None, None, None);
    let lines = measured(&judged).lines.join("\n");
    assert!(lines.contains("no uncertainty of its own"), "{lines}");
    assert!(lines.contains("No limit is published ("), "{lines}");
    assert!(
        !lines.contains("-0") && !lines.contains("Published: "),
        "{lines}"
    );
}
