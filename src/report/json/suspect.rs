//! Stages and suspects as objects.

use serde_json::{Value, json};

use super::{number, numbered, optional};
use crate::data::{Evidence, StageFinding, Suspect};

pub(super) fn stage(finding: &StageFinding) -> Value {
    let elsewhere: Vec<&str> = finding.not_seen_together.iter().map(|s| s.id()).collect();
    json!({
        "stage": finding.stage.id(),
        "state": finding.state.id(),
        "because": finding.because,
        "not_seen_together": elsewhere,
        "figures": finding.figures,
    })
}

pub(super) fn suspect(suspect: &Suspect) -> Value {
    json!({
        "cause": suspect.cause,
        "title": suspect.title,
        "weight": number(suspect.weight),
        "rank": suspect.rank_word(),
        "for": suspect.reasons_for.iter().map(evidence).collect::<Vec<_>>(),
        "against": suspect.reasons_against.iter().map(evidence).collect::<Vec<_>>(),
        "next_check": suspect.next_check,
    })
}

fn evidence(evidence: &Evidence) -> Value {
    json!({
        "text": evidence.text,
        "quantity": (!evidence.quantity.is_empty()).then_some(evidence.quantity),
        "capture": evidence.capture.map(numbered),
        "from_s": optional(evidence.span_s.map(|s| s.0)),
        "to_s": optional(evidence.span_s.map(|s| s.1)),
    })
}
