//! Ripple that the samples show slower than single events can tell from the hand on the knob: faster than the
//! samples, and folded down by them to a few cycles in a volt. All that lies between two events has more of it. A
//! course of straight pieces with it has to explain the samples better than one that bends as often as it needs to.

use crate::data::{Event, EventKind};
use crate::signal::{shared_tone, stats};

use super::lead::{self, Lead};
use super::ripple;
use super::sampled::Sampled;
use super::smooth::{self, Laid};
use super::tone::Tone;

/// Most samples before an event that are looked at.
const MOST: usize = 2400;
/// Fewest.
const FEWEST: usize = 96;
/// A record of more samples has its ripple looked for near the events only.
const LONG: usize = 500_000;
/// Samples of a mean, in which the frequency is looked for.
const TOGETHER: usize = 4;
/// Steps of the frequency, in cycles within the longest run: up to half of the last one it is off at the end.
const COARSE: f64 = 0.25;
const STEPS: [f64; 2] = [0.08, 0.03];
/// Fewest cycles between two events.
const FEWEST_CYCLES: f64 = 4.0;
/// What is faster shows near the events.
const FASTEST: f64 = 0.09;
/// Most bends of a course between two events.
const MOST_BENDS: usize = 16;
/// Frequencies that are looked at closely.
const CLOSELY: usize = 3;
/// Amplitude and phase between two events cost as much as a bend; beyond that the ripple has to raise the logarithm
/// of the likelihood by so much, and by so much more for each run: a hand that bends its course 20 times in a run
/// reaches as much in one record of some hundreds (drawn records).
const SURE: f64 = 40.0;
const SURE_EACH: f64 = 20.0;
/// A single run proves nothing by what others show …
const SURE_ALONE: f64 = 120.0;
/// The amplitude is so many standard deviations.
const STANDS_OUT: f64 = 5.0;
/// Amplitudes of one ripple differ by this share of themselves, as bends are laid near them …
const ITSELF: f64 = 0.05;
/// … and their squared distances, in their variances, are on average below this.
const DIFFER: f64 = 3.0;
/// A line that is taken for one has to be so many times what noise and bends have there.
const LEAST_LINE: f64 = 6.0;
/// Noise is what is left beyond this frequency.
const NOISE_BEYOND: f64 = 0.1;

/// The levels between two events, which end with those of a lead.
pub(super) type Run = Vec<f64>;

/// What lies between the event before and this one.
pub(super) fn run(sampled: &Sampled<'_>, previous_s: f64, event: &Event) -> Run {
    if sampled.pairs() || sampled.len() > LONG {
        return Run::new();
    }
    let end = lead::end(sampled, event);
    let begin = sampled.from(previous_s + 2.0 * sampled.interval_s());
    sampled.values(begin.max(end.saturating_sub(MOST)).min(end)..end)
}

/// Takes slow ripple out of leads that show none, or too few cycles to tell its phase: that of the supply before all events, or that of the controller
/// itself before stops only.
pub(super) fn take_out(leads: &mut [Option<Lead>], runs: &[Run]) {
    let open = |lead: &Lead| lead.tone.cycles < FASTEST && lead.stair.is_none();
    if !leads.iter().flatten().all(open) {
        return;
    }
    let groups = [None, Some(EventKind::Stop)].into_iter();
    let found = groups.filter_map(|kind| Found::of(leads, runs, kind));
    let Some(found) = found.max_by(|a, b| a.gain.total_cmp(&b.gain)) else {
        return;
    };
    for (lead, fit) in leads.iter_mut().zip(&found.fits) {
        if let (Some(lead), Some(fit)) = (lead, fit) {
            lead.tone = found.tone(fit);
            lead.clean = lead.tone.out_of(lead.straight());
        }
    }
}

/// Slow ripple of all leads, or of those of one kind.
struct Found {
    cycles: f64,
    /// By how much it raises the logarithm of the likelihood, beyond what it costs.
    gain: f64,
    amplitude: f64,
    u: f64,
    fits: Vec<Option<Fit>>,
}

