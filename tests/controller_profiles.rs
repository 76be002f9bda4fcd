//! The built-in controller profiles, the rules of their files, and the lookup by marking.

// helpers outside of tests unwrap too
#![allow(clippy::unwrap_used)]

use std::collections::BTreeSet;
use std::path::Path;

use firstpulse::controllers::{Library, Profile, ceilings, key_of};
use firstpulse::data::{Limit, Status, Unit};
use proptest::prelude::*;

#[path = "controller_profiles/facts.rs"]
mod facts;
#[path = "controller_profiles/markings.rs"]
mod markings;
#[path = "controller_profiles/own_files.rs"]
mod own_files;
#[path = "controller_profiles/ranking.rs"]
mod ranking;
#[path = "controller_profiles/worked.rs"]
mod worked;

fn library() -> Library {
    Library::built_in().unwrap()
}

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets/controllers")
}

fn ids(profiles: &[&Profile]) -> Vec<String> {
    profiles.iter().map(|profile| profile.id.clone()).collect()
}

fn found(marking: &str) -> Vec<String> {
    ids(&library().lookup(marking).unwrap())
}

fn profile<'a>(library: &'a Library, id: &str) -> &'a Profile {
    library.profiles().iter().find(|p| p.id == id).unwrap()
}

fn near(got: Option<f64>, want: Option<f64>, what: &str) {
    match (got, want) {
        (None, None) => {}
        (Some(a), Some(b)) if (a - b).abs() <= 1e-12 * b.abs() => {}
        _ => panic!("{what}: {got:?} against {want:?}"),
    }
}

#[test]
fn the_embedded_list_is_the_folder() {
    let on_disk: BTreeSet<String> = std::fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
        .filter(|name| name != "disagreements.toml")
        .collect();
    let embedded: BTreeSet<String> = Library::built_in_files().map(str::to_owned).collect();
    assert_eq!(embedded, on_disk);
    assert!(embedded.iter().all(|name| name.ends_with(".toml")));
}

#[test]
fn no_profile_hides_another() {
    let mut seen = BTreeSet::new();
    for name in Library::built_in_files() {
        let text = std::fs::read_to_string(folder().join(name)).unwrap();
        for line in text.lines().filter(|line| line.starts_with("id = ")) {
            assert!(
                seen.insert(line.to_owned()),
                "{name}: {line} is there twice"
            );
        }
    }
    let library = library();
    assert_eq!(seen.len(), library.profiles().len());
    assert_eq!(library.profiles().len(), 131);
    assert!(library.profiles().is_sorted_by(|a, b| a.id < b.id));
}

#[test]
fn every_value_is_in_order_and_says_where_it_comes_from() {
    let library = library();
    let cited: BTreeSet<&str> = library.sources().iter().map(|s| s.cite.as_str()).collect();
    let mut values = 0;
    for profile in library.profiles() {
        for (key, limit) in &profile.values {
            let what = format!("{} {key}", profile.id);
            let known = key_of(key).unwrap_or_else(|| panic!("{what} is no known key"));
            assert_eq!(limit.unit, known.unit, "{what}");
            let numbers: Vec<f64> = [limit.min, limit.typ, limit.max]
                .into_iter()
                .flatten()
                .collect();
            assert!(
                !numbers.is_empty() && numbers.is_sorted(),
                "{what}: {limit:?}"
            );
            assert!(
                cited.contains(limit.source.as_str()),
                "{what} cites '{}'",
                limit.source
            );
            let memory = limit.source == "from memory";
            assert!(
                !memory || limit.status.from_memory(),
                "{what}: memory called verified"
            );
            values += 1;
        }
    }
    assert_eq!(values, 2042);
    for source in library.sources() {
        assert!(!source.read.is_empty(), "{}", source.cite);
        let own = matches!(source.cite.as_str(), "from memory" | "derived");
        assert_eq!(own, source.document.is_empty(), "{}", source.cite);
    }
}

#[test]
fn every_part_starts_above_its_stop_and_hysteresis_is_the_difference() {
    for profile in library().profiles() {
        let typical = |key: &str| profile.values.get(key).and_then(|limit| limit.typ);
        let Some((start, stop)) = typical("vcc_start").zip(typical("vcc_stop")) else {
            assert!(
                !profile.family.starts_with("bipolar") || profile.id == "sg3845",
                "{} lacks a threshold",
                profile.id
            );
            continue;
        };
        assert!(start > stop, "{}", profile.id);
        for key in ["vcc_hysteresis", "vcc_hysteresis_text"] {
            if let Some(hysteresis) = typical(key) {
                assert!(
                    (start - stop - hysteresis).abs() < 0.051,
                    "{} {key}",
                    profile.id
                );
            }
        }
        if !profile.family.starts_with("bipolar") {
            continue;
        }
        let high = profile
            .parts
            .iter()
            .any(|part| part.contains("842") || part.contains("844"));
        assert_eq!(high, start > 12.0, "{}", profile.id);
    }
}

