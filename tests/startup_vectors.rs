//! The start-up model against published figures, worked examples, and a fixed-step integration
//! that shares nothing with it.

use firstpulse::startup::charge::{Charge, Hiccup, Steps, bulk_peak_v};
use firstpulse::startup::faults::Cause;
use firstpulse::startup::holdup::{OutputRise, smallest_vcc_capacitor_f};
use firstpulse::startup::injected::BenchSupply;
use firstpulse::startup::mains::MainsStart;
use firstpulse::startup::ramp::Ramp;
use firstpulse::startup::timeline::{Timeline, What};
use firstpulse::startup::unit::UnitParts;

fn near(value: f64, wanted: f64, within: f64, what: &str) {
    assert!(
        (value - wanted).abs() <= within,
        "{what}: {value} instead of {wanted} ± {within}"
    );
}

/// The unit of the vectors: VREF empty at every start and charged at once.
fn vector_unit() -> UnitParts {
    UnitParts {
        vcc_esr_ohm: 0.0,
        vref_charge_a: f64::INFINITY,
        vref_pulldown_ohm: 1e-3,
        vref_output_ohm: 0.0,
        ..UnitParts::gv24()
    }
}

fn mains(parts: &UnitParts, end_s: f64) -> Timeline {
    MainsStart { on_s: 0.0, end_s }.run(parts).unwrap()
}

fn times(timeline: &Timeline, what: What) -> Vec<f64> {
    timeline.events_of(what).map(|event| event.at_s).collect()
}

/// A plain stepping run of a start on mains (midpoint rule), written for this test: the times of
/// starts and stops, and time and VCC of the first take-over.
fn stepped(parts: &UnitParts, end_s: f64, step_s: f64) -> (Vec<f64>, Vec<f64>, Option<(f64, f64)>) {
    let tau_rc = parts.rt_ohm * parts.ct_f;
    let rise = tau_rc * (4.0_f64 / 2.3).ln();
    let v_inf = 5.0 - parts.discharge_a * parts.rt_ohm;
    let fall = tau_rc * ((2.7 - v_inf) / (1.0 - v_inf)).ln();
    let f_sw = 0.5 / (rise + fall);
    let i_run = parts.run_current_a + parts.gate_charge_c * f_sw;
    let peak = 1.0 / parts.sense_ohm;
    let power = 0.5 * parts.primary_inductance_h * peak * peak * f_sw * parts.efficiency;
    let (mut u, mut e, mut on, mut held) = (0.0_f64, 0.0_f64, false, false);
    let (mut starts, mut stops, mut taken) = (Vec::new(), Vec::new(), None);
    let full = 0.5 * parts.output_capacitance_f * 24.0 * 24.0;
    let load = |v: f64, on: bool| {
        let own = if on {
            i_run
        } else {
            parts.standby_current_a * (v / 2.0).min(1.0)
        };
        own + v / parts.leakage_ohm
    };
    let into = |u: f64, on: bool| {
        // Pin voltage by two fixed-point turns; the series resistance is small.
        let mut v = u;
        let mut i = 0.0;
        for _ in 0..4 {
            i = (parts.bulk_v - v) / parts.start_resistance_ohm - load(v, on);
            v = u + parts.vcc_esr_ohm * i;
        }
        (i, v)
    };
    for n in 0..(end_s / step_s) as usize {
        let t = n as f64 * step_s;
        let out = (2.0 * e / parts.output_capacitance_f).sqrt();
        let aux = parts.aux_ratio * out - parts.aux_diode_v;
        let v = into(u, on).1;
        if on && !held && aux >= v {
            held = true;
            taken = taken.or(Some((t, v)));
        }
        let v = if held { aux } else { v };
        if !on && v >= parts.vcc_start_v {
            on = true;
            starts.push(t);
            u -= parts.vref_capacitance_f * 5.0 / parts.vcc_capacitance_f;
        } else if on && v <= parts.vcc_stop_v {
            on = false;
            held = false;
            stops.push(t);
        }
        let given = if on { power } else { 0.0 };
        let de = |e: f64| given - 2.0 * e / (parts.load_ohm * parts.output_capacitance_f);
        e = (e + step_s * de(e + 0.5 * step_s * de(e)))
            .min(full)
            .max(0.0);
        let middle = u + 0.5 * step_s * into(u, on).0 / parts.vcc_capacitance_f;
        u = if held {
            aux
        } else {
            u + step_s * into(middle, on).0 / parts.vcc_capacitance_f
        };
    }
    (starts, stops, taken)
}

