//! Two sides set against each other: shifts against scipy, and captures of a model that shares no code
//! with this crate (`tests/outside`), set against copies of which it is known what was changed.

use std::path::Path;
use std::sync::Arc;

use firstpulse::data::options::{Accuracy, ChannelChoice, RoleChoice};
use firstpulse::data::{
    AlignBy, Capture, Channel, CompareOptions, Comparison, Difference, Inspection, Options,
    Progress, Quantity, Role, Row, Setup, Source, TimeAxis,
};
use firstpulse::formats::FileSource;
use firstpulse::inspect::{self, Library, ReadOptions, Shot};
use firstpulse::signal::correlate::shift;
use serde_json::Value as Json;

fn numbers(value: &Json) -> Vec<f64> {
    let list = value.as_array().map_or(&[][..], Vec::as_slice);
    list.iter().filter_map(Json::as_f64).collect()
}

#[test]
fn shifts_are_those_of_scipy() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/shifts.json");
    let text = std::fs::read_to_string(path).unwrap();
    let cases: Vec<Json> = serde_json::from_str(&text).unwrap();
    assert_eq!(cases.len(), 7);
    for case in cases {
        let (a, b) = (numbers(&case["a"]), numbers(&case["b"]));
        let found = shift(&a, &b, (isize::MIN / 4, isize::MAX / 4)).unwrap();
        let lag = case["lag"].as_f64().unwrap();
        assert!((found.samples - lag).abs() <= 0.5, "{found:?} of {lag}");
        let coefficient = case["coefficient"].as_f64().unwrap();
        assert!((found.coefficient - coefficient).abs() < 1e-7, "{found:?}");
        // and that lag is the one by which the record was made later
        let truth = case["true_lag"].as_f64().unwrap();
        assert!((lag - truth).abs() <= 1.0, "{lag} {truth} {}", case["form"]);
        assert!((found.samples - truth).abs() <= found.within.max(1.0));
    }
}

#[test]
fn nothing_and_little_have_no_shift() {
    let far = (-100, 100);
    assert_eq!(shift(&[], &[1.0; 20], far), None);
    assert_eq!(shift(&[1.0; 20], &[2.0; 20], far), None);
    assert_eq!(shift(&[f64::NAN; 20], &[2.0; 20], far), None);
    let moves: Vec<f64> = (0..20).map(|k| f64::from(k % 7)).collect();
    assert_eq!(shift(&moves[..7], &moves, far), None);
    assert_eq!(shift(&moves, &moves, (300, 400)), None);
    assert!(shift(&moves, &moves, far).unwrap().samples.abs() < 1e-9);
}

/// The file with what its truth says of roles.
fn outside(name: &str) -> (Arc<Shot>, Options) {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/outside");
    let truth = std::fs::read_to_string(folder.join(format!("{name}.truth.json")));
    let truth: Json = truth
        .ok()
        .and_then(|text| serde_json::from_str(&text).ok())
        .unwrap_or(Json::Null);
    let source = FileSource::open(folder.join(format!("{name}.csv")))
        .unwrap_or_else(|why| panic!("{name}: {why}"));
    let source: Arc<dyn Source> = Arc::new(source);
    let shots = inspect::load(&source, &ReadOptions::default(), &Progress::new())
        .unwrap_or_else(|why| panic!("{name}: {why}"));
    let roles = truth["channels"].as_array().map_or(&[][..], Vec::as_slice);
    let role = |(index, channel): (usize, &Json)| {
        Some(RoleChoice {
            channel: choice(index + 1),
            role: Role::from_id(channel["role"].as_str()?)?,
            place: None,
        })
    };
    let options = Options {
        controller: truth["controller"].as_str().map(str::to_owned),
        setup: truth["setup"].as_str().and_then(Setup::from_id),
        roles: roles.iter().enumerate().filter_map(role).collect(),
        // small, so that a change of a few percent stands out
        accuracies: (1..=roles.len()).map(|n| (choice(n), ACCURATE)).collect(),
        ..Options::default()
    };
    (Arc::clone(&shots[0]), options)
}

const ACCURATE: Accuracy = Accuracy {
    gain: 0.001,
    offset: 0.002,
};

fn choice(number: usize) -> ChannelChoice {
    ChannelChoice {
        capture: None,
        channel: number.to_string(),
    }
}

fn inspected(shot: &Arc<Shot>, options: &Options) -> Inspection {
    let library = Library::built_in().unwrap_or_else(|why| panic!("{why}"));
    inspect::examine(&[Arc::clone(shot)], options, &library).unwrap_or_else(|why| panic!("{why}"))
}

