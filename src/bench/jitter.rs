//! Jitter of a clock: what its periods scatter beyond what noise and sampling put into them.

use crate::data::{KeptEdge, Quantity, Term, Unit, Value, text};
use crate::signal::{period, stats};

use super::Findings;
use super::frequency::Clock;
use super::trace::Trace;

/// Fewest periods.
const FEWEST: usize = 8;

/// Standard deviations of what would be seen without jitter beyond which there is some.
const STANDS_OUT: f64 = 3.5;

/// Largest variance that periods without jitter show where their edges are steps, in square samples: one
/// between two whole numbers of samples shows as either, p(1 − p), a quarter at most; and a fifth more, since
/// some edges hold a sample.
const STEPPED: f64 = 0.3;

/// How far the variance of the instants may be from what was made of noise, slope and shape, as a share.
const OF_INSTANTS: f64 = 0.5;

/// Standard deviation of the periods, less what the instants of the edges themselves scatter: noise
/// over slope where they take samples to pass, the sample interval where they don't. From
/// rising edges, as a period is defined: the falls of a pulse may wander less than its rises.
pub(super) fn measure(
    trace: &Trace<'_>,
    clocks: &[Clock<'_>],
    quantity: Quantity,
    found: &mut Findings,
) {
    let Some(clock) = clocks.iter().find(|c| c.rises) else {
        return;
    };
    let usual = clock.period.samples;
    let single = |w: &[f64]| w[1] - w[0];
    let mut periods: Vec<f64> = clock.edges.windows(2).map(single).collect();
    // a gap that holds missing pulses is no period
    periods.retain(|p| (0.5..1.5).contains(&(p / usual)));
    if periods.len() < FEWEST {
        found.refuse(
            quantity,
            trace.index,
            "fewer than eight periods in the record",
        );
        return;
    }
    let n = periods.len() as f64;
    let seen = stats::summary(&periods).deviation.powi(2);
    let own = period_variance(trace, clock);
    let chance = (2.0 / n).sqrt();
    let most = if told_by_samples(clock) {
        own * (1.0 + by_chance(n - 1.0).hypot(STANDS_OUT * OF_INSTANTS))
    } else {
        STEPPED * n / (n - 1.0)
    };
    let interval_s = trace.interval_s();
    if seen <= most {
        let most = most.max(seen * (1.0 + 2.0 * chance)).sqrt() * interval_s;
        let most = text::engineering(most, Unit::Second, 2);
        let why = format!("no jitter stands out of noise and sample interval: below {most}");
        found.refuse(quantity, trace.index, why);
        return;
    }
    let deviation = (seen - own).sqrt();
    // of n independent periods; those between edges that scatter one by one share an edge
    let of_number = seen * (3.0 / n).sqrt() / (2.0 * deviation);
    let terms = vec![
        Term::normal("number of periods", of_number * interval_s),
        Term::within(
            "instants of the edges",
            OF_INSTANTS * own / deviation / 2.0 * interval_s,
        ),
    ];
    let mut value = Value::from_terms(deviation * interval_s, terms);
    value.count = periods.len();
    let ends = (clock.edges[0], clock.edges[clock.edges.len() - 1]);
    let span = Some((trace.time(ends.0), trace.time(ends.1)));
    found.value(quantity, trace.index, value, span);
}

/// By what share the variance of so many free periods exceeds its mean at most, by chance alone: χ² by the cube
/// root of Wilson and Hilferty (1931).
fn by_chance(free: f64) -> f64 {
    let ninth = 2.0 / (9.0 * free);
    (1.0 - ninth + STANDS_OUT * ninth.sqrt()).powi(3) - 1.0
}

/// Half-width of what a straight line is off by where an edge takes about one sample interval, in samples, and
/// the share of edges that hold a sample from which they do.
const ON_EDGE: f64 = 0.12;
const HOLDING: f64 = 0.65;

/// Do the instants of the edges follow from samples on them, and not just from two samples between which
/// they lie?
fn told_by_samples(clock: &Clock<'_>) -> bool {
    clock.resolved || period::holding_samples(clock.edges) > HOLDING
}

/// Variance that noise and sampling alone put into single periods, in square samples.
fn period_variance(trace: &Trace<'_>, clock: &Clock<'_>) -> f64 {
    if !told_by_samples(clock) {
        // either edge lies anywhere between two samples: a twelfth each
        return 1.0 / 6.0;
    }
    let facts = trace.facts();
    let grain = facts
        .noise
        .max(facts.resolution.unwrap_or(0.0) / 12.0_f64.sqrt());
    let slope = slope_per_sample(trace, clock);
    if slope <= 0.0 {
        return 0.0;
    }
    // linear interpolation between two noisy samples: √(2/3) σ over the slope, as a mean over phase
    let noise = (2.0_f64 / 3.0).sqrt() * grain / slope;
    let shape = shape_variance(trace, clock).unwrap_or_else(|| {
        // the bend of an exponential edge between two samples, Ts²/(8τ) at most
        (0.25 * slope / (facts.max - facts.min)).powi(2)
    });
    let shape = if clock.resolved {
        shape
    } else {
        shape.max(ON_EDGE * ON_EDGE / 3.0)
    };
    // two instants bound a period
    2.0 * (noise * noise + shape)
}

/// Fewest kept edges from which the error of straight lines between samples is told.
const FEWEST_KEPT: usize = 6;

/// Mean square of what straight lines between the samples beside an edge are off by, in square samples: seen
/// as the distance to where a cubic through the four samples around it passes. `None` where too few
/// edges were kept.
fn shape_variance(trace: &Trace<'_>, clock: &Clock<'_>) -> Option<f64> {
    let threshold = trace.pulses()?.threshold;
    let off: Vec<f64> = kept(trace, clock)
        .filter_map(|edge| off_cubic(edge, threshold))
        .collect();
    let squares: f64 = off.iter().map(|d| d * d).sum();
    (off.len() >= FEWEST_KEPT).then(|| squares / off.len() as f64)
}

/// Distance between the crossings of the straight line and of the cubic, in samples.
fn off_cubic(edge: &KeptEdge, threshold: f64) -> Option<f64> {
    let at = (edge.position - edge.first as f64).floor() as usize;
    let four = edge.values.get(at.checked_sub(1)?..at + 3)?;
    let [a, b, c, d] = [four[0], four[1], four[2], four[3]].map(|v| v - threshold);
    // Lagrange through −1, 0, 1, 2
    let cubic = |t: f64| {
        let (before, after) = ((t - 1.0) * (t - 2.0), t * (t + 1.0));
        -t * before * a / 6.0 + (t + 1.0) * before * b / 2.0 - after * (t - 2.0) * c / 2.0
            + after * (t - 1.0) * d / 6.0
    };
    let straight = -b / (c - b);
    let (mut low, mut high) = (0.0, 1.0);
    if !(0.0..=1.0).contains(&straight) || cubic(0.0) * cubic(1.0) > 0.0 {
        return None;
    }
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if cubic(middle) * cubic(0.0) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high) - straight)
}

