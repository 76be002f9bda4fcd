//! Another part fitted than the marking says: what the library of controllers makes of it.

use crate::data::{ClassFit, ControllerFit, ControllerFits, Evidence};
use crate::verdict::view::View;

use super::Weighed;

/// How much more a part that surely fits makes another one than the named probable; and how much
/// less probable it is where no part of the library fits.
const CONTRADICTED: f64 = 4.0;
const NOTHING_FITS: f64 = 0.25;
/// Classes named as reasons.
const MOST: usize = 3;

/// A wrong variant, or a wrong family where only parts of another family fit; with what the library
/// says for and against it added to `evidence`. `usual` is its weight where the library says
/// nothing.
pub(super) fn other_part(view: &View<'_>, usual: f64, evidence: Vec<Evidence>) -> Weighed {
    let others: Vec<&ControllerFit> = view
        .fits
        .map_or_else(Vec::new, |f| f.left().filter(|fit| !fit.named).collect());
    let named = || {
        view.fits
            .into_iter()
            .flat_map(|f| f.fits.iter().filter(|f| f.named))
    };
    let same_family = |fit: &&&ControllerFit| named().any(|n| n.family == fit.family);
    let foreign =
        !others.is_empty() && named().count() > 0 && !others.iter().any(|f| same_family(&f));
    let (cause, title, next_check) = if foreign {
        (
            "wrong-family",
            "a part of another family fitted than the marking says",
            "Record RT/CT and OUT: ramp levels and VCC minus OUT high tell the families apart.",
        )
    } else {
        (
            "wrong-uvlo-variant",
            "another variant fitted than the marking says",
            "Compare start and stop with the other variants of the family: 16/10 V and 8.4/7.6 V.",
        )
    };
    let contradicted = view.fits.is_some_and(|f| f.contradicts_marking);
    let factor = match (contradicted, view.fits.is_some() && others.is_empty()) {
        (true, _) => CONTRADICTED,
        (false, true) => NOTHING_FITS,
        (false, false) => 1.0,
    };
    let mut weighed = Weighed::new(cause, title, usual * factor, next_check).supported_by(evidence);
    weighed.reasons_for.extend(what_fits(view));
    if view.fits.is_some() && others.is_empty() {
        let text = "no other part of the library fits start and stop".to_owned();
        weighed.reasons_against.push(said(text));
    }
    weighed
}

/// The classes that fit beside the named ones, a reason each.
pub(super) fn what_fits(view: &View<'_>) -> Vec<Evidence> {
    let classes = view.fits.map_or_else(Vec::new, ControllerFits::classes);
    let named = |class: &&ClassFit| class.fits.iter().any(|fit| fit.named);
    classes
        .iter()
        .filter(|class| !named(class))
        .take(MOST)
        .filter_map(|class| {
            let best = class.fits.first()?;
            // the thresholds come first
            let why: Vec<&str> = best.why.split("; ").take(2).collect();
            let text = format!(
                "{} fits, as {}: {}",
                class.class,
                best.title,
                why.join("; ")
            );
            Some(said(text))
        })
        .collect()
}

fn said(text: String) -> Evidence {
    Evidence {
        text,
        quantity: "",
        capture: None,
        span_s: None,
    }
}
