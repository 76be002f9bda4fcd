//! What RT and CT promise, and what a ramp gives back, against published examples and small steps of the
//! circuit: `tests/oracle/budget_vectors.json`, which shares no code with this crate.

#![allow(clippy::unwrap_used, reason = "a test may")]

use firstpulse::controllers::timing::{
    MarkedTiming, RampSeen, Rule, TimingParts, from_ramp, promise, rule_of, usual_parts,
};
use firstpulse::controllers::{Library, Profile, TimingKind};
use firstpulse::data::typed::{Kind, MarkedPart, marked};
use firstpulse::data::{Bounded, Moved, Timing};
use proptest::prelude::*;
use serde_json::Value as Json;

fn ohm(text: &str) -> MarkedPart {
    marked(text, Kind::Ohm).unwrap()
}

fn farad(text: &str) -> MarkedPart {
    marked(text, Kind::Farad).unwrap()
}

fn candidates(marking: &str) -> Vec<&'static Profile> {
    static LIBRARY: std::sync::OnceLock<Library> = std::sync::OnceLock::new();
    let library = LIBRARY.get_or_init(|| Library::built_in().unwrap());
    library.lookup(marking).unwrap()
}

fn told(marking: &str, rt: &str, ct: &str) -> Timing {
    promise(&candidates(marking), Some(&ohm(rt)), Some(&farad(ct)))
}

fn near(got: f64, wanted: f64, share: f64, what: &str) {
    assert!(
        (got / wanted - 1.0).abs() <= share,
        "{what}: {got}, not {wanted}"
    );
}

/// A profile of the user's own that says nothing of its timing.
fn untimed(family: &str) -> Profile {
    let mut profile = candidates("UC3842 (TI)")[0].clone();
    family.clone_into(&mut profile.family);
    profile.timing = None;
    profile
}

/// SLUS223G 7.5: 10 kΩ and 3.3 nF give 47 to 57 kHz, 52 kHz typical, 97 % duty typical for x842 and x843.
/// The relation gives 94.9 % with the 6 mA of the same document's text.
#[test]
fn slus223g_test_condition() {
    let timing = told("UC3842 (TI)", "10k", "3n3");
    let frequency = timing.frequency_hz.unwrap();
    assert!((47e3..=57e3).contains(&frequency.typ), "{frequency:?}");
    near(frequency.typ, 52e3, 0.02, "typical");
    near(timing.max_duty.unwrap().typ, 0.97, 0.025, "duty");
    near(timing.short_hz.unwrap(), 52.12e3, 1e-3, "short formula");
}

/// SLUS223G 9.2.2.8: 15.4 kΩ and 1000 pF are printed as 110 kHz of a UC2842.
#[test]
fn slus223g_9_2_2_8() {
    let timing = told("UC2842 (TI)", "15k4", "1000p");
    near(timing.frequency_hz.unwrap().typ, 110e3, 0.05, "frequency");
    near(timing.short_hz.unwrap(), 110e3, 0.02, "short formula");
}

/// SLUS458I 6.5 and 8.2.2.8: 10 kΩ, 3.3 nF give 50.5 to 55 kHz, 15.4 kΩ, 1000 pF 110 kHz; with the levels of
/// the text, 2.5 and 0.7 V, and 8.4 mA.
#[test]
fn slus458i_examples() {
    let levels = |rt, ct| TimingParts {
        peak_v: 2.5,
        valley_v: 0.7,
        discharge_a: 8.4e-3,
        ..usual_parts(rt, ct)
    };
    let hertz = levels(10e3, 3.3e-9).frequency_hz().unwrap();
    assert!((50.5e3..=55e3).contains(&hertz), "{hertz}");
    near(
        levels(15.4e3, 1e-9).frequency_hz().unwrap(),
        110e3,
        0.07,
        "8.2.2.8",
    );
}

