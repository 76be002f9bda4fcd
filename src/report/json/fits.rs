//! Which controllers fit, as objects.

use serde_json::{Value, json};

use super::number;
use crate::data::{ControllerFit, ControllerFits, Separation};

/// The keys `fits`, `separated_by` and `fits_conclusion` of a run; the lists are empty where nothing
/// measured bears on it.
pub(super) fn fits(found: Option<&ControllerFits>) -> Value {
    let fit = |fit: &ControllerFit| {
        json!({
            "id": fit.id,
            "title": fit.title,
            "family": fit.family,
            "class": fit.class,
            "weight": number(fit.weight),
            "why": fit.why,
            "against": fit.against,
            "named": fit.named,
        })
    };
    let list = found.map_or_else(Vec::new, |f| f.fits.iter().map(fit).collect());
    let open = found.map_or_else(Vec::new, |f| {
        f.separated_by.iter().map(separation).collect()
    });
    json!({
        "fits": list,
        "separated_by": open,
        "fits_conclusion": found.map(|f| &f.conclusion),
    })
}

/// What would tell apart those that fit.
pub fn separation(one: &Separation) -> Value {
    json!({"quantity": one.quantity, "text": one.text})
}
