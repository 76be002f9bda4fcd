//! How a hand turns a supply: how often it changes its speed, and by how much. Every record shows some of it,
//! and what is known beforehand fills up the rest.

use crate::signal::Line;

use super::super::course::{Hand, Left, SURE, UNEXPLAINED};
use super::lead::Lead;

/// What is known of hands beforehand counts as much as so many volts and bends of the record (chosen on drawn records of an even
/// and an uneven hand, and judged on others).
const BEFOREHAND: f64 = 1.2;
/// A piece that is slower than so much of its neighbour is a rest before or after the turning, no bend of it.
const RESTS: f64 = 0.12;
/// A single bend says no more than this of the others.
const MOST_BY: f64 = 4.0;
/// Slopes that differ by so many standard deviations do.
const DIFFER: f64 = 3.0;
/// Of the bends that there are so many are sure ones, the others too small or too near an end (drawn records of
/// hands of both kinds).
const SURE_ONES: f64 = 0.7;

/// By the courses before all events, each with the standard deviation of its samples.
pub(super) fn of<'a>(leads: impl Iterator<Item = (&'a Lead, f64)>) -> Hand {
    let usual = Hand::default();
    let (mut volts, mut bends) = (BEFOREHAND, 0.0);
    let mut square = BEFOREHAND * usual.by * usual.by;
    // without any noise each rounding of a number would be a bend
    for (lead, sigma) in leads.filter(|(_, sigma)| *sigma > 0.0) {
        let pieces = pieces(lead, sigma);
        let moves = |piece: &Line| piece.slope > 0.0;
        let of_piece = |p: &Line| p.slope * (p.count - 1) as f64;
        volts += pieces
            .iter()
            .filter(|p| moves(p))
            .map(of_piece)
            .sum::<f64>();
        for pair in pieces.windows(2).filter(|p| p.iter().all(moves)) {
            let ratio = pair[0].slope / pair[1].slope;
            if differ(pair, sigma) && (RESTS..1.0 / RESTS).contains(&ratio) {
                bends += 1.0;
                square += (ratio - 1.0).min(MOST_BY).powi(2);
            }
        }
    }
    Hand {
        bends_per_v: (BEFOREHAND * usual.bends_per_v + bends / SURE_ONES) / volts,
        by: (square / (BEFOREHAND + bends)).sqrt(),
    }
}

/// Do two pieces differ in slope? Between two bends the first cut may lie where there is none.
fn differ(pair: &[Line], sigma: f64) -> bool {
    let u = |line: &Line| line.u_slope() * sigma / line.scatter.max(f64::MIN_POSITIVE);
    (pair[0].slope - pair[1].slope).abs() > DIFFER * u(&pair[0]).hypot(u(&pair[1]))
}

/// The course before an event as lines between sure bends, up or down as it went; none where more than noise
/// scatters about them.
fn pieces(lead: &Lead, sigma: f64) -> Vec<Line> {
    let plain = if lead.tone.amplitude > 0.0 {
        &lead.clean
    } else {
        &lead.longer
    };
    let sign = lead.kind.way();
    let points: Vec<(f64, f64)> = plain
        .iter()
        .enumerate()
        .map(|(i, v)| (i as f64, sign * v))
        .collect();
    let mut pieces = Vec::new();
    cut(&points, sigma, &mut pieces);
    let squares = pieces
        .iter()
        .map(|p| p.scatter * p.scatter * p.count as f64)
        .sum::<f64>();
    let count = pieces.iter().map(|p| p.count).sum::<usize>().max(1) as f64;
    if (squares / count).sqrt() > UNEXPLAINED * sigma {
        pieces.clear();
    }
    pieces
}

/// Lines between sure bends, in time order.
fn cut(points: &[(f64, f64)], sigma: f64, pieces: &mut Vec<Line>) {
    let Some(line) = Line::fit(points.iter().copied()) else {
        return;
    };
    let surest = Left::of(points, &line, sigma).and_then(|left| left.surest());
    match surest {
        Some((index, size)) if size > SURE => {
            cut(&points[..index], sigma, pieces);
            cut(&points[index..], sigma, pieces);
        }
        _ => pieces.push(line),
    }
}

#[cfg(test)]
mod tests {
    use super::super::lead::made;
    use super::*;
    use crate::bench::drawn;
    use crate::data::EventKind;

    const SIGMA: f64 = 0.02;

    /// 400 levels up to an event, in pieces of these slopes (volts a level).
    fn lead(slopes: &[f64]) -> Lead {
        let each = 400 / slopes.len();
        let mut noise = drawn::noise(5);
        let mut level = 10.0;
        let one = |i: usize| {
            level += slopes[i / each];
            level + SIGMA * noise()
        };
        made::lead(
            EventKind::Start,
            (0..each * slopes.len()).map(one).collect(),
        )
    }

    fn hand(leads: &[Lead]) -> Hand {
        of(leads.iter().map(|lead| (lead, SIGMA)))
    }

    #[test]
    fn nothing_seen_leaves_what_is_known_beforehand() {
        assert_eq!(hand(&[]), Hand::default());
    }

    /// Eight volts without a bend: seldom from then on. Eight volts with one of a factor of 2 or a half every
    /// half volt: about as often, and by as much.
    #[test]
    fn the_record_tells_how_a_hand_turns() {
        let even: Vec<Lead> = (0..4).map(|_| lead(&[0.005])).collect();
        let even = hand(&even);
        assert!(even.bends_per_v < 0.1, "{even:?}");
        let uneven: Vec<Lead> = (0..4)
            .map(|_| lead(&[0.0033, 0.0067, 0.0033, 0.0067]))
            .collect();
        let uneven = hand(&uneven);
        assert!((1.2..2.8).contains(&uneven.bends_per_v), "{uneven:?}");
        assert!((0.5..1.0).contains(&uneven.by), "{uneven:?}");
    }

    /// Down to rest and up again is a turning, not an uneven hand.
    #[test]
    fn a_turning_point_is_no_bend() {
        let turned: Vec<Lead> = (0..4).map(|_| lead(&[-0.005, 0.0, 0.005])).collect();
        let turned = hand(&turned);
        assert!(
            turned.bends_per_v < Hand::default().bends_per_v,
            "{turned:?}"
        );
    }

    /// Scatter that no noise explains says nothing of the hand.
    #[test]
    fn unexplained_scatter_is_left_out() {
        let mut one = lead(&[0.005]);
        for (i, v) in one.longer.iter_mut().enumerate() {
            *v += 0.2 * (1.9 * i as f64).sin();
        }
        assert_eq!(hand(&[one]), Hand::default());
    }
}
