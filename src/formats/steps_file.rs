//! Voltage steps from a text file, one reading a line, as a person writes it.
//!
//! `8.8 V works going up`, `8,53;works;down;11.5mA`; what follows `#` is a comment, blank lines count for
//! nothing, and the first line may be a heading.

use std::fmt;
use std::io::Read as _;
use std::path::Path;

use crate::data::text::harmless;
use crate::data::typed::{self, Kind};
use crate::data::{Direction, StepPlace, VoltageStep};

/// Most bytes of a file.
pub const MOST_BYTES: usize = 256 * 1024;
/// Most readings of a file.
pub const MOST_READINGS: usize = 2000;
/// Most characters of a line.
const LONGEST_LINE: usize = 500;
/// Most bad lines that are named.
const MOST_ERRORS: usize = 20;
/// No controller is fed with more, in volts.
const MOST_VOLTS: f64 = 100.0;
/// No bench supply feeds a controller with more, in amperes.
const MOST_AMPERES: f64 = 10.0;

const WORKS: [&str; 9] = [
    "works", "work", "working", "runs", "run", "running", "on", "yes", "starts",
];
const DEAD: [&str; 5] = ["dead", "off", "no", "stopped", "stops"];
const UP: [&str; 3] = ["up", "rising", "upwards"];
const DOWN: [&str; 3] = ["down", "falling", "downwards"];
/// Words that say nothing.
const FILLING: [&str; 3] = ["going", "at", "vcc"];
/// Words by which a first line without a digit is known as a heading.
const HEADING: [&str; 8] = [
    "volts",
    "volt",
    "v",
    "vcc",
    "voltage",
    "state",
    "direction",
    "current",
];

/// A line, or the file, that can't be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepsError {
    /// Name of the file.
    pub file: String,
    /// Line, from 1; `None` where it is about the whole file.
    pub line: Option<usize>,
    /// What is wrong and what to do.
    pub what: String,
}

impl fmt::Display for StepsError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.line {
            Some(line) => write!(f, "{}, line {line}: {}", self.file, self.what),
            None => write!(f, "{}: {}", self.file, self.what),
        }
    }
}

impl std::error::Error for StepsError {}

/// Reads a file of voltage steps.
///
/// # Errors
/// One for each bad line, the first 20 of them; or the one reason why the file can't be read.
pub fn read(path: &Path) -> Result<Vec<VoltageStep>, Vec<StepsError>> {
    let file = harmless(&path.to_string_lossy(), 200);
    let whole = |what: String| vec![of_file(&file, what)];
    let unread = |error: std::io::Error| {
        whole(format!(
            "cannot be read ({error}); check the path and the permission"
        ))
    };
    let mut bytes = Vec::new();
    let opened = std::fs::File::open(path).map_err(unread)?;
    let most = MOST_BYTES as u64 + 1;
    opened.take(most).read_to_end(&mut bytes).map_err(unread)?;
    if bytes.len() > MOST_BYTES {
        return Err(whole(format!(
            "is larger than {} KiB; give a file with one reading a line",
            MOST_BYTES / 1024
        )));
    }
    let text = match String::from_utf8(bytes) {
        Ok(text) => text,
        Err(error) => encoding_rs::WINDOWS_1252
            .decode(error.as_bytes())
            .0
            .into_owned(),
    };
    parse(&text, &file)
}

/// Reads voltage steps from a text; `file` is its name in messages.
///
/// # Errors
/// One for each bad line, the first 20 of them; one where there is no reading at all.
pub fn parse(text: &str, file: &str) -> Result<Vec<VoltageStep>, Vec<StepsError>> {
    let mut steps = Vec::new();
    let mut errors = Vec::new();
    let mut first = true;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    for (index, raw) in text.lines().enumerate() {
        let content = raw.split('#').next().unwrap_or("").trim();
        if content.is_empty() {
            continue;
        }
        if std::mem::take(&mut first) && is_heading(content) {
            continue;
        }
        match line(content, StepPlace::Line(index + 1)) {
            Ok(step) => steps.push(step),
            Err(what) => errors.push(StepsError {
                file: file.to_owned(),
                line: Some(index + 1),
                what,
            }),
        }
        if errors.len() >= MOST_ERRORS {
            break;
        }
        if steps.len() > MOST_READINGS {
            errors.push(of_file(file, format!("more than {MOST_READINGS} readings; leave out what lies far from the thresholds")));
            break;
        }
    }
    if steps.is_empty() && errors.is_empty() {
        errors.push(of_file(
            file,
            "there is no reading in it; write one a line, like 8.8 V works up".to_owned(),
        ));
    }
    if errors.is_empty() {
        Ok(steps)
    } else {
        Err(errors)
    }
}

