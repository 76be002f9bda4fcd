//! Can a window open? Found out in a process of its own, because a missing library or a refusing
//! driver may end the process that asks.

use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, ExitStatus, Stdio};
use std::sync::mpsc::{Receiver, sync_channel};
use std::time::{Duration, Instant};

/// The hidden argument under which this program tries to open an invisible window.
pub const ARGUMENT: &str = "window-check";
/// How long the trial may take.
const LONGEST: Duration = Duration::from_secs(10);

/// Can a window open here?
///
/// # Errors
/// The reason in plain words.
pub fn can_open() -> Result<(), String> {
    if cfg!(target_os = "linux") && !has_display(|name| std::env::var_os(name).is_some()) {
        return Err("there is no display (neither DISPLAY nor WAYLAND_DISPLAY is set)".to_owned());
    }
    let this = std::env::current_exe()
        .map_err(|error| format!("the program could not find itself: {error}"))?;
    try_with(&this, LONGEST)
}

fn has_display(is_set: impl Fn(&str) -> bool) -> bool {
    is_set("DISPLAY") || is_set("WAYLAND_DISPLAY")
}

/// Runs `program window-check` and waits for at most `longest`.
fn try_with(program: &Path, longest: Duration) -> Result<(), String> {
    let mut child = Command::new(program)
        .arg(ARGUMENT)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .map_err(|error| format!("the trial window could not be started: {error}"))?;
    let said = listen(&mut child);
    let ended = wait(&mut child, longest);
    if ended.is_none() {
        // it may have ended this very moment; either way nothing is left to do
        drop(child.kill());
        drop(child.wait());
    }
    // a grandchild may hold the pipe open: what is not there soon is not waited for
    let words = || {
        said.and_then(|told| told.recv_timeout(Duration::from_millis(500)).ok())
            .unwrap_or_default()
    };
    match ended {
        Some(status) if status.success() => Ok(()),
        Some(status) => Err(reason(&words(), status)),
        None => Err(format!(
            "the trial window did not answer within {} s",
            longest.as_secs_f32()
        )),
    }
}

fn listen(child: &mut Child) -> Option<Receiver<String>> {
    let stderr = child.stderr.take()?;
    let (sender, told) = sync_channel(1);
    let thread = std::thread::Builder::new().name("firstpulse-window-check".to_owned());
    let read = move || {
        let mut text = Vec::new();
        // what was read before an error is still worth showing
        drop(stderr.take(64 * 1024).read_to_end(&mut text));
        // nobody listens any more when the trial was given up
        drop(sender.send(String::from_utf8_lossy(&text).into_owned()));
    };
    thread.spawn(read).ok().map(|_| told)
}

fn wait(child: &mut Child, longest: Duration) -> Option<ExitStatus> {
    let begin = Instant::now();
    while begin.elapsed() < longest {
        if let Ok(Some(status)) = child.try_wait() {
            return Some(status);
        }
        std::thread::sleep(Duration::from_millis(15));
    }
    None
}

fn reason(said: &str, status: ExitStatus) -> String {
    let told = said
        .lines()
        .map(str::trim)
        .rfind(|line| !line.is_empty() && !line.starts_with("note:"));
    match told {
        Some(line) => crate::data::text::harmless(plain(line), 300),
        None => format!("the trial window ended with {status}"),
    }
}

/// What follows the last place in a source file that a message names: that is of no use to a user.
fn plain(line: &str) -> &str {
    match (line.contains(".rs:"), line.rsplit_once(": ")) {
        (true, Some((_, told))) => told,
        _ => line,
    }
}

/// Opens an invisible window, draws one frame, closes it. 0 when that went well, else 1 with the
/// reason as the last line on stderr. Called by `main` for [`ARGUMENT`] only.
pub fn window_check() -> i32 {
    let viewport = egui::ViewportBuilder::default()
        .with_title("firstpulse")
        .with_inner_size([64.0, 64.0])
        .with_visible(false);
    let options = eframe::NativeOptions {
        viewport,
        ..eframe::NativeOptions::default()
    };
    let trial =
        Box::new(|_: &eframe::CreationContext<'_>| Ok(Box::new(Trial) as Box<dyn eframe::App>));
    match eframe::run_native("firstpulse", options, trial) {
        Ok(()) => 0,
        Err(error) => {
            use std::io::Write;
            // nobody may be listening
            drop(writeln!(std::io::stderr(), "{error}"));
            1
        }
    }
}

struct Trial;

impl eframe::App for Trial {
    fn logic(&mut self, ctx: &egui::Context, _frame: &mut eframe::Frame) {
        ctx.send_viewport_cmd(egui::ViewportCommand::RequestPaintWhileHidden);
        ctx.request_repaint();
    }

    fn ui(&mut self, ui: &mut egui::Ui, _frame: &mut eframe::Frame) {
        ui.label("firstpulse");
        ui.ctx().send_viewport_cmd(egui::ViewportCommand::Close);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_display_is_either_of_the_two() {
        assert!(has_display(|name| name == "DISPLAY"));
        assert!(has_display(|name| name == "WAYLAND_DISPLAY"));
        assert!(!has_display(|_| false));
    }

    #[cfg(unix)]
    #[test]
    fn the_child_says_why_or_is_ended() {
        use std::os::unix::fs::PermissionsExt;
        let folder = tempfile::tempdir().unwrap();
        let script = |name: &str, text: &str| {
            let path = folder.path().join(name);
            std::fs::write(&path, format!("#!/bin/sh\n{text}\n")).unwrap();
            std::fs::set_permissions(&path, std::fs::Permissions::from_mode(0o755)).unwrap();
            path
        };
        let long = Duration::from_secs(60);
        let good = script("good", "test \"$1\" = window-check");
        assert_eq!(try_with(&good, long), Ok(()));
        let bad = script("bad", "echo first >&2; echo 'no GL 2.1' >&2; exit 1");
        assert_eq!(try_with(&bad, long), Err("no GL 2.1".to_owned()));
        let place = script("place", "echo 'error at a/b.rs:7: No X server' >&2; exit 1");
        assert_eq!(try_with(&place, long), Err("No X server".to_owned()));
        let aborts = script("aborts", "kill -ABRT $$");
        assert!(try_with(&aborts, long).unwrap_err().contains("ended with"));
        let hangs = script("hangs", "exec sleep 600");
        let told = try_with(&hangs, Duration::from_millis(200));
        assert!(told.unwrap_err().contains("did not answer"));
        let none = try_with(&folder.path().join("none"), long);
        assert!(none.unwrap_err().contains("could not be started"));
    }
}
