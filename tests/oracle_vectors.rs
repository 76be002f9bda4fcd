//! The closed forms, the model and the edges against numbers made elsewhere: `tests/oracle/*.json`,
//! written by an ODE solver with events and by small steps (`closed_forms.py`), and by scipy's
//! waveforms (`scipy_edges.py`). None of it shares a line with this crate.

use std::path::Path;
use std::sync::Arc;

use firstpulse::controllers::timing::TimingParts;
use firstpulse::data::{Channel, Pulses, TimeAxis};
use firstpulse::signal::of_channel;
use firstpulse::startup::charge::{Charge, Hiccup, bulk_peak_v};
use firstpulse::startup::holdup::OutputRise;
use firstpulse::startup::mains::MainsStart;
use firstpulse::startup::ramp::Ramp;
use firstpulse::startup::timeline::What;
use firstpulse::startup::unit::UnitParts;
use serde_json::Value as Json;

/// The ODE results are printed with 7 digits (half a unit: 5e-8 to 5e-7 of the value); the solver's
/// relative tolerance is 1e-9 or better, so twice the larger of both is the tolerance.
const ODE: f64 = 1e-6;

fn read(name: &str) -> Json {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/oracle")
        .join(name);
    let text = std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

fn number(value: &Json, key: &str) -> f64 {
    value[key]
        .as_f64()
        .unwrap_or_else(|| panic!("no number {key} in {value}"))
}

/// The part values of a vector's unit, by its name in `closed_forms.py`.
#[derive(Clone, Copy)]
struct Unit {
    start_ohm: f64,
    vcc_f: f64,
    leak_ohm: f64,
    /// Below this VCC the standby current falls in proportion; 0: constant.
    knee_v: f64,
    vref_f: f64,
}

const GV24: Unit = Unit {
    start_ohm: 164e3,
    vcc_f: 47e-6,
    leak_ohm: f64::INFINITY,
    knee_v: 2.0,
    vref_f: 1e-6,
};
const STANDBY_A: f64 = 0.5e-3;
const RUN_A: f64 = 14.363_27e-3;
const START_V: f64 = 16.0;
const STOP_V: f64 = 10.0;

impl Unit {
    fn of(name: &str) -> Unit {
        let knee_v = if name.contains("constant") { 0.0 } else { 2.0 };
        let base = Unit { knee_v, ..GV24 };
        let ohm = |start_ohm| Unit { start_ohm, ..base };
        let leak = |leak_ohm| Unit { leak_ohm, ..base };
        let farad = |vcc_f| Unit { vcc_f, ..base };
        match name {
            "c_8u" => farad(8e-6),
            "c_4u7" | "c_4u7_vref_decays" => farad(4.7e-6),
            "leak_8k" => leak(8e3),
            "leak_10k" => leak(10e3),
            "leak_11k" => leak(11e3),
            "leak_12k" => leak(12e3),
            "leak_20k" | "leak_20k_constant_standby" => leak(20e3),
            "leak_50k" => leak(50e3),
            "resistor_300k" => ohm(300e3),
            "resistor_450k" => ohm(450e3),
            "resistor_620k_constant" => ohm(620e3),
            "resistor_1m" => ohm(1e6),
            "gv24"
            | "gv24_esr"
            | "aux_open"
            | "aux_open_esr"
            | "start_constant_standby"
            | "no_leak_constant_standby" => base,
            other => panic!("a unit that this test does not know: {other}"),
        }
    }

    fn node(&self, current_a: f64) -> Charge {
        Charge {
            bulk_v: bulk_peak_v(230.0, 1.0),
            start_resistance_ohm: self.start_ohm,
            vcc_capacitance_f: self.vcc_f,
            current_a,
            leakage_ohm: self.leak_ohm,
        }
    }

    /// Below the knee the standby current is that of a resistor.
    fn below_knee(&self) -> Charge {
        let conductance = STANDBY_A / self.knee_v + self.leak_ohm.recip();
        Charge {
            leakage_ohm: conductance.recip(),
            ..self.node(0.0)
        }
    }

    fn first_start_s(&self) -> f64 {
        let time =
            |charge: Charge, from, to| charge.time_s(from, to).unwrap_or_else(|e| panic!("{e}"));
        let standby = self.node(STANDBY_A);
        if self.knee_v > 0.0 {
            time(self.below_knee(), 0.0, self.knee_v) + time(standby, self.knee_v, START_V)
        } else {
            time(standby, 0.0, START_V)
        }
    }

    /// Where VCC has got to after 400 s (as long as the ODE solver ran) when it never starts.
    fn plateau_v(&self) -> f64 {
        let node = self.node(STANDBY_A);
        let above = node.final_v() * -(-400.0 / node.time_constant_s()).exp_m1();
        if above >= self.knee_v {
            above
        } else {
            self.below_knee().final_v()
        }
    }

    /// Burst and recharge with VREF charged from `vref_from_v` to 5 V.
    fn hiccup(&self, vref_from_v: f64) -> Hiccup {
        let step_v = self.vref_f * (5.0 - vref_from_v) / self.vcc_f;
        Hiccup::new(&self.node(STANDBY_A), RUN_A, START_V, STOP_V, step_v)
            .unwrap_or_else(|e| panic!("{e}"))
    }

    /// Time from the start to the take-over by the own winding, and VCC there: where the fall of VCC
    /// and the rise of the output meet, by halving.
    fn takeover(&self) -> (f64, f64) {
        let running = self.node(RUN_A);
        let from_v = START_V - self.vref_f * 5.0 / self.vcc_f;
        let vcc = |t: f64| {
            let end = running.final_v();
            end + (from_v - end) * (-t / running.time_constant_s()).exp()
        };
        let rise = OutputRise {
            power_w: 80.5435,
            load_ohm: 9.6,
            capacitance_f: 2000e-6,
        };
        let aux = |t: f64| 14.7 / 24.0 * rise.at_v(t) - 0.7;
        let (mut low, mut high) = (0.0, 0.05);
        for _ in 0..100 {
            let middle = 0.5 * (low + high);
            if aux(middle) < vcc(middle) {
                low = middle
            } else {
                high = middle
            }
        }
        (high, vcc(high))
    }
}

/// Series resistance is in no closed form of `charge`: those vectors go against the whole model.
fn with_esr(name: &str, what: &str) -> f64 {
    let parts = UnitParts {
        vcc_esr_ohm: 0.8,
        vref_charge_a: f64::INFINITY,
        vref_pulldown_ohm: 1e-3,
        vref_output_ohm: 0.0,
        aux_ratio: if name == "aux_open_esr" {
            0.0
        } else {
            14.7 / 24.0
        },
        ..UnitParts::gv24()
    };
    let start = MainsStart {
        on_s: 0.0,
        end_s: 0.9,
    };
    let timeline = start.run(&parts).unwrap_or_else(|e| panic!("{e}"));
    let nth = |kind, n: usize| {
        let event = timeline.events_of(kind).nth(n);
        event
            .copied()
            .unwrap_or_else(|| panic!("{name}: no {n}th {kind:?}"))
    };
    match what {
        "0_on_s" => nth(What::Start, 0).at_s,
        "1_off_s" => nth(What::Stop, 0).at_s,
        "2_on_s" => nth(What::Start, 1).at_s,
        "3_off_s" => nth(What::Stop, 1).at_s,
        "1_takeover_s" => nth(What::TakeOver, 0).at_s,
        "takeover_v" => nth(What::TakeOver, 0).vcc_v,
        other => panic!("{other}"),
    }
}

fn start_up(name: &str, what: &str) -> f64 {
    if name.ends_with("_esr") {
        return with_esr(name, what);
    }
    let unit = Unit::of(name);
    let first = unit.first_start_s();
    let full = unit.hiccup(0.0);
    match what {
        "0_on_s" => first,
        "1_takeover_s" => first + unit.takeover().0,
        "takeover_v" => unit.takeover().1,
        "1_off_s" => first + full.burst_s,
        "2_on_s" => first + full.period_s(),
        "3_off_s" if name.ends_with("vref_decays") => {
            // 1 µF through 5 kΩ from one stop to the next start
            let left_v = 5.0 * (-full.recharge_s / 5e-3).exp();
            first + full.period_s() + unit.hiccup(left_v).burst_s
        }
        "3_off_s" => first + full.period_s() + full.burst_s,
        other => panic!("{other}"),
    }
}

fn hiccup(name: &str, what: &str) -> f64 {
    let (vcc_f, vref_f) = match name {
        "47u" => (47e-6, 1e-6),
        "47u_no_vref" => (47e-6, 0.0),
        "1u_no_vref" => (1e-6, 0.0),
        "8u" => (8e-6, 1e-6),
        "4u7" => (4.7e-6, 1e-6),
        other => panic!("{other}"),
    };
    let cycle = Unit {
        vcc_f,
        vref_f,
        knee_v: 0.0,
        ..GV24
    }
    .hiccup(0.0);
    match what {
        "recharge_s" => cycle.recharge_s,
        "burst_s" => cycle.burst_s,
        "period_s" => cycle.period_s(),
        "ratio" => cycle.ratio(),
        other => panic!("{other}"),
    }
}

/// The ramp by both rooms that know it: the model's and the controllers' formulas.
fn ramp(name: &str, what: &str) -> Vec<f64> {
    let (rt_ohm, ct_farad) = match name {
        "10k_3n3" => (10e3, 3.3e-9),
        "13k_1n" => (13e3, 1e-9),
        "1k_10n" => (1e3, 10e-9),
        "680r_22n" => (680.0, 22e-9),
        other => panic!("{other}"),
    };
    let model =
        Ramp::new(5.0, rt_ohm, ct_farad, 1.0, 2.7, 8.3e-3).unwrap_or_else(|| panic!("{name}"));
    let parts = TimingParts {
        rt_ohm,
        ct_farad,
        vref_v: 5.0,
        peak_v: 2.7,
        valley_v: 1.0,
        discharge_a: 8.3e-3,
    };
    let of = |result: Result<f64, _>| {
        result.unwrap_or_else(|e: firstpulse::controllers::timing::NoOscillation| panic!("{e}"))
    };
    match what {
        "rise_s" => vec![model.rise_s, of(parts.rise_s())],
        "fall_s" => vec![model.fall_s, of(parts.fall_s())],
        "frequency_hz" => vec![model.frequency_hz(), of(parts.frequency_hz())],
        "duty_max" => vec![of(parts.max_duty(1))],
        other => panic!("{other}"),
    }
}

#[test]
fn closed_forms_agree_with_the_ode_solver() {
    let document = read("closed_forms.json");
    let vectors = document["vectors"]
        .as_array()
        .map_or(&[][..], Vec::as_slice);
    assert!(vectors.len() >= 60, "the file is not whole");
    let mut failures = Vec::new();
    for vector in vectors {
        let id = vector["id"].as_str().unwrap_or_else(|| panic!("no id"));
        assert_eq!(
            vector["agrees"],
            Json::Bool(true),
            "{id} does not reproduce itself"
        );
        let parts: Vec<&str> = id.split('/').collect();
        let got = match parts.as_slice() {
            ["ramp", name, what] => ramp(name, what),
            ["hiccup", name, what] => vec![hiccup(name, what)],
            ["plateau", name] => vec![Unit::of(name.trim_end_matches("_v")).plateau_v()],
            [name, what] => vec![start_up(name, what)],
            _ => panic!("{id}"),
        };
        let ode = number(vector, "ode");
        let far = |value: &f64| (value - ode).abs() > ODE * ode.abs();
        if got.iter().any(far) {
            failures.push(format!("{id}: {got:?}, ODE {ode}"));
        }
    }
    assert!(failures.is_empty(), "{failures:#?}");
}

/// Samples of an entry: its own where it has noise, else by the formulas in the head of
/// `scipy_edges.py`, held against the first six that scipy gave.
fn samples(entry: &Json) -> Vec<f64> {
    if let Some(values) = entry["values"].as_array() {
        return values.iter().filter_map(Json::as_f64).collect();
    }
    let (fs, f, phase) = (
        number(entry, "fs_hz"),
        number(entry, "f_hz"),
        number(entry, "phase"),
    );
    let (low, high) = (number(entry, "low"), number(entry, "high"));
    let unit = |k: usize| {
        // the same operations in the same order: samples that fall on an edge must fall as they did
        let whole = std::f64::consts::TAU;
        let angle = (whole * (f * k as f64 / fs + phase)).rem_euclid(whole);
        let at = angle / whole;
        if entry["kind"] == "square" {
            return f64::from(u8::from(angle < whole * number(entry, "duty")));
        }
        let width = number(entry, "width");
        if at < width {
            at / width
        } else {
            (1.0 - at) / (1.0 - width)
        }
    };
    let values: Vec<f64> = (0..number(entry, "samples") as usize)
        .map(|k| low + (high - low) * unit(k))
        .collect();
    let first = entry["first"].as_array().map_or(&[][..], Vec::as_slice);
    assert_eq!(first.len(), 6);
    for (mine, scipy) in values.iter().zip(first.iter().filter_map(Json::as_f64)) {
        // printed with 8 digits
        assert!(
            (mine - scipy).abs() <= 1e-7 * high,
            "{mine} instead of {scipy}"
        );
    }
    values
}

fn pulses(entry: &Json) -> (Vec<f64>, Pulses) {
    let values = samples(entry);
    let time = Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s: number(entry, "fs_hz").recip(),
        count: values.len(),
    });
    let facts = of_channel(&Channel::of_volts("1", time, values.clone()));
    let pulses = facts
        .pulses
        .unwrap_or_else(|| panic!("no edges in {}", entry["kind"]));
    (values, pulses)
}