/// SLUS270G: 13.6 kΩ and 1000 pF make 110 kHz with a reference of 5 V.
#[test]
fn slus270g_example() {
    let timing = told("UCC2800", "13.6k", "1000p");
    near(timing.frequency_hz.unwrap().typ, 110e3, 0.005, "frequency");
    // 130 Ω from 2.65 to 0.2 V: 336 ns for each nanofarad
    near(timing.fall_s.unwrap().typ, 336e-9, 1e-3, "dead time");
    let four_volt = told("UCC2803", "10k", "1n");
    near(
        four_volt.frequency_hz.unwrap().typ,
        100e3,
        1e-9,
        "SGLS121D eq. 5 (memory)",
    );
}

/// SLUS456F: 22 kΩ and 330 pF give 175 to 213 kHz, 194 kHz typical.
#[test]
fn slus456f_test_condition() {
    let timing = told("UCC2808A-1", "22k", "330p");
    near(timing.frequency_hz.unwrap().typ, 194e3, 0.005, "frequency");
    assert!(timing.max_duty.is_none());
    assert!(timing.why_not.iter().any(|(what, _)| *what == "max_duty"));
}

/// FN9238 EQ. 1 and 2 at 10 kΩ and 3.3 nF: 17.59 µs, 0.906 µs, 54.1 kHz, 95.1 %.
#[test]
fn fn9238_printed_equations() {
    let timing = told("ISL8843", "10k", "3.3n");
    near(timing.rise_s.unwrap().typ, 17.59e-6, 1e-3, "charge");
    near(timing.fall_s.unwrap().typ, 0.906e-6, 1e-3, "discharge");
    near(timing.frequency_hz.unwrap().typ, 54.1e3, 1e-3, "frequency");
    near(timing.max_duty.unwrap().typ, 0.951, 1e-3, "duty");
}

/// U-100A, circuit example 1: 40 kHz at OUT of a UC3844 take 80 kHz on RT/CT.
#[test]
fn u100a_half_the_oscillator_at_out() {
    let timing = told("UC3844 (TI)", "15k", "1n5");
    let (oscillator, out) = (
        timing.frequency_hz.unwrap(),
        timing.out_frequency_hz.unwrap(),
    );
    near(oscillator.typ / out.typ, 2.0, 1e-12, "divide");
    near(out.typ, 40e3, 0.07, "OUT");
    assert!(timing.max_duty.unwrap().typ < 0.5);
}

/// U-100A, circuit example 2: a UC3842 whose oscillator runs at 200 kHz. By the formula that the note
/// prints, 1.72/(RT·CT), 8.6 kΩ and 1 nF make them; this part gives OUT one cycle for each.
#[test]
fn u100a_200_khz_at_out_of_an_undivided_part() {
    let timing = told("UC3842 (TI)", "8k6", "1n");
    near(timing.short_hz.unwrap(), 200e3, 1e-3, "short formula");
    near(timing.frequency_hz.unwrap().typ, 200e3, 0.05, "oscillator");
    let out = timing.out_frequency_hz.unwrap();
    near(out.typ, timing.frequency_hz.unwrap().typ, 1e-12, "OUT");
}

