//! VCC on a stair as a hidden Markov chain: the shares of levels and ages of the landing, group by group of
//! samples.

/// Ages of a landing that are told apart, in groups: none lasts more than about twice the usual time.
const AGES: usize = 26;
/// Levels in a step.
pub(super) const FINE: i64 = 10;
/// Levels that are looked at on either side of the smooth course: a landing lies within a step of it, and
/// half a step more where the hand was fast or slow.
const ASIDE: i64 = 16;
/// Steps differ by a tenth: in so many levels, with these shares.
const STEPS: [(i64, f64); 3] = [(FINE - 1, 0.25), (FINE, 0.5), (FINE + 1, 0.25)];
/// Standard deviation of the lengths of landings, as a share of the usual one (common practice).
const LENGTHS: f64 = 0.15;
/// The logarithm of the chance of a code that lies so far from the level, but for a constant.
pub(super) struct Seen {
    table: Vec<f64>,
    per_v: f64,
}

/// Entries of the table, and noises that it reaches to: what lies further off is a disturbance.
const ENTRIES: usize = 400;
const REACH: f64 = 6.0;

impl Seen {
    pub fn new(sigma: f64, code: f64) -> Self {
        let per_v = ENTRIES as f64 / (REACH * sigma + code);
        let density = |off: f64| (-0.5 * (off / sigma).powi(2)).exp();
        let of = |k: usize| {
            let off = k as f64 / per_v;
            // the middle of 16 parts of the code step, by turns
            let parts = (0..16).map(|p| density(off + code * ((f64::from(p) + 0.5) / 16.0 - 0.5)));
            (parts.sum::<f64>() / 16.0).max(1e-12).ln()
        };
        Self {
            table: (0..=ENTRIES).map(of).collect(),
            per_v,
        }
    }

    pub fn ln(&self, off: f64) -> f64 {
        self.table[((off.abs() * self.per_v + 0.5) as usize).min(ENTRIES)]
    }
}

/// The values of a group, each once, with how often it comes: samples are codes, and few differ.
fn counted(group: &[f64]) -> Vec<(f64, f64)> {
    let mut sorted = group.to_vec();
    sorted.sort_unstable_by(f64::total_cmp);
    let same = sorted.chunk_by(|a, b| a.total_cmp(b).is_eq());
    same.map(|codes| (codes[0], codes.len() as f64)).collect()
}

const LEVELS: usize = 2 * ASIDE as usize + 1;

/// Shares of levels and ages, group by group.
pub(super) struct Chain {
    fine: f64,
    up: i64,
    /// The lowest level that is looked at, in fine levels.
    lowest: i64,
    share: Vec<[f64; AGES]>,
    /// The chance that a landing of each age ends with the group.
    ends: [f64; AGES],
    /// Logarithm of the likelihood of all groups so far.
    pub ln: f64,
    /// The last length of a landing with its ages.
    aged: Option<(f64, [f64; AGES], [f64; AGES])>,
}

impl Chain {
    pub fn new(fine: f64, up: bool) -> Self {
        Self {
            fine,
            up: if up { 1 } else { -1 },
            lowest: 0,
            share: Vec::new(),
            ends: [0.0; AGES],
            ln: 0.0,
            aged: None,
        }
    }

    /// One group further, where landings last so many groups.
    pub fn climb(&mut self, group: &[f64], middle: f64, length: f64, seen: &Seen) {
        let lowest = (middle / self.fine).round() as i64 - ASIDE;
        let (stays, ends) = self.ages(length);
        let mut share = if self.share.is_empty() {
            vec![stays; LEVELS]
        } else {
            self.moved(lowest)
        };
        let codes = counted(group);
        let chance = |k: usize| -> f64 {
            let level = (lowest + k as i64) as f64 * self.fine;
            let each = codes.iter().map(|(v, count)| count * seen.ln(v - level));
            each.sum()
        };
        let chances: Vec<f64> = (0..LEVELS).map(chance).collect();
        let top = chances.iter().copied().fold(f64::MIN, f64::max);
        let mut whole = 0.0;
        for (ages, chance) in share.iter_mut().zip(&chances) {
            let factor = (chance - top).exp();
            ages.iter_mut().for_each(|a| *a *= factor);
            whole += ages.iter().sum::<f64>();
        }
        let before = if self.share.is_empty() {
            LEVELS as f64 * stays.iter().sum::<f64>()
        } else {
            1.0
        };
        self.ln += (whole / before).max(f64::MIN_POSITIVE).ln() + top;
        let scale = 1.0 / whole.max(f64::MIN_POSITIVE);
        share.iter_mut().flatten().for_each(|a| *a *= scale);
        (self.share, self.lowest, self.ends) = (share, lowest, ends);
    }

    /// [`ages`], which stay the same along a straight piece of the course.
    fn ages(&mut self, length: f64) -> ([f64; AGES], [f64; AGES]) {
        match self.aged {
            Some((same, stays, ends)) if same.to_bits() == length.to_bits() => (stays, ends),
            _ => {
                let (stays, ends) = ages(length);
                self.aged = Some((length, stays, ends));
                (stays, ends)
            }
        }
    }

    /// The shares at the beginning of the next group: a group older, or on the next landing.
    fn moved(&self, lowest: i64) -> Vec<[f64; AGES]> {
        let mut share = vec![[0.0; AGES]; LEVELS];
        let place = |k: usize, by: i64| {
            let to = self.lowest - lowest + k as i64 + by;
            usize::try_from(to).ok().filter(|to| *to < LEVELS)
        };
        for (k, ages) in self.share.iter().enumerate() {
            if let Some(to) = place(k, 0) {
                for age in 1..AGES {
                    share[to][age] = ages[age - 1] * (1.0 - self.ends[age - 1]);
                }
            }
        }
        for (k, ages) in self.share.iter().enumerate() {
            let ended: f64 = ages.iter().zip(&self.ends).map(|(a, e)| a * e).sum();
            for (by, part) in STEPS {
                if let Some(to) = place(k, self.up * by) {
                    share[to][0] += part * ended;
                }
            }
        }
        share
    }

    /// Level of the last landing, which ends with the stretch, and its standard uncertainty.
    pub fn last(&self) -> Option<(f64, f64)> {
        let ended = |ages: &[f64; AGES]| ages.iter().zip(&self.ends).map(|(a, e)| a * e).sum();
        let weights: Vec<f64> = self.share.iter().map(ended).collect();
        let whole: f64 = weights.iter().sum();
        let level = |k: usize| (self.lowest + k as i64) as f64 * self.fine;
        let mean = |of: &dyn Fn(f64) -> f64| {
            let parts = weights.iter().enumerate().map(|(k, w)| w * of(level(k)));
            parts.sum::<f64>() / whole
        };
        let middle = mean(&|v| v);
        (whole > 0.0).then(|| (middle, mean(&|v| (v - middle).powi(2)).sqrt()))
    }
}

/// By the age of a landing, where they last so many groups: the chance that it reaches the age, and that it
/// ends then.
fn ages(length: f64) -> ([f64; AGES], [f64; AGES]) {
    let (mut reaches, mut ends) = ([0.0; AGES], [1.0; AGES]);
    let mut left = 0.0;
    for age in (0..AGES).rev() {
        let off = ((age as f64 + 1.0) / length - 1.0) / LENGTHS;
        let here = (-0.5 * off * off).exp().max(1e-12);
        left += here;
        ends[age] = here / left;
        reaches[age] = left;
    }
    (reaches, ends)
}
