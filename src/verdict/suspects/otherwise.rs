//! It starts or stops while VCC goes the other way: not the under-voltage lockout does that.

use crate::data::{Event, EventKind, Evidence, Quantity, Role};

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
    // what COMP or CS stop is OUT; VREF goes with the lockout, with what loads it, or with a contact
    let (latch, load, contact) = match event.witness {
        Role::Vref => (0.2, 0.45, 0.35),
        _ => (0.5, 0.25, 0.25),
    };
    vec![
        one(
            "protection-latch",
            "a protection stops it (over-voltage, over-current or temperature; a latch on VCC, COMP or CS)",
            latch,
            "Record COMP and CS beside VCC in the same sweep: COMP held below 1 V, or CS above 1 V, while it stands still is a protection. See at which VCC it acts, and whether it runs again only after VCC was taken away.",
        ),
        one(
            "vref-overloaded",
            "VREF pulled down by what hangs on it",
            load,
            "Lift the feed of everything outside the controller that runs from VREF, and record VREF beside VCC in the same sweep.",
        ),
        one(
            "contact-opens",
            "a contact that opens (a joint, a socket, a probe or its ground)",
            contact,
            "Power off: reflow the controller's joints, and clip probe and ground anew; then sweep again and press on the board with an insulated stick.",
        ),
    ]
}
