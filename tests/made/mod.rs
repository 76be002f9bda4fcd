//! Captures made in code from formulas, for several tests: no file, and no model of the crate.

// every test uses another part of this
#![allow(dead_code)]

use std::sync::Arc;

use firstpulse::data::options::{ChannelChoice, RoleChoice};
use firstpulse::data::{
    Capture, Channel, Inspection, Judged, Options, Quantity, Role, TimeAxis, Value,
};
use firstpulse::inspect::{self, Library, Shot, ThreadRunner};

/// Pseudo-random numbers from a seed: SplitMix64 (Steele, Lea, Flood 2014), made normal by the
/// method of Box and Muller (1958).
pub struct Dice(pub u64);

impl Dice {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Between 0 and 1, neither included.
    pub fn uniform(&mut self) -> f64 {
        ((self.bits() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    /// Anywhere within ±`half`.
    pub fn within(&mut self, half: f64) -> f64 {
        half * (2.0 * self.uniform() - 1.0)
    }

    /// Normal with mean 0 and standard deviation 1.
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.uniform().ln()).sqrt();
        radius * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// An even time axis from 0.
pub fn even(step_s: f64, count: usize) -> Arc<TimeAxis> {
    Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s,
        count,
    })
}

/// A channel in volts, one value a sample of `time`.
pub fn channel(
    name: &str,
    time: &Arc<TimeAxis>,
    sigma: f64,
    seed: u64,
    f: impl Fn(f64) -> f64,
) -> Channel {
    let mut dice = Dice(seed);
    let values = (0..time.len())
        .map(|i| f(time.at(i)) + sigma * dice.normal())
        .collect();
    Channel::of_volts(name, Arc::clone(time), values)
}

/// A capture of these channels.
pub fn capture(channels: Vec<Channel>) -> Capture {
    Capture {
        file: "made".to_owned(),
        format: "made",
        channels,
        decisions: Vec::new(),
        notes: Vec::new(),
    }
}

/// The capture with its facts.
pub fn shot(channels: Vec<Channel>) -> Arc<Shot> {
    let capture = Arc::new(capture(channels));
    let facts = inspect::facts_of(&capture, &ThreadRunner::new());
    Arc::new(Shot { capture, facts })
}

/// Examines shots with the built-in controllers.
pub fn examine(shots: &[Arc<Shot>], options: &Options) -> Inspection {
    let library = Library::built_in().unwrap_or_else(|e| panic!("{e}"));
    inspect::examine(shots, options, &library).unwrap_or_else(|e| panic!("{e}"))
}

/// Channel `number`, counted from 1, in every capture.
pub fn nth(number: usize) -> ChannelChoice {
    ChannelChoice {
        capture: None,
        channel: number.to_string(),
    }
}

/// Gives the channels these roles, in order.
pub fn roles(roles: &[Role]) -> Vec<RoleChoice> {
    let one = |(i, role): (usize, &Role)| RoleChoice {
        channel: nth(i + 1),
        role: *role,
        place: None,
    };
    roles.iter().enumerate().map(one).collect()
}

/// The first entry of a quantity.
pub fn entry(inspection: &Inspection, quantity: Quantity) -> Option<&Judged> {
    inspection
        .measured
        .iter()
        .find(|j| j.measured.quantity == quantity)
}

/// Its value.
pub fn value(inspection: &Inspection, quantity: Quantity) -> &Value {
    entry(inspection, quantity)
        .and_then(|j| j.measured.value())
        .unwrap_or_else(|| {
            let entry = entry(inspection, quantity);
            panic!("no {}: {entry:?}", quantity.info().id)
        })
}

/// Standard uncertainty of the terms of a budget whose name begins like this.
pub fn term(value: &Value, name: &str) -> f64 {
    let own = value.terms.iter().filter(|t| t.name.starts_with(name));
    own.map(|t| t.u * t.u).sum::<f64>().sqrt()
}

/// Triangle from 0 V to `top_v` and back, `rate_v_s` volts a second, without a rest.
pub fn triangle(t_s: f64, top_v: f64, rate_v_s: f64) -> f64 {
    let leg_s = top_v / rate_v_s;
    let phase_s = t_s.rem_euclid(2.0 * leg_s);
    if phase_s < leg_s {
        rate_v_s * phase_s
    } else {
        top_v - rate_v_s * (phase_s - leg_s)
    }
}

/// VREF beside [`triangle`] for a controller that starts at `start_v` and stops at `stop_v`: 5 V
/// between them, and after the stop a decay with `tau_s`.
pub fn vref_of_triangle(
    t_s: f64,
    top_v: f64,
    rate_v_s: f64,
    start_v: f64,
    stop_v: f64,
    tau_s: f64,
) -> f64 {
    let leg_s = top_v / rate_v_s;
    let phase_s = t_s.rem_euclid(2.0 * leg_s);
    let (on_s, off_s) = (start_v / rate_v_s, leg_s + (top_v - stop_v) / rate_v_s);
    if (on_s..off_s).contains(&phase_s) {
        return 5.0;
    }
    let since_s = if phase_s >= off_s {
        phase_s - off_s
    } else if t_s > phase_s {
        phase_s + 2.0 * leg_s - off_s
    } else {
        return 0.0;
    };
    5.0 * (-since_s / tau_s).exp()
}

/// Rise and fall of the ramp below, in seconds: RT 13 kΩ, CT 1 nF, 8.3 mA, 5 V, 2.7 and 1.0 V, by the
/// node equation (`tests/oracle/closed_forms.json`, ramp/13k_1n).
pub const RISE_S: f64 = 7.194_008e-6;
/// Its fall.
pub const FALL_S: f64 = 0.210_983_2e-6;

/// Exponential sawtooth between 1.0 and 2.7 V.
pub fn ramp(t_s: f64) -> f64 {
    let phase_s = t_s.rem_euclid(RISE_S + FALL_S);
    if phase_s < RISE_S {
        5.0 - 4.0 * (-phase_s / 13e-6).exp()
    } else {
        2.7 - 1.7 * (phase_s - RISE_S) / FALL_S
    }
}

/// OUT of a controller that pulses at every second ramp.
pub fn out(t_s: f64) -> f64 {
    let phase_s = t_s.rem_euclid(2.0 * (RISE_S + FALL_S));
    if phase_s < RISE_S { 12.5 } else { 0.1 }
}

/// VCC of a unit whose own winding never takes over: from 0 V to 16 V in 0.5 s, then down to 10 V in
/// `burst_s` and up again in `recharge_s`, over and over.
pub fn hiccup(t_s: f64, burst_s: f64, recharge_s: f64) -> f64 {
    if t_s < 0.05 {
        return 0.0;
    }
    if t_s < 0.55 {
        return 32.0 * (t_s - 0.05);
    }
    let phase_s = (t_s - 0.55).rem_euclid(burst_s + recharge_s);
    if phase_s < burst_s {
        16.0 - 6.0 * phase_s / burst_s
    } else {
        10.0 + 6.0 * (phase_s - burst_s) / recharge_s
    }
}

/// VREF beside [`hiccup`].
pub fn vref_of_hiccup(t_s: f64, burst_s: f64, recharge_s: f64, tau_s: f64) -> f64 {
    if t_s < 0.55 {
        return 0.0;
    }
    let phase_s = (t_s - 0.55).rem_euclid(burst_s + recharge_s);
    if phase_s < burst_s {
        5.0
    } else {
        5.0 * (-(phase_s - burst_s) / tau_s).exp()
    }
}
