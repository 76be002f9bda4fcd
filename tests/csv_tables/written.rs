//! One plain record, written in every way: it must come back the same, whatever the way.

use firstpulse::data::Capture;
use firstpulse::formats::{FormatError, ReadOptions};

use super::csv_truth::read_bytes;

const ROWS: i64 = 50;
/// First time and step, in nanoseconds.
const START_NS: i64 = -2_000_000;
const STEP_NS: i64 = 250_000;
const NAMES: [&str; 3] = ["VCC", "OUT", "Kühlung"];

#[derive(Debug, Clone, Copy, PartialEq)]
enum Header {
    Names,
    UnitsRow,
    Brackets,
    Preamble,
    None,
}

#[derive(Debug, Clone, Copy)]
struct Way {
    encoding: &'static str,
    separator: char,
    decimal: char,
    header: Header,
    /// Unit of time, and the power of ten of a nanosecond in it.
    unit: (&'static str, usize),
}

/// Only here is the same character between cells and inside numbers, without quotation marks.
fn may_ask(way: &Way) -> bool {
    way.separator == ',' && way.decimal == ','
}

/// Whole times, then `1,2345`, without a name: seven columns of whole numbers look the same.
fn says_nothing(way: &Way) -> bool {
    may_ask(way) && way.header == Header::None && way.unit.1 <= 3
}

/// Every way there is, but for those that no reader could tell from another table.
fn ways() -> Vec<Way> {
    let encodings = [
        "utf-8",
        "utf-8 mark",
        "windows-1252",
        "utf-16le",
        "utf-16le mark",
        "utf-16be",
        "utf-16be mark",
    ];
    let headers = [
        Header::Names,
        Header::UnitsRow,
        Header::Brackets,
        Header::Preamble,
        Header::None,
    ];
    let mut all = Vec::new();
    for encoding in encodings {
        for separator in [',', ';', '\t', ' '] {
            for decimal in ['.', ','] {
                for header in headers {
                    for unit in [("s", 9), ("ms", 6), ("us", 3), ("ns", 0)] {
                        all.push(Way {
                            encoding,
                            separator,
                            decimal,
                            header,
                            unit,
                        });
                    }
                }
            }
        }
    }
    all.retain(|way| !says_nothing(way));
    all
}

/// Ten-thousandths of a volt: nothing that rises evenly, and both signs.
fn value(channel: i64, row: i64) -> i64 {
    let wave = (row * row * (37 + 11 * channel) + 97 * row * channel) % 20_011;
    wave - 4_000 * channel
}

/// `whole` / 10^`places` with all its decimals.
fn decimal(whole: i64, places: usize, mark: char) -> String {
    let sign = if whole < 0 { "-" } else { "" };
    let digits = format!("{:0>width$}", whole.abs(), width = places + 1);
    let (before, after) = digits.split_at(digits.len() - places);
    match places {
        0 => format!("{sign}{before}"),
        _ => format!("{sign}{before}{mark}{after}"),
    }
}

/// A time in the unit of `way`, without decimals that are zero for all rows.
fn time(way: &Way, row: i64) -> String {
    let (unit, power) = way.unit;
    // all times are whole multiples of ten microseconds
    let places = power.saturating_sub(4);
    let divisor = 10_i64.pow((power - places) as u32);
    assert_eq!((START_NS + row * STEP_NS) % divisor, 0, "{unit}");
    decimal((START_NS + row * STEP_NS) / divisor, places, way.decimal)
}

fn header(way: &Way) -> Vec<Vec<String>> {
    let unit = way.unit.0;
    let names = |time: String, wrap: fn(&str) -> String| {
        let mut cells = vec![time];
        cells.extend(NAMES.iter().map(|name| wrap(name)));
        cells
    };
    let plain = names("Time".to_owned(), str::to_owned);
    let cell = |text: &str| text.to_owned();
    match way.header {
        Header::None => vec![],
        Header::Names => vec![plain],
        Header::UnitsRow => vec![plain, vec![cell(unit), cell("V"), cell("V"), cell("V")]],
        // between blanks a name has none inside
        Header::Brackets if way.separator == ' ' => {
            vec![names(format!("Time[{unit}]"), |name| format!("{name}[V]"))]
        }
        Header::Brackets => vec![names(format!("Time ({unit})"), |name| {
            format!("{name} (V)")
        })],
        Header::Preamble if way.separator == ' ' => {
            vec![vec![format!("Time unit: {unit}")], plain]
        }
        Header::Preamble => vec![vec![cell("Time unit"), cell(unit)], plain],
    }
}

fn text(way: &Way) -> String {
    let mut lines = header(way);
    for row in 0..ROWS {
        let mut cells = vec![time(way, row)];
        cells.extend((0..3).map(|channel| decimal(value(channel, row), 4, way.decimal)));
        lines.push(cells);
    }
    let mut text = String::new();
    for cells in lines {
        text.push_str(&cells.join(&way.separator.to_string()));
        text.push_str("\r\n");
    }
    text
}

fn encoded(text: &str, encoding: &str) -> Vec<u8> {
    let marked = match encoding.ends_with("mark") {
        true => format!("\u{FEFF}{text}"),
        false => text.to_owned(),
    };
    let units = marked.encode_utf16();
    match encoding.split(' ').next() {
        Some("utf-16le") => units.flat_map(u16::to_le_bytes).collect(),
        Some("utf-16be") => units.flat_map(u16::to_be_bytes).collect(),
        // its letters have the same numbers there
        Some("windows-1252") => marked.chars().map(|c| c as u8).collect(),
        _ => marked.into_bytes(),
    }
}

/// Without a word on the unit of time, seconds are assumed: other units are told.
fn options(way: &Way) -> ReadOptions {
    let options = ReadOptions::default();
    match way.header {
        Header::Names | Header::None => options.with("unit.1", way.unit.0),
        _ => options,
    }
}

fn check(way: &Way, found: Result<Vec<Capture>, FormatError>) -> Result<(), String> {
    let captures = match found {
        Err(_) if may_ask(way) => return Ok(()),
        other => other.map_err(|error| error.to_string())?,
    };
    let [capture] = captures.as_slice() else {
        return Err(format!("{} captures", captures.len()));
    };
    if capture.channels.len() != 3 {
        return Err(format!("{} channels", capture.channels.len()));
    }
    for (number, channel) in capture.channels.iter().enumerate() {
        let name = match way.header {
            Header::None => format!("CH{}", number + 1),
            _ => NAMES[number].to_owned(),
        };
        if channel.name != name || channel.unit.symbol() != "V" || !channel.missing.is_empty() {
            return Err(format!("{} [{}]", channel.name, channel.unit.symbol()));
        }
        if channel.samples.len() as i64 != ROWS || channel.time.len() as i64 != ROWS {
            return Err(format!("{} rows", channel.samples.len()));
        }
        for row in 0..ROWS {
            let found = channel.samples.at(row as usize).unwrap_or(f64::NAN);
            let wanted = value(number as i64, row) as f64 / 1e4;
            let (time, at) = (
                channel.time.at(row as usize),
                (START_NS + row * STEP_NS) as f64 / 1e9,
            );
            // a tenth of the last digit; a millionth of a step
            let near =
                (found - wanted).abs() <= 1e-5 && (time - at).abs() <= 1e-6 * STEP_NS as f64 / 1e9;
            if !near {
                return Err(format!("row {row}: {time} {found}, expected {at} {wanted}"));
            }
        }
    }
    Ok(())
}

#[test]
fn one_record_written_in_every_way_comes_back_the_same() {
    let ways = ways();
    assert_eq!(ways.len(), 7 * (4 * 2 * 5 * 4 - 2));
    let mut wrong = Vec::new();
    for way in &ways {
        let bytes = encoded(&text(way), way.encoding);
        let found = read_bytes("written.csv", bytes, &options(way));
        if let Err(problem) = check(way, found) {
            wrong.push(format!("{way:?}: {problem}"));
        }
    }
    let (count, all) = (wrong.len(), ways.len());
    assert!(
        wrong.is_empty(),
        "{count} of {all} ways:\n{}",
        wrong.join("\n")
    );
}
