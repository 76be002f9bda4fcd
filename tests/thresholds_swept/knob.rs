//! A knob that turns in steps, evenly, through a feed that follows within milliseconds: what its steps leave about a
//! line is no ripple, and the event lies in one of them.

use firstpulse::data::Channel;

use super::*;

/// Start and stop in volts, inside a step each (a UC3844 starts at 14.5 V to 17.5 V and stops at 8.5 V to 11.5 V, SLUS223G).
const AT_V: (f64, f64) = (15.93, 9.87);

struct Scope {
    /// Step of the knob, in volts.
    knob_v: f64,
    step_s: f64,
    code_v: f64,
    /// Noise in codes.
    noise: f64,
    tau_s: f64,
    /// For the way up and down, in seconds.
    turn_s: f64,
}

/// Up from 7 V to 17.5 V and down again, in steps; what VCC and VREF show of it.
fn turned(scope: &Scope, offset_v: f64, seed: u64) -> Inspection {
    let mut dice = Dice(seed);
    let (turn_s, half_s) = (scope.turn_s, 0.47 * scope.turn_s);
    let count = (turn_s / scope.step_s) as usize;
    let lag = 1.0 - (-scope.step_s / scope.tau_s).exp();
    let (mut level, mut on) = (7.0 + offset_v, false);
    let (mut vcc, mut runs) = (Vec::new(), Vec::new());
    for i in 0..count {
        let at = i as f64 * scope.step_s;
        let way = (at.min(turn_s - at) - 0.5).clamp(0.0, half_s) / half_s;
        let set = ((7.0 + 10.5 * way) / scope.knob_v).round() * scope.knob_v + offset_v;
        level += (set - level) * lag;
        on = if on { level > AT_V.1 } else { level >= AT_V.0 };
        let noisy = level / scope.code_v + scope.noise * dice.normal();
        vcc.push(noisy.round() * scope.code_v);
        runs.push(if on { 5.0 } else { 0.0 });
    }
    let channel = |name: &str, values: Vec<f64>| {
        let time = made::even(scope.step_s, values.len());
        Channel::of_volts(name, time, values)
    };
    let shot = made::shot(vec![channel("VCC", vcc), channel("VREF", runs)]);
    let mut told = options(&[Role::Vcc, Role::Vref]);
    told.controller = Some("UC3844".to_owned());
    made::examine(&[shot], &told)
}

/// How many of both thresholds hold in 12 records, all with the step in their budget and next to no ripple.
fn held(scope: &Scope) -> usize {
    let mut held = 0;
    for seed in 0..12 {
        let found = turned(scope, seed as f64 * scope.knob_v / 12.0, 400 + seed);
        for (quantity, truth) in [
            (Quantity::StartThreshold, AT_V.0),
            (Quantity::StopThreshold, AT_V.1),
        ] {
            let value = value(&found, quantity);
            let u_of = |name: &str| value.terms.iter().find(|t| t.name == name).map(|t| t.u);
            assert!(
                u_of("step of the knob").is_some()
                    && u_of("ripple").is_none_or(|u| u < 0.02 * scope.knob_v),
                "{seed}: {quantity:?} {value:?}"
            );
            assert!(
                value.u95 < 0.75 * scope.knob_v,
                "{seed}: {quantity:?} ± {}",
                value.u95
            );
            held += usize::from((value.value - truth).abs() <= value.u95);
        }
    }
    held
}

/// Steps of little more than a code with noise of 0.4 codes: a sine explains a good part of them.
#[test]
fn even_steps_of_about_a_code_are_no_ripple() {
    let scope = Scope {
        knob_v: 0.1,
        step_s: 5e-3,
        code_v: 0.08,
        noise: 0.375,
        tau_s: 7e-3,
        turn_s: 60.0,
    };
    assert!(held(&scope) >= 22, "of 24");
}

/// Steps of five codes that take a few samples each: the event cuts the last one short.
#[test]
fn a_leap_that_the_event_cuts_short_is_a_whole_step() {
    for (step_s, noise, tau_s) in [(5e-3, 0.26, 4e-3), (2e-3, 0.4, 4e-3)] {
        let scope = Scope {
            knob_v: 0.1,
            step_s,
            code_v: 0.02,
            noise,
            tau_s,
            turn_s: 60.0,
        };
        assert!(held(&scope) >= 22, "of 24");
    }
}

/// Steps of 0.5 and 1 V, of which few lie within the volts that are looked at before an event: the leap at the event
/// itself shows the step. A rectangle of one step holds 95 %.
#[test]
fn a_leap_of_a_coarse_knob_shows_at_the_event() {
    for (knob_v, noise, turn_s) in [(0.5, 0.3, 20.0), (1.0, 0.3, 20.0), (1.0, 0.5, 30.0)] {
        let scope = Scope {
            knob_v,
            step_s: 2e-3,
            code_v: 0.125,
            noise,
            tau_s: 1e-4,
            turn_s,
        };
        let held = held(&scope);
        assert!(held >= 21, "{knob_v} {noise} {turn_s}: {held} of 24");
    }
}
