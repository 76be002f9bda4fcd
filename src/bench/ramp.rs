//! Peak, valley and height of the RT/CT ramp: from its cycles where the samples resolve them, else
//! from the distribution of the samples.

mod clipped;
mod distribution;

use crate::data::{
    Event, InspectedCapture, Mark, Pulses, Quantity, Role, Term, TieSource, Turning, Value,
};

use crate::signal::stats;

use super::trace::Trace;
use super::{Findings, frequency};

/// Ramp levels and durations.
pub fn measure(shot: &InspectedCapture, events: &[Event], found: &mut Findings) {
    let Some(rtct) = Trace::of_role(shot, Role::RtCt) else {
        return;
    };
    if shot.kind.value.is_none() {
        return;
    }
    if let Some(why) = no_oscillator(&rtct) {
        found.refuse(Quantity::RampAmplitude, rtct.index, why);
        return;
    }
    let followed = frequency::unbelievable(&rtct).is_none();
    match rtct.pulses() {
        Some(Pulses {
            turning: Some(turning),
            ..
        }) if followed => resolved(&rtct, turning, found),
        Some(pulses) => {
            // two states, the lower near 0 V: stopped and running; else both are ends of the ramp
            let stops = pulses.gap && rtct.true_of(pulses.low).abs() < STOPPED_V;
            // half-way between the states may lie above the valley
            let stopped = (STOPPED_V - rtct.known.offset) / rtct.known.gain;
            let level = pulses.threshold.min(stopped);
            distribution::measure(&rtct, stops.then_some(level), events, found);
        }
        None => {
            let level = rtct.true_of(rtct.facts().mean);
            let why = format!("there is no ramp: the pin stays at {level:.2} V");
            found.refuse(Quantity::RampAmplitude, rtct.index, why);
        }
    }
    clipped::withdraw(shot, &rtct, found);
}

fn resolved(rtct: &Trace<'_>, turning: &Turning, found: &mut Findings) {
    let gain = rtct.known.gain.abs();
    let levels = [
        (Quantity::RampPeak, turning.peak, turning.u_peak),
        (Quantity::RampValley, turning.valley, turning.u_valley),
    ];
    for (quantity, raw, u) in levels {
        let volts = rtct.true_of(raw);
        let mut terms = rtct.systematic(volts);
        terms.extend([rtct.resolution_term(), Term::normal("fit", u * gain)]);
        let mut value = Value::from_terms(volts, terms);
        value.count = turning.cycles;
        level(rtct, quantity, value, found);
    }
    let height = rtct.true_of(turning.peak) - rtct.true_of(turning.valley);
    let fit = turning.u_peak.hypot(turning.u_valley) * gain;
    let mut terms = rtct.systematic_over(height);
    terms.extend([rtct.resolution_term(), Term::normal("fit", fit)]);
    let ends = [turning.valley, turning.peak].map(|raw| rtct.true_of(raw));
    height_of(rtct, ends, Value::from_terms(height, terms), found);
    durations(rtct, turning, found);
    asymptote(rtct, turning, found);
}

/// Level that the rise heads for, where its bend shows it.
fn asymptote(rtct: &Trace<'_>, turning: &Turning, found: &mut Findings) {
    let quantity = Quantity::RampAsymptote;
    let Some((raw, u)) = turning.asymptote else {
        let why = "the rise bends too little, or too little of it stands out of the noise";
        found.refuse(quantity, rtct.index, why);
        return;
    };
    let volts = rtct.true_of(raw);
    let mut terms = rtct.systematic(volts);
    terms.extend([
        rtct.resolution_term(),
        Term::normal("fit", u * rtct.known.gain.abs()),
    ]);
    level(rtct, quantity, Value::from_terms(volts, terms), found);
}

/// A level of the ramp, drawn over the whole record.
fn level(rtct: &Trace<'_>, quantity: Quantity, value: Value, found: &mut Findings) {
    let marks = vec![whole_level(rtct, value.value)];
    found.marked(quantity, rtct.index, value, Some(whole_s(rtct)), marks);
}

/// The height, drawn as the two levels that it lies between.
fn height_of(rtct: &Trace<'_>, ends: [f64; 2], value: Value, found: &mut Findings) {
    let marks = ends.map(|level| whole_level(rtct, level)).to_vec();
    let quantity = Quantity::RampAmplitude;
    found.marked(quantity, rtct.index, value, Some(whole_s(rtct)), marks);
}

