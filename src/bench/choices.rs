//! What the user said about channels, applied to a capture.

use std::sync::Arc;

use crate::data::options::ChannelChoice;
use crate::data::{Capture, Facts, InspectedChannel, Options, Proposed, Role};

use super::accuracy;

/// An option that does not fit the captures.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ChoiceError {
    /// No such channel.
    #[error("there is no channel '{channel}' in {file}; it has {known}")]
    NoChannel {
        /// As typed.
        channel: String,
        /// File name.
        file: String,
        /// The channels there are.
        known: String,
    },
    /// No capture has it.
    #[error("no capture has a channel '{channel}'")]
    Nowhere {
        /// As typed.
        channel: String,
    },
    /// No such capture.
    #[error("there is no capture {number}; {count} were given")]
    NoCapture {
        /// 1-based, as typed.
        number: usize,
        /// How many there are.
        count: usize,
    },
    /// Two channels have this name.
    #[error("several channels of {file} are named '{channel}'; give its number instead: {known}")]
    Ambiguous {
        /// As typed.
        channel: String,
        /// File name.
        file: String,
        /// The channels there are.
        known: String,
    },
    /// A meter reading is given for a time that the record does not have.
    #[error(
        "channel '{channel}' has no samples from {from_s} s to {to_s} s; its record runs from {start_s} s to {end_s} s"
    )]
    NoSuchTime {
        /// As typed.
        channel: String,
        /// Begin, in seconds.
        from_s: f64,
        /// End, in seconds.
        to_s: f64,
        /// Begin of the record, in seconds.
        start_s: f64,
        /// End of the record, in seconds.
        end_s: f64,
    },
    /// A meter reading fits channels of several captures.
    #[error("the meter reading of channel '{channel}' may belong to captures {}; write its number before the channel, like {}:{channel}", .captures.join(", "), .captures.first().map_or("1", String::as_str))]
    SeveralCaptures {
        /// As typed.
        channel: String,
        /// Their 1-based numbers.
        captures: Vec<String>,
    },
    /// A channel can't be set to the meter there.
    #[error("channel '{channel}' can't be set to the meter at {}: {why}", piece(*.from_s, *.to_s))]
    NotFlat {
        /// As typed.
        channel: String,
        /// Begin, in seconds.
        from_s: f64,
        /// End, in seconds.
        to_s: f64,
        /// Why, and what to do.
        why: String,
    },
}

/// An instant, or from where to where.
fn piece(from_s: f64, to_s: f64) -> String {
    if to_s > from_s {
        format!("{from_s} s to {to_s} s")
    } else {
        format!("{from_s} s")
    }
}

/// Index of the channel that a choice names in a capture: digits are its 1-based number, anything
/// else its exact name.
fn index_in(choice: &str, capture: &Capture) -> Result<Option<usize>, ChoiceError> {
    if !choice.is_empty() && choice.bytes().all(|b| b.is_ascii_digit()) {
        let number: usize = choice.parse().unwrap_or(0);
        return Ok((1..=capture.channels.len())
            .contains(&number)
            .then(|| number - 1));
    }
    let mut named = capture
        .channels
        .iter()
        .enumerate()
        .filter(|(_, c)| c.name == choice);
    let first = named.next().map(|(index, _)| index);
    if named.next().is_some() {
        return Err(ChoiceError::Ambiguous {
            channel: choice.to_owned(),
            file: capture.file.clone(),
            known: listed(capture),
        });
    }
    Ok(first)
}

fn listed(capture: &Capture) -> String {
    let name = |(i, c): (usize, &crate::data::Channel)| {
        format!("{} '{}'", i + 1, crate::data::text::harmless(&c.name, 24))
    };
    capture
        .channels
        .iter()
        .enumerate()
        .map(name)
        .collect::<Vec<_>>()
        .join(", ")
}

/// Does `choice` name channel `channel` of capture `index`?
pub(super) fn names(
    choice: &ChannelChoice,
    index: usize,
    channel: usize,
    capture: &Capture,
) -> Result<bool, ChoiceError> {
    if choice.capture.is_some_and(|number| number != index + 1) {
        return Ok(false);
    }
    Ok(index_in(&choice.channel, capture)? == Some(channel))
}

