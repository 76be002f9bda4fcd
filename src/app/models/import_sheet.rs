//! The import sheet: how the first lines of a file were understood, and what can be changed.

use super::Work;
use super::import_rows::{self, DecisionModel};
use crate::app::sheet::{Looked, Sheet};
use crate::app::state::AppState;
use crate::data::text::harmless;
use crate::data::{ImportPreview, PreviewLine, Question, TakenFor};

/// Longest text of a cell, in characters.
const LONGEST_CELL: usize = 60;
/// Columns that are shown at most.
const MOST_COLUMNS: usize = 64;

/// A cell of the first lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CellModel {
    /// Its text, made harmless.
    pub text: String,
    /// What it was taken for.
    pub taken_for: TakenFor,
    /// Accessible name: where it stands, what is in it, what it was taken for.
    pub spoken: String,
}

/// One of the first lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LineModel {
    /// Number in the file.
    pub number: u64,
    /// What the line was taken for, in a word.
    pub word: &'static str,
    /// Its cells.
    pub cells: Vec<CellModel>,
}

/// The head of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeadModel {
    /// Number and what it was taken for: `2 · channel 1`.
    pub word: String,
    /// Name and unit.
    pub name: String,
    /// What it was taken for.
    pub taken_for: TakenFor,
    /// Characters that it needs.
    pub characters: usize,
}

/// A button that answers the question.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AnswerModel {
    /// Its words.
    pub label: String,
    /// The decision.
    pub key: String,
    /// Its value.
    pub value: String,
}

/// What a file leaves open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct QuestionModel {
    /// The sentence.
    pub text: String,
    /// Answers to choose from.
    pub answers: Vec<AnswerModel>,
    /// Answers to type.
    pub fields: Vec<DecisionModel>,
}

/// A column with what can be said of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ColumnModel {
    /// `Column 2, VCC`.
    pub title: String,
    /// Its fields.
    pub fields: Vec<DecisionModel>,
}

/// All of the sheet.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct SheetModel {
    /// Name of the file, made harmless.
    pub file: String,
    /// What it was taken for as a whole.
    pub format: String,
    /// The remembered layout of this form: its name, and whether it is used.
    pub remembered: Option<(String, bool)>,
    /// What has to be answered first.
    pub question: Option<QuestionModel>,
    /// Why the file can't be read so.
    pub refused: Option<String>,
    /// What to know, each a sentence.
    pub notes: Vec<String>,
    /// Heads of the columns.
    pub heads: Vec<HeadModel>,
    /// The first lines.
    pub lines: Vec<LineModel>,
    /// Words for the tints in use.
    pub legend: Vec<(TakenFor, &'static str)>,
    /// Decisions about the whole file that were taken.
    pub decisions: Vec<DecisionModel>,
    /// Decisions that could be taken besides.
    pub others: Vec<DecisionModel>,
    /// Columns of the samples.
    pub columns: Vec<ColumnModel>,
    /// Why it can't be read now; `None` when it can.
    pub why_not_read: Option<String>,
    /// Was anything changed here?
    pub changed: bool,
    /// The name to remember it under, as it stands in its field.
    pub name: String,
    /// Why it can't be remembered now; `None` when it can.
    pub why_not_remembered: Option<String>,
    /// What came of remembering or forgetting.
    pub said: Option<String>,
    /// Is it being looked at?
    pub looking: bool,
}

