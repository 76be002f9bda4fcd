//! Worked examples of the documents, computed from the figures of the profiles.

use firstpulse::controllers::Library;

use super::{library, profile};

/// SLUS223G 8.3.5 and U-100A, "Under-voltage lockout": with 1 mA of start-up current and a start at
/// 16 V the start resistor may be as large as 100 kohm at 90 V of mains; at 130 V it takes less than
/// 350 mW.
#[test]
fn the_start_resistor_of_slus223g_8_3_5_starts_every_grade_of_the_original() {
    let library = library();
    let resistor_ohm = 100e3;
    let bulk = |mains_v: f64| mains_v * 2f64.sqrt();
    for id in ["uc3842-ti", "uc2842-ti", "uc3844-ti", "uc2844-ti"] {
        let values = &profile(&library, id).values;
        let start_v = values["vcc_start"].typ.unwrap();
        let current_a = (bulk(90.0) - start_v) / resistor_ohm;
        assert!(current_a > values["icc_startup"].max.unwrap(), "{id}");
    }
    assert!(bulk(130.0).powi(2) / resistor_ohm < 0.350);
}

/// SLUS223G 9.2.2.9: 120 uF at VCC of a UC2842 and about 1 mA give a start after approximately 2 s.
#[test]
fn the_start_up_time_of_slus223g_9_2_2_9_follows_from_the_start_threshold() {
    let library = library();
    let start_v = profile(&library, "uc2842-ti").values["vcc_start"]
        .typ
        .unwrap();
    assert!((120e-6 * start_v / 1e-3 - 2.0).abs() < 0.1);
}

/// SLUS223G 9.2.2.5: 0.75 ohm for a primary peak of 1.36 A.
#[test]
fn the_sense_resistor_of_slus223g_9_2_2_5_follows_from_the_threshold() {
    let library = library();
    let limit_v = profile(&library, "uc2842-ti").values["cs_threshold"]
        .typ
        .unwrap();
    assert!((limit_v / 1.36 - 0.75).abs() < 0.02);
}

/// U-100A, circuit example 1: a UC3844 that switches at 40 kHz runs its oscillator at 80 kHz.
#[test]
fn the_oscillator_of_u_100a_example_1_runs_at_twice_the_switching_frequency() {
    let library = library();
    let found = library.lookup("UC3844").unwrap();
    let ratio = Library::expected(&found, "osc_to_out_divide").unwrap();
    assert!((ratio.typ.unwrap() * 40e3 - 80e3).abs() < 1e-6);
}

/// U-100A, circuit example 2: a UC3842 with its oscillator at 200 kHz.
#[test]
fn the_oscillator_of_u_100a_example_2_is_within_what_the_part_can_do() {
    let library = library();
    let most = profile(&library, "uc3842-ti").values["osc_freq_max"].max;
    let most = most.or(profile(&library, "uc3842-ti").values["osc_freq_max"].typ);
    assert!(most.unwrap() >= 200e3);
}

/// SLUS223G 9.2.2.10.2, eq. 42 to 44: a ramp of 1.7 V in 5.7 us has 298 mV/us; 44.74 mV/us of it into
/// current sense through 24.9 kohm take 4.4 kohm there, of which the document chooses 4.2 kohm.
#[test]
fn the_slope_compensation_of_slus223g_9_2_2_10_2_follows_from_the_ramp() {
    let library = library();
    let height_v = profile(&library, "uc2842-ti").values["osc_amplitude_pp"]
        .typ
        .unwrap();
    let slope_mv_per_us = 1e3 * height_v / 5.7;
    assert!((slope_mv_per_us - 298.0).abs() < 0.5, "{slope_mv_per_us}");
    let filter_ohm = 24.9e3 / (slope_mv_per_us / 44.74 - 1.0);
    assert!((filter_ohm / 4.2e3 - 1.0).abs() < 0.05, "{filter_ohm}");
}
