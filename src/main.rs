//! Picks the face, prints the chain of an error, sets the exit code.

use std::io::Write;
use std::process::ExitCode;

use firstpulse::app;
use firstpulse::cli::{self, Action, PictureJob, View, WindowJob};

fn main() -> ExitCode {
    match run() {
        Ok(code) => ExitCode::from(code),
        Err(error) => {
            let text = cli::error_chain(error.as_ref());
            // where even this can't be written there is nobody to tell
            drop(writeln!(std::io::stderr(), "firstpulse: {text}"));
            ExitCode::from(2)
        }
    }
}

fn run() -> anyhow::Result<u8> {
    match cli::parse() {
        Action::Run(command) => command.run(),
        Action::Window(job) => window(job),
        Action::Picture(job) => picture(&job),
        Action::WindowCheck => Ok(u8::try_from(app::window_check()).unwrap_or(2)),
    }
}

fn window(mut job: WindowJob) -> anyhow::Result<u8> {
    job.check()?;
    let request = app::WindowRequest {
        files: job.files.clone(),
        read: job.read.clone(),
        layouts: job.layouts.clone(),
        options: job.options.clone(),
        library: Some(job.library()?),
    };
    match app::can_open().and_then(|()| app::run(request).map_err(|e| cli::error_chain(&e))) {
        Ok(()) => Ok(0),
        Err(why) => job.in_terminal(&why),
    }
}

fn picture(job: &PictureJob) -> anyhow::Result<u8> {
    let (case, inspections) = job.load()?;
    if job.is_svg() {
        job.write_svg(&case, &inspections)?;
        return Ok(0);
    }
    let (width, height) = job.size();
    let request = app::PictureRequest {
        width,
        height,
        pixels_per_point: job.scale(),
        dark: job.dark(),
        group: job.group(),
        shot: job.shot(),
        focus: job.focus(),
        view: match job.view() {
            View::Lanes => app::MiddleView::Lanes,
            View::Loop => app::MiddleView::Loop,
            View::Shots => app::MiddleView::Plan,
            View::Steps => app::MiddleView::Steps,
            View::Compare => app::MiddleView::Compare,
            View::Controller => app::MiddleView::Controller,
            View::Budget => app::MiddleView::Budget,
            View::Job => app::MiddleView::Job,
            View::Before => app::MiddleView::Before,
        },
        input: job.input(),
        library: Some(job.library()?),
        ..app::PictureRequest::default()
    };
    job.write(&app::picture(&case, &inspections, &request)?)?;
    Ok(0)
}