/// The edges of a clock around which samples were kept.
fn kept<'a>(trace: &Trace<'a>, clock: &Clock<'a>) -> impl Iterator<Item = &'a KeptEdge> {
    let edges = clock.edges;
    let all = trace.pulses().map_or(&[][..], |p| p.kept.as_slice());
    all.iter().filter(move |e| {
        let found = edges.binary_search_by(|p| p.total_cmp(&e.position));
        found.is_ok()
    })
}

/// Slope of the edges at their threshold, in raw units a sample.
fn slope_per_sample(trace: &Trace<'_>, clock: &Clock<'_>) -> f64 {
    let Some(pulses) = trace.pulses() else {
        return 0.0;
    };
    if let Some(turning) = pulses.turning {
        let rising = std::ptr::eq(clock.edges, pulses.rising.as_slice());
        let samples = if rising {
            turning.rise_samples
        } else {
            turning.fall_samples
        };
        return (turning.peak - turning.valley) / samples;
    }
    let half = 0.5 * (pulses.high - pulses.low);
    let mut slopes: Vec<f64> = kept(trace, clock)
        .filter_map(|e| slope_of(e, half))
        .collect();
    if slopes.is_empty() {
        // a ramp of few samples a cycle: it crosses its height in less than a period
        (trace.facts().max - trace.facts().min) / clock.period.samples
    } else {
        stats::median(&mut slopes)
    }
}

/// Slope of an edge about its instant, in raw units a sample: over the two samples beside it, or over as
/// many as lie within `half` of the amplitude, since two that noise put on either side of the threshold
/// are too far apart.
fn slope_of(edge: &KeptEdge, half: f64) -> Option<f64> {
    let at = (edge.position - edge.first as f64).floor() as usize;
    let over = |k: usize| {
        let (from, to) = (
            edge.values.get(at.checked_sub(k)?)?,
            edge.values.get(at + 1 + k)?,
        );
        Some((to - from).abs())
    };
    let mut wide = 0;
    while over(wide + 1).is_some_and(|rise| rise < half) {
        wide += 1;
    }
    Some(over(wide)? / (2 * wide + 1) as f64)
}
