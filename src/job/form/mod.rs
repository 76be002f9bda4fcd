//! One description of each table of the record serves both ways: [`Reader`] fills values from a text,
//! [`Writer`] makes the text of them, in the order of the description.

mod amounts;
mod cells;
mod reader;
mod words;
mod writer;

pub(super) use amounts::{
    accuracy, layout, marks, number, numbers, open_number, parts, readings, required, whole,
};
pub(super) use cells::{
    channel, currency, date, file, files, flag, input, named, sha256, text, typed_text, word,
    word_needed, words, yes_or_no,
};
pub(super) use reader::{Reader, wrong};
pub(super) use writer::Writer;

/// A value of the record that is no table.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Cell {
    /// Text.
    Text(String),
    /// A number, with or without a decimal point.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// `true` or `false`.
    Flag(bool),
    /// Several values.
    List(Vec<Cell>),
}

/// How a value stands in the record.
pub(super) struct Codec<T> {
    /// The value as written; `None` where it is left out.
    pub(super) write: fn(&T) -> Option<Cell>,
    /// The value of what was read, or what was expected.
    pub(super) read: fn(Cell) -> Result<T, String>,
}

/// A record being read or written.
pub(super) trait Form: Sized {
    /// A value; where the key is missing it stays as it is, or is an error where it is `needed`.
    fn one<T>(&mut self, key: &'static str, value: &mut T, codec: &Codec<T>, needed: bool);

    /// A table of values under free names; `read` gets the name and the value.
    fn map<T>(
        &mut self,
        key: &'static str,
        values: &mut std::collections::BTreeMap<String, T>,
        write: fn(&T) -> Cell,
        read: fn(&str, Cell) -> Result<T, String>,
    );

    /// A table, left out where it is as by default.
    fn table<T: Default + PartialEq>(
        &mut self,
        key: &'static str,
        value: &mut T,
        describe: fn(&mut Self, &mut T),
    );

    /// A table that may be missing.
    fn maybe<T: Default>(
        &mut self,
        key: &'static str,
        value: &mut Option<T>,
        describe: fn(&mut Self, &mut T),
    );

    /// Tables of one kind, in order.
    fn list<T: Default>(
        &mut self,
        key: &'static str,
        values: &mut Vec<T>,
        describe: fn(&mut Self, &mut T),
    );
}