#[test]
fn charge_before_a_start() {
    near(bulk_peak_v(230.0, 1.0), 323.269, 1e-3, "bulk at 230 V");
    near(
        bulk_peak_v(264.0, 0.0),
        373.4,
        0.05,
        "published bulk at 264 V",
    );
    let charge = Charge {
        bulk_v: bulk_peak_v(230.0, 1.0),
        start_resistance_ohm: 164e3,
        vcc_capacitance_f: 47e-6,
        current_a: 0.5e-3,
        leakage_ohm: f64::INFINITY,
    };
    near(charge.final_v(), 241.269, 1e-3, "final");
    near(charge.time_constant_s(), 7.7080, 1e-4, "tau");
    near(charge.time_s(0.0, 16.0).unwrap(), 0.528901, 1e-6, "time");
    near(charge.largest_start_resistor_ohm(16.0), 614.5e3, 100.0, "R");
    near(
        charge.smallest_leakage_ohm(16.0).unwrap(),
        11.65e3,
        10.0,
        "R_leak",
    );
    near(
        charge.start_current_a(16.0),
        1.874e-3,
        1e-6,
        "spare current",
    );
    let leaky = |leakage_ohm| Charge {
        leakage_ohm,
        ..charge
    };
    near(leaky(20e3).final_v(), 26.22, 0.01, "final, 20 kΩ");
    near(
        leaky(10e3).time_s(0.0, 16.0).unwrap_err().final_v,
        13.9,
        0.05,
        "plateau, 10 kΩ",
    );
    near(
        leaky(11e3).time_s(0.0, 16.0).unwrap_err().final_v,
        15.2,
        0.05,
        "plateau, 11 kΩ",
    );
    let high = Charge {
        start_resistance_ohm: 620e3,
        ..charge
    };
    near(
        high.time_s(0.0, 16.0).unwrap_err().final_v,
        13.3,
        0.05,
        "620 kΩ",
    );
    let hot = Charge {
        bulk_v: bulk_peak_v(253.0, 1.0),
        ..charge
    };
    near(hot.dissipation_w(14.0), 0.712, 0.003, "dissipation");
    for (current_a, wanted) in [(0.5e-3, 0.101), (1e-3, 0.148)] {
        let published = Charge {
            bulk_v: 320.0,
            start_resistance_ohm: 150e3,
            vcc_capacitance_f: 10e-6,
            current_a,
            leakage_ohm: f64::INFINITY,
        };
        near(
            published.time_s(0.0, 16.0).unwrap(),
            wanted,
            1e-3,
            "150 kΩ, 10 µF",
        );
    }
    let nothing = Charge {
        start_resistance_ohm: f64::INFINITY,
        ..charge
    };
    assert!(nothing.time_s(0.0, 16.0).is_err());
}

#[test]
fn hiccup_cycle() {
    let parts = vector_unit();
    let charge = Charge {
        bulk_v: parts.bulk_v,
        start_resistance_ohm: 164e3,
        vcc_capacitance_f: 47e-6,
        current_a: 0.5e-3,
        leakage_ohm: f64::INFINITY,
    };
    near(
        parts.running_current_a(),
        14.36327e-3,
        1e-8,
        "running current",
    );
    let cycle = |c: f64, step_v: f64| {
        let charge = Charge {
            vcc_capacitance_f: c,
            ..charge
        };
        Hiccup::new(&charge, parts.running_current_a(), 16.0, 10.0, step_v).unwrap()
    };
    let plain = cycle(47e-6, 0.0);
    near(plain.recharge_s, 0.202615, 1e-6, "recharge");
    near(plain.burst_s, 0.022612, 1e-6, "burst");
    near(plain.ratio(), 8.961, 1e-3, "ratio");
    near(
        cycle(1e-6, 0.0).ratio(),
        8.961,
        1e-3,
        "ratio does not hold C",
    );
    near(cycle(1e-6, 0.0).period_s(), 4.79e-3, 5e-6, "period at 1 µF");
    let burst = |c: f64| cycle(c, 5e-6 / c).burst_s;
    near(burst(47e-6), 22.21e-3, 5e-6, "burst with VREF charge");
    near(burst(8e-6), 3.45e-3, 5e-6, "burst at 8 µF");
    near(burst(4.7e-6), 1.86e-3, 5e-6, "burst at 4.7 µF");
    let shorted = Hiccup::new(&charge, 97e-3, 16.0, 10.0, 0.0).unwrap();
    near(shorted.burst_s, 2.97e-3, 1e-5, "burst, VREF shorted");
    near(shorted.ratio(), 68.3, 0.1, "ratio, VREF shorted");
    let silent = Hiccup::new(&charge, 12e-3, 16.0, 10.0, 5.0 / 47.0).unwrap();
    near(silent.burst_s, 27.0e-3, 0.5e-3, "burst, no gate charge");
    near(silent.ratio(), 7.4, 0.1, "ratio, no gate charge");
}

