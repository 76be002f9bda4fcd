//! The start-up model against fixed-step integrations that share nothing with it, and what faults
//! do in it.

mod vector_unit;

use vector_unit::{mains, near, times, vector_unit};

use firstpulse::startup::faults::Cause;
use firstpulse::startup::injected::BenchSupply;
use firstpulse::startup::timeline::{Timeline, What};
use firstpulse::startup::unit::UnitParts;

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
