//! Captures of a modelled unit, each with its truth.

use anyhow::{Context, bail};

use super::args::SimulateArgs;
use super::{clean, deliver, shown};
use crate::inspect;

pub(super) fn run(args: &SimulateArgs) -> anyhow::Result<u8> {
    let known = inspect::causes();
    if !known.is_empty() && !known.contains(&args.fault.as_str()) {
        bail!(
            "--fault: no cause '{}'; one of: {}",
            clean(&args.fault),
            known.join(" ")
        );
    }
    let files = inspect::simulate(&args.fault, args.seed)
        .map_err(|why| anyhow::anyhow!("--fault {}: {}", clean(&args.fault), clean(&why)))?;
    std::fs::create_dir_all(&args.out)
        .with_context(|| format!("{}: the folder can't be made", shown(&args.out)))?;
    let mut planned = Vec::new();
    for file in &files {
        planned.push((args.out.join(format!("{}.csv", file.name)), &file.csv));
        planned.push((
            args.out.join(format!("{}.truth.json", file.name)),
            &file.truth_json,
        ));
    }
    // all are checked before the first is written, so that a refusal leaves nothing half done
    for (path, _) in &planned {
        deliver::check(path, args.force, &[])?;
    }
    for (path, text) in &planned {
        deliver::write(path, text.as_bytes(), args.force, &[])?;
    }
    let listed: String = planned
        .iter()
        .map(|(path, _)| format!("{}\n", shown(path)))
        .collect();
    deliver::print(&listed)?;
    Ok(0)
}
