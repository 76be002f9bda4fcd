//! A scope as it writes: gain, offset, bandwidth, noise, clipping, codes.

use serde_json::Value;

use super::noise::Noise;
use super::timeline::{Levels, Timeline};

/// How one channel records.
#[derive(Debug, Clone, PartialEq)]
pub struct ChannelSettings {
    /// Name in the header.
    pub name: &'static str,
    /// What is on the tip.
    pub signal: Signal,
    /// Lowest level that is recorded, V; all below is clipped.
    pub lowest_v: f64,
    /// Span of the converter, V.
    pub full_scale_v: f64,
    /// Bits of the converter, 1 to 24.
    pub bits: u32,
    /// Gain error, 1: 0.01 reads 1 % high.
    pub gain_error: f64,
    /// Offset error, V, after the gain.
    pub offset_error_v: f64,
    /// Standard deviation of Gaussian noise, V.
    pub noise_v: f64,
    /// Bandwidth of a single pole, Hz; `None` for no limit.
    pub bandwidth_hz: Option<f64>,
}

/// A pin or node that can be recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Signal {
    /// VCC at the pin.
    Vcc,
    /// VREF.
    Vref,
    /// RT/CT.
    RtCt,
    /// OUT.
    Out,
    /// Output of the supply.
    Output,
    /// Bulk capacitor.
    Bulk,
}

impl Signal {
    /// The role that this node has in an inspection.
    pub fn id(self) -> &'static str {
        match self {
            Signal::Vcc => "vcc",
            Signal::Vref => "vref",
            Signal::RtCt => "rtct",
            Signal::Out => "out",
            Signal::Output => "output",
            Signal::Bulk => "bulk",
        }
    }

    /// Its level among all.
    pub fn of(self, levels: &Levels) -> f64 {
        match self {
            Signal::Vcc => levels.vcc_v,
            Signal::Vref => levels.vref_v,
            Signal::RtCt => levels.rt_ct_v,
            Signal::Out => levels.out_v,
            Signal::Output => levels.output_v,
            Signal::Bulk => levels.bulk_v,
        }
    }
}

impl ChannelSettings {
    /// One code, V.
    pub fn step_v(&self) -> f64 {
        self.full_scale_v / f64::from(1u32 << self.bits.clamp(1, 24))
    }

    /// What is written for a level at the input: codes are rounded to the nearest and end at both
    /// ends of the span.
    pub fn quantised_v(&self, level_v: f64) -> f64 {
        let step_v = self.step_v();
        let top = f64::from((1u32 << self.bits.clamp(1, 24)) - 1);
        let code = ((level_v - self.lowest_v) / step_v).round().clamp(0.0, top);
        self.lowest_v + code * step_v
    }

    /// The true level as the input stage passes it on.
    fn filtered_v(&self, timeline: &Timeline, at_s: f64) -> f64 {
        let Some(bandwidth_hz) = self.bandwidth_hz else {
            return self.signal.of(&timeline.at(at_s));
        };
        // The past of the true waveform, weighted by the pole's decay, in steps of τ/8 over 8 τ.
        let tau_s = (std::f64::consts::TAU * bandwidth_hz).recip();
        let (mut sum, mut weights) = (0.0, 0.0);
        for k in 0..64 {
            let age_s = (f64::from(k) + 0.5) * tau_s / 8.0;
            let weight = (-age_s / tau_s).exp();
            sum += weight * self.signal.of(&timeline.at(at_s - age_s));
            weights += weight;
        }
        sum / weights
    }

    /// One sample.
    fn sample_v(&self, timeline: &Timeline, at_s: f64, noise: &mut Noise) -> f64 {
        let true_v = self.filtered_v(timeline, at_s);
        let seen_v = true_v * (1.0 + self.gain_error) + self.offset_error_v;
        self.quantised_v(seen_v + self.noise_v * noise.normal())
    }
}

/// When samples are taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TimeBase {
    /// Time in the run of the first sample, s.
    pub from_s: f64,
    /// Time written for the first sample, s.
    pub start_s: f64,
    /// Interval, s.
    pub step_s: f64,
    /// Number of samples.
    pub count: usize,
}

impl TimeBase {
    /// Time in the run of sample `index`, s.
    pub fn at(&self, index: usize) -> f64 {
        self.from_s + index as f64 * self.step_s
    }

