//! One knob turns in one kind of step: what all events say of it, and what it makes of each.

use crate::data::EventKind;
use crate::signal::{Line, stats};

use super::landings::{self, Found, Stretch};
use super::lead::Lead;
use super::sampled::Sampled;
use super::stairs::{CERTAIN, Stair};
use super::tone::Tone;

/// Standard uncertainty of a step by the others, as a share of it.
const OF_ITSELF: f64 = 0.12;
/// Standard deviation of single steps, as a share of the usual one.
const DIFFER: f64 = 0.06;

/// Steps that show in single leaps count where all landings together seem to have such a share of them.
const FINER: f64 = 0.85;

/// One knob turns in one kind of step: what fewer than half of the events show is something else.
pub(super) const SHOWN_BY: usize = 2;

/// Drops steps that only a few of the leads show; leaps at most of the events are steps, one alone is a nudge of the
/// knob there.
pub(super) fn agree(leads: &mut [Option<Lead>]) {
    let leaps = leads.iter().flatten().filter(|l| l.leap.is_some()).count();
    if leaps > 1 && SHOWN_BY * leaps >= leads.iter().flatten().count() {
        leads
            .iter_mut()
            .flatten()
            .for_each(|l| l.stair = l.leap.or(l.stair));
    }
    let shown = leads.iter().flatten().filter(|l| l.stair.is_some()).count();
    if SHOWN_BY * shown < leads.iter().flatten().count() {
        leads.iter_mut().flatten().for_each(|l| l.stair = None);
    }
}

/// Where some leads show steps, or all of them together, the other events lie within one too.
pub(super) fn share(leads: &mut [Option<Lead>], sampled: &Sampled<'_>) {
    let shown = leads.iter().flatten().filter_map(|l| l.stair);
    let mut steps: Vec<f64> = shown.map(|s| s.high_v - s.low_v).collect();
    let shown = (!steps.is_empty()).then(|| stats::median(&mut steps));
    // a few long landings leave a course that smaller steps would follow better than any line
    let finer = |f: &Found| shown.is_some_and(|step| FINER * step > f.step_v);
    let step = if let Some(found) = together(leads, sampled).filter(|f| !finer(f)) {
        let last = found.last.iter();
        for (lead, last) in leads.iter_mut().flatten().zip(last) {
            lead.stair = last.map(|(level, u)| {
                let u = u.hypot(DIFFER * found.step_v);
                one_further(lead.kind, level, found.step_v, u)
            });
            // what looked like ripple were the steps
            lead.tone = Tone::default();
            lead.clean = lead.straight().to_vec();
        }
        found.step_v
    } else if let Some(step) = shown {
        step
    } else {
        return;
    };
    for lead in leads.iter_mut().flatten() {
        if lead.stair.is_none() && lead.tone.amplitude <= 0.0 {
            lead.stair = landing(lead, step, sampled.grain());
        }
    }
}

/// Steps that all leads show together; extremes of intervals have no noise that is known.
fn together(leads: &[Option<Lead>], sampled: &Sampled<'_>) -> Option<Found> {
    if sampled.pairs() {
        return None;
    }
    let those = leads.iter().flatten();
    let plain: Vec<Vec<f64>> = those.map(|l| l.tone.out_of(&l.longer)).collect();
    let mut stretches = Vec::new();
    for (lead, plain) in leads.iter().flatten().zip(&plain) {
        stretches.push(Stretch {
            values: &lead.longer,
            plain,
            rippled: lead.tone.amplitude > 0.0,
            up: lead.kind == EventKind::Start,
        });
    }
    landings::find(&stretches, sampled.code())
}

/// The landing before an event and the next one, where no single leap shows: the event comes with a leap, so
/// the last samples are those of a landing.
fn landing(lead: &Lead, step: f64, grain: f64) -> Option<Stair> {
    let points = lead.times.iter().copied().zip(lead.clean.iter().copied());
    let slope = Line::fit(points)?.slope.abs() * lead.interval_s;
    let count = (CERTAIN * step / slope).clamp(1.0, lead.clean.len() as f64);
    let last = &lead.clean[lead.clean.len() - count as usize..];
    let level = last.iter().sum::<f64>() / last.len() as f64;
    let u = (grain / count.sqrt()).hypot(OF_ITSELF * step);
    level
        .is_finite()
        .then(|| one_further(lead.kind, level, step, u))
}

/// Between a landing and the next one.
fn one_further(kind: EventKind, level: f64, step: f64, u_v: f64) -> Stair {
    let other = match kind {
        EventKind::Start => level + step,
        EventKind::Stop => level - step,
    };
    Stair {
        low_v: level.min(other),
        high_v: level.max(other),
        u_v,
    }
}
