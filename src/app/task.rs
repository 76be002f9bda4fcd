//! Work off the UI thread: one value for a piece of work that runs, ends, fails or dies.

use std::sync::Arc;
use std::sync::mpsc::{Receiver, TryRecvError, sync_channel};

use crate::data::Progress;
use crate::inspect::InspectError;

/// How a piece of work ended.
#[derive(Debug)]
pub enum Ended<T> {
    /// With its result.
    Done(T),
    /// With a reason in words.
    Failed(String),
    /// Because the user stopped it.
    Cancelled,
    /// By a fault in the program: the thread went away without an answer.
    Died,
}

/// One kind of work: at rest, or running. What the previous run gave stays with whoever polled it,
/// so it can be shown until the next one ends.
#[derive(Debug)]
pub struct Task<T> {
    number: u64,
    running: Option<Running<T>>,
}

#[derive(Debug)]
struct Running<T> {
    number: u64,
    progress: Arc<Progress>,
    answer: Receiver<(u64, Result<T, InspectError>)>,
}

impl<T> Default for Task<T> {
    fn default() -> Self {
        Self {
            number: 0,
            running: None,
        }
    }
}

impl<T: Send + 'static> Task<T> {
    /// Starts `work` on a thread of this name and calls `wake` when it has answered. A run that is
    /// still under way is told to stop, and its answer is dropped.
    pub fn start(
        &mut self,
        name: &str,
        wake: impl FnOnce() + Send + 'static,
        work: impl FnOnce(&Progress) -> Result<T, InspectError> + Send + 'static,
    ) {
        self.cancel();
        self.number += 1;
        let number = self.number;
        let progress = Arc::new(Progress::new());
        let (sender, answer) = sync_channel(1);
        let shared = Arc::clone(&progress);
        let spawned = std::thread::Builder::new()
            .name(format!("firstpulse-{name}"))
            .spawn(move || {
                // woken also when `work` panics: the sender is gone by then
                let waker = WakeOnDrop(Some(wake));
                let result = work(&shared);
                // nobody listens any more when the run was replaced
                drop(sender.send((number, result)));
                drop(sender);
                drop(waker);
            });
        // without a thread the sender is gone, and the next poll says that the work died
        drop(spawned);
        self.running = Some(Running {
            number,
            progress,
            answer,
        });
    }

    /// The end of the run, once; `None` while it runs and when nothing runs.
    pub fn poll(&mut self) -> Option<Ended<T>> {
        let running = self.running.as_ref()?;
        let ended = match running.answer.try_recv() {
            Err(TryRecvError::Empty) => return None,
            Err(TryRecvError::Disconnected) => Ended::Died,
            Ok((number, _)) if number != running.number => return None,
            // stopped too late to notice: what came out is not wanted any more
            Ok(_) if running.progress.check().is_err() => Ended::Cancelled,
            Ok((_, Ok(result))) => Ended::Done(result),
            Ok((_, Err(InspectError::Cancelled(_)))) => Ended::Cancelled,
            Ok((_, Err(error))) => Ended::Failed(error.to_string()),
        };
        self.running = None;
        Some(ended)
    }
}

impl<T> Task<T> {
    /// Asks the run to stop; it ends as [`Ended::Cancelled`] when it next looks.
    pub fn cancel(&self) {
        if let Some(running) = &self.running {
            running.progress.cancel();
        }
    }

    /// Is something running?
    pub fn is_running(&self) -> bool {
        self.running.is_some()
    }

    /// Share of the work that is done, 0 to 1; `None` when unknown or at rest.
    pub fn fraction(&self) -> Option<f64> {
        self.running.as_ref()?.progress.fraction()
    }
}

struct WakeOnDrop<F: FnOnce()>(Option<F>);

impl<F: FnOnce()> Drop for WakeOnDrop<F> {
    fn drop(&mut self) {
        if let Some(wake) = self.0.take() {
            wake();
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::data::Cancelled;

    fn until_end<T: Send + 'static>(task: &mut Task<T>) -> Ended<T> {
        loop {
            if let Some(ended) = task.poll() {
                return ended;
            }
            std::thread::yield_now();
        }
    }

    #[test]
    fn a_run_ends_once_and_the_answer_of_a_replaced_run_is_dropped() {
        let mut task = Task::default();
        task.start("first", || {}, |_| Ok(1));
        task.start("second", || {}, |_| Ok(2));
        assert!(matches!(until_end(&mut task), Ended::Done(2)));
        assert!(task.poll().is_none() && !task.is_running());
    }

    #[test]
    fn failure_stop_and_death_are_told_apart() {
        let mut task: Task<()> = Task::default();
        task.start("fail", || {}, |_| Err(InspectError::Option("no".into())));
        assert!(matches!(until_end(&mut task), Ended::Failed(why) if why == "no"));
        task.start(
            "stop",
            || {},
            |progress| {
                while progress.check().is_ok() {
                    std::thread::yield_now();
                }
                Err(InspectError::Cancelled(Cancelled))
            },
        );
        task.cancel();
        assert!(matches!(until_end(&mut task), Ended::Cancelled));
        task.start("late", || {}, |_| Ok(()));
        task.cancel();
        assert!(matches!(until_end(&mut task), Ended::Cancelled));
        task.start("die", || {}, |_| panic!("on purpose"));
        assert!(matches!(until_end(&mut task), Ended::Died));
    }
}
