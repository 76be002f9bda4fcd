//! Properties of the reader: what is written is read back, however the work is cut.

use std::sync::Arc;

use proptest::prelude::*;

use crate::data::{Capture, MemorySource, Progress, SerialRunner, Source, TimeAxis};
use crate::formats::{FormatError, ReadOptions, read};

fn read_bytes(bytes: Vec<u8>, options: &ReadOptions) -> Result<Capture, FormatError> {
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("a.csv", bytes));
    read(&source, options, &SerialRunner, &Progress::new()).map(|mut captures| captures.remove(0))
}

fn in_blocks(bytes: usize) -> ReadOptions {
    let mut options = ReadOptions::default();
    options.limits.block_bytes = bytes;
    options
}

/// How a table is written.
#[derive(Debug, Clone)]
struct Style {
    separator: char,
    comma: bool,
    end: &'static str,
    trailing: bool,
    padded: bool,
    decimals: usize,
    scale: (&'static str, f64),
}

fn style() -> impl Strategy<Value = Style> {
    (
        prop::sample::select(vec![',', ';', '\t']),
        any::<bool>(),
        prop::sample::select(vec!["\n", "\r\n", "\r\r\n"]),
        any::<bool>(),
        any::<bool>(),
        0_usize..9,
        prop::sample::select(vec![("V", 1.0), ("mV", 1e-3), ("kV", 1e3), ("uV", 1e-6)]),
    )
        .prop_map(
            |(separator, comma, end, trailing, padded, decimals, scale)| Style {
                separator,
                comma: comma && separator != ',',
                end,
                trailing,
                padded,
                decimals,
                scale,
            },
        )
}

fn written(style: &Style, rows: &[(f64, Option<f64>)]) -> String {
    let (mark, pad) = (style.separator, if style.padded { " " } else { "" });
    let tail = if style.trailing {
        mark.to_string()
    } else {
        String::new()
    };
    let mut text = format!(
        "t (ms){mark}a [{}]{mark}b (V){tail}{}",
        style.scale.0, style.end
    );
    for (index, (a, b)) in rows.iter().enumerate() {
        let decimals = style.decimals;
        let time = format!("{:.2}", index as f64 * 0.25);
        let a = format!("{a:.decimals$}");
        let b = b.map_or(String::new(), |b| format!("{b:.1}"));
        let row = format!("{time}{pad}{mark}{pad}{a}{mark}{b}{pad}{tail}");
        text += &if style.comma {
            row.replace('.', ",")
        } else {
            row
        };
        text += style.end;
    }
    text
}

proptest! {
    #[test]
    fn a_table_in_any_dialect_comes_back(
        style in style(),
        rows in prop::collection::vec((-1e4_f64..1e4, prop::option::of(-50.0_f64..50.0)), 4..60),
        block in 1_usize..400,
    ) {
        let capture = read_bytes(written(&style, &rows).into_bytes(), &in_blocks(block));
        let capture = capture.map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(capture.channels.len(), 2);
        let [a, b] = capture.channels.as_slice() else { panic!("two channels") };
        prop_assert_eq!((a.name.as_str(), b.name.as_str()), ("a", "b"));
        prop_assert_eq!(a.samples.len(), rows.len());
        for (index, (a_true, b_true)) in rows.iter().enumerate() {
            let printed: f64 = format!("{a_true:.*}", style.decimals).parse().expect("a number");
            let last_digit = 10_f64.powi(-(style.decimals as i32));
            let found = a.samples.at(index).expect("a sample") / style.scale.1;
            prop_assert!((found - printed).abs() <= 0.101 * last_digit + 1e-12, "{} {}", found, printed);
            prop_assert_eq!(b.missing.contains(index), b_true.is_none());
        }
        match &*a.time {
            TimeAxis::Uniform { start_s, step_s, .. } => {
                prop_assert!(start_s.abs() < 1e-12 && (step_s - 0.25e-3).abs() < 1e-12);
            }
            other => prop_assert!(false, "{:?}", other),
        }
    }

    #[test]
    fn the_size_of_the_stretches_changes_nothing(
        cells in prop::collection::vec("[0-9]{1,2}(\\.[0-9]{1,9})?|nan||x|[0-9],[0-9]", 2..80),
        block in 1_usize..200,
    ) {
        let mut text = "t,a\n0,1\n1,1\n2,1\n".to_owned();
        for (index, cell) in cells.iter().enumerate() {
            text += &format!("{},{cell}\n", index + 3);
            if index % 7 == 3 {
                text += "\n";
            }
        }
        let outcome = |options: &ReadOptions| {
            read_bytes(text.clone().into_bytes(), options).map(|c| format!("{c:?}"))
        };
        let (small, whole) = (outcome(&in_blocks(block)), outcome(&ReadOptions::default()));
        prop_assert_eq!(small, whole);
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..600), block in 1_usize..100) {
        drop(read_bytes(bytes, &in_blocks(block)));
    }

