//! Which measured values of two inspections go together.
//!
//! Values go together where the quantity is the same, the unit was fed alike and the captures show the
//! same; properties of the controller also where they were taken in another way, which is then said.

use crate::data::{Inspection, Judged, Outcome, Quantity, Role, Setup, ShotKind, Side};

/// What goes together.
pub(super) struct Pair {
    pub(super) quantity: Quantity,
    pub(super) role: Option<Role>,
    pub(super) before: Option<Side>,
    pub(super) after: Option<Side>,
    pub(super) recorded_alike: bool,
    pub(super) remark: String,
}

/// Under which circumstances a value was taken; both `None` for a hand reading.
type Circumstances = (Option<Setup>, Option<ShotKind>);

/// A value with its pin and its circumstances.
struct Taken {
    side: Side,
    role: Option<Role>,
    under: Circumstances,
}

/// All pairs, in the order of the catalogue.
pub(super) fn find(before: &Inspection, after: &Inspection) -> Vec<Pair> {
    Quantity::ALL
        .iter()
        .flat_map(|quantity| of_quantity(*quantity, before, after))
        .collect()
}

fn of_quantity(quantity: Quantity, before: &Inspection, after: &Inspection) -> Vec<Pair> {
    let mut first = taken(quantity, before);
    let mut second = taken(quantity, after);
    let mut pairs = Vec::new();
    let made =
        |a: Option<Taken>, b: Option<Taken>, (recorded_alike, remark): (bool, String)| Pair {
            quantity,
            role: b.as_ref().or(a.as_ref()).and_then(|taken| taken.role),
            before: a.map(|taken| taken.side),
            after: b.map(|taken| taken.side),
            recorded_alike,
            remark,
        };
    // alike, in order
    let mut index = 0;
    while index < first.len() {
        let under = first[index].under;
        match second.iter().position(|taken| taken.under == under) {
            Some(other) => {
                let (a, b) = (first.remove(index), second.remove(other));
                pairs.push(made(Some(a), Some(b), (true, String::new())));
            }
            None => index += 1,
        }
    }
    // a property of the controller shows under any circumstances
    while pairs.is_empty() && of_controller(quantity) && !first.is_empty() && !second.is_empty() {
        let (a, b) = (first.remove(0), second.remove(0));
        let remark = format!(
            "Taken {} before and {} after.",
            under(a.under),
            under(b.under)
        );
        pairs.push(made(Some(a), Some(b), (false, remark)));
    }
    for a in first {
        let why = missing(quantity, after, a.under);
        pairs.push(made(Some(a), None, why));
    }
    for b in second {
        let why = missing(quantity, before, b.under);
        pairs.push(made(None, Some(b), why));
    }
    pairs
}

fn taken(quantity: Quantity, run: &Inspection) -> Vec<Taken> {
    let of_it = run
        .measured
        .iter()
        .filter(|j| j.measured.quantity == quantity);
    of_it.filter_map(|judged| one(judged, run)).collect()
}

fn one(judged: &Judged, run: &Inspection) -> Option<Taken> {
    let measured = &judged.measured;
    let value = measured.value().filter(|v| v.value.is_finite())?.clone();
    let shot = measured.capture.and_then(|index| run.captures.get(index));
    let role = measured
        .channel
        .and_then(|channel| shot?.channels.get(channel)?.role.value);
    let under = (
        shot.and_then(|shot| shot.setup.value),
        shot.and_then(|shot| shot.kind.value),
    );
    Some(Taken {
        side: Side {
            value,
            verdict: judged.verdict,
            provisional: judged.provisional,
            capture: measured.capture,
            setup: under.0,
            kind: under.1,
        },
        role,
        under,
    })
}

/// Does the quantity say something of the controller and its parts alone, however the unit is fed?
fn of_controller(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::StartThreshold
            | Quantity::StopThreshold
            | Quantity::Hysteresis
            | Quantity::VrefVoltage
            | Quantity::OscillatorFrequency
            | Quantity::RampPeak
            | Quantity::RampValley
            | Quantity::RampAmplitude
            | Quantity::RtCtProduct
            | Quantity::RampDischarge
            | Quantity::OscillatorToOutRatio
    )
}

fn under((setup, kind): Circumstances) -> String {
    let setup = setup.map_or("with the set-up not known", Setup::id);
    match kind {
        Some(kind) => format!("{setup}, {}", kind.id()),
        None => setup.to_owned(),
    }
}

/// Was the run recorded so that it would show such a value, and why it has none, as a sentence.
fn missing(quantity: Quantity, run: &Inspection, wanted: Circumstances) -> (bool, String) {
    let refused = run.measured.iter().find_map(|judged| {
        let of_it = judged.measured.quantity == quantity;
        match &judged.measured.outcome {
            Outcome::NotMeasurable(why) if of_it => Some(why.clone()),
            _ => None,
        }
    });
    if let Some(why) = refused {
        let why = format!("On the other side: {}.", why.trim_end_matches('.'));
        return (false, why);
    }
    let shown = run.captures.iter().any(|shot| {
        let alike = (shot.setup.value, shot.kind.value) == wanted;
        let roles = quantity.info().roles;
        alike && roles.iter().all(|role| shot.channel_of(*role).is_some())
    });
    let words = if wanted == (None, None) {
        return (false, "Not read by hand on the other side.".to_owned());
    } else if shown {
        "The other side was recorded alike and does not show it."
    } else {
        "Not recorded on the other side."
    };
    (shown, words.to_owned())
}
