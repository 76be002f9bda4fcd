//! The start-up order: one card a stage, and the thread from card to card.

use crate::data::{Inspection, Stage, StageState};

/// The thread that arrives at a card.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Thread {
    /// Whole: everything before was seen to work.
    Whole,
    /// Not broken as far as was seen, but the stage here or the one before was not tested.
    Open,
    /// It parts here.
    Broken {
        /// Was the stage before seen to work?
        seen: bool,
    },
    /// It parted before.
    Slack,
}

/// One card.
#[derive(Debug, Clone, PartialEq)]
pub struct CardModel {
    /// Which stage.
    pub stage: Stage,
    /// Its name.
    pub title: &'static str,
    /// Its state.
    pub state: StageState,
    /// The state as a word.
    pub word: &'static str,
    /// One or two key figures, short.
    pub figures: Vec<String>,
    /// Why, shown under the pointer.
    pub because: String,
    /// The thread that arrives here.
    pub thread: Thread,
    /// Is it in focus?
    pub focused: bool,
    /// Accessible name.
    pub spoken: String,
}

/// The six cards; without an inspection all are untested.
pub fn cards(inspection: Option<&Inspection>, focus: Stage) -> Vec<CardModel> {
    let mut parted = false;
    let mut seen = true;
    Stage::ALL
        .into_iter()
        .map(|stage| {
            let finding = inspection.and_then(|inspection| inspection.stage(stage));
            let state = finding.map_or(StageState::NotTested, |finding| finding.state);
            let thread = match state {
                _ if parted => Thread::Slack,
                StageState::Dead => Thread::Broken { seen },
                StageState::NotTested => Thread::Open,
                _ if !seen => Thread::Open,
                StageState::Working | StageState::Marginal => Thread::Whole,
            };
            parted |= state == StageState::Dead;
            seen = state != StageState::NotTested;
            let figures: Vec<String> = finding
                .map(|finding| finding.figures.iter().take(2).cloned().collect())
                .unwrap_or_default();
            let because = finding.map_or_else(
                || "nothing inspected yet".to_owned(),
                |finding| with_places(finding.because.clone(), &finding.not_seen_together),
            );
            CardModel {
                stage,
                title: stage.title(),
                state,
                word: state.title(),
                spoken: spoken(stage, state, &figures, &because),
                figures: figures.iter().map(|figure| short(figure)).collect(),
                because,
                thread,
                focused: stage == focus,
            }
        })
        .collect()
}

/// Names of quantities that are too long for a card, and what they are called there.
const SHORT: [(&str, &str); 14] = [
    ("start threshold", "start"),
    ("stop threshold", "stop"),
    ("oscillator frequency", "rate"),
    ("ramp height", "ramp"),
    ("OUT frequency", "OUT"),
    ("OUT duty cycle", "duty"),
    ("OUT high level", "OUT high"),
    ("gate frequency", "gate"),
    ("gate duty cycle", "duty"),
    ("hiccup period", "hiccup"),
    ("recharge to burst ratio", "recharge/burst"),
    ("start-up margin", "margin"),
    ("VCC once running", "VCC"),
    ("time to the first start", "first start"),
];

/// A figure with the short name of its quantity: `start 15.85 ± 0.45 V`.
pub fn short(figure: &str) -> String {
    let known = SHORT.iter().find_map(|(long, short)| {
        let value = figure.strip_prefix(long)?;
        value.starts_with(' ').then(|| format!("{short}{value}"))
    });
    known.unwrap_or_else(|| figure.to_owned())
}

fn with_places(because: String, apart: &[Stage]) -> String {
    if apart.is_empty() {
        return because;
    }
    let names: Vec<&str> = apart.iter().map(|stage| stage.title()).collect();
    format!("{because} Not seen together with: {}.", names.join(", "))
}

fn spoken(stage: Stage, state: StageState, figures: &[String], because: &str) -> String {
    let mut text = format!("{}: {}.", stage.title(), state.title());
    for figure in figures {
        text.push(' ');
        text.push_str(figure);
        text.push('.');
    }
    if figures.is_empty() && !because.is_empty() {
        text.push(' ');
        text.push_str(because);
    }
    text
}
