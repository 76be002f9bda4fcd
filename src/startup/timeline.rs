//! A simulated run: segments of closed form and the events between them.

use super::curve::Curve;
use super::ramp::Ramp;
use super::unit::UnitParts;

/// State of the controller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Phase {
    /// Under-voltage lockout.
    Off,
    /// Started; VREF is charging its capacitor.
    Reference,
    /// Running.
    Run,
}

/// What happens between two segments.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum What {
    /// Mains comes on.
    MainsOn,
    /// VCC reaches the start threshold.
    Start,
    /// VCC reaches the stop threshold.
    Stop,
    /// The own winding holds VCC from here on.
    TakeOver,
    /// The output reaches its voltage.
    Regulation,
}

impl What {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            What::MainsOn => "mains-on",
            What::Start => "start",
            What::Stop => "stop",
            What::TakeOver => "take-over",
            What::Regulation => "regulation",
        }
    }
}

/// An event of a run.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Event {
    /// What happens.
    pub what: What,
    /// When, s from the start of the run.
    pub at_s: f64,
    /// VCC at the pin just before it, V.
    pub vcc_v: f64,
}

/// How VCC is given in a segment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Vcc {
    /// By the node equation.
    Node(Curve),
    /// By the own winding, from the energy in the output capacitor.
    Aux,
}

/// A stretch without an event.
#[derive(Debug, Clone, PartialEq)]
pub struct Segment {
    /// Start, s.
    pub from_s: f64,
    /// End, s.
    pub to_s: f64,
    /// State of the controller.
    pub phase: Phase,
    /// Bulk voltage, V.
    pub bulk_v: f64,
    /// When the oscillator began, s; `None` when it stands.
    pub oscillates_from_s: Option<f64>,
    /// Longest OUT pulse, s: ended by the current limit or the regulation. 0 when OUT is silent.
    pub on_time_s: f64,
    pub(super) vcc: Vcc,
    pub(super) vref: Curve,
    pub(super) energy: Curve,
}

/// All that a probe could see at one instant, V.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// VCC at the pin.
    pub vcc_v: f64,
    /// VREF.
    pub vref_v: f64,
    /// Output of the supply.
    pub output_v: f64,
    /// Bulk capacitor.
    pub bulk_v: f64,
    /// RT/CT.
    pub rt_ct_v: f64,
    /// OUT of the controller.
    pub out_v: f64,
}

/// A simulated run.
#[derive(Debug, Clone, PartialEq)]
pub struct Timeline {
    /// The unit.
    pub parts: UnitParts,
    /// Stretches without an event, in order, without gaps.
    pub segments: Vec<Segment>,
    /// Events, in order.
    pub events: Vec<Event>,
    pub(super) ramp: Option<Ramp>,
}

impl Timeline {
    /// End of the run, s; 0 when empty.
    pub fn end_s(&self) -> f64 {
        self.segments.last().map_or(0.0, |segment| segment.to_s)
    }

    /// Events of one kind, in order.
    pub fn events_of(&self, what: What) -> impl Iterator<Item = &Event> {
        self.events.iter().filter(move |event| event.what == what)
    }

    /// The segment at a time; the first before the run, the last after it. `None` when empty.
    pub fn segment(&self, at_s: f64) -> Option<&Segment> {
        let next = self.segments.partition_point(|s| s.from_s <= at_s);
        self.segments.get(next.saturating_sub(1))
    }

    /// The true levels at an instant, as they are there and then: a pulse is either there or not.
    ///
    /// Times outside the run are taken at its nearest end; an empty run gives zeros.
    pub fn at(&self, at_s: f64) -> Levels {
        let Some(segment) = self.segment(at_s) else {
            return Levels {
                vcc_v: 0.0,
                vref_v: 0.0,
                output_v: 0.0,
                bulk_v: 0.0,
                rt_ct_v: 0.0,
                out_v: 0.0,
            };
        };
        let t_s = (at_s.min(segment.to_s) - segment.from_s).max(0.0);
        let vcc_v = segment.vcc_v(&self.parts, t_s);
        Levels {
            vcc_v,
            vref_v: segment.vref.at(t_s),
            output_v: segment.output_v(&self.parts, t_s),
            bulk_v: segment.bulk_v,
            rt_ct_v: self.rt_ct_v(segment, segment.from_s + t_s),
            out_v: self.out_v(segment, segment.from_s + t_s, vcc_v),
        }
    }

    /// RT/CT; while stopped the oscillator's sink is taken to hold it at 0 V.
    fn rt_ct_v(&self, segment: &Segment, at_s: f64) -> f64 {
        match (&self.ramp, segment.oscillates_from_s) {
            (Some(ramp), Some(from_s)) => ramp.at(at_s - from_s),
            _ => 0.0,
        }
    }

    /// OUT: a trapezoid pulse in every `divide`-th oscillator cycle, low while stopped.
    fn out_v(&self, segment: &Segment, at_s: f64, vcc_v: f64) -> f64 {
        let (Some(ramp), Some(from_s)) = (&self.ramp, segment.oscillates_from_s) else {
            return 0.0;
        };
        let high_v = vcc_v - self.parts.out_drop_v;
        let low_v = self.parts.out_low_v;
        let share = match ramp.cycle(at_s - from_s) {
            Some((number, t_s)) if number % u64::from(self.parts.divide.max(1)) == 0 => {
                pulse_share(t_s, segment.on_time_s)
            }
            _ => 0.0,
        };
        low_v + (high_v - low_v) * share
    }
}

/// Share of the full height of a pulse that rises at 0 and falls at `on_s`, 50 ns each (typical of
/// the class into 1 nF, SLUS223G); both edges pass 50 % at these times plus 25 ns.
fn pulse_share(t_s: f64, on_s: f64) -> f64 {
    const EDGE_S: f64 = 50e-9;
    let up = (t_s / EDGE_S).clamp(0.0, 1.0);
    let down = ((t_s - on_s) / EDGE_S).clamp(0.0, 1.0);
    if on_s > 0.0 {
        (up - down).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

impl Segment {
    /// VCC at the pin, V, `t_s` after the start of the segment.
    pub fn vcc_v(&self, parts: &UnitParts, t_s: f64) -> f64 {
        match self.vcc {
            Vcc::Node(curve) => curve.at(t_s),
            Vcc::Aux => parts.aux_v(self.output_v(parts, t_s)),
        }
    }

    /// Output of the supply, V, `t_s` after the start of the segment.
    pub fn output_v(&self, parts: &UnitParts, t_s: f64) -> f64 {
        output_v(parts, self.energy.at(t_s))
    }
}

/// Output voltage for an energy in the output capacitor.
pub(super) fn output_v(parts: &UnitParts, energy_j: f64) -> f64 {
    (2.0 * energy_j.max(0.0) / parts.output_capacitance_f).sqrt()
}
