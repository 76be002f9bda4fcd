//! The kinds of texts and words that a record holds, and what each of them takes.

use std::collections::BTreeSet;

use super::{Cell, Codec, Form};
use crate::data::job::date::is_date;
use crate::data::options::ChannelChoice;
use crate::data::text::harmless;
use crate::data::typed::Input;
use crate::job::place::check_relative;

/// Longest text, in characters.
const LONGEST_TEXT: usize = 100_000;

pub(super) fn not(cell: &Cell, expected: &str) -> String {
    let found = match cell {
        Cell::Text(text) => format!("'{}'", harmless(text, 60)),
        Cell::Number(number) => number.to_string(),
        Cell::Whole(number) => number.to_string(),
        Cell::Flag(flag) => flag.to_string(),
        Cell::List(_) => "a list".to_owned(),
    };
    format!("{expected} was expected, not {found}")
}

pub(super) fn as_text(cell: Cell) -> Result<String, String> {
    match cell {
        Cell::Text(text) if text.chars().count() <= LONGEST_TEXT => Ok(text),
        Cell::Text(_) => Err(format!("is longer than {LONGEST_TEXT} characters")),
        other => Err(not(&other, "a text in quotation marks")),
    }
}

pub(super) fn as_list(cell: Cell) -> Result<Vec<Cell>, String> {
    match cell {
        Cell::List(cells) => Ok(cells),
        other => Err(not(&other, "a list in square brackets")),
    }
}

fn unless_empty(text: &str) -> Option<Cell> {
    (!text.is_empty()).then(|| Cell::Text(text.to_owned()))
}

/// A text, left out where it is empty.
pub(in crate::job) fn text(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| unless_empty(text),
        read: as_text,
    };
    form.one(key, value, &codec, false);
}

/// A text that may be missing, which is another thing than empty.
pub(in crate::job) fn typed_text(
    form: &mut impl Form,
    key: &'static str,
    value: &mut Option<String>,
) {
    let codec = Codec {
        write: |value: &Option<String>| value.clone().map(Cell::Text),
        read: |cell| as_text(cell).map(Some),
    };
    form.one(key, value, &codec, false);
}

/// A text by which something is found, which must not be missing.
pub(in crate::job) fn named(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| Some(Cell::Text(text.clone())),
        read: as_text,
    };
    form.one(key, value, &codec, true);
}

/// A date, ISO 8601.
pub(in crate::job) fn date(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| unless_empty(text),
        read: |cell| {
            let text = as_text(cell)?;
            let what = "a date of ISO 8601 like 2026-11-26 or 2026-11-26T14:05:00Z";
            let good = is_date(&text);
            good.then_some(text.clone())
                .ok_or_else(|| not(&Cell::Text(text), what))
        },
    };
    form.one(key, value, &codec, false);
}

/// A path inside the job's folder.
pub(in crate::job) fn file(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| Some(Cell::Text(text.clone())),
        read: as_file,
    };
    form.one(key, value, &codec, true);
}

fn as_file(cell: Cell) -> Result<String, String> {
    let text = as_text(cell)?;
    check_relative(&text)?;
    Ok(text)
}

/// The hash of a file.
pub(in crate::job) fn sha256(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| unless_empty(text),
        read: |cell| {
            let text = as_text(cell)?;
            let digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
            if text.len() == 64 && text.bytes().all(digit) {
                Ok(text)
            } else {
                Err(not(
                    &Cell::Text(text),
                    "64 hexadecimal digits, small letters,",
                ))
            }
        },
    };
    form.one(key, value, &codec, false);
}

/// Paths inside the job's folder.
pub(in crate::job) fn files(form: &mut impl Form, key: &'static str, value: &mut Vec<String>) {
    let codec = Codec {
        write: |texts: &Vec<String>| {
            let cells = texts.iter().cloned().map(Cell::Text).collect();
            (!texts.is_empty()).then_some(Cell::List(cells))
        },
        read: |cell| as_list(cell)?.into_iter().map(as_file).collect(),
    };
    form.one(key, value, &codec, false);
}