    #[test]
    fn anything_like_a_table_is_read_or_refused(text in "([-0-9.,;eE+ \t\"#naµs]{0,12}[\r\n]{0,3}){0,40}", block in 1_usize..100) {
        drop(read_bytes(text.into_bytes(), &in_blocks(block)));
    }
}

fn rows(count: usize) -> Vec<u8> {
    let mut text = "t,a\n".to_owned();
    for index in 0..count {
        text += &format!("{index},{}\n", index % 7);
    }
    text.into_bytes()
}

#[test]
fn a_reading_that_is_cancelled_stops() {
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("a.csv", rows(1000)));
    let progress = Progress::new();
    progress.cancel();
    let error = read(&source, &ReadOptions::default(), &SerialRunner, &progress).unwrap_err();
    assert_eq!(error.id(), "cancelled");
}

#[test]
fn progress_counts_the_bytes_of_the_rows() {
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("a.csv", rows(1000)));
    let progress = Progress::new();
    read(&source, &in_blocks(100), &SerialRunner, &progress).expect("read");
    assert_eq!(progress.fraction(), Some(1.0));
}

#[test]
fn limits_are_kept_and_told() {
    let mut options = ReadOptions::default();
    options.limits.columns = 1;
    assert_eq!(
        read_bytes(rows(5), &options).unwrap_err().id(),
        "too-many-columns"
    );
    let mut options = ReadOptions::default();
    options.limits.header_lines = 3;
    let mut bytes = b"a\nb\nc\nd\ne\n".to_vec();
    bytes.extend(rows(5));
    assert_eq!(
        read_bytes(bytes, &options).unwrap_err().id(),
        "header-too-long"
    );
    let mut options = ReadOptions::default();
    options.limits.line_bytes = 8;
    let mut bytes = rows(200);
    bytes.extend(b"200,0000000000000000000000000000000000000000000000000\n");
    for block in [1, 7, 64, 100_000] {
        options.limits.block_bytes = block;
        let error = read_bytes(bytes.clone(), &options).unwrap_err();
        assert_eq!(error.id(), "line-too-long");
        assert!(error.to_string().contains("line 202"), "{error}");
    }
}

#[test]
fn what_is_told_rescues_what_is_refused_or_asked() {
    let refused = |bytes: &[u8]| {
        read_bytes(bytes.to_vec(), &ReadOptions::default())
            .map(|_| ())
            .expect_err("refused")
            .id()
    };
    let told = |bytes: &[u8], key: &str, value: &str| {
        read_bytes(bytes.to_vec(), &ReadOptions::default().with(key, value)).expect("read")
    };
    // separators at the end of every other row: no two rows of one width
    let mixed = b"t,a\n0,1.5,\n0.5,2.5\n1,3.5,\n1.5,4.5\n";
    assert_eq!(refused(mixed), "not-recognised");
    assert_eq!(told(mixed, "first-row", "2").channels[0].samples.len(), 4);
    let bell = b"made by \x07\nt,a\n0,1\n1,2\n2,3\n";
    assert_eq!(refused(bell), "not-recognised");
    let capture = told(bell, "encoding", "windows-1252");
    assert_eq!(capture.channels[0].samples.len(), 3);
    let asked = b"10,5\n12,6\n14,7\n16,8\n";
    assert_eq!(refused(asked), "ask");
    let capture = told(asked, "separator", "comma");
    assert_eq!(capture.channels[0].samples.len(), 4);
    let thousands = b"t;a\n1,000;5\n2,000;6\n3,000;7\n";
    assert_eq!(refused(thousands), "ask");
    let capture = told(thousands, "decimal", "comma");
    assert!((capture.channels[0].time.interval_s() - 1.0).abs() < 1e-9);
    // a first row far beyond the lines that are searched by themselves
    let mut long = b"words\n".repeat(3000);
    long.extend(rows(5));
    assert_eq!(refused(&long), "header-too-long");
    assert_eq!(
        told(&long, "first-row", "3002").channels[0].samples.len(),
        5
    );
}

#[test]
fn decisions_can_be_overridden() {
    let bytes = b"x;1\ny;2\nt;a\n0;10\n0.5;20\n1;30\n1.5;40\n".to_vec();
    let told = |key: &str, value: &str| {
        read_bytes(bytes.clone(), &ReadOptions::default().with(key, value))
    };
    let capture = told("unit.2", "mA").expect("read");
    assert_eq!(capture.channels[0].unit, crate::data::Unit::Ampere);
    let first = capture.channels[0].samples.at(0).expect("a sample");
    assert!((first - 0.01).abs() < 1e-9);
    let capture = told("first-row", "5").expect("read");
    assert_eq!(capture.channels[0].samples.len(), 3);
    let capture = told("names", "2").expect("read");
    assert_eq!(capture.channels[0].name, "2");
    let capture = told("time", "a").expect("read");
    assert_eq!(capture.channels[0].name, "t");
    for (key, value) in [
        ("separator", "pipe"),
        ("decimal", "dot"),
        ("encoding", "latin"),
        ("first-row", "0"),
        ("names", "77"),
        ("time", "9"),
        ("interval", "-1"),
        ("unit.2", "furlong"),
        ("unit.7", "V"),
    ] {
        assert_eq!(
            told(key, value).unwrap_err().id(),
            "bad-value",
            "{key}={value}"
        );
    }
}