/// A copy, later by `later_s`, channel `index` put through `change`, all of them with noise.
fn copy(shot: &Shot, later_s: f64, noise: f64, change: impl Fn(usize, f64) -> f64) -> Arc<Shot> {
    let mut state = 0x2545_f491_4f6c_dd1d_u64;
    let mut random = move || {
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        (state >> 11) as f64 / (1_u64 << 53) as f64 - 0.5
    };
    let channels = shot.capture.channels.iter().enumerate();
    let channels: Vec<Channel> = channels
        .map(|(index, channel)| {
            let count = channel.samples.len();
            let values = channel.valid_slice(0..count);
            let values = values
                .iter()
                .map(|v| change(index, *v) + noise * 12.0_f64.sqrt() * random())
                .collect();
            let time = TimeAxis::Uniform {
                start_s: channel.time.start_s() + later_s,
                step_s: channel.time.interval_s(),
                count,
            };
            Channel::of_volts(channel.name.clone(), Arc::new(time), values)
        })
        .collect();
    let capture = Capture {
        file: shot.capture.file.clone(),
        format: shot.capture.format,
        channels,
        decisions: Vec::new(),
        notes: Vec::new(),
    };
    let facts = inspect::facts_of(&capture, &inspect::ThreadRunner::new());
    Arc::new(Shot {
        capture: Arc::new(capture),
        facts,
    })
}

fn of(found: &Comparison, quantity: Quantity) -> &Row {
    let row = found.rows.iter().find(|row| row.quantity == quantity);
    row.unwrap_or_else(|| panic!("no {}", quantity.info().id))
}

fn changed(found: &Comparison) -> Vec<&'static str> {
    let rows = found.rows.iter();
    let changed = rows.filter(|row| row.difference != Difference::Unchanged);
    changed.map(|row| row.quantity.info().id).collect()
}

/// What may come by chance of noise in a copy: nothing is told of the sources of `outside`.
const QUIET: f64 = 1e-9;

#[test]
fn a_capture_against_itself_shows_no_change() {
    for name in [
        "sweep_00",
        "sweep_04",
        "start_02",
        "start_06",
        "running_03",
        "running_07",
    ] {
        let (shot, options) = outside(name);
        let one = inspected(&shot, &options);
        let found = inspect::compare(&one, &one, &CompareOptions::default());
        assert!(!found.rows.is_empty(), "{name}");
        assert_eq!(changed(&found), Vec::<&str>::new(), "{name}");
        assert!(
            found.summary.starts_with("Nothing changed by more"),
            "{}",
            found.summary
        );
        for alignment in &found.alignments {
            assert!(alignment.shift_s.abs() <= QUIET, "{name} {alignment:?}");
        }
    }
}

#[test]
fn a_copy_with_more_vcc_shows_just_that() {
    for name in ["sweep_00", "sweep_04", "sweep_05"] {
        let (shot, options) = outside(name);
        let vcc = options
            .roles
            .iter()
            .position(|r| r.role == Role::Vcc)
            .unwrap();
        let more = copy(
            &shot,
            0.0,
            0.005,
            |index, v| if index == vcc { 1.06 * v } else { v },
        );
        let (before, after) = (inspected(&shot, &options), inspected(&more, &options));
        let found = inspect::compare(&before, &after, &CompareOptions::default());
        for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
            let row = of(&found, quantity);
            assert_eq!(row.difference, Difference::Changed, "{name} {row:?}");
            let (change, old) = (row.change.as_ref().unwrap(), row.before.as_ref().unwrap());
            let truth = 0.06 * old.value.value;
            assert!(
                (change.value - truth).abs() < change.u95,
                "{name} {change:?} {truth}"
            );
        }
        let only: Vec<_> = changed(&found);
        let allowed = [
            "start_threshold",
            "stop_threshold",
            "hysteresis",
            "start_threshold_mean",
            "stop_threshold_mean",
        ];
        assert!(
            only.iter().all(|id| allowed.contains(id)),
            "{name} {only:?}"
        );
    }
}

#[test]
fn a_later_noisier_copy_is_laid_over_to_a_sample_in_every_way() {
    for (name, later) in [
        ("sweep_00", 0.37),
        ("start_02", -0.042),
        ("start_06", 0.1113),
    ] {
        let (shot, options) = outside(name);
        let step_s = shot.capture.channels[0].time.interval_s();
        let later_s = (later / step_s).round() * step_s;
        let moved = copy(&shot, later_s, 0.004, |_, v| v);
        let (before, after) = (inspected(&shot, &options), inspected(&moved, &options));
        for align in [AlignBy::Start, AlignBy::Correlation, AlignBy::Hand(later_s)] {
            let told = CompareOptions {
                align,
                ..CompareOptions::default()
            };
            let found = inspect::compare(&before, &after, &told);
            let alignment = found.alignments.first();
            let alignment =
                alignment.unwrap_or_else(|| panic!("{name} {align:?} {:?}", found.not_aligned));
            let off = (alignment.shift_s - later_s).abs();
            // a start is told to the samples around it, correlation to one
            let least = if align == AlignBy::Start {
                alignment.within_s
            } else {
                step_s
            };
            assert!(
                off <= 1.000_001 * least,
                "{name} {align:?} {off} {step_s} {alignment:?}"
            );
            assert_eq!(changed(&found), Vec::<&str>::new(), "{name}");
        }
    }
}
