//! Where samples of a witness are missing, an event may lie anywhere among them.

use crate::data::{Channel, Event};

/// Widens an event to all that its witness leaves open, where samples beside it or within its bounds are missing.
pub(super) fn widen(event: &mut Event, witness: &Channel) {
    let missing = &witness.missing;
    if missing.is_empty() {
        return;
    }
    let last = witness.samples.len().saturating_sub(1);
    let (from_s, to_s) = (event.at_s - event.within_s, event.at_s + event.within_s);
    // the bounds are samples: one on either side of them, too
    let first = witness.time.index_from(from_s).saturating_sub(1);
    let end = (witness.time.index_from(to_s) + 1).min(last);
    let gone = |i: &usize| missing.contains(*i);
    let Some(mut low) = (first..=end).find(gone) else {
        return;
    };
    let mut high = (first..=end).rev().find(gone).unwrap_or(low);
    while low > 0 && missing.contains(low) {
        low -= 1;
    }
    while high < last && missing.contains(high) {
        high += 1;
    }
    let from_s = from_s.min(witness.time.at(low));
    let to_s = to_s.max(witness.time.at(high));
    event.at_s = 0.5 * (from_s + to_s);
    event.within_s = 0.5 * (to_s - from_s);
}