fn all_of(text: &str, options: &ReadOptions) -> Result<Vec<Capture>, FormatError> {
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("a.csv", text.as_bytes().to_vec()));
    read(&source, options, &SerialRunner, &Progress::new())
}

fn start_of(text: &str, options: &ReadOptions) -> f64 {
    all_of(text, options).expect("read")[0].channels[0]
        .time
        .start_s()
}

#[test]
fn a_told_start_is_the_time_of_the_first_sample_wherever_the_count_begins() {
    for first in [0, 1, -20] {
        let rows: String = (0..30)
            .map(|i| format!("{},{}.5\n", first + i, i % 7))
            .collect();
        let text = format!("Sample interval,2e-6\nStart time,-1e-3\nIndex,VCC\n{rows}");
        let start = start_of(&text, &ReadOptions::default());
        assert!((start + 1e-3).abs() < 1e-15, "{first}: {start}");
        let text = format!("Sample interval,2e-6\nIndex,VCC\n{rows}");
        let start = start_of(&text, &ReadOptions::default());
        assert!(
            (start - 2e-6 * f64::from(first)).abs() < 1e-15,
            "{first}: {start}"
        );
        let told = start_of(&text, &ReadOptions::default().with("start", "5ms"));
        assert!((told - 5e-3).abs() < 1e-15, "{first}: {told}");
    }
}

#[test]
fn a_start_told_beside_a_time_column_is_refused() {
    let text = "t,a\n0,1\n1,2\n2,3\n";
    let options = ReadOptions::default().with("start", "1s");
    let error = all_of(text, &options).expect_err("refused");
    assert!(
        error.id() == "bad-value" && error.to_string().contains("time=none"),
        "{error}"
    );
}

#[test]
fn clock_times_pass_midnight_only_where_no_date_says_otherwise() {
    let bare: String = (0..9).map(|i| format!("{:02}:59:5{i},{i}\n", 23)).collect();
    let text = format!("Zeit,U\n{bare}00:00:00,9\n00:00:01,8\n");
    let capture = &all_of(&text, &ReadOptions::default()).expect("read")[0];
    assert!((capture.channels[0].time.end_s() - 11.0).abs() < 2.0);
    let dated: String = (0..9)
        .map(|i| format!("2026-11-25 23:59:5{i},{i}\n"))
        .collect();
    let text = format!("Zeit,U\n{dated}2026-11-25 00:00:00,9\n");
    let error = all_of(&text, &ReadOptions::default()).expect_err("falls back");
    assert_eq!(error.id(), "time-not-rising");
}

#[test]
fn damaged_rows_of_clock_times_are_refused_not_taken_for_another_record() {
    let rows: String = (10..40).map(|i| format!("12:00:{i},{i}\n")).collect();
    let text =
        format!("Zeit,U\n{rows}12:00:40,abc\n12:00:41,xyz\n12:00:42,1\n12:00:43,1\n12:00:44,1\n");
    let error = all_of(&text, &ReadOptions::default()).expect_err("refused");
    assert!(
        error.id() == "not-a-number" && error.to_string().contains("line 32"),
        "{error}"
    );
}

#[test]
fn told_header_lines_hold_for_the_first_table_and_totals_for_all() {
    let rows = |n: usize| -> String { (0..n).map(|i| format!("{i},{}.5\n", i % 3)).collect() };
    let text = format!(
        "Points,20\nt (ms),U\n{}Segment 2\nt (ms),U\n{}",
        rows(10),
        rows(10)
    );
    let captures = all_of(&text, &ReadOptions::default().with("names", "2")).expect("read");
    assert_eq!(captures.len(), 2);
    let declared = |c: &Capture| c.notes.iter().any(|n| n.text.contains("declares"));
    assert!(!captures.iter().any(declared), "{:?}", captures[0].notes);
    let short = text.replace("Points,20", "Points,21");
    let captures = all_of(&short, &ReadOptions::default()).expect("read");
    assert!(declared(&captures[0]));
}

#[test]
fn two_rows_an_instant_are_told_from_rounded_times_by_which_is_the_lower() {
    let table = |pair: fn(i32) -> (i32, i32)| -> String {
        let rows = (0..30).map(|i| {
            let (a, b) = pair(i);
            format!("{i},{a}\n{i},{b}\n")
        });
        format!("t,U\n{}", rows.collect::<String>())
    };
    let kind = |text: &str| {
        all_of(text, &ReadOptions::default())
            .map(|captures| captures[0].channels[0].kind.id())
            .map_err(|error| error.id())
    };
    assert_eq!(
        kind(&table(|i| (10 * (i % 3), 10 * (i % 3) + 2))),
        Ok("min-max-pair")
    );
    assert_eq!(
        kind(&table(|i| (10 * (i % 3) + 2, 10 * (i % 3)))),
        Err("ask")
    );
    assert_eq!(kind(&table(|i| (i % 3, 2 - i % 3))), Ok("instant"));
}
