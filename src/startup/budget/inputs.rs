//! What goes into the budget, each figure with where it came from.

use crate::controllers::{Library, Profile};
use crate::data::budget::{BudgetInput, BudgetRequest, Origin};
use crate::data::part_check::{usual_meter, usual_tolerance};
use crate::data::typed::{Kind, MarkedPart};
use crate::data::{Bounded, Limit, Unit};

/// Collects inputs as they are asked for.
pub(super) struct Inputs<'a> {
    request: &'a BudgetRequest,
    candidates: &'a [&'a Profile],
    /// What was used so far.
    pub(super) used: Vec<BudgetInput>,
}

impl<'a> Inputs<'a> {
    pub(super) fn new(request: &'a BudgetRequest, candidates: &'a [&'a Profile]) -> Self {
        Inputs {
            request,
            candidates,
            used: Vec::new(),
        }
    }

    /// Notes an input and gives its value.
    pub(super) fn note(
        &mut self,
        what: (&'static str, &'static str, Unit),
        value: Bounded,
        origin: Origin,
        from: String,
    ) -> Bounded {
        let (name, title, unit) = what;
        self.used.push(BudgetInput {
            name,
            title,
            unit,
            value,
            origin,
            from,
        });
        value
    }

    /// The mark of a part.
    pub(super) fn mark(&self, name: &str) -> Option<&'a MarkedPart> {
        self.request.marks.get(name)
    }

    /// A part: its reading where it was read, else its mark with the tolerance told or usual.
    pub(super) fn part(
        &mut self,
        name: &'static str,
        title: &'static str,
        unit: Unit,
    ) -> Option<Bounded> {
        let what = (name, title, unit);
        let kind = if unit == Unit::Farad {
            Kind::Farad
        } else {
            Kind::Ohm
        };
        if let Some(&reading) = self.request.readings.get(name) {
            let gain = self.request.meter.unwrap_or(usual_meter(kind)).gain;
            let from = format!("read by hand, meter ±{} %", percent(gain));
            let value = Bounded::within(reading, gain, gain);
            return Some(self.note(what, value, Origin::Read, from));
        }
        let mark = self.mark(name)?;
        let usual = usual_tolerance(mark);
        let (low, high) = mark.range(usual);
        let mut from = match mark.has_tolerance() {
            true => format!("typed: {}", mark.shown()),
            false => format!("typed: {}, {} assumed", mark.shown(), usual.shown()),
        };
        for read_as in mark.members.iter().filter_map(|m| m.read_as.as_ref()) {
            from.push_str(&format!(" ({read_as})"));
        }
        let value = Bounded::around(mark.value(), low, high);
        Some(self.note(what, value, Origin::Typed, from))
    }

    /// A figure that was typed without tolerance.
    pub(super) fn exact(
        &mut self,
        name: &'static str,
        title: &'static str,
        unit: Unit,
    ) -> Option<Bounded> {
        let mark = self.mark(name)?;
        let (low, high) = mark.range(crate::data::typed::Tolerance::both(0.0));
        let value = Bounded::around(mark.value(), low, high);
        let from = format!("typed: {}", mark.shown());
        Some(self.note((name, title, unit), value, Origin::Typed, from))
    }

    /// A voltage or current read by hand.
    pub(super) fn reading(
        &mut self,
        name: &'static str,
        title: &'static str,
        unit: Unit,
    ) -> Option<Bounded> {
        let reading = *self.request.readings.get(name)?;
        let kind = if unit == Unit::Volt {
            Kind::Volt
        } else {
            Kind::Ampere
        };
        let meter = self.request.meter.unwrap_or(usual_meter(kind));
        // the constant part of a meter's accuracy is told in volts
        let counts = if unit == Unit::Volt {
            meter.offset
        } else {
            0.0
        };
        let half = meter.gain * reading.abs() + counts;
        let value = Bounded::around(reading, reading - half, reading + half);
        let from = format!("read by hand, meter ±{} %", percent(meter.gain));
        Some(self.note((name, title, unit), value, Origin::Read, from))
    }

    /// What the candidates publish, with missing sides from `unless`: least, typical, most.
    pub(super) fn published(
        &mut self,
        key: &str,
        what: (&'static str, &'static str, Unit),
        unless: (f64, f64),
    ) -> Option<Bounded> {
        let limit = Library::widest(self.candidates, key)?;
        let value = of_limit(&limit, unless)?;
        let from = published_words(&limit, unless);
        Some(self.note(what, value, Origin::Published, from))
    }

    /// A usual figure.
    pub(super) fn assumed(
        &mut self,
        what: (&'static str, &'static str, Unit),
        value: Bounded,
        from: &str,
    ) -> Bounded {
        self.note(what, value, Origin::Assumed, from.to_owned())
    }

    /// Is a controller told?
    pub(super) fn has_controller(&self) -> bool {
        !self.candidates.is_empty()
    }
}

/// A limit as bounds. Without a typical value the middle stands for it, or the most where there is no
/// least; a missing side is the typical value times `unless`.
fn of_limit(limit: &Limit, unless: (f64, f64)) -> Option<Bounded> {
    let middle = || Some(0.5 * (limit.min? + limit.max?));
    let typ = limit.typ.or_else(middle).or(limit.max).or(limit.min)?;
    let low = limit.min.unwrap_or(typ * unless.0);
    let high = limit.max.unwrap_or(typ * unless.1);
    Some(Bounded::around(typ, low, high))
}

fn published_words(limit: &Limit, unless: (f64, f64)) -> String {
    let status = match limit.has_limits() {
        true => limit.status_limits,
        false => limit.status,
    };
    let mut words = format!("published: {} ({})", limit.source, status.id());
    if limit.typ.is_none() {
        words.push_str(", no one typical value");
    }
    if limit.min.is_none() {
        let times = format!(
            ", no least published: {} × the typical value assumed",
            unless.0
        );
        words.push_str(&times);
    }
    if limit.max.is_none() {
        let times = format!(
            ", no most published: {} × the typical value assumed",
            unless.1
        );
        words.push_str(&times);
    }
    words
}

fn percent(share: f64) -> String {
    crate::data::typed::written((share * 1e4).round() / 100.0, Kind::Ratio)
}
