//! Which controllers fit what was measured.

use super::page::Page;
use crate::data::{ControllerFit, ControllerFits};

/// Profiles listed at most; how many more there are is said.
const MOST: usize = 6;

/// The section of a run; nothing where nothing measured bears on it.
pub(super) fn fits(page: &mut Page, found: Option<&ControllerFits>) {
    let Some(found) = found else { return };
    page.heading("WHICH CONTROLLER FITS");
    ranking(page, found, MOST);
}

/// The answer, the profiles that are left (at most this many), the named ones that are not, and what
/// would tell the others apart.
pub fn ranking(page: &mut Page, found: &ControllerFits, most: usize) {
    page.hanging("", 2, &format!("By {}.", found.by.join(", ")));
    page.hanging("", 2, &found.conclusion);
    let share = |fit: &ControllerFit| format!("{:.1} %", 100.0 * fit.weight);
    let left: Vec<&ControllerFit> = found.left().collect();
    for fit in left.iter().take(most) {
        page.row(2, &[(&share(fit), 7), (&fit.id, 20), (&fit.title, 46)]);
    }
    if left.len() > most {
        page.hanging("", 2, &format!("and {} more", left.len() - most));
    }
    let excluded = found
        .fits
        .iter()
        .filter(|f| !f.against.is_empty() && f.named);
    for fit in excluded.take(most) {
        let against = format!("{} does not: {}", fit.title, fit.against.join("; "));
        page.hanging("", 2, &against);
    }
    if let Some(sharpest) = found.separated_by.first() {
        page.hanging("", 2, &format!("To tell them apart: {}", sharpest.text));
    }
}
