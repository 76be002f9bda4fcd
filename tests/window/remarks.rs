//! What is said beside a value, and what meter readings did to a channel, on every face.

use firstpulse::app::models::details;
use firstpulse::data::{Corrected, MeterPiece, Quantity, SetToMeter};
use firstpulse::report::{json, text};

use super::example;

const SAID: &str = "A meter reads 8.51 V at the stop, but the pin falls to 7.63 V within each swing of VCC, and that is what the controller acts on.";

#[test]
fn what_is_said_beside_a_value_stands_in_the_details_the_text_and_json() {
    let case = example::case();
    let mut run = example::inspections(&case).remove(0);
    let found = run
        .measured
        .iter()
        .position(|j| j.measured.quantity == Quantity::StopThreshold);
    let index = found.unwrap();
    run.measured[index].measured.remarks = vec![SAID.to_owned()];
    let lines = details::measured(&run.measured[index]).lines;
    let at = lines.iter().position(|line| line == SAID).unwrap();
    let budget = lines.iter().position(|l| l.contains("holds 95 %")).unwrap();
    assert!(at < budget, "the budget is long: {lines:#?}");
    let object = json::inspection(&run);
    assert_eq!(object["measured"][index]["remarks"][0], SAID);
    let other = usize::from(index == 0);
    assert_eq!(object["measured"][other]["remarks"], serde_json::json!([]));
    // the same sentence of two values is printed once
    run.measured[other].measured.remarks = vec![SAID.to_owned()];
    let page = text::case("GV-24", &[("as found", &run)], false);
    let joined = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert_eq!(joined.matches(SAID).count(), 1, "{page}");
    let place = |words: &str| joined.find(words);
    let said = place(SAID).unwrap();
    assert!(place("MEASURED AGAINST PUBLISHED").unwrap() < said);
    assert!(
        place("STARTS AND STOPS").is_none_or(|next| said < next),
        "{page}"
    );
}

/// The channel of one reading: 15.02 V on the meter where the scope showed 14.80 V.
pub fn tied() -> SetToMeter {
    SetToMeter {
        pieces: vec![MeterPiece {
            capture: 0,
            channel: 1,
            from_s: 0.5,
            to_s: 1.5,
            shown_v: 14.8,
            read_v: 15.02,
            left_v: 0.0,
        }],
        corrected: Corrected::OneLevel,
        gain: 1.0125,
        offset_v: 0.035,
        errors: Vec::new(),
        at_v: 20.0,
        before_u95: 0.43,
        after_u95: 0.09,
        doubts: vec!["One level only.".to_owned()],
    }
}

#[test]
fn json_says_how_a_channel_was_set_to_the_meter() {
    let case = example::case();
    let mut run = example::inspections(&case).remove(0);
    run.captures[0].channels[0].set_to_meter = Some(tied());
    let object = json::inspection(&run);
    let channels = &object["captures"][0]["channels"];
    assert!(channels[1]["set_to_meter"].is_null());
    let wanted = serde_json::json!({
        "pieces": [{"capture": 1, "channel": 2, "from_s": 0.5, "to_s": 1.5,
            "shown": 14.8, "read": 15.02, "left": 0.0}],
        "corrected": "one-level", "gain": 1.0125, "offset": 0.035, "at": 20.0,
        "before_u95": 0.43, "after_u95": 0.09, "doubts": ["One level only."],
    });
    assert_eq!(channels[0]["set_to_meter"], wanted);
}
