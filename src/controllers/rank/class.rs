//! The class of a part in a word, to group profiles that nobody tells apart from outside.

use super::super::Profile;
use super::super::spelling::{ClassNumber, plain};

/// `x844` or `x8C44` for parts of those families, whatever maker and grade; else the first part.
pub(super) fn class_of(profile: &Profile) -> String {
    let first = profile.parts.first().map_or("", String::as_str);
    match ClassNumber::read(&plain(first)) {
        Some(class) => format!("x{}", class.number.get(1..).unwrap_or_default()),
        None => first.to_owned(),
    }
}

/// The classes of these profiles, each once, in their order.
pub(super) fn classes<'a>(profiles: impl Iterator<Item = &'a Profile>) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for class in profiles.map(class_of) {
        if !all.contains(&class) {
            all.push(class);
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
