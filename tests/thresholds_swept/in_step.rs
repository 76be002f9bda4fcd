//! An export of 2,000 points with OUT alone beside VCC: its samples fall in step with the pulses and meet them in
//! long rows, with pauses as long.

use super::*;

/// Of the samples so many are left out.
const ONE_IN: usize = 15;

/// VCC and OUT, whose samples go once through a pulse in `beat` of them.
fn inspected(beat: f64, phase: f64, sigma: f64) -> (Inspection, usize) {
    let rate = RATE / ONE_IN as f64;
    let hertz = (700.0 + 1.0 / beat) * rate;
    let swept = swept(by_hand, |_, _| 0.0, 30.0);
    let pulse = |i: usize| {
        let turn = (i as f64 / RATE * hertz + phase).fract();
        if swept.runs[i] && turn < 0.47 {
            swept.vcc[i] - 1.5
        } else {
            0.02
        }
    };
    let out: Vec<f64> = (0..swept.vcc.len()).step_by(ONE_IN).map(pulse).collect();
    let rows = out.windows(2).filter(|w| w[0] < 1.0 && w[1] > 1.0).count();
    let thinned = |name, values: Vec<f64>, sigma| {
        let mut channel = record(name, values, sigma);
        channel.time = made::even(ONE_IN as f64 / RATE, channel.samples.len());
        channel
    };
    let vcc = swept.vcc.iter().copied().step_by(ONE_IN).collect();
    let shot = made::shot(vec![thinned("VCC", vcc, sigma), thinned("OUT", out, 0.02)]);
    (
        made::examine(&[shot], &options(&[Role::Vcc, Role::Out])),
        rows,
    )
}

/// The step of VCC behind its feed resistance tells the instant that OUT does not: to a few samples, of which each
/// is 4 mV of this sweep.
#[test]
fn the_step_of_vcc_tells_when_where_out_only_tells_that_it_runs() {
    for beat in [40.0, 150.0, 600.0] {
        for k in 0..5 {
            let (found, rows) = inspected(beat, 0.1 + 0.2 * f64::from(k), 0.12);
            if rows == 0 {
                continue; // never seen: nothing is asked of it
            }
            for (quantity, truth) in [
                (Quantity::StartThreshold, START_V),
                (Quantity::StopThreshold, STOP_V),
            ] {
                let value = value(&found, quantity);
                let off = (value.value - truth).abs();
                assert!(off <= 1.5 * value.u95, "{beat} {k}: {off} {}", value.u95);
                assert!(value.u95 < 0.08, "{beat} {k}: {}", value.u95);
            }
        }
    }
}

/// Noise of half a volt hides the step: then the pauses of OUT are too long to say anything, and it says what to
/// record instead of asking for a higher VCC.
#[test]
fn where_neither_tells_the_reason_does() {
    for beat in [150.0, 600.0] {
        let (found, rows) = inspected(beat, 0.1, 0.5);
        assert!(rows > 0);
        for quantity in [Quantity::StartThreshold, Quantity::StopThreshold] {
            let outcome = &row(&found, quantity).measured.outcome;
            let words = format!("{outcome:?}");
            let wrong = ["drive it higher", "let it fall further", "never starts"];
            assert!(!wrong.iter().any(|w| words.contains(w)), "{words}");
            assert!(words.contains("record VREF"), "{beat}: {words}");
        }
    }
}