#[test]
fn pins_are_the_eight_of_the_family_and_the_ratio_follows_the_number() {
    let names = ["COMP", "FB", "ISENSE", "RT/CT", "GND", "OUT", "VCC", "VREF"];
    let library = library();
    let family = |p: &&Profile| p.family.starts_with("bipolar");
    assert_eq!(library.profiles().iter().filter(family).count(), 66);
    for profile in library.profiles().iter().filter(family) {
        let pins: Vec<(u8, &str)> = profile.pins.iter().map(|(n, p)| (*n, p.as_str())).collect();
        assert_eq!(pins, (1..).zip(names).collect::<Vec<_>>(), "{}", profile.id);
        let half = |part: &String| part.contains("844") || part.contains("845");
        let divide = Some(if profile.parts.iter().any(half) { 2 } else { 1 });
        assert_eq!(profile.divide, divide, "{}", profile.id);
    }
}

#[test]
fn every_part_and_marking_leads_to_its_profile() {
    let library = library();
    for profile in library.profiles() {
        let spelled = profile.parts.iter().chain(&profile.markings);
        for marking in spelled.chain([&profile.id]) {
            let hits = library.lookup(marking).unwrap();
            assert!(hits.contains(&profile), "{marking} misses {}", profile.id);
        }
        for marking in &profile.same_class {
            assert!(library.find(marking).is_ok(), "{marking} of {}", profile.id);
        }
    }
}

/// Copied by hand from SLUS223G 7.5 and SLUS224F 6.5, in SI base units.
#[test]
fn figures_of_two_data_sheets_are_kept_as_printed() {
    let library = library();
    let check = |id: &str, key: &str, min: Option<f64>, typ: Option<f64>, max: Option<f64>| {
        let limit = &profile(&library, id).values[key];
        let what = format!("{id} {key}");
        near(limit.min, min, &what);
        near(limit.typ, typ, &what);
        near(limit.max, max, &what);
        assert_eq!(limit.status_limits, Status::VerifiedFull, "{what}");
    };
    check("uc3844-ti", "vcc_start", Some(14.5), Some(16.0), Some(17.5));
    check("uc3844-ti", "vcc_stop", Some(8.5), Some(10.0), Some(11.5));
    check("uc2844-ti", "vcc_start", Some(15.0), Some(16.0), Some(17.0));
    check("uc3845-ti", "vcc_start", Some(7.8), Some(8.4), Some(9.0));
    check("uc3845-ti", "vcc_stop", Some(7.0), Some(7.6), Some(8.2));
    check("uc3844-ti", "icc_startup", None, Some(0.0005), Some(0.001));
    check(
        "uc3844a-ti",
        "icc_startup",
        None,
        Some(0.0003),
        Some(0.0005),
    );
    check("uc3844-ti", "vref", Some(4.9), Some(5.0), Some(5.1));
    check("uc3844-ti", "osc_freq", Some(47e3), Some(52e3), Some(57e3));
    check(
        "uc3844a-ti",
        "osc_discharge_current",
        Some(0.0078),
        Some(0.0083),
        Some(0.0088),
    );
    check("uc3842-ti", "duty_max", Some(0.95), Some(0.97), Some(1.0));
    check("uc3844-ti", "out_rise", None, Some(50e-9), Some(150e-9));
    check("uc3844-ti", "rt_recommended", Some(5e3), None, Some(100e3));
    check(
        "uc3844-ti",
        "ct_recommended",
        Some(1e-9),
        None,
        Some(100e-9),
    );
}

