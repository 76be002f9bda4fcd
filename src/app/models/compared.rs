//! The sheet of before and after: what changed, in words, lanes and a table.

use std::sync::Arc;

use super::lanes::range_of;
use super::ticks::{Tick, ticks};
use crate::app::compare::{self, CompareForm};
use crate::app::kept::{Kept, Part};
use crate::app::state::AppState;
use crate::data::text::{engineering, harmless, plus_minus};
use crate::data::{
    Alignment, Comparison, Difference, Role, Row, SampleKind, Side, StageState, Unit,
};
use crate::inspect::view::{self, Column};

/// A trace on its own time axis.
#[derive(Debug, Clone)]
pub struct OverTrace {
    /// What is drawn, corrected.
    pub columns: Arc<Vec<Column>>,
    /// Does a value hold until the next?
    pub held: bool,
    /// What the trace's own time is ahead of the lane's, in seconds.
    pub ahead_s: f64,
}

/// A pin of both sides in one lane.
#[derive(Debug, Clone)]
pub struct OverLane {
    /// Its role.
    pub role: Role,
    /// Before and after.
    pub traces: [OverTrace; 2],
    /// Values at the lower and the upper edge.
    pub range: (f64, f64),
    /// Places on the value axis.
    pub ticks: Vec<Tick>,
    /// After minus before, at instants of the lane's time.
    pub difference: Vec<(f64, f64)>,
    /// Smallest and largest difference.
    pub difference_range: (f64, f64),
    /// `difference −20 mV to 3.1 V`.
    pub difference_words: String,
}

/// Both captures on one time axis.
#[derive(Debug, Clone)]
pub struct OverModel {
    /// Which captures, and how they are laid over each other.
    pub words: String,
    /// The same happens this much later in the capture after, in seconds.
    pub shift_s: f64,
    /// The time axis, that of the capture before, in seconds.
    pub shown_s: (f64, f64),
    /// Places on it.
    pub ticks: Vec<Tick>,
    /// The lanes.
    pub lanes: Vec<OverLane>,
}

/// A row of the table.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RowModel {
    /// Name of the quantity.
    pub title: &'static str,
    /// Before, after, change.
    pub cells: [String; 3],
    /// Verdicts before and after.
    pub verdicts: String,
    /// What became of it.
    pub word: &'static str,
    /// Does it stand out?
    pub stands_out: bool,
    /// What is to be said beside it.
    pub remark: String,
}

/// The sheet.
#[derive(Debug, Clone, Default)]
pub struct CompareModel {
    /// What was chosen.
    pub form: CompareForm,
    /// Titles of the groups.
    pub groups: Vec<String>,
    /// Why there is nothing to show.
    pub none: Option<String>,
    /// What it comes to.
    pub summary: String,
    /// States before and after, where either was tested.
    pub stages: Vec<String>,
    /// The pairs of captures that can be drawn.
    pub pairs: Vec<String>,
    /// The pair drawn.
    pub over: Option<OverModel>,
    /// Rows that both sides have, then those that one side has.
    pub rows: Vec<RowModel>,
    /// Pairs without a common time axis, and notes.
    pub notes: Vec<String>,
    /// All of the table as text.
    pub copied: String,
}

/// The sheet of a state.
pub fn compared(state: &AppState, kept: &Kept) -> CompareModel {
    let groups = state.case.groups.iter();
    let mut model = CompareModel {
        form: state.compare.clone(),
        groups: groups.map(|g| harmless(&g.title, 30)).collect(),
        ..CompareModel::default()
    };
    let Some(found) = compare::found(state) else {
        model.none = Some(why_not(state));
        return model;
    };
    model.summary.clone_from(&found.summary);
    model.stages = stages(&found);
    model.pairs = found.alignments.iter().map(pair_words).collect();
    let alignment = found.alignments.get(state.compare.pair);
    model.over = alignment
        .or(found.alignments.first())
        .and_then(|alignment| over(state, alignment, kept));
    let both = |row: &&Row| row.change.is_some();
    let (first, second): (Vec<&Row>, Vec<&Row>) = found.rows.iter().partition(both);
    model.rows = first.into_iter().chain(second).map(row).collect();
    model.notes = found
        .not_aligned
        .iter()
        .chain(&found.notes)
        .cloned()
        .collect();
    model.copied = copied(&model.rows);
    model
}

fn why_not(state: &AppState) -> String {
    if state.case.groups.len() < 2 {
        return "One run alone has nothing to be set against. Begin “after the repair” at the top, or a further run, and open its captures.".to_owned();
    }
    match compare::sides(state) {
        Some(_) => "Comparing…".to_owned(),
        None => "One of the two runs has no inspection yet: open its captures.".to_owned(),
    }
}

