//! Causes that fit: one entry a cause, weighed by what the run shows.
//!
//! Weights are shares of belief among the causes weighed here, from rules of the trade; they rank,
//! they do not measure. Only the causes of the bipolar start-up that a run of this kind can show are
//! weighed so far; everything else is in "not tested".

mod fitted;
mod hiccup;
mod oscillator;
mod otherwise;
mod reference;
mod supply;

use crate::data::{Evidence, Quantity, StageFinding, Suspect};

use super::view::View;

/// A cause that was weighed.
struct Weighed {
    cause: &'static str,
    title: &'static str,
    weight: f64,
    reasons_for: Vec<Evidence>,
    reasons_against: Vec<Evidence>,
    next_check: String,
}

impl Weighed {
    /// A cause without evidence of its own.
    fn new(
        cause: &'static str,
        title: &'static str,
        weight: f64,
        next_check: impl Into<String>,
    ) -> Self {
        Self {
            cause,
            title,
            weight,
            reasons_for: Vec::new(),
            reasons_against: Vec::new(),
            next_check: next_check.into(),
        }
    }

    /// The same with what speaks for it.
    fn supported_by(mut self, reasons: Vec<Evidence>) -> Self {
        self.reasons_for = reasons;
        self
    }

    /// The same with what speaks against it.
    fn opposed_by(mut self, reasons: Vec<Evidence>) -> Self {
        self.reasons_against = reasons;
        self
    }
}

/// Causes below this share are not listed.
const LEAST_SHARE: f64 = 0.02;

/// The causes that fit, best first; their shares add up to 1. Empty when no stage is dead or marginal.
pub fn find(view: &View<'_>, stages: &[StageFinding]) -> Vec<Suspect> {
    let mut all: Vec<Weighed> = [
        hiccup::weigh,
        supply::weigh,
        reference::weigh,
        oscillator::weigh,
    ]
    .iter()
    .flat_map(|weigh| weigh(view, stages))
    .collect();
    let total: f64 = all.iter().map(|w| w.weight).sum();
    if total <= 0.0 {
        return Vec::new();
    }
    all.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    all.into_iter()
        .filter(|w| w.weight / total >= LEAST_SHARE)
        .map(|w| Suspect {
            cause: w.cause,
            title: w.title.to_owned(),
            weight: w.weight / total,
            reasons_for: w.reasons_for,
            reasons_against: w.reasons_against,
            next_check: w.next_check,
        })
        .collect()
}

/// Evidence from a measured quantity: its figure, and what it says.
fn evidence(view: &View<'_>, quantity: Quantity, says: &str) -> Vec<Evidence> {
    let (Some(judged), Some(figure)) = (view.best(quantity), view.figure(quantity)) else {
        return Vec::new();
    };
    vec![Evidence {
        text: format!("{figure}: {says}"),
        quantity: quantity.info().id,
        capture: judged.measured.capture,
        span_s: judged.measured.span_s,
    }]
}
