//! What would tell apart the profiles that fit.

use super::class::{classes, shortened};
use super::range::Range;
use super::{Profile, RANKED_BY, Ranked, Seen};
use crate::data::Separation;
use crate::data::text::{engineering, trimmed};

/// Classes named in a group at most.
const MOST: usize = 5;

/// The figures that were not seen and that split those that fit into groups whose ranges do not
/// touch; those with the most groups first.
pub(super) fn find(left: &[&Ranked], seen: &[Seen]) -> Vec<Separation> {
    let open = RANKED_BY
        .iter()
        .filter(|by| !seen.iter().any(|s| s.key == by.key));
    let mut found: Vec<(usize, Separation)> = open
        .filter_map(|by| {
            let groups = groups(left, by.key);
            let each: Vec<String> = groups
                .iter()
                .map(|group| {
                    let shown = |value| trimmed(&engineering(value, by.unit, 3));
                    let names = shortened(&classes(group.profiles.iter().copied()), MOST);
                    format!("{} to {} for {names}", shown(group.min), shown(group.max))
                })
                .collect();
            let text = format!("{}: {}.", by.title, each.join("; "));
            let quantity = by.quantity;
            (groups.len() > 1).then_some((groups.len(), Separation { quantity, text }))
        })
        .collect();
    found.sort_by_key(|(groups, _)| std::cmp::Reverse(*groups));
    found.into_iter().map(|(_, one)| one).collect()
}

/// Profiles whose ranges touch.
struct Group<'a> {
    min: f64,
    max: f64,
    profiles: Vec<&'a Profile>,
}

fn groups<'a>(left: &[&Ranked<'a>], key: &str) -> Vec<Group<'a>> {
    let mut ranges: Vec<(Range, &Profile)> = left
        .iter()
        .filter_map(|one| Some((Range::of(one.profile, key)?, one.profile)))
        .collect();
    ranges.sort_by(|a, b| a.0.min.total_cmp(&b.0.min));
    let mut groups: Vec<Group> = Vec::new();
    for (range, profile) in ranges {
        match groups.last_mut().filter(|group| range.min <= group.max) {
            Some(group) => {
                group.max = group.max.max(range.max);
                group.profiles.push(profile);
            }
            None => groups.push(Group {
                min: range.min,
                max: range.max,
                profiles: vec![profile],
            }),
        }
    }
    groups
}