/// A level drawn over the whole record.
fn whole_level(rtct: &Trace<'_>, level: f64) -> Mark {
    let (from_s, to_s) = whole_s(rtct);
    Mark::Level {
        level,
        from_s,
        to_s,
    }
}

fn whole_s(rtct: &Trace<'_>) -> (f64, f64) {
    (rtct.channel.time.start_s(), rtct.channel.time.end_s())
}

fn durations(rtct: &Trace<'_>, turning: &Turning, found: &mut Findings) {
    if frequency::timed_evenly(rtct).is_err() {
        return;
    }
    let step = rtct.interval_s();
    let both = [
        (
            Quantity::RampRiseDuration,
            turning.rise_samples,
            turning.u_rise_samples,
        ),
        (
            Quantity::RampFallDuration,
            turning.fall_samples,
            turning.u_fall_samples,
        ),
    ];
    // what codes hide moves the fall along its slope
    let steepness = (turning.peak - turning.valley) / turning.fall_samples;
    let hidden = rtct.hidden() / (steepness * rtct.known.gain.abs());
    // of a fall over so few samples most lie beside the edge that the cycles are laid on
    let between = if turning.fall_samples < FEW_ON_FALL {
        0.1
    } else {
        0.0
    };
    for (quantity, samples, u_samples) in both {
        let seconds = samples * step;
        let terms = vec![
            Term::normal("fit", u_samples * step),
            Term::within("resolution", hidden * step),
            Term::within("sample interval", between * step),
            Term::within("time base (assumed)", 1e-4 * seconds).tied(TieSource::TimeBase, 1.0),
        ];
        let marks = turns(rtct, turning, quantity == Quantity::RampRiseDuration);
        let value = Value::from_terms(seconds, terms);
        found.marked(quantity, rtct.index, value, None, marks);
    }
}

/// Samples on a fall below which its line is not known as well as it seems.
const FEW_ON_FALL: f64 = 5.0;

/// Begin and end of a rise or a fall in a cycle near the middle of the record: as far from where the
/// pin crosses the level at which cycles are counted as straight flanks to the fitted corners are.
fn turns(rtct: &Trace<'_>, turning: &Turning, rises: bool) -> Vec<Mark> {
    let Some(pulses) = rtct.pulses() else {
        return Vec::new();
    };
    let (edges, samples) = if rises {
        (&pulses.rising, turning.rise_samples)
    } else {
        (&pulses.falling, turning.fall_samples)
    };
    let Some(crossing) = edges.get(edges.len() / 2) else {
        return Vec::new();
    };
    let corners = if rises {
        [turning.valley, turning.peak]
    } else {
        [turning.peak, turning.valley]
    };
    let share = (pulses.threshold - corners[0]) / (corners[1] - corners[0]);
    let begin = crossing - share.clamp(0.0, 1.0) * samples;
    let instant = |at: f64, raw: f64| Mark::Instant {
        at_s: rtct.time(at),
        level: Some(rtct.true_of(raw)),
    };
    vec![
        instant(begin, corners[0]),
        instant(begin + samples, corners[1]),
    ]
}

/// Fewest edges of something that oscillates.
const FEWEST_EDGES: usize = 6;

/// Why what moves on the pin is no ramp of an oscillator, whatever its levels.
fn no_oscillator(rtct: &Trace<'_>) -> Option<String> {
    if let Some(why) = frequency::hum(rtct) {
        return Some(why);
    }
    let pulses = rtct.pulses().filter(|p| !p.gap)?;
    if pulses.edges() < FEWEST_EDGES {
        let (low, high) = (rtct.facts().min, rtct.facts().max);
        return Some(format!(
            "it moves between {:.2} and {:.2} V and does not oscillate",
            rtct.true_of(low),
            rtct.true_of(high)
        ));
    }
    let mut gaps: Vec<f64> = pulses.rising.windows(2).map(|w| w[1] - w[0]).collect();
    let hertz = 1.0 / (stats::median(&mut gaps) * rtct.interval_s());
    let many = rtct.interval_s() * 20.0 * hertz < 1.0;
    (hertz < frequency::HUM_HZ && many).then(|| {
        format!("what is seen runs at {hertz:.0} Hz: hum of the mains on a probe that floats, not the oscillator")
    })
}

/// RT/CT of a stopped controller stays below this, in volts: the valley lies at 1 V, at 0.7 V in CMOS.
const STOPPED_V: f64 = 0.5;
