//! How each file was understood.

use std::path::Path;

use super::args::ReadArgs;
use super::deliver::remark;
use super::{error_chain, load, shown};
use crate::inspect::ReadOptions;
use crate::report::{FileReading, Shown, json, text};

pub(super) fn run(args: ReadArgs) -> anyhow::Result<u8> {
    args.delivery.check(&args.files)?;
    let options = args.layout.read_options();
    let files: Vec<FileReading> = args
        .files
        .iter()
        .map(|file| reading(file, &options))
        .collect();
    for why in files.iter().filter_map(FileReading::failure) {
        remark(why);
    }
    if args.delivery.json {
        args.delivery.object(&json::reading(&files), &args.files)?;
    } else {
        args.delivery
            .text(&text::reading(&files, args.delivery.ascii()), &args.files)?;
    }
    Ok(if files.iter().any(|f| f.failure().is_some()) {
        2
    } else {
        0
    })
}

fn reading(path: &Path, options: &ReadOptions) -> FileReading {
    let outcome = load::shots(path, options)
        .map(|shots| {
            let shown = |shot: &std::sync::Arc<crate::inspect::Shot>| Shown {
                capture: shot.capture.clone(),
                facts: shot.facts.clone(),
            };
            shots.iter().map(shown).collect()
        })
        .map_err(|error| error_chain(error.as_ref()));
    FileReading {
        file: shown(path),
        outcome,
    }
}
