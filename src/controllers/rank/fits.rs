//! The answer to "which controller is this?".

use super::class::{each_once, shortened};
use super::{Profile, Ranked, Seen, rank, separate, usable};
use crate::data::text::engineering;
use crate::data::{ControllerFit, ControllerFits};

/// Figures of which one is needed: the others alone say too little.
const TELLING: [&str; 6] = [
    "vcc_start",
    "vcc_stop",
    "osc_to_out_divide",
    "osc_amplitude_pp",
    "osc_valley",
    "out_headroom",
];

/// See [`super::super::Library::fits`].
pub(super) fn find(
    profiles: &[Profile],
    seen: &[Seen],
    named: &[String],
) -> Option<ControllerFits> {
    let figures = usable(seen);
    if !figures.iter().any(|(by, _)| TELLING.contains(&by.key)) {
        return None;
    }
    let known: Vec<Seen> = figures.iter().map(|(_, seen)| *seen).collect();
    let ranked = rank(profiles, &known, named);
    let is_named = |one: &Ranked| named.contains(&one.profile.id);
    let left: Vec<&Ranked> = ranked.iter().filter(|r| r.against.is_empty()).collect();
    let fits = ranked.iter().map(|one| fit_of(one, is_named(one)));
    let contradicts = contradicts(&ranked, named);
    Some(ControllerFits {
        by: figures
            .iter()
            .map(|(by, s)| format!("{} {}", by.title, engineering(s.value, by.unit, 4)))
            .collect(),
        fits: fits.collect(),
        separated_by: separate::find(&left, &known),
        conclusion: conclusion(&left, named, contradicts),
        contradicts_marking: contradicts,
    })
}

fn fit_of(one: &Ranked, named: bool) -> ControllerFit {
    ControllerFit {
        id: one.profile.id.clone(),
        title: one.profile.title.clone(),
        family: one.profile.family.clone(),
        class: one.class.clone(),
        weight: one.weight,
        why: one.why.clone(),
        against: one.against.clone(),
        named,
        surely: one.surely,
    }
}

/// Every named profile has a threshold surely against it, and another part fits surely.
fn contradicts(ranked: &[Ranked], named: &[String]) -> bool {
    let threshold =
        |text: &String| text.starts_with("start threshold") || text.starts_with("stop threshold");
    let of_marking = || ranked.iter().filter(|r| named.contains(&r.profile.id));
    let excluded =
        of_marking().count() > 0 && of_marking().all(|one| one.against.iter().any(threshold));
    let other = ranked
        .iter()
        .any(|one| one.surely && one.against.is_empty() && !named.contains(&one.profile.id));
    excluded && other
}

/// Classes named in the answer at most.
const MOST: usize = 6;

fn conclusion(left: &[&Ranked], named: &[String], contradicts: bool) -> String {
    let mark = if contradicts {
        "What was measured does not fit the marking. "
    } else {
        ""
    };
    let of = each_once(left.iter().map(|one| one.class.as_str()));
    let rest = match (left, of.as_slice()) {
        ([], _) => "No profile of the library fits all that was measured.".to_owned(),
        ([one], _) => format!("Only {} fits.", one.profile.title),
        (many, [one]) => format!(
            "Only the class {one} fits; nothing measured here tells its {} profiles apart.",
            many.len()
        ),
        (many, several) => format!(
            "{} profiles of {} classes fit and overlap: {}.",
            many.len(),
            several.len(),
            shortened(several, MOST)
        ),
    };
    let fits_named = left.iter().any(|r| named.contains(&r.profile.id));
    let end = if fits_named && left.len() > 1 {
        " The marking is among them."
    } else {
        ""
    };
    format!("{mark}{rest}{end}")
}
