//! The captures that a visit to a unit gives, written by the model from a seed.

use super::error::SimulateError;
use super::faults::Cause;
use super::injected::BenchSupply;
use super::mains::MainsStart;
use super::noise::Noise;
use super::record::{ChannelSettings, Recorded, Signal, TimeBase};
use super::timeline::{Timeline, What};
use super::truth::{Shown, truth};
use super::unit::UnitParts;
use crate::data::Setup;

pub use super::demo::{DEMO_SEED, demo};

/// Up-down sweeps in a sweep shot.
pub const SWEEPS: u32 = 2;
/// Highest voltage of the bench supply in a sweep of a 16 V part, V.
pub const SWEEP_TOP_V: f64 = 18.0;
/// Slope of the bench supply, V/s.
pub const SWEEP_RATE_V_S: f64 = 2.0;
/// VCC that the bench supply is set to for a running shot, V.
pub const RUNNING_VCC_V: f64 = 14.0;

/// Time between the start of a mains record and mains coming on, s.
const MAINS_ON_S: f64 = 0.05;
/// Most samples of a mains record.
const MOST_SAMPLES: f64 = 9_500.0;

/// The shots of a unit with one fault, as the set-ups show them: `sweep-vcc-vref`, `sweep-vcc-rtct`
/// and `running-rtct-out` injected, `mains-start` (VCC and VREF) on mains. The unit is the invented
/// GV-24. The same seed gives the same bytes.
///
/// # Errors
/// [`SimulateError::UnknownCause`], or what the model refuses.
pub fn simulate(cause_id: &str, seed: u64) -> Result<Vec<Recorded>, SimulateError> {
    let visit = Visit::new(cause_id, seed)?;
    Ok(vec![
        visit.sweep("sweep-vcc-vref", Signal::Vref)?,
        visit.sweep("sweep-vcc-rtct", Signal::RtCt)?,
        visit.running("running-rtct-out")?,
        visit.mains_start("mains-start", Signal::Vref)?,
    ])
}

/// A unit with its fault, and the scope of the visit: one gain and offset error for each channel and
/// range, kept over all shots.
pub(super) struct Visit {
    cause: Cause,
    parts: UnitParts,
    seed: u64,
}

impl Visit {
    pub fn new(cause_id: &str, seed: u64) -> Result<Visit, SimulateError> {
        let cause = Cause::from_id(cause_id)?;
        let mut parts = UnitParts::gv24();
        cause.apply(&mut parts);
        Ok(Visit { cause, parts, seed })
    }

    /// Slow up-down sweeps: VCC on CH1, `witness` on CH2.
    pub fn sweep(&self, name: &str, witness: Signal) -> Result<Recorded, SimulateError> {
        let supply = BenchSupply::sweeps(SWEEPS as usize, SWEEP_TOP_V, SWEEP_RATE_V_S, 0.5);
        let timeline = supply.run(&self.parts)?;
        let step_s = 4e-3;
        let time = TimeBase {
            from_s: 0.0,
            start_s: 0.0,
            step_s,
            count: (supply.end_s / step_s).floor() as usize,
        };
        let channels = [self.channel(1, Signal::Vcc), self.channel(2, witness)];
        Ok(self.record(name, Setup::Injected, &timeline, &time, &channels))
    }

    /// A fast record at a set VCC: RT/CT on CH1, OUT on CH2.
    pub fn running(&self, name: &str) -> Result<Recorded, SimulateError> {
        let supply = BenchSupply::held(&self.parts, SWEEP_TOP_V, RUNNING_VCC_V, 2.5);
        let timeline = supply.run(&self.parts)?;
        let time = TimeBase {
            from_s: 2.4,
            start_s: -100e-6,
            step_s: 50e-9,
            count: 4_000,
        };
        // Only here is a bandwidth of 100 MHz near enough to the edges to be seen.
        let channels =
            [(1, Signal::RtCt), (2, Signal::Out)].map(|(number, signal)| ChannelSettings {
                bandwidth_hz: Some(100e6),
                ..self.channel(number, signal)
            });
        Ok(self.record(name, Setup::Injected, &timeline, &time, &channels))
    }

