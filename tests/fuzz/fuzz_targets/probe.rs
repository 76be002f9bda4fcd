//! Any bytes as the start of a file: understood or not, never a panic, and no cell lost on the way to
//! the screen; what the preview decides can be told back.
#![no_main]

use std::sync::Arc;

use firstpulse::data::{MemorySource, Source};
use firstpulse::formats::{ReadOptions, layout_entry, preview};
use libfuzzer_sys::fuzz_target;

fuzz_target!(|bytes: &[u8]| {
    let mut options = ReadOptions::default();
    options.limits.header_lines = 50;
    options.limits.columns = 16;
    options.limits.line_bytes = 2048;
    let source: Arc<dyn Source> = Arc::new(MemorySource::new("fuzz.csv", bytes.to_vec()));
    let shown = preview(&source, &options);
    assert!(shown.lines.iter().all(|line| line.number > 0));
    for decision in &shown.decisions {
        assert!(!decision.why.is_empty() && layout_entry(&decision.what).is_some(), "{decision:?}");
    }
    if shown.question.is_none() && shown.refused.is_none() {
        assert!(!shown.columns.is_empty());
    }
});
