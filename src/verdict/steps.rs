//! What published limits say of brackets from voltage steps.

use crate::data::typed::{Kind, written};
use crate::data::{Bracket, Judged, Limit, Quantity, StepsFinding, Verdict};

/// What to look at before a controller is blamed for a stop that comes too early (common practice).
pub const LOOK_AT_THE_PIN: &str = "Before the controller is blamed, record VCC at its pin with a scope just above the stop: a meter averages dips that the controller sees.";

/// A sentence for each threshold that the steps give and that has limits.
pub fn remarks(finding: &StepsFinding, judged: &[Judged]) -> Vec<String> {
    let both = [
        (Quantity::StartThreshold, finding.start),
        (Quantity::StopThreshold, finding.stop),
    ];
    both.into_iter()
        .filter_map(|(quantity, bracket)| {
            let of = |j: &&Judged| j.measured.capture.is_none() && j.measured.quantity == quantity;
            one(judged.iter().find(of)?, bracket)
        })
        .collect()
}

fn one(judged: &Judged, bracket: Bracket) -> Option<String> {
    let limit = judged.expected.as_ref().filter(|l| l.has_limits())?;
    judged.measured.value()?;
    let title = judged.measured.quantity.info().title;
    let shown = limit.shown();
    let says = match judged.verdict {
        Verdict::InLimits => format!("lies within the published {shown}"),
        Verdict::Outside => format!("lies outside the published {shown}"),
        _ => format!(
            "can't be set against the published {shown}: {}",
            judged.settle
        ),
    };
    let between = bracket.sides().map_or(String::new(), |(low, high)| {
        format!(
            ", between {} and {},",
            written(low, Kind::Volt),
            written(high, Kind::Volt)
        )
    });
    let look = if stops_early(judged) {
        format!(" {LOOK_AT_THE_PIN}")
    } else {
        String::new()
    };
    Some(format!("The {title}{between} {says}.{look}"))
}

/// Is it a stop by voltage steps that lies above its limits?
pub fn stops_early(judged: &Judged) -> bool {
    let above = |limit: &Limit| {
        let value = judged.measured.value();
        value.zip(limit.max).is_some_and(|(v, max)| v.value > max)
    };
    judged.measured.quantity == Quantity::StopThreshold
        && judged.measured.capture.is_none()
        && judged.verdict == Verdict::Outside
        && judged.expected.as_ref().is_some_and(above)
}
