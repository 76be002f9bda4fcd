//! How fast a table is read: time and four channels, in a file that the bench writes itself.
#![allow(clippy::expect_used, clippy::unwrap_used)] // a test fails by panicking

use std::hint::black_box;
use std::io::Write;
use std::sync::Arc;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use firstpulse::data::{Progress, Source};
use firstpulse::formats::{FileSource, ReadOptions, read};
use firstpulse::inspect::ThreadRunner;

const ROWS: u32 = 2_000_000;

fn write_table(path: &std::path::Path) -> std::io::Result<()> {
    let mut out = std::io::BufWriter::new(std::fs::File::create(path)?);
    writeln!(out, "Time (s),CH1 (V),CH2 (V),CH3 (V),CH4 (V)")?;
    for row in 0..ROWS {
        let wave = (f64::from(row) * 1e-3).sin();
        let code = f64::from(row % 256) / 64.0;
        let (a, b, c) = (12.0 + wave, 5.0 * wave, code - 2.0);
        let time = f64::from(row) * 1e-7;
        writeln!(out, "{time:.7},{a:.5},{b:.5},{c:.4},{code:.4}")?;
    }
    out.flush()
}

fn read_table(criterion: &mut Criterion) {
    let folder = tempfile::tempdir().expect("a folder to write to");
    let path = folder.path().join("table.csv");
    write_table(&path).expect("a table to read");
    let source: Arc<dyn Source> = Arc::new(FileSource::open(&path).expect("the table"));
    let mut group = criterion.benchmark_group("read_csv");
    group.throughput(Throughput::Bytes(source.len()));
    group.sample_size(10);
    group.bench_function("time and 4 channels", |bencher| {
        bencher.iter(|| {
            let captures = read(
                &source,
                &ReadOptions::default(),
                &ThreadRunner::new(),
                &Progress::new(),
            );
            black_box(captures.expect("a capture"))
        });
    });
    group.finish();
}

criterion_group!(benches, read_table);
criterion_main!(benches);