#[test]
fn steps_at_start_and_stop() {
    let jump_a = 14.36327e-3 - 0.5e-3;
    for (esr_ohm, start_v, stop_v) in [(5.0, 0.17570, 0.06932), (30.0, 0.52228, 0.41590)] {
        let steps = Steps::new(jump_a, esr_ohm, 5e-6, 47e-6);
        near(steps.start_v, start_v, 1e-5, "start step");
        near(steps.stop_v, stop_v, 1e-5, "stop step");
        near(steps.esr_ohm(jump_a), esr_ohm, 1e-9, "ESR");
        near(steps.capacitance_ratio(5.0), 47.0, 1e-6, "C over C_ref");
        // The model shows the same steps, but for what the start resistor gives more at the lower
        // VCC: 0.5 V over 164 kΩ, times 30 Ω.
        let parts = UnitParts {
            vcc_esr_ohm: esr_ohm,
            aux_ratio: 0.0,
            ..vector_unit()
        };
        let timeline = mains(&parts, 0.6);
        let at = |t: f64| timeline.at(t).vcc_v;
        let on = times(&timeline, What::Start)[0];
        let off = times(&timeline, What::Stop)[0];
        near(
            at(on - 1e-9) - at(on + 1e-9),
            start_v,
            1e-4,
            "modelled start step",
        );
        near(
            at(off + 1e-9) - at(off - 1e-9),
            stop_v,
            1e-4,
            "modelled stop step",
        );
    }
}

#[test]
fn hold_up_and_take_over() {
    let parts = vector_unit();
    near(parts.power_limit_w(), 80.5435, 1e-3, "power limit");
    let rise = OutputRise::of(&parts);
    near(rise.at_v(10e-3), 22.3691, 1e-3, "output at 10 ms");
    near(rise.time_s(24.0).unwrap(), 13.116e-3, 2e-6, "24 V");
    near(
        rise.time_s((10.0 + 0.7) / parts.aux_ratio).unwrap(),
        4.819e-3,
        2e-6,
        "aux at 10 V",
    );
    assert!(rise.time_s(60.0).is_none());
    near(
        smallest_vcc_capacitor_f(&parts).unwrap(),
        10.85e-6,
        0.02e-6,
        "smallest C",
    );
    // In the first burst; later ones find some charge left in the output capacitor.
    let starts = |c: f64| {
        let parts = UnitParts {
            vcc_capacitance_f: c,
            ..parts.clone()
        };
        let timeline = mains(&parts, 0.3);
        timeline
            .events
            .iter()
            .find(|e| matches!(e.what, What::TakeOver | What::Stop))
            .map(|e| e.what)
            == Some(What::TakeOver)
    };
    assert!(starts(10.86e-6));
    assert!(!starts(10.84e-6));
    for (c, margin_v) in [(47e-6, 3.14), (22e-6, 1.68), (15e-6, 0.80), (12e-6, 0.26)] {
        let parts = UnitParts {
            vcc_capacitance_f: c,
            ..parts.clone()
        };
        let timeline = mains(&parts, 0.7);
        let taken = timeline.events_of(What::TakeOver).next().unwrap();
        near(taken.vcc_v - 10.0, margin_v, 0.006, "margin");
    }
    let half = UnitParts {
        load_ohm: 19.2,
        ..parts.clone()
    };
    let timeline = mains(&half, 0.6);
    let delay = times(&timeline, What::TakeOver)[0] - times(&timeline, What::Start)[0];
    near(delay, 8.4e-3, 0.3e-3, "take-over at half load");
}

#[test]
fn power_limit_falls_with_the_bulk() {
    for (bulk_v, power_w) in [(323.27, 80.5), (190.0, 80.5), (160.0, 61.3), (120.0, 34.5)] {
        let parts = UnitParts {
            bulk_v,
            ..vector_unit()
        };
        near(parts.power_limit_w(), power_w, 0.06, "power limit");
    }
}

