//! Options that name something and give it a value: roles, parts, readings, probes, accuracies.

use super::clean;
use super::values::{Kind, value};
use crate::data::options::{Accuracy, ChannelChoice, RoleChoice};
use crate::data::{Role, Setup};

/// Names of parts with their kind and the widest range in which such a part exists.
const PARTS: [(&str, Kind, f64, f64); 11] = [
    ("start-resistor", Kind::Ohm, 1.0, 1e9),
    ("vcc-capacitor", Kind::Farad, 1e-12, 0.1),
    ("rt", Kind::Ohm, 1.0, 1e9),
    ("ct", Kind::Farad, 1e-13, 1e-3),
    ("rsense", Kind::Ohm, 1e-5, 1e6),
    ("vref-capacitor", Kind::Farad, 1e-13, 0.1),
    ("gate-resistor", Kind::Ohm, 1e-3, 1e6),
    ("gate-charge", Kind::Coulomb, 1e-12, 1e-3),
    ("primary-inductance", Kind::Henry, 1e-9, 10.0),
    ("aux-ratio", Kind::Ratio, 1e-4, 1e4),
    ("zener", Kind::Volt, 0.5, 2000.0),
];

/// Names of hand readings with their kind.
const READINGS: [(&str, Kind); 6] = [
    ("standby-current", Kind::Ampere),
    ("run-current", Kind::Ampere),
    ("vcc", Kind::Volt),
    ("vref", Kind::Volt),
    ("bulk", Kind::Volt),
    ("output", Kind::Volt),
];

/// A name with its value.
pub(super) type Named = (String, f64);

pub(super) fn setup(text: &str) -> Result<Setup, String> {
    Setup::from_id(text).ok_or_else(|| {
        format!(
            "no such set-up; one of: {}",
            list(Setup::ALL.iter().map(|s| s.id()))
        )
    })
}

pub(super) fn role(text: &str) -> Result<RoleChoice, String> {
    let (channel, given) = split(text, "2=vref or 1:2=vcc@pin")?;
    let (word, place) = match given.split_once('@') {
        Some((word, place)) if !place.trim().is_empty() => (word, Some(place.trim().to_owned())),
        Some(_) => return Err("a place is missing after '@'; write it like 1=vcc@pin".to_owned()),
        None => (given, None),
    };
    let role = Role::from_id(word.trim()).ok_or_else(|| {
        format!(
            "no role '{}'; one of: {}",
            clean(word),
            list(Role::ALL.iter().map(|r| r.id()))
        )
    })?;
    Ok(RoleChoice {
        channel: channel_choice(channel)?,
        role,
        place,
    })
}

pub(super) fn part(text: &str) -> Result<Named, String> {
    let (name, given) = split(text, "vcc-capacitor=47u")?;
    let name = name.trim().to_ascii_lowercase();
    let Some((_, kind, least, most)) = PARTS.iter().find(|p| p.0 == name) else {
        return Err(format!(
            "no part '{}'; one of: {}",
            clean(&name),
            list(PARTS.iter().map(|p| p.0))
        ));
    };
    let number = value(given, *kind)?;
    if !(*least..=*most).contains(&number) {
        return Err(format!(
            "'{}' taken as {number} in the unit of {name} is not found on a board; write it like {}",
            clean(given),
            kind.forms()
        ));
    }
    Ok((name, number))
}

pub(super) fn reading(text: &str) -> Result<Named, String> {
    let (name, given) = split(text, "standby-current=0.4mA")?;
    let name = name.trim().to_ascii_lowercase();
    let Some((_, kind)) = READINGS.iter().find(|r| r.0 == name) else {
        return Err(format!(
            "no reading '{}'; one of: {}",
            clean(&name),
            list(READINGS.iter().map(|r| r.0))
        ));
    };
    Ok((name, value(given, *kind)?))
}

pub(super) fn probe(text: &str) -> Result<(ChannelChoice, f64), String> {
    let (channel, given) = split(text, "1=10 or 2:1=100")?;
    let typed = given.trim().to_ascii_lowercase();
    let bare = typed.strip_suffix(":1").or_else(|| typed.strip_suffix('x'));
    let bare = bare.or_else(|| typed.strip_prefix('x')).unwrap_or(&typed);
    let factor: f64 = value(bare, Kind::Ratio).map_err(|_unused| wrong_factor(given))?;
    if factor <= 0.0 || bare.ends_with('%') {
        return Err(wrong_factor(given));
    }
    Ok((channel_choice(channel)?, factor))
}

