//! The kinds of numbers that a record holds, and what each of them takes.

use std::collections::BTreeMap;

use super::cells::{as_list, as_text, not};
use super::{Cell, Codec, Form};
use crate::data::options::Accuracy;
use crate::data::typed::{MORE_PARTS, PARTS, all_readings, marked_part, reading_kind};

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

/// Part values in SI base units under the names of [`PARTS`].
pub(in crate::job) fn parts(form: &mut impl Form, values: &mut BTreeMap<String, f64>) {
    let read = |name: &str, cell| {
        let names = || PARTS.iter().chain(&MORE_PARTS).map(|part| part.0);
        let Some(part) = PARTS.iter().chain(&MORE_PARTS).find(|part| part.0 == name) else {
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

/// Parts as they are marked, `4k7 5%`, under the names of [`PARTS`].
pub(in crate::job) fn marks(form: &mut impl Form, values: &mut BTreeMap<String, String>) {
    let read = |name: &str, cell| {
        let text = as_text(cell)?;
        marked_part(name, &text)?;
        Ok(text)
    };
    form.map("marks", values, |text| Cell::Text(text.clone()), read);
}

/// Hand readings in SI base units under the names of [`all_readings`].
pub(in crate::job) fn readings(form: &mut impl Form, values: &mut BTreeMap<String, f64>) {
    let read = |name: &str, cell| match reading_kind(name) {
        Some(_) => as_finite(cell),
        None => Err(unknown("reading", all_readings().map(|known| known.0))),
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
