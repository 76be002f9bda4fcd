//! What stages and suspects look at: everything measured and judged in one run.

use crate::controllers::usual;
use crate::data::{
    ControllerChoice, ControllerFits, Event, EventKind, InspectedCapture, Judged, Options, Outcome,
    Quantity, Role, SampleKind, Setup, ShotKind, Verdict,
};

/// Everything known when stages are judged.
#[derive(Debug, Clone, Copy)]
pub struct View<'a> {
    /// The captures.
    pub captures: &'a [InspectedCapture],
    /// Starts and stops of all captures.
    pub events: &'a [Event],
    /// Measured values with their verdicts.
    pub judged: &'a [Judged],
    /// The controller, if named.
    pub controller: Option<&'a ControllerChoice>,
    /// Which controllers fit what was measured.
    pub fits: Option<&'a ControllerFits>,
    /// What the user told.
    pub options: &'a Options,
}

impl<'a> View<'a> {
    /// All entries of a quantity.
    pub fn all(&self, quantity: Quantity) -> impl Iterator<Item = &'a Judged> {
        self.judged
            .iter()
            .filter(move |j| j.measured.quantity == quantity)
    }

    /// The entry of a quantity with the smallest uncertainty.
    pub fn best(&self, quantity: Quantity) -> Option<&'a Judged> {
        let u = |j: &Judged| j.measured.value().map_or(f64::INFINITY, |v| v.u);
        self.all(quantity)
            .filter(|j| j.measured.value().is_some())
            .min_by(|a, b| u(a).total_cmp(&u(b)))
    }

    /// The value of [`View::best`].
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.best(quantity)
            .and_then(|j| j.measured.value())
            .map(|v| v.value)
    }

    /// An entry outside its limits whose verdict does not rest on memory.
    pub fn outside(&self, quantity: Quantity) -> Option<&'a Judged> {
        self.all(quantity)
            .find(|j| j.verdict == Verdict::Outside && !j.provisional)
    }

    /// The reason of the first entry of a quantity that could not be measured.
    pub fn refusal(&self, quantity: Quantity) -> Option<(&'a Judged, &'a str)> {
        self.all(quantity).find_map(|j| match &j.measured.outcome {
            Outcome::NotMeasurable(why) => Some((j, why.as_str())),
            Outcome::Value(_) => None,
        })
    }

    /// `title value ± u95` of the best entry, ready to show.
    pub fn figure(&self, quantity: Quantity) -> Option<String> {
        let info = quantity.info();
        let value = self.best(quantity)?.measured.value()?;
        Some(format!(
            "{} {}",
            info.title,
            crate::data::text::plus_minus(value.value, value.u95, info.unit)
        ))
    }

    /// Captures of a kind, with their index.
    pub fn of_kind(&self, kind: ShotKind) -> impl Iterator<Item = (usize, &'a InspectedCapture)> {
        self.captures
            .iter()
            .enumerate()
            .filter(move |(_, c)| c.kind.value == Some(kind))
    }

    /// Was the pin of this role recorded in a capture, and did nothing move on it? OUT and gate have to
    /// be sampled fast enough: samples in step with their pulses look still.
    pub fn still(&self, capture: usize, role: Role) -> bool {
        let shot = &self.captures[capture];
        shot.channel_of(role).is_some_and(|c| {
            let channel = &shot.capture.channels[c];
            let pulses = matches!(role, Role::Out | Role::Gate);
            let slow = channel.kind == SampleKind::Instant
                && channel.time.interval_s() * usual::HIGHEST_OSCILLATOR_HZ > 0.5;
            shot.channels[c].facts.pulses.is_none() && !(pulses && slow)
        })
    }

    /// Number of events of a kind in a capture.
    pub fn count(&self, capture: usize, kind: EventKind) -> usize {
        self.events
            .iter()
            .filter(|e| e.capture == capture && e.kind == kind)
            .count()
    }

    /// Does any capture show a start?
    pub fn starts_seen(&self) -> bool {
        self.events.iter().any(|e| e.kind == EventKind::Start)
    }

    /// The first start or stop that something else than VCC made, and what was seen there; `None` where they are few
    /// among many, as where VCC is not clean.
    pub fn made_otherwise(&self) -> Option<(&'a Event, &'a str)> {
        let otherwise = |e: &&Event| e.why_no_vcc.as_ref().is_some_and(|none| none.away);
        if 2 * self.events.iter().filter(otherwise).count() < self.events.len() {
            return None;
        }
        self.events.iter().find_map(|event| {
            let none = event.why_no_vcc.as_ref().filter(|none| none.away)?;
            Some((event, none.why.as_str()))
        })
    }

    /// Largest VCC of a capture, in true volts, if it has VCC: the 99.5 % quantile, so that single
    /// noisy samples do not count.
    pub fn highest_vcc(&self, capture: usize) -> Option<f64> {
        self.highest(capture, Role::Vcc)
    }

    /// The same of the pin of a role.
    pub fn highest(&self, capture: usize, role: Role) -> Option<f64> {
        let shot = &self.captures[capture];
        let channel = &shot.channels[shot.channel_of(role)?];
        Some(channel.corrected(channel.facts.histogram.quantile(0.995)))
    }

    /// VCC above which every candidate must have started: the published maximum plus what the
    /// channel may be off. Without a controller the highest of the family. Where this
    /// run measured the start threshold, that and the doubt of both records, if it is less.
    pub fn must_start_above(&self, capture: usize) -> f64 {
        let limit = self
            .controller
            .and_then(|c| c.start.as_ref())
            .and_then(|l| l.max.or(l.typ))
            .unwrap_or(usual::HIGHEST_START_V);
        let doubt = |volts: f64| self.doubt_of_vcc(capture, volts);
        let measured = self
            .best(Quantity::StartThreshold)
            .and_then(|j| j.measured.value())
            .map_or(f64::INFINITY, |v| v.value + v.u95.hypot(doubt(v.value)));
        (limit + doubt(limit)).min(measured)
    }

    /// VCC below which no candidate may start: the published minimum less what the channel may be off; infinite
    /// where none is published.
    pub fn may_start_above(&self, capture: usize) -> f64 {
        let start = self.controller.and_then(|c| c.start.as_ref());
        let least = start.and_then(|l| l.min);
        least.map_or(f64::INFINITY, |v| v - self.doubt_of_vcc(capture, v))
    }

    /// By how much VCC of a capture may be off at a level, in volts; 0 without VCC.
    fn doubt_of_vcc(&self, capture: usize, volts: f64) -> f64 {
        let shot = &self.captures[capture];
        shot.channel_of(Role::Vcc).map_or(0.0, |index| {
            let channel = &shot.channels[index];
            let scope =
                channel.accuracy.gain * volts + channel.accuracy.offset * channel.gain.abs();
            // a channel tied to a meter is off by what that leaves
            let tied = channel.set_to_meter.as_ref();
            tied.map_or(scope, |tied| tied.off_at(volts))
        })
    }

    /// Was VCC, in this capture, where the controller has to run?
    pub fn driven_past_start(&self, capture: usize) -> bool {
        self.highest_vcc(capture)
            .is_some_and(|v| v > self.must_start_above(capture))
    }

    /// Set-ups that occur, and the one that the next shots are planned for.
    pub fn setups_and_next(&self) -> Vec<Setup> {
        let mut all = self.setups();
        all.extend(self.options.next_setup);
        all.sort_unstable();
        all.dedup();
        all
    }

    /// Set-ups that occur.
    pub fn setups(&self) -> Vec<Setup> {
        let mut all: Vec<Setup> = self.captures.iter().filter_map(|c| c.setup.value).collect();
        all.extend(self.options.setup);
        all.sort_unstable();
        all.dedup();
        all
    }
}
