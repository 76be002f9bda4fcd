//! The sheet of one controller, as finished text.

use std::sync::Arc;

use crate::app::controller_sheet::{self, Front, Published, Seen};
use crate::app::state::AppState;
use crate::data::text::{engineering, trimmed};
use crate::data::{ClassFit, ControllerFits, Limit, Role, Status, Unit};
use crate::inspect::PinSheet;

/// Classes that fit listed at most.
const MOST_CLASSES: usize = 8;

/// A pin with what is said beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PinModel {
    /// Its number.
    pub pin: u8,
    /// Its name in the document.
    pub name: String,
    /// Its role, which gives the hue.
    pub role: Option<Role>,
    /// Name and, where it says more, the role.
    pub head: String,
    /// What to expect while the controller is stopped.
    pub stopped: String,
    /// What to expect while it runs.
    pub running: String,
    /// What goes here; may be empty.
    pub connect: &'static str,
    /// Where its figures come from; empty where there are none.
    pub sources: String,
    /// All of it in a sentence, for those who can't see the drawing.
    pub spoken: String,
}

/// A row of the drawing: the pins on the left and on the right.
pub type PinRow = (Option<PinModel>, Option<PinModel>);

/// A published value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ValueModel {
    /// What it is.
    pub meaning: String,
    /// Least, typical, most.
    pub figures: [String; 3],
    /// Condition, source, status, note.
    pub origin: String,
    /// Does a verdict by it stay provisional?
    pub provisional: bool,
}

/// The profile in front.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct FrontModel {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Maker, family, ratio, what sets the frequency.
    pub about: Vec<String>,
    /// The package drawn.
    pub package: String,
    /// The packages that can be drawn.
    pub packages: Vec<String>,
    /// The pins, row by row.
    pub rows: Vec<PinRow>,
    /// The ceilings, each with its source.
    pub ceilings: Vec<String>,
    /// Further figures that bound the supply.
    pub figures: Vec<String>,
    /// All published values.
    pub values: Vec<ValueModel>,
    /// Title and texts: disagreements, gaps, notes, sources.
    pub texts: Vec<(&'static str, Vec<String>)>,
}

/// Which controllers fit what was measured.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FitsModel {
    /// By what, and the answer.
    pub lines: Vec<String>,
    /// Share, class, and the id that is put in front.
    pub classes: Vec<FitModel>,
    /// What speaks against the named ones, and what would tell the others apart.
    pub more: Vec<String>,
}

/// One class that fits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FitModel {
    /// The id of its best profile.
    pub id: String,
    /// `62 %  x844`.
    pub words: String,
    /// Profiles and why.
    pub why: String,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ControllerModel {
    /// The search field.
    pub search: String,
    /// What the run is judged by now.
    pub judged: String,
    /// Is the marking not trusted?
    pub not_trusted: bool,
    /// What to know about the match.
    pub note: String,
    /// Ids and titles that match.
    pub matches: Vec<(String, String)>,
    /// Markings near what was typed.
    pub near: Vec<String>,
    /// What "Judge by this" enters.
    pub judge_by: String,
    /// The profile in front.
    pub front: Option<FrontModel>,
    /// Which controllers fit.
    pub fits: Option<FitsModel>,
}

/// The sheet of a state.
pub fn controller(state: &AppState) -> ControllerModel {
    let options = state.group().map(|group| &group.options);
    let told = options.and_then(|o| o.controller.clone());
    let mut model = ControllerModel {
        search: controller_sheet::searched(state),
        judged: match told {
            Some(marking) => format!("The run is judged by {marking}."),
            None => "The run is judged by no controller yet.".to_owned(),
        },
        not_trusted: options.is_some_and(|o| o.marking_not_trusted),
        fits: state.inspection().and_then(|i| i.fits.as_ref()).map(fits),
        ..ControllerModel::default()
    };
    let Some(seen) = controller_sheet::seen(state) else {
        model.note = "Looking it up…".to_owned();
        return model;
    };
    model.note.clone_from(&seen.note);
    model.matches.clone_from(&seen.matches);
    model.near.clone_from(&seen.near);
    model.front = seen.front.as_ref().map(front);
    model.judge_by = judge_by(state, &seen);
    model
}

