//! The library of controllers and what a run makes of it, from the outside.

use serde_json::Value;

use super::{outcome, path};

fn object(args: &[&str]) -> Value {
    let (code, out, err) = outcome(&[args, &["--json"]].concat());
    assert!(code != 2, "{args:?}: {err}");
    serde_json::from_str(&out).unwrap()
}

fn ids(list: &Value) -> Vec<&str> {
    let all = list.as_array().unwrap().iter();
    all.map(|one| one["id"].as_str().unwrap()).collect()
}

#[test]
fn one_controller_is_shown_whole() {
    let (code, text, err) = outcome(&["controllers", "uc3844-ti", "--part", "zener=15V"]);
    assert_eq!(code, 0, "{err}");
    for part in [
        "4 =|",
        "15 V at VCC: zener on the board",
        "30 V: absolute maximum of UC3844",
        "bench supply +",
        "ramp from 1 V to 2.7 V",
        "below 16 V",
        "WHERE DOCUMENTS CONTRADICT",
        "equation 8 of SLUS223G",
        "SLUS223G, Apr 1997",
        "constant current",
    ] {
        assert!(text.contains(part), "'{part}' is missing in\n{text}");
    }
    let object = object(&["controllers", "ncp1250"]);
    let part = &object["controllers"][0];
    assert_eq!(part["package"], "TSOP-6");
    assert_eq!(part["pins"][4]["role"], "vcc");
    assert!(
        part["pins"][4]["stopped"]
            .as_str()
            .unwrap()
            .contains("18 V")
    );
    assert_eq!(part["own"], false);
    assert_eq!(part["timing"]["status"], "verified-excerpt");
    assert!(!part["disagreements"].as_array().unwrap().is_empty());
    assert_eq!(object["found"]["how"], "id");
    assert_eq!(
        object["do_not_exceed"]["voltage"], 21.0,
        "1 V above the highest start"
    );
}

#[test]
fn a_worn_marking_opens_its_class() {
    let trusted = object(&["controllers", "UC3844"]);
    let worn = object(&["controllers", "UC3844", "--marking-not-trusted"]);
    assert_eq!(ids(&trusted["controllers"]).len(), 3);
    assert!(ids(&worn["controllers"]).contains(&"ka3844b"));
    assert_eq!(worn["found"]["how"], "not-trusted");
    let run = object(&["inspect", "--marking-not-trusted"]);
    let candidates = run["controller"]["candidates"].as_array().unwrap();
    assert!(
        candidates.contains(&Value::from("ka3844b")),
        "{candidates:?}"
    );
    let (code, _, err) = outcome(&["controllers", "SG6848"]);
    assert!(
        code == 2 && err.contains("No table of these was read"),
        "{err}"
    );
}

#[test]
fn a_run_says_which_controllers_fit() {
    let run = object(&["inspect"]);
    let fits = run["fits"].as_array().unwrap();
    let sum: f64 = fits.iter().map(|f| f["weight"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 1e-9, "{sum}");
    let named = fits.iter().find(|f| f["id"] == "uc3844-ti").unwrap();
    assert!(named["named"] == true && named["against"].as_array().unwrap().is_empty());
    assert!(named["why"].as_str().unwrap().contains("start threshold"));
    assert!(
        !fits.iter().any(|f| f["id"] == "uc3845-ti"),
        "8.4 V does not fit"
    );
    assert!(run["separated_by"].is_array());
    let (_, text, _) = outcome(&["inspect"]);
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(text.contains("WHICH CONTROLLER FITS") && text.contains("The marking is among them"));
}

/// SLUS223G: an 845 starts at 7.8 to 9.0 V; the built-in unit starts near 15.9 V.
#[test]
fn another_variant_than_the_marking_says_is_a_finding() {
    let run = object(&["inspect", "--controller", "UC3845"]);
    let told = run["fits_conclusion"].as_str().unwrap();
    assert!(told.contains("does not fit the marking"), "{told}");
    let suspects = run["suspects"].as_array().unwrap();
    let wrong = suspects.iter().find(|s| s["cause"] == "wrong-uvlo-variant");
    let reasons = wrong.unwrap()["for"].to_string();
    assert!(reasons.contains("x844 fits"), "{reasons}");
    let out_of_tolerance = |s: &&Value| s["cause"] == "uvlo-out-of-tolerance";
    let other = suspects.iter().find(out_of_tolerance);
    let weight = |s: &Value| s["weight"].as_f64().unwrap();
    assert!(weight(wrong.unwrap()) > other.map_or(0.0, weight));
}

#[test]
fn a_limit_from_an_own_profile_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let all = folder.path().to_string_lossy().into_owned();
    let (_, template, _) = outcome(&["controllers", "--template"]);
    std::fs::write(path(folder.path(), "mine.toml"), template).unwrap();
    let args = ["inspect", "--controller", "XY3844", "--controllers", &all];
    let run = object(&args);
    let start = run["measured"].as_array().unwrap().iter();
    let mut start = start.filter(|m| m["quantity"] == "start_threshold");
    let expected = &start.next().unwrap()["expected"];
    assert_eq!(expected["own"], true);
    let source = expected["source"].as_str().unwrap();
    assert!(source.contains("own profile mine.toml"), "{source}");
    let built_in = object(&["inspect"]);
    let any = built_in["measured"].to_string();
    assert!(any.contains("\"own\":false") && !any.contains("\"own\":true"));
}

#[test]
fn other_figures_rank_the_library_too() {
    let args = ["controllers", "--ratio", "2", "--ramp-valley", "0.2V"];
    let ranked = object(&args);
    assert!(ids(&ranked["ranked"]).contains(&"ucc2804-ti"));
    assert!(!ids(&ranked["ranked"]).contains(&"uc3844-ti"));
    assert!(!ranked["separated_by"].as_array().unwrap().is_empty());
    for (option, value) in [
        ("--ramp-height", "1.7V"),
        ("--duty", "48%"),
        ("--standby-current", "0.4mA"),
        ("--headroom", "0V"),
        ("--vref", "5.1V"),
    ] {
        let ranked = object(&["controllers", option, value]);
        assert!(!ids(&ranked["ranked"]).is_empty(), "{option}");
    }
    for wrong in [
        &["--ratio", "0"][..],
        &["--duty", "-1%"],
        &["--ratio", "2", "UC3844"],
        &["--meter", "1%"],
        &["--marking-not-trusted"],
    ] {
        assert_eq!(
            outcome(&[&["controllers"], wrong].concat()).0,
            2,
            "{wrong:?}"
        );
    }
}
