//! Which controller is this: thresholds and other figures of the documents, back to the parts.

use firstpulse::controllers::{ControllerError, MatchKind, RANKED_BY, Seen};
use firstpulse::data::Quantity;

use super::{found, ids, library};

fn seen(figures: &[(&'static str, f64, f64)]) -> Vec<Seen> {
    let one = |(key, value, u): &(&'static str, f64, f64)| Seen {
        key,
        value: *value,
        u: *u,
    };
    figures.iter().map(one).collect()
}

fn left(figures: &[(&'static str, f64, f64)]) -> Vec<String> {
    let fits = library().fits(&seen(figures), &[]).unwrap();
    let mut left: Vec<String> = fits.left().map(|fit| fit.id.clone()).collect();
    left.sort();
    left
}

#[test]
fn every_figure_is_a_quantity_that_is_measured() {
    for by in RANKED_BY {
        let quantity = Quantity::from_id(by.quantity).unwrap();
        assert_eq!(quantity.info().unit, by.unit, "{}", by.key);
    }
}

/// SLUS456F: the UCC2808A-2 starts at 4.1 to 4.5 V and stops at 3.9 to 4.3 V; the UCC2803 and 2805
/// (SLUS270G: 4.1 and 3.6 V) stop lower.
#[test]
fn a_part_that_alone_fits_is_named() {
    let fits = library()
        .fits(
            &seen(&[("vcc_start", 4.3, 0.02), ("vcc_stop", 4.2, 0.02)]),
            &[],
        )
        .unwrap();
    let left: Vec<&str> = fits.left().map(|fit| fit.id.as_str()).collect();
    assert_eq!(left, ["ucc2808a-2-ti"]);
    assert!(
        fits.conclusion.starts_with("Only UCC2808A-2"),
        "{}",
        fits.conclusion
    );
    assert!(fits.separated_by.is_empty());
}

/// SLUS270G: 12.5 and 8.3 V are the UCC2802 (duty up to 100 %) and the UCC2804 (50 %); SLUS456F: also
/// the UCC2808A-1.
#[test]
fn parts_that_overlap_are_said_to_overlap_and_told_apart_by_what_is_missing() {
    let thresholds = [("vcc_start", 12.5, 0.05), ("vcc_stop", 8.3, 0.05)];
    let fits = library().fits(&seen(&thresholds), &[]).unwrap();
    let ids: Vec<&str> = fits.left().map(|fit| fit.id.as_str()).collect();
    for id in ["ucc2802-ti", "ucc2804-ti", "ucc2808a-1-ti"] {
        assert!(ids.contains(&id), "{id} is missing in {ids:?}");
    }
    assert!(
        fits.conclusion.contains("fit and overlap"),
        "{}",
        fits.conclusion
    );
    let apart = fits.separated_by.iter();
    let mut ratio = apart.filter(|one| one.quantity == "oscillator_to_out_ratio");
    let ratio = ratio.next().unwrap();
    assert!(
        ratio.text.contains("UCC2802") && ratio.text.contains("UCC2804"),
        "{}",
        ratio.text
    );
    let with_ratio = [
        thresholds[0],
        thresholds[1],
        ("osc_to_out_divide", 1.0, 0.005),
    ];
    let ids = left(&with_ratio);
    assert!(ids.contains(&"ucc2802-ti".to_owned()), "{ids:?}");
    assert!(!ids.contains(&"ucc2804-ti".to_owned()), "{ids:?}");
}

/// The bipolar 384x loses about 1.5 V at OUT (SLUS223G: 13.5 V at 15 V), a CMOS driver nothing
/// (common practice): 14.7 and 9.1 V fit both UC3844 and UCC28C44.
#[test]
fn the_driver_tells_bipolar_from_cmos_where_thresholds_overlap() {
    let thresholds = [("vcc_start", 14.9, 0.05), ("vcc_stop", 9.2, 0.05)];
    let both = left(&thresholds);
    for id in ["uc3844-ti", "ucc28c44-ti"] {
        assert!(both.contains(&id.to_owned()), "{id} is missing in {both:?}");
    }
    let cmos = left(&[thresholds[0], thresholds[1], ("out_headroom", 0.05, 0.05)]);
    assert!(cmos.contains(&"ucc28c44-ti".to_owned()) && !cmos.contains(&"uc3844-ti".to_owned()));
    let bipolar = left(&[thresholds[0], thresholds[1], ("out_headroom", 1.5, 0.1)]);
    assert!(bipolar.contains(&"uc3844-ti".to_owned()));
    assert!(!bipolar.contains(&"ucc28c44-ti".to_owned()));
}

/// SLUS270G: the ramp of the UCC280x goes from 0.2 to 2.65 V; SLUS223G: that of the UC384x is 1.7 V
/// high and peaks at 2.7 V.
#[test]
fn the_ramp_alone_tells_280x_from_384x() {
    let low = left(&[("osc_valley", 0.2, 0.02), ("osc_amplitude_pp", 2.45, 0.03)]);
    assert!(low.contains(&"ucc2804-ti".to_owned()), "{low:?}");
    assert!(!low.iter().any(|id| id.starts_with("uc3844")), "{low:?}");
    let high = left(&[("osc_valley", 1.0, 0.02), ("osc_amplitude_pp", 1.7, 0.03)]);
    assert!(high.contains(&"uc3844-ti".to_owned()) && !high.contains(&"ucc2804-ti".to_owned()));
}

/// SLUS223G: an 844 starts at 14.5 to 17.5 V, an 845 at 7.8 to 9.0 V and stops at 7.0 to 8.2 V.
#[test]
fn a_marking_is_contradicted_only_where_another_part_surely_fits() {
    let library = library();
    let named = found("UC3844");
    let of = |start, stop| {
        let figures = seen(&[("vcc_start", start, 0.05), ("vcc_stop", stop, 0.05)]);
        library.fits(&figures, &named).unwrap()
    };
    let wrong = of(8.4, 7.6);
    assert!(wrong.contradicts_marking);
    assert!(wrong.conclusion.contains("does not fit the marking"));
    let excluded = wrong.fits.iter().filter(|fit| fit.named);
    assert_eq!(excluded.filter(|fit| !fit.against.is_empty()).count(), 3);
    assert!(wrong.left().any(|fit| fit.id == "uc3845-ti"));
    assert!(!of(15.9, 10.1).contradicts_marking);
    assert!(
        !of(14.5, 8.5).contradicts_marking,
        "at the edge nothing is sure"
    );
    let nowhere = of(22.0, 2.0);
    assert!(!nowhere.contradicts_marking && nowhere.left().count() == 0);
    assert!(
        nowhere.conclusion.starts_with("No profile"),
        "{}",
        nowhere.conclusion
    );
}

#[test]
fn too_little_or_no_number_gives_no_answer() {
    let library = library();
    assert_eq!(library.fits(&[], &[]), None);
    assert_eq!(library.fits(&seen(&[("vref", 5.0, 0.01)]), &[]), None);
    assert_eq!(
        library.fits(&seen(&[("vcc_start", f64::NAN, 0.1)]), &[]),
        None
    );
    assert_eq!(library.fits(&seen(&[("no_such_key", 1.0, 0.1)]), &[]), None);
    assert!(
        library
            .rank_by(&seen(&[("vcc_start", 16.0, f64::NAN)]))
            .is_empty()
    );
}

#[test]
fn a_marking_that_is_not_trusted_opens_its_whole_class() {
    let library = library();
    let hit = library.find_class("UC3844").unwrap();
    assert_eq!(hit.how, MatchKind::NotTrusted);
    let all = ids(&hit.profiles);
    for id in [
        "uc3844-ti",
        "uc2844-ti",
        "uc3844b-st",
        "ka3844b",
        "gm3844a",
        "lt1244",
        "sg3844",
    ] {
        assert!(all.contains(&id.to_owned()), "{id} is missing in {all:?}");
    }
    assert!(hit.profiles.iter().all(|p| p.divide == Some(2)));
    assert!(
        !all.iter()
            .any(|id| id.contains("3845") || id.contains("28c")),
        "{all:?}"
    );
    let trusted = library.find("UC2844").unwrap();
    let start = |found: &firstpulse::controllers::Found| found.expected("vcc_start").unwrap();
    assert_eq!(start(&trusted).min, Some(15.0));
    assert_eq!(
        start(&library.find_class("UC2844").unwrap()).min,
        Some(14.5)
    );
    let cmos = ids(&library.find_class("ISL6844").unwrap().profiles);
    for id in ["isl6844", "isl8844", "ucc28c44-ti", "mic38c44"] {
        assert!(cmos.contains(&id.to_owned()), "{id} is missing in {cmos:?}");
    }
    assert!(matches!(
        library.find_class("LM324"),
        Err(ControllerError::Unknown { .. })
    ));
}

#[test]
fn lines_of_a_case_lead_to_the_part() {
    let both = ["uc3844b-onsemi", "uc3844b-st"];
    for lines in ["ST UC3844BN 0712", "UC3844BN\n9 48 K 12", "uc3844b/0712"] {
        assert_eq!(found(lines), both, "{lines}");
    }
    assert_eq!(found("ISL8843 ABZ"), ["isl8843"]);
    assert_eq!(found("8843 ABZ"), ["isl8843"]);
    assert_eq!(found("35A"), ["ld7535a"], "a short top mark counts alone");
    assert!(
        library().find("LM324 35A").is_err(),
        "but not beside others"
    );
    assert_eq!(found("UCC3813PW-2"), ["ucc2802-ti"]);
    assert_eq!(found("UCC2813DTR-4"), ["ucc2804-ti"]);
    assert_eq!(
        found("6841"),
        ["isl6841", "sg6841"],
        "a number alone: every maker's"
    );
    assert_eq!(found("AZ38C44").len(), 2, "38C44: ucc28c44-ti and mic38c44");
    let note = library().find("ST UC3844BN 0712").unwrap().note;
    assert!(
        note.contains("'ST 0712' taken for maker, date or lot"),
        "{note}"
    );
}

/// SLUS223G: both grades of the x842 come from one design with 16 V typical; 15 to 17 V (UC28xx) are no
/// better evidence than 14.5 to 17.5 V (UC38xx) where the reading lies in both.
#[test]
fn narrow_limits_and_many_documents_are_no_evidence() {
    let thresholds = [("vcc_start", 16.0, 0.05), ("vcc_stop", 10.0, 0.05)];
    let fits = library().fits(&seen(&thresholds), &[]).unwrap();
    let weight = |id: &str| fits.fits.iter().find(|fit| fit.id == id).unwrap().weight;
    assert!((weight("uc2842-ti") / weight("uc3842-ti") - 1.0).abs() < 1e-3);
    let at_the_edge = [("vcc_start", 14.7, 0.05), ("vcc_stop", 10.0, 0.05)];
    let left = left(&at_the_edge);
    assert!(left.contains(&"uc3842-ti".to_owned()) && !left.contains(&"uc2842-ti".to_owned()));
}

/// FN9238 names the ISL8842's start (14.4 V) and nothing on its stop; the ISL6842 and UCC28C42, which
/// replace it, stop at 8 to 10 V. Where nobody of a class says (UC3846), a stop does not exclude it.
#[test]
fn what_a_part_does_not_publish_is_that_of_its_class() {
    let both = |start, stop| left(&[("vcc_start", start, 0.05), ("vcc_stop", stop, 0.05)]);
    assert!(both(14.4, 9.0).contains(&"isl8842".to_owned()));
    assert!(!both(14.4, 5.0).contains(&"isl8842".to_owned()));
    assert!(both(7.7, 5.3).contains(&"uc3846".to_owned()));
    // an LT1244 is an x844 by the lists of replacements
    let figures = seen(&[("vcc_start", 16.0, 0.05), ("vcc_stop", 10.0, 0.05)]);
    let fits = library().fits(&figures, &[]).unwrap();
    let lt1244 = fits.fits.iter().find(|fit| fit.id == "lt1244").unwrap();
    assert_eq!(lt1244.class, "x844");
}