#[test]
fn oscillator() {
    for (rt, ct, rise, fall, f) in [
        (10e3, 3.3e-9, 18.2617e-6, 0.7026e-6, 52.731e3),
        (13e3, 1e-9, 7.1940e-6, 0.2110e-6, 135.044e3),
        (1e3, 10e-9, 5.5339e-6, 3.3314e-6, 112.80e3),
        (680.0, 22e-9, 8.2786e-6, 10.6221e-6, 52.91e3),
    ] {
        let ramp = Ramp::new(5.0, rt, ct, 1.0, 2.7, 8.3e-3).unwrap();
        near(ramp.rise_s, rise, 1e-10, "rise");
        near(ramp.fall_s, fall, 1e-10, "fall");
        near(ramp.frequency_hz(), f, f * 1e-4, "frequency");
        let (peak, valley) = turning_points(&ramp);
        near(peak, 2.7, 2e-3, "peak");
        near(valley, 1.0, 2e-3, "valley");
    }
    assert!(Ramp::new(5.0, 480.0, 1e-9, 1.0, 2.7, 8.3e-3).is_none());
    assert!(Ramp::new(0.04, 13e3, 1e-9, 1.0, 2.7, 8.3e-3).is_none());
}

/// Extremes of 20 000 samples over ten cycles, the first left out.
fn turning_points(ramp: &Ramp) -> (f64, f64) {
    let span = 10.0 * ramp.period_s();
    (0..20_000)
        .map(|n| ramp.at(2.0 * span + f64::from(n) * span / 20_000.0))
        .fold((f64::MIN, f64::MAX), |(high, low), v| {
            (high.max(v), low.min(v))
        })
}

#[test]
fn regression_vectors_of_a_start_on_mains() {
    let with = |change: fn(&mut UnitParts)| {
        let mut parts = vector_unit();
        change(&mut parts);
        parts
    };
    let hiccups: [(&str, UnitParts, [f64; 4]); 4] = [
        (
            "aux open",
            with(|p| p.aux_ratio = 0.0),
            [0.51996, 0.54217, 0.74479, 0.76700],
        ),
        (
            "8 µF",
            with(|p| p.vcc_capacitance_f = 8e-6),
            [0.08850, 0.09195, 0.12644, 0.12989],
        ),
        (
            "4.7 µF",
            with(|p| p.vcc_capacitance_f = 4.7e-6),
            [0.05200, 0.05386, 0.07412, 0.07598],
        ),
        (
            "aux open, 0.8 Ω",
            with(|p| (p.aux_ratio, p.vcc_esr_ohm) = (0.0, 0.8)),
            [0.51994, 0.54211, 0.74435, 0.76652],
        ),
    ];
    for (name, parts, [on1, off1, on2, off2]) in hiccups {
        let timeline = mains(&parts, off2 + 0.001);
        let on = times(&timeline, What::Start);
        let off = times(&timeline, What::Stop);
        for (value, wanted) in [(on[0], on1), (off[0], off1), (on[1], on2), (off[1], off2)] {
            near(value, wanted, 20e-6, name);
        }
    }
    for (esr_ohm, on, taken_s, taken_v) in [
        (0.0, 0.51996, 0.53033, 13.141),
        (0.8, 0.51994, 0.53029, 13.134),
    ] {
        let parts = UnitParts {
            vcc_esr_ohm: esr_ohm,
            ..vector_unit()
        };
        let timeline = mains(&parts, 0.6);
        let taken = timeline.events_of(What::TakeOver).next().unwrap();
        near(times(&timeline, What::Start)[0], on, 20e-6, "start");
        near(taken.at_s, taken_s, 20e-6, "take-over");
        near(taken.vcc_v, taken_v, 1e-3, "VCC at the take-over");
        near(timeline.at(0.6).vcc_v, 14.0, 1e-9, "settled");
        assert!(times(&timeline, What::Stop).is_empty());
    }
    let late: [(UnitParts, f64); 2] = [
        (with(|p| p.leakage_ohm = 20e3), 0.77977),
        (with(|p| p.start_resistance_ohm = 300e3), 1.32027),
    ];
    for (parts, on) in late {
        near(
            times(&mains(&parts, on + 0.01), What::Start)[0],
            on,
            20e-6,
            "late start",
        );
    }
    let kept = with(|p| (p.vcc_capacitance_f, p.vref_pulldown_ohm) = (4.7e-6, 5e3));
    near(
        times(&mains(&kept, 0.08), What::Stop)[1],
        0.07599,
        20e-6,
        "VREF keeps some charge",
    );
}

