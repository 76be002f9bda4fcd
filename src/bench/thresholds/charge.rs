//! VCC that charges and discharges through a soft feed between starts and stops that follow each other closely: no
//! line but an exponential, of one time constant for all of them. A line through it lies beyond the threshold.

use crate::data::EventKind;
use crate::signal::{Line, stats};

use super::lead::Lead;

/// Fewest events of a kind that tell a time constant; a hand does not turn round so often.
const FEWEST: usize = 4;
/// So many intervals after the event before, and no later, a lead begins that shows all of the way.
const BEGINS: f64 = 4.0;
/// In a lead so many times as long as the usual one a hand has waited.
const LONGEST: f64 = 3.0;
/// By so many standard deviations together the samples bend.
const SURE: f64 = 5.0;
/// Time constants, in usual lengths of a lead: the least, and how much longer each further one is.
const LEAST: f64 = 0.2;
const LONGER: f64 = 1.15;
const TRIED: usize = 36;

/// Takes out of the leads of a kind what bends them, which is nothing at the event itself. `previous_s` is the
/// event before each; leads with steps or ripple are left alone.
pub(super) fn straighten(leads: &mut [Option<Lead>], previous_s: &[f64]) {
    for kind in [EventKind::Start, EventKind::Stop] {
        let all = leads.iter_mut().zip(previous_s);
        let of_kind = all.filter_map(|(lead, s)| Some((lead.as_mut()?, *s)));
        let of_kind: Vec<(&mut Lead, f64)> = of_kind.filter(|(l, _)| l.kind == kind).collect();
        let count = of_kind.len();
        let whole = of_kind.into_iter().filter(|(l, s)| is_whole(l, *s));
        let mut those: Vec<&mut Lead> = whole.map(|(lead, _)| lead).collect();
        let mut lengths: Vec<f64> = those.iter().map(|l| length_s(l)).collect();
        let usual_s = stats::median(&mut lengths);
        those.retain(|lead| length_s(lead) < LONGEST * usual_s);
        if those.len() < FEWEST || 2 * those.len() <= count {
            continue;
        }
        if let Some(charge) = Charge::of(&those, usual_s) {
            those.iter_mut().for_each(|lead| charge.straighten(lead));
        }
    }
}

/// Does it show all of the way from the event before?
fn is_whole(lead: &Lead, previous_s: f64) -> bool {
    let begin_s = lead.times.first().map_or(f64::INFINITY, |t| lead.at_s + t);
    let near = begin_s - previous_s < BEGINS * lead.interval_s + lead.within_s;
    let plain = lead.stair.is_none() && lead.tone.amplitude <= 0.0;
    near && plain && lead.clean.len() == lead.straight
}

/// From the first to the last sample.
fn length_s(lead: &Lead) -> f64 {
    match lead.times.as_slice() {
        [first, .., last] => last - first,
        _ => 0.0,
    }
}

/// One time constant, in seconds.
struct Charge {
    tau_s: f64,
    /// The longer one that the samples leave open.
    open_s: f64,
    /// Standard deviation of single samples.
    sigma: f64,
}

impl Charge {
    /// `None` where a line explains all leads about as well.
    fn of(leads: &[&mut Lead], usual_s: f64) -> Option<Self> {
        let tau = |k: usize| usual_s * LEAST * LONGER.powi(k as i32);
        let taus: Vec<f64> = (0..TRIED).map(tau).collect();
        let left: Vec<f64> = taus.iter().map(|tau| squares(leads, Some(*tau))).collect();
        let best = (0..TRIED).min_by(|a, b| left[*a].total_cmp(&left[*b]))?;
        let samples: usize = leads.iter().map(|l| l.clean.len()).sum();
        let free = samples as f64 - 2.0 * leads.len() as f64 - 1.0;
        let square = left[best] / free;
        let gain = squares(leads, None) - left[best];
        // each further sum of squares by one variance is a standard deviation of the time constant
        let open = (best..TRIED).find(|k| left[*k] - left[best] > square);
        let sure = free > 0.0 && square > 0.0 && gain > SURE * SURE * square;
        sure.then(|| Self {
            tau_s: taus[best],
            open_s: open.map_or(f64::INFINITY, |k| taus[k]),
            sigma: square.sqrt(),
        })
    }

    fn straighten(&self, lead: &mut Lead) {
        let Some(fit) = exponential(lead, Some(self.tau_s)) else {
            return;
        };
        let bent: Vec<f64> = lead
            .times
            .iter()
            .map(|t| fit.slope * beyond_tangent(*t, self.tau_s))
            .collect();
        let at_event = |tau_s: f64| line_at_event(&lead.times, tau_s);
        let off = at_event(self.tau_s);
        let open = exponential(lead, Some(self.open_s)).map_or(0.0, |other| {
            fit.slope * off - other.slope * at_event(self.open_s)
        });
        lead.u_bent = open.hypot(fit.u_slope_with(self.sigma) * off);
        let from = lead.longer.len() - lead.straight;
        let values = lead.longer[from..].iter_mut().zip(&mut lead.clean);
        for ((long, clean), by) in values.zip(bent) {
            *long -= by;
            *clean -= by;
        }
    }
}

