//! One layout as a file: parsed with line and key of what is wrong, written whole or not at all.

use std::collections::BTreeMap;
use std::fs;
use std::io::{self, Read, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use toml::Spanned;

use super::{LONGEST_NAME, Remembered, RememberedError, failed, shown};
use crate::data::text::harmless;
use crate::formats::{ReadOptions, layout};

/// The form of the files that this program writes, and the latest that it reads.
const SCHEMA: i64 = 1;
/// Longest stem of a file name made of it.
pub(super) const LONGEST_STEM: usize = 40;
/// Largest file that is read: a signature has at most 60 lines of 200 characters.
const MOST_BYTES: u64 = 256 * 1024;
/// Names that a desktop keeps for devices.
const KEPT_FOR_DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];
const HEADING: &str = "# How files of one form are read. May be edited; the keys of [layout] are those of --layout.\n\n";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Raw {
    schema: Spanned<i64>,
    name: Spanned<String>,
    signature: Spanned<String>,
    layout: BTreeMap<Spanned<String>, Spanned<String>>,
}

pub(super) fn load(path: &Path) -> Result<Remembered, RememberedError> {
    let unread = |error: io::Error| failed(path, "read", &error);
    // looked at before it is opened: opening a pipe waits for its writer
    if !fs::metadata(path).map_err(unread)?.is_file() {
        return Err(unread(io::Error::other("not a regular file")));
    }
    let mut text = String::new();
    let file = fs::File::open(path).map_err(unread)?;
    let mut limited = file.take(MOST_BYTES + 1);
    limited.read_to_string(&mut text).map_err(unread)?;
    if text.len() as u64 > MOST_BYTES {
        let what = "larger than a layout can be";
        return Err(unread(io::Error::other(what)));
    }
    parse(path, &text)
}

pub(super) fn parse(path: &Path, text: &str) -> Result<Remembered, RememberedError> {
    let wrong = |span: Option<Range<usize>>, what: String| RememberedError::Wrong {
        path: shown(path),
        line: line_at(text, span.map_or(0, |span| span.start)),
        what: harmless(&what, 300),
    };
    let not_toml = |error: toml::de::Error| wrong(error.span(), error.message().to_owned());
    // a later version may have keys that are not known here: its schema is looked at first
    let table: toml::Table = toml::from_str(text).map_err(not_toml)?;
    if let Some(found) = table.get("schema").and_then(toml::Value::as_integer)
        && found > SCHEMA
    {
        let path = shown(path);
        return Err(RememberedError::Newer { path, found });
    }
    let raw: Raw = toml::from_str(text).map_err(not_toml)?;
    if *raw.schema.get_ref() != SCHEMA {
        let what = format!("schema has to be {SCHEMA}");
        return Err(wrong(Some(raw.schema.span()), what));
    }
    if !is_name(raw.name.get_ref()) {
        let what = format!("name: {}", RememberedError::Name);
        return Err(wrong(Some(raw.name.span()), what));
    }
    let mut decided = BTreeMap::new();
    for (key, value) in raw.layout {
        let (span, key, value) = (key.span(), key.into_inner(), value.into_inner());
        check_decision(&key, &value).map_err(|what| wrong(Some(span), what))?;
        decided.insert(key, value);
    }
    let signature = raw.signature.into_inner().replace("\r\n", "\n");
    Ok(Remembered {
        name: raw.name.into_inner(),
        signature: signature.trim_matches('\n').to_owned(),
        layout: decided,
    })
}

fn line_at(text: &str, offset: usize) -> usize {
    let before = text.bytes().take(offset);
    1 + before.filter(|byte| *byte == b'\n').count()
}

fn check_decision(key: &str, value: &str) -> Result<(), String> {
    let Some(known) = layout::entry(key) else {
        let keys: Vec<&str> = layout::LAYOUT_KEYS.iter().map(|known| known.key).collect();
        return Err(format!(
            "layout.{}: there is no such key; the keys are {}",
            harmless(key, 40),
            keys.join(", ")
        ));
    };
    let options = ReadOptions::default().with(key, value);
    layout::check_keys("", &options)
        .map_err(|_refusal| format!("layout.{key}: takes {}", known.takes))
}

pub(super) fn is_name(name: &str) -> bool {
    let long = name.chars().count();
    !name.trim().is_empty() && long <= LONGEST_NAME && harmless(name, LONGEST_NAME) == name
}

#[derive(Serialize)]
struct Written<'a> {
    schema: i64,
    name: &'a str,
    signature: &'a str,
    layout: &'a BTreeMap<String, String>,
}

pub(super) fn written(layout: &Remembered) -> io::Result<String> {
    let text = toml::to_string_pretty(&Written {
        schema: SCHEMA,
        name: &layout.name,
        signature: &layout.signature,
        layout: &layout.layout,
    })
    .map_err(io::Error::other)?;
    Ok(format!("{HEADING}{text}"))
}

/// A file in the folder that is not there yet, named after the layout.
pub(super) fn free_path(folder: &Path, name: &str) -> PathBuf {
    let stem = stem(name);
    let numbered = (2_u32..).map(|number| format!("{stem}-{number}"));
    let names = std::iter::once(stem.clone()).chain(numbered);
    let mut paths = names.map(|name| folder.join(format!("{name}.toml")));
    let free = paths.find(|path| fs::symlink_metadata(path).is_err());
    free.unwrap_or_else(|| folder.join(format!("{stem}.toml")))
}

/// A file name's stem of `a` to `z`, digits and dashes only.
pub(super) fn stem(name: &str) -> String {
    let mut stem = String::new();
    for character in name.chars().map(|c| c.to_ascii_lowercase()) {
        match character {
            'a'..='z' | '0'..='9' => stem.push(character),
            _ if stem.is_empty() || stem.ends_with('-') => {}
            _ => stem.push('-'),
        }
        if stem.len() == LONGEST_STEM {
            break;
        }
    }
    let stem = stem.trim_end_matches('-');
    match stem {
        "" => "layout".to_owned(),
        device if KEPT_FOR_DEVICES.contains(&device) => format!("layout-{device}"),
        plain => plain.to_owned(),
    }
}

/// Into a new file beside it, which then takes its name.
pub(super) fn write(path: &Path, text: &str) -> io::Result<()> {
    let beside = path.with_extension(format!("{}.tmp", std::process::id()));
    let fill = || {
        let mut file = fs::File::create(&beside)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&beside, path)
    };
    let outcome = fill();
    if outcome.is_err() {
        // the reason is in the outcome; what is left over is no layout
        drop(fs::remove_file(&beside));
    }
    outcome
}