#[test]
fn stepping_agrees_with_the_model() {
    let units = [
        UnitParts {
            aux_ratio: 0.0,
            vcc_capacitance_f: 8e-6,
            ..vector_unit()
        },
        UnitParts {
            vcc_capacitance_f: 4.7e-6,
            vcc_esr_ohm: 0.8,
            ..vector_unit()
        },
        UnitParts {
            vcc_capacitance_f: 12e-6,
            leakage_ohm: 30e3,
            ..vector_unit()
        },
        UnitParts {
            vcc_capacitance_f: 8e-6,
            load_ohm: 24.0,
            ..vector_unit()
        },
    ];
    for (number, parts) in units.iter().enumerate() {
        let end_s = 0.25;
        let timeline = mains(parts, end_s);
        let (on, off, taken) = stepped(parts, end_s, 0.2e-6);
        let name = format!("unit {number}");
        let same = |model: Vec<f64>, other: &[f64]| {
            assert_eq!(model.len(), other.len(), "{name}");
            for (a, b) in model.iter().zip(other) {
                near(*a, *b, 20e-6, &name);
            }
        };
        same(times(&timeline, What::Start), &on);
        same(times(&timeline, What::Stop), &off);
        let model = timeline.events_of(What::TakeOver).next();
        assert_eq!(model.is_some(), taken.is_some(), "{name}");
        if let (Some(event), Some((at_s, vcc_v))) = (model, taken) {
            near(event.at_s, at_s, 20e-6, &name);
            near(event.vcc_v, vcc_v, 5e-3, &name);
        }
    }
}

/// A bench supply by itself: implicit Euler steps of the node with the diode solved at each step.
fn stepped_sweep(parts: &UnitParts, supply: &BenchSupply, step_s: f64) -> Vec<(bool, f64, f64)> {
    let (mut v, mut on, mut crossings) = (0.0_f64, false, Vec::new());
    for n in 0..(supply.end_s / step_s) as usize {
        let t = n as f64 * step_s;
        let source = supply.at(t).0;
        let own = if on {
            parts.running_current_a()
        } else {
            0.5e-3 * (v / 2.0).min(1.0)
        };
        // Newton on the lead current, damped from the side where the logarithm is steep.
        let next = |i: f64| {
            v + step_s / parts.vcc_capacitance_f * (i - own - v / parts.start_resistance_ohm)
        };
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..45 {
            let i: f64 = 0.5 * (low + high);
            let drop = 1.75 * 0.026 * (i / 2.5e-9 + 1.0).ln() + 22.0 * i;
            if source - drop > next(i) {
                low = i
            } else {
                high = i
            }
        }
        v = next(0.5 * (low + high));
        if on != (v >= if on { 10.0 } else { 16.0 }) {
            on = !on;
            crossings.push((on, t, v));
            v -= if on {
                5e-6 / parts.vcc_capacitance_f
            } else {
                0.0
            };
        }
    }
    crossings
}

#[test]
fn bench_sweep_agrees_with_stepping() {
    let parts = vector_unit();
    let mut supply = BenchSupply::sweeps(1, 18.0, 20.0, 0.05);
    supply.series_ohm = 22.0;
    let timeline = supply.run(&parts).unwrap();
    let model: Vec<_> = timeline
        .events
        .iter()
        .map(|e| (e.what == What::Start, e.at_s))
        .collect();
    let other = stepped_sweep(&parts, &supply, 10e-6);
    assert_eq!(model.len(), 2);
    assert_eq!(other.len(), 2);
    for ((on, at_s), (other_on, other_s, _)) in model.iter().zip(&other) {
        assert_eq!(on, other_on);
        // 0.1 ms at 20 V/s is 2 mV.
        near(*at_s, *other_s, 100e-6, "event of the sweep");
    }
}

