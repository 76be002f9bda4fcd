//! From a marking, or from measured thresholds, to profiles.

use firstpulse::controllers::{ControllerError, MatchKind, Profile};
use firstpulse::data::Status;

use super::{found, ids, library};

#[test]
fn spellings_of_a_marking_lead_to_the_same_parts() {
    let makers = ["uc3844-onsemi", "uc3844-st", "uc3844-ti"];
    for marking in [
        "UC3844",
        "uc3844",
        " UC 3844 ",
        "UC-3844",
        "UC3844N",
        "UC3844D1",
    ] {
        assert_eq!(found(marking), makers, "{marking}");
    }
    for marking in ["uc3844an", "UC3844A", "UC3844ADG"] {
        assert_eq!(found(marking), ["uc3844a-ti"], "{marking}");
    }
    assert_eq!(
        found("uc3844d8tr"),
        ["uc3844-ti"],
        "D8 is one maker's suffix"
    );
    assert_eq!(found("UC 3844 B"), ["uc3844b-onsemi", "uc3844b-st"]);
    assert_eq!(found("UC3844BNG"), ["uc3844b-onsemi", "uc3844b-st"]);
    assert_eq!(
        found("UC3842B"),
        ["uc3842b-onsemi", "uc3842b-st", "uc3842b-utc"]
    );
    assert_eq!(found("UC3842A"), ["uc3842a-onsemi", "uc3842a-ti"]);
    assert_eq!(found("tl3843"), ["tl3843-ti"]);
    assert_eq!(found("AP3842CMTR-E1"), ["ap3842c"]);
    assert_eq!(found("UC3844 (TI)"), ["uc3844-ti"]);
    assert_eq!(found("UC3844 (onsemi)"), ["uc3844-onsemi"]);
}

#[test]
fn a_part_without_profile_is_found_by_its_class_and_says_so() {
    let library = library();
    let hit = library.find("KA3842A").unwrap();
    assert_eq!(hit.how, MatchKind::SameClass);
    assert_eq!(ids(&hit.profiles), ["uc3842-ti", "uc3842a-ti"]);
    assert!(hit.note.contains("no profile of its own"), "{}", hit.note);
    let start = hit.expected("vcc_start").unwrap();
    assert_eq!(
        start.status_limits,
        Status::Derived,
        "another maker's limit"
    );
    assert!(
        library
            .choice("KA3842A")
            .unwrap()
            .title
            .contains("same class as")
    );
    let odd = library.find("UC3844BXQ").unwrap();
    assert_eq!(odd.how, MatchKind::ClassNumber);
    assert!(odd.note.contains("'XQ'"), "{}", odd.note);
    assert_eq!(ids(&odd.profiles), ["uc3844b-onsemi", "uc3844b-st"]);
    let maker = library.find("QQ3845").unwrap();
    assert_eq!(maker.how, MatchKind::ClassNumber);
    assert!(
        maker
            .profiles
            .iter()
            .all(|p| p.parts.iter().any(|part| part.contains("3845")))
    );
}

#[test]
fn a_bare_class_number_gives_the_whole_class() {
    let library = library();
    for (marking, number) in [
        ("3844", "3844"),
        ("3843b", "3843B"),
        ("x845", "845"),
        ("842", "842"),
    ] {
        let hit = library.find(marking).unwrap();
        assert_eq!(hit.how, MatchKind::ClassNumber, "{marking}");
        let fits = |p: &Profile| p.parts.iter().any(|part| part.contains(number));
        let all = library.profiles().iter();
        let want: Vec<&Profile> = all
            .filter(|p| p.family.starts_with("bipolar") && fits(p))
            .collect();
        assert_eq!(ids(&hit.profiles), ids(&want), "{marking}");
        assert!(want.len() > 4, "{marking}");
    }
    assert_eq!(library.find("384x").unwrap().profiles.len(), 54);
    assert_eq!(library.find("38c4x").unwrap().profiles.len(), 10);
    assert_eq!(library.choice("3844").unwrap().divide, Some(2));
    assert_eq!(library.choice("384x").unwrap().divide, None);
}

#[test]
fn an_unknown_marking_names_what_is_near() {
    let error = library().lookup("UX3846").unwrap_err();
    let ControllerError::Unknown { marking, near, .. } = &error else {
        panic!("{error}");
    };
    assert_eq!(marking, "UX3846");
    assert!(
        near.iter().any(|known| known.starts_with("UC384")),
        "{near:?}"
    );
    assert!(error.to_string().contains("near it: "));
    for marking in ["", "   ", "LM324", "UC38444", "84", "€3844€€", "()"] {
        let result = library().lookup(marking).map(|hits| ids(&hits));
        assert!(
            result.is_err() || marking.contains("3844€"),
            "{marking}: {result:?}"
        );
    }
}

#[test]
fn start_and_stop_rank_the_families() {
    let library = library();
    let high = library.rank(15.9, 10.1, 0.1);
    let volts = |limit: &firstpulse::data::Limit| limit.typ.unwrap();
    let total: f64 = high.iter().map(|one| one.weight).sum();
    assert!((total - 1.0).abs() < 1e-9);
    assert!(
        high.iter()
            .all(|one| (14.4..=16.0).contains(&volts(&one.profile.values["vcc_start"])))
    );
    assert!(high.len() > 1, "thresholds alone never leave one name");
    let class = |word: &str| -> f64 {
        let members = high.iter().filter(|one| one.class == word);
        members.map(|one| one.weight).sum()
    };
    assert!(high.is_sorted_by(|a, b| class(&a.class) >= class(&b.class)));
    // ten makers build the x842 and nine the x844, one the UC3823B with the same thresholds
    assert!(high[0].class == "x842" && class("UC3823B") < 0.2 * class("x842"));
    let low = library.rank(8.4, 7.6, 0.05);
    assert!(
        // no start limit that is published lies further than 12 % from its typical value
        low.iter()
            .all(|one| (volts(&one.profile.values["vcc_start"]) / 8.4 - 1.0).abs() < 0.15)
    );
    // 14.7 V fits the commercial grade only
    let edge = library.rank(14.7, 8.8, 0.02);
    assert!(edge.iter().any(|one| one.profile.id == "uc3844-ti"));
    assert!(!edge.iter().any(|one| one.profile.id == "uc2844-ti"));
    assert!(edge.iter().any(|one| one.why.contains("within")));
    assert!(library.rank(3.0, 2.0, 0.05).is_empty());
    assert!(library.rank(f64::NAN, 10.0, 0.1).is_empty());
}
