//! Which relation holds between the timing parts and the frequency: what the profile says of it.

use crate::controllers::{Profile, TimingKind, TimingModel};
use crate::data::{Limit, Status};

/// How an oscillator makes its frequency.
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    /// What sets it.
    Known(TimingKind),
    /// Fixed inside the part: the frequencies in which it is made, as far as published.
    Fixed(Vec<Limit>),
    /// No relation at hand.
    Unknown,
}

/// A rule with where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct SourcedRule {
    /// The rule.
    pub rule: Rule,
    /// In words.
    pub words: String,
    /// Where it holds; empty when nothing is stated.
    pub condition: String,
    /// Document.
    pub source: String,
    /// How well it is known.
    pub status: Status,
}

/// The rule of a part: that of its profile. A profile that says nothing of it, but belongs to the 384x
/// family, is taken for a part whose RT charges CT from VREF; of any other no relation is at hand.
pub fn rule_of(profile: &Profile) -> SourcedRule {
    match &profile.timing {
        Some(model) => of_model(model, profile),
        None if profile.family.contains("384x") => usual(),
        None => SourcedRule {
            rule: Rule::Unknown,
            words: String::new(),
            condition: String::new(),
            source: String::new(),
            status: Status::MemoryLow,
        },
    }
}

fn of_model(model: &TimingModel, profile: &Profile) -> SourcedRule {
    let rule = match model.kind {
        TimingKind::Fixed => Rule::Fixed(fixed(profile)),
        kind => Rule::Known(kind),
    };
    SourcedRule {
        rule,
        words: model.in_words(),
        condition: model.condition.clone(),
        source: model.source.clone(),
        status: model.status,
    }
}

/// The frequencies of a part that makes its own: one for each version (`osc_freq`, `osc_freq_65k`).
fn fixed(profile: &Profile) -> Vec<Limit> {
    let version = |key: &str| {
        let ending = key.strip_prefix("osc_freq");
        ending.is_some_and(|e| e.is_empty() || e.strip_prefix('_').is_some_and(is_kilohertz))
    };
    let all = profile.values.iter();
    all.filter(|(key, _)| version(key))
        .map(|(_, limit)| limit.clone())
        .collect()
}

/// `65k`.
fn is_kilohertz(text: &str) -> bool {
    let digits = text.strip_suffix('k');
    digits.is_some_and(|d| !d.is_empty() && d.bytes().all(|b| b.is_ascii_digit()))
}

/// The rule of RT from VREF and a constant discharge current.
pub(super) fn usual() -> SourcedRule {
    let model = TimingModel {
        kind: TimingKind::ConstantSink,
        condition: String::new(),
        source: "derived from the circuit of SLUS223G 8.3.6 and SLUA257 3.3".to_owned(),
        status: Status::Derived,
    };
    SourcedRule {
        rule: Rule::Known(model.kind),
        words: model.in_words(),
        condition: model.condition,
        source: model.source,
        status: model.status,
    }
}
