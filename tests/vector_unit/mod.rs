//! The modelled unit of the vectors, and how it is run.

use firstpulse::startup::mains::MainsStart;
use firstpulse::startup::timeline::{Timeline, What};
use firstpulse::startup::unit::UnitParts;

/// Fails unless `value` lies within so much of what was wanted.
pub fn near(value: f64, wanted: f64, within: f64, what: &str) {
    assert!(
        (value - wanted).abs() <= within,
        "{what}: {value} instead of {wanted} ± {within}"
    );
}

/// The unit of the vectors: VREF empty at every start and charged at once.
pub fn vector_unit() -> UnitParts {
    UnitParts {
        vcc_esr_ohm: 0.0,
        vref_charge_a: f64::INFINITY,
        vref_pulldown_ohm: 1e-3,
        vref_output_ohm: 0.0,
        ..UnitParts::gv24()
    }
}

/// A start on mains from time 0.
pub fn mains(parts: &UnitParts, end_s: f64) -> Timeline {
    MainsStart { on_s: 0.0, end_s }
        .run(parts)
        .unwrap_or_else(|error| panic!("{error}"))
}

/// Times of the events of a kind, in seconds.
pub fn times(timeline: &Timeline, what: What) -> Vec<f64> {
    timeline.events_of(what).map(|event| event.at_s).collect()
}
