//! From samples to measured quantities: roles, calibration, events, values with their budgets.
//!
//! Works on facts wherever it can and reads samples only near events, so that a changed role,
//! controller, part or reading costs next to nothing. Start reading at [`survey`] and [`measure`].

pub mod accuracy;
mod activity;
pub mod align;
mod bulk;
pub mod burst;
pub mod choices;
pub mod corners;
mod course;
mod cycles;
mod decay;
mod delay;
pub mod dip;
#[cfg(test)]
mod drawn;
pub mod edges;
mod ends;
pub mod events;
mod flat;
pub mod frequency;
mod gaps;
mod glimpses;
pub mod hiccup;
mod jitter;
pub mod join;
pub mod kinds;
mod kinks;
pub mod levels;
pub mod meter;
pub mod places;
pub mod products;
pub mod ramp;
pub mod readings;
mod ripple;
pub mod roles;
pub mod sense;
mod several;
pub mod states;
pub mod steps;
pub mod thresholds;
pub mod trace;
mod train;

use std::sync::Arc;

use crate::data::Capture;
use crate::data::{
    ControllerChoice, Event, Facts, InspectedCapture, InspectedChannel, Mark, Measured, Options,
    Outcome, Quantity, ReferenceLevels, Value,
};

pub use choices::ChoiceError;
pub use trace::Trace;

/// What is known of a capture before anything is measured.
#[derive(Debug, Clone)]
pub struct Survey {
    /// The capture with roles, kind and set-up.
    pub inspected: InspectedCapture,
    /// Its starts and stops, with VCC where it was recorded.
    pub events: Vec<Event>,
    /// Reference levels for pulses and edges.
    reference: ReferenceLevels,
    /// VCC at each of them, read once.
    readings: Vec<Option<thresholds::Reading>>,
}

/// The channels of all captures of a run, with what the user said of them and tied to the meter
/// readings given.
///
/// # Errors
/// [`ChoiceError`] when an option names a channel that is not there, or a meter reading belongs to a
/// piece of a record that can't be used.
pub fn channels(
    captures: &[Arc<Capture>],
    facts: &[&[Arc<Facts>]],
    options: &Options,
) -> Result<Vec<Vec<InspectedChannel>>, ChoiceError> {
    choices::check(captures, options)?;
    let mut channels = captures
        .iter()
        .zip(facts)
        .enumerate()
        .map(|(index, (capture, facts))| choices::channels(index, capture, facts, options))
        .collect::<Result<Vec<_>, _>>()?;
    meter::set_all(captures, &mut channels, options)?;
    Ok(channels)
}

/// Roles, events, kind of shot and set-up of capture `index` (0-based), whose channels
/// [`channels`] made.
pub fn survey(
    index: usize,
    capture: &Arc<Capture>,
    channels: Vec<InspectedChannel>,
    options: &Options,
) -> Survey {
    let mut inspected = InspectedCapture {
        capture: Arc::clone(capture),
        channels,
        kind: crate::data::Proposed::unknown("not looked at yet"),
        setup: crate::data::Proposed::unknown("not looked at yet"),
    };
    roles::propose(&mut inspected);
    let mut events = events::find(index, &inspected);
    inspected.kind = kinds::kind(index, &inspected, &events, options);
    inspected.setup = kinds::setup(index, &inspected, &events, options);
    events::keep_what_fits(&inspected, &mut events);
    let readings = thresholds::fill_vcc(&inspected, &mut events);
    Survey {
        inspected,
        events,
        reference: options.reference_levels,
        readings,
    }
}

/// Everything that a surveyed capture shows, and everything that it should show but does not, with
/// the reason.
pub fn measure(
    index: usize,
    survey: &Survey,
    controller: Option<&ControllerChoice>,
) -> Vec<Measured> {
    let mut found = Findings {
        capture: index,
        list: Vec::new(),
    };
    let shot = &survey.inspected;
    thresholds::measure(shot, &survey.events, &survey.readings, &mut found);
    levels::measure(shot, &survey.events, &mut found);
    states::measure(shot, &mut found);
    sense::measure(shot, &mut found);
    dip::measure(shot, &mut found);
    ramp::measure(shot, &survey.events, &mut found);
    frequency::measure(shot, survey.reference, &mut found);
    edges::measure(shot, survey.reference, &mut found);
    delay::measure(shot, survey.reference, &mut found);
    hiccup::measure(shot, &survey.events, controller, &mut found);
    burst::measure(shot, &survey.events, &mut found);
    found.list
}

/// Collects what was measured on one capture.
#[derive(Debug)]
pub struct Findings {
    capture: usize,
    list: Vec<Measured>,
}

impl Findings {
    /// A value, and where in the record it was taken. What is no number is refused: samples that are
    /// none, or too large to compute with, give none.
    pub fn value(
        &mut self,
        quantity: Quantity,
        channel: usize,
        value: Value,
        span_s: Option<(f64, f64)>,
    ) {
        if !(value.value.is_finite() && value.u95.is_finite()) {
            self.refuse(quantity, channel, "its samples give no number");
            return;
        }
        self.add(quantity, channel, Outcome::Value(value), span_s, Vec::new());
    }

    /// The same, and what to draw in the lane.
    pub fn marked(
        &mut self,
        quantity: Quantity,
        channel: usize,
        value: Value,
        span_s: Option<(f64, f64)>,
        marks: Vec<Mark>,
    ) {
        self.value(quantity, channel, value, span_s);
        if let Some(last) = self.list.last_mut().filter(|m| m.value().is_some()) {
            last.marks = marks;
        }
    }

    /// Says something beside what was found last.
    pub fn remark(&mut self, remarks: Vec<String>) {
        if let Some(last) = self.list.last_mut() {
            last.remarks.extend(remarks);
        }
    }

    /// No value, and why.
    pub fn refuse(&mut self, quantity: Quantity, channel: usize, why: impl Into<String>) {
        let why = Outcome::NotMeasurable(why.into());
        self.add(quantity, channel, why, None, Vec::new());
    }

    /// Takes back the value found for a quantity in this capture, if there is one, and says why.
    pub fn withdraw(&mut self, quantity: Quantity, why: &str) {
        let here = Some(self.capture);
        let given =
            |m: &&mut Measured| m.quantity == quantity && m.capture == here && m.value().is_some();
        for measured in self.list.iter_mut().filter(given) {
            measured.outcome = Outcome::NotMeasurable(why.to_owned());
            measured.marks.clear();
            measured.span_s = None;
        }
    }

    fn add(
        &mut self,
        quantity: Quantity,
        channel: usize,
        outcome: Outcome,
        span_s: Option<(f64, f64)>,
        marks: Vec<Mark>,
    ) {
        let (capture, channel) = (Some(self.capture), Some(channel));
        self.list.push(Measured {
            quantity,
            capture,
            channel,
            outcome,
            span_s,
            marks,
            remarks: Vec::new(),
        });
    }

    /// The value found for a quantity so far.
    pub fn found(&self, quantity: Quantity) -> Option<&Value> {
        self.list
            .iter()
            .find(|m| m.quantity == quantity)
            .and_then(Measured::value)
    }
}

/// A count, which has no uncertainty of its own.
pub fn count(value: usize) -> Value {
    Value::from_terms(value as f64, Vec::new())
}
