//! What one pass over a raw channel found: plain data, kept, never recomputed for a new role,
//! controller, part or meter reading. Made by `signal::facts`.

/// Counts of values in equal bins.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Histogram {
    /// Lower edge of bin 0, in the channel's unit.
    pub low: f64,
    /// Width of a bin, above zero.
    pub width: f64,
    /// Samples in each bin.
    pub counts: Vec<u64>,
    /// Sum over the samples of each bin of what they lie above the bin's middle: codes of a converter
    /// all lie at one place of their bins. Empty where nobody collected it.
    pub offsets: Vec<f64>,
}

impl Histogram {
    /// Middle of bin `index`.
    pub fn middle(&self, index: usize) -> f64 {
        self.low + (index as f64 + 0.5) * self.width
    }

    /// Mean of the samples in bin `index`; its middle where it is empty.
    pub fn mean_in(&self, index: usize) -> f64 {
        let count = self.counts.get(index).copied().unwrap_or(0);
        let offset = self.offsets.get(index).copied().unwrap_or(0.0);
        self.middle(index)
            + if count == 0 {
                0.0
            } else {
                offset / count as f64
            }
    }

    /// Samples in all bins.
    pub fn total(&self) -> u64 {
        self.counts.iter().sum()
    }

    /// The value below which the fraction `q` (0 to 1) of the samples lies, to one bin width.
    /// NaN when empty.
    pub fn quantile(&self, q: f64) -> f64 {
        let total = self.total();
        if total == 0 {
            return f64::NAN;
        }
        let wanted = q.clamp(0.0, 1.0) * total as f64;
        let mut seen = 0.0;
        for (index, count) in self.counts.iter().enumerate() {
            let here = *count as f64;
            if seen + here >= wanted && here > 0.0 {
                return self.low + (index as f64 + (wanted - seen) / here) * self.width;
            }
            seen += here;
        }
        self.low + self.counts.len() as f64 * self.width
    }
}

/// Extremes of blocks of samples, in levels that grow coarser, for drawing and for skipping.
///
/// Level 0 holds one pair for each `base` samples; each further level one for `factor` of the
/// level below. A block of missing samples only holds `(+∞, −∞)`.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pyramid {
    /// Samples in a block of level 0.
    pub base: usize,
    /// Blocks of one level that make a block of the next.
    pub factor: usize,
    /// Minimum and maximum of each block, rounded outward to single precision; finest level first.
    pub levels: Vec<Vec<(f32, f32)>>,
    /// Mean of each block of level 0; NaN where it holds no number.
    pub means: Vec<f64>,
}

/// Number, mean and standard deviation of a set of values.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Summary {
    /// How many.
    pub count: u64,
    /// Their mean; NaN when there is none.
    pub mean: f64,
    /// Their standard deviation with n − 1; NaN below two.
    pub deviation: f64,
}

/// Levels and edges of a raw channel, found without knowing its role: the channel is split in two
/// states, low and high, at the widest empty gap of its histogram, or half-way where there is none.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Pulses {
    /// The level at which edges are counted.
    pub threshold: f64,
    /// Half-width of the band around the threshold that an edge has to cross whole.
    pub band: f64,
    /// Does an empty gap separate the two states (pulses), or not (ramps, sines)?
    pub gap: bool,
    /// Lower state level (IEEE 181 histogram method); NaN without gap.
    pub low: f64,
    /// Upper state level (IEEE 181 histogram method); NaN without gap.
    pub high: f64,
    /// Is the first valid sample in the high state?
    pub starts_high: bool,
    /// Sample positions (fractional) of rising edges through the threshold, at most [`Pulses::MOST`].
    pub rising: Vec<f64>,
    /// Sample positions (fractional) of falling edges through the threshold.
    pub falling: Vec<f64>,
    /// Were there more edges than are kept?
    pub cut: bool,
    /// Largest value of each complete high state.
    pub peaks: Summary,
    /// Smallest value of each complete low state.
    pub valleys: Summary,
    /// Turning points of a sawtooth, where the samples resolve its cycles.
    pub turning: Option<Turning>,
    /// Samples around some of the edges, both directions, spread over the record, in order of
    /// position: shapes and instants at any reference level are read from them.
    pub kept: Vec<KeptEdge>,
}

