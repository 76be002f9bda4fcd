//! The window's run: polls work, draws, applies commands, starts the work that follows.

use std::path::PathBuf;
use std::sync::{Arc, OnceLock};

use egui::{Context, Ui};

use super::commands::{self, Effect};
use super::compare::{self, Made};
use super::dialog::{Ask, PickFiles};
use super::job;
use super::job::files::JobDone;
use super::job::page::Written;
use super::kept::Kept;
use super::models::{PanelModel, Work};
use super::open::{self, How, Loaded};
use super::sheet::{self, Looked};
use super::state::{AppState, Look, MiddleView, Problem};
use super::task::{Ended, Task};
use super::views;
use crate::data::{ImportPreview, Inspection, VoltageStep};
use crate::inspect::{self, InspectError, Library, Remembered, Shot};

mod jobs;
mod sheets;
mod taken;
use taken::died;

/// An inspection with what it was made from, so that one that no longer fits is dropped.
struct Examined {
    group: usize,
    shots: Vec<Arc<Shot>>,
    result: Result<Inspection, String>,
}

/// What a file of voltage steps gave, and for which group.
struct StepsRead {
    group: usize,
    read: Result<Vec<VoltageStep>, Vec<String>>,
}

/// State, tasks and dialog of one window.
pub struct Shell {
    /// What is shown and chosen.
    pub state: AppState,
    loading: Task<Loaded>,
    examining: Task<Examined>,
    looking: Task<(PathBuf, Result<Looked, String>)>,
    keeping: Task<String>,
    stepping: Task<StepsRead>,
    comparing: Task<Made>,
    job: Task<JobDone>,
    paging: Task<Written>,
    showing: Task<Option<String>>,
    under_way: Option<usize>,
    waiting: Vec<usize>,
    picking: Task<Option<Vec<PathBuf>>>,
    asked: Ask,
    picker: Box<dyn PickFiles>,
    library: Arc<OnceLock<Library>>,
    look: Option<Look>,
    title: String,
    kept: Kept,
    /// Does this window keep the list of the last jobs?
    pub remembers: bool,
}

impl Shell {
    /// A window on a state; asks for files through `picker`.
    pub fn new(state: AppState, picker: Box<dyn PickFiles>) -> Self {
        Self {
            state,
            loading: Task::default(),
            examining: Task::default(),
            looking: Task::default(),
            keeping: Task::default(),
            stepping: Task::default(),
            comparing: Task::default(),
            job: Task::default(),
            paging: Task::default(),
            showing: Task::default(),
            under_way: None,
            waiting: Vec::new(),
            picking: Task::default(),
            asked: Ask::Captures,
            picker,
            library: Arc::default(),
            look: None,
            title: String::new(),
            kept: Kept::default(),
            remembers: false,
        }
    }

    /// Opens files, or the built-in unit when there are none.
    pub fn begin(&mut self, ctx: &Context, files: Vec<PathBuf>) {
        let effect = if files.is_empty() {
            Effect::Demo
        } else {
            Effect::Load(files)
        };
        self.follow(ctx, effect);
    }

    /// Takes what the tasks have ready and starts what waits. Draws nothing.
    pub fn poll(&mut self, ctx: &Context) {
        if let Some(ended) = self.loading.poll() {
            self.loaded(ctx, ended);
            self.note_job(ctx, "captures opened");
        }
        if let Some(ended) = self.examining.poll() {
            self.under_way = None;
            self.examined(ctx, ended);
            self.note_job(ctx, "the planned roles");
        }
        if let Some(ended) = self.looking.poll() {
            self.looked(ended);
        }
        if let Some(ended) = self.keeping.poll() {
            self.kept(ctx, ended);
        }
        if let Some(ended) = self.stepping.poll() {
            self.stepped(ctx, ended);
            self.note_job(ctx, "voltage steps");
        }
        self.compare(ctx);
        self.look_up();
        self.keep_job(ctx);
        self.take_page();
        match self.picking.poll() {
            Some(Ended::Done(Some(files))) => self.picked(ctx, files),
            Some(Ended::Died) => self.state.problems.push(Problem {
                what: "The file dialog did not come".to_owned(),
                why: "The desktop gave no dialog.".to_owned(),
                attempt: "Type the path into the field, or drop the file here.".to_owned(),
                sheet: None,
            }),
            _ => {}
        }
        if !self.examining.is_running()
            && let Some(group) = self.waiting.pop()
        {
            self.examine(ctx, group);
        }
    }