    /// A start on mains: VCC on CH1, `witness` on CH2; six bursts of a hiccup, or the start and what
    /// follows, or ten seconds of nothing.
    pub fn mains_start(&self, name: &str, witness: Signal) -> Result<Recorded, SimulateError> {
        let look = MainsStart {
            on_s: MAINS_ON_S,
            end_s: 10.0,
        };
        let time = mains_time(lasts_s(&look.run(&self.parts)?));
        let end_s = time.end_s() + time.step_s;
        let timeline = MainsStart { end_s, ..look }.run(&self.parts)?;
        let channels = [self.channel(1, Signal::Vcc), self.channel(2, witness)];
        Ok(self.record(name, Setup::Mains, &timeline, &time, &channels))
    }

    fn record(
        &self,
        name: &str,
        setup: Setup,
        timeline: &Timeline,
        time: &TimeBase,
        channels: &[ChannelSettings],
    ) -> Recorded {
        let truth = truth(&Shown {
            cause: self.cause.id,
            setup,
            timeline,
            time,
            channels,
            fast: time.step_s < 1e-6,
        });
        // Every shot has noise of its own.
        let shot = name.bytes().fold(self.seed, |sum, byte| {
            sum.wrapping_mul(257).wrapping_add(u64::from(byte))
        });
        Recorded::new(name, timeline, time, channels, shot, truth)
    }

    /// A channel on the range that suits its signal, with an error of gain within ±1 % and of offset
    /// within ±0.5 % of the span: what a bench scope may have.
    fn channel(&self, number: u64, signal: Signal) -> ChannelSettings {
        let (lowest_v, full_scale_v, noise_v) = match signal {
            Signal::Vcc => (-1.28, 20.48, 0.030),
            Signal::Out => (-1.28, 20.48, 0.030),
            Signal::Vref => (-1.28, 8.192, 0.020),
            Signal::RtCt => (-0.64, 5.12, 0.020),
            Signal::Output => (-2.56, 40.96, 0.040),
            Signal::Bulk => (-32.0, 512.0, 0.5),
        };
        let mut errors = Noise::new(self.seed, 1_000 * number + signal as u64);
        ChannelSettings {
            name: if number == 1 { "CH1" } else { "CH2" },
            signal,
            lowest_v,
            full_scale_v,
            bits: 8,
            gain_error: 0.01 * errors.signed(),
            offset_error_v: 0.005 * full_scale_v * errors.signed(),
            noise_v,
            bandwidth_hz: None,
        }
    }
}

/// How long a mains record has to be to show what the unit does.
fn lasts_s(look: &Timeline) -> f64 {
    const BURSTS: usize = 6;
    let starts: Vec<f64> = look
        .events_of(What::Start)
        .map(|event| event.at_s)
        .collect();
    let stops: Vec<f64> = look.events_of(What::Stop).map(|event| event.at_s).collect();
    match (starts.last(), starts.get(BURSTS), stops.get(BURSTS - 1)) {
        (_, Some(next), Some(stop)) => stop + 0.4 * (next - stop),
        (Some(last), _, _) if stops.len() < starts.len() => last + 0.45,
        _ => look.end_s(),
    }
}

/// A record of at least this length, its interval from the series 1, 2, 5.
fn mains_time(lasts_s: f64) -> TimeBase {
    let wanted_s = lasts_s / MOST_SAMPLES;
    let decade_s = 10_f64.powf(wanted_s.log10().floor());
    let factor = [1.0, 2.0, 5.0, 10.0]
        .into_iter()
        .find(|factor| factor * decade_s >= wanted_s)
        .unwrap_or(10.0);
    let step_s = factor * decade_s;
    TimeBase {
        from_s: 0.0,
        start_s: -MAINS_ON_S,
        step_s,
        count: (lasts_s / step_s).ceil() as usize,
    }
}