/// The sheet that is open.
pub fn sheet(state: &AppState, work: Option<&Work>) -> Option<SheetModel> {
    let sheet = state.sheet.as_ref()?;
    let nothing = Looked::default();
    let looked = sheet.looked.as_ref().unwrap_or(&nothing);
    let preview = &looked.preview;
    let file = sheet.path.file_name().unwrap_or(sheet.path.as_os_str());
    let told = sheet.told(state);
    let rows = import_rows::Rows {
        sheet,
        told: &told,
        decisions: &preview.decisions,
    };
    let (decisions, others) = rows.of_file();
    let heads = heads(preview);
    let columns = preview.columns.iter().take(MOST_COLUMNS);
    let remembered = looked.remembered.as_ref();
    let refused = sheet.refused.as_ref().map(|refusal| &refusal.why);
    let refused = refused.or(preview.refused.as_ref());
    Some(SheetModel {
        file: harmless(&file.to_string_lossy(), 80),
        format: format_words(preview),
        remembered: remembered.map(|layout| (harmless(&layout.name, 60), !sheet.plain)),
        question: open_question(sheet).map(|open| question(open, &rows)),
        refused: refused.map(|why| sentence(why)),
        notes: notes(preview),
        lines: preview.lines.iter().map(|l| line(l, heads.len())).collect(),
        legend: legend(preview),
        heads,
        decisions,
        others,
        columns: columns.map(|column| rows.of_column(column)).collect(),
        why_not_read: why_not_read(sheet, work),
        changed: !sheet.own.is_empty() || !sheet.drafts.is_empty(),
        name: sheet.name.clone(),
        why_not_remembered: why_not_remembered(state, sheet, !told.is_empty()),
        said: sheet.said.clone(),
        looking: sheet.looking,
    })
}

fn format_words(preview: &ImportPreview) -> String {
    match preview.format.as_str() {
        "" => "no table of numbers found".to_owned(),
        "csv" => "a table of numbers".to_owned(),
        other => other.to_owned(),
    }
}

fn notes(preview: &ImportPreview) -> Vec<String> {
    let note = |note: &crate::data::Note| match note.line {
        Some(line) => format!("Line {line}: {}", harmless(&note.text, 300)),
        None => harmless(&note.text, 300),
    };
    preview.notes.iter().map(note).collect()
}

/// With a capital: it stands by itself here.
fn sentence(text: &str) -> String {
    let text = harmless(text, 400);
    let mut rest = text.chars();
    let first = rest.next().map(char::to_uppercase);
    first.into_iter().flatten().chain(rest).collect()
}

/// What the first lines leave open, or else the whole file.
fn open_question(sheet: &Sheet) -> Option<&Question> {
    let looked = sheet.looked.as_ref()?;
    let refused = sheet.refused.as_ref();
    let whole = refused.and_then(|refusal| refusal.question.as_ref());
    looked.preview.question.as_ref().or(whole)
}

fn question(question: &Question, rows: &import_rows::Rows<'_>) -> QuestionModel {
    let mut answers = Vec::new();
    let mut fields = Vec::new();
    for answer in &question.answers {
        match &answer.value {
            Some(value) => answers.push(AnswerModel {
                label: format!(
                    "{}: {}",
                    import_rows::title(&answer.key),
                    import_rows::value_words(&answer.key, value)
                ),
                key: answer.key.clone(),
                value: value.clone(),
            }),
            None => fields.push(rows.open_answer(&answer.key)),
        }
    }
    QuestionModel {
        text: sentence(&question.text),
        answers,
        fields,
    }
}

fn heads(preview: &ImportPreview) -> Vec<HeadModel> {
    let widest = preview.lines.iter().map(|line| line.cells.len()).max();
    let count = widest.unwrap_or(0).min(MOST_COLUMNS);
    let head = |index: usize| {
        let column = preview.columns.iter().find(|c| c.number == index + 1);
        let taken_for = column.map_or(TakenFor::Nothing, |column| column.taken_for);
        let word = match column {
            Some(_) => format!("{} · {}", index + 1, taken_for.title()),
            None => format!("{}", index + 1),
        };
        let name = column.map_or_else(String::new, |column| {
            let name = harmless(&column.name, 40);
            let unit = import_rows::unit_words(column);
            match (name.is_empty(), unit.is_empty()) {
                (false, false) => format!("{name}, {unit}"),
                (true, false) => unit,
                _ => name,
            }
        });
        let cells = preview
            .lines
            .iter()
            .filter_map(|line| line.cells.get(index));
        let longest = cells.map(|cell| cell.text.chars().count()).max();
        let own = word.chars().count().max(name.chars().count());
        HeadModel {
            characters: longest.unwrap_or(0).max(own).min(26),
            word,
            name,
            taken_for,
        }
    };
    (0..count).map(head).collect()
}

