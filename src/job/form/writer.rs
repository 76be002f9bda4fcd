//! The text of a record: keys in the order of their description, tables after them.

use std::collections::BTreeMap;

use super::{Cell, Codec, Form};

/// Writes what is described.
#[derive(Debug, Default)]
pub(in crate::job) struct Writer {
    /// Names of the tables around, with dots.
    path: String,
    /// Keys of the table that is being written.
    keys: String,
    /// Tables in it, finished.
    tables: String,
}

impl Writer {
    /// The text of what was described.
    pub(in crate::job) fn finish(self) -> String {
        self.keys + &self.tables
    }

    fn path_of(&self, key: &str) -> String {
        if self.path.is_empty() {
            key.to_owned()
        } else {
            format!("{}.{key}", self.path)
        }
    }

    fn push(&mut self, key: &str, cell: &Cell) {
        self.keys.push_str(&format!("{key} = {}\n", written(cell)));
    }

    fn inside<T>(
        &mut self,
        key: &str,
        heading: &str,
        value: &mut T,
        describe: fn(&mut Self, &mut T),
    ) {
        let mut inner = Writer {
            path: self.path_of(key),
            ..Writer::default()
        };
        describe(&mut inner, value);
        self.tables
            .push_str(&format!("\n{heading}\n{}", inner.finish()));
    }
}

impl Form for Writer {
    fn one<T>(&mut self, key: &'static str, value: &mut T, codec: &Codec<T>, _needed: bool) {
        if let Some(cell) = (codec.write)(value) {
            self.push(key, &cell);
        }
    }

    fn map<T>(
        &mut self,
        key: &'static str,
        values: &mut BTreeMap<String, T>,
        write: fn(&T) -> Cell,
        _read: fn(&str, Cell) -> Result<T, String>,
    ) {
        if values.is_empty() {
            return;
        }
        self.tables
            .push_str(&format!("\n[{}]\n", self.path_of(key)));
        for (name, value) in values.iter() {
            let line = format!("{} = {}\n", written_key(name), written(&write(value)));
            self.tables.push_str(&line);
        }
    }

    fn table<T: Default + PartialEq>(
        &mut self,
        key: &'static str,
        value: &mut T,
        describe: fn(&mut Self, &mut T),
    ) {
        if *value != T::default() {
            let heading = format!("[{}]", self.path_of(key));
            self.inside(key, &heading, value, describe);
        }
    }

    fn maybe<T: Default>(
        &mut self,
        key: &'static str,
        value: &mut Option<T>,
        describe: fn(&mut Self, &mut T),
    ) {
        if let Some(value) = value {
            let heading = format!("[{}]", self.path_of(key));
            self.inside(key, &heading, value, describe);
        }
    }

    fn list<T: Default>(
        &mut self,
        key: &'static str,
        values: &mut Vec<T>,
        describe: fn(&mut Self, &mut T),
    ) {
        let heading = format!("[[{}]]", self.path_of(key));
        for value in values {
            self.inside(key, &heading, value, describe);
        }
    }
}

/// A value in TOML. A number has so many digits that it is read back the same.
fn written(cell: &Cell) -> String {
    match cell {
        Cell::Text(text) => toml::Value::from(text.as_str()).to_string(),
        Cell::Number(number) => format!("{number:?}"),
        Cell::Whole(number) => number.to_string(),
        Cell::Flag(flag) => flag.to_string(),
        Cell::List(cells) => {
            let cells: Vec<String> = cells.iter().map(written).collect();
            format!("[{}]", cells.join(", "))
        }
    }
}

/// A key, in quotation marks where it needs them; a quoted key takes no line break, so everything that
/// is no plain character is written by its number.
fn written_key(name: &str) -> String {
    let bare = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_');
    if !name.is_empty() && name.bytes().all(bare) {
        return name.to_owned();
    }
    let mut key = String::from("\"");
    for c in name.chars() {
        if c.is_control() || matches!(c, '"' | '\\') {
            key.push_str(&format!("\\u{:04X}", u32::from(c)));
        } else {
            key.push(c);
        }
    }
    key.push('"');
    key
}
