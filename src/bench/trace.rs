//! A channel seen through its probe factor and correction, in true volts, on its time axis.

use crate::data::{
    Channel, ChannelError, Facts, InspectedCapture, InspectedChannel, Pulses, Term, TieSource,
};

/// One channel of a surveyed capture.
#[derive(Debug, Clone, Copy)]
pub struct Trace<'a> {
    /// Index in the capture.
    pub index: usize,
    /// The raw channel.
    pub channel: &'a Channel,
    /// What is known about it.
    pub known: &'a InspectedChannel,
}

impl<'a> Trace<'a> {
    /// Channel `index` of a capture.
    pub fn new(shot: &'a InspectedCapture, index: usize) -> Self {
        Self {
            index,
            channel: &shot.capture.channels[index],
            known: &shot.channels[index],
        }
    }

    /// The first channel with a role.
    pub fn of_role(shot: &'a InspectedCapture, role: crate::data::Role) -> Option<Self> {
        shot.channel_of(role).map(|index| Self::new(shot, index))
    }

    /// Facts of the raw channel.
    pub fn facts(&self) -> &'a Facts {
        &self.known.facts
    }

    /// Edges of the raw channel, if it has two states.
    pub fn pulses(&self) -> Option<&'a Pulses> {
        self.known.facts.pulses.as_ref()
    }

    /// Raw value to true value.
    pub fn true_of(&self, raw: f64) -> f64 {
        self.known.corrected(raw)
    }

    /// Random part, in true volts.
    pub fn noise(&self) -> f64 {
        self.facts().noise * self.known.gain.abs()
    }

    /// Code step in true volts; 0 when the record shows none.
    pub fn resolution(&self) -> f64 {
        self.facts().resolution.unwrap_or(0.0) * self.known.gain.abs()
    }

    /// Random part including what a coarse code step adds (step/√12).
    pub fn grain(&self) -> f64 {
        self.noise().max(self.resolution() / 12.0_f64.sqrt())
    }

    /// The level, in volts, down to which a record of a pin that never goes below 0 V lies there; `None` where it
    /// does not. The channel is inverted then, or probe and ground are exchanged.
    pub fn upside_down(&self) -> Option<f64> {
        let level = |q: f64| self.true_of(self.facts().histogram.quantile(q));
        let (one, other) = (level(0.005), level(0.995));
        let (low, high) = (one.min(other), one.max(other));
        (low < -1.0 && -low > 2.0 * high).then_some(low)
    }

    /// Time of a fractional sample position, in seconds.
    pub fn time(&self, position: f64) -> f64 {
        self.channel.time.at_position(position)
    }

    /// Sample interval, in seconds.
    pub fn interval_s(&self) -> f64 {
        self.channel.time.interval_s()
    }

    /// Length of the record, in seconds.
    pub fn span_s(&self) -> f64 {
        self.channel.time.end_s() - self.channel.time.start_s()
    }

    /// Number of samples.
    pub fn len(&self) -> usize {
        self.channel.samples.len()
    }

    /// True when there is no sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// True values of a range of samples. Reads samples: keep the range short.
    pub fn values(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let raw = self.channel.valid_slice(range);
        raw.into_iter().map(|v| self.true_of(v)).collect()
    }

    /// Number of blocks of level 0 of the pyramid.
    pub fn blocks(&self) -> usize {
        self.facts().pyramid.means.len()
    }

    /// Samples in a block.
    pub fn block_size(&self) -> usize {
        self.facts().pyramid.base
    }

    /// Mean of a block, true volts; NaN where it holds no number.
    pub fn block_mean(&self, block: usize) -> f64 {
        self.facts()
            .pyramid
            .means
            .get(block)
            .map_or(f64::NAN, |raw| self.true_of(*raw))
    }

    /// Lowest and highest true value in a block; NaN where it holds no number.
    pub fn block_range(&self, block: usize) -> (f64, f64) {
        let raw = self
            .facts()
            .pyramid
            .levels
            .first()
            .and_then(|level| level.get(block));
        // a block without a number holds no lowest and no highest
        let (a, b) =
            raw.filter(|(low, high)| low <= high)
                .map_or((f64::NAN, f64::NAN), |(low, high)| {
                    (
                        self.true_of(f64::from(*low)),
                        self.true_of(f64::from(*high)),
                    )
                });
        (a.min(b), a.max(b))
    }

    /// Sample position of the middle of a block.
    pub fn block_middle(&self, block: usize) -> f64 {
        let size = self.block_size();
        let first = block * size;
        let last = (first + size).min(self.len()) - 1;
        0.5 * (first + last) as f64
    }

    /// The blocks that lie wholly within a range of sample positions; the nearest single block when
    /// none does.
    pub fn blocks_within(&self, from: f64, to: f64) -> std::ops::Range<usize> {
        let size = self.block_size() as f64;
        let first = (from / size).ceil().max(0.0) as usize;
        let end = ((to + 1.0) / size).floor().max(0.0) as usize;
        let last = self.blocks();
        if first < end.min(last) {
            return first..end.min(last);
        }
        let near = ((0.5 * (from + to) / size).max(0.0) as usize).min(last.saturating_sub(1));
        near..(near + 1).min(last)
    }

    /// The systematic errors of the channel: of gain and offset as given or assumed, or what its being
    /// set to meter readings leaves.
    pub fn errors(&self) -> Vec<ChannelError> {
        match &self.known.set_to_meter {
            Some(tied) => tied.errors.clone(),
            None => untied(self.known),
        }
    }

    /// The systematic part of a budget for the level `volts`.
    pub fn systematic(&self, volts: f64) -> Vec<Term> {
        self.errors().iter().map(|e| e.at(volts)).collect()
    }

    /// The systematic part of a budget for a difference of levels, a height or a slope.
    pub fn systematic_over(&self, difference: f64) -> Vec<Term> {
        self.errors().iter().map(|e| e.over(difference)).collect()
    }

    /// What the code step leaves open in a mean: all of it when the noise is too small to carry the
    /// signal across codes (common practice: below half a step), nothing more than noise otherwise.
    pub fn resolution_term(&self) -> Term {
        Term::within("resolution", self.hidden())
    }

    /// Half-width within which the code step leaves a mean, in true volts.
    pub fn hidden(&self) -> f64 {
        let step = self.resolution();
        if self.noise() < 0.4 * step {
            0.5 * step
        } else {
            0.0
        }
    }
}

/// Gain and offset errors of a channel that no meter reading corrects.
pub(super) fn untied(known: &InspectedChannel) -> Vec<ChannelError> {
    let (gain, offset) = if known.accuracy_assumed {
        ("gain (assumed)", "offset (assumed)")
    } else {
        ("gain", "offset")
    };
    let volts = known.accuracy.offset * known.gain.abs();
    vec![
        ChannelError::within(
            gain,
            known.accuracy.gain,
            TieSource::Gain(known.range),
            (0.0, 1.0),
        ),
        ChannelError::within(offset, volts, TieSource::Offset(known.range), (1.0, 0.0)),
    ]
}