#[test]
fn open_makers_get_the_widest_limits_and_the_silent_ones_are_named() {
    let library = library();
    let open = library.lookup("UC3844").unwrap();
    let start = Library::widest(&open, "vcc_start").unwrap();
    assert_eq!(
        (start.min, start.typ, start.max),
        (Some(14.5), Some(16.0), Some(17.5))
    );
    assert_eq!(start.status_limits, Status::VerifiedFull);
    assert!(
        start.condition.contains("no limits published for"),
        "{}",
        start.condition
    );
    assert!(start.condition.contains("ST") && start.condition.contains("onsemi"));
    // grades: the narrower UC2844 lies within the UC3844
    let grades = [
        profile(&library, "uc2844-ti"),
        profile(&library, "uc3844-ti"),
    ];
    let both = Library::widest(&grades, "vcc_start").unwrap();
    assert_eq!((both.min, both.max), (Some(14.5), Some(17.5)));
    let narrow = Library::widest(&grades[..1], "vcc_start").unwrap();
    assert_eq!((narrow.min, narrow.max), (Some(15.0), Some(17.0)));
    // different typical values: none stays, both are said
    let makers = [profile(&library, "ka3843b"), profile(&library, "uc3843-ti")];
    let stop = Library::widest(&makers, "vcc_stop").unwrap();
    assert_eq!((stop.min, stop.typ, stop.max), (Some(7.0), None, Some(8.2)));
    assert!(stop.condition.contains("from 7.60 V to 7.90 V") || stop.condition.contains("7.60"));
}

#[test]
fn limits_from_memory_stay_marked_unless_a_document_says_the_same() {
    let library = library();
    let memory = [profile(&library, "uc3844b-onsemi")];
    let start = Library::widest(&memory, "vcc_start").unwrap();
    assert_eq!(
        (start.status, start.status_limits),
        (Status::VerifiedExcerpt, Status::Memory)
    );
    let with_document = [profile(&library, "uc3844-ti"), memory[0]];
    let start = Library::widest(&with_document, "vcc_start").unwrap();
    assert_eq!(start.status_limits, Status::VerifiedFull);
    // 47 to 57 kHz of the document is wider than 49 to 55 kHz from memory
    let wide = Library::widest(&with_document, "osc_freq").unwrap();
    assert_eq!((wide.min, wide.max), (Some(47e3), Some(57e3)));
    // the wider one from memory decides here
    let grade = [profile(&library, "uc2844-ti"), memory[0]];
    let start = Library::widest(&grade, "vcc_start").unwrap();
    assert_eq!(
        (start.min, start.status_limits),
        (Some(14.5), Status::Memory)
    );
    assert_eq!(Library::widest(&[], "vcc_start"), None);
    assert_eq!(Library::widest(&memory, "no_such_key"), None);
}

#[test]
fn keys_that_no_document_prints_are_derived() {
    let library = library();
    let ratio = Library::expected(&library.lookup("UC3844").unwrap(), "osc_to_out_divide").unwrap();
    assert_eq!(
        (ratio.min, ratio.typ, ratio.max),
        (Some(1.96), Some(2.0), Some(2.04))
    );
    assert_eq!(ratio.unit, Unit::Quotient);
    assert!(ratio.condition.contains("±2 %"));
    let mixed = library.lookup("384x").unwrap();
    assert_eq!(Library::expected(&mixed, "osc_to_out_divide"), None);
    let high =
        Library::expected(&library.lookup("UC3844 (TI)").unwrap(), "vcc_hysteresis").unwrap();
    near(high.min, Some(3.0), "14.5 − 11.5");
    near(high.typ, Some(6.0), "16 − 10");
    near(high.max, Some(9.0), "17.5 − 8.5");
    assert_eq!(high.status_limits, Status::Derived);
    let low = Library::expected(&library.lookup("UC3845 (TI)").unwrap(), "vcc_hysteresis").unwrap();
    assert_eq!(low.min, None, "7.8 − 8.2 V would be no limit");
    assert!((low.typ.unwrap() - 0.8).abs() < 1e-9 && (low.max.unwrap() - 2.0).abs() < 1e-9);
    let memory = [profile(&library, "uc3844b-onsemi")];
    let from_memory = Library::expected(&memory, "vcc_hysteresis").unwrap();
    assert_eq!(from_memory.status_limits, Status::Memory);
}

#[test]
fn a_choice_carries_its_bands() {
    let choice = library().choice("uc3844").unwrap();
    assert_eq!(choice.candidates.len(), 3);
    assert_eq!(choice.id, choice.candidates[0]);
    assert!(
        choice.title.starts_with("uc3844: one of "),
        "{}",
        choice.title
    );
    let max = |limit: &Option<Limit>| limit.as_ref().and_then(|limit| limit.max);
    assert_eq!(
        (max(&choice.start), max(&choice.stop)),
        (Some(17.5), Some(11.5))
    );
    assert_eq!(max(&choice.vref), Some(5.1));
    let typ = |limit: &Option<Limit>| limit.as_ref().and_then(|limit| limit.typ);
    assert_eq!(
        (typ(&choice.ramp_peak), typ(&choice.ramp_valley)),
        (Some(2.7), Some(1.0))
    );
    let single = library().choice("UC3844A").unwrap();
    assert_eq!(
        (single.title.as_str(), single.divide),
        ("UC3844A (TI)", Some(2))
    );
}