impl Found {
    fn of(leads: &[Option<Lead>], runs: &[Run], kind: Option<EventKind>) -> Option<Self> {
        let of_kind = |l: &Lead| kind.is_none_or(|k| l.kind == k);
        let those = leads.iter().zip(runs);
        let ready: Vec<Option<Ready<'_>>> = those
            .map(|(lead, run)| Ready::new(run).filter(|_| lead.as_ref().is_some_and(of_kind)))
            .collect();
        let (gain, cycles) = best(&ready.iter().flatten().collect::<Vec<_>>())?;
        let fits: Vec<Option<Fit>> = ready
            .iter()
            .map(|ready| ready.as_ref()?.fit(cycles))
            .collect();
        let weight = |fit: &Fit| 1.0 / (fit.u * fit.u);
        let whole: f64 = fits.iter().flatten().map(weight).sum();
        let parts = fits.iter().flatten().map(|f| weight(f) * f.amplitude);
        let found = Self {
            cycles,
            gain,
            amplitude: parts.sum::<f64>() / whole,
            u: 1.0 / whole.sqrt(),
            fits,
        };
        found.is_one().then_some(found)
    }

    /// Ripple has one amplitude before all events; bends that look like it have any.
    fn is_one(&self) -> bool {
        let off = |fit: &Fit| {
            let u = fit.u.hypot(ITSELF * self.amplitude);
            ((fit.amplitude - self.amplitude) / u).powi(2)
        };
        let count = self.fits.iter().flatten().count() as f64;
        let off = self.fits.iter().flatten().map(off).sum::<f64>();
        self.amplitude > STANDS_OUT * self.u && off < DIFFER * count
    }

    fn tone(&self, fit: &Fit) -> Tone {
        Tone {
            amplitude: self.amplitude,
            u: self.u,
            u_phase: fit.u,
            hidden: 0.0,
            cycles: self.cycles,
            phase: fit.phase,
            slope: 0.0,
        }
    }
}

/// A run with its noise.
struct Ready<'a> {
    run: &'a Run,
    sigma: f64,
    /// Means of a few samples each, which end with the run.
    means: Vec<f64>,
    /// What bends alone make of these.
    bent: f64,
}

/// Ripple of one frequency at the end of a run.
struct Fit {
    amplitude: f64,
    u: f64,
    /// At the last sample, as of a cosine.
    phase: f64,
}

impl<'a> Ready<'a> {
    fn new(run: &'a Run) -> Option<Self> {
        if run.len() < FEWEST || run.iter().any(|v| !v.is_finite()) {
            return None;
        }
        let sigma = ripple::noise_square(run)?.sqrt();
        let from = run.len() % TOGETHER;
        let (groups, _) = run[from..].as_chunks::<TOGETHER>();
        let means: Vec<f64> = groups
            .iter()
            .map(|g| g.iter().sum::<f64>() / TOGETHER as f64)
            .collect();
        (sigma > 0.0).then(|| {
            let mut ready = Ready {
                run,
                sigma,
                means,
                bent: 0.0,
            };
            ready.bent = ready.said(None);
            ready
        })
    }

    fn sigma_of_means(&self) -> f64 {
        self.sigma / (TOGETHER as f64).sqrt()
    }

    /// Logarithm of the likelihood of the means, less what bends and ripple cost.
    fn said(&self, cycles: Option<f64>) -> f64 {
        let count = self.means.len();
        let shapes = cycles.map_or(Vec::new(), |c| waves(c * TOGETHER as f64, count));
        let laid = smooth::laid(&self.means, self.sigma_of_means(), &shapes, MOST_BENDS);
        let square = smooth::dot(&laid.left, &laid.left) / self.sigma_of_means().powi(2);
        let costs = laid.bends.len() + shapes.len() / 2;
        -0.5 * square - Laid::price(count) * costs as f64
    }

