//! Which controllers fit what a run measured.

use crate::controllers::{Library, RANKED_BY, Seen};
use crate::data::{ControllerChoice, ControllerFits, InspectedCapture, Judged, Quantity, Setup};

/// The profiles that fit, by the best entry of each quantity that bears on it; `None` where the run
/// measured none.
///
/// The duty cycle counts only bench-fed, where nothing regulates and it is the largest one.
pub(super) fn find(
    judged: &[Judged],
    captures: &[InspectedCapture],
    controller: Option<&ControllerChoice>,
    library: &Library,
) -> Option<ControllerFits> {
    let injected = |j: &Judged| {
        let shot = j.measured.capture.and_then(|c| captures.get(c));
        shot.is_some_and(|shot| shot.setup.value == Some(Setup::Injected))
    };
    let counts = |j: &&Judged| j.measured.quantity != Quantity::OutDutyCycle || injected(j);
    let seen: Vec<Seen> = RANKED_BY
        .iter()
        .filter_map(|by| {
            let quantity = Quantity::from_id(by.quantity)?;
            let best = judged
                .iter()
                .filter(|j| j.measured.quantity == quantity)
                .filter(counts)
                .filter_map(|j| j.measured.value())
                .min_by(|a, b| a.u.total_cmp(&b.u))?;
            Some(Seen {
                key: by.key,
                value: best.value,
                u: best.u,
            })
        })
        .collect();
    let named = controller.map_or(&[][..], |choice| &choice.candidates);
    library.fits(&seen, named)
}
