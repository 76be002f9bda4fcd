use super::*;

fn near(text: &str, kind: Kind, wanted: f64) {
    let got = value(text, kind).unwrap();
    assert!(
        (got - wanted).abs() <= 1e-10 * wanted.abs(),
        "{text}: {got} for {wanted}"
    );
}

#[test]
fn values_are_understood_as_the_trade_types_them() {
    for (text, kind, wanted) in [
        ("220k", Kind::Ohm, 220e3),
        ("4k7", Kind::Ohm, 4700.0),
        ("4K7", Kind::Ohm, 4700.0),
        ("0R47", Kind::Ohm, 0.47),
        ("220R", Kind::Ohm, 220.0),
        ("1M5", Kind::Ohm, 1.5e6),
        ("13 kΩ", Kind::Ohm, 13e3),
        ("13kohm", Kind::Ohm, 13e3),
        ("470mΩ", Kind::Ohm, 0.47),
        ("0.47", Kind::Ohm, 0.47),
        ("0,47", Kind::Ohm, 0.47),
        ("0,047", Kind::Ohm, 0.047),
        ("47u", Kind::Farad, 47e-6),
        ("47µF", Kind::Farad, 47e-6),
        ("47μF", Kind::Farad, 47e-6),
        ("1n", Kind::Farad, 1e-9),
        ("4n7", Kind::Farad, 4.7e-9),
        ("4n7F", Kind::Farad, 4.7e-9),
        ("100pF", Kind::Farad, 100e-12),
        ("104", Kind::Farad, 104.0),
        ("14V", Kind::Volt, 14.0),
        ("5V1", Kind::Volt, 5.1),
        ("300mV", Kind::Volt, 0.3),
        ("-0.2V", Kind::Volt, -0.2),
        ("−0.2V", Kind::Volt, -0.2),
        ("0.4mA", Kind::Ampere, 0.4e-3),
        ("12m", Kind::Ampere, 12e-3),
        ("620uH", Kind::Henry, 620e-6),
        ("35nC", Kind::Coulomb, 35e-9),
        ("61.25%", Kind::Ratio, 0.6125),
        ("1M", Kind::Ohm, 1e6),
        ("1m", Kind::Ohm, 1e-3),
    ] {
        near(text, kind, wanted);
    }
}

#[test]
fn what_is_no_value_or_two_is_refused() {
    for (text, kind) in [
        ("", Kind::Ohm),
        ("k", Kind::Ohm),
        ("4.7k7", Kind::Ohm),
        ("4k7k", Kind::Ohm),
        ("4.7.1", Kind::Ohm),
        ("1,000", Kind::Ohm),
        ("1-2", Kind::Ohm),
        ("1e3", Kind::Ohm),
        ("47uF", Kind::Ohm),
        ("14A", Kind::Volt),
        ("14%", Kind::Volt),
        ("inf", Kind::Volt),
        ("NaN", Kind::Volt),
        ("1F2F", Kind::Farad),
    ] {
        assert!(value(text, kind).is_err(), "{text}");
    }
    assert_eq!(
        value("4x7", Kind::Ohm).unwrap_err(),
        "'4x7' is no value; write it like 220k, 4k7, 0R47 or 0.47"
    );
}

#[test]
fn what_is_written_is_short_and_read_back() {
    for (number, kind, wanted) in [
        (4700.0, Kind::Ohm, "4.7 kΩ"),
        (47e-6, Kind::Farad, "47 µF"),
        (0.4e-3, Kind::Ampere, "400 µA"),
        (0.0, Kind::Volt, "0 V"),
        (-0.2, Kind::Volt, "-200 mV"),
        (325.0, Kind::Volt, "325 V"),
        (10.0, Kind::Ratio, "10"),
    ] {
        let text = written(number, kind);
        assert_eq!(text, wanted);
        near(&text, kind, number);
    }
    for text in ["1%+20mV", "3%", "300mV"] {
        assert_eq!(written_spread(spread(text).unwrap()), text);
    }
    assert_eq!(written(f64::NAN, Kind::Volt), "");
}

#[test]
fn factors_and_parts_are_checked() {
    for (text, wanted) in [("10", 10.0), ("x10", 10.0), ("10X", 10.0), ("100:1", 100.0)] {
        assert!((factor(text).unwrap() - wanted).abs() < 1e-12, "{text}");
    }
    assert!(factor("0").is_err() && factor("10%").is_err() && factor("ten").is_err());
    assert!(part("rt", "13k").is_ok() && part("ct", "1").is_err());
    assert!(part("rx", "1k").is_err() && reading("bulk", "1V2").is_ok());
    assert!(reading("bulk", "").is_err() && reading("mood", "1").is_err());
}

proptest::proptest! {
    #[test]
    fn a_written_value_is_read_back(exponent in -11.0_f64..8.0, digits in 1.0_f64..10.0) {
        let number = digits * 10.0_f64.powf(exponent);
        for kind in [Kind::Ohm, Kind::Farad, Kind::Volt, Kind::Ampere] {
            near(&written(number, kind), kind, number);
        }
    }

    #[test]
    fn an_infix_letter_is_a_decimal_point(whole in 0_u32..1000, part in 0_u32..1000) {
        let infix = value(&format!("{whole}k{part:03}"), Kind::Ohm).unwrap();
        let plain = value(&format!("{whole}.{part:03}k"), Kind::Ohm).unwrap();
        proptest::prop_assert_eq!(infix.to_bits(), plain.to_bits());
    }

    #[test]
    fn no_text_brings_it_down(text in "\\PC{0,12}") {
        for kind in [Kind::Ohm, Kind::Volt, Kind::Ratio] {
            if let Ok(number) = value(&text, kind) {
                proptest::prop_assert!(number.is_finite());
            }
        }
    }
}
