//! What a comparator saw of a straight VCC with a sine on it. It acts when VCC with its ripple is first at
//! the threshold, so the threshold is the furthest that VCC has come by then.
//!
//! Ripple slow enough for its samples to show where it stood at the event (that of the mains) gives that
//! furthest point; of ripple faster than the samples only the crest is known.

use std::f64::consts::TAU;

/// Instants of a period that are looked at.
const INSTANTS: usize = 48;
/// Frequencies of mains ripple, behind one diode and behind a bridge, in hertz.
const MAINS_HZ: [f64; 4] = [50.0, 60.0, 100.0, 120.0];
/// By how much of itself the frequency may be off.
const NEAR: f64 = 0.02;
/// Chance beforehand that ripple of another frequency is as slow as its samples show it, and no switching supply's,
/// folded down (assumed; VCC has ripple of the mains and of what switches, common practice) …
const SLOW: f64 = 0.1;
/// … and that ripple of such a frequency is that of the mains (assumed).
const MAINS: f64 = 0.99;
/// Chance that an event contradicts ripple that acted as its samples show it (assumed).
const AMISS: f64 = 0.01;

/// A sine on a straight course before one event, in the direction in which the comparator acts.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Wave {
    /// Volts a second, positive towards the threshold.
    pub slope: f64,
    pub amplitude: f64,
    pub hertz: f64,
    /// Its phase at the event, as of a cosine.
    pub phase: f64,
    /// The event lies within so many seconds of its instant.
    pub within_s: f64,
    /// Standard uncertainty of the wave there, in volts.
    pub u: f64,
}

/// How the ripple of a record acted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Way {
    /// The chance that it acted as its samples show it; else it acted with its crest.
    pub followed: f64,
}

#[cfg(test)]
impl Way {
    /// With its crest.
    pub const CREST: Self = Self { followed: 0.0 };
}

impl Wave {
    fn at(&self, time_s: f64) -> f64 {
        self.slope * time_s + self.amplitude * (TAU * self.hertz * time_s + self.phase).cos()
    }

    /// The highest of it over a stretch of time.
    fn highest(&self, from_s: f64, to_s: f64) -> f64 {
        let count = (((to_s - from_s) * self.hertz * INSTANTS as f64).ceil() as usize)
            .clamp(2, 40 * INSTANTS);
        let at = |i: usize| self.at(from_s + (to_s - from_s) * i as f64 / count as f64);
        (0..=count).map(at).fold(f64::MIN, f64::max)
    }

    /// The furthest that it has come by the earliest and by the latest instant of the event, over the
    /// course at the event.
    pub fn furthest(&self) -> (f64, f64) {
        let before = 1.2 / self.hertz;
        let early = self.highest(-self.within_s - before, -self.within_s);
        (
            early,
            early.max(self.highest(-self.within_s, self.within_s)),
        )
    }

    /// Can the event have come when the samples show it, on the way beyond all before?
    fn agrees(&self) -> bool {
        let (early, _) = self.furthest();
        self.highest(-self.within_s, self.within_s) >= early - 3.0 * self.u
    }

    /// The share of phases that agree.
    fn by_chance(&self) -> f64 {
        let turned = |k: usize| Wave {
            phase: TAU * k as f64 / INSTANTS as f64,
            ..*self
        };
        (0..INSTANTS).filter(|k| turned(*k).agrees()).count() as f64 / INSTANTS as f64
    }
}

/// How the ripple before these events acted.
pub(super) fn way(waves: &[Wave]) -> Way {
    let mains = |w: &Wave| MAINS_HZ.iter().any(|f| (w.hertz / f - 1.0).abs() < NEAR);
    let beforehand = if waves.iter().all(mains) { MAINS } else { SLOW };
    // how much likelier each event is where the ripple acted as its samples show it
    let odds = |wave: &Wave| {
        let least = 0.5 / INSTANTS as f64;
        let chance = wave.by_chance().clamp(least, 1.0 - least);
        let ratio = if wave.agrees() {
            (1.0 - AMISS) / chance
        } else {
            AMISS / (1.0 - chance)
        };
        ratio.ln()
    };
    let odds = (beforehand / (1.0 - beforehand)).ln() + waves.iter().map(odds).sum::<f64>();
    Way {
        followed: 1.0 / (1.0 + (-odds).exp()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 100 Hz on a rise of 1 V/s: by stepping through it with a comparator.
    fn stepped(wave: &Wave, level: f64) -> f64 {
        let mut t = -1.0;
        while wave.at(t) < level {
            t += 1e-6;
        }
        t
    }

    fn wave(phase: f64) -> Wave {
        Wave {
            slope: 1.0,
            amplitude: 0.1,
            hertz: 100.0,
            phase,
            within_s: 0.5e-3,
            u: 1e-4,
        }
    }

    #[test]
    fn the_level_lies_where_a_comparator_found_it() {
        for k in 0..40 {
            let level = -0.05 + 0.005 * f64::from(k);
            let whole = wave(1.0);
            let at_s = stepped(&whole, level) + 0.3e-3;
            // the same wave seen from an instant near the event
            let seen = Wave {
                phase: 1.0 + TAU * 100.0 * at_s,
                ..whole
            };
            let (low, high) = seen.furthest();
            let truth = level - at_s;
            assert!(
                low - 2e-4 < truth && truth < high + 2e-4,
                "{truth} {low} {high}"
            );
            assert!(seen.agrees());
        }
    }

    #[test]
    fn a_wave_at_its_trough_was_not_followed() {
        let trough = wave(std::f64::consts::PI);
        assert!(way(&[trough, trough]).followed < 0.05);
        assert!(way(&[wave(-0.1), wave(-0.1)]).followed > 0.999);
        // one that is amiss among many says little
        assert!(way(&[wave(-0.1), trough, wave(-0.1), wave(-0.1)]).followed > 0.9);
        let fast = Wave {
            hertz: 77.0,
            slope: 5.0,
            ..wave(-0.1)
        };
        assert!((0.05..0.5).contains(&way(&[fast]).followed));
    }
}