/// The marking as typed where it names this profile alone or all of its matches, else the profile's id.
fn judge_by(state: &AppState, seen: &Arc<Seen>) -> String {
    let Some(front) = &seen.front else {
        return String::new();
    };
    let typed = controller_sheet::searched(state).trim().to_owned();
    let holds = seen.matches.iter().any(|(id, _)| *id == front.profile.id);
    let picked = state.controller.front.is_some() && seen.matches.len() > 1;
    let known = !seen.note.starts_with("no controller is known");
    match holds && known && !picked {
        true => typed,
        false => front.profile.id.clone(),
    }
}

fn front(front: &Front) -> FrontModel {
    let profile = &front.profile;
    let limit = &front.do_not_exceed;
    let volts = |v: f64| trimmed(&engineering(v, Unit::Volt, 4));
    let higher = front.figures.iter().filter(|(v, _)| *v > limit.volts);
    let texts = [
        (
            "Where documents contradict each other",
            front.disagreements.clone(),
        ),
        ("What was not read", front.gaps.clone()),
        ("Notes", vec![profile.notes.clone()]),
        ("Sources", front.sources.clone()),
    ];
    let kept = texts.into_iter().map(|(title, mut texts)| {
        texts.retain(|text| !text.is_empty());
        (title, texts)
    });
    FrontModel {
        id: profile.id.clone(),
        title: profile.title.clone(),
        about: about(front),
        package: profile.package.clone(),
        packages: front.packages.clone(),
        rows: rows(front),
        ceilings: vec![
            format!("{} at VCC: {}", volts(limit.volts), limit.volts_source),
            format!(
                "{}: {}",
                trimmed(&engineering(limit.amps, Unit::Ampere, 3)),
                limit.amps_source
            ),
        ],
        figures: higher
            .map(|(v, source)| format!("{}: {source}", volts(*v)))
            .collect(),
        values: front.values.iter().map(value).collect(),
        texts: kept.filter(|(_, texts)| !texts.is_empty()).collect(),
    }
}

fn about(front: &Front) -> Vec<String> {
    let profile = &front.profile;
    let mut all = vec![format!("{}, {}", profile.maker, profile.family)];
    all.push(format!("Parts: {}", profile.parts.join(", ")));
    if !profile.markings.is_empty() {
        all.push(format!("Also marked: {}", profile.markings.join(", ")));
    }
    all.push(
        match profile.divide {
            Some(2) => "One OUT cycle for two oscillator cycles.",
            Some(_) => "One OUT cycle for each oscillator cycle.",
            None => "One OUT cycle for one or two oscillator cycles, as a pin sets it.",
        }
        .to_owned(),
    );
    if let Some(timing) = &profile.timing {
        let told = [timing.in_words(), timing.condition.clone()];
        let told: Vec<String> = told.into_iter().filter(|t| !t.is_empty()).collect();
        all.push(format!(
            "Frequency: {} ({}; {})",
            told.join("; "),
            timing.source,
            status(timing.status)
        ));
    }
    if let Some(file) = &profile.own_file {
        all.push(format!("From your own profile {file}."));
    }
    all
}

/// Left side down, right side up: the part seen from above.
fn rows(front: &Front) -> Vec<PinRow> {
    let most = front.pins.iter().map(|pin| pin.pin).max().unwrap_or(0);
    let half = most.div_ceil(2);
    let of = |number: u8| {
        let pin = front.pins.iter().find(|pin| pin.pin == number);
        pin.map(|pin| pin_model(pin, &front.values))
    };
    (1..=half)
        .map(|row| (of(row), of(2 * half + 1 - row)))
        .collect()
}

fn pin_model(pin: &PinSheet, values: &[Published]) -> PinModel {
    let role = pin.role.map(|role| role.title().to_owned());
    let head = match role.filter(|title| *title != pin.name) {
        Some(title) => format!("{} {} ({title})", pin.pin, pin.name),
        None => format!("{} {}", pin.pin, pin.name),
    };
    let connect = match pin.connect.is_empty() {
        true => String::new(),
        false => format!(" Connect: {}.", pin.connect),
    };
    let sources = pin_sources(pin.role, values);
    let from = match sources.is_empty() {
        true => String::new(),
        false => format!(" Source: {sources}."),
    };
    PinModel {
        pin: pin.pin,
        name: pin.name.clone(),
        role: pin.role,
        spoken: format!(
            "Pin {head}: stopped {}; running {}.{connect}{from}",
            pin.stopped, pin.running
        ),
        head,
        stopped: pin.stopped.clone(),
        running: pin.running.clone(),
        connect: pin.connect,
        sources,
    }
}

