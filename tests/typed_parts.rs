//! Marks of parts against IEC 60062:2016 and IEC 60063:2015, both from memory, and against facts of the
//! trade; readings against marks.

#![allow(clippy::unwrap_used, reason = "a test may")]

use firstpulse::data::Verdict;
use firstpulse::data::options::Accuracy;
use firstpulse::data::part_check::{check, usual_meter};
use firstpulse::data::typed::{Kind, Series, Tolerance, marked, marked_part, part};

fn near(text: &str, kind: Kind, wanted: f64, percent: Option<(f64, f64)>) {
    let part = marked(text, kind).unwrap_or_else(|why| panic!("{text}: {why}"));
    let got = part.value();
    assert!((got / wanted - 1.0).abs() < 1e-9, "{text}: {got}");
    let tolerance = part.members[0].tolerance;
    assert_eq!(tolerance.is_some(), percent.is_some(), "{text}");
    if let (Some(t), Some((minus, plus))) = (tolerance, percent) {
        assert!((100.0 * t.minus - minus).abs() < 1e-6, "{text}: {t:?}");
        assert!((100.0 * t.plus - plus).abs() < 1e-6, "{text}: {t:?}");
    }
}

/// The letter in place of the decimal point: examples of IEC 60062 (from memory).
#[test]
fn letters_stand_for_the_decimal_point() {
    for (text, wanted) in [
        ("R15", 0.15),
        ("R47", 0.47),
        ("1R0", 1.0),
        ("0R22", 0.22),
        ("59R04", 59.04),
        ("590R4", 590.4),
        ("5K904", 5904.0),
        ("1M0", 1e6),
        ("3M32", 3.32e6),
        ("4k7", 4700.0),
        ("2M2", 2.2e6),
        ("220k", 220e3),
        ("3.3k", 3300.0),
    ] {
        near(text, Kind::Ohm, wanted, None);
    }
    for (text, wanted) in [
        ("p10", 0.1e-12),
        ("p332", 0.332e-12),
        ("1p0", 1e-12),
        ("33p2", 33.2e-12),
        ("590p", 590e-12),
        ("1n5", 1.5e-9),
        ("n47", 0.47e-9),
        ("4n7", 4.7e-9),
        ("2.2nF", 2.2e-9),
        ("100nF", 100e-9),
        ("10µ", 10e-6),
        ("47u", 47e-6),
    ] {
        near(text, Kind::Farad, wanted, None);
    }
}

/// Letters of tolerance of IEC 60062 (from memory).
#[test]
fn tolerances_are_typed_as_letters_and_per_cent() {
    let five = Some((5.0, 5.0));
    for (text, percent) in [
        ("4k7 5%", five),
        ("4k7±5%", five),
        ("4k7 ± 5 %", five),
        ("4k7+-5%", five),
        ("4k7J", five),
        ("4K7J", five),
        ("4k7 J", five),
        ("4k7K", Some((10.0, 10.0))),
        ("4k7M", Some((20.0, 20.0))),
        ("4k7F", Some((1.0, 1.0))),
        ("4k7G", Some((2.0, 2.0))),
        ("4k7D", Some((0.5, 0.5))),
        ("4k7B", Some((0.1, 0.1))),
        ("4k7", None),
    ] {
        near(text, Kind::Ohm, 4700.0, percent);
    }
    near("220K", Kind::Ohm, 220e3, None);
    near("13 M", Kind::Ohm, 13e6, None);
    near("100uT", Kind::Farad, 100e-6, Some((10.0, 50.0)));
    near("100uZ", Kind::Farad, 100e-6, Some((20.0, 80.0)));
    // below 10 pF the letter means picofarads: C is ±0.25 pF
    near("4p7C", Kind::Farad, 4.7e-12, Some((25.0 / 4.7, 25.0 / 4.7)));
}

/// Three digits on a capacitor are picofarads; on a chip resistor, ohms (common practice).
#[test]
fn codes_are_read_on_the_part_that_has_them() {
    near("104", Kind::Farad, 100e-9, None);
    near("103K", Kind::Farad, 10e-9, Some((10.0, 10.0)));
    near("472M", Kind::Farad, 4.7e-9, Some((20.0, 20.0)));
    near("221J", Kind::Farad, 220e-12, Some((5.0, 5.0)));
    near("339", Kind::Farad, 3.3e-12, None);
    near("104", Kind::Ohm, 100e3, None);
    near("473", Kind::Ohm, 47e3, None);
    assert!((part("ct", "102").unwrap() / 1e-9 - 1.0).abs() < 1e-9);
    // plain ohms stay plain
    for text in ["470", "220", "100", "4700", "1500", "82", "0.47"] {
        near(text, Kind::Ohm, text.parse().unwrap(), None);
    }
    // 332 Ω is a value of E96, 332 on a chip 3.3 kΩ; 1003 Ω may be a reading, on a chip 100 kΩ
    for (text, both) in [("332", "332 Ω"), ("1003", "100k")] {
        let why = marked(text, Kind::Ohm).unwrap_err();
        assert!(why.contains("could mean") && why.contains(both), "{why}");
    }
}

/// EIA-96 marks of 1 % chip resistors (from memory): 01C is 10 kΩ, 68X 49.9 Ω, 29B 1.96 kΩ.
#[test]
fn two_digits_and_a_letter_are_a_one_percent_chip() {
    let one = Some((1.0, 1.0));
    for (text, wanted) in [
        ("01C", 10e3),
        ("68X", 49.9),
        ("29B", 1.96e3),
        ("96A", 976.0),
        ("01Y", 1.0),
        ("65D", 464e3),
        ("01F", 10e6),
    ] {
        near(text, Kind::Ohm, wanted, one);
    }
    near("47R", Kind::Ohm, 47.0, None);
    for text in ["00C", "97C", "01Q", "1C"] {
        assert!(marked(text, Kind::Ohm).is_err(), "{text}");
    }
}

