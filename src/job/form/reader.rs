//! Values from the text of a record; the first thing that is wrong is kept with its line and key.

use std::collections::BTreeMap;
use std::ops::Range;

use toml::Spanned;
use toml::de::{DeArray, DeTable, DeValue};

use super::{Cell, Codec, Form};
use crate::data::text::harmless;
use crate::job::error::JobError;

/// Longest quote from a record in a message.
const QUOTE: usize = 60;

type Entry<'a> = (
    &'a Spanned<toml::de::DeString<'a>>,
    &'a Spanned<DeValue<'a>>,
);

/// Reads what is described.
pub(in crate::job) struct Reader<'a> {
    file: &'a str,
    text: &'a str,
    frames: Vec<Frame<'a>>,
    wrong: Option<JobError>,
}

/// A table that is being read.
struct Frame<'a> {
    table: &'a DeTable<'a>,
    /// Where it begins, in bytes.
    at: usize,
    path: String,
    known: Vec<&'static str>,
}

impl<'a> Reader<'a> {
    /// Reads a whole record by its description. `file` is for messages.
    ///
    /// # Errors
    /// [`JobError::Wrong`] with line and key of the first thing that is wrong.
    pub(in crate::job) fn read<T: Default>(
        file: &'a str,
        text: &'a str,
        root: &'a DeTable<'a>,
        describe: fn(&mut Self, &mut T),
    ) -> Result<T, JobError> {
        let mut reader = Reader {
            file,
            text,
            frames: Vec::new(),
            wrong: None,
        };
        let mut value = T::default();
        reader.inside(root, 0, String::new(), &mut value, describe);
        match reader.wrong {
            None => Ok(value),
            Some(wrong) => Err(wrong),
        }
    }

    fn inside<T>(
        &mut self,
        table: &'a DeTable<'a>,
        at: usize,
        path: String,
        value: &mut T,
        describe: fn(&mut Self, &mut T),
    ) {
        let known = Vec::new();
        self.frames.push(Frame {
            table,
            at,
            path,
            known,
        });
        describe(self, value);
        self.refuse_unknown();
        self.frames.pop();
    }

    fn refuse_unknown(&mut self) {
        let Some(frame) = self.frames.last() else {
            return;
        };
        let unknown = |entry: &Entry<'a>| !frame.known.contains(&entry.0.get_ref().as_ref());
        // the first in the text, not in the alphabet
        let first = frame
            .table
            .iter()
            .filter(unknown)
            .min_by_key(|e| e.0.span().start);
        if let Some((key, _)) = first {
            let what = format!(
                "there is no such key; the keys here are {}",
                frame.known.join(", ")
            );
            let (span, name) = (key.span(), key.get_ref().to_string());
            self.fail(span, &name, &what);
        }
    }

    fn find(&mut self, key: &'static str) -> Option<&'a Spanned<DeValue<'a>>> {
        let frame = self.frames.last_mut()?;
        frame.known.push(key);
        let table = frame.table;
        let found = table.iter().find(|(name, _)| name.get_ref() == key);
        found.map(|(_, value)| value)
    }

    fn path_of(&self, key: &str) -> String {
        let around = self.frames.last().map_or("", |frame| frame.path.as_str());
        if around.is_empty() {
            key.to_owned()
        } else {
            format!("{around}.{key}")
        }
    }

    fn fail(&mut self, span: Range<usize>, key: &str, what: &str) {
        if self.wrong.is_none() {
            let key = harmless(&self.path_of(key), 200);
            self.wrong = Some(wrong(self.file, self.text, span.start, &key, what));
        }
    }

    fn cell<T>(
        &mut self,
        key: &str,
        found: &Spanned<DeValue<'_>>,
        read: impl FnOnce(Cell) -> Result<T, String>,
    ) -> Option<T> {
        let outcome = cell_of(found.get_ref()).and_then(read);
        outcome
            .map_err(|what| self.fail(found.span(), key, &what))
            .ok()
    }

    fn as_table(&mut self, key: &str, found: &'a Spanned<DeValue<'a>>) -> Option<&'a DeTable<'a>> {
        let table = found.get_ref().as_table();
        if table.is_none() {
            let what = format!("a table was expected, not {}", quoted(found.get_ref()));
            self.fail(found.span(), key, &what);
        }
        table
    }
}

