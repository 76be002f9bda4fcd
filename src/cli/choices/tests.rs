use super::*;

fn channel(capture: Option<usize>, channel: &str) -> ChannelChoice {
    ChannelChoice {
        capture,
        channel: channel.to_owned(),
    }
}

#[test]
fn a_role_names_channel_capture_and_place() {
    let plain = role("2=vref").unwrap();
    assert_eq!(
        (plain.channel, plain.role, plain.place),
        (channel(None, "2"), Role::Vref, None)
    );
    let full = role("3:VCC = pin=VCC@capacitor").unwrap();
    assert_eq!(full.channel, channel(Some(3), "VCC = pin"));
    assert_eq!(
        (full.role, full.place.as_deref()),
        (Role::Vcc, Some("capacitor"))
    );
}

#[test]
fn an_unknown_role_lists_the_roles() {
    assert_eq!(
        role("1=vccc").unwrap_err(),
        "no role 'vccc'; one of: bulk vcc vref rtct out gate cs comp fb aux output other"
    );
    for text in ["1", "=vcc", "1=", "0=vcc", "0:1=vcc", "1=vcc@"] {
        assert!(role(text).is_err(), "{text}");
    }
}

#[test]
fn parts_and_readings_know_their_units() {
    for (text, name, wanted) in [
        ("start-resistor=164k", "start-resistor", 164e3),
        ("vcc-capacitor=47u", "vcc-capacitor", 47e-6),
        ("rsense=0R47", "rsense", 0.47),
        ("gate-charge=35n", "gate-charge", 35e-9),
        ("primary-inductance=620uH", "primary-inductance", 620e-6),
        ("aux-ratio=0.6125", "aux-ratio", 0.6125),
        ("zener=18V", "zener", 18.0),
    ] {
        let (got, marked) = part(text).unwrap();
        let number = marked.value();
        assert_eq!(got, name);
        assert!(
            (number - wanted).abs() <= 1e-12 * wanted,
            "{text}: {number}"
        );
    }
    let (name, number) = reading("standby-current=0.4mA").unwrap();
    assert!(name == "standby-current" && (number - 0.4e-3).abs() < 1e-15);
    assert!(part("ct=10").unwrap_err().contains("47u, 4n7 or 100nF"));
    for text in ["rt=-1k", "rt=0", "nothing=1", "rt", "rt=4x7"] {
        assert!(part(text).is_err(), "{text}");
    }
    assert!(reading("vcc=14A").is_err());
}

#[test]
fn factors_and_accuracies_are_read_or_refused() {
    for text in ["1=10", "1=10x", "1=x10", "1=10:1"] {
        let (choice, factor) = probe(text).unwrap();
        assert!(
            choice == channel(None, "1") && (factor - 10.0).abs() < 1e-12,
            "{text}"
        );
    }
    for text in ["1=0", "1=-10", "1=ten", "1=10%", "1="] {
        assert!(probe(text).is_err(), "{text}");
    }
    for (text, gain, offset) in [
        ("1%+20mV", 0.01, 0.02),
        ("20mV + 1%", 0.01, 0.02),
        ("0.5%", 0.005, 0.0),
        ("10mV", 0.0, 0.01),
    ] {
        let got = meter(text).unwrap();
        assert!(
            (got.gain - gain).abs() < 1e-12 && (got.offset - offset).abs() < 1e-12,
            "{text}"
        );
    }
    for text in ["", "1", "1%+1%", "-1%", "100%", "1%+20mA"] {
        assert!(meter(text).is_err(), "{text}");
    }
    assert_eq!(accuracy("2:1=1%+20mV").unwrap().0, channel(Some(2), "1"));
}

#[test]
fn sizes_and_layouts_are_read_or_refused() {
    assert_eq!(size("1366x768"), Ok((1366, 768)));
    for text in ["1366", "0x768", "9999x768", "axb"] {
        assert!(size(text).is_err(), "{text}");
    }
    assert!(scale("1.5").is_ok() && scale("0").is_err() && scale("NaN").is_err());
    assert_eq!(
        layout("separator==").unwrap(),
        ("separator".to_owned(), "=".to_owned())
    );
    assert!(layout("=;").is_err() && layout("separator").is_err());
}