#[test]
fn resistors_in_series_add_and_keep_their_tolerances() {
    let two = marked_part("start-resistor", "110k 5%+110k 1%").unwrap();
    assert_eq!(two.members.len(), 2);
    let (low, high) = two.range(Tolerance::both(0.5));
    assert!((two.value() - 220e3).abs() < 1e-6);
    assert!((low - (110e3 * 0.95 + 110e3 * 0.99)).abs() < 1e-6);
    assert!((high - (110e3 * 1.05 + 110e3 * 1.01)).abs() < 1e-6);
    assert_eq!(two.shown(), "110 kΩ ±5 % + 110 kΩ ±1 %");
    let same = marked_part("start-resistor", "2x82k").unwrap();
    assert!(same.members.len() == 2 && (same.value() - 164e3).abs() < 1e-6);
    for text in [
        "110k+", "+", "110k++1k", "0x82k", "4x7", "4k7 5", "4k7 100%", "4k7 -5%",
    ] {
        assert!(marked_part("start-resistor", text).is_err(), "{text}");
    }
    assert!(marked_part("mood", "1k").is_err());
}

/// IEC 60063: E24, E12, E6, E3 (values from memory), and E96 and E192 at some places.
#[test]
fn preferred_values_are_those_of_the_standard() {
    assert_eq!(
        Series::E12.values(),
        [1.0, 1.2, 1.5, 1.8, 2.2, 2.7, 3.3, 3.9, 4.7, 5.6, 6.8, 8.2]
    );
    assert_eq!(Series::E6.values(), [1.0, 1.5, 2.2, 3.3, 4.7, 6.8]);
    assert_eq!(Series::E3.values(), [1.0, 2.2, 4.7]);
    for series in Series::ALL {
        let all = series.values();
        assert_eq!(all.len(), series.count());
        assert!(all.windows(2).all(|w| w[0] < w[1]), "{}", series.name());
    }
    let e48 = Series::E48.values();
    let start = [
        1.0, 1.05, 1.10, 1.15, 1.21, 1.27, 1.33, 1.40, 1.47, 1.54, 1.62, 1.69,
    ];
    assert_eq!(e48[..12], start);
    let e96 = Series::E96.values();
    for (place, wanted) in [
        (1, 1.0),
        (18, 1.5),
        (51, 3.32),
        (66, 4.75),
        (68, 4.99),
        (96, 9.76),
    ] {
        assert!((e96[place - 1] - wanted).abs() < 1e-12, "{place}");
    }
    let e192 = Series::E192.values();
    assert_eq!(e192[182..188], [8.87, 8.98, 9.09, 9.20, 9.31, 9.42]);
    assert!(e192.contains(&9.20) && !e192.contains(&9.19));
    assert_eq!(Series::E192.tolerance(), Some(0.005));
    assert_eq!(Series::E24.tolerance(), Some(0.05));
    assert_eq!(Series::E3.tolerance(), None);
}

#[test]
fn the_nearest_preferred_value_is_nearest_by_ratio() {
    for (series, value, wanted) in [
        (Series::E12, 217.8e3, 220e3),
        (Series::E24, 13.1e3, 13e3),
        (Series::E6, 9.9, 10.0),
        (Series::E96, 15.41e3, 15.4e3),
        (Series::E3, 47e-6, 47e-6),
    ] {
        let got = series.nearest(value).unwrap();
        assert!((got / wanted - 1.0).abs() < 1e-9, "{value}: {got}");
    }
    assert_eq!(Series::E24.nearest(f64::NAN), None);
    assert_eq!(Series::E24.nearest(0.0), None);
    assert_eq!(Series::coarsest(47e-6), Some(Series::E3));
    assert_eq!(Series::coarsest(13e3), Some(Series::E24));
    assert_eq!(Series::coarsest(15.4e3), Some(Series::E48));
    assert_eq!(Series::coarsest(217.8e3), None);
}

/// 217.8 kΩ is 220 kΩ less 1 %.
#[test]
fn a_reading_is_set_against_mark_and_meter() {
    let meter = Accuracy {
        gain: 0.005,
        offset: 0.0,
    };
    let of = |mark: &str, reading: f64| check(&marked(mark, Kind::Ohm).unwrap(), reading, meter);
    let five = of("220k 5%", 217.8e3);
    assert_eq!(five.verdict, Verdict::InLimits);
    assert!((five.deviation + 0.01).abs() < 1e-12 && five.settle.is_none());
    let one = of("220k 1%", 217.8e3);
    assert_eq!(one.verdict, Verdict::CannotSay);
    // half of what the meter may be off by lies on either side of the limit
    assert!((one.p_in - 0.5).abs() < 1e-6 && one.settle.is_some());
    assert_eq!(of("220k 1%", 240e3).verdict, Verdict::Outside);
    assert_eq!(of("220k 1%", 220e3).verdict, Verdict::InLimits);
    assert_eq!(of("220k 1%", f64::NAN).verdict, Verdict::CannotSay);
    let exact = Accuracy {
        gain: 0.0,
        offset: 0.0,
    };
    let part = marked("220k 1%", Kind::Ohm).unwrap();
    assert_eq!(check(&part, 217.8e3, exact).verdict, Verdict::CannotSay);
    assert_eq!(check(&part, 218e3, exact).verdict, Verdict::InLimits);
    let low = of("220k", 110e3);
    assert!(low.remarks.iter().any(|r| r.contains("lift one end")));
    assert!(low.remarks.iter().any(|r| r.contains("±5 % assumed")));
    assert!(usual_meter(Kind::Farad).gain > usual_meter(Kind::Ohm).gain);
}
