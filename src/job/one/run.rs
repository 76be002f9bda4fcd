//! Tables of a run.

use crate::data::job::{Condition, Run, RunShot};
use crate::data::options::{Accuracy, ChannelChoice, MeterPoint, RoleChoice};
use crate::data::{ReferenceLevels, Role, StepPlace, VoltageStep};
use crate::job::form::{
    Form, accuracy, channel, date, file, files, named, number, numbers, readings, required, text,
    typed_text, whole, word, word_needed, words, yes_or_no,
};

/// A table that [`Default`] can't make by itself.
struct Row<T>(T);

pub(super) fn run<F: Form>(form: &mut F, run: &mut Run) {
    named(form, "title", &mut run.title);
    word(form, "when", &mut run.when);
    date(form, "date", &mut run.date);
    word(form, "setup", &mut run.setup);
    word(form, "next-setup", &mut run.next_setup);
    levels(form, &mut run.reference_levels);
    words(form, "change-over", &mut run.change_over);
    form.table("condition", &mut run.condition, condition);
    readings(form, &mut run.readings);
    form.list("shots", &mut run.shots, shot);
    rows(form, "roles", &mut run.roles, role);
    rows(
        form,
        "probes",
        &mut run.probes,
        |form, row: &mut Row<(ChannelChoice, f64)>| {
            channel(form, &mut row.0.0);
            required(form, "factor", &mut row.0.1);
        },
    );
    let accurate = |form: &mut F, row: &mut Row<(ChannelChoice, Accuracy)>| {
        channel(form, &mut row.0.0);
        accuracy(form, &mut row.0.1);
    };
    rows(form, "accuracies", &mut run.accuracies, accurate);
    rows(
        form,
        "bandwidths",
        &mut run.bandwidths,
        |form, row: &mut Row<(ChannelChoice, f64)>| {
            channel(form, &mut row.0.0);
            required(form, "hertz", &mut row.0.1);
        },
    );
    rows(form, "set-to-meter", &mut run.meter_points, meter_point);
    same_range(form, &mut run.same_range);
    rows(form, "steps", &mut run.steps, step);
}

/// Tables of which each is a value wrapped for its default.
fn rows<F: Form, T>(
    form: &mut F,
    key: &'static str,
    values: &mut Vec<T>,
    describe: fn(&mut F, &mut Row<T>),
) where
    Row<T>: Default,
{
    let mut wrapped: Vec<Row<T>> = std::mem::take(values).into_iter().map(Row).collect();
    form.list(key, &mut wrapped, describe);
    *values = wrapped.into_iter().map(|row| row.0).collect();
}

fn levels<F: Form>(form: &mut F, levels: &mut ReferenceLevels) {
    let told =
        (*levels != ReferenceLevels::default()).then_some([levels.low, levels.middle, levels.high]);
    let mut told = told;
    numbers(form, "reference-levels", &mut told);
    if let Some([low, middle, high]) = told {
        *levels = ReferenceLevels { low, middle, high };
    }
}

fn condition<F: Form>(form: &mut F, condition: &mut Condition) {
    word(form, "heat", &mut condition.heat);
    number(form, "minutes", &mut condition.minutes);
    text(form, "sprayed", &mut condition.sprayed);
    text(form, "note", &mut condition.note);
}

fn shot<F: Form>(form: &mut F, shot: &mut RunShot) {
    file(form, "file", &mut shot.file);
    whole(form, "capture", &mut shot.capture);
    files(form, "with", &mut shot.with);
    word(form, "setup", &mut shot.setup);
    word(form, "kind", &mut shot.kind);
}

fn nowhere() -> ChannelChoice {
    ChannelChoice {
        capture: None,
        channel: String::new(),
    }
}

fn role<F: Form>(form: &mut F, row: &mut Row<RoleChoice>) {
    channel(form, &mut row.0.channel);
    word_needed(form, "role", &mut row.0.role);
    typed_text(form, "place", &mut row.0.place);
}

impl Default for Row<RoleChoice> {
    fn default() -> Self {
        Row(RoleChoice {
            channel: nowhere(),
            role: Role::Other,
            place: None,
        })
    }
}

impl Default for Row<(ChannelChoice, f64)> {
    fn default() -> Self {
        Row((nowhere(), 1.0))
    }
}

impl Default for Row<(ChannelChoice, Accuracy)> {
    fn default() -> Self {
        let none = Accuracy {
            gain: 0.0,
            offset: 0.0,
        };
        Row((nowhere(), none))
    }
}

fn meter_point<F: Form>(form: &mut F, row: &mut Row<MeterPoint>) {
    channel(form, &mut row.0.channel);
    required(form, "from-s", &mut row.0.from_s);
    required(form, "to-s", &mut row.0.to_s);
    required(form, "volts", &mut row.0.volts);
}

impl Default for Row<MeterPoint> {
    fn default() -> Self {
        Row(MeterPoint {
            channel: nowhere(),
            from_s: 0.0,
            to_s: 0.0,
            volts: 0.0,
        })
    }
}

fn same_range<F: Form>(form: &mut F, groups: &mut Vec<Vec<ChannelChoice>>) {
    form.list(
        "same-range",
        groups,
        |form, group: &mut Vec<ChannelChoice>| {
            let describe = |form: &mut F, row: &mut Row<ChannelChoice>| channel(form, &mut row.0);
            rows(form, "channels", group, describe);
        },
    );
}

impl Default for Row<ChannelChoice> {
    fn default() -> Self {
        Row(nowhere())
    }
}

fn step<F: Form>(form: &mut F, row: &mut Row<VoltageStep>) {
    required(form, "volts", &mut row.0.volts);
    yes_or_no(form, "works", &mut row.0.works);
    word(form, "going", &mut row.0.going);
    number(form, "amperes", &mut row.0.current_a);
}

impl Default for Row<VoltageStep> {
    fn default() -> Self {
        Row(VoltageStep {
            volts: 0.0,
            works: false,
            going: None,
            current_a: None,
            place: StepPlace::Typed,
        })
    }
}
