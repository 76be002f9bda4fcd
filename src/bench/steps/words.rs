//! What is said of voltage steps: contradictions, what is missing, how captures fit.

use crate::data::text::plus_minus;
use crate::data::typed::{Kind, written};
use crate::data::{Bracket, Direction, Measured, Options, StepsFinding, Unit, Value, VoltageStep};

use super::Threshold;

/// Volts as they were read, to a millivolt.
fn volts(value: f64) -> String {
    written((value * 1e3).round() / 1e3, Kind::Volt)
}

fn going(direction: Direction) -> &'static str {
    match direction {
        Direction::Up => "going up",
        Direction::Down => "going down",
    }
}

const WHY: &str =
    "the threshold is noisy, a contact is bad, or VCC at the pin is not what the supply shows";

/// Where a current was read.
pub(super) fn read_at(step: &VoltageStep) -> String {
    let at = volts(step.volts);
    format!(
        "Read at {at}, by voltage steps ({}).",
        step.place.in_words()
    )
}

/// Readings of one direction of which a dead one is not below a working one.
pub(super) fn contradiction(of: &Threshold) -> String {
    let (dead, works) = sides(of.bracket);
    let way = going(of.going);
    let more = match of.pairs {
        1 => String::new(),
        pairs => format!(", {pairs} such pairs"),
    };
    let pair = if dead == works {
        format!("{way} it was dead and working at {dead}{more}")
    } else {
        format!("{way} it was dead at {dead}, above {works}, where it worked{more}")
    };
    let scatter = of.fit.map_or(String::new(), |fit| {
        format!(
            ". The threshold scatters by {} (standard deviation, {} readings) about {}",
            volts(fit.sigma_v),
            fit.count,
            plus_minus(fit.centre_v, 2.0 * fit.u_v, Unit::Volt)
        )
    });
    format!("{}: {WHY}{scatter}.", capital(&pair))
}

fn sides(bracket: Bracket) -> (String, String) {
    let of = |side: Option<f64>| side.map_or(String::new(), volts);
    (of(bracket.low_v), of(bracket.high_v))
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| {
        first.to_uppercase().chain(chars).collect()
    })
}

/// What contradicts a bracket of the other direction, or a reading without one. `doubt` is by how much
/// a reading may be off against the others, in volts.
pub(super) fn across(
    readings: &[VoltageStep],
    start: Bracket,
    stop: Bracket,
    doubt: impl Fn(&VoltageStep) -> f64,
) -> Vec<String> {
    let mut said = Vec::new();
    if let (Some(dead), Some(works)) = (stop.low_v, start.high_v)
        && dead > works
    {
        said.push(format!(
            "Going down it was dead at {}, above {}, where it worked going up: {WHY}.",
            volts(dead),
            volts(works)
        ));
    }
    for step in readings.iter().filter(|s| s.going.is_none()) {
        let (at, place) = (volts(step.volts), step.place.in_words());
        let off = doubt(step);
        if step.works
            && let Some(dead) = stop.low_v.filter(|dead| step.volts + off < *dead)
        {
            said.push(format!(
                "It works at {at} ({place}), below {}, where it was dead going down: {WHY}.",
                volts(dead)
            ));
        }
        if !step.works
            && let Some(works) = start.high_v.filter(|works| step.volts - off > *works)
        {
            said.push(format!(
                "It is dead at {at} ({place}), above {}, where it worked going up: {WHY}.",
                volts(works)
            ));
        }
    }
    said
}

/// Why there is no threshold: which reading is missing, or what contradicts itself.
pub(super) fn why_none(of: &Threshold, finding: &StepsFinding) -> String {
    let way = going(of.going);
    let missing = match (of.bracket.low_v, of.bracket.high_v) {
        (Some(_), Some(_)) => {
            return format!(
                "the readings {way} contradict each other; take ten or more close to where it changes"
            );
        }
        (None, None) => format!("no reading {way}"),
        (None, Some(high)) => format!("no dead reading {way} (it works down to {})", volts(high)),
        (Some(low), None) => format!("no working reading {way} (it is dead up to {})", volts(low)),
    };
    let free = match of.going {
        Direction::Up => finding.start_above_v.map(|v| {
            format!(
                "; readings without direction say only that it lies above {}",
                volts(v)
            )
        }),
        Direction::Down => finding.stop_at_most_v.map(|v| {
            format!(
                "; readings without direction say only that it lies at or below {}",
                volts(v)
            )
        }),
    };
    format!("{missing}{}", free.unwrap_or_default())
}

/// How far a bracket lies from a capture's value, and how far the two may.
fn apart(of: &Threshold, hand: &Value, seen: &Value, options: &Options) -> (f64, f64) {
    let (low, high) = of.bracket.sides().unwrap_or((hand.value, hand.value));
    let meter = match of.fit {
        Some(_) => hand.u95,
        None => Value::from_terms(hand.value, of.meter(hand.value, options)).u95,
    };
    let gap = (low - seen.value).max(seen.value - high).max(0.0);
    (gap, meter.hypot(seen.u95))
}

fn between(of: &Threshold) -> String {
    let (low, high) = sides(of.bracket);
    format!("between {low} and {high}")
}

/// The steps agree with the mean of VCC in a capture, and its pin goes further: both are right.
pub(super) fn soft(
    of: &Threshold,
    hand: &Measured,
    options: &Options,
    measured: &[Measured],
) -> Option<String> {
    let value = hand.value()?;
    let in_capture = |quantity| measured.iter().filter(move |m| m.quantity == quantity);
    let one = |m: &Measured| {
        let (capture, mean) = (m.capture?, m.value()?);
        let mut same = in_capture(of.quantity).filter(|s| s.capture == Some(capture));
        let seen = same.find_map(Measured::value)?;
        let (gap, may) = apart(of, value, seen, options);
        let (gap_of_mean, may_of_mean) = apart(of, value, mean, options);
        (gap > may && gap_of_mean <= may_of_mean).then(|| (capture, mean.clone(), seen.clone()))
    };
    let (capture, mean, seen) = in_capture(of.mean).find_map(one)?;
    let (event, does) = match of.going {
        Direction::Up => ("start", "rises"),
        Direction::Down => ("stop", "falls"),
    };
    Some(format!(
        "The meter reads {} at the {event} and shot {} a mean of {}: they agree. There the pin {does} to {}, and that is what the controller acts on: what the meter reads is no threshold, VCC is soft.",
        between(of),
        capture + 1,
        plus_minus(mean.value, mean.u95, Unit::Volt),
        plus_minus(seen.value, seen.u95, Unit::Volt)
    ))
}

/// How the captures' values of the same threshold fit.
pub(super) fn beside(
    of: &Threshold,
    hand: &Measured,
    options: &Options,
    measured: &[Measured],
) -> Vec<String> {
    let Some(value) = hand.value() else {
        return Vec::new();
    };
    let title = of.quantity.info().title;
    let same = measured.iter().filter(|m| m.quantity == of.quantity);
    same.filter_map(|m| Some((m.capture?, m.value()?)))
        .map(|(capture, seen)| {
            let (gap, may) = apart(of, value, seen, options);
            let shown = plus_minus(seen.value, seen.u95, Unit::Volt);
            let shot = capture + 1;
            if gap <= may {
                format!("Shot {shot} gives a {title} of {shown}: the steps agree with it.")
            } else {
                let between = between(of);
                format!("Shot {shot} gives a {title} of {shown}, the steps one {between}. Not both are right: look at units and probe factor, and whether VCC was read at the supply's terminals here and at the pin there.")
            }
        })
        .collect()
}
