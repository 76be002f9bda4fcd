//! The event loop: closed forms until the earliest event, then the next segment.

use super::curve::{Curve, bisect};
use super::error::SimulateError;
use super::ramp::Ramp;
use super::timeline::{Event, Phase, Segment, Timeline, Vcc, What, output_v};
use super::unit::UnitParts;

/// What hangs on VCC beside its capacitor and its feed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Load {
    /// Constant part, A.
    pub current_a: f64,
    /// Part in proportion to VCC, S.
    pub conductance_s: f64,
}

/// A feed of the VCC node as current `current_a + slope_a_s·t − conductance_s·VCC`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Branch {
    pub current_a: f64,
    pub slope_a_s: f64,
    pub conductance_s: f64,
    /// How long this form may be used, s.
    pub holds_s: f64,
}

/// What the feed has to know of the node.
#[derive(Debug, Clone, Copy)]
pub(super) struct Now {
    pub at_s: f64,
    /// Voltage inside the capacitor, without its series resistance, V.
    pub capacitor_v: f64,
    pub load: Load,
    /// Time since the last event, s.
    pub since_event_s: f64,
}

/// Where VCC gets its current from.
pub(super) trait Feed {
    fn branch(&self, parts: &UnitParts, now: &Now) -> Branch;
    fn bulk_v(&self, parts: &UnitParts, at_s: f64) -> f64;
    /// When mains comes on, s, where there is mains.
    fn mains_on_s(&self) -> Option<f64>;
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Change {
    None,
    Start,
    ReferenceUp,
    Stop,
    TakeOver,
    Regulation,
}

struct Engine<'a> {
    parts: &'a UnitParts,
    feed: &'a dyn Feed,
    ramp: Option<Ramp>,
    at_s: f64,
    event_s: f64,
    capacitor_v: f64,
    energy_j: f64,
    vref_v: f64,
    phase: Phase,
    held: bool,
    regulated: bool,
    run_from_s: f64,
    timeline: Timeline,
}

/// Runs a unit on a feed, from all capacitors empty, for `end_s` seconds.
pub(super) fn run(
    parts: &UnitParts,
    feed: &dyn Feed,
    end_s: f64,
) -> Result<Timeline, SimulateError> {
    const LIMIT: usize = 1_000_000;
    parts.checked()?;
    let mut engine = Engine::new(parts, feed);
    for _ in 0..LIMIT {
        if engine.at_s >= end_s {
            return Ok(engine.timeline);
        }
        engine.step(end_s);
    }
    Err(SimulateError::TooManyChanges {
        limit: LIMIT,
        at_s: engine.at_s,
    })
}