fn stages(found: &Comparison) -> Vec<String> {
    let tested = |state| state != StageState::NotTested;
    let shown = found
        .stages
        .iter()
        .filter(|change| tested(change.before) || tested(change.after));
    let words = shown.map(|change| {
        let (before, after) = (change.before.title(), change.after.title());
        match before == after {
            true => format!("{}: {after}", change.stage.title()),
            false => format!("{}: {before}, then {after}", change.stage.title()),
        }
    });
    words.collect()
}

fn pair_words(alignment: &Alignment) -> String {
    format!(
        "shot {} before, shot {} after",
        alignment.before + 1,
        alignment.after + 1
    )
}

fn row(row: &Row) -> RowModel {
    let info = row.quantity.info();
    let side = |side: &Option<Side>| match side {
        Some(side) => plus_minus(side.value.value, side.value.u95, info.unit),
        None => "–".to_owned(),
    };
    let verdict = |side: &Option<Side>| side.as_ref().map_or("–", |s| s.verdict.title());
    let change = row.change.as_ref();
    RowModel {
        title: info.title,
        cells: [
            side(&row.before),
            side(&row.after),
            change.map_or_else(String::new, |c| plus_minus(c.value, c.u95, info.unit)),
        ],
        verdicts: format!("{}, {}", verdict(&row.before), verdict(&row.after)),
        word: row.difference.title(),
        stands_out: row.difference == Difference::Changed,
        remark: row.remark.clone(),
    }
}

fn copied(rows: &[RowModel]) -> String {
    let mut text = String::from("quantity\tbefore\tafter\tchange\tverdicts\t\n");
    for row in rows {
        let [before, after, change] = &row.cells;
        text.push_str(&format!(
            "{}\t{before}\t{after}\t{change}\t{}\t{}\n",
            row.title, row.verdicts, row.word
        ));
    }
    text
}

fn over(state: &AppState, alignment: &Alignment, kept: &Kept) -> Option<OverModel> {
    let (before, after) = compare::sides(state)?;
    let shots = [
        (state.compare.before, alignment.before, before, 0.0),
        (
            state.compare.after,
            alignment.after,
            after,
            alignment.shift_s,
        ),
    ];
    let axis = |index: usize| {
        let (_, capture, run, ahead_s) = &shots[index];
        let channels = &run.captures.get(*capture)?.capture.channels;
        let spans = channels.iter().filter(|c| !c.time.is_empty());
        spans
            .map(|c| (c.time.start_s() - ahead_s, c.time.end_s() - ahead_s))
            .reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
    };
    let (a, b) = (axis(0)?, axis(1)?);
    let shown_s = (a.0.min(b.0), a.1.max(b.1));
    let columns = state.lane_columns.max(64);
    let trace = |index: usize, role: Role| {
        let (group, capture, run, ahead_s) = &shots[index];
        let shot = state.case.groups.get(*group)?.shots.get(*capture)?;
        let inspected = run.captures.get(*capture)?;
        let channel = inspected.channel_of(role)?;
        let known = &inspected.channels[channel];
        let part = Part {
            shot,
            channel,
            span_s: (shown_s.0 + ahead_s, shown_s.1 + ahead_s),
            map: (known.gain, known.offset),
        };
        Some(OverTrace {
            columns: kept.columns(part, columns),
            held: inspected.capture.channels[channel].kind == SampleKind::Held,
            ahead_s: *ahead_s,
        })
    };
    let lanes = Role::ALL
        .into_iter()
        .filter_map(|role| Some(lane(role, [trace(0, role)?, trace(1, role)?])));
    Some(OverModel {
        words: format!(
            "{} (before in grey, after in the colour of the pin), laid over each other {}",
            pair_words(alignment),
            alignment.reason
        ),
        shift_s: alignment.shift_s,
        shown_s,
        ticks: ticks(shown_s.0, shown_s.1, 8, Unit::Second),
        lanes: lanes.collect(),
    })
}

fn lane(role: Role, traces: [OverTrace; 2]) -> OverLane {
    let all = traces.iter().flat_map(|t| t.columns.iter());
    let ends = all
        .filter(|c| c.min.is_finite())
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), c| {
            (low.min(c.min), high.max(c.max))
        });
    let range = range_of(ends, &[]);
    let [before, after] = &traces;
    let difference = view::difference(
        (&before.columns, before.ahead_s),
        (&after.columns, after.ahead_s),
    );
    let difference_range = difference
        .iter()
        .fold((0.0_f64, 0.0_f64), |(low, high), (_, v)| {
            (low.min(*v), high.max(*v))
        });
    let volts = |v: f64| engineering(v, Unit::Volt, 3);
    OverLane {
        role,
        ticks: ticks(range.0, range.1, 4, Unit::Volt),
        range,
        difference_words: format!(
            "difference {} to {}",
            volts(difference_range.0),
            volts(difference_range.1)
        ),
        difference,
        difference_range,
        traces,
    }
}
