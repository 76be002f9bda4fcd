//! The oscillator relations against published examples and against a numerical integration of the
//! circuit that shares no formula with the program.

// helpers outside of tests unwrap too
#![allow(clippy::unwrap_used)]

use firstpulse::controllers::timing::{
    NoOscillation, RampSeen, TimingParts, expected_frequency, expected_frequency_within,
    typical_parts,
};
use firstpulse::controllers::{Library, Profile};
use firstpulse::data::Status;
use firstpulse::data::typed::Tolerance;
use proptest::prelude::*;

/// The text of SLUS223G 8.3.6 and the trimmed current of SLUS224F 6.5.
fn usual(rt_ohm: f64, ct_farad: f64) -> TimingParts {
    TimingParts {
        rt_ohm,
        ct_farad,
        vref_v: 5.0,
        peak_v: 2.7,
        valley_v: 1.0,
        discharge_a: 8.3e-3,
    }
}

/// Time until CT, starting at `from_v`, reaches `to_v`: fourth-order Runge-Kutta on
/// dV/dt = (VREF − V)/(RT·CT) − I/CT, the last step cut by a straight line.
fn integrated_s(parts: &TimingParts, from_v: f64, to_v: f64, current_a: f64) -> f64 {
    let slope = |v: f64| ((parts.vref_v - v) / parts.rt_ohm - current_a) / parts.ct_farad;
    let step = ((to_v - from_v) / slope(from_v)).abs() / 20_000.0;
    let (mut t, mut v) = (0.0, from_v);
    for _ in 0..10_000_000 {
        let k1 = slope(v);
        let k2 = slope(v + 0.5 * step * k1);
        let k3 = slope(v + 0.5 * step * k2);
        let k4 = slope(v + step * k3);
        let next = v + step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0;
        if (v - to_v) * (next - to_v) <= 0.0 {
            return t + step * (to_v - v) / (next - v);
        }
        t += step;
        v = next;
    }
    panic!("the integration never reached {to_v} V");
}

fn integrated_ramp(parts: &TimingParts) -> (f64, f64) {
    (
        integrated_s(parts, parts.valley_v, parts.peak_v, 0.0),
        integrated_s(parts, parts.peak_v, parts.valley_v, parts.discharge_a),
    )
}

fn close(got: f64, want: f64, share: f64, what: &str) {
    let off = (got / want - 1.0).abs();
    assert!(off <= share, "{what}: {got} against {want}");
}

#[test]
fn rise_fall_frequency_and_duty_agree_with_the_integrated_circuit() {
    // parts, then rise and fall in µs, frequency in kHz and duty as computed with 8.3 mA, 2.7/1.0 V
    let table = [
        (10e3, 3.3e-9, 18.2617, 0.7026, 52.731, 0.963),
        (13e3, 1e-9, 7.1940, 0.2110, 135.044, 0.9715),
        (1e3, 10e-9, 5.5339, 3.3314, 112.80, 0.624),
        (680.0, 22e-9, 8.2786, 10.6221, 52.91, 0.438),
    ];
    for (rt, ct, rise_us, fall_us, khz, duty) in table {
        let parts = usual(rt, ct);
        let (rise, fall) = integrated_ramp(&parts);
        close(rise * 1e6, rise_us, 2e-5, "integrated rise");
        close(fall * 1e6, fall_us, 3e-4, "integrated fall");
        close(parts.rise_s().unwrap(), rise, 1e-6, "rise");
        close(parts.fall_s().unwrap(), fall, 1e-6, "fall");
        close(
            parts.frequency_hz().unwrap(),
            1.0 / (rise + fall),
            1e-6,
            "frequency",
        );
        close(
            parts.frequency_hz().unwrap(),
            khz * 1e3,
            1e-4,
            "frequency in the table",
        );
        close(
            parts.max_duty(1).unwrap(),
            rise / (rise + fall),
            1e-6,
            "duty",
        );
        close(parts.max_duty(1).unwrap(), duty, 1e-3, "duty in the table");
    }
}

#[test]
fn slus223g_7_5_test_condition_10k_3n3_gives_47_to_57_khz() {
    for (current_a, hz, duty) in [(8.3e-3, 52_730.0, 0.963), (6e-3, 51_950.0, 0.949)] {
        let parts = TimingParts {
            discharge_a: current_a,
            ..usual(10e3, 3.3e-9)
        };
        let got = parts.frequency_hz().unwrap();
        assert!((47e3..=57e3).contains(&got), "{got}");
        close(got, hz, 1e-3, "frequency");
        close(parts.max_duty(1).unwrap(), duty, 1e-3, "duty");
    }
    close(
        usual(10e3, 3.3e-9).short_formula_hz(),
        52_121.0,
        1e-4,
        "1.72/(RT·CT)",
    );
}

