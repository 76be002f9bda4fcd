//! How the first lines of a file were understood, for the user to see and to change.

use super::capture::{Decision, Note};

/// What a cell of a file was taken for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum TakenFor {
    /// Nothing stands there, or nothing was made of it.
    Nothing,
    /// A comment.
    Comment,
    /// The name of a property of the record: `Sample interval`.
    Key,
    /// The value of a property.
    Value,
    /// The name of a column.
    Name,
    /// The unit of a column.
    Unit,
    /// A time.
    Time,
    /// A sample of the channel of this number, counted from 1.
    Channel(usize),
    /// A number that only counts the samples.
    Count,
    /// A cell of a column that is left out.
    LeftOut,
    /// No value: empty, or a word for it.
    Missing,
    /// A word or sign for "beyond the range".
    BeyondRange,
}

impl TakenFor {
    /// The word shown beside the cells.
    pub fn title(self) -> String {
        match self {
            TakenFor::Nothing => "not used".to_owned(),
            TakenFor::Comment => "comment".to_owned(),
            TakenFor::Key => "property".to_owned(),
            TakenFor::Value => "value of a property".to_owned(),
            TakenFor::Name => "name".to_owned(),
            TakenFor::Unit => "unit".to_owned(),
            TakenFor::Time => "time".to_owned(),
            TakenFor::Channel(number) => format!("channel {number}"),
            TakenFor::Count => "count".to_owned(),
            TakenFor::LeftOut => "left out".to_owned(),
            TakenFor::Missing => "missing".to_owned(),
            TakenFor::BeyondRange => "beyond the range".to_owned(),
        }
    }
}

/// A cell of one of the first lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreviewCell {
    /// Its text, untrusted: shown through [`super::text::harmless`].
    pub text: String,
    /// What it was taken for.
    pub taken_for: TakenFor,
}

/// One of the first lines.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreviewLine {
    /// Its number in the file, from 1.
    pub number: u64,
    /// Its cells.
    pub cells: Vec<PreviewCell>,
}

/// A column of the table of samples.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PreviewColumn {
    /// Its number in the file, from 1.
    pub number: usize,
    /// Its name, the unit taken out; untrusted text.
    pub name: String,
    /// Its unit as decided, with its prefix: `mV`; empty where it has none.
    pub unit: String,
    /// What it was taken for.
    pub taken_for: TakenFor,
}

/// An import decision that answers a question, and the value that it can take.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// The decision, as `--layout KEY=VALUE` names it.
    pub key: String,
    /// The value; `None` where the user has to type one.
    pub value: Option<String>,
}

impl Answer {
    /// An answer with its value.
    pub fn of(key: impl Into<String>, value: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            value: Some(value.into()),
        }
    }

    /// An answer whose value the user has to type.
    pub fn open(key: impl Into<String>) -> Self {
        Self {
            key: key.into(),
            value: None,
        }
    }
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.value {
            Some(value) => write!(f, "{}={value}", self.key),
            None => write!(f, "{}=…", self.key),
        }
    }
}

/// A question that a file leaves open.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Question {
    /// A whole sentence.
    pub text: String,
    /// What answers it: one of them is enough.
    pub answers: Vec<Answer>,
}

/// How the first lines of a file were understood.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ImportPreview {
    /// Name of the file.
    pub file: String,
    /// Id of the reader, for instance `csv`; empty when none fits.
    pub format: String,
    /// The first lines with what each cell was taken for.
    pub lines: Vec<PreviewLine>,
    /// Columns of the samples, once they are known.
    pub columns: Vec<PreviewColumn>,
    /// The decisions taken so far.
    pub decisions: Vec<Decision>,
    /// What the user should know.
    pub notes: Vec<Note>,
    /// What has to be answered before the file can be read.
    pub question: Option<Question>,
    /// Why the file can't be read as it is understood now.
    pub refused: Option<String>,
    /// What files of the same layout have in common. Empty where there is no text.
    pub signature: String,
}
