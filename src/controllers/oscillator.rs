//! What sets the frequency of a part, as data; the relations themselves are in
//! [`timing`](super::timing).

use crate::data::Status;

/// How the oscillator of a part gets its frequency, with what is known about it.
#[derive(Debug, Clone, PartialEq)]
pub struct TimingModel {
    /// The relation.
    pub kind: TimingKind,
    /// Where it holds; empty when nothing is stated.
    pub condition: String,
    /// Document.
    pub source: String,
    /// How well it is known.
    pub status: Status,
}

/// A relation between timing parts and oscillator frequency; ohms, farads, volts, amperes, hertz.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum TimingKind {
    /// Fixed inside; no pin sets it.
    Fixed,
    /// RT charges CT from VREF, a constant current discharges it between the ramp levels of the
    /// profile (`vref`, `osc_peak`, `osc_valley`, `osc_discharge_current`).
    ConstantSink,
    /// f = `constant` / (R·C); where known the fall lasts `fall_ohm` · C.
    OverRc {
        /// The constant, without unit.
        constant: f64,
        /// Fall duration over C, in ohms.
        fall_ohm: Option<f64>,
    },
    /// f = `hz_ohm` / R.
    OverR {
        /// Frequency times resistance, in hertz ohms.
        hz_ohm: f64,
    },
    /// Rise `rise` · R·C; fall −R·C·ln((I·R − a)/(I·R − b)), with the sink I, a = VREF − valley and
    /// b = VREF − peak as the document prints them.
    RampEquation {
        /// Rise duration over R·C.
        rise: f64,
        /// Discharge current, in amperes.
        sink_a: f64,
        /// a, in volts.
        vref_less_valley_v: f64,
        /// b, in volts.
        vref_less_peak_v: f64,
    },
}

impl TimingModel {
    /// A sentence for people: what sets the frequency.
    pub fn in_words(&self) -> String {
        match self.kind {
            TimingKind::Fixed => "fixed inside; no pin sets it".to_owned(),
            TimingKind::ConstantSink => {
                "RT charges CT from VREF, a constant current discharges it: f = 1/(rise + fall)"
                    .to_owned()
            }
            TimingKind::OverRc { constant, fall_ohm } => {
                let fall = fall_ohm.map_or(String::new(), |ohm| format!("; fall {ohm} ohm x C"));
                format!("f = {constant}/(R x C){fall}")
            }
            TimingKind::OverR { hz_ohm } => {
                format!("f in kHz = {}/R in kohm", hz_ohm / 1e6)
            }
            TimingKind::RampEquation {
                rise,
                sink_a,
                vref_less_valley_v: a,
                vref_less_peak_v: b,
            } => format!(
                "rise = {rise} x R x C; fall = -R x C x ln(({sink_a} x R - {a})/({sink_a} x R - {b}))"
            ),
        }
    }
}