#[test]
fn slus223g_9_2_2_8_15k4_1n_is_printed_as_110_khz() {
    let parts = usual(15.4e3, 1e-9);
    close(parts.frequency_hz().unwrap(), 114.5e3, 1e-3, "exact");
    close(parts.short_formula_hz(), 111.7e3, 1e-3, "short");
    close(parts.frequency_hz().unwrap(), 110e3, 0.05, "printed");
    let uc2842 = candidates("UC2842 (TI)");
    let limit = expected_frequency(&uc2842, 15.4e3, 1e-9).unwrap();
    assert!(
        limit.min.unwrap() < 110e3 && 110e3 < limit.max.unwrap(),
        "{limit:?}"
    );
}

#[test]
fn cs3844_rise_is_0_5534_time_constants() {
    let (rise, _) = integrated_ramp(&usual(10e3, 1e-9));
    close(rise / 10e-6, 0.5534, 1e-4, "integrated");
    close(
        usual(10e3, 1e-9).rise_s().unwrap() / 10e-6,
        0.5534,
        1e-4,
        "closed form",
    );
    let other = TimingParts {
        peak_v: 2.8,
        valley_v: 1.2,
        ..usual(10e3, 1e-9)
    };
    close(
        other.rise_s().unwrap() / 10e-6,
        0.5465,
        1e-4,
        "with 2.8 and 1.2 V",
    );
}

#[test]
fn cs3844_out_is_high_one_rise_and_low_a_rise_and_two_falls() {
    let parts = usual(4.7e3, 4.7e-9);
    let (rise, fall) = integrated_ramp(&parts);
    let (on, off) = (rise, rise + 2.0 * fall);
    close(parts.max_duty(2).unwrap(), on / (on + off), 1e-6, "duty");
    close(
        parts.out_frequency_hz(2).unwrap(),
        1.0 / (on + off),
        1e-6,
        "OUT frequency",
    );
    assert!(parts.max_duty(2).unwrap() < 0.5);
}

#[test]
fn short_formula_is_52_percent_high_at_1k_10n_and_good_from_5k() {
    close(usual(1e3, 10e-9).short_formula_hz(), 172e3, 1e-6, "short");
    let error = usual(1e3, 10e-9).short_formula_error().unwrap();
    assert!((error - 0.525).abs() < 0.002, "{error}");
    for rt in [5e3, 10e3, 30e3, 100e3] {
        let error = usual(rt, 3.3e-9).short_formula_error().unwrap();
        assert!(error.abs() < 0.06, "{rt}: {error}");
    }
}

#[test]
fn ucc28c4x_slus458i_6_5_needs_a_peak_of_2_5_v() {
    // 50.5 to 55 kHz at 10 kΩ and 3.3 nF, 8.4 mA; a peak of 3.0 V as one revision prints is far off
    let cmos = |peak_v| TimingParts {
        peak_v,
        valley_v: 0.7,
        discharge_a: 8.4e-3,
        ..usual(10e3, 3.3e-9)
    };
    let hz = cmos(2.5).frequency_hz().unwrap();
    assert!((50.5e3..=55e3).contains(&hz));
    close(hz, 53.67e3, 1e-3, "2.5 V");
    close(cmos(3.0).frequency_hz().unwrap(), 38.17e3, 1e-3, "3.0 V");
}

#[test]
fn below_482_ohm_the_discharge_never_ends() {
    let parts = usual(481.9, 10e-9);
    assert!(matches!(
        parts.frequency_hz(),
        Err(NoOscillation::DischargeTooWeak { smallest_rt_ohm }) if (smallest_rt_ohm - 481.93).abs() < 0.01
    ));
    assert!(usual(482.0, 10e-9).frequency_hz().is_ok());
    assert!(expected_frequency(&candidates("UC3844A (TI)"), 400.0, 1e-9).is_none());
}