fn wrong_factor(given: &str) -> String {
    format!(
        "'{}' is no probe factor; write it like 10, 10x or 100:1",
        clean(given)
    )
}

pub(super) fn accuracy(text: &str) -> Result<(ChannelChoice, Accuracy), String> {
    let (channel, given) = split(text, "1=1%+20mV")?;
    Ok((channel_choice(channel)?, spread(given)?))
}

pub(super) fn meter(text: &str) -> Result<Accuracy, String> {
    spread(text)
}

/// A voltage above zero.
pub(super) fn volts(text: &str) -> Result<f64, String> {
    let volts = value(text, Kind::Volt)?;
    if volts > 0.0 {
        Ok(volts)
    } else {
        Err("a voltage above zero was expected, like 15.9V".to_owned())
    }
}

pub(super) fn layout(text: &str) -> Result<(String, String), String> {
    let (key, given) = text
        .split_once('=')
        .ok_or_else(|| "a '=' is missing; write it like separator=semicolon".to_owned())?;
    let key = key.trim();
    if key.is_empty() {
        return Err("the key before '=' is missing; write it like separator=semicolon".to_owned());
    }
    Ok((key.to_owned(), given.to_owned()))
}

/// `1366x768`.
pub(super) fn size(text: &str) -> Result<(u32, u32), String> {
    let wrong = || "write it like 1366x768, each side from 64 to 8192".to_owned();
    let (width, height) = text.split_once(['x', 'X', '×']).ok_or_else(wrong)?;
    let side = |t: &str| {
        t.trim()
            .parse::<u32>()
            .ok()
            .filter(|n| (64..=8192).contains(n))
    };
    Ok((
        side(width).ok_or_else(wrong)?,
        side(height).ok_or_else(wrong)?,
    ))
}

/// `0.5` to `4`.
pub(super) fn scale(text: &str) -> Result<f32, String> {
    let number = text
        .trim()
        .parse::<f32>()
        .ok()
        .filter(|n| (0.5..=4.0).contains(n));
    number.ok_or_else(|| "write a number from 0.5 to 4, like 1.5".to_owned())
}

/// `1%+20mV`, either part alone, in any order.
fn spread(text: &str) -> Result<Accuracy, String> {
    let wrong = || {
        format!(
            "'{}' is no accuracy; write it like 1%+20mV, 1% or 20mV",
            clean(text)
        )
    };
    let (mut gain, mut offset) = (None, None);
    for term in text.split('+') {
        let term = term.trim();
        let (slot, number) = match term.ends_with('%') {
            true => (&mut gain, value(term, Kind::Ratio)),
            false if term.ends_with('V') => (&mut offset, value(term, Kind::Volt)),
            false => return Err(wrong()),
        };
        let number = number.map_err(|_unused| wrong())?;
        if slot.is_some() || number < 0.0 {
            return Err(wrong());
        }
        *slot = Some(number);
    }
    let accuracy = Accuracy {
        gain: gain.unwrap_or(0.0),
        offset: offset.unwrap_or(0.0),
    };
    if accuracy.gain >= 1.0 {
        Err(wrong())
    } else {
        Ok(accuracy)
    }
}

/// Name and value at the last `=`: a channel's name may hold one, a value never does.
fn split<'a>(text: &'a str, example: &str) -> Result<(&'a str, &'a str), String> {
    let (name, given) = text
        .rsplit_once('=')
        .ok_or_else(|| format!("a '=' is missing; write it like {example}"))?;
    if name.trim().is_empty() || given.trim().is_empty() {
        return Err(format!(
            "something is missing beside '='; write it like {example}"
        ));
    }
    Ok((name, given.trim()))
}

/// `2`, `VCC pin`, `1:2`, `1:VCC pin`.
fn channel_choice(text: &str) -> Result<ChannelChoice, String> {
    let (capture, channel) = match text.split_once(':') {
        Some((number, channel)) if is_number(number) && !channel.is_empty() => {
            (Some(counted(number)?), channel)
        }
        _ => (None, text),
    };
    if is_number(channel) {
        counted(channel)?;
    }
    Ok(ChannelChoice {
        capture,
        channel: channel.to_owned(),
    })
}

fn is_number(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())
}

fn counted(text: &str) -> Result<usize, String> {
    let number = text.parse::<usize>().ok().filter(|n| *n > 0);
    number.ok_or_else(|| format!("'{text}' counts nothing: captures and channels count from 1"))
}

fn list<'a>(words: impl Iterator<Item = &'a str>) -> String {
    words.collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests;
