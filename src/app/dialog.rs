//! What the desktop does for the window: its file dialog, made on the UI thread and awaited on a worker,
//! and a file shown in the program that it has for it.

use std::future::Future;
use std::path::PathBuf;
use std::pin::pin;
use std::sync::Arc;
use std::task::{Context, Poll, Wake, Waker};
use std::thread::Thread;

use rfd::FileHandle;

/// Waits for the answer; runs on a worker. `None` when the user chose nothing.
pub type Answer = Box<dyn FnOnce() -> Option<Vec<PathBuf>> + Send>;

/// Shows a file; runs on a worker. Gives why it was not shown, as a sentence.
pub type Showing = Box<dyn FnOnce() -> Option<String> + Send>;

/// What a dialog asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ask {
    /// Captures to open.
    Captures,
    /// The folder of a job, to open or to keep one in.
    JobFolder,
    /// A picture to attach.
    Picture,
    /// A file to write the report into.
    ReportFile,
}

/// Whoever can ask for files and show them.
pub trait PickFiles {
    /// Shows the dialog; called on the UI thread.
    fn ask(&self, what: Ask) -> Answer;

    /// Shows a file in the program that the desktop has for it.
    fn show(&self, file: PathBuf) -> Showing;
}

/// The dialog of the desktop.
#[derive(Debug, Clone, Copy, Default)]
pub struct DesktopDialog;

impl PickFiles for DesktopDialog {
    fn ask(&self, what: Ask) -> Answer {
        let dialog = rfd::AsyncFileDialog::new();
        match what {
            Ask::Captures => all(dialog.set_title("Choose captures").pick_files()),
            Ask::JobFolder => one(dialog
                .set_title("Choose the folder of the job")
                .pick_folder()),
            Ask::Picture => {
                let dialog = dialog.add_filter("PNG or JPEG", &["png", "jpg", "jpeg"]);
                one(dialog.set_title("Choose a picture").pick_file())
            }
            Ask::ReportFile => {
                let dialog = dialog.set_file_name("report.html");
                one(dialog.set_title("Write the report into").save_file())
            }
        }
    }

    fn show(&self, file: PathBuf) -> Showing {
        Box::new(move || {
            let error = open::that(&file).err()?;
            let file = file.display();
            Some(format!(
                "The desktop did not show {file} ({error}); open it in a browser by hand."
            ))
        })
    }
}

fn one(asked: impl Future<Output = Option<FileHandle>> + Send + 'static) -> Answer {
    Box::new(move || Some(vec![wait_for(asked)?.path().to_owned()]))
}

fn all(asked: impl Future<Output = Option<Vec<FileHandle>>> + Send + 'static) -> Answer {
    Box::new(move || {
        let files = wait_for(asked)?;
        Some(files.iter().map(|file| file.path().to_owned()).collect())
    })
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
