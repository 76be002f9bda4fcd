//! The current-sense pin from one cycle laid over many: peak, slope and pedestal of its ramp behind
//! the spike at the leading edge.

mod fall;

use crate::data::{Fold, InspectedCapture, Mark, Quantity, Role, ShotKind, Term, TieSource, Value};
use crate::signal::{Line, stats};

use super::Findings;
use super::trace::Trace;

/// Longest spike at the leading edge that is left out, in seconds (common practice: a filter of 100 to
/// 470 ns leaves that much).
const SPIKE_S: f64 = 300e-9;
/// Share of a pulse that is left out at its begin in any case, and at its end.
const LEFT_OUT: (f64, f64) = (0.15, 0.06);
/// Fewest parts of a cycle in the stretch that is fitted.
const FEWEST_PARTS: usize = 5;
/// Half-width within which the edge of the clock begins a cycle, in parts.
const BEGIN: f64 = 0.25;
/// From so many parts on their own scatter about the line is known well enough.
const ENOUGH_PARTS: usize = 12;
/// A pulse is left where the level falls below this share of its height above rest.
const FOOT: f64 = 0.12;

const WANTED: [Quantity; 3] = [Quantity::CsPeak, Quantity::CsSlope, Quantity::CsPedestal];

/// Current sense in a fast record.
pub fn measure(shot: &InspectedCapture, found: &mut Findings) {
    let Some(cs) = Trace::of_role(shot, Role::Cs) else {
        return;
    };
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    let pulse = match cs.facts().fold.as_ref() {
        None => Err("no channel of this capture gives cycles to lay over each other; record OUT or RT/CT beside it, with a faster time base".to_owned()),
        Some(fold) => Pulse::of(&cs, fold, begins_with_pulse(shot, fold)),
    };
    match pulse {
        Ok(pulse) => pulse.measure(&cs, found),
        Err(why) => WANTED
            .into_iter()
            .for_each(|quantity| found.refuse(quantity, cs.index, why.clone())),
    }
}

/// Is the clock of the fold OUT or gate?
fn begins_with_pulse(shot: &InspectedCapture, fold: &Fold) -> bool {
    let role = shot.channels.get(fold.clock).and_then(|c| c.role.value);
    matches!(role, Some(Role::Out | Role::Gate))
}

/// The ramp of one mean cycle, in raw values over seconds from its leading edge.
struct Pulse {
    line: Line,
    /// Is the leading edge that of OUT or gate?
    led: bool,
    /// From the leading edge to the end of the pulse, in seconds.
    length_s: f64,
    /// Length of a part of the cycle, in seconds.
    part_s: f64,
    /// Half-width within which the end is known, in seconds.
    half_s: f64,
    /// By how much the slope may differ from that of the whole later half, from how it changes within the pulse.
    bend: f64,
    scatter: f64,
    cycles: usize,
}