fn line(line: &PreviewLine, columns: usize) -> LineModel {
    let cell = |(index, cell): (usize, &crate::data::PreviewCell)| {
        let text = harmless(&cell.text, LONGEST_CELL);
        let said = if text.is_empty() { "empty" } else { &text };
        CellModel {
            spoken: format!(
                "Line {}, column {}: {said}, {}",
                line.number,
                index + 1,
                cell.taken_for.title()
            ),
            text,
            taken_for: cell.taken_for,
        }
    };
    let cells: Vec<CellModel> = line
        .cells
        .iter()
        .take(columns)
        .enumerate()
        .map(cell)
        .collect();
    LineModel {
        number: line.number,
        word: line_word(&cells),
        cells,
    }
}

/// What a line was taken for: the word of the first of its cells that tells.
fn line_word(cells: &[CellModel]) -> &'static str {
    let has = |wanted: fn(TakenFor) -> bool| cells.iter().any(|cell| wanted(cell.taken_for));
    if has(|t| matches!(t, TakenFor::Time | TakenFor::Channel(_) | TakenFor::Count)) {
        "samples"
    } else if has(|t| t == TakenFor::Name) {
        "names"
    } else if has(|t| t == TakenFor::Unit) {
        "units"
    } else if has(|t| matches!(t, TakenFor::Key | TakenFor::Value)) {
        "property"
    } else if has(|t| t == TakenFor::Comment) {
        "comment"
    } else {
        ""
    }
}

/// A word for each tint that is seen.
fn legend(preview: &ImportPreview) -> Vec<(TakenFor, &'static str)> {
    const WORDS: [(TakenFor, &str); 6] = [
        (TakenFor::Time, "time"),
        (TakenFor::Channel(1), "samples of a channel"),
        (TakenFor::Name, "names and units"),
        (TakenFor::Key, "properties"),
        (TakenFor::Missing, "missing or beyond the range"),
        (TakenFor::LeftOut, "left out, comment, not used"),
    ];
    let cells = || preview.lines.iter().flat_map(|line| &line.cells);
    WORDS
        .into_iter()
        .filter(|(kind, _)| cells().any(|cell| tint(cell.taken_for) == tint(*kind)))
        .collect()
}

/// Kinds of cells that share a tint have the same number.
pub fn tint(taken_for: TakenFor) -> usize {
    match taken_for {
        TakenFor::Time => 0,
        TakenFor::Channel(_) => 1,
        TakenFor::Name | TakenFor::Unit => 2,
        TakenFor::Key | TakenFor::Value => 3,
        TakenFor::Missing | TakenFor::BeyondRange => 4,
        TakenFor::Count | TakenFor::LeftOut | TakenFor::Comment | TakenFor::Nothing => 5,
    }
}

fn why_not_read(sheet: &Sheet, work: Option<&Work>) -> Option<String> {
    let preview = sheet.looked.as_ref().map(|looked| &looked.preview);
    let why = match preview {
        _ if work.is_some_and(|work| work.what == "Reading") => "another file is being read",
        None => "the first lines are being looked at",
        Some(_) if open_question(sheet).is_some() => "the question above is open",
        Some(preview) if preview.refused.is_some() || sheet.refused.is_some() => {
            "it can't be read as it is understood now; change something"
        }
        Some(_) if sheet.looking => "the first lines are being looked at",
        Some(_) => return None,
    };
    Some(why.to_owned())
}

fn why_not_remembered(state: &AppState, sheet: &Sheet, told: bool) -> Option<String> {
    let preview = sheet.looked.as_ref().map(|looked| &looked.preview);
    let known = preview.is_some_and(|preview| !preview.signature.is_empty());
    let why = if state.layouts.is_none() {
        "this desktop names no folder for settings"
    } else if !known {
        "the file has no lines of text to know the next one by"
    } else if !told && sheet.drafts.is_empty() {
        "nothing was changed that could be remembered"
    } else if sheet.name.trim().is_empty() {
        "it needs a name"
    } else {
        return None;
    };
    Some(why.to_owned())
}
