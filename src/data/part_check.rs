//! A part against its mark: value and tolerance marked, value read, the meter's accuracy.

use super::inspection::Verdict;
use super::options::Accuracy;
use super::typed::{Kind, MarkedPart, Series, Tolerance, written};

/// Probability from which a part counts as within its tolerance, and from one minus which as outside: the
/// same as for measured values.
const SURE: f64 = 0.975;

/// What a reading says of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct PartCheck {
    /// Value marked, in the SI base unit of the part.
    pub marked: f64,
    /// Value read.
    pub reading: f64,
    /// Read over marked, less 1; −0.01 is 1 % low.
    pub deviation: f64,
    /// Least and most that the mark allows.
    pub limits: (f64, f64),
    /// Half-width of what the meter may be off by, in the same unit; a rectangular distribution.
    pub meter: f64,
    /// Probability that the part lies within its limits; NaN where the reading is no number.
    pub p_in: f64,
    /// The verdict.
    pub verdict: Verdict,
    /// Why, in a sentence.
    pub because: String,
    /// What would settle it, where nothing can be said.
    pub settle: Option<String>,
    /// What else to know: a tolerance that was assumed, a reading in circuit.
    pub remarks: Vec<String>,
}

/// The tolerance taken for a part without one: ±20 % for capacitors from 1 µF, which are mostly
/// electrolytic, ±10 % for smaller ones, ±5 % for the rest (common practice).
pub fn usual_tolerance(part: &MarkedPart) -> Tolerance {
    Tolerance::both(match part.kind {
        Kind::Farad if part.value() >= 1e-6 * (1.0 - 1e-9) => 0.20,
        Kind::Farad => 0.10,
        _ => 0.05,
    })
}

/// The accuracy taken for a multimeter's ohms and farads where none is told: ±1 % of ohms, ±4 % of farads,
/// ±0.5 % else, without counts (common practice).
pub fn usual_meter(kind: Kind) -> Accuracy {
    let gain = match kind {
        Kind::Ohm => 0.01,
        Kind::Farad => 0.04,
        _ => 0.005,
    };
    Accuracy { gain, offset: 0.0 }
}

/// Sets a reading against a mark. `meter` has its constant part in the unit of the part.
///
/// In limits where the probability of lying within the tolerance is 0.975 or more, outside at 0.025 or
/// less, else nothing can be said. A reading that is not finite, or a meter accuracy that is negative or
/// not finite, gives `cannot-say`. Where the meter is told to be exact, a value on the limit itself counts
/// half.
///
/// ```
/// use firstpulse::data::options::Accuracy;
/// use firstpulse::data::part_check::check;
/// use firstpulse::data::typed::{Kind, marked};
/// use firstpulse::data::Verdict;
/// let meter = Accuracy { gain: 0.005, offset: 0.0 };
/// let five = check(&marked("220k 5%", Kind::Ohm).unwrap(), 217.8e3, meter);
/// assert_eq!(five.verdict, Verdict::InLimits);
/// let one = check(&marked("220k 1%", Kind::Ohm).unwrap(), 217.8e3, meter);
/// assert_eq!(one.verdict, Verdict::CannotSay);
/// ```
pub fn check(part: &MarkedPart, reading: f64, meter: Accuracy) -> PartCheck {
    let limits = part.range(usual_tolerance(part));
    let half = meter.gain * reading.abs() + meter.offset;
    let p_in = inside(reading, half, limits);
    let verdict = match p_in {
        p if p >= SURE => Verdict::InLimits,
        p if p <= 1.0 - SURE => Verdict::Outside,
        _ => Verdict::CannotSay,
    };
    let marked = part.value();
    let deviation = reading / marked - 1.0;
    PartCheck {
        marked,
        reading,
        deviation,
        limits,
        meter: half,
        p_in,
        verdict,
        because: because(part.kind, deviation, limits, (reading, half), verdict),
        settle: (verdict == Verdict::CannotSay).then(|| settle(reading, half)),
        remarks: remarks(part, deviation, verdict),
    }
}

/// Share of `reading ± half` that lies within the limits.
fn inside(reading: f64, half: f64, limits: (f64, f64)) -> f64 {
    if !reading.is_finite() || !half.is_finite() || half < 0.0 {
        return f64::NAN;
    }
    // what binary fractions add must not decide: 217.8 k is 220 k less 1 % exactly
    let narrow = 1e-12 * reading.abs();
    let half = half.max(narrow);
    let low = (reading - half).max(limits.0);
    let high = (reading + half).min(limits.1);
    if half == 0.0 {
        return f64::from(limits.0 <= reading && reading <= limits.1);
    }
    ((high - low) / (2.0 * half)).clamp(0.0, 1.0)
}

fn because(
    kind: Kind,
    deviation: f64,
    limits: (f64, f64),
    read: (f64, f64),
    verdict: Verdict,
) -> String {
    let shown = |value: f64| written(rounded(value), kind);
    let off = format!("{:+.2} %", 100.0 * deviation).replace('-', "−");
    let where_to = match verdict {
        Verdict::InLimits => "within",
        Verdict::Outside => "outside",
        _ => "with the meter's doubt across the end of",
    };
    format!(
        "{} ± {} read, {off} of the mark: {where_to} {} to {}",
        shown(read.0),
        shown(read.1),
        shown(limits.0),
        shown(limits.1)
    )
}

fn settle(reading: f64, half: f64) -> String {
    if reading.is_finite() && half.is_finite() {
        "a meter with a smaller error, or a bridge".to_owned()
    } else {
        "a reading that is a number".to_owned()
    }
}

fn remarks(part: &MarkedPart, deviation: f64, verdict: Verdict) -> Vec<String> {
    let mut all = Vec::new();
    if !part.has_tolerance() {
        all.push(format!(
            "no tolerance told: {} assumed, usual for such a part",
            usual_tolerance(part).shown()
        ));
    }
    if part.kind == Kind::Ohm && verdict != Verdict::InLimits {
        all.push(
            if deviation > 0.0 {
                "parts beside it can't make a resistor read high in circuit"
            } else {
                "parts beside it make a resistor read low in circuit: lift one end"
            }
            .to_owned(),
        );
    }
    let odd = part
        .members
        .iter()
        .find(|m| Series::coarsest(m.value).is_none());
    if let Some(odd) = odd.filter(|_| matches!(part.kind, Kind::Ohm | Kind::Farad)) {
        all.push(format!(
            "{} is no preferred value of E3 to E192: read the mark again",
            written(odd.value, part.kind)
        ));
    }
    all
}

/// Four digits: a reading is not better than that.
fn rounded(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powf(3.0 - value.abs().log10().floor());
    (value * scale).round() / scale
}
