//! Steps of VCC at the starts and stops of a hiccup, and pulses in a burst, by closed forms.

// a panic is how a test fails
#![allow(clippy::unwrap_used)]

mod made;

use firstpulse::data::options::{Accuracy, ChannelChoice};
use firstpulse::data::{Channel, Options, Quantity, Role, Setup};
use made::Dice;

/// Volts of a hiccup.
const START_V: f64 = 16.0;
const STOP_V: f64 = 10.0;
/// Samples a second.
const RATE: f64 = 5_000.0;
/// Current while running and while stopped, VCC and VREF capacitor, and what charges VCC.
const RUN_A: f64 = 0.014_364;
const STANDBY_A: f64 = 0.0005;
const CHARGE_A: f64 = 0.0019;
const C_F: f64 = 47e-6;
const C_REF_F: f64 = 1e-6;
const VREF_V: f64 = 5.0;
/// Rate of OUT, in hertz.
const OUT_HZ: f64 = 700.0;

fn exact(roles: &[Role], setup: Setup) -> Options {
    let accuracy = Accuracy {
        gain: 1e-6,
        offset: 1e-6,
    };
    Options {
        setup: Some(setup),
        roles: made::roles(roles),
        accuracies: (1..=roles.len())
            .map(|n| (made::nth(n), accuracy))
            .collect(),
        ..Options::default()
    }
}

/// VCC, VREF and OUT of a unit that ticks, its VCC capacitor with a series resistance; pulses of every burst.
fn ticking(esr: f64) -> (Vec<Channel>, Vec<f64>) {
    let (mut dice, mut on, mut pulses) = (Dice(5), false, Vec::new());
    let (mut vcc, mut vref, mut out) = (Vec::new(), Vec::new(), Vec::new());
    let (mut charge, mut t, step) = (STOP_V - 2.0, 0.0, 0.05 / RATE);
    let mut phase: f64 = 0.0;
    let pin =
        |charge: f64, on: bool| charge + esr * (CHARGE_A - if on { RUN_A } else { STANDBY_A });
    while t < 3.0 {
        for _ in 0..20 {
            charge += step * (CHARGE_A - if on { RUN_A } else { STANDBY_A }) / C_F;
            let level = pin(charge, on);
            if !on && level >= START_V {
                on = true;
                charge -= C_REF_F * VREF_V / C_F;
                phase = 0.0;
                pulses.push(0.0);
            } else if on && level <= STOP_V {
                on = false;
            }
            if on {
                if phase.fract() < 0.5 && (phase + step * OUT_HZ).fract() >= 0.5 {
                    *pulses.last_mut().unwrap() += 1.0;
                }
                phase += step * OUT_HZ;
            }
            t += step;
        }
        vcc.push(pin(charge, on) + 0.01 * dice.normal());
        vref.push(if on { VREF_V } else { 0.0 } + 0.01 * dice.normal());
        let high = on && phase.fract() >= 0.5;
        out.push(if high { 9.0 } else { 0.0 } + 0.01 * dice.normal());
    }
    let time = made::even(1.0 / RATE, vcc.len());
    let names = ["VCC", "VREF", "OUT"];
    let all = names.into_iter().zip([vcc, vref, out]);
    let channels = all.map(|(name, values)| Channel::of_volts(name, time.clone(), values));
    (channels.collect(), pulses)
}

/// At the start VCC falls by the current step times the series resistance, and by what VREF takes: the charge of
/// its capacitor, from the VCC capacitor in full; at the stop it rises by the first alone (Ohm's law, Q = C·V).
#[test]
fn steps_are_current_times_resistance_and_the_charge_of_vref() {
    for esr in [0.0, 5.0, 30.0] {
        let (channels, pulses) = ticking(esr);
        let shot = made::shot(channels);
        let options = exact(&[Role::Vcc, Role::Vref, Role::Out], Setup::Mains);
        let found = made::examine(&[shot], &options);
        let by_esr = esr * (RUN_A - STANDBY_A);
        for (quantity, truth) in [
            (Quantity::StepAtStop, by_esr),
            (Quantity::StepAtStart, by_esr + C_REF_F * VREF_V / C_F),
        ] {
            let value = made::value(&found, quantity);
            let off = value.value - truth;
            assert!(
                off.abs() <= value.u95 && value.u95 < 0.08,
                "{esr}: {quantity:?} {off} {}",
                value.u95
            );
        }
        // whole bursts lie between the first start and the last stop
        let whole = &pulses[..pulses.len() - 1];
        let mean = whole.iter().sum::<f64>() / whole.len() as f64;
        let counted = made::value(&found, Quantity::PulsesPerBurst);
        assert!(
            (counted.value - mean).abs() <= counted.u95,
            "{} {mean}",
            counted.value
        );
    }
}

