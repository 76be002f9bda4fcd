//! The import sheet's state: how one file is understood, and what the user changes about it.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::commands::Effect;
use super::open::How;
use super::state::AppState;
use crate::data::{ImportPreview, Question};
use crate::inspect::{Remembered, Shot};

/// The shots of a file, and how it was read.
#[derive(Debug, Clone)]
pub struct Origin {
    /// The file.
    pub path: PathBuf,
    /// Import decisions that the user took for this file alone.
    pub own: BTreeMap<String, String>,
    /// Was a remembered layout left aside because the user said so?
    pub plain: bool,
    /// What came of it.
    pub shots: Vec<Arc<Shot>>,
}

/// The first lines as they were last looked at.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Looked {
    /// The layout that is remembered for this form, used or not.
    pub remembered: Option<Remembered>,
    /// How they are understood.
    pub preview: ImportPreview,
}

/// Why the whole file could not be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// A sentence.
    pub why: String,
    /// What has to be answered, where that is all.
    pub question: Option<Question>,
}

/// The sheet of one file.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sheet {
    /// The file.
    pub path: PathBuf,
    /// Import decisions changed here, by key.
    pub own: BTreeMap<String, String>,
    /// Is a remembered layout left aside?
    pub plain: bool,
    /// What stands in a field and is not entered yet, by key.
    pub drafts: BTreeMap<String, String>,
    /// Name under which the layout is to be remembered, as it stands in its field.
    pub name: String,
    /// The first lines; `None` until they were looked at.
    pub looked: Option<Looked>,
    /// Is it being looked at?
    pub looking: bool,
    /// Why the whole file could not be read, until something is changed.
    pub refused: Option<Refusal>,
    /// What came of remembering or forgetting.
    pub said: Option<String>,
}

/// A wish about the sheet that is open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SheetCommand {
    /// Put it away, with what was changed on it.
    Close,
    /// Decide something.
    Tell(String, String),
    /// Leave a decision to the reader again.
    TakeBack(String),
    /// A field changed.
    Edit(String, String),
    /// A field was left.
    Enter(String),
    /// Leave all decisions to the reader again.
    PutBack,
    /// Use the remembered layout, or leave it aside.
    UseRemembered(bool),
    /// Delete the remembered layout.
    Forget,
    /// The name field changed.
    EditName(String),
    /// Remember the layout under that name.
    Remember,
    /// Read the file so.
    Read,
}

impl Sheet {
    /// The sheet of a file; what was told about it before stands on it.
    pub fn of(state: &AppState, path: &Path) -> Sheet {
        let known = state.origins.iter().find(|origin| origin.path == path);
        let mut problems = state.problems.iter().filter_map(|p| p.sheet.as_ref());
        let problem = problems.find(|on| on.path == path);
        Sheet {
            refused: problem.and_then(|on| on.refused.clone()),
            path: path.to_owned(),
            own: known.map(|origin| origin.own.clone()).unwrap_or_default(),
            plain: known.is_some_and(|origin| origin.plain),
            looking: true,
            ..Sheet::default()
        }
    }

    /// How the file is read with what stands on the sheet.
    pub fn how(&self, state: &AppState) -> How {
        How {
            own: self.own.clone(),
            plain: self.plain,
            ..How::of(state)
        }
    }

    /// The remembered layout that is in use.
    pub fn used(&self) -> Option<&Remembered> {
        let remembered = self.looked.as_ref()?.remembered.as_ref();
        remembered.filter(|_| !self.plain)
    }

    /// All that is decided by the user, here, on the command line or before.
    pub fn told(&self, state: &AppState) -> BTreeMap<String, String> {
        let mut told = self
            .used()
            .map(|used| used.layout.clone())
            .unwrap_or_default();
        told.extend(state.read.layout.clone());
        told.extend(self.own.clone());
        told
    }

    /// What the reader decided about `key`, or what it was told.
    fn decided(&self, key: &str) -> Option<&str> {
        let decisions = &self.looked.as_ref()?.preview.decisions;
        let found = decisions.iter().find(|decision| decision.what == key);
        found.map(|decision| decision.value.as_str())
    }

