//! A drawn sawtooth.

use std::sync::Arc;

use crate::data::{Channel, TimeAxis};
use crate::signal::of_channel;

/// Exponential sawtooth of RT 13 kΩ, CT 1 nF, 5 V, 2.7/1.0 V: rise 7.194 µs, fall 0.211 µs
/// (closed form, checked against a time-stepping run elsewhere in the tests).
fn sawtooth(t_s: f64) -> f64 {
    let (rise, fall, tau) = (7.194_0e-6, 0.211_0e-6, 13e-6);
    let phase = t_s.rem_euclid(rise + fall);
    if phase < rise {
        5.0 - 4.0 * (-phase / tau).exp()
    } else {
        2.7 - 1.7 * (phase - rise) / fall
    }
}

#[test]
fn corners_come_out_between_the_samples() {
    let step = 25e-9;
    let count = 8000;
    let time = Arc::new(TimeAxis::Uniform {
        start_s: 0.0,
        step_s: step,
        count,
    });
    let values = (0..count)
        .map(|i| {
            let wiggle = ((i as f64 * 12.9898).sin() * 43_758.545_3).fract() * 0.02;
            sawtooth(i as f64 * step) + wiggle
        })
        .collect();
    let facts = of_channel(&Channel::of_volts("1", time, values));
    let turning = facts.pulses.unwrap().turning.unwrap();
    assert!((turning.peak - 2.7).abs() < 0.02, "{turning:?}");
    assert!((turning.valley - 1.0).abs() < 0.02, "{turning:?}");
    assert!(
        (turning.rise_samples * step - 7.194e-6).abs() < 0.03e-6,
        "{turning:?}"
    );
    assert!(
        (turning.fall_samples * step - 0.211e-6).abs() < 0.03e-6,
        "{turning:?}"
    );
}