/// Something wrong at a byte of the text.
pub(in crate::job) fn wrong(file: &str, text: &str, at: usize, key: &str, what: &str) -> JobError {
    let before = text.bytes().take(at);
    let what = harmless(what, 600);
    JobError::Wrong {
        path: file.to_owned(),
        line: 1 + before.filter(|byte| *byte == b'\n').count(),
        what: if key.is_empty() {
            what
        } else {
            format!("{key}: {what}")
        },
        key: key.to_owned(),
    }
}

impl Form for Reader<'_> {
    fn one<T>(&mut self, key: &'static str, value: &mut T, codec: &Codec<T>, needed: bool) {
        match self.find(key) {
            Some(found) => {
                if let Some(read) = self.cell(key, found, codec.read) {
                    *value = read;
                }
            }
            None if needed => {
                let at = self.frames.last().map_or(0, |frame| frame.at);
                self.fail(at..at, key, "is missing");
            }
            None => {}
        }
    }

    fn map<T>(
        &mut self,
        key: &'static str,
        values: &mut BTreeMap<String, T>,
        _write: fn(&T) -> Cell,
        read: fn(&str, Cell) -> Result<T, String>,
    ) {
        let Some(found) = self.find(key) else {
            return;
        };
        let Some(table) = self.as_table(key, found) else {
            return;
        };
        for (name, found) in table {
            let name = name.get_ref().as_ref();
            let whole = format!("{key}.{name}");
            if let Some(value) = self.cell(&whole, found, |cell| read(name, cell)) {
                values.insert(name.to_owned(), value);
            }
        }
    }

    fn table<T: Default + PartialEq>(
        &mut self,
        key: &'static str,
        value: &mut T,
        describe: fn(&mut Self, &mut T),
    ) {
        if let Some(found) = self.find(key)
            && let Some(table) = self.as_table(key, found)
        {
            let path = self.path_of(key);
            self.inside(table, found.span().start, path, value, describe);
        }
    }

    fn maybe<T: Default>(
        &mut self,
        key: &'static str,
        value: &mut Option<T>,
        describe: fn(&mut Self, &mut T),
    ) {
        if let Some(found) = self.find(key)
            && let Some(table) = self.as_table(key, found)
        {
            let path = self.path_of(key);
            let mut inner = T::default();
            self.inside(table, found.span().start, path, &mut inner, describe);
            *value = Some(inner);
        }
    }

    fn list<T: Default>(
        &mut self,
        key: &'static str,
        values: &mut Vec<T>,
        describe: fn(&mut Self, &mut T),
    ) {
        let Some(found) = self.find(key) else {
            return;
        };
        let Some(entries) = found.get_ref().as_array() else {
            let what = format!(
                "tables [[{key}]] were expected, not {}",
                quoted(found.get_ref())
            );
            self.fail(found.span(), key, &what);
            return;
        };
        for (index, found) in entries.iter().enumerate() {
            let name = format!("{key}[{}]", index + 1);
            let Some(table) = self.as_table(&name, found) else {
                return;
            };
            let path = self.path_of(&name);
            let mut value = T::default();
            self.inside(table, found.span().start, path, &mut value, describe);
            values.push(value);
        }
    }
}

fn cell_of(value: &DeValue<'_>) -> Result<Cell, String> {
    Ok(match value {
        DeValue::String(text) => Cell::Text(text.to_string()),
        DeValue::Integer(digits) => {
            let number = i64::from_str_radix(digits.as_str(), digits.radix());
            Cell::Whole(number.map_err(|_unused| "is too large".to_owned())?)
        }
        DeValue::Float(digits) => {
            let number = digits.as_str().parse();
            Cell::Number(number.map_err(|_unused| "is no number".to_owned())?)
        }
        DeValue::Boolean(flag) => Cell::Flag(*flag),
        DeValue::Array(values) => Cell::List(cells_of(values)?),
        DeValue::Datetime(_) => {
            return Err("write the date as a text, in quotation marks".to_owned());
        }
        DeValue::Table(_) => return Err("a value was expected, not a table".to_owned()),
    })
}

fn cells_of(values: &DeArray<'_>) -> Result<Vec<Cell>, String> {
    values
        .iter()
        .map(|value| cell_of(value.get_ref()))
        .collect()
}

fn quoted(value: &DeValue<'_>) -> String {
    match value {
        DeValue::String(text) => format!("'{}'", harmless(text, QUOTE)),
        other => format!("a value of the kind {}", other.type_str()),
    }
}