/// One reading as a person writes it.
///
/// # Errors
/// A sentence that says what is wrong and how to write it; also for an empty text.
pub fn line(text: &str, place: StepPlace) -> Result<VoltageStep, String> {
    if text.chars().count() > LONGEST_LINE {
        return Err(format!(
            "the line has more than {LONGEST_LINE} characters; {FORM}"
        ));
    }
    let words = words(text);
    let (mut volts, mut works, mut going, mut current) = (None, None, None, None);
    for word in &words {
        let lower = word.to_lowercase();
        let known = lower.as_str();
        if word.starts_with(|c: char| c.is_ascii_digit() || matches!(c, '+' | '-' | '−' | '.')) {
            if word.ends_with(['A', 'a']) {
                once(&mut current, amperes(word)?, "currents")?;
            } else {
                once(&mut volts, in_volts(word)?, "voltages")?;
            }
        } else if WORKS.contains(&known) {
            once(&mut works, true, "states")?;
        } else if DEAD.contains(&known) {
            once(&mut works, false, "states")?;
        } else if UP.contains(&known) {
            once(&mut going, Direction::Up, "directions")?;
        } else if DOWN.contains(&known) {
            once(&mut going, Direction::Down, "directions")?;
        } else if !FILLING.contains(&known) {
            return Err(format!(
                "'{}' is not understood; {FORM}",
                harmless(word, 60)
            ));
        }
    }
    Ok(VoltageStep {
        volts: volts.ok_or_else(|| format!("no voltage; {FORM}"))?,
        works: works.ok_or_else(|| format!("does it work or is it dead? {FORM}"))?,
        going,
        current_a: current,
        place,
    })
}

/// A reading as [`line()`] reads it back: `8.53 V works down 11.5 mA`.
pub fn written(step: &VoltageStep) -> String {
    let mut text = format!(
        "{} {}",
        typed::written(step.volts, Kind::Volt),
        step.state_id()
    );
    if let Some(going) = step.going {
        text.push(' ');
        text.push_str(going.id());
    }
    if let Some(current) = step.current_a {
        text.push(' ');
        text.push_str(&typed::written(current, Kind::Ampere));
    }
    text
}

const FORM: &str = "write it like 8.8 V works up, or 8.53 V dead down 0.4mA";

fn of_file(file: &str, what: String) -> StepsError {
    StepsError {
        file: file.to_owned(),
        line: None,
        what,
    }
}

/// A first line without a digit that names columns.
fn is_heading(content: &str) -> bool {
    let lower = content.to_lowercase();
    !lower.contains(|c: char| c.is_ascii_digit())
        && lower
            .split(|c: char| !c.is_alphanumeric())
            .any(|word| HEADING.contains(&word))
}

/// The words of a line; a number and the unit behind it are one. A comma between two digits is a
/// decimal comma.
fn words(text: &str) -> Vec<String> {
    let chars: Vec<char> = text.chars().collect();
    let digit = |index: Option<usize>| {
        index
            .and_then(|i| chars.get(i))
            .is_some_and(char::is_ascii_digit)
    };
    let spaced: String = chars
        .iter()
        .enumerate()
        .map(|(i, c)| match c {
            ',' if digit(i.checked_sub(1)) && digit(Some(i + 1)) => ',',
            ',' | ';' | '|' | ':' | '=' => ' ',
            other => *other,
        })
        .collect();
    let mut words: Vec<String> = Vec::new();
    for word in spaced.split_whitespace() {
        let unit = matches!(
            word,
            "V" | "v"
                | "mV"
                | "A"
                | "a"
                | "mA"
                | "ma"
                | "uA"
                | "µA"
                | "μA"
                | "Volt"
                | "volt"
                | "volts"
        );
        match words.last_mut() {
            Some(number) if unit && number.ends_with(|c: char| c.is_ascii_digit() || c == '.') => {
                number.push_str(if word.to_lowercase().starts_with("volt") {
                    "V"
                } else {
                    word
                });
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

fn once<T: PartialEq>(slot: &mut Option<T>, value: T, what: &str) -> Result<(), String> {
    if slot.is_some() {
        return Err(format!("two {what} on one line; {FORM}"));
    }
    *slot = Some(value);
    Ok(())
}

/// The number with a capital unit letter.
fn capital(word: &str, small: char, large: char) -> String {
    match word.strip_suffix(small) {
        Some(front) => format!("{front}{large}"),
        None => word.to_owned(),
    }
}

fn in_volts(word: &str) -> Result<f64, String> {
    let volts = typed::value(&capital(word, 'v', 'V'), Kind::Volt)?;
    if (0.0..=MOST_VOLTS).contains(&volts) {
        return Ok(volts);
    }
    Err(format!(
        "{volts} V is no supply voltage of a controller; write volts between 0 and {MOST_VOLTS}"
    ))
}

fn amperes(word: &str) -> Result<f64, String> {
    let amperes = typed::value(&capital(word, 'a', 'A'), Kind::Ampere)?;
    if (0.0..=MOST_AMPERES).contains(&amperes) {
        return Ok(amperes);
    }
    Err(format!(
        "{amperes} A is no supply current of a controller; write it like 11.5mA"
    ))
}

#[cfg(test)]
mod tests;