/// `true`, `false`, or nothing.
pub(in crate::job) fn flag(form: &mut impl Form, key: &'static str, value: &mut Option<bool>) {
    let codec = Codec {
        write: |value: &Option<bool>| value.map(Cell::Flag),
        read: |cell| match cell {
            Cell::Flag(flag) => Ok(Some(flag)),
            other => Err(not(&other, "true or false")),
        },
    };
    form.one(key, value, &codec, false);
}

/// Something that has a word in the record.
pub(in crate::job) trait Word: Copy + Ord + 'static {
    /// All there are.
    const EVERY: &'static [Self];
    /// The word of one.
    fn word(self) -> &'static str;
}

fn as_word<W: Word>(cell: Cell) -> Result<W, String> {
    let text = as_text(cell)?;
    let found = W::EVERY.iter().find(|one| one.word() == text);
    found.copied().ok_or_else(|| {
        let all: Vec<&str> = W::EVERY.iter().map(|one| one.word()).collect();
        not(&Cell::Text(text), &format!("one of {}", all.join(", ")))
    })
}

/// One of a few words, or nothing.
pub(in crate::job) fn word<W: Word>(
    form: &mut impl Form,
    key: &'static str,
    value: &mut Option<W>,
) {
    let codec = Codec {
        write: |value: &Option<W>| value.map(|one| Cell::Text(one.word().to_owned())),
        read: |cell| as_word(cell).map(Some),
    };
    form.one(key, value, &codec, false);
}

/// One of a few words, which must not be missing.
pub(in crate::job) fn word_needed<W: Word>(form: &mut impl Form, key: &'static str, value: &mut W) {
    let codec = Codec {
        write: |value: &W| Some(Cell::Text(value.word().to_owned())),
        read: as_word,
    };
    form.one(key, value, &codec, true);
}

/// Several of a few words.
pub(in crate::job) fn words<W: Word>(
    form: &mut impl Form,
    key: &'static str,
    value: &mut BTreeSet<W>,
) {
    let codec = Codec {
        write: |value: &BTreeSet<W>| {
            let cells = value.iter().map(|one| Cell::Text(one.word().to_owned()));
            (!value.is_empty()).then(|| Cell::List(cells.collect()))
        },
        read: |cell| as_list(cell)?.into_iter().map(as_word).collect(),
    };
    form.one(key, value, &codec, false);
}

/// A channel by shot and number or name.
pub(in crate::job) fn channel(form: &mut impl Form, value: &mut ChannelChoice) {
    super::amounts::whole(form, "shot", &mut value.capture);
    named(form, "channel", &mut value.channel);
}

/// `true` or `false`, which must not be missing.
pub(in crate::job) fn yes_or_no(form: &mut impl Form, key: &'static str, value: &mut bool) {
    let codec = Codec {
        write: |value: &bool| Some(Cell::Flag(*value)),
        read: |cell| match cell {
            Cell::Flag(flag) => Ok(flag),
            other => Err(not(&other, "true or false")),
        },
    };
    form.one(key, value, &codec, true);
}

/// An input voltage: `230ac`, `85..265ac`.
pub(in crate::job) fn input(form: &mut impl Form, key: &'static str, value: &mut Option<Input>) {
    let codec = Codec {
        write: |value: &Option<Input>| value.map(|input| Cell::Text(input.to_string())),
        read: |cell| Input::read(&as_text(cell)?).map(Some),
    };
    form.one(key, value, &codec, false);
}

/// A currency: three capital letters.
pub(in crate::job) fn currency(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: |text: &String| unless_empty(text),
        read: |cell| {
            let text = as_text(cell)?;
            if text.len() == 3 && text.bytes().all(|b| b.is_ascii_uppercase()) {
                Ok(text)
            } else {
                Err(not(
                    &Cell::Text(text),
                    "a currency of three capital letters like EUR",
                ))
            }
        },
    };
    form.one(key, value, &codec, false);
}