/// U-100A and SLUS223G 8.3.7, synchronization: the free-running oscillator is set about 20 % below the
/// rate from outside, and a pulse of 0.5 V under CT ends its ramp. So CT has come nearer to the peak than
/// 0.5 V after 80 % of its period, and what ends there still gives the parts back: nothing moved.
#[test]
fn u100a_synchronization_ends_the_ramp_early_and_moves_no_part() {
    let parts = usual_parts(13e3, 1e-9);
    let free_s = parts.rise_s().unwrap() + parts.fall_s().unwrap();
    let until = |peak_v| TimingParts { peak_v, ..parts };
    let span_s = |peak_v: f64| until(peak_v).rise_s().unwrap() + until(peak_v).fall_s().unwrap();
    let (mut low, mut high) = (parts.valley_v + 0.01, parts.peak_v);
    while high - low > 1e-6 {
        let middle = 0.5 * (low + high);
        match span_s(middle) < 0.8 * free_s {
            true => low = middle,
            false => high = middle,
        }
    }
    assert!(parts.peak_v - low < 0.5, "{low}");
    let seen = RampSeen {
        rise_s: until(low).rise_s().unwrap(),
        fall_s: until(low).fall_s().unwrap(),
        peak_v: low,
        valley_v: parts.valley_v,
        vref_v: parts.vref_v,
    };
    let marked = MarkedTiming {
        parts,
        rt_share: 0.01,
        ct_share: 0.05,
        discharge_a: Bounded::within(parts.discharge_a, 0.06, 0.06),
    };
    let back = from_ramp(&seen, None, Some(&marked)).unwrap();
    assert_eq!(back.moved, Some(Moved::Nothing), "{}", back.because);
    // it runs faster than RT and CT allow
    let allowed = told("UC3842A (TI)", "13k", "1n").frequency_hz.unwrap();
    assert!(1.25 / free_s > allowed.high, "{allowed:?}");
}

/// The guarantee point of B versions, 6.2 kΩ and 1 nF: 225 to 275 kHz (from memory). The relation leaves
/// the comparator's delay out and reads 10 % high there, as its documentation says.
#[test]
fn b_version_at_250_khz() {
    let hertz = usual_parts(6.2e3, 1e-9).frequency_hz().unwrap();
    assert!((225e3..=275e3).contains(&hertz), "{hertz}");
}

/// Rules of one resistor (from memory: 100 kΩ is 65 kHz, 26 kΩ 65 kHz), and a rough one.
#[test]
fn other_families_go_by_their_own_rule() {
    for (part, rt) in [("LD7535", "100k"), ("OB2263", "100k"), ("SG6841", "26k")] {
        let timing = promise(&candidates(part), Some(&ohm(rt)), None);
        near(timing.frequency_hz.unwrap().typ, 65e3, 1e-9, part);
        assert!(timing.status.from_memory(), "{part}");
    }
    // UC3846: 10 kΩ and 4.7 nF; its sheet has 43 kHz, the rough rule 47 kHz (from memory)
    let rough = told("UC3846", "10k", "4n7");
    near(rough.frequency_hz.unwrap().typ, 43e3, 0.10, "UC3846");
    assert!(rough.remarks.iter().any(|r| r.contains("43 kHz")));
}

/// NCP1236/D: 65 kHz (60 to 70) and 100 kHz versions; which one it is, no timing part says.
#[test]
fn a_part_made_in_two_versions_asks_for_the_marking() {
    let timing = told("NCP1236", "10k", "1n");
    assert!(timing.frequency_hz.is_none());
    let why = &timing.why_not[0].1;
    assert!(why.contains("65 kHz or 100 kHz"), "{why}");
    assert!(timing.remarks.iter().any(|r| r.contains("do not set it")));
}

/// A profile that says nothing of its timing: the relation of the family, or none.
#[test]
fn a_profile_without_timing_goes_by_its_family() {
    let kin = untimed("bipolar 384x");
    let told = rule_of(&kin);
    assert_eq!(told.rule, Rule::Known(TimingKind::ConstantSink));
    assert!(told.source.contains("SLUS223G"));
    let timing = promise(&[&kin], Some(&ohm("10k")), Some(&farad("3n3")));
    near(timing.frequency_hz.unwrap().typ, 52e3, 0.02, "SLUS223G 7.5");
    let stranger = untimed("something else");
    assert_eq!(rule_of(&stranger).rule, Rule::Unknown);
    let timing = promise(&[&stranger], None, None);
    assert!(timing.frequency_hz.is_none() && !timing.why_not.is_empty());
}

