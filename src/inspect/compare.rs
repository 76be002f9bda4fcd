//! Two inspections set against each other, their captures laid on one time axis.

use crate::bench::align::{self, Half};
use crate::data::{Alignment, CompareOptions, Comparison, InspectedCapture, Inspection};
use crate::verdict;

/// Sets `after` against `before`. Reads samples only where captures are aligned by correlation, at most
/// once each.
pub fn compare(before: &Inspection, after: &Inspection, options: &CompareOptions) -> Comparison {
    let mut alignments: Vec<Alignment> = Vec::new();
    let mut not_aligned = Vec::new();
    for (a, b) in alike(&before.captures, &after.captures) {
        let first = Half {
            index: a,
            shot: &before.captures[a],
            events: &before.events,
        };
        let second = Half {
            index: b,
            shot: &after.captures[b],
            events: &after.events,
        };
        match align::find(&first, &second, options.align) {
            Ok(alignment) => alignments.push(alignment),
            Err(why) => not_aligned.push(format!(
                "Shot {} before and shot {} after have no common time axis: {why}.",
                a + 1,
                b + 1
            )),
        }
    }
    verdict::compare::find(before, after, options, alignments, not_aligned)
}

/// Captures that show the same, in order: fed alike, of one kind, with a pin in common; each once.
fn alike(before: &[InspectedCapture], after: &[InspectedCapture]) -> Vec<(usize, usize)> {
    let mut taken = vec![false; after.len()];
    let mut pairs = Vec::new();
    for (a, first) in before.iter().enumerate() {
        let fits = |second: &InspectedCapture| {
            let pins = |shot: &InspectedCapture| -> Vec<_> {
                shot.channels.iter().filter_map(|c| c.role.value).collect()
            };
            let other = pins(second);
            first.setup.value == second.setup.value
                && first.kind.value == second.kind.value
                && pins(first).iter().any(|role| other.contains(role))
        };
        let mut free = after.iter().enumerate().filter(|(b, _)| !taken[*b]);
        let found = free.find(|(_, second)| fits(second)).map(|(b, _)| b);
        if let Some(b) = found {
            taken[b] = true;
            pairs.push((a, b));
        }
    }
    pairs
}