    /// Sets runs against each other where their sheet is in front and has nothing that fits.
    fn compare(&mut self, ctx: &Context) {
        if let Some(Ended::Done(made)) = self.comparing.poll() {
            self.state.compared = Some(made);
        }
        let wanted = self.state.view == MiddleView::Compare
            && !self.comparing.is_running()
            && compare::found(&self.state).is_none();
        let Some(sides) = compare::sides(&self.state).filter(|_| wanted) else {
            return;
        };
        let options = self.state.compare.options();
        self.comparing
            .start("compare", waker(ctx), move |_| Ok(Made::of(sides, options)));
    }

    /// Judges by these profiles from now on instead of the built-in ones.
    pub fn judge_by(&mut self, library: Library) {
        // a fresh cell: an inspection under way keeps the one that it started with
        self.library = Arc::new(OnceLock::from(library));
    }

    /// Draws one frame and applies what the user asked for.
    pub fn frame(&mut self, ui: &mut Ui) {
        let closing = ui.input(|input| input.viewport().close_requested());
        if closing && !job::may_leave(&mut self.state) {
            ui.ctx()
                .send_viewport_cmd(egui::ViewportCommand::CancelClose);
        }
        self.dress(ui.ctx());
        let model = PanelModel::with(&self.state, self.work(), &self.kept);
        let asked = views::show(ui, &model);
        let ctx = ui.ctx().clone();
        if !asked.is_empty() {
            ctx.request_repaint();
        }
        for command in asked {
            let name = commands::name(&command);
            let effect = commands::apply(&mut self.state, command);
            let told = job::note(&mut self.state, name);
            for effect in effect.into_iter().chain(told) {
                self.follow(&ctx, effect);
            }
        }
        if self.loading.is_running() {
            ctx.request_repaint_after(std::time::Duration::from_millis(100));
        }
    }

    /// Does the work that a command leads to.
    pub fn follow(&mut self, ctx: &Context, effect: Effect) {
        match effect {
            Effect::Copy(text) => ctx.copy_text(text),
            Effect::Cancel => {
                self.loading.cancel();
                self.examining.cancel();
            }
            Effect::Pick(what) => {
                self.asked = what;
                let answer = self.picker.ask(what);
                self.picking.start("dialog", waker(ctx), |_| Ok(answer()));
            }
            Effect::Demo => self.loading.start("demo", waker(ctx), open::demo),
            Effect::ExamineAll => {
                // the last is taken first
                self.waiting = (0..self.state.case.groups.len()).rev().collect();
                ctx.request_repaint();
            }
            Effect::KeepJob(_) | Effect::OpenJob(..) | Effect::AttachPictures(..) => {
                self.on_job(ctx, effect);
            }
            Effect::WritePage => self.write_page(ctx),
            Effect::ShowFile(path) => {
                let show = self.picker.show(path);
                self.showing.start("show", waker(ctx), |_| Ok(show()));
            }
            Effect::Load(files) if open::is_job(&files) => {
                if !job::may_leave(&mut self.state) {
                    return;
                }
                let folder = files.into_iter().next().unwrap_or_default();
                self.on_job(ctx, Effect::OpenJob(folder, false));
            }
            Effect::Load(files) if self.state.job.held.is_some() && open::are_pictures(&files) => {
                self.on_job(ctx, Effect::AttachPictures(files, String::new()));
            }
            Effect::Load(files) => {
                let how = How::of(&self.state);
                self.loading.start("read", waker(ctx), move |progress| {
                    open::files(&files, &how, progress)
                });
            }
            Effect::ReadSteps(path, group) => self.stepping.start("steps", waker(ctx), move |_| {
                let lines = |errors: Vec<_>| errors.iter().map(ToString::to_string).collect();
                let read = inspect::read_steps(&path).map_err(lines);
                Ok(StepsRead { group, read })
            }),
            Effect::Look | Effect::ReadSheet | Effect::Remember | Effect::Forget => {
                self.on_sheet(ctx, &effect);
            }
            Effect::Examine(group) if self.under_way == Some(group) => self.examine(ctx, group),
            Effect::Examine(group) => {
                self.waiting.retain(|waiting| *waiting != group);
                self.waiting.push(group);
                ctx.request_repaint();
            }
        }
    }

