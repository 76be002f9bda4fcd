//! The file dialog of the desktop: made on the UI thread, awaited on a worker.

use std::future::Future;
use std::path::PathBuf;
use std::pin::pin;
use std::sync::Arc;
use std::task::{Context, Poll, Wake, Waker};
use std::thread::Thread;

/// Waits for the answer; runs on a worker. `None` when the user chose nothing.
pub type Answer = Box<dyn FnOnce() -> Option<Vec<PathBuf>> + Send>;

/// Whoever can ask for files.
pub trait PickFiles {
    /// Shows the dialog; called on the UI thread.
    fn ask(&self) -> Answer;
}

/// The dialog of the desktop.
#[derive(Debug, Clone, Copy, Default)]
pub struct DesktopDialog;

impl PickFiles for DesktopDialog {
    fn ask(&self) -> Answer {
        let asked = rfd::AsyncFileDialog::new()
            .set_title("Choose captures")
            .pick_files();
        Box::new(move || {
            let files = wait_for(asked)?;
            Some(files.iter().map(|file| file.path().to_owned()).collect())
        })
    }
}

struct Unpark(Thread);

impl Wake for Unpark {
    fn wake(self: Arc<Self>) {
        self.0.unpark();
    }
}

/// Runs a future to its end on this thread.
fn wait_for<T>(future: impl Future<Output = T>) -> T {
    let mut future = pin!(future);
    let waker = Waker::from(Arc::new(Unpark(std::thread::current())));
    let mut context = Context::from_waker(&waker);
    loop {
        match future.as_mut().poll(&mut context) {
            Poll::Ready(value) => return value,
            Poll::Pending => std::thread::park(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_future_that_is_woken_from_another_thread_comes_to_its_end() {
        let mut asked = 0;
        let value = wait_for(std::future::poll_fn(|context| {
            asked += 1;
            if asked == 3 {
                return Poll::Ready(asked);
            }
            let waker = context.waker().clone();
            std::thread::spawn(move || waker.wake());
            Poll::Pending
        }));
        assert_eq!(value, 3);
    }
}
