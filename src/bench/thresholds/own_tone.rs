//! Ripple that the samples before one event show by themselves.

use super::lead::Lead;
use super::sampled::Sampled;
use super::tone::{self, Tone};

/// So many samples are read before an event of any record that has them, and searched for a tone.
pub(super) const ALWAYS: usize = 400;

/// Ripple that only this lead shows.
pub(super) fn find(lead: &mut Lead, sampled: &Sampled<'_>) {
    if lead.tone.amplitude > 0.0 {
        return;
    }
    let straight = lead.straight();
    let end = &straight[straight.len().saturating_sub(ALWAYS)..];
    let (clean, tone) = without_tone(end, lead.stair.is_some(), sampled);
    if tone.amplitude > 0.0 {
        (lead.clean, lead.tone) = (clean, tone);
    } else if lead.tone.hidden <= 0.0 {
        lead.tone.hidden = tone.hidden;
    }
}

/// Fewest samples of a stretch in which a tone is looked for.
const FEWEST_OF_TONE: usize = 64;

/// The end of the samples with the ripple of one frequency taken out: the longest stretch whose tone its
/// own second half shows too; all of them where there is none. What small noise leaves of the code steps
/// is no ripple, nor are the steps of a knob.
fn without_tone(values: &[f64], stepped: bool, vcc: &Sampled<'_>) -> (Vec<f64>, Tone) {
    let none = |hidden| Tone {
        hidden,
        ..Tone::default()
    };
    if stepped || values.iter().any(|v| !v.is_finite()) {
        return (values.to_vec(), none(0.0));
    }
    let found = |length: usize| {
        let mut clean = values[values.len() - length..].to_vec();
        let tone = tone::take_out(&mut clean);
        (clean, tone)
    };
    let mut hidden = None;
    let mut length = values.len();
    while length >= FEWEST_OF_TONE {
        let (clean, tone) = found(length);
        let (_, half) = found(length / 2);
        if tone.agrees(&half, length / 2) && !vcc.of_codes(tone.amplitude) {
            return (clean, tone);
        }
        let may_hide = if tone.amplitude > 0.0 {
            half.hidden
        } else {
            tone.hidden
        };
        if may_hide > 0.0 {
            hidden.get_or_insert(may_hide);
        }
        length /= 2;
    }
    (values.to_vec(), none(hidden.unwrap_or(0.0)))
}