#[test]
fn the_bench_supply_ceiling_is_the_lowest_of_all_candidates() {
    let library = library();
    let of = |marking: &str| ceilings(&library.lookup(marking).unwrap());
    let unknown = ceilings(&[]);
    assert_eq!((unknown.volts, unknown.amps), (20.0, 0.05));
    assert!(unknown.volts_source.contains("common practice"));
    near(Some(of("UC3844").volts), Some(18.0), "UC3844");
    near(Some(of("UC3845").volts), Some(12.0), "UC3845");
    near(
        Some(of("384x").volts),
        Some(12.0),
        "some candidate starts at 8.4 V",
    );
    assert!(of("UC3845 (TI)").volts_source.contains("8.40 V"));
    // a published maximum below the common-practice ceiling wins
    let text = Library::template().replacen(
        "value = [\n    { key = \"vref\"",
        "value = [\n    { key = \"vcc_abs_max\", max = 17, unit = \"V\", condition = \"\", source = \
         \"SHEET\", status = \"memory\", status_limits = \"memory\" },\n    { key = \"vref\"",
        1,
    );
    let own = library.with_file("own.toml", &text).unwrap();
    let ceiling = ceilings(&own.lookup("XY3844").unwrap());
    near(Some(ceiling.volts), Some(17.0), "own maximum");
    assert!(
        ceiling.volts_source.contains("absolute maximum"),
        "{}",
        ceiling.volts_source
    );
}

#[test]
fn contradictions_name_profiles_and_keys_that_exist() {
    let library = library();
    assert_eq!(library.disagreements().len(), 20);
    let mut seen = BTreeSet::new();
    for one in library.disagreements() {
        assert!(seen.insert(&one.id), "{} twice", one.id);
        assert!(
            !one.profiles.is_empty() && !one.text.is_empty(),
            "{}",
            one.id
        );
        for id in &one.profiles {
            let known = library.profiles().iter().find(|p| p.id == *id);
            let known = known.unwrap_or_else(|| panic!("{} names {id}", one.id));
            let published = one.keys.iter().any(|key| known.values.contains_key(key));
            assert!(
                published || one.keys.is_empty(),
                "{}: {id} publishes none of {:?}",
                one.id,
                one.keys
            );
        }
        assert!(
            one.keys.iter().all(|key| key_of(key).is_some()),
            "{}",
            one.id
        );
    }
}

#[test]
fn notes_on_single_values_are_kept() {
    let library = library();
    let note = library.note("uc3844-ti", "osc_discharge_current").unwrap();
    assert!(note.contains("not trimmed"), "{note}");
    assert_eq!(library.note("uc3844-ti", "vref"), None);
    assert_eq!(library.note("nobody", "vref"), None);
}

proptest! {
    #[test]
    fn no_marking_makes_the_lookup_panic(marking in "\\PC{0,24}") {
        let _ = library().find(&marking);
    }

    #[test]
    fn case_spaces_and_hyphens_never_matter(pick in 0usize..131, spots in prop::collection::vec(0usize..12, 0..4)) {
        let library = library();
        let part = &library.profiles()[pick].parts[0];
        let mut marking = part.to_lowercase();
        for spot in spots {
            let spot = spot.min(marking.len());
            marking.insert(spot, if spot % 2 == 0 { ' ' } else { '-' });
        }
        prop_assert_eq!(ids(&library.lookup(&marking).unwrap()), ids(&library.lookup(part).unwrap()));
    }

    #[test]
    fn the_widest_limit_holds_every_candidate(picks in prop::collection::vec(0usize..131, 1..6)) {
        let library = library();
        let chosen: Vec<&Profile> = picks.iter().map(|at| &library.profiles()[*at]).collect();
        for key in ["vcc_start", "vcc_stop", "vref", "osc_freq", "duty_max"] {
            let Some(wide) = Library::widest(&chosen, key) else { continue };
            for limit in chosen.iter().filter_map(|p| p.values.get(key)) {
                prop_assert!(limit.min.is_none_or(|min| wide.min.is_some_and(|w| w <= min)));
                prop_assert!(limit.max.is_none_or(|max| wide.max.is_some_and(|w| w >= max)));
            }
        }
    }
}
