//! Scoped threads behind [`Runner`]: the only place below the faces that knows threads.

use std::sync::atomic::{AtomicUsize, Ordering};

use crate::data::Runner;

/// Spreads pieces over as many named threads as there are cores.
#[derive(Debug, Clone, Copy)]
pub struct ThreadRunner {
    threads: usize,
}

impl ThreadRunner {
    /// One thread a core.
    pub fn new() -> Self {
        Self {
            threads: std::thread::available_parallelism().map_or(1, usize::from),
        }
    }
}

impl Default for ThreadRunner {
    fn default() -> Self {
        Self::new()
    }
}

impl Runner for ThreadRunner {
    fn width(&self) -> usize {
        self.threads
    }

    fn run(&self, pieces: usize, work: &(dyn Fn(usize) + Sync)) {
        let next = AtomicUsize::new(0);
        let pull = || loop {
            let piece = next.fetch_add(1, Ordering::Relaxed);
            if piece >= pieces {
                break;
            }
            work(piece);
        };
        std::thread::scope(|scope| {
            for number in 1..self.threads.min(pieces) {
                let named = std::thread::Builder::new().name(format!("firstpulse-work-{number}"));
                // a thread that can't be had is no harm: the others take its pieces
                drop(named.spawn_scoped(scope, pull));
            }
            pull();
        });
    }
}
