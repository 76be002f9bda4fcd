//! How long work reports, is cancelled and is spread, without knowing a thread.

use std::sync::atomic::{AtomicBool, AtomicU64, Ordering};

/// The user asked for the work to stop.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("cancelled")]
pub struct Cancelled;

/// A counter and a flag shared between whoever works and whoever waits.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicU64,
    total: AtomicU64,
    cancelled: AtomicBool,
}

impl Progress {
    /// Nothing done, nothing known.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds to the work that is known to lie ahead (bytes or samples: the caller's choice).
    pub fn expect(&self, more: u64) {
        self.total.fetch_add(more, Ordering::Relaxed);
    }

    /// Adds to the work done.
    ///
    /// # Errors
    /// [`Cancelled`] when the work should stop.
    pub fn advance(&self, by: u64) -> Result<(), Cancelled> {
        self.done.fetch_add(by, Ordering::Relaxed);
        self.check()
    }

    /// # Errors
    /// [`Cancelled`] when the work should stop.
    pub fn check(&self) -> Result<(), Cancelled> {
        if self.cancelled.load(Ordering::Relaxed) {
            Err(Cancelled)
        } else {
            Ok(())
        }
    }

    /// Asks the work to stop.
    pub fn cancel(&self) {
        self.cancelled.store(true, Ordering::Relaxed);
    }

    /// Share of the known work that is done, 0 to 1; `None` while nothing is known.
    pub fn fraction(&self) -> Option<f64> {
        let total = self.total.load(Ordering::Relaxed);
        (total > 0).then(|| (self.done.load(Ordering::Relaxed) as f64 / total as f64).min(1.0))
    }
}

/// Runs pieces of work that do not depend on each other. Only `inspect` has one with threads.
pub trait Runner: Sync {
    /// How many pieces can run at once, at least 1.
    fn width(&self) -> usize;

    /// Calls `work(0)` to `work(pieces − 1)`, each once, in any order, and waits for all.
    fn run(&self, pieces: usize, work: &(dyn Fn(usize) + Sync));
}

/// Runs one piece after the other.
#[derive(Debug, Clone, Copy, Default)]
pub struct SerialRunner;

impl Runner for SerialRunner {
    fn width(&self) -> usize {
        1
    }

    fn run(&self, pieces: usize, work: &(dyn Fn(usize) + Sync)) {
        for piece in 0..pieces {
            work(piece);
        }
    }
}