/// 1 kΩ and 10 nF: the short formula reads 52 % high (SLUS223G: RT never below 5 kΩ).
#[test]
fn the_short_formula_is_named_where_it_fails() {
    let low = told("UC3842A (TI)", "1k 1%", "10n 5%");
    near(low.short_error.unwrap(), 0.52, 0.02, "error");
    assert!(
        low.remarks.iter().any(|r| r.contains("+52 %")),
        "{:?}",
        low.remarks
    );
    let high = told("UC3842A (TI)", "10k 1%", "3n3 5%");
    assert!(
        high.short_error.unwrap().abs() < 0.05
            && high
                .remarks
                .iter()
                .all(|r| r.contains("comparator delays left out")),
        "{:?}",
        high.remarks
    );
}

/// A design note's example: 4 mA through RT and a 10 mA sink give a duty of 60 % where a 6 mA sink gives
/// 33 %: the currents of charge and discharge set it. The spread of an untrimmed part must hold such ratios.
#[test]
fn an_untrimmed_current_spreads_the_duty_cycle() {
    let spread = told("UC3842 (TI)", "680R 1%", "22n 5%");
    let trimmed = told("UC3842A (TI)", "680R 1%", "22n 5%");
    let width = |t: &Timing| t.max_duty.map(|d| d.high - d.low).unwrap();
    assert!(
        width(&spread) > 2.0 * width(&trimmed),
        "{} {}",
        width(&spread),
        width(&trimmed)
    );
    assert!(spread.remarks.iter().any(|r| r.contains("untrimmed")));
}

#[test]
fn what_is_not_told_is_named() {
    let found = candidates("UC3844");
    for (rt, ct, missing) in [
        (None, Some(farad("1n")), "rt"),
        (Some(ohm("13k")), None, "ct"),
    ] {
        let timing = promise(&found, rt.as_ref(), ct.as_ref());
        assert!(timing.frequency_hz.is_none());
        assert!(
            timing.why_not[0].1.contains(missing),
            "{:?}",
            timing.why_not
        );
    }
    let stopped = promise(&found, Some(&ohm("470R")), Some(&farad("10n")));
    assert!(stopped.why_not[0].1.contains("never oscillates"));
    let usual = promise(&[], Some(&ohm("13k")), Some(&farad("1n")));
    assert!(usual.remarks[0].contains("assumed"));
}

fn vectors(kind: &str) -> Vec<Json> {
    let path =
        std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/oracle/budget_vectors.json");
    let all: Json = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    all[kind].as_array().unwrap().clone()
}

/// Each ramp of the oracle: forward as promised, and backwards to its parts.
#[test]
fn ramps_agree_with_small_steps_forward_and_backwards() {
    let all = vectors("ramps");
    assert!(all.len() >= 8);
    for v in all {
        let number = |key: &str| v[key].as_f64().unwrap();
        let parts = TimingParts {
            rt_ohm: number("rt"),
            ct_farad: number("ct"),
            vref_v: number("vref"),
            peak_v: number("peak"),
            valley_v: number("valley"),
            discharge_a: number("sink"),
        };
        let leak = v["leak"].as_f64();
        let seen = RampSeen {
            rise_s: number("rise_s"),
            fall_s: number("fall_s"),
            peak_v: parts.peak_v,
            valley_v: parts.valley_v,
            vref_v: parts.vref_v,
        };
        let real = leak.map_or(parts, |leak| parts.with_leak(leak));
        near(real.rise_s().unwrap(), seen.rise_s, 1e-6, "rise");
        near(real.fall_s().unwrap(), seen.fall_s, 1e-6, "fall");
        let marked = MarkedTiming {
            parts,
            rt_share: 0.01,
            ct_share: 0.05,
            discharge_a: Bounded::within(parts.discharge_a, 0.06, 0.06),
        };
        let asymptote = leak.map(|leak| parts.vref_v * leak / (parts.rt_ohm + leak));
        let back = from_ramp(&seen, asymptote, Some(&marked)).unwrap();
        match leak {
            Some(leak) => {
                assert_eq!(back.moved, Some(Moved::Leak), "{v}");
                near(back.leak_ohm.unwrap(), leak, 1e-6, "leak");
            }
            None => {
                assert_eq!(back.moved, Some(Moved::Nothing), "{v}: {}", back.because);
                near(back.rt_ct_s, parts.tau_s(), 1e-5, "RT·CT");
                near(
                    back.discharge_drop_v,
                    parts.discharge_a * parts.rt_ohm,
                    1e-3,
                    "I·RT",
                );
            }
        }
        assert_eq!(back.fixes.len(), 3);
    }
}

