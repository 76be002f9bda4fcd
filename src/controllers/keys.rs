//! The keys that a profile may publish, and the units in which it may publish them.

use crate::data::Unit;

/// One key of a profile value.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Key {
    /// The word in the profile.
    pub id: &'static str,
    /// Its unit, in SI base units.
    pub unit: Unit,
    /// What it is, in a line.
    pub meaning: &'static str,
}

const fn key(id: &'static str, unit: Unit, meaning: &'static str) -> Key {
    Key { id, unit, meaning }
}

/// All keys; a profile with any other key is refused, so that a slip of the pen can't hide a limit.
#[rustfmt::skip]
pub const KEYS: &[Key] = &[
    key("vcc_start", Unit::Volt, "start threshold"),
    key("vcc_stop", Unit::Volt, "stop threshold"),
    key("vcc_hysteresis", Unit::Volt, "start minus stop threshold"),
    key("vcc_hysteresis_text", Unit::Volt, "hysteresis as the text of the document gives it"),
    key("vcc_zener", Unit::Volt, "clamp at VCC"),
    key("vcc_abs_max", Unit::Volt, "absolute maximum of VCC"),
    key("vcc_recommended", Unit::Volt, "recommended VCC"),
    key("icc_startup", Unit::Ampere, "supply current below the start threshold"),
    key("icc_operating", Unit::Ampere, "supply current running, without gate charge"),
    key("vref", Unit::Volt, "reference, at one temperature and load"),
    key("vref_total", Unit::Volt, "reference over line, load and temperature"),
    key("vref_short_circuit", Unit::Ampere, "reference shorted to ground, magnitude"),
    key("osc_freq", Unit::Hertz, "oscillator frequency with the test parts"),
    key("osc_freq_temp", Unit::Hertz, "the same over temperature"),
    key("osc_freq_250k", Unit::Hertz, "oscillator frequency with the faster test parts"),
    key("osc_freq_max", Unit::Hertz, "highest frequency"),
    key("osc_amplitude_pp", Unit::Volt, "ramp height, peak to peak"),
    key("osc_peak", Unit::Volt, "ramp peak"),
    key("osc_valley", Unit::Volt, "ramp valley"),
    key("osc_discharge_current", Unit::Ampere, "current that discharges CT"),
    key("osc_discharge_current_temp", Unit::Ampere, "the same over temperature"),
    key("rt_recommended", Unit::Ohm, "recommended RT"),
    key("ct_recommended", Unit::Farad, "recommended CT"),
    key("dead_time_programmable", Unit::One, "dead time that RT and CT can set, share of the OUT period"),
    key("duty_max", Unit::One, "largest duty cycle"),
    key("duty_min", Unit::One, "smallest duty cycle"),
    key("duty_class", Unit::One, "largest duty cycle in round figures"),
    key("vfb_ref", Unit::Volt, "level at which the error amplifier regulates"),
    key("comp_high", Unit::Volt, "COMP, high"),
    key("comp_low", Unit::Volt, "COMP, low"),
    key("comp_zero_duty", Unit::Volt, "COMP at which the pulses end"),
    key("cs_threshold", Unit::Volt, "current-sense threshold"),
    key("cs_gain", Unit::Quotient, "COMP change for each change at current sense"),
    key("cs_delay", Unit::Second, "current sense to OUT"),
    key("leb", Unit::Second, "blanking at the leading edge"),
    key("soft_start", Unit::Second, "soft start inside"),
    key("out_low_20mA", Unit::Volt, "OUT low, light load"),
    key("out_low_200mA", Unit::Volt, "OUT low, heavy load"),
    key("out_high_20mA", Unit::Volt, "OUT high, light load"),
    key("out_high_200mA", Unit::Volt, "OUT high, heavy load"),
    key("out_rise", Unit::Second, "OUT rise"),
    key("out_fall", Unit::Second, "OUT fall"),
    key("out_uvlo_saturation", Unit::Volt, "OUT low below the start threshold"),
];

/// The key of this word.
pub fn key_of(id: &str) -> Option<&'static Key> {
    KEYS.iter().find(|key| key.id == id)
}

/// Factor to SI base units: multiply by the first, divide by the second. Two numbers, because
/// dividing by 1000 rounds correctly where multiplying by 0.001 does not.
pub(super) fn unit_of(symbol: &str) -> Option<(Unit, f64, f64)> {
    Some(match symbol {
        "V" => (Unit::Volt, 1.0, 1.0),
        "mV" => (Unit::Volt, 1.0, 1e3),
        "A" => (Unit::Ampere, 1.0, 1.0),
        "mA" => (Unit::Ampere, 1.0, 1e3),
        "uA" => (Unit::Ampere, 1.0, 1e6),
        "Hz" => (Unit::Hertz, 1.0, 1.0),
        "kHz" => (Unit::Hertz, 1e3, 1.0),
        "MHz" => (Unit::Hertz, 1e6, 1.0),
        "s" => (Unit::Second, 1.0, 1.0),
        "ms" => (Unit::Second, 1.0, 1e3),
        "us" => (Unit::Second, 1.0, 1e6),
        "ns" => (Unit::Second, 1.0, 1e9),
        "ohm" => (Unit::Ohm, 1.0, 1.0),
        "kohm" => (Unit::Ohm, 1e3, 1.0),
        "nF" => (Unit::Farad, 1.0, 1e9),
        "pF" => (Unit::Farad, 1.0, 1e12),
        "uF" => (Unit::Farad, 1.0, 1e6),
        "%" => (Unit::One, 1.0, 1e2),
        "V/V" | "1" => (Unit::Quotient, 1.0, 1.0),
        _ => return None,
    })
}
