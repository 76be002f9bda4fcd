//! Samples in the width in which they came, read in blocks, and counted as they are read.

use std::sync::atomic::{AtomicU64, Ordering};

/// The stored codes or values of one channel.
#[derive(Debug, Clone, PartialEq)]
pub enum Store {
    /// 8-bit codes, unsigned.
    U8(Vec<u8>),
    /// 8-bit codes, signed.
    I8(Vec<i8>),
    /// 16-bit codes, unsigned.
    U16(Vec<u16>),
    /// 16-bit codes, signed.
    I16(Vec<i16>),
    /// 32-bit codes, signed.
    I32(Vec<i32>),
    /// Values that round-trip in single precision within the digits of their file.
    F32(Vec<f32>),
    /// Values that need double precision.
    F64(Vec<f64>),
}

impl Store {
    /// How many samples.
    pub fn len(&self) -> usize {
        match self {
            Store::U8(v) => v.len(),
            Store::I8(v) => v.len(),
            Store::U16(v) => v.len(),
            Store::I16(v) => v.len(),
            Store::I32(v) => v.len(),
            Store::F32(v) => v.len(),
            Store::F64(v) => v.len(),
        }
    }

    /// True when there is no sample.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Bytes that the samples take.
    pub fn bytes(&self) -> usize {
        let width = match self {
            Store::U8(_) | Store::I8(_) => 1,
            Store::U16(_) | Store::I16(_) => 2,
            Store::I32(_) | Store::F32(_) => 4,
            Store::F64(_) => 8,
        };
        width * self.len()
    }
}

/// Samples of one channel: `value = code × scale + offset`. Missing samples read as NaN.
///
/// Every sample handed out is counted in [`Samples::visited`], so that a test can prove what an
/// operation costs.
#[derive(Debug)]
pub struct Samples {
    store: Store,
    scale: f64,
    offset: f64,
    visited: AtomicU64,
}

/// Samples that an algorithm should ask for at a time: fits the first-level cache.
pub const BLOCK: usize = 4096;

impl Clone for Samples {
    /// The same samples; what was handed out so far counts for the copy too.
    fn clone(&self) -> Self {
        Self {
            store: self.store.clone(),
            scale: self.scale,
            offset: self.offset,
            visited: AtomicU64::new(self.visited()),
        }
    }
}

impl Samples {
    /// Codes with the factor and offset that make values of them.
    pub fn new(store: Store, scale: f64, offset: f64) -> Self {
        Self {
            store,
            scale,
            offset,
            visited: AtomicU64::new(0),
        }
    }

    /// Values that need no scaling.
    pub fn from_values(values: Vec<f64>) -> Self {
        Self::new(Store::F64(values), 1.0, 0.0)
    }

    /// How many samples.
    pub fn len(&self) -> usize {
        self.store.len()
    }

    /// True when there is no sample.
    pub fn is_empty(&self) -> bool {
        self.store.is_empty()
    }

    /// What is stored.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// Value of one code step, when samples are integer codes.
    pub fn code_step(&self) -> Option<f64> {
        (!matches!(self.store, Store::F32(_) | Store::F64(_))).then_some(self.scale.abs())
    }

    /// Fills `out` with the values from `start` on, as many as there are; returns how many.
    pub fn read(&self, start: usize, out: &mut [f64]) -> usize {
        let start = start.min(self.len());
        let count = out.len().min(self.len() - start);
        let (scale, offset) = (self.scale, self.offset);
        macro_rules! convert {
            ($codes:expr) => {
                for (to, from) in out.iter_mut().zip(&$codes[start..start + count]) {
                    *to = f64::from(*from) * scale + offset;
                }
            };
        }
        match &self.store {
            Store::U8(v) => convert!(v),
            Store::I8(v) => convert!(v),
            Store::U16(v) => convert!(v),
            Store::I16(v) => convert!(v),
            Store::I32(v) => convert!(v),
            Store::F32(v) => convert!(v),
            Store::F64(v) if scale.to_bits() == 1.0_f64.to_bits() && offset == 0.0 => {
                out[..count].copy_from_slice(&v[start..start + count]);
            }
            Store::F64(v) => convert!(v),
        }
        self.visited.fetch_add(count as u64, Ordering::Relaxed);
        count
    }

    /// The values of `range` (cut at the end of the record).
    pub fn slice(&self, range: std::ops::Range<usize>) -> Vec<f64> {
        let end = range.end.min(self.len());
        let mut out = vec![0.0; end.saturating_sub(range.start)];
        self.read(range.start, &mut out);
        out
    }

    /// One value; `None` past the end.
    pub fn at(&self, index: usize) -> Option<f64> {
        let mut out = [0.0];
        (self.read(index, &mut out) == 1).then_some(out[0])
    }

    /// Calls `visit(first_index, values)` for block after block of `range`.
    pub fn for_each_block(
        &self,
        range: std::ops::Range<usize>,
        mut visit: impl FnMut(usize, &[f64]),
    ) {
        let mut buffer = vec![0.0; BLOCK];
        let end = range.end.min(self.len());
        let mut at = range.start;
        while at < end {
            let want = BLOCK.min(end - at);
            let count = self.read(at, &mut buffer[..want]);
            visit(at, &buffer[..count]);
            at += count;
        }
    }

    /// How many samples have been handed out so far, over all callers.
    pub fn visited(&self) -> u64 {
        self.visited.load(Ordering::Relaxed)
    }
}