/// Checks that every choice names something.
///
/// # Errors
/// [`ChoiceError`] for the first that does not.
pub fn check(captures: &[Arc<Capture>], options: &Options) -> Result<(), ChoiceError> {
    let all = options
        .roles
        .iter()
        .map(|r| &r.channel)
        .chain(options.probes.iter().map(|(c, _)| c))
        .chain(options.accuracies.iter().map(|(c, _)| c))
        .chain(options.bandwidths.iter().map(|(c, _)| c))
        .chain(options.meter_points.iter().map(|p| &p.channel))
        .chain(options.same_range.iter().flatten());
    for choice in all {
        check_one(choice, captures)?;
    }
    Ok(())
}

fn check_one(choice: &ChannelChoice, captures: &[Arc<Capture>]) -> Result<(), ChoiceError> {
    let channel = choice.channel.clone();
    if let Some(number) = choice.capture {
        let count = captures.len();
        let capture = number
            .checked_sub(1)
            .and_then(|i| captures.get(i))
            .ok_or(ChoiceError::NoCapture { number, count })?;
        return match index_in(&choice.channel, capture)? {
            Some(_) => Ok(()),
            None => Err(ChoiceError::NoChannel {
                channel,
                file: capture.file.clone(),
                known: listed(capture),
            }),
        };
    }
    for capture in captures {
        if index_in(&choice.channel, capture)?.is_some() {
            return Ok(());
        }
    }
    match captures {
        [only] => Err(ChoiceError::NoChannel {
            channel,
            file: only.file.clone(),
            known: listed(only),
        }),
        _ => Err(ChoiceError::Nowhere { channel }),
    }
}

/// The channels of capture `index` with what the user said of them; roles still open are unknown.
///
/// # Errors
/// [`ChoiceError::Ambiguous`].
pub fn channels(
    index: usize,
    capture: &Arc<Capture>,
    facts: &[Arc<Facts>],
    options: &Options,
) -> Result<Vec<InspectedChannel>, ChoiceError> {
    (0..capture.channels.len())
        .map(|number| channel(index, number, capture, &facts[number], options))
        .collect()
}

fn channel(
    index: usize,
    number: usize,
    capture: &Arc<Capture>,
    facts: &Arc<Facts>,
    options: &Options,
) -> Result<InspectedChannel, ChoiceError> {
    let mut made = InspectedChannel {
        facts: Arc::clone(facts),
        role: Proposed::unknown(String::new()),
        place: None,
        gain: 1.0,
        offset: 0.0,
        accuracy: accuracy::assumed(&capture.channels[number], facts),
        accuracy_assumed: true,
        bandwidth_hz: None,
        range: 0,
        set_to_meter: None,
        factor_offer: None,
    };
    for choice in &options.roles {
        if names(&choice.channel, index, number, capture)? {
            made.role = Proposed::<Role>::set(choice.role);
            made.place.clone_from(&choice.place);
        }
    }
    for (choice, factor) in &options.probes {
        if names(choice, index, number, capture)? {
            made.gain = *factor;
        }
    }
    for (choice, accuracy) in &options.accuracies {
        if names(choice, index, number, capture)? {
            made.accuracy = *accuracy;
            // a given offset is in true volts, at the probe's tip
            made.accuracy.offset /= made.gain.abs().max(f64::MIN_POSITIVE);
            made.accuracy_assumed = false;
        }
    }
    for (choice, bandwidth_hz) in &options.bandwidths {
        if names(choice, index, number, capture)? {
            made.bandwidth_hz = Some(*bandwidth_hz);
        }
    }
    made.range = range_of(number, capture, facts, &made);
    Ok(made)
}

/// A number for the instrument's channel on its range. One channel on one range has one gain error,
/// in whatever capture: name, place in the file, probe factor, accuracy and code step (or full scale)
/// have to agree. Where neither step nor full scale is known, every capture stands for itself.
fn range_of(number: usize, capture: &Arc<Capture>, facts: &Facts, made: &InspectedChannel) -> u64 {
    use std::hash::{DefaultHasher, Hash, Hasher};
    let channel = &capture.channels[number];
    let mut hasher = DefaultHasher::new();
    (number, &channel.name).hash(&mut hasher);
    for figure in [made.gain, made.accuracy.gain] {
        figure.to_bits().hash(&mut hasher);
    }
    let three_digits = |x: f64| format!("{x:.2e}");
    match (facts.resolution, channel.full_scale) {
        (Some(step), _) => three_digits(step).hash(&mut hasher),
        (None, Some((low, high))) => three_digits(high - low).hash(&mut hasher),
        (None, None) => (Arc::as_ptr(capture) as usize).hash(&mut hasher),
    }
    hasher.finish()
}
