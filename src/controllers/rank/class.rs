//! Classes: parts that replace each other, and how probable each is before anything was read.
//!
//! Somebody who can't read a marking has one part in front of him and a drawer of documents. How many
//! documents the library holds of a class says nothing about how often that class stands on a board:
//! one maker with six grades has written more of them, not sold more parts. That several makers build a
//! class does say something, since a second source is paid for where many are sold. So a class counts by
//! its makers, and its profiles share that alike.
//!
//! Within a class limits only exclude. A grade with narrow limits is picked out of the same parts as the
//! wide one: a reading inside both speaks for neither, and a density over the narrow limits would prefer
//! the grade for its paper. So every profile is weighed over the range of its whole class: the published
//! one, if there is any, since a width that is only assumed would speak against a class for its gaps.

use std::collections::{BTreeMap, BTreeSet};

use super::super::spelling::{ClassNumber, plain};
use super::super::{Profile, same_class};
use super::range::Range;

/// Parts that replace each other.
pub(super) struct Class<'a> {
    /// In the order of the library; at least one.
    pub members: Vec<&'a Profile>,
    /// In a word: `x844` or `x8C44` after the number that most of it have, whatever maker and grade; else
    /// the first part of the first.
    pub word: String,
    /// How probable one of its members is beforehand, in shares of one maker's class.
    pub share: f64,
}

/// The classes of all profiles.
pub(super) fn classes(profiles: &[Profile]) -> Vec<Class<'_>> {
    let mut members: BTreeMap<usize, Vec<&Profile>> = BTreeMap::new();
    for (class, profile) in same_class::classes(profiles).iter().zip(profiles) {
        members.entry(*class).or_default().push(profile);
    }
    members.into_values().map(Class::of).collect()
}

impl<'a> Class<'a> {
    fn of(members: Vec<&'a Profile>) -> Self {
        let mut counts: BTreeMap<String, usize> = BTreeMap::new();
        for number in members.iter().filter_map(|profile| number_of(profile)) {
            *counts.entry(number).or_default() += 1;
        }
        let most = counts.into_iter().max_by_key(|(_, count)| *count);
        let first = || members.first().and_then(|profile| profile.parts.first());
        let word = match most {
            Some((number, _)) => format!("x{number}"),
            None => first().cloned().unwrap_or_default(),
        };
        let makers: BTreeSet<&str> = members.iter().map(|p| p.maker.as_str()).collect();
        let share = makers.len() as f64 / members.len().max(1) as f64;
        Class {
            members,
            word,
            share,
        }
    }

    /// Where a figure of any part of the class may lie: as far as published, else as assumed.
    pub fn range(&self, key: &str) -> Option<Range> {
        let each = || self.members.iter().filter_map(|p| Range::of(p, key));
        let wider = |a: Range, b: Range| Range {
            min: a.min.min(b.min),
            max: a.max.max(b.max),
            ..a
        };
        let published = each().filter(|range| range.published).reduce(wider);
        let all = || each().reduce(wider);
        published.or_else(all).map(Range::of_class)
    }
}

/// `844` or `8C44` of parts of those families.
fn number_of(profile: &Profile) -> Option<String> {
    let first = profile.parts.first()?;
    let class = ClassNumber::read(&plain(first))?;
    class.number.get(1..).map(str::to_owned)
}

/// These classes, each once, in their order.
pub(super) fn each_once<'a>(classes: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for class in classes {
        if !all.iter().any(|known| known == class) {
            all.push(class.to_owned());
        }
    }
    all
}

/// The first names and how many more there are.
pub(super) fn shortened(names: &[String], most: usize) -> String {
    let shown = names
        .get(..most.min(names.len()))
        .unwrap_or(names)
        .join(", ");
    match names.len().saturating_sub(most) {
        0 => shown,
        more => format!("{shown} and {more} more"),
    }
}