/// What is left of all leads beside an exponential of this time constant, or beside a line.
fn squares(leads: &[&mut Lead], tau_s: Option<f64>) -> f64 {
    let of = |lead: &&mut Lead| {
        let fit = exponential(lead, tau_s)?;
        Some(fit.scatter.powi(2) * (fit.count as f64 - 2.0))
    };
    leads.iter().filter_map(of).sum()
}

/// Level and size of an exponential of this time constant (its slope is the size at the event), or of a line.
fn exponential(lead: &Lead, tau_s: Option<f64>) -> Option<Line> {
    let along = |t: &f64| {
        tau_s
            .filter(|tau| tau.is_finite())
            .map_or(*t, |tau| (-t / tau).exp())
    };
    let times = lead.times.iter().map(along);
    Line::fit(times.zip(lead.clean.iter().copied()))
}

/// An exponential of size 1 at the event, less its tangent there.
fn beyond_tangent(t: f64, tau_s: f64) -> f64 {
    if tau_s.is_finite() {
        (-t / tau_s).exp() - 1.0 + t / tau_s
    } else {
        0.0
    }
}

/// What a line through that makes of it at the event.
fn line_at_event(times: &[f64], tau_s: f64) -> f64 {
    let points = times.iter().map(|t| (*t, beyond_tangent(*t, tau_s)));
    Line::fit(points).map_or(0.0, |line| line.at(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::drawn;
    use crate::bench::thresholds::lead::made;

    const SAMPLES: usize = 18;

    /// From 7.6 V up to 8.4 V at the event, a sample a second, noise of 0.06 V; straight for no time constant.
    fn leads(count: usize, tau_s: Option<f64>) -> Vec<Option<Lead>> {
        let mut noise = drawn::noise(7);
        let whole = SAMPLES as f64;
        let course = |t: f64| match tau_s {
            Some(tau) => 8.4 - 0.8 * ((-t / tau).exp() - 1.0) / ((whole / tau).exp() - 1.0),
            None => 8.4 + 0.8 * t / whole,
        };
        let mut one = |number: usize| {
            let times: Vec<f64> = (0..SAMPLES).map(|i| i as f64 - whole + 0.5).collect();
            let levels = times.iter().map(|t| course(*t) + 0.06 * noise()).collect();
            let mut lead = made::lead(EventKind::Start, levels);
            (lead.at_s, lead.times) = (40.0 * number as f64, times);
            Some(lead)
        };
        (0..count).map(&mut one).collect()
    }

    fn previous(leads: &[Option<Lead>]) -> Vec<f64> {
        let begin = |lead: &Lead| lead.at_s - SAMPLES as f64;
        leads.iter().flatten().map(begin).collect()
    }

    /// Mean of what lines say at the event, and of their doubt.
    fn at_event(leads: &[Option<Lead>]) -> (f64, f64) {
        let line = |lead: &Lead| {
            let points = lead.times.iter().copied().zip(lead.clean.iter().copied());
            Some((Line::fit(points)?.at(0.0), lead.u_bent))
        };
        let said: Vec<(f64, f64)> = leads.iter().flatten().filter_map(line).collect();
        let mean =
            |of: fn(&(f64, f64)) -> f64| said.iter().map(of).sum::<f64>() / said.len() as f64;
        (mean(|s| s.0), mean(|s| s.1))
    }

    /// Each line is known to 2 · 0.06 V/√18 (JCGM 100, H.3), the mean of 30 to 5 mV.
    #[test]
    fn a_charge_is_read_where_it_ends() {
        for tau_s in [9.0, 18.0, 30.0] {
            let mut leads = leads(30, Some(tau_s));
            assert!(at_event(&leads).0 > 8.425, "{tau_s}: a line lies beyond");
            let previous = previous(&leads);
            straighten(&mut leads, &previous);
            let (level, u) = at_event(&leads);
            assert!((level - 8.4).abs() < 0.012, "{tau_s}: {level}");
            assert!((0.002..0.06).contains(&u), "{tau_s}: {u}");
        }
    }

    #[test]
    fn what_does_not_bend_or_begins_later_is_left_alone() {
        let mut straight = leads(30, None);
        let mut few = leads(3, Some(9.0));
        let mut later = leads(30, Some(9.0));
        let before = |leads: &[Option<Lead>]| -> Vec<Vec<f64>> {
            leads.iter().flatten().map(|l| l.clean.clone()).collect()
        };
        for (leads, by_s) in [(&mut straight, 0.0), (&mut few, 0.0), (&mut later, 60.0)] {
            let was = before(leads);
            let previous: Vec<f64> = previous(leads).iter().map(|s| s - by_s).collect();
            straighten(leads, &previous);
            assert_eq!(before(leads), was);
        }
        straighten(&mut [], &[]);
        // a hand that waited: the others are straightened, that one is as it was
        let mut waited = leads(30, Some(9.0));
        let lead = waited[4].as_mut().unwrap();
        lead.times.iter_mut().for_each(|t| *t *= 400.0);
        (lead.at_s, lead.interval_s) = (lead.at_s + 400.0 * SAMPLES as f64, 400.0);
        let mut previous = previous(&waited);
        previous[4] = waited[4].as_ref().unwrap().at_s - 400.0 * SAMPLES as f64;
        let was = before(&waited);
        straighten(&mut waited, &previous);
        let is = before(&waited);
        assert_eq!(was[4], is[4]);
        assert_ne!(was[5], is[5]);
    }
}
