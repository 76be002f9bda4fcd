//! Rise time without what the bandwidth of scope and probe adds to it.

/// Rise time times bandwidth of a single RC: ln 9 / 2π = 0.3497 (a Gaussian response has 0.3396, Bessel
/// and Butterworth of second to fourth order 0.342 to 0.364; closed forms, by scipy).
const RISE_TIMES_BANDWIDTH: f64 = 0.35;

/// Below this multiple of the system's own rise time nothing is left to tell.
const LEAST_RATIO: f64 = 1.1;

/// What taking the square root of the difference of squares may be off, in rise times of the system: it is
/// exact for Gaussian responses only (NIST warns that the error of the method is not known in general:
/// Hale et al., Technisches Messen 2017). Straight, RC, raised-cosine and Butterworth edges through RC,
/// Gaussian, Bessel and Butterworth systems (closed forms and convolution) are off by up to 0.26, those
/// of an RC through a Butterworth system of third order by 0.32, because its overshoot moves the 90 % level.
const METHOD: f64 = 0.33;

/// The same where the edge is slower than [`SLOW`] rise times of the system.
const METHOD_SLOW: f64 = 0.22;

/// In rise times of the system.
const SLOW: f64 = 2.6;

/// A rise time that was corrected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corrected {
    /// Without the system's part, in seconds.
    pub seconds: f64,
    /// Half-width within which the method leaves it, in seconds.
    pub within_s: f64,
}

/// Why a rise time can't be corrected.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[error(
    "at {:.0} MHz scope and probe rise in {:.1} ns by themselves, and {:.1} ns were recorded",
    bandwidth_hz / 1e6,
    1e9 * own_s,
    1e9 * recorded_s
)]
pub struct NotCorrectable {
    /// Bandwidth told, in hertz.
    pub bandwidth_hz: f64,
    /// Rise time of the system alone, in seconds.
    pub own_s: f64,
    /// Rise time recorded, in seconds.
    pub recorded_s: f64,
}

/// `√(recorded² − (0.35 / bandwidth)²)`, for a bandwidth above zero that is that of scope, probe and
/// limiter together.
///
/// # Errors
/// [`NotCorrectable`] where the recorded rise time is below 1.1 times that of the system, or is no number.
///
/// ```
/// use firstpulse::signal::bandwidth::corrected;
/// // a 100 MHz scope rises in 3.5 ns: 5.0 ns recorded are 3.571 ns
/// assert!((corrected(5e-9, 100e6).unwrap().seconds - 3.5707e-9).abs() < 1e-12);
/// assert!(corrected(3.6e-9, 100e6).is_err());
/// ```
pub fn corrected(recorded_s: f64, bandwidth_hz: f64) -> Result<Corrected, NotCorrectable> {
    let own_s = RISE_TIMES_BANDWIDTH / bandwidth_hz;
    let known = recorded_s.is_finite() && own_s.is_finite() && own_s > 0.0;
    if !known || recorded_s < LEAST_RATIO * own_s {
        return Err(NotCorrectable {
            bandwidth_hz,
            own_s,
            recorded_s,
        });
    }
    let seconds = (recorded_s * recorded_s - own_s * own_s).sqrt();
    let method = if seconds > SLOW * own_s {
        METHOD_SLOW
    } else {
        METHOD
    };
    Ok(Corrected {
        seconds,
        within_s: method * own_s,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A straight edge through one RC (closed form): recorded over the system's own for edges of 0.5, 1,
    /// 2, 3 and 5 times it. The correction is off by +7.1, +1.3, −2.4, −2.3 and −1.1 %.
    #[test]
    fn straight_edges_through_an_rc_come_back_within_what_is_said() {
        let cases = [
            (0.5, 1.134_37),
            (1.0, 1.423_30),
            (2.0, 2.193_75),
            (3.0, 3.097_28),
            (5.0, 5.047_02),
        ];
        let bandwidth_hz = 20e6;
        let own_s = RISE_TIMES_BANDWIDTH / bandwidth_hz;
        for (edge, recorded) in cases {
            let found = corrected(recorded * own_s, bandwidth_hz).unwrap();
            let error = found.seconds - edge * own_s;
            assert!(error.abs() <= found.within_s, "{edge}: {error} {found:?}");
        }
    }

    #[test]
    fn what_is_hardly_slower_than_the_scope_is_refused() {
        assert!(corrected(1.09 * 17.5e-9, 20e6).is_err());
        assert!(corrected(f64::NAN, 20e6).is_err());
        let why = corrected(18e-9, 20e6).unwrap_err().to_string();
        assert_eq!(
            why,
            "at 20 MHz scope and probe rise in 17.5 ns by themselves, and 18.0 ns were recorded"
        );
    }
}
