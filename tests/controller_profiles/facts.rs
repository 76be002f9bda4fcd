//! Figures of the documents, in SI base units, as printed there; and what holds for every file.

use std::collections::{BTreeMap, BTreeSet};

use firstpulse::controllers::{TimingKind, pin_sheet};
use firstpulse::data::{Role, Status};

use super::{library, near, profile};

/// Profile, key, least, typical, most, and whether the limits were read (else from memory or
/// computed).
type Row = (
    &'static str,
    &'static str,
    Option<f64>,
    Option<f64>,
    Option<f64>,
    bool,
);

/// Texas Instruments SLUS456F (UCC2808A), SLUA257 and SLUS458I (UCC28C4x), SLUS270G (UCC280x); onsemi
/// NCP1250/D, NCP1236/D, MC44603/D; Intersil FN9124, FN9238; Linear Technology LT1241; ST L5991;
/// Leadtrend LD7535-DS-01c.
#[rustfmt::skip]
const PRINTED: &[Row] = &[
    ("ucc2808a-1-ti", "vcc_start", Some(11.5), Some(12.5), Some(13.5), true),
    ("ucc2808a-2-ti", "vcc_stop", Some(3.9), Some(4.1), Some(4.3), true),
    ("ucc2808a-1-ti", "osc_freq", Some(175e3), Some(194e3), Some(213e3), true),
    ("ucc28c44-ti", "icc_startup", None, Some(50e-6), Some(100e-6), true),
    ("ucc28c44-ti", "vcc_abs_max", None, None, Some(20.0), true),
    ("ucc28c44-ti", "vcc_start", Some(13.5), Some(14.5), Some(15.5), false),
    ("ucc28c40-ti", "osc_freq", Some(50.5e3), Some(53e3), Some(55e3), true),
    ("ucc2802-ti", "vcc_start", Some(11.5), Some(12.5), Some(13.5), false),
    ("ucc2803-ti", "vref", Some(3.94), Some(4.0), Some(4.06), false),
    ("ncp1250", "vcc_start", Some(16.0), Some(18.0), Some(20.0), true),
    ("ncp1250", "icc_startup", None, None, Some(15e-6), true),
    ("ncp1236", "hv_start_current", Some(3e-3), Some(6e-3), Some(9e-3), true),
    ("ncp1236", "autorecovery", Some(0.85), Some(1.0), Some(1.35), true),
    ("mc44603", "demag_threshold", Some(0.05), Some(0.065), Some(0.08), true),
    ("isl6840", "vcc_start", Some(6.5), Some(7.0), Some(7.5), false),
    ("isl8843", "icc_startup", None, Some(90e-6), Some(125e-6), true),
    ("lt1241", "cs_gain", Some(2.85), Some(3.0), Some(3.15), true),
    ("l5991", "icc_startup", None, None, Some(120e-6), true),
    ("ld7535", "vcc_ovp", Some(26.5), Some(28.0), Some(29.5), true),
];

#[test]
fn figures_of_other_families_are_kept_as_printed() {
    let library = library();
    for (id, key, min, typ, max, limits_read) in PRINTED {
        let limit = &profile(&library, id).values[*key];
        let what = format!("{id} {key}");
        near(limit.min, *min, &what);
        near(limit.typ, *typ, &what);
        near(limit.max, *max, &what);
        let read = limit.status_limits <= Status::VerifiedThirdParty;
        assert_eq!(read, *limits_read, "{what}: {:?}", limit.status_limits);
    }
}

/// SLUS270G computes 110 kHz for 13.6 kohm and 1000 pF; SLUS456F has 194 kHz for 22 kohm and 330 pF;
/// FN9238 prints 0.533 for the rise.
#[test]
fn timing_constants_give_the_frequencies_of_the_documents() {
    let library = library();
    let kind = |id: &str| profile(&library, id).timing.as_ref().unwrap().kind;
    let frequency = |id: &str, ohm: f64, farad: f64| match kind(id) {
        TimingKind::OverRc { constant, .. } => constant / (ohm * farad),
        other => panic!("{id}: {other:?}"),
    };
    assert!((frequency("ucc2802-ti", 13.6e3, 1e-9) / 110e3 - 1.0).abs() < 0.01);
    assert!((frequency("ucc2808a-1-ti", 22e3, 330e-12) / 194e3 - 1.0).abs() < 0.01);
    assert!(
        matches!(kind("isl8843"), TimingKind::RampEquation { rise, sink_a, .. }
        if (rise - 0.533).abs() < 1e-12 && (sink_a - 8e-3).abs() < 1e-12)
    );
    assert_eq!(kind("ncp1250"), TimingKind::Fixed);
    assert_eq!(kind("uc3844-ti"), TimingKind::ConstantSink);
    assert_eq!(
        profile(&library, "ncp1252").timing,
        None,
        "no formula was read"
    );
}

