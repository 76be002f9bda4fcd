//! Laws that measuring has to keep whatever the record: scaled, shifted, turned round, cut in two,
//! thinned. The pulses are single RC responses, so that the truth is a closed form as well.

mod made;

use firstpulse::data::options::Accuracy;
use firstpulse::data::{Inspection, Options, Quantity, Role, ShotKind, Value};
use proptest::prelude::*;

const PERIOD_S: f64 = 14.81e-6;
const WIDTH_S: f64 = 6.3e-6;
const TAU_S: f64 = 80e-9;
const STEP_S: f64 = 20e-9;
const COUNT: usize = 20_000;

const TIMES: [Quantity; 5] = [
    Quantity::OutFrequency,
    Quantity::OutDutyCycle,
    Quantity::OutPulseDuration,
    Quantity::OutRiseTime,
    Quantity::OutFallTime,
];

/// 27 pulses between 0.2 and 12.2 V.
fn pulses(delay_s: f64, sigma: f64) -> Vec<f64> {
    let mut dice = made::Dice(17);
    let volts = |i: usize| {
        let phase = (i as f64 * STEP_S - delay_s).rem_euclid(PERIOD_S);
        let share = if phase < WIDTH_S {
            1.0 - (-phase / TAU_S).exp()
        } else {
            (-(phase - WIDTH_S) / TAU_S).exp()
        };
        0.2 + 12.0 * share
    };
    (0..COUNT)
        .map(|i| volts(i) + sigma * dice.normal())
        .collect()
}

/// OUT of these samples, of a scope without gain and offset error.
fn examined(values: &[f64], step_s: f64) -> Inspection {
    let time = made::even(step_s, values.len());
    let out = firstpulse::data::Channel::of_volts("CH1", time, values.to_vec());
    let exact = Accuracy {
        gain: 0.0,
        offset: 0.0,
    };
    let mut options = Options {
        roles: made::roles(&[Role::Out]),
        accuracies: vec![(made::nth(1), exact)],
        ..Options::default()
    };
    options.capture_kinds.insert(0, ShotKind::Running);
    made::examine(&[made::shot(vec![out])], &options)
}

fn near(found: &Inspection, quantity: Quantity, wanted: f64) -> Result<(), TestCaseError> {
    let value = made::value(found, quantity);
    let held = (value.value - wanted).abs() <= value.u95 + 1e-9 * wanted.abs();
    prop_assert!(held, "{quantity:?}: {value:?} instead of {wanted}");
    Ok(())
}

/// Can two values both hold the truth within their u95, what they share left out? They may differ by the sum of
/// their half-widths, which is at most √2 times what they differ by in 95 % of cases.
fn agree(a: &Value, b: &Value) -> Result<(), TestCaseError> {
    let apart = Value::linear(a.value - b.value, &[(1.0, a), (-1.0, b)]);
    let may = std::f64::consts::SQRT_2 * apart.u95;
    prop_assert!(apart.value.abs() <= may, "{a:?}\n{b:?}\n{apart:?}");
    Ok(())
}

/// The same up to a share of the uncertainty.
fn same(a: &Value, b: &Value, scale: f64, shift: f64) -> Result<(), TestCaseError> {
    let apart = (b.value - shift - scale * a.value).abs();
    prop_assert!(
        apart <= 0.1 * scale * a.u95,
        "{a:?}\n{b:?}\n{scale} {shift}"
    );
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn levels_follow_gain_and_offset_and_times_do_not(
        gain in 0.5_f64..2.0, offset in -1.0_f64..1.0, delay in 0.0_f64..PERIOD_S,
    ) {
        let plain = pulses(delay, 0.02);
        let moved: Vec<f64> = plain.iter().map(|v| gain * v + offset).collect();
        let (before, after) = (examined(&plain, STEP_S), examined(&moved, STEP_S));
        for quantity in [Quantity::OutHighLevel, Quantity::OutLowLevel] {
            same(made::value(&before, quantity), made::value(&after, quantity), gain, offset)?;
        }
        for quantity in TIMES {
            same(made::value(&before, quantity), made::value(&after, quantity), 1.0, 0.0)?;
        }
    }

    #[test]
    fn without_noise_the_closed_form_comes_back_wherever_the_samples_lie(
        delay in 0.0_f64..PERIOD_S,
    ) {
        let found = examined(&pulses(delay, 0.0), STEP_S);
        // states are approached, not reached: a ten-thousandth of the amplitude
        for (quantity, level) in [(Quantity::OutHighLevel, 12.2), (Quantity::OutLowLevel, 0.2)] {
            let value = made::value(&found, quantity);
            prop_assert!((value.value - level).abs() < 1.2e-3, "{value:?} instead of {level}");
        }
        near(&found, Quantity::OutDutyCycle, WIDTH_S / PERIOD_S)?;
        near(&found, Quantity::OutPulseDuration, WIDTH_S)?;
        near(&found, Quantity::OutFrequency, 1.0 / PERIOD_S)?;
        near(&found, Quantity::OutRiseTime, TAU_S * 9.0_f64.ln())?;
        near(&found, Quantity::OutFallTime, TAU_S * 9.0_f64.ln())?;
    }

    /// A later begin of the record moves what is marked in it, and no result.
    #[test]
    fn another_origin_moves_instants_only(delay in 0.0_f64..PERIOD_S, later in 1_usize..700) {
        let values = pulses(delay, 0.0);
        let (whole, rest) = (examined(&values, STEP_S), examined(&values[later..], STEP_S));
        for quantity in TIMES {
            agree(made::value(&whole, quantity), made::value(&rest, quantity))?;
        }
    }

    #[test]
    fn turned_round_a_rise_is_a_fall(delay in 0.0_f64..PERIOD_S) {
        let values = pulses(delay, 0.0);
        let back: Vec<f64> = values.iter().rev().copied().collect();
        let (on, back) = (examined(&values, STEP_S), examined(&back, STEP_S));
        for (there, here) in [
            (Quantity::OutRiseTime, Quantity::OutFallTime),
            (Quantity::OutFallTime, Quantity::OutRiseTime),
            (Quantity::OutDutyCycle, Quantity::OutDutyCycle),
            (Quantity::OutFrequency, Quantity::OutFrequency),
        ] {
            agree(made::value(&on, there), made::value(&back, here))?;
        }
    }

    #[test]
    fn halves_have_the_frequency_of_the_whole(delay in 0.0_f64..PERIOD_S, cycles in 10_usize..17) {
        let values = pulses(delay, 0.0);
        let at = (cycles as f64 * PERIOD_S / STEP_S) as usize;
        let whole = examined(&values, STEP_S);
        for part in [&values[..at], &values[at..]] {
            let part = examined(part, STEP_S);
            for quantity in [Quantity::OutFrequency, Quantity::OutDutyCycle] {
                agree(made::value(&whole, quantity), made::value(&part, quantity))?;
            }
        }
    }

    #[test]
    fn thinned_frequency_and_duty_stay(delay in 0.0_f64..PERIOD_S, sigma in 0.0_f64..0.02) {
        let values = pulses(delay, sigma);
        let fine = examined(&values, STEP_S);
        for factor in [2, 4] {
            let some: Vec<f64> = values.iter().copied().step_by(factor).collect();
            let thin = examined(&some, STEP_S * factor as f64);
            for quantity in [Quantity::OutFrequency, Quantity::OutDutyCycle] {
                agree(made::value(&fine, quantity), made::value(&thin, quantity))?;
            }
        }
    }
}
