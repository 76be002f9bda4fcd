//! What would tell apart the profiles that fit.

use super::class::{each_once, shortened};
use super::range::Range;
use super::{RANKED_BY, Ranked, Seen};
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
                    let names = shortened(&each_once(group.classes.iter().copied()), MOST);
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

/// Classes of profiles whose ranges touch.
struct Group<'a> {
    min: f64,
    max: f64,
    classes: Vec<&'a str>,
}

fn groups<'a>(left: &[&'a Ranked], key: &str) -> Vec<Group<'a>> {
    let mut ranges: Vec<(Range, &str)> = left
        .iter()
        .filter_map(|one| Some((Range::of(one.profile, key)?, one.class.as_str())))
        .collect();
    ranges.sort_by(|a, b| a.0.min.total_cmp(&b.0.min));
    let mut groups: Vec<Group> = Vec::new();
    for (range, class) in ranges {
        match groups.last_mut().filter(|group| range.min <= group.max) {
            Some(group) => {
                group.max = group.max.max(range.max);
                group.classes.push(class);
            }
            None => groups.push(Group {
                min: range.min,
                max: range.max,
                classes: vec![class],
            }),
        }
    }
    groups
}
