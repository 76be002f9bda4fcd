//! What the timing parts promise, and what a ramp gives away of them.

use super::bounded::Bounded;
use super::limit::Status;

/// What RT and CT promise of the oscillator. `None` where it can't be had: [`Timing::why_not`] says why.
#[derive(Debug, Clone, PartialEq)]
pub struct Timing {
    /// The relation, in words.
    pub rule: String,
    /// Where it was published.
    pub source: String,
    /// How well that is known.
    pub status: Status,
    /// RT with its tolerance, in ohms.
    pub rt_ohm: Option<Bounded>,
    /// CT with its tolerance, in farads.
    pub ct_farad: Option<Bounded>,
    /// Discharge current taken, in amperes; `None` where the relation has none.
    pub discharge_a: Option<Bounded>,
    /// Oscillator cycles in an OUT cycle, 1 or 2.
    pub divide: u32,
    /// Charge of CT from valley to peak, in seconds.
    pub rise_s: Option<Bounded>,
    /// Discharge from peak to valley, in seconds: the dead time.
    pub fall_s: Option<Bounded>,
    /// Oscillator frequency, in hertz.
    pub frequency_hz: Option<Bounded>,
    /// Frequency at OUT, in hertz.
    pub out_frequency_hz: Option<Bounded>,
    /// Largest duty cycle at OUT, 0 to 1.
    pub max_duty: Option<Bounded>,
    /// Frequency by the short formula of the data sheet, in hertz.
    pub short_hz: Option<f64>,
    /// By how much the short formula is off, as a share of the exact frequency.
    pub short_error: Option<f64>,
    /// Quantities without a value, each with the reason.
    pub why_not: Vec<(&'static str, String)>,
    /// What else to know, in sentences.
    pub remarks: Vec<String>,
}

/// Which timing part is not what it should be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moved {
    /// None: the ramp fits the marks.
    Nothing,
    /// The timing resistor.
    Rt,
    /// The timing capacitor.
    Ct,
    /// The controller's discharge current.
    Discharge,
    /// A leak from RT/CT to ground.
    Leak,
    /// VREF, and the ramp with it.
    Vref,
    /// More than one part would explain it.
    Open,
}

impl Moved {
    /// The word used in JSON.
    pub fn id(self) -> &'static str {
        match self {
            Moved::Nothing => "nothing",
            Moved::Rt => "rt",
            Moved::Ct => "ct",
            Moved::Discharge => "discharge-current",
            Moved::Leak => "leak",
            Moved::Vref => "vref",
            Moved::Open => "open",
        }
    }
}

/// What a measured ramp gives away of its parts.
#[derive(Debug, Clone, PartialEq)]
pub struct FromRamp {
    /// RT·CT, in seconds; with a leak that of RT and leak in parallel.
    pub rt_ct_s: f64,
    /// Discharge current times RT, in volts.
    pub discharge_drop_v: f64,
    /// Discharge current over CT, in volts a second.
    pub discharge_slope_v_per_s: f64,
    /// Leak from RT/CT to ground, in ohms, where the rise heads below VREF and RT is known.
    pub leak_ohm: Option<f64>,
    /// Which part moved; `None` where no marks are known to set it against.
    pub moved: Option<Moved>,
    /// Why, in a sentence.
    pub because: String,
    /// What one more known value would give, a sentence each.
    pub fixes: Vec<String>,
}
