//! A flat piece of a channel: its mean, for setting the channel to a meter.

use crate::data::{Channel, Facts};
use crate::signal::resolution::left_by_rounding;

/// Most samples that are read for one piece; of a longer one the pyramid's block means serve.
const MOST_READ: usize = 512;

/// Fewest block means that serve.
const FEWEST_MEANS: usize = 8;

/// A piece that moves by more than this many times its scatter from its first to its last third is
/// not flat.
const STEADY: f64 = 4.5;

/// A flat piece, in raw values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Flat {
    /// Mean of its samples.
    pub mean: f64,
    /// Standard uncertainty of the mean, from noise.
    pub u: f64,
    /// First and last sample.
    pub samples: (usize, usize),
}

/// Why a piece gives no mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum NotFlat {
    /// It holds fewer than four samples that are numbers.
    Short,
    /// It moves by so much, in raw units.
    Moves(f64),
    /// Some of it lies at the end of the range.
    Clipped,
}

/// The samples from `first` to `last`, which must be flat.
pub(super) fn between(
    channel: &Channel,
    facts: &Facts,
    first: usize,
    last: usize,
) -> Result<Flat, NotFlat> {
    if channel.clipped.count_in(first..last + 1) > 0 {
        return Err(NotFlat::Clipped);
    }
    let points = points(channel, facts, first, last);
    let third = points.len() / 3;
    if points.len() < 4 {
        return Err(NotFlat::Short);
    }
    let mean = |p: &[f64]| p.iter().sum::<f64>() / p.len() as f64;
    let whole = mean(&points);
    let moved = mean(&points[..third.max(1)]) - mean(&points[points.len() - third.max(1)..]);
    let count = (last + 1 - first) as f64;
    let deviation = (points.iter().map(|v| (v - whole).powi(2)).sum::<f64>()
        / (points.len() - 1) as f64)
        .sqrt();
    // a whole code may come and go in a piece that the meter calls steady
    let allowed =
        (STEADY * facts.noise / (third.max(1) as f64).sqrt()).max(1.01 * bare_code(facts));
    let code = facts.resolution.unwrap_or(0.0);
    if moved.abs()
        > allowed
            .max(0.5 * facts.noise)
            .max(0.3 * deviation)
            .max(0.3 * code)
    {
        return Err(NotFlat::Moves(moved.abs()));
    }
    // what scatters may be ripple, which block means share: they count as single values
    let u = (facts.noise / count.sqrt()).max(deviation / (points.len() as f64).sqrt());
    Ok(Flat {
        mean: whole,
        u,
        samples: (first, last),
    })
}

/// The code step where noise is too small to carry the signal across codes (common practice: below
/// 0.4 of a step), else 0.
fn bare_code(facts: &Facts) -> f64 {
    let code = facts.resolution.unwrap_or(0.0);
    if facts.noise < 0.4 * code { code } else { 0.0 }
}

/// What rounding to codes leaves of the mean, half-width in raw values.
pub(super) fn rounding(facts: &Facts) -> f64 {
    left_by_rounding(facts.resolution.unwrap_or(0.0), facts.noise)
}

/// Samples of the piece, or block means where they are many; missing ones left out.
fn points(channel: &Channel, facts: &Facts, first: usize, last: usize) -> Vec<f64> {
    let base = facts.pyramid.base.max(1);
    let samples = last + 1 - first;
    let mut values = if samples <= MOST_READ || samples < FEWEST_MEANS * base {
        channel.valid_slice(first..last + 1)
    } else {
        let end = ((last + 1) / base).min(facts.pyramid.means.len());
        facts.pyramid.means[first.div_ceil(base).min(end)..end].to_vec()
    };
    values.retain(|v| v.is_finite());
    values
}

/// Samples that a piece around an instant reaches over at most, to either side.
const FARTHEST: usize = 200_000;

/// Blocks of the pyramid that a piece around an instant spans at least: less of a slow rise looks flat.
const FEWEST_BLOCKS: usize = 5;

/// A block of fewer samples is one code or the other.
const FEW_A_BLOCK: usize = 16;

/// A slope goes on beyond the piece on both sides, about as fast as within it: so many times what a piece may move.
const AS_FAST: f64 = 5.5;

/// By how much the level moves over three times the length of a piece of blocks, where that is no piece but a part
/// of a slope.
fn goes_on(means: &[f64], (begin, end): (usize, usize), level: f64, allowed: f64) -> Option<f64> {
    let length = end + 1 - begin;
    let before = begin.checked_sub(length).map(|b| means[b] - level)?;
    let after = means.get(end + length)? - level;
    let slow = |by: f64| by.abs() > allowed && by.abs() < AS_FAST * allowed;
    (before * after < 0.0 && slow(before) && slow(after)).then_some((after - before).abs())
}

/// The flat piece around sample `at`: as far to either side as block means stay within the noise of
/// the block that holds it.
pub(super) fn around(channel: &Channel, facts: &Facts, at: usize) -> Result<Flat, NotFlat> {
    let base = facts.pyramid.base.max(1);
    let means = &facts.pyramid.means;
    let length = channel.samples.len();
    let middle = at / base;
    // a level half way between two codes shows now the one and now the other
    let codes = if base < FEW_A_BLOCK { 1.01 } else { 0.6 };
    let allowed = (4.0 * facts.noise / (base as f64).sqrt()).max(codes * bare_code(facts));
    let Some(level) = means.get(middle).filter(|v| v.is_finite()) else {
        return Err(NotFlat::Short);
    };
    let near = |block: &usize| (means[*block] - level).abs() <= allowed;
    let most = FARTHEST / base;
    let begin = (middle.saturating_sub(most)..middle)
        .rev()
        .take_while(near)
        .last();
    let end = (middle + 1..means.len().min(middle + most))
        .take_while(near)
        .last();
    let (begin, end) = (begin.unwrap_or(middle), end.unwrap_or(middle));
    if end + 1 - begin < FEWEST_BLOCKS {
        let beside = [begin.saturating_sub(1), (end + 1).min(means.len() - 1)];
        let moved = beside.map(|b| (means[b] - level).abs());
        return Err(NotFlat::Moves(moved[0].max(moved[1])));
    }
    if let Some(moved) = goes_on(means, (begin, end), *level, allowed) {
        return Err(NotFlat::Moves(moved));
    }
    // the outermost blocks may hold the corner where the level leaves
    let last = (end * base).min(length).saturating_sub(1);
    between(channel, facts, (begin + 1) * base, last)
}