    /// Work for the sheet that is open.
    fn on_sheet(&mut self, ctx: &Context, effect: &Effect) {
        let Some(sheet) = &self.state.sheet else {
            return;
        };
        let (path, how) = (sheet.path.clone(), sheet.how(&self.state));
        let signature = sheet.looked.as_ref().map(|l| l.preview.signature.clone());
        let (signature, folder) = (signature.unwrap_or_default(), self.state.layouts.clone());
        match (effect, folder) {
            (Effect::Look, _) => self.looking.start("look", waker(ctx), move |_| {
                let looked = open::look(&path, &how).map_err(|error| error.to_string());
                Ok((path, looked))
            }),
            (Effect::ReadSheet, _) => self.loading.start("read", waker(ctx), move |progress| {
                open::again(&path, &how, progress)
            }),
            (Effect::Remember, Some(folder)) => {
                let layout = Remembered {
                    name: sheet.name.trim().to_owned(),
                    signature,
                    layout: sheet.told(&self.state),
                };
                self.keeping.start("remember", waker(ctx), move |_| {
                    Ok(open::remember(&folder, layout))
                });
            }
            (Effect::Forget, Some(folder)) => self.keeping.start("forget", waker(ctx), move |_| {
                Ok(open::forget(&folder, &signature))
            }),
            _ => {}
        }
    }

    fn looked(&mut self, ended: Ended<(PathBuf, Result<Looked, String>)>) {
        let (path, looked) = match ended {
            Ended::Done(done) => done,
            Ended::Failed(_) | Ended::Cancelled => return,
            Ended::Died => {
                self.state.sheet = None;
                return self.state.problems.push(died("Looking at the file"));
            }
        };
        let looked = looked.unwrap_or_else(|why| Looked {
            preview: ImportPreview {
                refused: Some(why),
                ..ImportPreview::default()
            },
            ..Looked::default()
        });
        sheet::take(&mut self.state, &path, looked);
    }

    fn kept(&mut self, ctx: &Context, ended: Ended<String>) {
        let said = match ended {
            Ended::Done(said) | Ended::Failed(said) => said,
            Ended::Cancelled => return,
            Ended::Died => return self.state.problems.push(died("Remembering")),
        };
        if let Some(sheet) = &mut self.state.sheet {
            sheet.said = Some(said);
            self.follow(ctx, Effect::Look);
        }
    }

    fn examine(&mut self, ctx: &Context, index: usize) {
        let Some(group) = self.state.case.groups.get(index) else {
            return;
        };
        let (shots, options) = (group.shots.clone(), group.options.clone());
        let library = Arc::clone(&self.library);
        self.under_way = Some(index);
        self.examining.start("inspect", waker(ctx), move |_| {
            let made = inspect::examine(&shots, &options, judge(&library)?);
            Ok(Examined {
                group: index,
                shots,
                result: made.map_err(|error| error.to_string()),
            })
        });
    }

    fn work(&self) -> Option<Work> {
        if self.loading.is_running() {
            return Some(Work {
                what: "Reading",
                fraction: self.loading.fraction().map(|share| share as f32),
            });
        }
        self.examining.is_running().then_some(Work {
            what: "Inspecting",
            fraction: None,
        })
    }

    fn dress(&mut self, ctx: &Context) {
        let unit = crate::data::text::harmless(&self.state.case.title, 60);
        let title = format!("firstpulse – {unit}");
        if self.title != title {
            ctx.send_viewport_cmd(egui::ViewportCommand::Title(title.clone()));
            self.title = title;
        }
        if self.look != Some(self.state.look) {
            self.look = Some(self.state.look);
            ctx.set_theme(match self.state.look {
                Look::System => egui::ThemePreference::System,
                Look::Light => egui::ThemePreference::Light,
                Look::Dark => egui::ThemePreference::Dark,
            });
        }
    }
}

/// The profiles, read by the first worker that needs them.
fn judge(library: &OnceLock<Library>) -> Result<&Library, InspectError> {
    if let Some(library) = library.get() {
        return Ok(library);
    }
    // another worker may be quicker: both made the same
    let built_in = Library::built_in()?;
    Ok(library.get_or_init(|| built_in))
}

fn waker(ctx: &Context) -> impl FnOnce() + Send + 'static {
    let ctx = ctx.clone();
    move || ctx.request_repaint()
}

impl eframe::App for Shell {
    fn logic(&mut self, ctx: &Context, _frame: &mut eframe::Frame) {
        self.poll(ctx);
    }

    fn ui(&mut self, ui: &mut Ui, _frame: &mut eframe::Frame) {
        self.frame(ui);
    }
}
