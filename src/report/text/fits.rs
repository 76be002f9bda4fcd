//! Which controllers fit what was measured.

use super::page::Page;
use crate::data::{ClassFit, ControllerFits};

/// Classes, and named profiles that do not fit, listed at most; how many more there are is said.
const MOST: usize = 6;
/// Profiles that do not fit and are listed with their reasons.
const MOST_AGAINST: usize = 2;
/// Titles of a class at most.
const MOST_TITLES: usize = 2;

/// The section of a run: the answer, the classes that are left, the named profiles that are not, and
/// what would tell the others apart. Nothing where nothing measured bears on it.
pub(super) fn fits(page: &mut Page, found: Option<&ControllerFits>) {
    let Some(found) = found else { return };
    page.heading("WHICH CONTROLLER FITS");
    page.hanging("", 2, &format!("By {}.", found.by.join(", ")));
    page.hanging("", 2, &found.conclusion);
    let classes = found.classes();
    for class in classes.iter().take(MOST) {
        let share = format!("{:.0} %", 100.0 * class.weight);
        page.row(2, &[(&share, 6), (class.class, 12), (&titles(class), 54)]);
    }
    if classes.len() > MOST {
        page.hanging("", 2, &format!("and {} more classes", classes.len() - MOST));
    }
    // published limits say more than assumed ones
    let excluded = found
        .fits
        .iter()
        .filter(|f| !f.against.is_empty() && f.named);
    let mut excluded: Vec<_> = excluded.collect();
    excluded.sort_by_key(|f| f.against.iter().any(|text| text.contains("assumed")));
    for fit in excluded.into_iter().take(MOST_AGAINST) {
        let against = format!("{} does not fit: {}", fit.title, fit.against.join("; "));
        page.hanging("", 2, &against);
    }
    if let Some(sharpest) = found.separated_by.first() {
        page.hanging("", 2, &format!("To tell them apart: {}", sharpest.text));
    }
}

fn titles(class: &ClassFit) -> String {
    // the one that the marking names goes first
    let mut fits = class.fits.clone();
    fits.sort_by_key(|fit| !fit.named);
    let shown: Vec<&str> = fits
        .iter()
        .take(MOST_TITLES)
        .map(|f| f.title.as_str())
        .collect();
    match fits.len() - shown.len() {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
