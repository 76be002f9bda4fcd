//! Which part of the time axis is shown.

use super::state::AppState;

/// Makes the time axis `factor` times as long around `at_s`; what is not finite or not above zero
/// does nothing.
pub fn zoom(state: &mut AppState, at_s: f64, factor: f64) {
    let (Some(full), Some((from, to))) = (state.full_s(), state.shown_s()) else {
        return;
    };
    if !(factor > 0.0 && factor.is_finite() && at_s.is_finite()) {
        return;
    }
    let at_s = at_s.clamp(from, to);
    let mut span = (from - at_s) * factor..(to - at_s) * factor;
    // below a few sample intervals there is nothing more to see
    let shortest = (full.1 - full.0) * 1e-9 + 4.0 * shortest_interval_s(state);
    if span.end - span.start < shortest {
        span = -0.5 * shortest..0.5 * shortest;
    }
    set_window(state, full, at_s + span.start, at_s + span.end);
}

/// Shortest sample interval of the shot shown, in seconds; 0 when there is none.
pub fn shortest_interval_s(state: &AppState) -> f64 {
    state.shot().map_or(0.0, |shot| {
        let steps = shot.capture.channels.iter().map(|c| c.time.interval_s());
        let shortest = steps.fold(f64::INFINITY, f64::min);
        if shortest.is_finite() { shortest } else { 0.0 }
    })
}

/// Moves the time axis, as far as the record goes.
pub fn pan(state: &mut AppState, by_s: f64) {
    let (Some(full), Some((from, to))) = (state.full_s(), state.shown_s()) else {
        return;
    };
    if by_s.is_finite() {
        let by_s = by_s.clamp(full.0 - from, full.1 - to);
        set_window(state, full, from + by_s, to + by_s);
    }
}

/// Shows this part, moved as little as keeps it within the record.
pub fn set_window(state: &mut AppState, full: (f64, f64), from: f64, to: f64) {
    let length = to - from;
    if length >= full.1 - full.0 {
        state.window_s = None;
    } else if length > 0.0 {
        let from = from.clamp(full.0, full.1 - length);
        state.window_s = Some((from, from + length));
    }
}
