//! What a marking stands for, ready for an inspection.

use super::{Found, MatchKind};
use crate::data::ControllerChoice;

impl Found<'_> {
    /// The choice, ready for an inspection, with its bands over all candidates; `marking` as typed.
    pub fn choice(&self, marking: &str) -> ControllerChoice {
        of(self, marking)
    }
}

fn of(found: &Found, marking: &str) -> ControllerChoice {
    let ids: Vec<String> = found.profiles.iter().map(|p| p.id.clone()).collect();
    let divides = || found.profiles.iter().map(|p| p.divide);
    let divide = divides().next();
    ControllerChoice {
        marking: marking.to_owned(),
        id: ids.first().cloned().unwrap_or_default(),
        title: title(found, marking),
        candidates: ids,
        start: found.expected("vcc_start"),
        stop: found.expected("vcc_stop"),
        vref: found.expected("vref"),
        ramp_peak: found.expected("osc_peak"),
        ramp_valley: found.expected("osc_valley"),
        divide: divide
            .filter(|first| divides().all(|other| other == *first))
            .flatten(),
    }
}

fn title(found: &Found, marking: &str) -> String {
    let marking = marking.trim();
    let titles: Vec<&str> = found.profiles.iter().map(|p| p.title.as_str()).collect();
    match (found.how, titles.as_slice()) {
        (MatchKind::Id | MatchKind::Marking, [one]) => (*one).to_owned(),
        (MatchKind::Id | MatchKind::Marking, many) => {
            format!("{marking}: one of {}", shortened(many))
        }
        (MatchKind::SameClass, many) => {
            format!("{marking}: same class as {}", shortened(many))
        }
        (MatchKind::NotTrusted, many) => {
            format!("{marking}, marking not trusted: any of {}", shortened(many))
        }
        (MatchKind::ClassNumber, many) => format!("{marking}: class of {}", shortened(many)),
    }
}

/// The first three titles and how many more there are.
fn shortened(titles: &[&str]) -> String {
    let shown: Vec<&str> = titles.iter().copied().take(3).collect();
    match titles.len() - shown.len() {
        0 => shown.join(", "),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
