//! What to expect at each pin, stopped and running, from the profile's own figures.

use super::Profile;
use crate::data::text::{engineering, trimmed};
use crate::data::{Role, Unit};

/// A pin of a part: what it is, and what a scope shows on it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PinSheet {
    /// Number of the pin in the package of [`Profile::package`].
    pub pin: u8,
    /// Its name in the document.
    pub name: String,
    /// The role of a channel on it, where it has one.
    pub role: Option<Role>,
    /// What to expect while the controller is stopped: VCC fed, below the start threshold.
    pub stopped: String,
    /// What to expect while it runs.
    pub running: String,
    /// What goes here: bench supply, ground clip, scope; empty for a pin that nothing has to go to.
    pub connect: &'static str,
}

/// What a pin does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Does {
    Supply,
    Ground,
    Reference,
    Ramp,
    Output,
    Sense,
    Comp,
    Feedback,
    HighVoltage,
    Other,
}

/// The pins of a part in order of their numbers; empty where the profile has none.
pub fn pin_sheet(profile: &Profile) -> Vec<PinSheet> {
    let supply = |name: &String| name != "VIN" && does(name) == Does::Supply;
    let has_supply = profile.pins.values().any(supply);
    let sheet = |(pin, name): (&u8, &String)| {
        let does = match does(name) {
            // beside a pin for the supply it senses the input
            Does::Supply if name == "VIN" && has_supply => Does::Other,
            does => does,
        };
        PinSheet {
            pin: *pin,
            name: name.clone(),
            role: role(does),
            stopped: stopped(profile, does),
            running: running(profile, does, name),
            connect: connect(does),
        }
    };
    profile.pins.iter().map(sheet).collect()
}

fn does(name: &str) -> Does {
    let name = name.to_ascii_uppercase();
    match name.as_str() {
        "VCC" | "VDD" | "VIN" => Does::Supply,
        "GND" | "PGND" | "SGND" => Does::Ground,
        "VREF" | "REF" => Does::Reference,
        "RT/CT" | "RC (RT/CT)" | "RC" | "RCT" | "CT" => Does::Ramp,
        "OUT" | "DRV" | "GATE" | "OUTA" | "OUTB" | "OUTPUT" | "A OUT" | "B OUT" | "OUT A"
        | "OUT B" => Does::Output,
        "CS" | "ISENSE" | "SENSE" | "ISEN" | "CURRENT SENSE" => Does::Sense,
        "COMP" => Does::Comp,
        "FB" | "VFB" => Does::Feedback,
        "HV" => Does::HighVoltage,
        _ => Does::Other,
    }
}

fn role(does: Does) -> Option<Role> {
    Some(match does {
        Does::Supply => Role::Vcc,
        Does::Reference => Role::Vref,
        Does::Ramp => Role::RtCt,
        Does::Output => Role::Out,
        Does::Sense => Role::Cs,
        Does::Comp => Role::Comp,
        Does::Feedback => Role::Fb,
        Does::Ground | Does::HighVoltage | Does::Other => return None,
    })
}

fn shown(profile: &Profile, key: &str) -> Option<String> {
    let limit = profile.values.get(key)?;
    let value = limit.typ.or(limit.max).or(limit.min)?;
    Some(trimmed(&engineering(value, limit.unit, 3)))
}

fn stopped(profile: &Profile, does: Does) -> String {
    match does {
        Does::Supply => match (shown(profile, "vcc_start"), shown(profile, "icc_startup")) {
            (Some(start), Some(current)) => {
                format!("below {start}; the part draws about {current} or less")
            }
            (Some(start), None) => format!("below {start}"),
            _ => "below the start threshold".to_owned(),
        },
        Does::Ground => "0 V".to_owned(),
        Does::Reference | Does::Ramp | Does::Comp => "about 0 V".to_owned(),
        Does::Output if profile.parts.iter().any(|p| p == "UC3847") => "high".to_owned(),
        Does::Output => "low, no pulses".to_owned(),
        Does::Sense => "0 V".to_owned(),
        Does::HighVoltage => "bulk voltage on mains: keep the scope's ground away".to_owned(),
        Does::Feedback | Does::Other => "nothing published".to_owned(),
    }
}

fn running(profile: &Profile, does: Does, name: &str) -> String {
    match does {
        Does::Supply => match shown(profile, "vcc_stop") {
            Some(stop) => format!("above {stop}, where it stops"),
            None => "above the stop threshold".to_owned(),
        },
        Does::Ground => "0 V".to_owned(),
        Does::Reference => shown(profile, "vref")
            .map_or_else(|| "steady".to_owned(), |vref| format!("steady at {vref}")),
        Does::Ramp => ramp(profile),
        Does::Output => output(profile),
        Does::Sense => match shown(profile, "cs_threshold") {
            Some(most) => format!("bench-fed near 0 V; on mains ramps that end below {most}"),
            None => "bench-fed near 0 V; on mains ramps".to_owned(),
        },
        Does::Comp => "bench-fed high, as nothing regulates".to_owned(),
        Does::Feedback => match shown(profile, "vfb_ref") {
            Some(level) => format!("regulates towards {level}; bench-fed below it"),
            None => "bench-fed as far as the optocoupler leaves it".to_owned(),
        },
        Does::HighVoltage => "bulk voltage on mains".to_owned(),
        Does::Other if name == "NC" => "not connected".to_owned(),
        Does::Other => "nothing published".to_owned(),
    }
}

fn ramp(profile: &Profile) -> String {
    let levels = shown(profile, "osc_valley").zip(shown(profile, "osc_peak"));
    let height = shown(profile, "osc_amplitude_pp");
    match (levels, height) {
        (Some((valley, peak)), _) => format!("ramp from {valley} to {peak}"),
        (None, Some(height)) => format!("ramp, {height} high"),
        (None, None) => "ramp".to_owned(),
    }
}

fn output(profile: &Profile) -> String {
    let every = match profile.divide {
        Some(2) => "a pulse for every second ramp",
        Some(1) => "a pulse for each ramp",
        _ => "pulses",
    };
    let duty = profile
        .values
        .get("duty_max")
        .or_else(|| profile.values.get("duty_class"));
    let most = duty.and_then(|l| l.max.or(l.typ));
    match most {
        Some(most) => format!(
            "{every}, duty cycle up to {}",
            trimmed(&engineering(most, Unit::One, 3))
        ),
        None => every.to_owned(),
    }
}

fn connect(does: Does) -> &'static str {
    match does {
        Does::Supply => "bench supply +, straight at the pin, and the first scope channel",
        Does::Ground => "bench supply - and the scope's ground clip (bench-fed only, mains off)",
        Does::Reference => "scope: tells start and stop",
        Does::Ramp => "scope through a x10 probe: a x1 probe loads CT",
        Does::Output => "scope: pulses, and VCC minus their height",
        Does::HighVoltage => "nothing: leave it unfed when bench-fed",
        Does::Sense | Does::Comp | Does::Feedback | Does::Other => "",
    }
}