impl Pulse {
    /// `led`: do the cycles begin with the rise of OUT or gate, which is where the pulse begins?
    fn of(cs: &Trace<'_>, fold: &Fold, led: bool) -> Result<Self, String> {
        let parts = fold.means.len();
        let part_s = fold.period_s / parts as f64;
        if fold.means.iter().any(|v| !v.is_finite()) {
            return Err("too few samples for every part of a cycle; record longer".to_owned());
        }
        let rest = stats::quantile(&mut fold.means.clone(), 0.2);
        let top = fold.means.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let per_part = fold.counts.iter().copied().min().unwrap_or(1).max(1);
        let noise = fold.scatter / f64::from(per_part).sqrt();
        let height = top - rest;
        if height.is_nan() || height < 8.0 * noise || height * cs.known.gain.abs() < 0.03 {
            return Err(format!(
                "it does not pulse: it stays at {:.2} V",
                cs.true_of(rest)
            ));
        }
        let end = fall::last_of_fall(&fold.means);
        let high = |k: usize| fold.means[(end + parts - k) % parts] > rest + FOOT * height;
        let length = if led {
            end + 1
        } else {
            (0..parts).take_while(|k| high(*k)).count()
        };
        if length >= parts {
            return Err(
                "its pulses have no begin: the pin never comes to rest within a cycle".to_owned(),
            );
        }
        let skipped = ((SPIKE_S / part_s).ceil() as usize)
            .max((LEFT_OUT.0 * length as f64).ceil() as usize)
            .max(length / 2);
        let kept_to = length.saturating_sub(1 + (LEFT_OUT.1 * length as f64).ceil() as usize);
        if kept_to < skipped + FEWEST_PARTS {
            return Err(format!(
                "its pulses last {}, too short for their ramp behind the spike; record with a faster time base",
                crate::data::text::engineering(
                    length as f64 * part_s,
                    crate::data::Unit::Second,
                    2
                )
            ));
        }
        let begin = end + parts + 1 - length;
        let point = |k: usize| ((k as f64 + 0.5) * part_s, fold.means[(begin + k) % parts]);
        let fit = |from: usize| Line::fit((from..kept_to).map(point));
        let line = fit(skipped).ok_or("its ramp is no straight line")?;
        let first = skipped.min(length / 3);
        let early = fit(first).map_or(line.slope, |l| l.slope);
        // the fitted stretch lies that much before the later half of the pulse, in steps from the early one
        let middle = |from: usize, to: usize| 0.5 * (from + to) as f64;
        let apart = middle(skipped, kept_to) - middle(first, kept_to);
        let missing = middle(length / 2, length) - middle(skipped, kept_to);
        let beyond = (missing.abs() / apart.max(0.5)).min(1.0);
        let below = (5.0 * noise).max(0.03 * height);
        let (end_at, open) = if led {
            let straight = fall::end_of(&fold.means, &line, part_s, kept_to, below);
            let decay = fall::Decay {
                means: &fold.means,
                rest,
                noise,
                part_s,
            };
            decay
                .begin(&line, straight, kept_to, below)
                .unwrap_or(straight)
        } else {
            (length as f64, 0.5)
        };
        Ok(Self {
            line,
            length_s: end_at * part_s,
            led,
            part_s,
            half_s: open * part_s,
            bend: beyond * (line.slope - early).abs(),
            scatter: noise,
            cycles: fold.cycles,
        })
    }

    fn measure(&self, cs: &Trace<'_>, found: &mut Findings) {
        let gain = cs.known.gain;
        let at = |x: f64| cs.true_of(self.line.at(x));
        let level = |x: f64, end: &'static str, half_s: f64| {
            let mut terms = cs.systematic(at(x));
            terms.push(cs.resolution_term());
            terms.push(Term::normal("fit", self.u_at(x) * gain.abs()));
            terms.push(Term::within(end, (self.line.slope * half_s * gain).abs()));
            self.counted(Value::from_terms(at(x), terms))
        };
        let marks = self.marks(cs, at(self.length_s), at(0.0));
        let span = Some((cs.channel.time.start_s(), cs.channel.time.end_s()));
        found.marked(
            Quantity::CsPeak,
            cs.index,
            level(self.length_s, "end of the pulse", self.half_s),
            span,
            marks.clone(),
        );
        if self.led {
            let value = level(0.0, "begin of the pulse", BEGIN * self.part_s);
            found.marked(Quantity::CsPedestal, cs.index, value, span, marks);
        } else {
            let why = "where the pulse begins is not seen without OUT or gate in the same record";
            found.refuse(Quantity::CsPedestal, cs.index, why);
        }
        let slope = self.line.slope * gain;
        let mut terms = cs.systematic_over(slope);
        terms.extend([
            Term::normal("fit", (self.u_slope() * gain).abs()),
            Term::within("bend of the ramp", self.bend * gain.abs()),
            Term::within("time base (assumed)", 1e-4 * slope.abs())
                .tied(TieSource::TimeBase, -slope),
        ]);
        let value = self.counted(Value::from_terms(slope, terms));
        found.value(Quantity::CsSlope, cs.index, value, span);
    }

    fn u_at(&self, x: f64) -> f64 {
        self.line.u_at_with(x, self.deviation())
    }

    fn u_slope(&self) -> f64 {
        self.line.u_slope() * self.deviation() / self.line.scatter.max(f64::MIN_POSITIVE)
    }

    /// Standard deviation of the mean of a part: what they show about the line; where they are few, what single
    /// samples scatter by, in which the edges of the cycle count too.
    fn deviation(&self) -> f64 {
        if self.line.count >= ENOUGH_PARTS {
            self.line.scatter
        } else {
            self.line.scatter.max(self.scatter)
        }
    }

    fn counted(&self, mut value: Value) -> Value {
        value.count = self.cycles;
        value
    }

    fn marks(&self, cs: &Trace<'_>, peak: f64, pedestal: f64) -> Vec<Mark> {
        let (from_s, to_s) = (cs.channel.time.start_s(), cs.channel.time.end_s());
        [peak, pedestal]
            .map(|level| Mark::Level {
                level,
                from_s,
                to_s,
            })
            .to_vec()
    }
}
