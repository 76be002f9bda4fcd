//! Roles proposed for records made from formulas, in the levels of TI SLUS223G: VREF 5 V, ramp 1.0 to
//! 2.7 V, start and stop of the 16/10 V parts, OUT 1.5 V below VCC, CS limit 1.0 V.

mod made;

use std::sync::Arc;

use firstpulse::data::{Channel, InspectedChannel, Options, Role, TimeAxis};

const STEP_S: f64 = 2e-3;
const COUNT: usize = 16_000;
const FAST_S: f64 = 50e-9;

fn slow() -> Arc<TimeAxis> {
    made::even(STEP_S, COUNT)
}

fn fast() -> Arc<TimeAxis> {
    made::even(FAST_S, 8000)
}

fn vcc(t: f64) -> f64 {
    made::triangle(t, 18.0, 1.2)
}

fn vref(t: f64) -> f64 {
    made::vref_of_triangle(t, 18.0, 1.2, 16.0, 10.0, 1e-3)
}

/// Rises in 9 of 10 parts of a cycle of 10 µs.
fn ramp(t: f64) -> f64 {
    let phase = (t / 10e-6).fract();
    let share = if phase < 0.9 {
        phase / 0.9
    } else {
        (1.0 - phase) / 0.1
    };
    1.0 + 1.7 * share
}

/// Pulses of 4 µs in 10 µs, each edge a line of 100 ns.
fn out(t: f64) -> f64 {
    let at = t.rem_euclid(10e-6);
    13.5 * (at / 100e-9).clamp(0.0, 1.0) * (1.0 - (at - 4e-6) / 100e-9).clamp(0.0, 1.0)
}

fn cs(t: f64, peak_v: f64) -> f64 {
    let at = t.rem_euclid(10e-6);
    if at < 4e-6 {
        peak_v * (0.3 + 0.7 * at / 4e-6)
    } else {
        0.0
    }
}

fn known(channels: Vec<Channel>) -> Vec<InspectedChannel> {
    let inspection = made::examine(&[made::shot(channels)], &Options::default());
    inspection.captures[0].channels.clone()
}

fn roles(channels: Vec<Channel>) -> Vec<Option<Role>> {
    known(channels).iter().map(|c| c.role.value).collect()
}

fn slow_channel(name: &str, f: impl Fn(f64) -> f64) -> Channel {
    made::channel(name, &slow(), 0.01, 3, f)
}

fn fast_channel(name: &str, f: impl Fn(f64) -> f64) -> Channel {
    made::channel(name, &fast(), 0.005, 5, f)
}

#[test]
fn a_sweep_shows_vcc_and_vref_with_a_confidence_and_a_reason() {
    let known = known(vec![slow_channel("CH1", vcc), slow_channel("CH2", vref)]);
    for (channel, role) in known.iter().zip([Role::Vcc, Role::Vref]) {
        assert_eq!(channel.role.value, Some(role));
        let confidence = channel.role.confidence.unwrap();
        assert!((0.9..1.0).contains(&confidence), "{confidence}");
        assert!(channel.role.reason.len() > 20, "{}", channel.role.reason);
        assert_eq!(channel.factor_offer, None);
    }
}

#[test]
fn a_running_shot_shows_ramp_out_cs_and_winding() {
    let winding = |t: f64| if out(t) > 6.0 { -25.0 } else { 13.0 };
    let found = roles(vec![
        fast_channel("CH1", ramp),
        fast_channel("CH2", out),
        fast_channel("CH3", |t| cs(t, 0.8)),
        fast_channel("CH4", winding),
    ]);
    let wanted = [Role::RtCt, Role::Out, Role::Cs, Role::Aux];
    assert_eq!(found, wanted.map(Some));
}

#[test]
fn a_later_and_slower_copy_of_out_is_the_gate() {
    let late = |t: f64| {
        let at = t.rem_euclid(10e-6);
        let tau_s = 200e-9;
        let up = 1.0 - (-at / tau_s).exp();
        let level = if at < 4e-6 {
            up
        } else {
            (-(at - 4e-6) / tau_s).exp()
        };
        13.5 * level
    };
    let found = roles(vec![fast_channel("CH1", late), fast_channel("CH2", out)]);
    assert_eq!(found, [Some(Role::Gate), Some(Role::Out)]);
}

#[test]
fn the_same_net_twice_is_neither() {
    assert_eq!(
        roles(vec![fast_channel("A", out), fast_channel("B", out)]),
        [None, None]
    );
    assert_eq!(
        roles(vec![slow_channel("A", vcc), slow_channel("B", vcc)]),
        [None, None]
    );
}