/// One part moved at a time, the ramp by small steps: the part is named.
#[test]
fn the_part_that_moved_is_named() {
    for v in vectors("moved") {
        let number = |key: &str| v[key].as_f64().unwrap();
        let marked = MarkedTiming {
            parts: usual_parts(number("marked_rt"), number("marked_ct")),
            rt_share: 0.01,
            ct_share: 0.05,
            discharge_a: Bounded::within(8.3e-3, 0.06, 0.06),
        };
        let seen = RampSeen {
            rise_s: number("rise_s"),
            fall_s: number("fall_s"),
            peak_v: number("peak"),
            valley_v: number("valley"),
            vref_v: number("vref"),
        };
        let back = from_ramp(&seen, None, Some(&marked)).unwrap();
        assert_eq!(
            back.moved.unwrap().id(),
            v["moved"].as_str().unwrap(),
            "{v}: {}",
            back.because
        );
    }
    let senseless = RampSeen {
        rise_s: 0.0,
        fall_s: 1e-6,
        peak_v: 2.7,
        valley_v: 1.0,
        vref_v: 5.0,
    };
    assert!(from_ramp(&senseless, None, None).is_none());
}

proptest! {
    /// Bounds are true: every draw within the tolerances lies within them, corners included.
    #[test]
    fn bounds_of_timing_hold_every_draw(
        rt in 600.0_f64..100e3,
        ct in 100e-12_f64..100e-9,
        x in prop::array::uniform3(prop_oneof![Just(-1.0), Just(1.0), -1.0_f64..1.0]),
    ) {
        let (mut rt_part, mut ct_part) = (MarkedPart::plain(Kind::Ohm, rt), MarkedPart::plain(Kind::Farad, ct));
        rt_part.members[0].tolerance = Some(firstpulse::data::typed::Tolerance::both(0.05));
        ct_part.members[0].tolerance = Some(firstpulse::data::typed::Tolerance::both(0.10));
        let found = candidates("UC3845A (TI)");
        let timing = promise(&found, Some(&rt_part), Some(&ct_part));
        let id = timing.discharge_a.unwrap();
        let discharge_a = if x[2] < 0.0 { id.typ + x[2] * (id.typ - id.low) } else { id.typ + x[2] * (id.high - id.typ) };
        let levels = firstpulse::controllers::timing::typical_parts(found[0], rt, ct);
        let drawn = TimingParts {
            rt_ohm: rt * (1.0 + 0.05 * x[0]),
            ct_farad: ct * (1.0 + 0.10 * x[1]),
            discharge_a,
            ..levels
        };
        let Ok(frequency) = drawn.frequency_hz() else { return Ok(()); };
        let slack = |b: Bounded, v: f64| b.low * (1.0 - 1e-9) <= v && v <= b.high * (1.0 + 1e-9);
        prop_assert!(slack(timing.frequency_hz.unwrap(), frequency));
        prop_assert!(slack(timing.rise_s.unwrap(), drawn.rise_s().unwrap()));
        prop_assert!(slack(timing.fall_s.unwrap(), drawn.fall_s().unwrap()));
        prop_assert!(slack(timing.max_duty.unwrap(), drawn.max_duty(timing.divide).unwrap()));
    }
}
