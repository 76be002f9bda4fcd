//! Ripple that the samples show slower than single events can tell from the hand on the knob: faster than the
//! samples, and folded down by them to a few cycles in a volt. All that lies between two events has more of it. A
//! course of straight pieces with it has to explain the samples better than one that has bends instead.

use std::ops::Range;

use crate::data::{Event, EventKind};
use crate::signal::shared_tone;
use crate::signal::tone::mean_line;

use super::lead::{self, Lead};
use super::sampled::Sampled;
use super::slow_run::{Fit, Ready};
use super::tone::Tone;

/// Most samples before an event that are looked at.
const MOST: usize = 1200;
/// A record of more samples has its ripple looked for near the events only.
const LONG: usize = 500_000;
/// Most runs that a frequency is looked for in: the longest.
const MOST_RUNS: usize = 8;
/// Fewest cycles between two events, where its line is looked for.
const FEWEST_CYCLES: f64 = 4.0;
/// What is faster shows near the events.
const FASTEST: f64 = 0.09;
/// Frequencies that are looked at closely.
const CLOSELY: usize = 3;
/// Steps of the frequency, in cycles within the longest run.
const STEPS: [f64; 4] = [0.25, 0.08, 0.03, 0.01];
/// Up to half of the last step the frequency is off: by so much, a standard deviation of radians, its phase at the
/// end, as least squares anchor it in the middle.
const TURNED: f64 = 0.009;
/// A tone of so many cycles before an event is known well enough by these.
const KNOWN: f64 = 40.0;
/// An amplitude less sure than this share of it says nothing of the phase.
const SAYS_NOTHING: f64 = 0.5;
/// By so much a nearer frequency may still raise the logarithm of the likelihood of all runs.
const NEARLY: f64 = 100.0;

/// Amplitude and phase between two events cost as much as a bend; beyond that the ripple has to raise the logarithm
/// of the likelihood by so much, and by so much more for each run: a hand that bends its course 20 times in a run
/// reaches as much in one record of some hundreds (drawn records).
const SURE: f64 = 40.0;
const SURE_EACH: f64 = 20.0;
/// A single run proves nothing by what others show.
const SURE_ALONE: f64 = 120.0;
/// The amplitude is so many standard deviations.
const STANDS_OUT: f64 = 5.0;
/// Amplitudes of one ripple differ by this share of themselves beside many bends …
const ALIKE: f64 = 0.05;
/// … and their squared distances, in their variances, are on average below this.
const DIFFER: f64 = 3.0;
/// A line that is taken for one has to be so many times what noise and bends have there.
const LEAST_LINE: f64 = 25.0;
/// Noise is what is left beyond this frequency.
const NOISE_BEYOND: f64 = 0.1;

/// The levels between two events, which end with those of a lead.
pub(super) type Run = Range<usize>;

/// What lies between the event before and this one.
pub(super) fn run(sampled: &Sampled<'_>, previous_s: f64, event: &Event) -> Run {
    let end = lead::end(sampled, event);
    let begin = sampled.from(previous_s + 2.0 * sampled.interval_s());
    begin.max(end.saturating_sub(MOST)).min(end)..end
}

/// Takes slow ripple out of leads that show none, or too few cycles of it to tell its phase: that of the supply
/// before all events, or that of the controller itself before stops only.
pub(super) fn take_out(leads: &mut [Option<Lead>], runs: &[Run], sampled: &Sampled<'_>) {
    let open = |lead: &Lead| lead.tone.cycles < FASTEST && lead.stair.is_none();
    let long = sampled.pairs() || sampled.len() > LONG;
    // what most leads show as the steps of a knob is no ripple
    let stairs = leads
        .iter()
        .flatten()
        .filter(|l| l.tone.of_stair().is_some());
    let stepped = 2 * stairs.count() > leads.iter().flatten().count();
    if long || stepped || !leads.iter().flatten().all(open) {
        return;
    }
    let of_run = |run: &Run| sampled.values(run.clone());
    let runs: Vec<Vec<f64>> = runs.iter().map(of_run).collect();
    let of_kind = |kind: Option<EventKind>| {
        let those = |lead: &Option<Lead>| {
            let of_lead = |l: &Lead| kind.is_none_or(|k| l.kind == k);
            lead.as_ref().is_some_and(of_lead)
        };
        let ready = leads.iter().zip(&runs).map(|(lead, run)| {
            let run = those(lead).then_some(run)?;
            Ready::new(run, sampled.code())
        });
        let found = Found::of(&ready.collect::<Vec<_>>(), sampled)?;
        Some((kind, found))
    };
    // all of them first: where the starts have none, their amplitudes differ
    let groups = [None, Some(EventKind::Stop)];
    let Some((kind, found)) = groups.into_iter().find_map(of_kind) else {
        return;
    };
    for (lead, fit) in leads.iter_mut().zip(&found.fits) {
        let lead = lead.as_mut();
        let Some(lead) = lead.filter(|l| kind.is_none_or(|k| l.kind == k)) else {
            continue;
        };
        found.apply(lead, fit.as_ref());
    }
}