/// Frequency and duty cycle from edges, as `scipy_edges.py` takes them.
fn frequency_and_duty(pulses: &Pulses, fs_hz: f64) -> (f64, f64) {
    let (up, down) = (&pulses.rising, &pulses.falling);
    let frequency = fs_hz * (up.len() - 1) as f64 / (up[up.len() - 1] - up[0]);
    let widths: Vec<f64> = up
        .iter()
        .filter_map(|u| down.iter().find(|d| *d > u).map(|d| d - u))
        .collect();
    let width = widths.iter().sum::<f64>() / widths.len() as f64;
    (frequency, width * frequency / fs_hz)
}

/// How far an edge may move because the program finds its own level: the difference of the levels
/// over the slope between the samples beside it, in samples; and the last of 8 printed digits.
fn room(values: &[f64], at: f64, difference_v: f64) -> f64 {
    let k = at.floor() as usize;
    let slope = values
        .get(k + 1)
        .map_or(f64::NAN, |next| (next - values[k]).abs());
    difference_v / slope + 1e-7 * at + 1e-9
}

#[test]
fn edges_frequency_and_duty_agree_with_scipy() {
    let document = read("edges.json");
    let of = |key: &str| document[key].as_array().cloned().unwrap_or_default();
    let entries = [of("clean"), of("noisy")].concat();
    assert_eq!(entries.len(), 10, "the file is not whole");
    for (index, entry) in entries.iter().enumerate() {
        let (values, pulses) = pulses(entry);
        let wanted = &entry["expected"];
        let span = number(entry, "high") - number(entry, "low");
        let difference = (pulses.threshold - number(entry, "level")).abs();
        assert!(
            difference < 0.02 * span,
            "{index}: level {}",
            pulses.threshold
        );
        let counts = (pulses.rising.len() as f64, pulses.falling.len() as f64);
        assert_eq!(
            counts,
            (number(wanted, "rising"), number(wanted, "falling")),
            "{index}"
        );
        let most = [&pulses.rising, &pulses.falling]
            .into_iter()
            .flatten()
            .map(|at| room(&values, *at, difference))
            .fold(0.0, f64::max);
        let fs = number(entry, "fs_hz");
        let (frequency, duty) = frequency_and_duty(&pulses, fs);
        let (f, d) = (number(wanted, "frequency_hz"), number(wanted, "duty"));
        let periods = pulses.rising[pulses.rising.len() - 1] - pulses.rising[0];
        assert!(
            (frequency / f - 1.0).abs() <= 2.0 * most / periods + 1e-7,
            "{index}: {frequency} Hz instead of {f}"
        );
        assert!(
            (duty - d).abs() <= 2.0 * most * f / fs + 1e-7,
            "{index}: duty {duty} instead of {d}"
        );
        for (key, mine) in [
            ("rising_at", &pulses.rising),
            ("falling_at", &pulses.falling),
        ] {
            let theirs = wanted[key].as_array().map_or(&[][..], Vec::as_slice);
            for (a, b) in mine.iter().zip(theirs.iter().filter_map(Json::as_f64)) {
                let room = room(&values, b, difference);
                assert!(
                    (a - b).abs() <= room,
                    "{index}: {key} {a} instead of {b} ± {room}"
                );
            }
        }
    }
}