#[test]
fn senseless_values_are_refused() {
    for parts in [
        usual(f64::NAN, 1e-9),
        usual(0.0, 1e-9),
        usual(10e3, -1e-9),
        usual(f64::INFINITY, 1e-9),
        TimingParts {
            valley_v: 2.8,
            ..usual(10e3, 1e-9)
        },
        TimingParts {
            peak_v: f64::NAN,
            ..usual(10e3, 1e-9)
        },
    ] {
        assert_eq!(
            parts.frequency_hz(),
            Err(NoOscillation::BadValues),
            "{parts:?}"
        );
    }
    let high = TimingParts {
        peak_v: 5.0,
        ..usual(10e3, 1e-9)
    };
    assert!(matches!(
        high.rise_s(),
        Err(NoOscillation::ChargeTooWeak { .. })
    ));
    assert!(expected_frequency(&candidates("UC3844"), f64::NAN, 1e-9).is_none());
    assert!(expected_frequency(&[], 10e3, 1e-9).is_none());
}

#[test]
fn a_leak_lowers_the_asymptote_and_stops_the_ramp_at_1_174_rt() {
    let parts = usual(13e3, 1e-9);
    close(
        parts.with_leak(100e3).vref_v,
        4.42,
        2e-3,
        "asymptote with 100 kΩ",
    );
    assert!(parts.with_leak(1.180 * 13e3).rise_s().is_ok());
    assert!(matches!(
        parts.with_leak(1.170 * 13e3).rise_s(),
        Err(NoOscillation::ChargeTooWeak { .. })
    ));
    assert_eq!(parts.with_leak(f64::INFINITY), parts);
    // the leak as a current of its own, integrated, against Thévenin
    let leak = 47e3;
    let slope = |v: f64| ((5.0 - v) / 13e3 - v / leak) / 1e-9;
    let (mut t, mut v, step) = (0.0, 1.0, 1e-11);
    while v < 2.7 {
        v += step * slope(v + 0.5 * step * slope(v));
        t += step;
    }
    close(
        parts.with_leak(leak).rise_s().unwrap(),
        t,
        1e-5,
        "rise with a leak",
    );
}

fn seen(parts: &TimingParts) -> RampSeen {
    let (rise_s, fall_s) = integrated_ramp(parts);
    RampSeen {
        rise_s,
        fall_s,
        peak_v: parts.peak_v,
        valley_v: parts.valley_v,
        vref_v: parts.vref_v,
    }
}

#[test]
fn an_integrated_ramp_gives_its_parts_back() {
    for (rt, ct) in [(10e3, 3.3e-9), (13e3, 1e-9), (1e3, 10e-9), (680.0, 22e-9)] {
        let constants = seen(&usual(rt, ct)).constants().unwrap();
        close(constants.tau_s, rt * ct, 1e-6, "tau");
        close(constants.discharge_drop_v, 8.3e-3 * rt, 1e-4, "I·RT");
        close(constants.discharge_slope_v_per_s, 8.3e-3 / ct, 1e-4, "I/CT");
        close(constants.asymptote_v, 5.0 - 8.3e-3 * rt, 1e-3, "asymptote");
        close(constants.ct_farad(rt), ct, 1e-6, "CT");
        close(constants.rt_ohm(ct), rt, 1e-6, "RT");
        close(constants.discharge_a(rt), 8.3e-3, 1e-4, "current");
        close(
            constants.rt_ohm_from_discharge(8.3e-3),
            rt,
            1e-4,
            "RT from the current",
        );
    }
}

#[test]
fn inversion_has_the_computed_sensitivities() {
    let base = seen(&usual(13e3, 1e-9));
    let of = |ramp: RampSeen| ramp.constants().unwrap();
    let change = |ramp: RampSeen| 100.0 * (of(ramp).tau_s / of(base).tau_s - 1.0);
    let near = |got: f64, want: f64| assert!((got - want).abs() < 0.06, "{got} against {want}");
    near(
        change(RampSeen {
            peak_v: 2.72,
            ..base
        }),
        -1.55,
    );
    near(
        change(RampSeen {
            valley_v: 1.02,
            ..base
        }),
        0.91,
    );
    near(
        change(RampSeen {
            vref_v: 4.95,
            ..base
        }),
        -1.67,
    );
    // a channel that reads 2 % high spoils the result unless VREF was read on it too
    let gained = RampSeen {
        peak_v: 2.754,
        valley_v: 1.02,
        ..base
    };
    near(change(gained), -3.27);
    near(
        change(RampSeen {
            vref_v: 5.1,
            ..gained
        }),
        0.0,
    );
    let slope = |ramp| of(ramp).discharge_slope_v_per_s;
    let slower = RampSeen {
        fall_s: base.fall_s + 10e-9,
        ..base
    };
    near(100.0 * (slope(slower) / slope(base) - 1.0), -4.4);
}