/// The documents of the figures that stand at a pin of this role.
fn pin_sources(role: Option<Role>, values: &[Published]) -> String {
    let keys: &[&str] = match role {
        Some(Role::Vcc) => &["vcc_start", "icc_startup", "vcc_stop"],
        Some(Role::Vref) => &["vref"],
        Some(Role::RtCt) => &["osc_valley", "osc_peak", "osc_amplitude_pp"],
        Some(Role::Out) => &["duty_max", "duty_class"],
        Some(Role::Cs) => &["cs_threshold"],
        Some(Role::Fb) => &["vfb_ref"],
        _ => &[],
    };
    let mut said: Vec<String> = Vec::new();
    for one in values.iter().filter(|v| keys.contains(&v.key.as_str())) {
        let text = match weakest(&one.limit).from_memory() {
            true => format!("{} (provisional)", one.limit.source),
            false => one.limit.source.clone(),
        };
        if !said.contains(&text) {
            said.push(text);
        }
    }
    said.join(", ")
}

fn value(one: &Published) -> ValueModel {
    let limit = &one.limit;
    let number = |value: Option<f64>| match value {
        Some(v) => trimmed(&engineering(v, limit.unit, 4)),
        None => "–".to_owned(),
    };
    let known = match limit.has_limits() && limit.status_limits != limit.status {
        true => format!(
            "typical {}, limits {}",
            status(limit.status),
            status(limit.status_limits)
        ),
        false => status(limit.status),
    };
    let told = [&limit.condition, &limit.source, &known, &one.note];
    let told: Vec<&str> = told.into_iter().map(String::as_str).collect();
    let told: Vec<&str> = told.into_iter().filter(|t| !t.is_empty()).collect();
    ValueModel {
        meaning: match one.meaning {
            "" => one.key.replace('_', " "),
            meaning => meaning.to_owned(),
        },
        figures: [number(limit.min), number(limit.typ), number(limit.max)],
        origin: told.join("; "),
        provisional: weakest(limit).from_memory(),
    }
}

/// The status of the limits, or of the typical value where there are none; the weaker of both.
fn weakest(limit: &Limit) -> Status {
    match limit.has_limits() {
        true => limit.status.max(limit.status_limits),
        false => limit.status,
    }
}

fn status(status: Status) -> String {
    match status.from_memory() {
        true => format!("{}: provisional", status.id()),
        false => status.id().to_owned(),
    }
}

fn fits(found: &ControllerFits) -> FitsModel {
    let classes = found.classes();
    let mut more: Vec<String> = Vec::new();
    if classes.len() > MOST_CLASSES {
        more.push(format!(
            "And {} more classes.",
            classes.len() - MOST_CLASSES
        ));
    }
    let against = found
        .fits
        .iter()
        .filter(|f| f.named && !f.against.is_empty());
    more.extend(against.map(|f| format!("{} does not fit: {}", f.title, f.against.join("; "))));
    let apart = found.separated_by.iter().take(3);
    more.extend(apart.map(|one| format!("To tell them apart: {}", one.text)));
    FitsModel {
        lines: vec![
            format!("By {}.", found.by.join(", ")),
            found.conclusion.clone(),
        ],
        classes: classes.iter().take(MOST_CLASSES).map(fit).collect(),
        more,
    }
}

fn fit(class: &ClassFit<'_>) -> FitModel {
    let titles: Vec<&str> = class.fits.iter().map(|f| f.title.as_str()).collect();
    let best = class.fits.first();
    let why = best.map_or("", |f| f.why.as_str());
    FitModel {
        id: best.map(|f| f.id.clone()).unwrap_or_default(),
        words: format!("{:.0} %  {}", 100.0 * class.weight, class.class),
        why: format!("{}: {why}", titles.join(", ")),
    }
}