/// Samples around one edge, without those that belong to the edges beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct KeptEdge {
    /// Does the level rise?
    pub rises: bool,
    /// Sample position of the edge, as in [`Pulses::rising`] or [`Pulses::falling`].
    pub position: f64,
    /// Index of the first sample kept.
    pub first: usize,
    /// The samples, in the channel's unit; NaN where one is missing.
    pub values: Vec<f64>,
}

/// A sine that stands out of a record, by its spectrum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tone {
    /// Cycles in a sample interval, above 0 and below 0.5.
    pub cycles_per_sample: f64,
    /// Standard uncertainty of that, from what scatters beside it (Cramér-Rao bound of a single sine, or of
    /// the shape that repeats where that is sharper).
    pub u_cycles: f64,
    /// Amplitude (peak), in the channel's unit.
    pub amplitude: f64,
    /// Samples looked at.
    pub samples: usize,
    /// Share of the variance about the mean that the sine carries, 0 to 1.
    pub share: f64,
}

/// One cycle of a channel, laid over many, on the edges of a clock channel of the same capture.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Fold {
    /// Index of the channel whose edges are cycle begins.
    pub clock: usize,
    /// Cycles laid over each other.
    pub cycles: usize,
    /// Mean length of a cycle, in seconds.
    pub period_s: f64,
    /// Mean of the samples in each equal part of the cycle; NaN where none lies in it.
    pub means: Vec<f64>,
    /// Samples in each part.
    pub counts: Vec<u32>,
    /// Standard deviation of single samples about the mean of their part.
    pub scatter: f64,
}

/// Turning points of a sawtooth: cycles laid over each other on their falling edges, rise and fall fitted
/// by curves, intersected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turning {
    /// Upper turning point, in the channel's unit.
    pub peak: f64,
    /// Standard uncertainty of it from scatter and from the sample interval.
    pub u_peak: f64,
    /// Lower turning point.
    pub valley: f64,
    /// Standard uncertainty of it.
    pub u_valley: f64,
    /// From lower to upper turning point, in sample intervals.
    pub rise_samples: f64,
    /// From upper to lower turning point, in sample intervals.
    pub fall_samples: f64,
    /// Standard uncertainty of the rise, in sample intervals.
    pub u_rise_samples: f64,
    /// Standard uncertainty of the fall, in sample intervals.
    pub u_fall_samples: f64,
    /// Level towards which the rise bends, and its standard uncertainty from the scatter; `None` where
    /// too little of the bend is seen.
    pub asymptote: Option<(f64, f64)>,
    /// Cycles used.
    pub cycles: usize,
}

impl Pulses {
    /// Most edges of one direction that are kept.
    pub const MOST: usize = 1_000_000;

    /// Edges kept, both directions.
    pub fn edges(&self) -> usize {
        self.rising.len() + self.falling.len()
    }
}

/// Facts about one raw channel, in the channel's own unit, before probe factor and correction.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// Samples in the record.
    pub count: u64,
    /// Samples that are numbers.
    pub valid: u64,
    /// Samples marked clipped.
    pub clipped: u64,
    /// Smallest value; NaN when there is none.
    pub min: f64,
    /// Largest value; NaN when there is none.
    pub max: f64,
    /// Arithmetic mean; NaN when there is none.
    pub mean: f64,
    /// Standard deviation with n − 1; NaN below two values.
    pub deviation: f64,
    /// Step between neighbouring values that the record can tell apart (one code); `None` when the
    /// values show none.
    pub resolution: Option<f64>,
    /// Standard deviation of the random part within quiet stretches, from second differences;
    /// includes what the resolution adds. 0 when the record shows none.
    pub noise: f64,
    /// Distribution of the values.
    pub histogram: Histogram,
    /// Extremes for drawing and for skipping.
    pub pyramid: Pyramid,
    /// Levels and edges; `None` when the record is flat within its noise or too short.
    pub pulses: Option<Pulses>,
    /// The sine that stands out, looked for where edges give no period.
    pub tone: Option<Tone>,
    /// One cycle, where a channel of the capture gives a clock.
    pub fold: Option<Fold>,
}

impl Facts {
    /// Largest minus smallest value; NaN when there is none.
    pub fn peak_to_peak(&self) -> f64 {
        self.max - self.min
    }
}
