//! Steps of a knob that no single one of stands out of the noise, but all of them together: means of a few
//! samples then differ by more than noise lets them, over and over, and not in a bend or two.

use crate::data::EventKind;
use crate::signal::{Line, stats};

use super::lead::Lead;
use super::sampled::Sampled;
use super::stairs::Stair;

/// Samples that are taken together, one choice after the other.
const TOGETHER: [usize; 8] = [4, 6, 8, 12, 16, 24, 32, 48];
/// A lead counts where it holds so many groups: a bend or two then are few of them.
const GROUPS: usize = 16;
/// The variance of the groups has to exceed that of noise by so many standard deviations …
const STANDS_OUT: f64 = 4.5;
/// … and by such a share of itself: noise that codes have rounded is not quite white.
const EXCEEDS: f64 = 1.2;
/// Mean square of the smaller second differences of groups in squared steps, for landings of 1.5 to 3 groups
/// (found by drawing stairs with landings that differ by a fifth).
const OF_STEP: f64 = 0.40;
/// Share of the second differences that counts: the largest may come from bends. Their median would do too,
/// but means of a few codes take few levels, and a median leaps from one to the next.
const SMALLER: f64 = 0.85;
/// Mean square of that share of normal noise, in variances: 1 − 2zφ(z)/0.85 with z = 1.4395.
const OF_SMALLER: f64 = 0.5207;

/// A step of less than this share of a code may be what rounding to codes makes of a slow rise.
const LEAST_CODES: f64 = 0.7;
/// Share of a landing before an event that is certain to be one: landings differ by a fifth.
const CERTAIN: f64 = 0.7;
/// Standard uncertainty of a step that was found so, as a share of it.
const OF_ITSELF: f64 = 0.12;

/// One knob turns in one kind of step: where some leads show it, or all of them together, the other events
/// lie within one too.
pub(super) fn share(leads: &mut [Option<Lead>], sampled: &Sampled<'_>) {
    let shown = leads.iter().flatten().filter_map(|l| l.stair);
    let mut steps: Vec<f64> = shown.map(|s| s.high_v - s.low_v).collect();
    let found = if steps.is_empty() {
        step(leads, sampled)
    } else {
        Some(stats::median(&mut steps))
    };
    let Some(step) = found else {
        return;
    };
    for lead in leads.iter_mut().flatten() {
        if lead.stair.is_none() && lead.tone.amplitude <= 0.0 {
            lead.stair = landing(lead, step, sampled.grain());
        }
    }
}

/// The landing before an event and the next one, where no single leap shows: the event comes with a leap, so
/// the last samples are those of a landing.
fn landing(lead: &Lead, step: f64, grain: f64) -> Option<Stair> {
    let points = lead.times.iter().copied().zip(lead.clean.iter().copied());
    let slope = Line::fit(points)?.slope.abs() * lead.interval_s;
    let count = (CERTAIN * step / slope).clamp(1.0, lead.clean.len() as f64);
    let last = &lead.clean[lead.clean.len() - count as usize..];
    let level = last.iter().sum::<f64>() / last.len() as f64;
    let other = match lead.kind {
        EventKind::Start => level + step,
        EventKind::Stop => level - step,
    };
    level.is_finite().then(|| Stair {
        low_v: level.min(other),
        high_v: level.max(other),
        u_v: (grain / count.sqrt()).hypot(OF_ITSELF * step),
    })
}

/// The step that VCC seems to come in; `None` where it rises and falls evenly as far as the leads show.
fn step(leads: &[Option<Lead>], sampled: &Sampled<'_>) -> Option<f64> {
    let plain = |l: &&Lead| l.stair.is_none() && l.tone.amplitude <= 0.0;
    let leads: Vec<&[f64]> = leads
        .iter()
        .flatten()
        .filter(plain)
        .map(|l| l.clean.as_slice())
        .collect();
    let single: Vec<f64> = leads.iter().flat_map(|l| seconds(l, 1)).collect();
    if single.len() < 2 * GROUPS {
        return None;
    }
    let noise = single.iter().map(|d| d * d).sum::<f64>() / single.len() as f64;
    let rounding = of_codes(sampled.code(), noise / 6.0);
    let found = TOGETHER.into_iter().filter_map(|together| {
        let of = |lead: &&&[f64]| lead.len() / together >= GROUPS;
        let all = leads.iter().filter(of).flat_map(|l| seconds(l, together));
        let squares: Vec<f64> = all.map(|d| d * d).collect();
        let count = squares.len() as f64;
        let square = of_smaller(squares)?;
        let by_noise = noise / together as f64;
        // neighbours share groups: fewer of them are independent
        let doubt = (35.0 / 9.0 * (2.0 / count + 1.0 / single.len() as f64)).sqrt();
        let beyond = square / by_noise - 1.0;
        let stands = beyond > STANDS_OUT * doubt && square / by_noise > EXCEEDS;
        let excess = square - by_noise;
        (stands && excess > rounding).then_some((beyond / doubt, excess))
    });
    let best = found.reduce(|a, b| if b.0 > a.0 { b } else { a })?;
    let step = (best.1 / OF_STEP).sqrt();
    (step > LEAST_CODES * sampled.code()).then_some(step)
}

/// The variance of normal noise whose squares these are, by the smaller of them; nothing without any.
fn of_smaller(mut squares: Vec<f64>) -> Option<f64> {
    squares.sort_by(f64::total_cmp);
    squares.truncate((SMALLER * squares.len() as f64).round() as usize);
    let count = squares.len() as f64;
    (count > 0.0).then(|| squares.iter().sum::<f64>() / count / OF_SMALLER)
}

/// Second differences of the means of so many samples.
fn seconds(values: &[f64], together: usize) -> Vec<f64> {
    let mean = |chunk: &[f64]| chunk.iter().sum::<f64>() / chunk.len() as f64;
    let means: Vec<f64> = values.rchunks_exact(together).map(mean).collect();
    let differences = means.windows(3).map(|w| w[0] - 2.0 * w[1] + w[2]);
    differences.filter(|d| d.is_finite()).collect()
}

/// What rounding to codes alone may give: means of a slow rise swing about it by up to a/π × exp(−2π²σ²/a²)
/// of the step a, their second differences by four times that. `scatter` is the variance of the samples,
/// rounding included.
fn of_codes(code: f64, scatter: f64) -> f64 {
    if code <= 0.0 {
        return 0.0;
    }
    let sigma = (scatter / code.powi(2) - 1.0 / 12.0).max(0.0);
    let swing = (-2.0 * std::f64::consts::PI.powi(2) * sigma).exp() / std::f64::consts::PI;
    0.5 * (4.0 * swing * code).powi(2)
}