#[test]
fn run_current_pulls_vcc_down_by_resistor_and_diode() {
    let parts = vector_unit();
    let supply = BenchSupply::sweeps(1, 18.0, 2.0, 0.5);
    let timeline = supply.run(&parts).unwrap();
    let start = timeline.events_of(What::Start).next().unwrap();
    let stop = timeline.events_of(What::Stop).next().unwrap();
    near(start.vcc_v, 16.0, 1e-9, "start threshold");
    near(stop.vcc_v, 10.0, 1e-9, "stop threshold");
    // 22 Ω · 13.86 mA = 0.305 V; diode 45.5 mV · ln(14.5/0.6) = 0.145 V.
    let before_v = timeline.at(start.at_s - 1e-6).vcc_v;
    let after_v = timeline.at(start.at_s + 20e-3).vcc_v;
    near(before_v - after_v + 0.04, 0.45, 0.02, "step in the feed");
    let rebound_v = timeline.at(stop.at_s + 20e-3).vcc_v - 10.0;
    assert!((0.2..0.45).contains(&rebound_v), "{rebound_v}");
    // VREF falls with C_ref · 5 kΩ.
    let unit = UnitParts {
        vref_pulldown_ohm: 5e3,
        ..parts
    };
    let timeline = supply.run(&unit).unwrap();
    let stop = timeline.events_of(What::Stop).next().unwrap().at_s;
    near(
        timeline.at(stop + 5e-3).vref_v,
        5.0 * (-1.0_f64).exp(),
        1e-6,
        "VREF",
    );
}

#[test]
fn slow_samples_of_a_fast_ramp_show_its_turning_points() {
    let parts = UnitParts::gv24();
    let supply = BenchSupply::held(&parts, 18.0, 14.0, 6.0);
    let timeline = supply.run(&parts).unwrap();
    near(timeline.at(5.0).vcc_v, 14.0, 1e-3, "VCC as set");
    let mut seen: Vec<f64> = (0..1000)
        .map(|n| timeline.at(3.0 + f64::from(n) * 2e-3).rt_ct_v)
        .collect();
    seen.sort_by(f64::total_cmp);
    near(seen[5], 1.0, 0.03, "0.5 % quantile");
    near(seen[994], 2.7, 0.03, "99.5 % quantile");
    let high = (0..1000).filter(|n| timeline.at(3.0 + f64::from(*n) * 2e-3).out_v > 6.0);
    near(
        high.count() as f64 / 1000.0,
        0.4858,
        0.03,
        "share of samples with OUT high",
    );
}

#[test]
fn faults_do_what_their_entries_say() {
    let start = |id: &str, end_s: f64| {
        let mut parts = vector_unit();
        Cause::from_id(id).unwrap().apply(&mut parts);
        mains(&parts, end_s)
    };
    let first = |timeline: &Timeline| times(timeline, What::Start).first().copied();
    near(
        first(&start("vcc-leakage", 3.0)).unwrap(),
        1.881,
        1e-3,
        "12 kΩ leak",
    );
    near(
        first(&start("start-resistor-high", 4.0)).unwrap(),
        3.55,
        5e-3,
        "450 kΩ",
    );
    assert!(first(&start("start-path-open", 5.0)).is_none());
    let low = start("aux-voltage-low", 1.0);
    assert!(times(&low, What::TakeOver).is_empty() && !times(&low, What::Stop).is_empty());
    let silent = start("feedback-holds-off", 1.0);
    let gate = start("gate-path-open", 1.0);
    let burst = |t: &Timeline| times(t, What::Stop)[0] - times(t, What::Start)[0];
    near(burst(&silent), 27.0e-3, 0.5e-3, "silent burst");
    near(
        burst(&gate),
        burst(&silent),
        1e-9,
        "open gate draws the same",
    );
    let shorted = start("vref-shorted", 1.0);
    near(burst(&shorted), 2.97e-3, 0.01e-3, "VREF shorted");
    let on = times(&shorted, What::Start)[0];
    let levels = shorted.at(on + 1e-3);
    near(levels.vref_v, 0.0425, 1e-6, "VREF shorted");
    near(levels.rt_ct_v, 0.0, 0.05, "no ramp");
    assert!(levels.out_v < 0.2);
    let levels =
        |t: &Timeline, n: i32| t.at(times(t, What::Start)[0] + 1e-3 + f64::from(n) * 0.31e-6);
    assert!((0..200).all(|n| levels(&silent, n).out_v < 0.2));
    assert!((0..200).any(|n| levels(&gate, n).out_v > 10.0));
    let ct = start("ct-shorted", 1.0);
    assert!((0..200).all(|n| levels(&ct, n).rt_ct_v.abs() < 1e-9));
    assert!(
        Cause::ALL
            .iter()
            .all(|cause| Cause::from_id(cause.id).is_ok())
    );
}
