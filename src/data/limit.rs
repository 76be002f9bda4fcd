//! A published value: minimum, typical, maximum, with condition, source and status.

use super::units::Unit;

/// Begins the source of a value that comes from a profile of the user's own.
pub const OWN_PROFILE: &str = "own profile";

/// How well a published value is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Status {
    /// Read in the maker's document, whole text at hand.
    VerifiedFull,
    /// Read in an excerpt of the maker's document.
    VerifiedExcerpt,
    /// Read in somebody's extraction that cites the maker's document.
    VerifiedThirdParty,
    /// Computed from other values, or taken from a sister part.
    Derived,
    /// From memory, not checked against a document.
    Memory,
    /// From memory, low confidence.
    MemoryLow,
}

impl Status {
    const WORDS: [(Status, &'static str); 6] = [
        (Status::VerifiedFull, "verified-full"),
        (Status::VerifiedExcerpt, "verified-excerpt"),
        (Status::VerifiedThirdParty, "verified-thirdparty"),
        (Status::Derived, "derived"),
        (Status::Memory, "memory"),
        (Status::MemoryLow, "memory-low"),
    ];

    /// The word used in profiles and JSON.
    pub fn id(self) -> &'static str {
        Self::WORDS
            .iter()
            .find(|(status, _)| *status == self)
            .map_or("", |(_, word)| word)
    }

    /// The status of this word.
    pub fn from_id(id: &str) -> Option<Status> {
        Self::WORDS
            .iter()
            .find(|(_, word)| *word == id)
            .map(|(status, _)| *status)
    }

    /// Does it rest on memory? A verdict from it is provisional.
    pub fn from_memory(self) -> bool {
        matches!(self, Status::Memory | Status::MemoryLow)
    }
}

/// One published value with its limits, in SI base units.
#[derive(Debug, Clone, PartialEq)]
pub struct Limit {
    /// Lower limit.
    pub min: Option<f64>,
    /// Typical value.
    pub typ: Option<f64>,
    /// Upper limit.
    pub max: Option<f64>,
    /// Unit of all three.
    pub unit: Unit,
    /// Condition under which it holds, as published; empty when none is stated.
    pub condition: String,
    /// Document and place.
    pub source: String,
    /// Status of the typical value.
    pub status: Status,
    /// Status of the minimum and maximum.
    pub status_limits: Status,
}

impl Limit {
    /// Is there a minimum or a maximum to be judged by?
    pub fn has_limits(&self) -> bool {
        self.min.is_some() || self.max.is_some()
    }

    /// Does it come, alone or with others, from a profile of the user's own?
    pub fn is_own(&self) -> bool {
        let begins = |part: &str| part.trim_start().starts_with(OWN_PROFILE);
        self.source.split(';').any(begins)
    }

    /// `14.5 … 17.5 V`, `≤ 0.5 mA`, `typ. 1.7 V`, in words fit for a table.
    pub fn shown(&self) -> String {
        use super::text::engineering;
        let number = |value: f64| engineering(value, self.unit, 4);
        match (self.min, self.max, self.typ) {
            (Some(min), Some(max), _) => format!("{} … {}", number(min), number(max)),
            (Some(min), None, _) => format!("≥ {}", number(min)),
            (None, Some(max), _) => format!("≤ {}", number(max)),
            (None, None, Some(typ)) => format!("typ. {}", number(typ)),
            (None, None, None) => String::new(),
        }
    }

    /// The widest of two limits: a side missing in either is missing in the result, a typical value
    /// stays only where both agree, and the weaker status wins.
    pub fn widest(&self, other: &Limit) -> Limit {
        let both = |a: Option<f64>, b: Option<f64>, pick: fn(f64, f64) -> f64| Some(pick(a?, b?));
        let same = |a: Option<f64>, b: Option<f64>| {
            let (a, b) = (a?, b?);
            ((a - b).abs() <= 1e-9 * a.abs().max(b.abs())).then_some(a)
        };
        let joined = |a: &str, b: &str| {
            if a == b || b.is_empty() {
                a.to_owned()
            } else if a.is_empty() {
                b.to_owned()
            } else {
                format!("{a}; {b}")
            }
        };
        Limit {
            min: both(self.min, other.min, f64::min),
            typ: same(self.typ, other.typ),
            max: both(self.max, other.max, f64::max),
            unit: self.unit,
            condition: joined(&self.condition, &other.condition),
            source: joined(&self.source, &other.source),
            status: self.status.max(other.status),
            status_limits: self.status_limits.max(other.status_limits),
        }
    }
}