#[test]
fn a_senseless_ramp_gives_nothing() {
    let good = seen(&usual(10e3, 3.3e-9));
    for ramp in [
        RampSeen {
            rise_s: 0.0,
            ..good
        },
        RampSeen {
            fall_s: f64::NAN,
            ..good
        },
        RampSeen {
            peak_v: 0.9,
            ..good
        },
        RampSeen {
            vref_v: 2.7,
            ..good
        },
        RampSeen {
            valley_v: f64::NAN,
            ..good
        },
    ] {
        assert_eq!(ramp.constants(), None, "{ramp:?}");
    }
}

fn candidates(marking: &str) -> Vec<&'static Profile> {
    static LIBRARY: std::sync::OnceLock<Library> = std::sync::OnceLock::new();
    let library = LIBRARY.get_or_init(|| Library::built_in().unwrap());
    library.lookup(marking).unwrap()
}

#[test]
fn expected_frequency_is_the_exact_value_and_ten_percent() {
    let one = candidates("UC3844A (TI)");
    assert_eq!(one.len(), 1);
    let limit = expected_frequency(&one, 13e3, 1e-9).unwrap();
    close(limit.typ.unwrap(), 135_044.0, 1e-4, "typ");
    close(limit.min.unwrap(), 0.9 * 135_044.0, 1e-4, "min");
    close(limit.max.unwrap(), 1.1 * 135_044.0, 1e-4, "max");
    assert_eq!(
        (limit.status, limit.status_limits),
        (Status::Derived, Status::Derived)
    );
    // with 1 kΩ the untrimmed 6 mA part is slower than the trimmed one: both must fit
    let both = candidates("UC3844A (TI)")
        .into_iter()
        .chain(candidates("UC3844 (TI)"));
    let both: Vec<&Profile> = both.collect();
    let wide = expected_frequency(&both, 1e3, 10e-9).unwrap();
    let single = |profile: &Profile| typical_parts(profile, 1e3, 10e-9).frequency_hz().unwrap();
    let (a, b) = (single(both[0]), single(both[1]));
    close(wide.min.unwrap(), 0.9 * a.min(b), 1e-9, "min of both");
    close(wide.max.unwrap(), 1.1 * a.max(b), 1e-9, "max of both");
    close(wide.typ.unwrap(), 0.5 * (a + b), 1e-9, "middle of both");
    // ST publishes no levels: the usual 2.7 and 1.0 V, 8.3 mA
    let st = expected_frequency(&candidates("UC3844B (ST)"), 10e3, 3.3e-9).unwrap();
    close(st.typ.unwrap(), 52_731.0, 1e-4, "fallback");
}

proptest! {
    #[test]
    fn inversion_undoes_the_forward_relations(
        rt in 600.0..100e3f64, ct in 100e-12..100e-9f64, peak in 2.4..3.0f64,
        valley in 0.8..1.3f64, current in 8e-3..12e-3f64,
    ) {
        let parts = TimingParts {
            peak_v: peak, valley_v: valley, discharge_a: current, ..usual(rt, ct)
        };
        let ramp = RampSeen {
            rise_s: parts.rise_s().unwrap(), fall_s: parts.fall_s().unwrap(),
            peak_v: peak, valley_v: valley, vref_v: 5.0,
        };
        let constants = ramp.constants().unwrap();
        prop_assert!((constants.tau_s / (rt * ct) - 1.0).abs() < 1e-9);
        prop_assert!((constants.discharge_drop_v / (current * rt) - 1.0).abs() < 1e-6);
    }
}

#[test]
fn tolerances_told_widen_the_expected_frequency_beyond_ten_percent() {
    let found = candidates("UC3844");
    let plain = expected_frequency(&found, 13e3, 1e-9).unwrap();
    let one = Some(Tolerance::both(0.01));
    let close = expected_frequency_within(&found, 13e3, 1e-9, one, one).unwrap();
    assert_eq!((plain.min, plain.max), (close.min, close.max));
    let wide = expected_frequency_within(
        &found,
        13e3,
        1e-9,
        Some(Tolerance::both(0.05)),
        Some(Tolerance::both(0.10)),
    )
    .unwrap();
    // f falls as RT·CT rises: 1/(1.05·1.10) to 1/(0.95·0.90)
    let ratio = |a: Option<f64>, b: Option<f64>| a.unwrap() / b.unwrap();
    close_to(ratio(wide.min, plain.min), 0.865_801 / 0.9);
    close_to(ratio(wide.max, plain.max), 1.169_591 / 1.1);
    assert!(wide.condition.contains("tolerances told"));
}

fn close_to(got: f64, wanted: f64) {
    close(got, wanted, 1e-5, "ratio");
}
