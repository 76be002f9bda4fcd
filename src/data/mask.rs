//! A set of sample indices: one bit a sample, nothing at all while the set is empty.

/// Which samples of a channel are marked (missing, or clipped).
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Mask {
    words: Vec<u64>,
    marked: u64,
}

impl Mask {
    /// An empty set; takes no memory until something is marked.
    pub fn new() -> Self {
        Self::default()
    }

    /// How many samples are marked.
    pub fn count(&self) -> u64 {
        self.marked
    }

    /// True when no sample is marked.
    pub fn is_empty(&self) -> bool {
        self.marked == 0
    }

    /// Marks sample `index`.
    pub fn mark(&mut self, index: usize) {
        let word = index / 64;
        if word >= self.words.len() {
            self.words.resize(word + 1, 0);
        }
        let bit = 1_u64 << (index % 64);
        if self.words[word] & bit == 0 {
            self.words[word] |= bit;
            self.marked += 1;
        }
    }

    /// Is sample `index` marked? False past the end.
    pub fn contains(&self, index: usize) -> bool {
        self.words
            .get(index / 64)
            .is_some_and(|word| word >> (index % 64) & 1 == 1)
    }

    /// How many samples are marked in `range`.
    pub fn count_in(&self, range: std::ops::Range<usize>) -> u64 {
        if self.is_empty() {
            return 0;
        }
        range.filter(|&index| self.contains(index)).count() as u64
    }

    /// Adds all of `other`, its indices moved up by `by`.
    pub fn extend_shifted(&mut self, other: &Mask, by: usize) {
        for (position, word) in other.words.iter().enumerate() {
            let mut rest = *word;
            while rest != 0 {
                self.mark(by + position * 64 + rest.trailing_zeros() as usize);
                rest &= rest - 1;
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_counted_once_and_shift() {
        let mut mask = Mask::new();
        for index in [3, 3, 64, 200] {
            mask.mark(index);
        }
        assert_eq!(mask.count(), 3);
        assert!(mask.contains(64) && !mask.contains(65) && !mask.contains(10_000));
        let mut moved = Mask::new();
        moved.extend_shifted(&mask, 10);
        assert!(moved.contains(13) && moved.contains(74) && moved.contains(210));
        assert_eq!(moved.count_in(0..100), 2);
    }
}
