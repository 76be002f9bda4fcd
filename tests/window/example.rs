//! A unit made by hand, in the shape of the built-in one: two groups, four shots and one.

use std::sync::Arc;

use firstpulse::data::{Capture, Channel, Facts, Options, Pyramid, TimeAxis};
use firstpulse::inspect::{Case, Group, Shot};

#[path = "findings.rs"]
mod findings;
#[path = "inspections.rs"]
mod inspections;

pub use inspections::inspections;

/// Facts as a pass over the samples would find them, as far as the window uses them.
pub fn facts(values: &[f64], base: usize, factor: usize) -> Facts {
    let pair = |chunk: &[f64]| {
        let low = chunk.iter().copied().fold(f64::INFINITY, f64::min);
        let high = chunk.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let (mut down, mut up) = (low as f32, high as f32);
        if f64::from(down) > low {
            down = down.next_down();
        }
        if f64::from(up) < high {
            up = up.next_up();
        }
        (down, up)
    };
    let mut levels = Vec::new();
    let mut level: Vec<(f32, f32)> = values.chunks(base).map(pair).collect();
    let join = |pairs: &[(f32, f32)]| {
        let widest = (f32::INFINITY, f32::NEG_INFINITY);
        pairs
            .iter()
            .fold(widest, |a, pair| (a.0.min(pair.0), a.1.max(pair.1)))
    };
    while level.len() > factor {
        let coarser = level.chunks(factor).map(join).collect();
        levels.push(std::mem::replace(&mut level, coarser));
    }
    levels.push(level);
    let mean = |chunk: &[f64]| {
        let numbers: Vec<f64> = chunk.iter().copied().filter(|v| v.is_finite()).collect();
        numbers.iter().sum::<f64>() / numbers.len() as f64
    };
    Facts {
        count: values.len() as u64,
        valid: values.iter().filter(|value| value.is_finite()).count() as u64,
        min: values.iter().copied().fold(f64::NAN, f64::min),
        max: values.iter().copied().fold(f64::NAN, f64::max),
        mean: mean(values),
        pyramid: Pyramid {
            base,
            factor,
            levels,
            means: values.chunks(base).map(mean).collect(),
        },
        ..Facts::default()
    }
}

/// Small fixed-seed noise, uniform from −1 to 1.
pub struct Noise(pub u64);

impl Noise {
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1_u64 << 52) as f64 - 1.0
    }
}

pub type Wave = Box<dyn Fn(f64, &mut Noise) -> f64>;

pub fn shot(file: &str, length_s: f64, count: usize, waves: Vec<(&str, Wave)>) -> Arc<Shot> {
    let step_s = length_s / count as f64;
    let time = Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s,
        count,
    });
    let mut noise = Noise(7);
    let mut channels = Vec::new();
    let mut found = Vec::new();
    for (name, wave) in waves {
        let values: Vec<f64> = (0..count)
            .map(|k| {
                let exact = wave(k as f64 * step_s, &mut noise);
                // an 8-bit instrument
                (exact / 0.08).round() * 0.08
            })
            .collect();
        found.push(Arc::new(facts(&values, 64, 8)));
        channels.push(Channel::of_volts(name, Arc::clone(&time), values));
    }
    let capture = Arc::new(Capture {
        file: file.to_owned(),
        format: "csv",
        channels,
        decisions: Vec::new(),
        notes: Vec::new(),
    });
    Arc::new(Shot {
        capture,
        facts: found,
    })
}

const START: f64 = 16.04;
const STOP: f64 = 10.06;

fn swept(t: f64) -> f64 {
    let phase = (t / 10.0).fract();
    if phase < 0.5 {
        40.0 * phase
    } else {
        40.0 * (1.0 - phase)
    }
}

fn swept_runs(t: f64) -> bool {
    let vcc = swept(t);
    let rising = (t / 10.0).fract() < 0.5;
    if rising { vcc > START } else { vcc > STOP }
}

fn ticking(t: f64) -> (f64, bool) {
    let first = 1.1;
    if t < first {
        return (
            START * (1.0 - (-t / 0.55_f64).exp()) / (1.0 - (-first / 0.55_f64).exp()),
            false,
        );
    }
    let phase = (t - first) % 0.42;
    if phase < 0.06 {
        (START - (START - STOP) * phase / 0.06, true)
    } else {
        (STOP + (START - STOP) * (phase - 0.06) / 0.36, false)
    }
}

fn ramp(t: f64) -> f64 {
    let phase = (t * 67_500.0).fract();
    if phase < 0.93 {
        1.2 + 1.6 * phase / 0.93
    } else {
        2.8 - 1.6 * (phase - 0.93) / 0.07
    }
}

fn fuzz(value: f64, noise: &mut Noise) -> f64 {
    value + 0.06 * noise.next()
}

fn sweep_vref() -> Arc<Shot> {
    shot(
        "gv24-injected-vcc-vref.csv",
        10.0,
        100_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(swept(t), n))),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if swept_runs(t) { 4.98 } else { 0.02 }, n)),
            ),
        ],
    )
}

fn sweep_ramp() -> Arc<Shot> {
    shot(
        "gv24-injected-vcc-rtct.csv",
        10.0,
        100_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(swept(t), n))),
            (
                "CH2",
                Box::new(move |t, n| {
                    let level = if swept_runs(t) {
                        2.0 + 0.8 * n.next()
                    } else {
                        0.0
                    };
                    fuzz(level, n)
                }),
            ),
        ],
    )
}

fn running() -> Arc<Shot> {
    shot(
        "gv24-injected-running-rtct-out.csv",
        2e-4,
        5_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(ramp(t), n))),
            (
                "CH2",
                Box::new(move |t, n| {
                    let on = (t * 33_750.0).fract() < 0.47;
                    fuzz(if on { 13.4 } else { 0.1 }, n)
                }),
            ),
        ],
    )
}

fn ticks() -> Arc<Shot> {
    shot(
        "gv24-mains-start-vcc-vref.csv",
        4.0,
        80_000,
        vec![
            ("CH1", Box::new(move |t, n| fuzz(ticking(t).0, n))),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if ticking(t).1 { 4.98 } else { 0.02 }, n)),
            ),
        ],
    )
}

fn taken_over() -> Arc<Shot> {
    shot(
        "gv24-after-mains-start.csv",
        4.0,
        80_000,
        vec![
            (
                "CH1",
                Box::new(move |t, n| {
                    let level = if t < 1.1 {
                        ticking(t).0
                    } else {
                        13.1 + 2.9 * (-(t - 1.1) / 0.02).exp()
                    };
                    fuzz(level, n)
                }),
            ),
            (
                "CH2",
                Box::new(move |t, n| fuzz(if t >= 1.1 { 4.98 } else { 0.02 }, n)),
            ),
        ],
    )
}

/// The unit: as found, and after the repair.
pub fn case() -> Case {
    let group = |title: &str, shots| Group {
        title: title.to_owned(),
        shots,
        options: Options {
            controller: Some("UC3844".to_owned()),
            ..Options::default()
        },
    };
    Case {
        title: "GV-24".to_owned(),
        groups: vec![
            group(
                "as found",
                vec![sweep_vref(), sweep_ramp(), running(), ticks()],
            ),
            group("after the repair", vec![taken_over()]),
        ],
    }
}
