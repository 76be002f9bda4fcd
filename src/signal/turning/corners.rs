//! Where rise and fall meet.

use super::cloud::Cloud;
use super::curve::{Curve, Shapes};

/// A turning point.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    /// Distance from the falling edge, in samples.
    pub(super) x: f64,
    /// Level.
    pub(super) level: f64,
    /// Standard uncertainty of it.
    pub(super) u_level: f64,
}

/// Both turning points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corners {
    pub(super) peak: Corner,
    pub(super) valley: Corner,
    /// Standard uncertainty of the samples between them.
    pub(super) u_length: f64,
    /// Standard deviation of a falling edge by noise, in samples; 0 where falls are steps.
    pub(super) u_edge: f64,
    /// Standard deviation of the samples about the rise.
    pub(super) noise: f64,
}

impl Corners {
    /// `None` where the curves do not meet near the fall.
    pub(super) fn of(cloud: &Cloud, shapes: &Shapes) -> Option<Self> {
        let Some(fall) = &shapes.fall else {
            return stepped(cloud, shapes);
        };
        let length = cloud.mean_length();
        let peak = meet(&shapes.before, fall, (-0.5 * length, length))?;
        let valley = meet(&shapes.after, fall, (0.5 * length, length))?;
        let steepness = (peak.level - valley.level) / (valley.x - peak.x);
        // the slopes of rise and fall against each other turn levels into samples
        let against = |rise: &Curve, at: &Corner| rise.slope(at.x) - fall.slope(at.x);
        let (first, last) = (
            against(&shapes.before, &peak),
            against(&shapes.after, &valley),
        );
        let rises = (shapes.before.u_at(peak.x) / first).hypot(shapes.after.u_at(valley.x) / last);
        let own = fall.u_between(peak.x, valley.x) / first.min(last);
        (steepness > 0.0).then(|| Self {
            peak,
            valley,
            u_length: own.hypot(rises),
            u_edge: fall.scatter() / steepness,
            noise: shapes.noise(),
        })
    }
}

/// Newton's method from a first guess, no farther than `reach` from it.
fn meet(rise: &Curve, fall: &Curve, (from, reach): (f64, f64)) -> Option<Corner> {
    let mut x = from;
    for _ in 0..40 {
        x -= (rise.at(x) - fall.at(x)) / (rise.slope(x) - fall.slope(x));
    }
    let (up, down) = (rise.slope(x), fall.slope(x));
    let near = x.is_finite() && (x - from).abs() < reach && down < up;
    // either curve off by its own error moves the corner along the other
    near.then(|| Corner {
        x,
        level: rise.at(x),
        u_level: (down * rise.u_at(x)).hypot(up * fall.u_at(x)) / (up - down),
    })
}

/// Corners of a fall faster than the samples: with the cycles laid over each other on equal spacing,
/// the last sample still on the rise and the first no longer on it bound the peak, and so for the
/// valley. Half-widths become a standard uncertainty as of a rectangle.
fn stepped(cloud: &Cloud, shapes: &Shapes) -> Option<Corners> {
    let (before, after) = (&shapes.before, &shapes.after);
    let height = before.at(0.0) - after.at(0.0);
    let off = |fit: &Curve| (5.0 * fit.scatter()).max(0.04 * height);
    let (from, to) = (off(before), off(after));
    let (mut last_up, mut first_off) = (f64::NEG_INFINITY, f64::INFINITY);
    let (mut last_off, mut first_down) = (f64::NEG_INFINITY, f64::INFINITY);
    for (x, y) in &cloud.near {
        if before.at(*x) - y < from {
            last_up = last_up.max(*x);
        } else {
            first_off = first_off.min(*x);
        }
        if y - after.at(*x) < to {
            first_down = first_down.min(*x);
        } else {
            last_off = last_off.max(*x);
        }
    }
    let (peak, valley) = (0.5 * (last_up + first_off), 0.5 * (last_off + first_down));
    // a sample counts as off the rise after that share of the fall only: back to its begin and end
    let (begun, left) = (from / height, to / height);
    let whole = (valley - peak).max(0.0) / (1.0 - begun - left).max(0.3);
    let (peak, valley) = (peak - begun * whole, valley + left * whole);
    let open = 0.5
        * (first_off - last_up)
            .abs()
            .max((first_down - last_off).abs());
    let u_x = (open + cloud.doubt) / 3.0_f64.sqrt();
    let corner = |rise: &Curve, x: f64| Corner {
        x,
        level: rise.at(x),
        u_level: rise.u_at(x).hypot(rise.slope(x) * u_x),
    };
    (peak.is_finite() && valley.is_finite()).then(|| Corners {
        peak: corner(before, peak),
        valley: corner(after, valley.max(peak)),
        u_length: 2.0_f64.sqrt() * u_x,
        u_edge: 0.0,
        noise: shapes.noise(),
    })
}
