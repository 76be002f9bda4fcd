//! Ripple that the leads of a record share: one frequency and one amplitude, each lead with its own phase.
//! Ripple of the supply is before starts and stops alike, that of the controller itself before stops only.

use crate::data::EventKind;
use crate::signal::shared_tone::{self, SharedTone};

use super::lead::Lead;
use super::sampled::Sampled;
use super::tone;

/// A line that noise alone shows less often than this is a tone.
const CHANCE: f64 = 1e-3;
/// Of the amplitude that the strongest line of noise stands for, what a tone may hide.
const HIDDEN: f64 = 0.5;
/// Amplitudes whose squared distances from the common one, in their variances, add up to more than this for
/// each lead differ.
const DIFFER: f64 = 4.0;

/// Takes the shared ripple out of the leads, or tells them how much may hide.
pub(super) fn take_out(leads: &mut [Option<Lead>], sampled: &Sampled<'_>) {
    let all = search(leads, None);
    let own = [EventKind::Start, EventKind::Stop].map(|kind| (kind, search(leads, Some(kind))));
    let chance = |tone: &Option<SharedTone>| tone.map_or(1.0, |t| t.chance);
    let least = own.iter().map(|o| chance(&o.1)).fold(1.0, f64::min);
    if let Some(tone) = all.filter(|t| t.chance < CHANCE && t.chance <= least) {
        let mut those: Vec<&mut Lead> = leads.iter_mut().flatten().filter(|l| open(l)).collect();
        apart(&mut those, tone, sampled);
        return;
    }
    for (kind, tone) in own {
        let of_kind = leads.iter_mut().flatten().filter(|l| l.kind == kind);
        let mut those: Vec<&mut Lead> = of_kind.filter(|l| open(l)).collect();
        match tone {
            Some(tone) if tone.chance < CHANCE => apart(&mut those, tone, sampled),
            _ => {
                let least = [tone, all.filter(|a| a.chance > CHANCE)];
                let square = least.into_iter().flatten().map(|t| t.square);
                let square = square.reduce(f64::min).unwrap_or(0.0);
                hide(&mut those, square);
            }
        }
    }
}

/// A tone of a known frequency stands out by so many standard deviations.
const STANDS_OUT: f64 = 4.0;
/// Fewest samples in which it is looked for.
const FEWEST: f64 = 16.0;

/// Ripple that one lead shows: the others are asked about its frequency alone, which needs less of it.
pub(super) fn tone_of_one(leads: &mut [Option<Lead>]) {
    let shown = leads.iter().flatten().filter(|l| l.tone.amplitude > 0.0);
    let sure = |lead: &&Lead| lead.tone.amplitude / lead.tone.u;
    let Some(tone) = shown
        .max_by(|a, b| sure(a).total_cmp(&sure(b)))
        .map(|l| l.tone)
    else {
        return;
    };
    for lead in leads.iter_mut().flatten() {
        if lead.tone.amplitude > 0.0 || !open(lead) {
            continue;
        }
        let fit = tone::at(&lead.longer, lead.straight, tone.cycles);
        let alike = (0.5..2.0).contains(&(fit.amplitude / tone.amplitude));
        if fit.samples >= FEWEST && fit.amplitude > STANDS_OUT * fit.u && alike {
            lead.clean = fit.without(lead.straight());
            lead.tone = fit.tone();
        }
    }
}

/// Leads in which ripple can be looked for.
fn open(lead: &Lead) -> bool {
    lead.stair.is_none() && lead.longer.iter().all(|v| v.is_finite())
}

fn search(leads: &[Option<Lead>], kind: Option<EventKind>) -> Option<SharedTone> {
    let of_kind = |l: &&Lead| kind.is_none_or(|kind| l.kind == kind);
    let those = leads.iter().flatten().filter(of_kind).filter(|l| open(l));
    let stretches: Vec<&[f64]> = those.map(|l| l.longer.as_slice()).collect();
    shared_tone::find(&stretches)
}

fn hide(leads: &mut [&mut Lead], square: f64) {
    for lead in leads {
        lead.tone.hidden = HIDDEN * square.sqrt();
    }
}

/// Fits the tone in each lead, gives it the amplitude of all, and takes it out of the straight part.
fn apart(leads: &mut [&mut Lead], tone: SharedTone, sampled: &Sampled<'_>) {
    let mut fits = Vec::new();
    for lead in leads.iter() {
        fits.push(tone::at(&lead.longer, lead.straight, tone.cycles));
    }
    let samples: f64 = fits.iter().map(|f| f.samples).sum();
    let sum = fits
        .iter()
        .map(|f| f.samples * f.amplitude * f.amplitude - 2.0 * f.samples * f.u * f.u);
    let square = sum.sum::<f64>() / samples;
    let common = square.max(0.0).sqrt();
    if sampled.of_codes(common) {
        // small noise leaves a tone of the code steps: one cycle or a few for each
        let codes = leads
            .iter()
            .zip(&fits)
            .filter(|(_, f)| f.is_of_codes(sampled.code()));
        if 2 * codes.count() > leads.len() {
            return hide(leads, 0.0);
        }
    }
    let off = fits.iter().map(|f| ((f.amplitude - common) / f.u).powi(2));
    let differ = off.sum::<f64>() > DIFFER * fits.len() as f64;
    let u = fits
        .iter()
        .map(|f| f.samples * f.u * f.u)
        .sum::<f64>()
        .sqrt()
        / samples.sqrt();
    let u = u / (fits.len() as f64).sqrt();
    for (lead, fit) in leads.iter_mut().zip(fits) {
        lead.tone = fit.tone();
        if !differ {
            (lead.tone.amplitude, lead.tone.u) = (common, u);
        }
        lead.clean = fit.without(lead.straight());
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn;
    use crate::bench::thresholds::lead::made;

    /// A rise with a sine of 0.1 cycles a sample and noise of 0.08.
    fn lead(samples: usize, amplitude: f64, seed: u64) -> Lead {
        let mut noise = drawn::noise(seed);
        let one = |i: usize| {
            let t = i as f64;
            let sine = (std::f64::consts::TAU * 0.1 * t).sin();
            15.0 + 0.01 * t + amplitude * sine + 0.08 * noise()
        };
        made::lead(EventKind::Stop, (0..samples).map(one).collect())
    }

    /// 48 samples show a sine of 0.2 at a frequency that another event gives, and none where there is none:
    /// its amplitude is known to 0.08 × √(2/48) = 0.016.
    #[test]
    fn a_frequency_that_one_shows_is_asked_of_the_others() {
        for seed in 0..20 {
            let mut shows = lead(400, 0.2, 900 + seed);
            shows.tone = tone::at(&shows.longer, 400, 0.1).tone();
            let mut leads = [
                Some(shows),
                Some(lead(48, 0.2, 10 + seed)),
                Some(lead(48, 0.0, 50 + seed)),
            ];
            tone_of_one(&mut leads);
            let found = leads.map(|l| l.unwrap().tone.amplitude);
            assert!((found[1] - 0.2).abs() < 4.0 * 0.016, "{found:?}");
            assert!(found[2] <= 0.0, "seed {seed}: {found:?}");
        }
    }
}
