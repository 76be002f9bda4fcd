//! The line at the bottom: why a verdict is what it is, in full.

use super::shot_words;
use super::table::source_of;
use crate::app::state::Explained;
use crate::data::text::{engineering, plus_minus};
use crate::data::{
    Event, EventKind, Inspection, Judged, Outcome, Quantity, Stage, Suspect, Unit, Value,
};
use crate::report::text;

/// What the bottom line says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct DetailsModel {
    /// In a few words.
    pub title: String,
    /// In full.
    pub lines: Vec<String>,
}

impl DetailsModel {
    /// Title and lines as one text.
    pub fn text(&self) -> String {
        let mut text = self.title.clone();
        for line in &self.lines {
            text.push('\n');
            text.push_str(line);
        }
        text
    }
}

/// The explanation of what was asked for; else of the stage in focus.
pub fn details(
    inspection: Option<&Inspection>,
    what: Option<Explained>,
    focus: Stage,
) -> DetailsModel {
    let found = inspection
        .zip(what)
        .and_then(|(inspection, what)| match what {
            Explained::Measured(index) => inspection.measured.get(index).map(measured),
            Explained::Suspect(index) => inspection.suspects.get(index).map(suspect),
            Explained::Event(index) => inspection.events.get(index).map(|e| event(e, inspection)),
        });
    found.unwrap_or_else(|| of_stage(inspection, focus))
}

fn of_stage(inspection: Option<&Inspection>, focus: Stage) -> DetailsModel {
    let mut lines = Vec::new();
    let mut title = format!("{}: nothing inspected yet", focus.title());
    if let Some(finding) = inspection.and_then(|inspection| inspection.stage(focus)) {
        title = format!("{}: {}", focus.title(), finding.state.title());
        lines.push(finding.because.clone());
    }
    lines.push(
        "Choose a value, a suspect, a start or a stop: its reasons stand here, and the lanes show where it was taken. Choose it again, and they show what they did before."
            .to_owned(),
    );
    DetailsModel { title, lines }
}

/// The explanation of one value.
pub fn measured(judged: &Judged) -> DetailsModel {
    let info = judged.measured.quantity.info();
    let (said, rest) = match &judged.measured.outcome {
        Outcome::NotMeasurable(why) => (format!("Not measured: {why}"), Vec::new()),
        Outcome::Value(value) => (verdict_line(judged), value_lines(value, info.unit)),
    };
    let mut lines = vec![format!("{} Where: {}.", info.definition, info.taken), said];
    // before the budget, which is long
    lines.extend(judged.measured.remarks.iter().cloned());
    lines.extend(rest);
    if !judged.settle.is_empty() {
        lines.push(format!("What would settle it: {}", judged.settle));
    }
    DetailsModel {
        title: format!(
            "{}, {}: {}",
            info.title,
            shot_words(judged.measured.capture),
            judged.verdict.title()
        ),
        lines,
    }
}

/// The budget, then the single results.
fn value_lines(value: &Value, unit: Unit) -> Vec<String> {
    const MOST: usize = 12;
    let mut lines = budget_lines(value, unit);
    if value.singles.len() > 1 {
        let single = |single: &f64| engineering(*single, unit, 4);
        let shown: Vec<String> = value.singles.iter().take(MOST).map(single).collect();
        let more = if value.singles.len() > MOST {
            " …"
        } else {
            ""
        };
        lines.push(format!("Single results: {}{more}", shown.join(", ")));
    }
    lines
}

fn verdict_line(judged: &Judged) -> String {
    let published = judged.expected.as_ref().map_or_else(
        || "Nothing is published to judge it by.".to_owned(),
        |limit| match limit.shown() {
            shown if shown.is_empty() => format!("No limit is published ({}).", source_of(limit)),
            shown => format!("Published: {shown} ({}).", source_of(limit)),
        },
    );
    let chance = judged.p_in.map_or_else(String::new, |p| {
        format!(
            " The chance that it lies within is {}; from 97.5 % on it counts as in limits, up to 2.5 % as outside.",
            engineering(p, Unit::One, 3)
        )
    });
    let provisional = if judged.provisional {
        " Provisional: the limit is from memory, not from the document."
    } else {
        ""
    };
    format!("{published}{chance}{provisional}")
}

/// The value, what it was made from, and each term with its share, the largest first.
fn budget_lines(value: &Value, unit: Unit) -> Vec<String> {
    if value.terms.is_empty() {
        return vec!["A count: it has no uncertainty of its own.".to_owned()];
    }
    let mut lines = vec![format!(
        "{}: the interval holds 95 %; standard uncertainty {}; results used: {}.",
        plus_minus(value.value, value.u95, unit),
        engineering(value.u, unit, 2),
        value.count
    )];
    let budget = value.budget();
    lines.extend(budget.iter().map(|line| text::line_words(line, unit)));
    lines
}

/// The explanation of one suspect.
pub fn suspect(suspect: &Suspect) -> DetailsModel {
    let mut lines = Vec::new();
    for (word, reasons) in [
        ("For", &suspect.reasons_for),
        ("Against", &suspect.reasons_against),
    ] {
        for reason in reasons {
            let place = match (reason.capture, reason.span_s) {
                (Some(_), Some((from, to))) => format!(
                    " ({}, {} to {})",
                    shot_words(reason.capture),
                    engineering(from, Unit::Second, 4),
                    engineering(to, Unit::Second, 4)
                ),
                (Some(_), None) => format!(" ({})", shot_words(reason.capture)),
                _ => String::new(),
            };
            lines.push(format!("{word}: {}{place}", reason.text));
        }
    }
    lines.push(format!("Next check: {}", suspect.next_check));
    DetailsModel {
        title: format!(
            "{}: {} (share of belief {})",
            suspect.title,
            suspect.rank_word(),
            engineering(suspect.weight, Unit::One, 2)
        ),
        lines,
    }
}

/// `start 15.98 ± 0.43 V, seen on VREF, shot 1, 224 ± 12 ms`.
pub fn event_words(event: &Event) -> String {
    let vcc = match event.vcc {
        Some((volts, u95)) if volts.is_finite() => plus_minus(volts, u95, Unit::Volt),
        Some(_) => "at a VCC that could not be measured".to_owned(),
        None => event.why_no_vcc.as_ref().map_or_else(
            || "with VCC not recorded".to_owned(),
            |none| format!("without a VCC ({})", none.why),
        ),
    };
    format!(
        "{} {vcc}, seen on {}, {}, {}",
        event.kind.id(),
        event.witness.title(),
        shot_words(Some(event.capture)),
        plus_minus(event.at_s, event.within_s, Unit::Second)
    )
}

fn event(event: &Event, inspection: &Inspection) -> DetailsModel {
    let (what, quantity) = match event.kind {
        EventKind::Start => ("The controller starts", Quantity::StartThreshold),
        EventKind::Stop => ("The controller stops", Quantity::StopThreshold),
    };
    let mut lines = vec![format!(
        "{what}; {} told it.",
        event.witness.title_with_pin()
    )];
    // which of them lie apart, and what a meter would read
    let of_it = |judged: &&Judged| {
        let measured = &judged.measured;
        measured.quantity == quantity && measured.capture == Some(event.capture)
    };
    let thresholds = inspection.measured.iter().filter(of_it);
    lines.extend(thresholds.flat_map(|j| j.measured.remarks.iter().cloned()));
    DetailsModel {
        title: event_words(event),
        lines,
    }
}
