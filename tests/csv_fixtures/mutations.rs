//! Every fixture, damaged in many ways, through the probe and the reader it chooses: an answer
//! each time, and no more memory or reading than the limits and the size of the file allow.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use firstpulse::data::{Capture, MemorySource, Progress, SerialRunner, Source};
use firstpulse::formats::{FormatError, ReadOptions, read};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// Mutations of each fixture.
const CASES: u32 = 400;
/// Bytes of a fixture that are mutated: the start, where everything is decided, and rows enough
/// for several stretches. The whole fixture is read unchanged elsewhere.
const START: usize = 1_500;
/// Bytes that the probe looks at, and a head takes at once.
const HEAD: u64 = 64 * 1024;

/// A source that counts what it is asked for.
#[derive(Debug)]
struct Watched {
    inner: MemorySource,
    read: AtomicU64,
    largest: AtomicU64,
}

impl Source for Watched {
    fn len(&self) -> u64 {
        self.inner.len()
    }

    fn read_at(&self, offset: u64, buffer: &mut [u8]) -> io::Result<usize> {
        self.largest
            .fetch_max(buffer.len() as u64, Ordering::Relaxed);
        let count = self.inner.read_at(offset, buffer)?;
        self.read.fetch_add(count as u64, Ordering::Relaxed);
        Ok(count)
    }

    fn name(&self) -> &str {
        self.inner.name()
    }
}

#[derive(Debug, Clone)]
enum Damage {
    Flip(prop::sample::Index, u8),
    Cut(prop::sample::Index),
    Insert(prop::sample::Index, Vec<u8>),
}

fn damage() -> impl Strategy<Value = Damage> {
    let at = any::<prop::sample::Index>;
    let bytes = prop_oneof![
        prop::collection::vec(any::<u8>(), 1..8),
        prop::sample::select(vec![
            ",", ";", "\n", "\r", "\"", "1e999", "-", "nan", "OL", "12:30"
        ])
        .prop_map(|text| text.as_bytes().to_vec()),
    ];
    prop_oneof![
        3 => (at(), 1_u8..=255).prop_map(|(index, mask)| Damage::Flip(index, mask)),
        1 => at().prop_map(Damage::Cut),
        3 => (at(), bytes).prop_map(|(index, bytes)| Damage::Insert(index, bytes)),
    ]
}

fn damaged(original: &[u8], damages: &[Damage]) -> Vec<u8> {
    let mut bytes = original.to_vec();
    for damage in damages {
        match damage {
            Damage::Flip(at, mask) if !bytes.is_empty() => {
                let at = at.index(bytes.len());
                bytes[at] ^= mask;
            }
            Damage::Flip(..) => {}
            Damage::Cut(at) => bytes.truncate(at.index(bytes.len() + 1)),
            Damage::Insert(at, more) => {
                let at = at.index(bytes.len() + 1);
                bytes.splice(at..at, more.iter().copied());
            }
        }
    }
    bytes
}

fn small_limits() -> ReadOptions {
    let mut options = ReadOptions::default();
    options.limits.header_lines = 40;
    options.limits.columns = 12;
    options.limits.line_bytes = 400;
    options.limits.block_bytes = 1_024;
    options
}

/// Samples that a capture holds, its own times included.
fn samples(capture: &Capture) -> usize {
    let channels = capture
        .channels
        .iter()
        .map(|c| c.samples.len())
        .sum::<usize>();
    channels + capture.channels.first().map_or(0, |c| c.time.len())
}

/// Reads `bytes` and holds the outcome against the bounds.
fn check(bytes: Vec<u8>, options: &ReadOptions) -> Result<(), TestCaseError> {
    let length = bytes.len() as u64;
    let lines = bytes.iter().filter(|b| matches!(b, b'\n' | b'\r')).count() as u64;
    let source = Arc::new(Watched {
        inner: MemorySource::new("damaged.csv", bytes),
        read: AtomicU64::new(0),
        largest: AtomicU64::new(0),
    });
    let shared: Arc<dyn Source> = source.clone();
    match read(&shared, options, &SerialRunner, &Progress::new()) {
        Ok(captures) => {
            for capture in &captures {
                let width = capture.channels.len();
                prop_assert!(width >= 1 && width <= options.limits.columns);
                // each sample was printed in at least one byte, with one byte after it
                prop_assert!(samples(capture) as u64 <= length + 1, "{length} bytes");
            }
        }
        Err(FormatError::Cancelled(_)) => prop_assert!(false, "nobody stopped it"),
        Err(error) => prop_assert!(error.to_string().starts_with("damaged.csv"), "{error}"),
    }
    // two looks at the head, three passes, each stretch with some bytes beyond its end; and at every
    // line another table may begin, whose first bytes are looked at and read thrice
    let (read, largest) = (
        source.read.load(Ordering::Relaxed),
        source.largest.load(Ordering::Relaxed),
    );
    let tables = lines * 4 * (8 * 1024).min(length);
    prop_assert!(
        read <= 3 * HEAD.min(length) + 6 * length + tables,
        "{read} of {length}"
    );
    // in UTF-16 a character takes two bytes
    prop_assert!(largest <= 2 * HEAD, "{largest} bytes at once");
    Ok(())
}

#[test]
fn whatever_befalls_a_file_it_is_read_refused_or_asked() {
    let options = small_limits();
    let mut seen = 0;
    for entry in std::fs::read_dir(super::folder()).expect("folder") {
        let path = entry.expect("entry").path();
        if path.extension().is_some_and(|e| e == "json") {
            continue;
        }
        let mut original = std::fs::read(&path).expect("read");
        check(original.clone(), &options).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        original.truncate(START);
        let config = Config {
            cases: CASES,
            failure_persistence: None,
            ..Config::default()
        };
        TestRunner::new(config)
            .run(&prop::collection::vec(damage(), 1..5), |damages| {
                check(damaged(&original, &damages), &options)
            })
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        seen += 1;
    }
    assert!(seen >= 12, "{seen} files");
}

/// Bytes of the start of a fixture at each of which it is cut; beyond them at every seventh.
const CUT_AT_EACH: usize = 300;

#[test]
fn cut_at_any_byte_a_file_is_read_refused_or_asked() {
    let options = small_limits();
    let mut cuts = 0;
    for entry in std::fs::read_dir(super::folder()).expect("folder") {
        let path = entry.expect("entry").path();
        if path.extension().is_some_and(|e| e == "json") {
            continue;
        }
        let whole = std::fs::read(&path).expect("read");
        let ends = (0..whole.len().min(START)).filter(|end| *end < CUT_AT_EACH || end % 7 == 0);
        for end in ends {
            check(whole[..end].to_vec(), &options)
                .unwrap_or_else(|e| panic!("{} cut at {end}: {e}", path.display()));
            cuts += 1;
        }
    }
    assert!(cuts > 10_000, "{cuts} cuts");
}
