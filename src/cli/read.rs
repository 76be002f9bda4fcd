//! How each file was understood.

use std::collections::BTreeMap;
use std::path::Path;

use anyhow::{Context, bail};

use super::args::ReadArgs;
use super::deliver::remark;
use super::options::{Reading, layouts};
use super::{error_chain, load, shown};
use crate::inspect::{FileSource, LAYOUT_KEYS, Remembered, RememberedError, signature};
use crate::report::{FileReading, Shown, json, text};

pub(super) fn run(args: ReadArgs) -> anyhow::Result<u8> {
    args.delivery.check(&args.files)?;
    let remembering = Remembering::of(&args)?;
    let options = match remembering {
        // what the folder remembers has no say in what it is to remember
        Some(_) => args.layout.alone(),
        None => args.layout.reading()?,
    };
    let files: Vec<FileReading> = args
        .files
        .iter()
        .map(|file| reading(file, &options))
        .collect();
    let failed = files.iter().any(|file| file.failure().is_some());
    if let Some(remembering) = remembering.filter(|_| !failed) {
        remembering.run()?;
    }
    for why in files.iter().filter_map(FileReading::failure) {
        remark(why);
    }
    if args.delivery.json {
        args.delivery.object(&json::reading(&files), &args.files)?;
    } else {
        args.delivery
            .text(&text::reading(&files, args.delivery.ascii()), &args.files)?;
    }
    Ok(if failed { 2 } else { 0 })
}

/// A layout to be kept once the file was read by it.
struct Remembering<'a> {
    file: &'a Path,
    folder: &'a Path,
    name: &'a str,
    told: BTreeMap<String, String>,
    replace: bool,
}

impl<'a> Remembering<'a> {
    fn of(args: &'a ReadArgs) -> anyhow::Result<Option<Self>> {
        let Some((name, folder)) = args.remember.as_deref().zip(args.layout.folder()) else {
            return Ok(None);
        };
        let [file] = args.files.as_slice() else {
            bail!("--remember takes one FILE: the one that the others are like");
        };
        let told = args.layout.told().layout;
        if told.is_empty() {
            bail!(
                "--remember keeps what --layout KEY=VALUE says, and no --layout was given; the \
                 keys are listed by firstpulse read --help"
            );
        }
        Ok(Some(Self {
            file,
            folder,
            name,
            told,
            replace: args.delivery.force,
        }))
    }

    fn run(self) -> anyhow::Result<()> {
        let source = FileSource::open(self.file)?;
        let layout = Remembered {
            name: self.name.trim().to_owned(),
            signature: signature(&source),
            layout: self.told,
        };
        let mut layouts = layouts(self.folder)?;
        match layouts.save(layout, self.replace) {
            Ok(path) => {
                remark(&format!("remembered in {}", shown(&path)));
                Ok(())
            }
            Err(error @ RememberedError::Exists { .. }) => bail!("{error}; --force replaces it"),
            Err(error) => Err(error).context("--remember"),
        }
    }
}

fn reading(path: &Path, options: &Reading) -> FileReading {
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

/// Examples, and every import decision with what it takes.
pub(super) fn help() -> String {
    let widest = LAYOUT_KEYS.iter().map(|known| known.key.len()).max();
    let width = widest.unwrap_or(0) + 2;
    let mut text = "Examples:\n  firstpulse read sweep.csv\n  firstpulse read sweep.csv --layout \
separator=semicolon --json\n  firstpulse read odd.csv --layout interval=2us --layouts layouts/ \
--remember 'old logger'\n\nKeys of --layout; N is a column, counted from 1:\n"
        .to_owned();
    for known in LAYOUT_KEYS {
        text.push_str(&format!("  {:width$}{}\n", known.key, known.takes));
    }
    text
}