impl<'a> Engine<'a> {
    fn new(parts: &'a UnitParts, feed: &'a dyn Feed) -> Engine<'a> {
        let ramp = parts.ramp();
        let mut events = Vec::new();
        if let Some(at_s) = feed.mains_on_s() {
            events.push(Event {
                what: What::MainsOn,
                at_s,
                vcc_v: 0.0,
            });
        }
        Engine {
            parts,
            feed,
            ramp,
            at_s: 0.0,
            event_s: 0.0,
            capacitor_v: 0.0,
            energy_j: 0.0,
            vref_v: 0.0,
            phase: Phase::Off,
            held: false,
            regulated: false,
            run_from_s: 0.0,
            timeline: Timeline {
                parts: parts.clone(),
                segments: Vec::new(),
                events,
                ramp,
            },
        }
    }

    fn step(&mut self, end_s: f64) {
        let now = Now {
            at_s: self.at_s,
            capacitor_v: self.capacitor_v,
            load: self.load(),
            since_event_s: self.at_s - self.event_s,
        };
        let branch = self.feed.branch(self.parts, &now);
        let (node, inside) = self.node(&branch, now.load);
        let segment = self.segment(node, end_s);
        let (lasts_s, change) = self.next(
            &segment,
            &node,
            &inside,
            branch.holds_s.min(end_s - self.at_s),
        );
        self.capacitor_v = match segment.vcc {
            Vcc::Node(_) => inside.at(lasts_s),
            Vcc::Aux => segment.vcc_v(self.parts, lasts_s),
        };
        let vcc_v = segment.vcc_v(self.parts, lasts_s);
        self.energy_j = segment.energy.at(lasts_s);
        self.vref_v = segment.vref.at(lasts_s);
        self.push(segment, lasts_s, end_s);
        self.apply(change, vcc_v);
    }

    fn push(&mut self, mut segment: Segment, lasts_s: f64, end_s: f64) {
        let to_s = self.at_s + lasts_s;
        // A remainder below the resolution of the clock would never be used up.
        self.at_s = if end_s - to_s < 1e-12 { end_s } else { to_s };
        segment.to_s = self.at_s;
        if segment.to_s > segment.from_s {
            self.timeline.segments.push(segment);
        }
    }

    fn load(&self) -> Load {
        let leakage_s = self.parts.leakage_ohm.recip();
        let knee_v = self.parts.standby_knee_v;
        match self.phase {
            Phase::Off if self.capacitor_v < knee_v - 1e-9 => Load {
                current_a: 0.0,
                conductance_s: leakage_s + self.parts.standby_current_a / knee_v,
            },
            phase => Load {
                current_a: self.current_a(phase),
                conductance_s: leakage_s,
            },
        }
    }

    fn current_a(&self, phase: Phase) -> f64 {
        match phase {
            Phase::Off => self.parts.standby_current_a,
            Phase::Reference => self.parts.run_current_a + self.parts.vref_charge_a,
            Phase::Run => self.parts.running_current_a(),
        }
    }

    /// VCC at the pin and the voltage inside its capacitor, by the node equation
    /// `C·du/dt = J(t) − G·v`, `v = u + ESR·C·du/dt`.
    fn node(&self, branch: &Branch, load: Load) -> (Curve, Curve) {
        // An isolated node keeps its charge; the tiny conductance keeps the closed form finite.
        let conductance_s = (branch.conductance_s + load.conductance_s).max(1e-15);
        let current_a = branch.current_a - load.current_a;
        let esr_ohm = self.parts.vcc_esr_ohm;
        let divider = 1.0 + esr_ohm * conductance_s;
        let tau_s = self.parts.vcc_capacitance_f * divider / conductance_s;
        let slope = branch.slope_a_s / conductance_s;
        let level = current_a / conductance_s - tau_s * slope;
        let inside = Curve {
            level,
            slope,
            amplitude: self.capacitor_v - level,
            tau_s,
        };
        let pin = Curve {
            level: (level + esr_ohm * current_a) / divider,
            slope: (slope + esr_ohm * branch.slope_a_s) / divider,
            amplitude: inside.amplitude / divider,
            tau_s,
        };
        (pin, inside)
    }

    fn segment(&self, node: Curve, end_s: f64) -> Segment {
        let power_w = self.power_w();
        let tau_s = 0.5 * self.parts.load_ohm * self.parts.output_capacitance_f;
        let switching = self.phase == Phase::Run;
        Segment {
            from_s: self.at_s,
            to_s: end_s,
            phase: self.phase,
            bulk_v: self.feed.bulk_v(self.parts, self.at_s),
            oscillates_from_s: (switching && self.ramp.is_some()).then_some(self.run_from_s),
            on_time_s: self.on_time_s(power_w),
            vcc: if self.held { Vcc::Aux } else { Vcc::Node(node) },
            vref: self.vref(),
            energy: if self.regulated {
                Curve::constant(self.energy_j)
            } else {
                Curve::towards(self.energy_j, power_w * tau_s, tau_s)
            },
        }
    }

    fn vref(&self) -> Curve {
        let parts = self.parts;
        match self.phase {
            Phase::Off => Curve::towards(
                self.vref_v,
                0.0,
                parts.vref_capacitance_f * parts.vref_pulldown_ohm,
            ),
            Phase::Reference => {
                Curve::line(self.vref_v, parts.vref_charge_a / parts.vref_capacitance_f)
            }
            Phase::Run => Curve::constant(parts.vref_loaded_v()),
        }
    }

    /// Power that reaches the output now, W.
    fn power_w(&self) -> f64 {
        if self.phase != Phase::Run || self.feed.bulk_v(self.parts, self.at_s) <= 0.0 {
            0.0
        } else if self.regulated {
            self.parts.load_power_w()
        } else {
            self.parts.power_limit_w()
        }
    }

    /// OUT pulse: as long as the current needs, at most the rise of the ramp.
    fn on_time_s(&self, power_w: f64) -> f64 {
        let frequency_hz = self.parts.out_frequency_hz();
        let Some(ramp) = self.ramp.filter(|_| frequency_hz > 0.0) else {
            return 0.0;
        };
        let bulk_v = self.feed.bulk_v(self.parts, self.at_s);
        if power_w <= 0.0 {
            return ramp.rise_s;
        }
        let inductance_h = self.parts.primary_inductance_h;
        let peak_a = (2.0 * power_w / (self.parts.efficiency * inductance_h * frequency_hz)).sqrt();
        (inductance_h * peak_a / bulk_v).min(ramp.rise_s)
    }

    /// The earliest change within the horizon, and when.
    fn next(
        &self,
        segment: &Segment,
        node: &Curve,
        inside: &Curve,
        horizon_s: f64,
    ) -> (f64, Change) {
        let mut first = (horizon_s, Change::None);
        let mut offer = |at_s: Option<f64>, change| {
            if let Some(at_s) = at_s.filter(|at_s| *at_s < first.0) {
                first = (at_s, change);
            }
        };
        match self.phase {
            Phase::Off => {
                let knee_v = self.parts.standby_knee_v;
                if self.capacitor_v < knee_v - 1e-9 {
                    offer(inside.rises_to(knee_v, horizon_s), Change::None);
                }
                let start_v = self.parts.vcc_start_v;
                offer(node.rises_to(start_v, horizon_s), Change::Start);
            }
            Phase::Reference => {
                let target_v = self.parts.vref_loaded_v();
                offer(
                    segment.vref.rises_to(target_v, horizon_s),
                    Change::ReferenceUp,
                );
                offer(self.stop_s(segment, node, horizon_s), Change::Stop);
            }
            Phase::Run => {
                offer(self.stop_s(segment, node, horizon_s), Change::Stop);
                offer(self.take_over_s(segment, horizon_s), Change::TakeOver);
                offer(self.regulation_s(segment, horizon_s), Change::Regulation);
            }
        }
        first
    }

    fn stop_s(&self, segment: &Segment, node: &Curve, horizon_s: f64) -> Option<f64> {
        let stop_v = self.parts.vcc_stop_v;
        if self.held {
            bisect(horizon_s, |t| segment.vcc_v(self.parts, t) < stop_v)
        } else {
            node.falls_to(stop_v, horizon_s)
        }
    }

    /// The own winding rises while VCC falls, so that they meet once.
    fn take_over_s(&self, segment: &Segment, horizon_s: f64) -> Option<f64> {
        if self.held || self.parts.aux_ratio <= 0.0 {
            return None;
        }
        let met = |t| {
            let aux_v = self.parts.aux_v(output_v(self.parts, segment.energy.at(t)));
            aux_v >= segment.vcc_v(self.parts, t)
        };
        // Over a long horizon VCC would fall far below the stop, where the answer is not used.
        bisect(horizon_s, met)
    }

    fn regulation_s(&self, segment: &Segment, horizon_s: f64) -> Option<f64> {
        let enough = self.power_w() >= self.parts.load_power_w();
        let target_j = 0.5 * self.parts.output_capacitance_f * self.parts.output_v.powi(2);
        let energy = segment.energy;
        (enough && !self.regulated)
            .then(|| energy.rises_to(target_j, horizon_s))
            .flatten()
    }

    fn apply(&mut self, change: Change, vcc_v: f64) {
        match change {
            Change::None => {}
            Change::Start => self.start(vcc_v),
            Change::ReferenceUp => self.enter_run(),
            Change::Stop => {
                self.phase = Phase::Off;
                self.held = false;
                self.regulated = false;
                self.note(What::Stop, vcc_v);
            }
            Change::TakeOver => {
                self.held = true;
                self.note(What::TakeOver, vcc_v);
            }
            Change::Regulation => {
                self.regulated = true;
                self.note(What::Regulation, vcc_v);
            }
        }
    }

    fn start(&mut self, vcc_v: f64) {
        self.note(What::Start, vcc_v);
        if self.parts.vref_charge_a.is_finite() {
            self.phase = Phase::Reference;
            return;
        }
        let missing_v = (self.parts.vref_loaded_v() - self.vref_v).max(0.0);
        self.capacitor_v -=
            self.parts.vref_capacitance_f * missing_v / self.parts.vcc_capacitance_f;
        self.enter_run();
    }

    fn enter_run(&mut self) {
        self.phase = Phase::Run;
        self.run_from_s = self.at_s;
        self.event_s = self.at_s;
    }

    fn note(&mut self, what: What, vcc_v: f64) {
        self.event_s = self.at_s;
        self.timeline.events.push(Event {
            what,
            at_s: self.at_s,
            vcc_v,
        });
    }
}
