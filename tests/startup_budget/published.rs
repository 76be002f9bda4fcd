//! Facts of the trade, and examples of data sheets and application notes.

use super::*;

/// Common practice: 251 V mains give about 350 V on the bulk; 220 kΩ passes about 1.6 mA from there and
/// dissipates a little over half a watt with VCC at about 15 V; the 8.4 V class starts at about 8.5 V.
#[test]
fn facts_of_the_trade() {
    let parts = [("start-resistor", "220k"), ("vcc-capacitor", "22u")];
    let budget = told("251ac", "UC3843", &parts);
    near(budget.bulk_v.unwrap().typ, 350.0, 0.02, "bulk");
    near(budget.charging_a.unwrap().typ, 1.6e-3, 0.02, "current");
    let load = &budget.loads[0];
    assert!((0.5..0.6).contains(&load.watts.typ), "{}", load.watts.typ);
    assert!(
        load.overstressed && load.word.contains("quarter-watt"),
        "{}",
        load.word
    );
    let start = budget
        .inputs
        .iter()
        .find(|i| i.name == "vcc_start")
        .unwrap();
    near(start.value.typ, 8.5, 0.03, "start threshold");
    assert_eq!(start.origin, Origin::Published);
    let running = budget.inputs.iter().find(|i| i.name == "vcc").unwrap();
    assert!(running.origin == Origin::Assumed && running.from.contains("assumed"));
    assert_eq!(budget.starts, Starts::Always);
}

/// SLUS223G 8.3.5: 1 mA at 90 V mains allow a start resistor as large as 100 kΩ, which bears less than
/// 350 mW at 130 V.
#[test]
fn slus223g_8_3_5_start_resistor() {
    let mut asked = request("90..130ac", &[("start-resistor", "100k")], &[]);
    asked.readings.insert("standby-current".to_owned(), 1e-3);
    let found = budget(&asked, &candidates("UC3842 (TI)"));
    let low_line = firstpulse::startup::charge::Charge {
        bulk_v: std::f64::consts::SQRT_2 * 90.0,
        start_resistance_ohm: 100e3,
        vcc_capacitance_f: 1e-6,
        current_a: 1e-3,
        leakage_ohm: f64::INFINITY,
    };
    assert!(low_line.largest_start_resistor_ohm(16.0) > 100e3);
    assert!(low_line.start_current_a(16.0) > 1e-3);
    let bulk_130 = Bounded::exact(std::f64::consts::SQRT_2 * 130.0);
    let part = marked("100k", Kind::Ohm).unwrap();
    let load = loads::loads(&part, Bounded::exact(100e3), bulk_130, Bounded::exact(16.0));
    assert!(
        load[0].watts.high < 0.350 && load[0].watts.typ < 0.300,
        "{:?}",
        load[0].watts
    );
    assert!(found.bulk_v.unwrap().high < 185.0);
}

/// SLUS223G 9.2.2.9: 100 kΩ (2 × 50 kΩ) and 120 µF, 85 V mains: about 1 mA and about 2 s.
#[test]
fn slus223g_9_2_2_9_start_time() {
    let parts = [("start-resistor", "2x50k"), ("vcc-capacitor", "120u")];
    let mut asked = request("85ac", &parts, &[]);
    // the document leaves the controller's own current out
    asked.readings.insert("standby-current".to_owned(), 0.0);
    let found = budget(&asked, &candidates("UC2842 (TI)"));
    near(found.charging_a.unwrap().typ, 1e-3, 0.25, "current");
    near(found.time_to_start_s.unwrap().typ, 2.0, 0.2, "time");
    // nothing drawn: any start resistor would do, which is no number and says so
    assert!(found.largest_start_resistor_ohm.unwrap().typ.is_infinite());
    assert!(reason(&found, "largest_start_resistor").contains("no largest"));
    // its hold-up: 6 V of 120 µF at 11 mA are 65.5 ms; the start resistor carries another tenth
    near(found.hold_up_s.unwrap().typ, 65.5e-3, 0.15, "hold-up");
}

/// SLUA257 3.1: 100 µA more from the bus of a power factor corrector cost 37 mW: a bus of 370 V.
#[test]
fn slua257_current_from_the_bus() {
    let part = MarkedPart::plain(Kind::Ohm, 370.0 / 100e-6);
    let load = loads::loads(
        &part,
        Bounded::exact(part.value()),
        Bounded::exact(370.0),
        Bounded::exact(0.0),
    );
    near(load[0].watts.typ, 37e-3, 1e-9, "power");
}
