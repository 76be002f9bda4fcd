//! What is usual in the bipolar 384x family: published values for where no controller is named.

/// Highest start threshold of the family, in volts (SLUS223G, UC3842 and UC3844: 14.5 to 17.5 V).
pub const HIGHEST_START_V: f64 = 17.5;

/// VREF within which a 5 V reference counts as right, in volts: wider than the published total spread
/// over line, load and temperature (SLUS223G: 4.82 to 5.18 V).
pub const VREF_V: (f64, f64) = (4.75, 5.25);

/// Height of the RT/CT ramp, in volts (SLUS223G: 1.7 V typical; no limits are published).
pub const RAMP_HEIGHT_V: f64 = 1.7;

/// Highest oscillator frequency, in hertz (SLUS223G: maximum operating frequency 500 kHz).
pub const HIGHEST_OSCILLATOR_HZ: f64 = 500e3;

/// Largest current-sense threshold, in volts (SLUS223G: 0.9 to 1.1 V).
pub const HIGHEST_CS_V: f64 = 1.1;
