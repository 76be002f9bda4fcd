//! Which relation holds between the timing parts and the frequency: by family and part.

use crate::controllers::Profile;
use crate::data::{Limit, Status};

/// How an oscillator makes its frequency.
#[derive(Debug, Clone, PartialEq)]
pub enum Rule {
    /// Charged by RT from VREF, discharged by a constant current: the exact exponentials.
    Ramp,
    /// `constant / (RT·CT)`; the discharge takes `dead_ohm · CT` where that is known.
    Product {
        /// Frequency times RT·CT.
        constant: f64,
        /// Dead time over CT, in ohms.
        dead_ohm: Option<f64>,
    },
    /// Charge 0.533·RT·CT, discharge by the equations printed for the part.
    Printed,
    /// One resistor alone: `hertz_ohm / RT`.
    OneResistor {
        /// Frequency times resistance.
        hertz_ohm: f64,
    },
    /// Fixed inside the part.
    Fixed(Box<Limit>),
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
    /// Document.
    pub source: String,
    /// How well it is known.
    pub status: Status,
}

/// Resistance by which the UCC280x family discharges CT, times the logarithm of its turning points:
/// 130 Ω · ln(2.65/0.2) (SLUS270G and SLUS161F give the switch and the levels).
const UCC_DEAD_OHM: f64 = 335.9;

/// The rule of a part; families are told by name, parts by their number.
pub fn rule_of(profile: &Profile) -> SourcedRule {
    let is = |starts: &[&str]| {
        let named = |part: &String| {
            let bare: String = part.to_ascii_uppercase().replace(['-', ' '], "");
            starts.iter().any(|start| bare.starts_with(start))
        };
        profile.parts.iter().any(named)
    };
    by_product(&is)
        .or_else(|| by_one_resistor(&is))
        .or_else(|| fixed(profile))
        .unwrap_or_else(|| by_family(profile, is(&["ISL884"])))
}

fn product(constant: f64, dead_ohm: Option<f64>, source: &str, status: Status) -> SourcedRule {
    SourcedRule {
        rule: Rule::Product { constant, dead_ohm },
        words: format!("f = {constant}/(RT·CT)"),
        source: source.to_owned(),
        status,
    }
}

fn by_product(is: &impl Fn(&[&str]) -> bool) -> Option<SourcedRule> {
    if is(&["UCC2808", "UCC3808", "UCC1808"]) {
        let source = "from memory; SLUS456F test condition agrees";
        return Some(product(1.41, None, source, Status::Memory));
    }
    let four_volt = [
        "UCC1803", "UCC2803", "UCC3803", "UCC1805", "UCC2805", "UCC3805", "UCC28133", "UCC38133",
        "UCC28135", "UCC38135",
    ];
    if is(&four_volt) {
        let source = "SGLS121D eq. 5, constant from memory";
        return Some(product(1.0, Some(UCC_DEAD_OHM), source, Status::Memory));
    }
    if is(&["UCC180", "UCC280", "UCC380", "UCC2813", "UCC3813"]) {
        let source = "SGLS121D eq. 4; SLUS270G";
        return Some(product(
            1.5,
            Some(UCC_DEAD_OHM),
            source,
            Status::VerifiedExcerpt,
        ));
    }
    let bipolar = ["UC1846", "UC2846", "UC3846", "UC1847", "UC2847", "UC3847"];
    is(&bipolar).then(|| product(2.2, None, "from memory, rough", Status::MemoryLow))
}

fn by_one_resistor(is: &impl Fn(&[&str]) -> bool) -> Option<SourcedRule> {
    let hertz_ohm = if is(&["LD7535", "OB2263", "2263"]) {
        6.5e9
    } else if is(&["SG6841", "6841"]) {
        1.69e9
    } else {
        return None;
    };
    Some(SourcedRule {
        rule: Rule::OneResistor { hertz_ohm },
        words: format!("f = {:.0} kHz·kΩ / R", hertz_ohm / 1e6),
        source: "from memory".to_owned(),
        status: Status::Memory,
    })
}

/// A frequency that the part makes by itself, where its family is one of that kind.
fn fixed(profile: &Profile) -> Option<SourcedRule> {
    if !profile.family.contains("fixed") {
        return None;
    }
    let keys = ["osc_freq", "osc_freq_65k", "osc_freq_100k", "osc_freq_130k"];
    let limit = keys.iter().find_map(|key| profile.values.get(*key))?;
    Some(SourcedRule {
        rule: Rule::Fixed(Box::new(limit.clone())),
        words: "fixed inside the part".to_owned(),
        source: limit.source.clone(),
        status: limit.status,
    })
}

fn by_family(profile: &Profile, printed: bool) -> SourcedRule {
    if printed {
        return SourcedRule {
            rule: Rule::Printed,
            words: "charge 0.533·RT·CT, discharge −RT·CT·ln[(0.008·RT−3.83)/(0.008·RT−1.71)]"
                .to_owned(),
            source: "FN9238 EQ. 1 and 2".to_owned(),
            status: Status::VerifiedExcerpt,
        };
    }
    let family = profile.family.as_str();
    if ["384x", "28C4x", "LT124x"]
        .iter()
        .any(|known| family.contains(known))
    {
        return ramp();
    }
    SourcedRule {
        rule: Rule::Unknown,
        words: String::new(),
        source: String::new(),
        status: Status::MemoryLow,
    }
}

/// The rule of RT from VREF and a constant discharge current.
pub(super) fn ramp() -> SourcedRule {
    SourcedRule {
        rule: Rule::Ramp,
        words: "exact exponentials: RT charges CT from VREF, a constant current discharges it"
            .to_owned(),
        source: "derived from the circuit of SLUS223G 8.3.6 and SLUA257 3.3".to_owned(),
        status: Status::Derived,
    }
}
