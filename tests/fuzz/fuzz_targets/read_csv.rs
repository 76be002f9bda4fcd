//! Any bytes as a file: read, refused or asked, never a panic; and the same in one stretch or many.
#![no_main]

use std::sync::Arc;

use firstpulse::data::{MemorySource, Progress, SerialRunner, Source};
use firstpulse::formats::{ReadOptions, read};
use libfuzzer_sys::fuzz_target;

fn outcome(bytes: &[u8], block_bytes: usize) -> String {
    let mut options = ReadOptions::default();
    options.limits.header_lines = 50;
    options.limits.columns = 16;
    options.limits.line_bytes = 2048;
    options.limits.block_bytes = block_bytes;
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("fuzz.csv", bytes.to_vec()));
    format!(
        "{:?}",
        read(&source, &options, &SerialRunner, &Progress::new())
    )
}

fuzz_target!(|bytes: &[u8]| {
    let whole = outcome(bytes, 1 << 20);
    assert_eq!(outcome(bytes, 97), whole);
});