    /// Time in the run of the last sample, s.
    pub fn end_s(&self) -> f64 {
        self.at(self.count.saturating_sub(1))
    }
}

/// A channel as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Name in the header.
    pub name: String,
    /// Unit in the header.
    pub unit: String,
    /// Values.
    pub values: Vec<f64>,
}

/// A capture as a scope would have written it, with its truth.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// File name without extension.
    pub name: String,
    /// Channels.
    pub columns: Vec<Column>,
    /// Time of the first sample, s.
    pub start_s: f64,
    /// Interval, s.
    pub step_s: f64,
    pub(super) truth: Value,
}

impl Recorded {
    /// Records a run. Noise of each channel comes from `seed` and the channel's number.
    pub fn new(
        name: &str,
        timeline: &Timeline,
        time: &TimeBase,
        channels: &[ChannelSettings],
        seed: u64,
        truth: Value,
    ) -> Recorded {
        let columns = channels.iter().enumerate().map(|(number, channel)| {
            let mut noise = Noise::new(seed, number as u64 + 1);
            Column {
                name: channel.name.to_owned(),
                unit: "V".to_owned(),
                values: (0..time.count)
                    .map(|index| channel.sample_v(timeline, time.at(index), &mut noise))
                    .collect(),
            }
        });
        Recorded {
            name: name.to_owned(),
            columns: columns.collect(),
            start_s: time.start_s,
            step_s: time.step_s,
            truth,
        }
    }

    /// Number of samples in each channel.
    pub fn len(&self) -> usize {
        self.columns.first().map_or(0, |column| column.values.len())
    }

    /// Is there no sample?
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Text with a header line, a time column, commas, and four decimals at most.
    pub fn to_csv(&self) -> String {
        let mut text = String::from("Time (s)");
        for column in &self.columns {
            text.push_str(&format!(",{} ({})", column.name, column.unit));
        }
        text.push('\n');
        let decimals = decimals(self.step_s);
        for index in 0..self.len() {
            let at_s = self.start_s + index as f64 * self.step_s;
            text.push_str(&fixed(at_s, decimals));
            for column in &self.columns {
                text.push(',');
                text.push_str(&plain(column.values[index]));
            }
            text.push('\n');
        }
        text
    }

    /// What was really there: `cause`, `setup`, `parts`, `channels`, `events`, `quantities`, in SI
    /// base units. Times are those of the record; what is not finite is null.
    pub fn truth(&self) -> Value {
        self.truth.clone()
    }
}

/// Decimals that a step of one significant digit needs, 2 more for its start.
fn decimals(step_s: f64) -> usize {
    (-step_s.log10()).ceil().max(0.0) as usize + 1
}

/// This many decimals; never a minus before nothing but zeros.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(rest) if !rest.contains(|c: char| ('1'..='9').contains(&c)) => rest.to_owned(),
        _ => text,
    }
}

/// Four decimals without trailing zeros.
fn plain(value: f64) -> String {
    let text = fixed(value, 4);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn channel() -> ChannelSettings {
        ChannelSettings {
            name: "CH1",
            signal: Signal::Vcc,
            lowest_v: -1.28,
            full_scale_v: 20.48,
            bits: 8,
            gain_error: 0.0,
            offset_error_v: 0.0,
            noise_v: 0.0,
            bandwidth_hz: None,
        }
    }

    #[test]
    fn codes_are_nearest_and_end_at_the_span() {
        let channel = channel();
        assert!((channel.step_v() - 0.08).abs() < 1e-12);
        for level in [-0.3, 0.0, 3.333, 15.99, 16.04] {
            let error = channel.quantised_v(level) - level;
            assert!(error.abs() <= 0.04 + 1e-9, "{level}: {error}");
        }
        assert!((channel.quantised_v(-5.0) + 1.28).abs() < 1e-12);
        assert!((channel.quantised_v(99.0) - (-1.28 + 255.0 * 0.08)).abs() < 1e-9);
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!(plain(16.080_000_01), "16.08");
        assert_eq!(plain(-0.000_01), "0");
        assert_eq!(plain(5.0), "5");
        assert_eq!(decimals(0.004), 4);
        assert_eq!(decimals(50e-9), 9);
    }
}