/// Without OUT beside VCC, the rate of another shot of the run times the length of a burst.
#[test]
fn pulses_follow_from_the_rate_of_another_shot() {
    let mut channels = ticking(0.0).0;
    channels.truncate(2);
    let hertz = 50_000.0;
    let time = made::even(2e-7, 5_000);
    let out = made::channel("OUT", &time, 0.01, 9, |t| {
        if (t * hertz).fract() < 0.5 { 9.0 } else { 0.0 }
    });
    let mut options = exact(&[], Setup::Mains);
    options.roles = made::roles(&[Role::Vcc, Role::Vref, Role::Out]);
    options
        .roles
        .iter_mut()
        .take(2)
        .for_each(|r| r.channel.capture = Some(1));
    options.roles[2].channel = ChannelChoice {
        capture: Some(2),
        channel: "1".to_owned(),
    };
    let found = made::examine(&[made::shot(channels), made::shot(vec![out])], &options);
    // the burst takes what lies between the thresholds less the charge of VREF, at the difference of the currents
    let burst_s = ((START_V - STOP_V) * C_F - C_REF_F * VREF_V) / (RUN_A - CHARGE_A);
    let computed = made::value(&found, Quantity::PulsesPerBurst);
    let off = computed.value - hertz * burst_s;
    assert!(
        off.abs() <= computed.u95 && computed.u95 < 20.0,
        "{off} {}",
        computed.u95
    );
}

/// VCC alone shows its starts by its corners: no step can be told there.
#[test]
fn a_corner_shows_no_step() {
    let (mut channels, _) = ticking(5.0);
    channels.truncate(1);
    let found = made::examine(&[made::shot(channels)], &exact(&[Role::Vcc], Setup::Mains));
    for quantity in [Quantity::StepAtStart, Quantity::StepAtStop] {
        let row = made::entry(&found, quantity);
        let words = format!("{:?}", row.unwrap().measured.outcome);
        assert!(words.contains("record VREF (8) beside it"), "{words}");
    }
}

/// VCC by itself: where it leaps at the resistance of its capacitor, the stop is the lowest before the leap and the
/// start the highest, not where the slopes would meet.
#[test]
fn vcc_alone_shows_both_thresholds_beside_its_steps() {
    for esr in [0.0, 5.0, 30.0, 80.0] {
        for others in [1, 2] {
            let (mut channels, pulses) = ticking(esr);
            let roles = [Role::Vcc, Role::Out];
            channels.remove(1);
            channels.truncate(others);
            let shot = made::shot(channels);
            let found = made::examine(&[shot], &exact(&roles[..others], Setup::Mains));
            for (quantity, truth) in [
                (Quantity::StartThreshold, START_V),
                (Quantity::StopThreshold, STOP_V),
                (Quantity::Hysteresis, START_V - STOP_V),
            ] {
                let value = made::value(&found, quantity);
                let off = value.value - truth;
                assert!(
                    off.abs() <= value.u95.max(0.05) && value.u95 < 0.3,
                    "{esr}, {others}: {quantity:?} {off} {}",
                    value.u95
                );
            }
            let whole = &pulses[..pulses.len() - 1];
            let mean = whole.iter().sum::<f64>() / whole.len() as f64;
            if others > 1 {
                let counted = made::value(&found, Quantity::PulsesPerBurst);
                assert!((counted.value - mean).abs() <= counted.u95, "{esr}");
            }
        }
    }
}
