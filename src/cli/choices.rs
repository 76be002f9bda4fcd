//! Options that name something and give it a value: roles, parts, readings, probes, accuracies.

use super::clean;
use super::values::{PARTS, READINGS, spread, value};
use crate::data::options::{Accuracy, ChannelChoice, MeterPoint, RoleChoice};
use crate::data::typed;
use crate::data::typed::{Kind, MarkedPart};
use crate::data::{AlignBy, ReferenceLevels, Role, Setup};

/// A name with its value.
pub(super) type Named = (String, f64);

/// A part as marked, with its name.
pub(super) type NamedPart = (String, MarkedPart);

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

pub(super) fn part(text: &str) -> Result<NamedPart, String> {
    part_of(text, &[&PARTS])
}

/// A part of the start-up budget, which asks for more of them.
pub(super) fn budget_part(text: &str) -> Result<NamedPart, String> {
    part_of(text, &[&PARTS, &typed::MORE_PARTS])
}

fn part_of(text: &str, known: &[&[(&str, Kind, f64, f64)]]) -> Result<NamedPart, String> {
    let (name, given) = split(text, "vcc-capacitor=47u")?;
    let name = name.trim().to_ascii_lowercase();
    let mut names = known.iter().flat_map(|some| some.iter()).map(|p| p.0);
    if !names.clone().any(|n| n == name) {
        let names = list(names.by_ref());
        return Err(format!("no part '{}'; one of: {names}", clean(&name)));
    }
    let part = typed::marked_part(&name, given)?;
    Ok((name, part))
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

/// A reading of the start-up budget: also of a part, and of a ramp.
pub(super) fn budget_reading(text: &str) -> Result<Named, String> {
    let (name, given) = split(text, "bulk=325V or start-resistor=217.8k")?;
    let name = name.trim().to_ascii_lowercase();
    let Some(kind) = typed::reading_kind(&name) else {
        return Err(format!(
            "no reading '{}'; one of: {}",
            clean(&name),
            list(typed::all_readings().map(|r| r.0))
        ));
    };
    Ok((name, value(given, kind)?))
}

pub(super) fn probe(text: &str) -> Result<(ChannelChoice, f64), String> {
    let (channel, given) = split(text, "1=10 or 2:1=100")?;
    Ok((channel_choice(channel)?, typed::factor(given)?))
}

pub(super) fn accuracy(text: &str) -> Result<(ChannelChoice, Accuracy), String> {
    let (channel, given) = split(text, "1=1%+20mV")?;
    Ok((channel_choice(channel)?, spread(given)?))
}

pub(super) fn meter(text: &str) -> Result<Accuracy, String> {
    spread(text)
}

/// Channels that share a range, as typed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Group(pub(super) Vec<ChannelChoice>);

/// `1,2` or `VCC,2:VREF`.
pub(super) fn same_range(text: &str) -> Result<Group, String> {
    let channels: Vec<ChannelChoice> = text
        .split(',')
        .map(|t| channel_choice(t.trim()))
        .collect::<Result<_, _>>()?;
    if channels.len() < 2 || channels.iter().any(|c| c.channel.is_empty()) {
        return Err("two channels or more were expected, like 1,2".to_owned());
    }
    Ok(Group(channels))
}

/// `1@0.2=15.02V` or `2:VCC@10ms..30ms=5.01`.
pub(super) fn meter_point(text: &str) -> Result<MeterPoint, String> {
    const EXAMPLE: &str = "1@0.2=15.02V or 1@0.1..0.4=15.02V";
    let (place, given) = split(text, EXAMPLE)?;
    let (channel, time) = place
        .rsplit_once('@')
        .filter(|(channel, _)| !channel.trim().is_empty())
        .ok_or_else(|| format!("the time after '@' is missing; write it like {EXAMPLE}"))?;
    let (from, to) = time.split_once("..").unwrap_or((time, time));
    let (from_s, to_s) = (value(from, Kind::Second)?, value(to, Kind::Second)?);
    if to_s < from_s {
        return Err(format!("'{}' ends before it begins", clean(time)));
    }
    Ok(MeterPoint {
        channel: channel_choice(channel.trim())?,
        from_s,
        to_s,
        volts: value(given, Kind::Volt)?,
    })
}

pub(super) fn bandwidth(text: &str) -> Result<(ChannelChoice, f64), String> {
    let (channel, given) = split(text, "1=20MHz")?;
    let hertz = value(given, Kind::Hertz)?;
    if hertz > 0.0 {
        Ok((channel_choice(channel)?, hertz))
    } else {
        Err("a bandwidth above zero was expected, like 20MHz".to_owned())
    }
}

/// A date of the calendar.
pub(super) fn date(text: &str) -> Result<String, String> {
    let is_one = crate::data::job::date::is_date(text);
    let wrong = || "a date was expected, like 2026-11-26".to_owned();
    is_one.then(|| text.to_owned()).ok_or_else(wrong)
}

/// `2` or `4`.
pub(super) fn scope_channels(text: &str) -> Result<usize, String> {
    const MOST: usize = 64;
    let count = text.trim().parse().ok();
    count
        .filter(|count| (1..=MOST).contains(count))
        .ok_or_else(|| format!("a number of channels from 1 to {MOST} was expected, like 2"))
}

/// `10,50,90` or `30, 50, 90 %`.
pub(super) fn reference_levels(text: &str) -> Result<ReferenceLevels, String> {
    let share = |t: &str| t.trim().trim_end_matches('%').trim().parse::<f64>().ok();
    let levels: Option<Vec<f64>> = text.split(',').map(share).collect();
    match levels.as_deref() {
        Some(&[low, middle, high])
            if 0.0 < low && low < middle && middle < high && high < 100.0 =>
        {
            Ok(ReferenceLevels {
                low: low / 100.0,
                middle: middle / 100.0,
                high: high / 100.0,
            })
        }
        _ => Err(
            "three rising percentages between 0 and 100 were expected, like 10,50,90".to_owned(),
        ),
    }
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

/// A voltage that may be zero or below it.
pub(super) fn level(text: &str) -> Result<f64, String> {
    value(text, Kind::Volt)
}

pub(super) fn amps(text: &str) -> Result<f64, String> {
    let amps = value(text, Kind::Ampere)?;
    if amps > 0.0 {
        Ok(amps)
    } else {
        Err("a current above zero was expected, like 0.4mA".to_owned())
    }
}

pub(super) fn ratio(text: &str) -> Result<f64, String> {
    let ratio = value(text, Kind::Ratio)?;
    if ratio > 0.0 {
        Ok(ratio)
    } else {
        Err("a number above zero was expected, like 2 or 48%".to_owned())
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

/// `start`, `edge`, `correlation`, or a time.
pub(super) fn align(text: &str) -> Result<AlignBy, String> {
    let words = [
        AlignBy::Auto,
        AlignBy::Start,
        AlignBy::Edge,
        AlignBy::Correlation,
    ];
    if let Some(by) = words.into_iter().find(|by| by.id() == text) {
        return Ok(by);
    }
    let shift_s = typed::value(text, typed::Kind::Second)
        .map_err(|why| format!("{why}; or say start, edge or correlation"))?;
    Ok(AlignBy::Hand(shift_s))
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