/// Slow ripple of all leads, or of those of one kind.
struct Found {
    cycles: f64,
    amplitude: f64,
    u: f64,
    fits: Vec<Option<Fit>>,
}

impl Found {
    fn of(runs: &[Option<Ready<'_>>], sampled: &Sampled<'_>) -> Option<Self> {
        let mut longest: Vec<&Ready<'_>> = runs.iter().flatten().collect();
        longest.sort_by_key(|r| std::cmp::Reverse(r.run.len()));
        longest.truncate(MOST_RUNS);
        let cycles = best(&longest)?;
        let fit = |run: &Option<Ready<'_>>| run.as_ref()?.fit(cycles);
        let fits: Vec<Option<Fit>> = runs.iter().map(fit).collect();
        let mean = |near: f64| {
            let weight = |fit: &Fit| 1.0 / (fit.u.powi(2) + (fit.open * near).powi(2));
            let whole: f64 = fits.iter().flatten().map(weight).sum();
            let parts = fits.iter().flatten().map(|f| weight(f) * f.amplitude);
            (parts.sum::<f64>() / whole, 1.0 / whole.sqrt())
        };
        let (near, _) = mean(0.0);
        let (amplitude, u) = mean(near);
        let found = Self {
            cycles,
            amplitude,
            u,
            fits,
        };
        (found.is_one() && !sampled.of_codes(found.amplitude)).then_some(found)
    }

    /// Ripple has one amplitude before all events; bends that look like it have any.
    fn is_one(&self) -> bool {
        let off = |fit: &Fit| {
            let u = fit.u.hypot(ALIKE * self.amplitude);
            ((fit.amplitude - self.amplitude) / u).powi(2)
        };
        let count = self.fits.iter().flatten().count() as f64;
        let off = self.fits.iter().flatten().map(off).sum::<f64>();
        self.amplitude > STANDS_OUT * self.u && off < DIFFER * count
    }

    /// Takes it out of a lead; where the samples before that event do not show its phase, it may hide there.
    fn apply(&self, lead: &mut Lead, fit: Option<&Fit>) {
        if lead.tone.cycles * lead.longer.len() as f64 > KNOWN {
            return;
        }
        match fit.filter(|fit| fit.u < SAYS_NOTHING * self.amplitude) {
            Some(fit) => {
                lead.tone = self.tone(fit);
                lead.clean = lead.tone.out_of(lead.straight());
            }
            None if lead.tone.amplitude <= 0.0 => {
                lead.tone.hidden = lead.tone.hidden.max(self.amplitude);
            }
            None => {}
        }
    }

    fn tone(&self, fit: &Fit) -> Tone {
        Tone {
            amplitude: self.amplitude,
            u: self.u,
            u_phase: fit.u.hypot(fit.open.hypot(TURNED) * self.amplitude),
            hidden: 0.0,
            cycles: self.cycles,
            phase: fit.phase,
            // bends were weighed against it: it is no stair about a straight line
            slope: 0.0,
        }
    }
}

/// The frequency of the ripple that raises the likelihood of all runs most; `None` where it does not raise it by as
/// much as it has to.
fn best(runs: &[&Ready<'_>]) -> Option<f64> {
    let lines = lines(runs);
    if lines.is_empty() {
        return None;
    }
    let longest = runs.iter().map(|r| r.run.len()).max()? as f64;
    let sure = if runs.len() == 1 {
        SURE_ALONE
    } else {
        SURE + SURE_EACH * runs.len() as f64
    };
    let bent: f64 = runs.iter().map(|r| r.said(None)).sum();
    let gain = |cycles: f64| {
        let said: f64 = runs.iter().map(|r| r.said(Some(cycles))).sum();
        (said - bent - sure, cycles)
    };
    let larger = |a: (f64, f64), b: (f64, f64)| if b.0 > a.0 { b } else { a };
    let coarse = lines.into_iter().map(gain).reduce(larger)?;
    let finer = |found: (f64, f64), step: &f64| {
        let sides = [-2.0, -1.0, 1.0, 2.0].map(|k| gain(found.1 + k * step / longest));
        sides.into_iter().fold(found, larger)
    };
    let found = (coarse.0 > -NEARLY).then(|| STEPS.iter().fold(coarse, finer))?;
    (found.0 > 0.0).then_some(found.1)
}

/// The lines that stand out most of what noise and bends, whose power falls with the fourth power of the frequency,
/// have there.
fn lines(runs: &[&Ready<'_>]) -> Vec<f64> {
    let levels: Vec<&[f64]> = runs.iter().map(|r| r.run).collect();
    let Some(spectra) = shared_tone::spectra(&levels) else {
        return Vec::new();
    };
    let size = 2.0 * (spectra[0].len() as f64 - 1.0);
    let count = (FASTEST * size) as usize;
    let mut whole = vec![0.0; count];
    for (power, run) in spectra.iter().zip(runs) {
        let first = (FEWEST_CYCLES * size / run.run.len() as f64) as usize;
        let noise = mean_line(&power[(NOISE_BEYOND * size) as usize..]);
        if noise.is_nan() || noise <= 0.0 {
            continue;
        }
        let fourth = |k: usize| (k as f64 / size).powi(4);
        let bends: Vec<f64> = (first / 2..(2 * first).min(count))
            .map(|k| (power[k] - noise).max(0.0) * fourth(k))
            .collect();
        let bends = mean_line(&bends);
        for k in first..count {
            whole[k] += power[k] / (noise + bends / fourth(k));
        }
    }
    let least = LEAST_LINE + runs.len() as f64;
    let is_top =
        |k: &usize| whole[*k] > least && whole[*k] >= whole[k - 1] && whole[*k] > whole[k + 1];
    let mut tops: Vec<usize> = (1..count.saturating_sub(1)).filter(is_top).collect();
    tops.sort_by(|a, b| whole[*b].total_cmp(&whole[*a]));
    tops.truncate(CLOSELY);
    tops.into_iter().map(|k| k as f64 / size).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn;

    const CYCLES: f64 = 0.0131;

    /// 500 levels of a hand that changes its speed by up to three times every 125 of them, with a sine that goes
    /// through six and a half cycles, and the phase of it at the last of them.
    fn run(amplitude: f64, seed: u64) -> (Vec<f64>, f64) {
        let mut noise = drawn::noise(seed + 1);
        let mut level = 8.0;
        let begin = 0.7 * seed as f64;
        let phase = |i: usize| std::f64::consts::TAU * CYCLES * i as f64 + begin;
        let one = |i: usize| {
            let speed = (7 * (i / 125) as u64 + seed) % 5;
            level += 0.0075 * (1.0 + 0.5 * speed as f64);
            level + amplitude * phase(i).cos() + 0.03 * noise()
        };
        ((0..500).map(one).collect(), phase(499))
    }

    fn found(runs: &[Vec<f64>]) -> Option<f64> {
        let ready: Vec<Ready<'_>> = runs
            .iter()
            .map(|run| Ready::new(run, 0.05).unwrap())
            .collect();
        best(&ready.iter().collect::<Vec<_>>())
    }

    /// A sine of 0.15 V where the hand alone moves VCC by half a volt or more in a cycle: 500 samples of 0.03 V tell
    /// its amplitude to 0.03 × √(2/500) = 0.002 V, bends beside it to twice that, and where these lie a twentieth.
    #[test]
    fn slow_ripple_is_told_from_an_uneven_hand() {
        for seed in 0..6 {
            let (runs, phases): (Vec<_>, Vec<_>) = (0..4).map(|k| run(0.15, 10 * seed + k)).unzip();
            let cycles = found(&runs).unwrap();
            assert!((cycles - CYCLES).abs() < 1e-4, "{seed}: {cycles}");
            for (run, phase) in runs.iter().zip(phases) {
                let fit = Ready::new(run, 0.05).unwrap().fit(cycles).unwrap();
                assert!(fit.u < 0.004, "{}", fit.u);
                let u = fit.u.hypot(ALIKE * 0.15);
                let off = fit.amplitude - 0.15;
                assert!(off.abs() < 3.0 * u, "{off} {u}");
                let turned = fit.phase - phase;
                let off = 0.15 * turned.sin();
                assert!(off.abs() < 3.0 * u && turned.cos() > 0.9, "{off} {u}");
            }
        }
    }

    #[test]
    fn an_uneven_hand_alone_has_none() {
        for seed in 0..10 {
            let runs: Vec<Vec<f64>> = (0..4).map(|k| run(0.0, 10 * seed + k).0).collect();
            assert!(found(&runs).is_none(), "{seed}: {:?}", found(&runs));
        }
    }

    /// Bends that look like ripple do so with any size.
    #[test]
    fn ripple_has_one_amplitude() {
        let with = |amplitudes: [f64; 3]| {
            let fit = |amplitude: f64| Fit {
                amplitude,
                u: 0.004,
                open: 0.0,
                phase: 0.0,
            };
            let found = Found {
                cycles: CYCLES,
                amplitude: amplitudes.iter().sum::<f64>() / 3.0,
                u: 0.0023,
                fits: amplitudes.into_iter().map(|a| Some(fit(a))).collect(),
            };
            found.is_one()
        };
        assert!(with([0.15, 0.155, 0.145]));
        assert!(!with([0.15, 0.03, 0.10]));
        assert!(!with([0.008, 0.009, 0.008]));
    }
}
