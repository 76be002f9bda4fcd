//! Head line, the three lines, the banner, and what to know before connecting.

use super::known::FieldModel;
use crate::app::state::AppState;
use crate::data::text::{engineering, harmless};
use crate::data::{Caution, Inspection, Unit};

/// Unit, controller and groups.
#[derive(Debug, Clone, PartialEq)]
pub struct HeadModel {
    /// Name of the unit.
    pub unit: String,
    /// Title and choice of each group.
    pub groups: Vec<(String, bool)>,
    /// May a further group be begun?
    pub may_begin_after: bool,
    /// Marking as it stands in its field.
    pub marking: String,
    /// What the marking stands for.
    pub controller: String,
    /// Why the inspection was refused.
    pub refusal: Option<String>,
    /// Is this the built-in unit?
    pub demo: bool,
}

/// The head line of a state.
pub fn head(state: &AppState) -> HeadModel {
    let choice = state.inspection().and_then(|i| i.controller.as_ref());
    let controller = match choice {
        Some(choice) if choice.candidates.len() > 1 => format!(
            "{}; limits are the widest of {} candidates: {}",
            choice.title,
            choice.candidates.len(),
            choice.candidates.join(", ")
        ),
        Some(choice) => choice.title.clone(),
        None => "no controller named: nothing to judge by".to_owned(),
    };
    HeadModel {
        unit: harmless(&state.case.title, 40),
        groups: state
            .case
            .groups
            .iter()
            .enumerate()
            .map(|(index, group)| (harmless(&group.title, 30), index == state.group))
            .collect(),
        may_begin_after: !state.demo
            && state.case.groups.len() == 1
            && state.group().is_some_and(|group| !group.shots.is_empty()),
        marking: state.marking.clone(),
        controller,
        refusal: state.refusals.get(state.group).cloned().flatten(),
        demo: state.demo,
    }
}

/// One of the three lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineModel {
    /// Its word.
    pub word: &'static str,
    /// Its text.
    pub text: String,
}

/// The three lines; always three.
pub fn lines(inspection: Option<&Inspection>) -> Vec<LineModel> {
    let (works, fails, next) = match inspection.map(|inspection| &inspection.lines) {
        Some(lines) => (&*lines.works, &*lines.fails, &*lines.next),
        None => (
            "",
            "nothing tested yet",
            "Record VCC and VREF while the bench supply on VCC is swept up and down.",
        ),
    };
    let line = |word, text: &str, otherwise: &str| LineModel {
        word,
        text: if text.is_empty() { otherwise } else { text }.to_owned(),
    };
    vec![
        line("Works", works, "nothing shown yet"),
        line("Does not", fails, "nothing found in what was tested"),
        line("Measure next", next, "nothing proposed"),
    ]
}

/// One strip of the banner.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BannerModel {
    /// Large.
    pub title: String,
    /// Beside it.
    pub text: String,
    /// The field that puts it away, if one does.
    pub field: Option<FieldModel>,
}

/// `18.0 V` as `18 V`: a limit is set on a knob, its last noughts say nothing.
fn round(text: &str) -> String {
    match text.split_once(' ') {
        Some((number, unit)) if number.contains('.') => {
            let short = number.trim_end_matches('0').trim_end_matches('.');
            format!("{short} {unit}")
        }
        _ => text.to_owned(),
    }
}

/// What must not be exceeded, then the cautions that stand large.
pub fn banner(inspection: &Inspection, bulk: FieldModel) -> Vec<BannerModel> {
    let limits = inspection.do_not_exceed.as_ref().map(|limit| BannerModel {
        title: format!(
            "Do not exceed {}, {}",
            round(&engineering(limit.volts, Unit::Volt, 3)),
            round(&engineering(limit.amps, Unit::Ampere, 3))
        ),
        text: format!(
            "voltage: {}; current: {}",
            limit.volts_source, limit.amps_source
        ),
        field: None,
    });
    let asked = |caution: &&Caution| caution.title.starts_with("Bulk");
    let still_asked = inspection.cautions.iter().any(|c| c.banner && asked(&c));
    // once entered it stays in sight, and can be entered anew
    let entered = (!still_asked && !bulk.text.is_empty()).then(|| BannerModel {
        title: "Bulk capacitor".to_owned(),
        text: "The reading holds for the moment it was taken. Measure again each time mains was on, before anything is connected.".to_owned(),
        field: Some(bulk.clone()),
    });
    let cautions = inspection
        .cautions
        .iter()
        .filter(|caution| caution.banner)
        .map(|caution| BannerModel {
            title: caution.title.clone(),
            text: caution.text.clone(),
            field: asked(&caution).then(|| bulk.clone()),
        });
    limits.into_iter().chain(cautions).chain(entered).collect()
}

/// What to know before connecting, and what was not tested.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BeforeModel {
    /// Title and text of each caution.
    pub cautions: Vec<(String, String)>,
    /// What this run does not test.
    pub not_tested: Vec<String>,
    /// What to know about the inspection and the reading.
    pub notes: Vec<String>,
}

/// Cautions, gaps and notes of an inspection.
pub fn before(inspection: &Inspection) -> BeforeModel {
    let reading = inspection.captures.iter().flat_map(|inspected| {
        let file = harmless(&inspected.capture.file, 40);
        inspected
            .capture
            .notes
            .iter()
            .map(move |note| format!("{file}: {}", harmless(&note.text, 300)))
    });
    BeforeModel {
        cautions: inspection
            .cautions
            .iter()
            .map(|caution| (caution.title.clone(), caution.text.clone()))
            .collect(),
        not_tested: inspection.not_tested.clone(),
        notes: inspection
            .notes
            .iter()
            .map(|note| note.text.clone())
            .chain(reading)
            .collect(),
    }
}
