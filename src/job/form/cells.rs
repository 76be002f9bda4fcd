//! The kinds of values that a record holds, and what each of them takes.

use std::collections::{BTreeMap, BTreeSet};

use super::{Cell, Codec, Form};
use crate::data::job::Input;
use crate::data::job::date::is_date;
use crate::data::options::{Accuracy, ChannelChoice};
use crate::data::text::harmless;
use crate::data::typed::{PARTS, READINGS};
use crate::job::place::check_relative;

/// Longest text, in characters.
const LONGEST_TEXT: usize = 100_000;

fn not(cell: &Cell, expected: &str) -> String {
    let found = match cell {
        Cell::Text(text) => format!("'{}'", harmless(text, 60)),
        Cell::Number(number) => number.to_string(),
        Cell::Whole(number) => number.to_string(),
        Cell::Flag(flag) => flag.to_string(),
        Cell::List(_) => "a list".to_owned(),
    };
    format!("{expected} was expected, not {found}")
}

fn as_text(cell: Cell) -> Result<String, String> {
    match cell {
        Cell::Text(text) if text.chars().count() <= LONGEST_TEXT => Ok(text),
        Cell::Text(_) => Err(format!("is longer than {LONGEST_TEXT} characters")),
        other => Err(not(&other, "a text in quotation marks")),
    }
}

fn as_number(cell: Cell) -> Result<f64, String> {
    match cell {
        Cell::Number(number) if !number.is_nan() => Ok(number),
        #[expect(
            clippy::cast_precision_loss,
            reason = "as a person means it who writes no point"
        )]
        Cell::Whole(number) => Ok(number as f64),
        other => Err(not(&other, "a number")),
    }
}

fn as_finite(cell: Cell) -> Result<f64, String> {
    let number = as_number(cell)?;
    if number.is_finite() {
        Ok(number)
    } else {
        Err("a finite number was expected".to_owned())
    }
}

fn as_list(cell: Cell) -> Result<Vec<Cell>, String> {
    match cell {
        Cell::List(cells) => Ok(cells),
        other => Err(not(&other, "a list in square brackets")),
    }
}

fn unless_empty(text: &String) -> Option<Cell> {
    (!text.is_empty()).then(|| Cell::Text(text.clone()))
}

/// A text, left out where it is empty.
pub(in crate::job) fn text(form: &mut impl Form, key: &'static str, value: &mut String) {
    let codec = Codec {
        write: unless_empty,
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
        write: unless_empty,
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
        write: unless_empty,
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

/// A finite number that may be missing.
pub(in crate::job) fn number(form: &mut impl Form, key: &'static str, value: &mut Option<f64>) {
    let codec = Codec {
        write: |value: &Option<f64>| value.map(Cell::Number),
        read: |cell| as_finite(cell).map(Some),
    };
    form.one(key, value, &codec, false);
}

/// A number that may be missing, `inf` for an open circuit.
pub(in crate::job) fn open_number(
    form: &mut impl Form,
    key: &'static str,
    value: &mut Option<f64>,
) {
    let codec = Codec {
        write: |value: &Option<f64>| value.map(Cell::Number),
        read: |cell| {
            let number = as_number(cell)?;
            let negative = "a number, or inf for an open circuit, was expected, not -inf";
            let open = number > f64::NEG_INFINITY;
            open.then_some(Some(number))
                .ok_or_else(|| negative.to_owned())
        },
    };
    form.one(key, value, &codec, false);
}

/// A finite number that must not be missing.
pub(in crate::job) fn required(form: &mut impl Form, key: &'static str, value: &mut f64) {
    let codec = Codec {
        write: |value: &f64| Some(Cell::Number(*value)),
        read: as_finite,
    };
    form.one(key, value, &codec, true);
}

/// Three numbers.
pub(in crate::job) fn numbers(
    form: &mut impl Form,
    key: &'static str,
    value: &mut Option<[f64; 3]>,
) {
    let codec = Codec {
        write: |value: &Option<[f64; 3]>| {
            value.map(|all| Cell::List(all.into_iter().map(Cell::Number).collect()))
        },
        read: |cell| {
            let all: Vec<f64> = as_list(cell)?
                .into_iter()
                .map(as_finite)
                .collect::<Result<_, _>>()?;
            let three = <[f64; 3]>::try_from(all);
            three
                .map(Some)
                .map_err(|_unused| "three numbers were expected".to_owned())
        },
    };
    form.one(key, value, &codec, false);
}

/// A number that counts from 1 and may be missing.
pub(in crate::job) fn whole(form: &mut impl Form, key: &'static str, value: &mut Option<usize>) {
    let codec = Codec {
        write: |value: &Option<usize>| value.map(|n| Cell::Whole(i64::try_from(n).unwrap_or(0))),
        read: |cell| match cell {
            Cell::Whole(number @ 1..=1_000_000) => Ok(usize::try_from(number).ok()),
            other => Err(not(&other, "a whole number from 1 to 1000000")),
        },
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

/// Part values in SI base units under the names of [`PARTS`].
pub(in crate::job) fn parts(form: &mut impl Form, values: &mut BTreeMap<String, f64>) {
    let read = |name: &str, cell| {
        let names = || PARTS.iter().map(|part| part.0);
        let Some(part) = PARTS.iter().find(|part| part.0 == name) else {
            return Err(unknown("part", names()));
        };
        let number = as_finite(cell)?;
        if (part.2..=part.3).contains(&number) {
            Ok(number)
        } else {
            Err("is not found on a board; the value stands in its SI base unit".to_owned())
        }
    };
    form.map("parts", values, |number| Cell::Number(*number), read);
}

/// Hand readings in SI base units under the names of [`READINGS`].
pub(in crate::job) fn readings(form: &mut impl Form, values: &mut BTreeMap<String, f64>) {
    let read = |name: &str, cell| {
        let names = || READINGS.iter().map(|reading| reading.0);
        if names().any(|known| known == name) {
            as_finite(cell)
        } else {
            Err(unknown("reading", names()))
        }
    };
    form.map("readings", values, |number| Cell::Number(*number), read);
}

/// Import decisions by key.
pub(in crate::job) fn layout(form: &mut impl Form, values: &mut BTreeMap<String, String>) {
    let read = |_key: &str, cell| as_text(cell);
    form.map("layout", values, |text| Cell::Text(text.clone()), read);
}

fn unknown(what: &str, names: impl Iterator<Item = &'static str>) -> String {
    let names: Vec<&str> = names.collect();
    format!(
        "there is no such {what}; one of {} was expected",
        names.join(", ")
    )
}

/// Gain and offset of an accuracy: half-widths, not below zero.
pub(in crate::job) fn accuracy<F: Form>(form: &mut F, value: &mut Accuracy) {
    let codec = Codec {
        write: |value: &f64| Some(Cell::Number(*value)),
        read: |cell| {
            let number = as_finite(cell)?;
            let good = number >= 0.0;
            good.then_some(number)
                .ok_or_else(|| "must not be below zero".to_owned())
        },
    };
    form.one("gain", &mut value.gain, &codec, true);
    form.one("offset", &mut value.offset, &codec, true);
}

/// A channel by shot and number or name.
pub(in crate::job) fn channel(form: &mut impl Form, value: &mut ChannelChoice) {
    whole(form, "shot", &mut value.capture);
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

/// An input voltage: `230ac`.
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
        write: unless_empty,
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