    /// Least squares of ripple and straight pieces.
    fn fit(&self, cycles: f64) -> Option<Fit> {
        let count = self.means.len();
        let shapes = waves(cycles * TOGETHER as f64, count);
        let bends = smooth::laid(&self.means, self.sigma_of_means(), &shapes, MOST_BENDS).bends;
        let samples = self.run.len();
        let from = (samples % TOGETHER) as f64 + 0.5 * (TOGETHER as f64 - 1.0);
        let ramps = bends
            .iter()
            .map(|b| smooth::ramp(b * TOGETHER as f64 + from, samples));
        let pieces = smooth::laid(self.run, self.sigma, &ramps.collect::<Vec<_>>(), 0);
        let rest: Vec<Vec<f64>> = waves(cycles, samples)
            .into_iter()
            .map(|wave| pieces.without(wave))
            .collect();
        let (cc, cs, ss) = (
            smooth::dot(&rest[0], &rest[0]),
            smooth::dot(&rest[0], &rest[1]),
            smooth::dot(&rest[1], &rest[1]),
        );
        let (c, s) = (
            smooth::dot(&rest[0], self.run),
            smooth::dot(&rest[1], self.run),
        );
        let whole = cc * ss - cs * cs;
        let (a, b) = ((ss * c - cs * s) / whole, (cc * s - cs * c) / whole);
        let u = self.sigma * (0.5 * (cc + ss) / whole).sqrt();
        (whole > 0.0).then(|| Fit {
            amplitude: (a * a + b * b - 2.0 * u * u).max(0.0).sqrt(),
            u,
            phase: b.atan2(a),
        })
    }
}

/// Cosine and sine of so many cycles a sample, counted back from the last one.
fn waves(cycles: f64, count: usize) -> Vec<Vec<f64>> {
    let turn = |i: usize| std::f64::consts::TAU * cycles * (count - 1 - i) as f64;
    vec![
        (0..count).map(|i| turn(i).cos()).collect(),
        (0..count).map(|i| turn(i).sin()).collect(),
    ]
}

/// The frequency that raises the likelihood of all runs most, and by how much beyond what it has to.
fn best(runs: &[&Ready<'_>]) -> Option<(f64, f64)> {
    let longest = runs.iter().map(|r| r.run.len()).max()? as f64;
    let over = |cycles: f64| -> f64 { runs.iter().map(|r| r.said(Some(cycles)) - r.bent).sum() };
    let sure = if runs.len() == 1 {
        SURE_ALONE
    } else {
        SURE + SURE_EACH * runs.len() as f64
    };
    let near = |around: f64, step: f64| {
        let places = (-2..=2).map(|k| around + f64::from(k) * step);
        let weighed = places.map(|c| (over(c) - sure, c));
        weighed.reduce(|a, b| if b.0 > a.0 { b } else { a })
    };
    let natural = 1.0 / longest;
    let found = lines(runs)
        .into_iter()
        .filter_map(|line| near(line, COARSE * natural));
    let best = found.reduce(|a, b| if b.0 > a.0 { b } else { a });
    let (_, cycles) = best.filter(|b| b.0 > 0.0)?;
    STEPS.iter().try_fold((0.0, cycles), |(_, around), step| {
        near(around, step * natural)
    })
}

/// The lines that stand out most of what noise and bends, whose power falls with the fourth power of the frequency,
/// have there.
fn lines(runs: &[&Ready<'_>]) -> Vec<f64> {
    let levels: Vec<&[f64]> = runs.iter().map(|r| r.run.as_slice()).collect();
    let Some(spectra) = shared_tone::spectra(&levels) else {
        return Vec::new();
    };
    let size = 2.0 * (spectra[0].len() as f64 - 1.0);
    let count = (FASTEST * size) as usize;
    let mut whole = vec![0.0; count];
    for (power, run) in spectra.iter().zip(runs) {
        let first = (FEWEST_CYCLES * size / run.run.len() as f64) as usize;
        let noise = mean_line(&power[(NOISE_BEYOND * size) as usize..]);
        let fourth = |k: usize| (k as f64 / size).powi(4);
        let bends: Vec<f64> = (first / 2..count)
            .map(|k| (power[k] - noise).max(0.0) * fourth(k))
            .collect();
        let bends = mean_line(&bends);
        for k in first..count {
            whole[k] += power[k] / (noise + bends / fourth(k));
        }
    }
    let least = LEAST_LINE + runs.len() as f64;
    let mut tops: Vec<usize> = (1..count - 1)
        .filter(|k| whole[*k] > least && whole[*k] >= whole[k - 1] && whole[*k] > whole[k + 1])
        .collect();
    tops.sort_by(|a, b| whole[*b].total_cmp(&whole[*a]));
    tops.truncate(CLOSELY);
    tops.into_iter().map(|k| k as f64 / size).collect()
}

/// Mean of lines by their median, which single ones do not move.
fn mean_line(power: &[f64]) -> f64 {
    stats::median(&mut power.to_vec()) / std::f64::consts::LN_2
}