    /// A text that is left as it was decides nothing; an empty one takes the decision back.
    fn enter(&mut self, key: &str) -> bool {
        let Some(text) = self.drafts.remove(key) else {
            return false;
        };
        let text = text.trim();
        if text.is_empty() {
            return self.own.remove(key).is_some();
        }
        let before = self.own.get(key).map(String::as_str);
        if before.or_else(|| self.decided(key)) == Some(text) {
            return false;
        }
        self.own.insert(key.to_owned(), text.to_owned());
        true
    }

    fn enter_all(&mut self) -> bool {
        let keys: Vec<String> = self.drafts.keys().cloned().collect();
        let entered = keys.iter().filter(|key| self.enter(key)).count();
        entered > 0
    }
}

/// Opens the sheet of a file.
pub fn open(state: &mut AppState, path: &Path) -> Option<Effect> {
    state.sheet = Some(Sheet::of(state, path));
    Some(Effect::Look)
}

/// Opens the sheet of the file that a shot of the group shown came from.
pub fn open_of_shot(state: &mut AppState, shot: usize) -> Option<Effect> {
    let path = origin_of(state, shot)?.path.clone();
    open(state, &path)
}

/// Where a shot of the group shown came from; nowhere for the built-in unit.
pub fn origin_of(state: &AppState, shot: usize) -> Option<&Origin> {
    let shot = state.group()?.shots.get(shot)?;
    let holds = |origin: &&Origin| origin.shots.iter().any(|own| Arc::ptr_eq(own, shot));
    state.origins.iter().find(holds)
}

/// Opens the sheet of the first file that waits for an answer, unless one is open.
pub fn open_next(state: &mut AppState) -> Option<Effect> {
    if state.sheet.is_some() {
        return None;
    }
    let mut sheets = state.problems.iter().filter_map(|p| p.sheet.as_ref());
    let path = sheets.find(|on| on.refused.is_some())?.path.clone();
    open(state, &path)
}

/// Applies a wish about the sheet.
pub fn apply(state: &mut AppState, command: SheetCommand) -> Option<Effect> {
    if command == SheetCommand::Close {
        state.sheet = None;
        return None;
    }
    let sheet = state.sheet.as_mut()?;
    let changed = match command {
        SheetCommand::Close => false,
        SheetCommand::Tell(key, value) => {
            sheet.drafts.remove(&key);
            sheet.own.insert(key, value.clone()) != Some(value)
        }
        SheetCommand::TakeBack(key) => {
            let draft = sheet.drafts.remove(&key).is_some();
            sheet.own.remove(&key).is_some() || draft
        }
        SheetCommand::Edit(key, text) => {
            sheet.drafts.insert(key, text);
            return None;
        }
        SheetCommand::Enter(key) => sheet.enter(&key),
        SheetCommand::PutBack => {
            sheet.drafts.clear();
            sheet.own.clear();
            true
        }
        SheetCommand::UseRemembered(used) => {
            sheet.plain = !used;
            true
        }
        SheetCommand::EditName(name) => {
            sheet.name = name;
            return None;
        }
        SheetCommand::Forget => return Some(Effect::Forget),
        SheetCommand::Remember => {
            sheet.enter_all();
            return Some(Effect::Remember);
        }
        SheetCommand::Read => {
            sheet.enter_all();
            return Some(Effect::ReadSheet);
        }
    };
    changed.then(|| look_again(sheet))
}

fn look_again(sheet: &mut Sheet) -> Effect {
    sheet.refused = None;
    sheet.said = None;
    sheet.looking = true;
    Effect::Look
}

/// Takes what a look at the first lines gave. Lines that were seen before stay where what was
/// changed last lets nothing be seen.
pub fn take(state: &mut AppState, path: &Path, mut looked: Looked) {
    let Some(sheet) = state.sheet.as_mut().filter(|sheet| sheet.path == path) else {
        return;
    };
    if looked.preview.lines.is_empty()
        && let Some(before) = sheet.looked.take()
    {
        looked.preview.lines = before.preview.lines;
        looked.preview.signature = before.preview.signature;
        if looked.preview.columns.is_empty() {
            looked.preview.columns = before.preview.columns;
        }
    }
    sheet.looking = false;
    sheet.looked = Some(looked);
}
