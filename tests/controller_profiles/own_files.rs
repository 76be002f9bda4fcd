//! Files of one's own: what is taken, and where a malformed one is refused.

use firstpulse::controllers::{ControllerError, Library};
use proptest::prelude::*;

use super::{ids, library, near, profile};

#[test]
fn a_folder_adds_profiles_and_replaces_those_of_the_same_id() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("own.toml"), Library::template()).unwrap();
    let other = Library::template().replace("xy3844-maker", "uc3844-ti");
    std::fs::write(folder.path().join("zz.TOML"), other).unwrap();
    std::fs::write(folder.path().join("readme.txt"), "not a profile").unwrap();
    let own = library().with_folder(folder.path()).unwrap();
    assert_eq!(own.profiles().len(), 132);
    assert_eq!(profile(&own, "uc3844-ti").parts, ["XY3844"]);
    assert_eq!(
        own.note("uc3844-ti", "osc_discharge_current"),
        None,
        "notes go with the profile"
    );
    assert_eq!(
        library().profiles().len(),
        131,
        "the built-in library stays as it is"
    );
    std::fs::write(folder.path().join("bad.toml"), "schema = ").unwrap();
    let skipped = library().with_folder(folder.path()).unwrap();
    assert_eq!(skipped.profiles().len(), 132, "the others are still used");
    let problem = skipped.problems()[0].to_string();
    assert!(
        problem.starts_with("bad.toml, line 1, schema: "),
        "{problem}"
    );
    assert!(skipped.told().iter().any(|told| told.contains(&problem)));
    let start = Library::widest(&[profile(&own, "uc3844-ti")], "vcc_start").unwrap();
    assert!(start.is_own(), "{}", start.source);
    assert!(start.source.contains("zz.TOML"), "{}", start.source);
    let both = [profile(&own, "uc3844-ti"), profile(&own, "uc3844-st")];
    assert!(Library::widest(&both, "vcc_start").unwrap().is_own());
    let built_in = library();
    let start = Library::widest(&[profile(&built_in, "uc3844-ti")], "vcc_start").unwrap();
    assert!(!start.is_own());
    let gone = library()
        .with_folder(&folder.path().join("gone"))
        .unwrap_err();
    assert!(matches!(gone, ControllerError::Unreadable { .. }), "{gone}");
}

/// Text of the template, what takes its place, the key that must be named, and what is said.
const CASES: &[(&str, &str, &str, &str)] = &[
    (
        "schema = 1",
        "schema = 2",
        "schema",
        "schema 2 is not known",
    ),
    ("typ = 5.0", "typo = 5.0", "vref", "unknown field `typo`"),
    (
        "min = 4.9, typ = 5.0",
        "min = 5.2, typ = 5.0",
        "vref",
        "not in order",
    ),
    ("min = 4.9", "min = \"4.9\"", "vref", "invalid type"),
    ("min = 4.9", "min = nan", "vref", "not finite"),
    (
        "max = 5.1, unit = \"V\"",
        "max = 5.1, unit = \"mV/A\"",
        "vref",
        "no known unit",
    ),
    (
        "max = 5.1, unit = \"V\"",
        "max = 5.1, unit = \"mA\"",
        "vref",
        "no unit for it",
    ),
    ("key = \"vref\"", "key = \"vreff\"", "vreff", "no known key"),
    (
        "1 mA\", source = \"SHEET\"",
        "1 mA\", source = \"SHOOT\"",
        "vref",
        "not in the list",
    ),
    (
        "1 mA\", source = \"SHEET\", status = \"verified-full\"",
        "1 mA\", source = \"SHEET\", status = \"sure\"",
        "vref",
        "no known status",
    ),
    (
        "condition = \"TJ=25C, 1 mA\", ",
        "",
        "vref",
        "missing field `condition`",
    ),
    (
        "min = 4.9, typ = 5.0, max = 5.1, ",
        "",
        "vref",
        "neither min nor typ nor max",
    ),
    (
        "key = \"icc_startup\", typ = 0.5, max = 1, unit = \"mA\"",
        "key = \"vref\", typ = 5.0, unit = \"V\"",
        "vref",
        "given twice",
    ),
    ("pins = { 1 = ", "pins = { one = ", "pins", "no pin number"),
    ("divide = 2", "divide = 3", "divide", "must be 1 or 2"),
    (
        "kind = \"constant-sink\"",
        "kind = \"constant-sink\", khz_kohm = 1",
        "timing",
        "takes no khz_kohm",
    ),
    (
        "parts = [\"XY3844\"]",
        "parts = []",
        "parts",
        "names no part",
    ),
    (
        "min = 8.5, typ = 10, max = 11.5",
        "typ = 16",
        "vcc_start",
        "not above the stop",
    ),
    (
        "notes = \"\"",
        "notices = \"\"",
        "notices",
        "unknown field `notices`",
    ),
];

#[test]
fn malformed_profiles_are_refused_with_file_line_and_key() {
    for &(from, to, key, what) in CASES {
        let good = Library::template();
        let at = good
            .find(from)
            .unwrap_or_else(|| panic!("'{from}' is not in the template"));
        let bad = good.replacen(from, to, 1);
        let error = library().with_file("mine.toml", &bad).unwrap_err();
        let ControllerError::Malformed {
            file,
            line,
            key: named,
            what: said,
        } = &error
        else {
            panic!("{to}: {error}");
        };
        assert_eq!(file, "mine.toml");
        assert!(named.ends_with(key), "{to}: key '{named}'");
        assert!(said.contains(what), "{to}: '{said}'");
        // a fault of a whole profile is reported where the profile starts
        let whole = ["divide", "parts", "vcc_start"].contains(&key);
        let place = if whole {
            good.find("[[profile]]").unwrap()
        } else {
            at
        };
        let want = 1 + good[..place].matches('\n').count();
        assert_eq!(*line, want, "{to}: {error}");
        assert!(
            error
                .to_string()
                .starts_with(&format!("mine.toml, line {line}, "))
        );
    }
}

#[test]
fn the_template_is_a_valid_profile() {
    let own = library()
        .with_file("template.toml", Library::template())
        .unwrap();
    let hit = own.lookup("xy 3844 n").unwrap();
    assert_eq!(ids(&hit), ["xy3844-maker"]);
    near(
        hit[0].values["icc_startup"].max,
        Some(1e-3),
        "start-up current",
    );
}

proptest! {
    #[test]
    fn no_text_makes_the_reader_panic(text in "\\PC{0,60}", at in 0usize..2000) {
        let good = Library::template();
        let at = (0..=at.min(good.len())).rev().find(|at| good.is_char_boundary(*at)).unwrap();
        let _ = library().with_file("any.toml", &format!("{}{text}{}", &good[..at], &good[at..]));
    }
}