#[test]
fn names_and_order_do_not_change_the_roles() {
    type Shape = (fn(f64) -> f64, Role);
    let shapes: [Shape; 3] = [
        (ramp, Role::RtCt),
        (out, Role::Out),
        (|t| cs(t, 0.9), Role::Cs),
    ];
    let orders = [
        [0, 1, 2],
        [0, 2, 1],
        [1, 0, 2],
        [1, 2, 0],
        [2, 0, 1],
        [2, 1, 0],
    ];
    for order in orders {
        let mut names = ["CH3", "CH1", "CH2"].into_iter();
        let channels = order.map(|i| fast_channel(names.next().unwrap(), shapes[i].0));
        let wanted = order.map(|i| Some(shapes[i].1));
        assert_eq!(roles(channels.into()), wanted, "{order:?}");
    }
}

#[test]
fn a_name_alone_decides_nothing() {
    for name in ["VCC", "VREF", "CS", "OUT", "COMP", "FB"] {
        let found = roles(vec![slow_channel(name, |_| 0.02)]);
        assert_eq!(found, [None], "{name}");
        let found = roles(vec![slow_channel(name, |_| 12.0)]);
        assert_eq!(found, [None], "{name}");
    }
}

#[test]
fn near_misses_have_no_role_and_the_reason_says_so() {
    let near: [fn(f64) -> f64; 4] = [
        |t| 3.0 + 0.3 * ramp(t),
        |t| 0.25 * out(t),
        |_| 0.5,
        |_| 12.0,
    ];
    for (index, shape) in near.into_iter().enumerate() {
        let known = known(vec![fast_channel("CH1", shape)]);
        assert_eq!(known[0].role.value, None, "{index}");
        assert_eq!(known[0].factor_offer, None, "{index}");
        assert!(known[0].role.reason.starts_with("can't tell"), "{index}");
    }
}

#[test]
fn a_probe_ten_times_off_is_offered_and_not_applied() {
    type Case = (f64, f64, usize, f64, Role);
    // scale of VCC, scale of VREF, channel that is off, factor that sets it right, its role
    let cases: [Case; 4] = [
        (1.0, 0.1, 1, 10.0, Role::Vref),
        (1.0, 10.0, 1, 0.1, Role::Vref),
        (0.1, 1.0, 0, 10.0, Role::Vcc),
        (10.0, 1.0, 0, 0.1, Role::Vcc),
    ];
    for (vcc_scale, vref_scale, off, factor, role) in cases {
        let noise = |scale: f64| 0.01 * scale;
        let channels = vec![
            made::channel("CH1", &slow(), noise(vcc_scale), 3, |t| vcc_scale * vcc(t)),
            made::channel("CH2", &slow(), noise(vref_scale), 4, |t| {
                vref_scale * vref(t)
            }),
        ];
        let inspection = made::examine(&[made::shot(channels)], &Options::default());
        let known = &inspection.captures[0].channels[off];
        let offer = known.factor_offer.as_ref().unwrap();
        assert_eq!((offer.factor, offer.role), (factor, role));
        assert_eq!((known.role.value, known.gain), (None, 1.0));
        // the reason is for window and terminal alike; only the terminal names its option
        assert!(known.role.reason.contains(&offer.reason));
        assert!(!offer.reason.contains("--"), "{}", offer.reason);
        let noted = inspection
            .notes
            .iter()
            .any(|n| n.text.contains(&offer.reason));
        assert!(noted, "{:?}", inspection.notes);
        let printed = firstpulse::report::text::case("unit", &[("as found", &inspection)], true);
        let option = format!("--probe {}={factor}", off + 1);
        assert!(printed.contains(&option), "{printed}");
    }
}

#[test]
fn a_ramp_of_a_tenth_and_of_ten_times_is_offered() {
    for (scale, factor) in [(0.1, 10.0), (10.0, 0.1)] {
        let time = fast();
        let one = made::channel("CH1", &time, 0.003 * scale, 7, |t| scale * ramp(t));
        let known = known(vec![one]);
        let offer = known[0].factor_offer.as_ref().unwrap();
        assert_eq!((offer.factor, offer.role), (factor, Role::RtCt));
        assert_eq!(known[0].role.value, None);
    }
}

#[test]
fn true_pulses_of_half_a_volt_bring_no_offer() {
    let known = known(vec![
        fast_channel("CH1", out),
        fast_channel("CH2", |t| cs(t, 0.5)),
    ]);
    assert_eq!(known[1].role.value, Some(Role::Cs));
    assert!(known.iter().all(|c| c.factor_offer.is_none()));
}

#[test]
fn noise_and_a_flat_channel_leave_the_other_roles_alone() {
    for noise in [0.002, 0.01, 0.03] {
        let channels = || {
            vec![
                made::channel("CH1", &fast(), noise, 11, ramp),
                made::channel("CH2", &fast(), 5.0 * noise, 12, out),
            ]
        };
        let wanted = [Some(Role::RtCt), Some(Role::Out)];
        assert_eq!(roles(channels()), wanted, "{noise}");
        let mut more = channels();
        more.push(made::channel("CH3", &fast(), noise, 13, |_| 0.0));
        let found = roles(more);
        assert_eq!(found[..2], wanted, "{noise}");
        assert_eq!(found[2], None);
    }
}