#[test]
fn pins_run_from_one_without_a_gap_but_for_the_missing_seventh_of_the_so_7() {
    let library = library();
    let mut without = 0;
    for profile in library.profiles() {
        let all = [&profile.pins].into_iter().chain(profile.packages.values());
        for pins in all {
            let most = pins.keys().max().copied().unwrap_or(0);
            let missing: Vec<u8> = (1..=most).filter(|pin| !pins.contains_key(pin)).collect();
            let so_7 = profile.package == "SO-7" && missing == [7];
            assert!(missing.is_empty() || so_7, "{}: {missing:?}", profile.id);
        }
        without += usize::from(profile.pins.is_empty());
        let sheet = pin_sheet(profile);
        assert_eq!(sheet.len(), profile.pins.len());
        let supply = sheet.iter().filter(|pin| pin.role == Some(Role::Vcc));
        let wanted = usize::from(!profile.pins.is_empty());
        assert_eq!(
            supply.count(),
            wanted,
            "{} has no single supply pin",
            profile.id
        );
        for pin in sheet {
            assert!(
                !pin.stopped.is_empty() && !pin.running.is_empty(),
                "{}",
                pin.name
            );
        }
    }
    assert_eq!(
        without, 4,
        "pins of NCP1239F, NCP1247, SG6846 and SG6846C were not read"
    );
}

#[test]
fn families_hold_as_many_profiles_as_were_collected() {
    let mut families: BTreeMap<String, usize> = BTreeMap::new();
    for profile in library().profiles() {
        *families.entry(profile.family.clone()).or_default() += 1;
    }
    let counts: Vec<(&str, usize)> = families.iter().map(|(f, n)| (f.as_str(), *n)).collect();
    assert_eq!(
        counts,
        [
            ("BiCMOS 280x and 2813", 8),
            ("BiCMOS 28C4x", 10),
            ("LT124x, ISL684x, ISL884x", 17),
            ("bipolar 384x", 66),
            ("fixed frequency", 19),
            ("other peak current mode", 11),
        ]
    );
}

/// A marking that stands for several profiles is one of these.
#[test]
fn ambiguous_markings_are_known_ones() {
    let mut bearers: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for profile in library().profiles() {
        for marking in profile.parts.iter().chain(&profile.markings) {
            let plain: String = marking
                .chars()
                .filter(char::is_ascii_alphanumeric)
                .collect();
            let ids = bearers.entry(plain.to_ascii_uppercase()).or_default();
            ids.insert(profile.id.clone());
        }
    }
    let shared: Vec<&str> = bearers
        .iter()
        .filter(|(_, ids)| ids.len() > 1)
        .map(|(marking, _)| marking.as_str())
        .collect();
    assert_eq!(shared, AMBIGUOUS);
}

/// The same part by several makers, and the series name on a case of Gamma.
#[rustfmt::skip]
const AMBIGUOUS: &[&str] = &[
    "GM384X", "UC2842", "UC2842B", "UC2842BD1", "UC2842BN", "UC2842D", "UC2842N",
    "UC2843", "UC2843B", "UC2843BD1", "UC2843BN", "UC2843D", "UC2843N", "UC2844",
    "UC2844B", "UC2844BD1", "UC2844BN", "UC2844D", "UC2844N", "UC2845", "UC2845B",
    "UC2845BD1", "UC2845BN", "UC2845D", "UC2845N", "UC3842", "UC3842A", "UC3842AD",
    "UC3842AN", "UC3842B", "UC3842BD1", "UC3842BN", "UC3842D", "UC3842N", "UC3843",
    "UC3843A", "UC3843AD", "UC3843AN", "UC3843B", "UC3843BD1", "UC3843BN", "UC3843D",
    "UC3843N", "UC3844", "UC3844B", "UC3844BD1", "UC3844BN", "UC3844D", "UC3844N",
    "UC3845", "UC3845B", "UC3845BD1", "UC3845BN", "UC3845D", "UC3845N",
];

#[test]
fn gaps_name_profiles_that_exist_and_parts_that_do_not() {
    let library = library();
    assert_eq!(library.gaps().len(), 6);
    for gap in library.gaps() {
        for id in &gap.profiles {
            assert!(
                library.profiles().iter().any(|p| p.id == *id),
                "{}: {id}",
                gap.id
            );
        }
        for part in &gap.parts {
            let error = library.find(part).unwrap_err().to_string();
            assert!(error.contains("no profile"), "{part}: {error}");
        }
    }
    let error = library.find("SG6858TZ").unwrap_err().to_string();
    assert!(error.contains("No table of these was read"), "{error}");
}
