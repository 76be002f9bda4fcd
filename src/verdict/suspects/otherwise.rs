//! It starts or stops while VCC goes the other way: not the under-voltage lockout does that.

use crate::data::{Event, EventKind, Evidence, Quantity};

use super::Weighed;

pub(super) fn weigh(event: &Event, why: &str) -> Vec<Weighed> {
    let quantity = match event.kind {
        EventKind::Start => Quantity::StartThreshold,
        EventKind::Stop => Quantity::StopThreshold,
    };
    let seen = Evidence {
        text: why.to_owned(),
        quantity: quantity.info().id,
        capture: Some(event.capture),
        span_s: Some((event.at_s - event.within_s, event.at_s + event.within_s)),
    };
    let one = |cause, title, weight, next_check: &str| {
        Weighed::new(cause, title, weight, next_check).supported_by(vec![seen.clone()])
    };
    vec![
        one(
            "protection-latch",
            "a protection stops it (over-voltage, over-current or temperature; a latch on VCC, COMP or CS)",
            0.5,
            "Record COMP and CS beside VCC in the same sweep: COMP held below 1 V, or CS above 1 V, while it stands still is a protection. See at which VCC it acts, and whether it runs again only after VCC was taken away.",
        ),
        one(
            "vref-overloaded",
            "VREF pulled down by what hangs on it",
            0.25,
            "Record VREF beside VCC, and lift the feed of everything outside the controller that runs from VREF.",
        ),
        one(
            "contact-opens",
            "a contact that opens (a joint, a socket, a probe or its ground)",
            0.25,
            "Power off: reflow the controller's joints, and clip probe and ground anew; then sweep again and press on the board with an insulated stick.",
        ),
    ]
}
