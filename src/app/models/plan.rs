//! The sheet of the shots that the run still needs.

use super::shot_words;
use crate::app::plan;
use crate::app::state::AppState;
use crate::data::text::engineering;
use crate::data::{PlannedChannel, PlannedShot, Setup, Unit};
use crate::report::trimmed;

/// One shot.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PlanShot {
    /// Its pins.
    pub title: String,
    /// Set-up, kind, time base; for a shot that is done, which it is.
    pub head: String,
    /// What it answers.
    pub why: String,
    /// Settings of each channel.
    pub channels: Vec<String>,
    /// How to take it.
    pub how: Vec<String>,
    /// What to beware of.
    pub cautions: Vec<String>,
    /// Is it done?
    pub done: bool,
    /// Is the next file taken for it?
    pub next: bool,
}

/// Roles that the record speaks against.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfferModel {
    /// What speaks against them.
    pub text: String,
}

/// The sheet.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PlanModel {
    /// The set-up told, if any.
    pub setup: Option<Setup>,
    /// Channels of the scope that it is made for.
    pub channels: usize,
    /// Why there is no list.
    pub none: Option<&'static str>,
    /// The shots, those not done first.
    pub shots: Vec<(usize, PlanShot)>,
    /// Readings to take by hand.
    pub readings: Vec<String>,
    /// What to take once this is done.
    pub later: Vec<String>,
    /// What was done with the last file.
    pub said: Option<String>,
}

/// How many shots are not done; nothing where there is no list.
pub fn left(state: &AppState) -> Option<usize> {
    Some(plan::list(state)?.open().count())
}

/// The offer of roles that waits for an answer.
pub fn offer(state: &AppState) -> Option<OfferModel> {
    let offer = state.plan.offer.as_ref()?;
    let reason = offer.reason.trim_end_matches('.');
    Some(OfferModel {
        text: format!(
            "Planned for this file: {}. In {} {reason}. Its roles were left as they are.",
            offer.came.planned.title,
            shot_words(Some(offer.came.shot)),
        ),
    })
}

/// The sheet of the group shown.
pub fn plan(state: &AppState) -> PlanModel {
    let options = state.group().map(|group| &group.options);
    let told = options.and_then(|o| o.next_setup.or(o.setup));
    let mut model = PlanModel {
        setup: told.or_else(|| Some(plan::list(state)?.setup)),
        channels: options.and_then(|o| o.scope_channels).unwrap_or(2),
        said: state.plan.said.clone(),
        ..PlanModel::default()
    };
    let Some(list) = plan::list(state) else {
        model.none = Some(
            "Say how the unit is fed, and the shots that tell most in that set-up stand here. Begin with injected: mains out, bulk capacitor measured, a current-limited bench supply on VCC.",
        );
        return model;
    };
    model.channels = list.channels;
    let next = plan::next(state);
    let all = list.shots.iter().enumerate();
    let mut shots: Vec<_> = all.map(|(i, s)| (i, shot(s, next == Some(i)))).collect();
    shots.sort_by_key(|(_, shot)| shot.done);
    model.shots = shots;
    model.readings.clone_from(&list.readings);
    model.later.clone_from(&list.later);
    model
}

fn shot(planned: &PlannedShot, next: bool) -> PlanShot {
    let head = match planned.taken_as {
        Some(_) => format!("done: {}", shot_words(planned.taken_as)),
        None => format!(
            "{}, {}, {} a division",
            planned.setup.id(),
            planned.kind.id(),
            trimmed(&engineering(planned.seconds_per_division, Unit::Second, 3))
        ),
    };
    PlanShot {
        title: planned.title.clone(),
        head,
        why: planned.why.clone(),
        channels: planned.channels.iter().enumerate().map(setting).collect(),
        how: planned.how.clone(),
        cautions: planned.cautions.clone(),
        done: planned.done,
        next: next && !planned.done,
    }
}

/// `Channel 1 on VCC (7), at the pin: 5 V a division, zero 1 division above the bottom …`.
fn setting((index, channel): (usize, &PlannedChannel)) -> String {
    let place = channel.place.as_deref();
    let place = place.map_or_else(String::new, |place| format!(", at the {place}"));
    format!(
        "Channel {} on {}{place}: {} a division; {}; {}.",
        index + 1,
        channel.role.title_with_pin(),
        trimmed(&engineering(channel.volts_per_division, Unit::Volt, 3)),
        channel.position,
        channel.probe
    )
}
