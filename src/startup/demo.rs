//! The captures that come with the program: the unit of the demo, and a few more faults.

use super::error::SimulateError;
use super::record::{Recorded, Signal};
use super::shots::Visit;

/// Seed of every capture that comes with the program.
pub const DEMO_SEED: u64 = 24;

/// All captures that come with the program as `(path below captures/, content)`: CSV and truth of
/// the demo's five shots, and of some other faults. The same text on every run.
///
/// # Errors
/// What the model refuses; never for the parts used here.
pub fn demo() -> Result<Vec<(String, String)>, SimulateError> {
    let mut files = Vec::new();
    let found = Visit::new("aux-path-open", DEMO_SEED)?;
    let repaired = Visit::new("nothing-wrong-in-what-was-tested", DEMO_SEED)?;
    let shots = [
        found.sweep("01-sweep-vcc-vref", Signal::Vref)?,
        found.sweep("02-sweep-vcc-rtct", Signal::RtCt)?,
        found.running("03-running-rtct-out")?,
        found.mains_start("04-mains-start-before", Signal::Vref)?,
        repaired.mains_start("05-mains-start-after", Signal::Vref)?,
    ];
    add(&mut files, "gv24", &shots);
    for cause in ["vcc-capacitor-low", "start-resistor-high"] {
        let visit = Visit::new(cause, DEMO_SEED)?;
        let shot = visit.mains_start("mains-start", Signal::Vref)?;
        add(&mut files, &format!("faults/{cause}"), &[shot]);
    }
    for cause in ["vref-shorted", "nothing-wrong-in-what-was-tested"] {
        let visit = Visit::new(cause, DEMO_SEED)?;
        let shots = [
            visit.sweep("sweep-vcc-vref", Signal::Vref)?,
            visit.running("running-rtct-out")?,
            visit.mains_start("mains-start", Signal::Output)?,
        ];
        add(&mut files, &format!("faults/{cause}"), &shots);
    }
    let visit = Visit::new("ct-shorted", DEMO_SEED)?;
    let shots = [
        visit.sweep("sweep-vcc-rtct", Signal::RtCt)?,
        visit.sweep("sweep-vcc-vref", Signal::Vref)?,
    ];
    add(&mut files, "faults/ct-shorted", &shots);
    Ok(files)
}

fn add(files: &mut Vec<(String, String)>, folder: &str, shots: &[Recorded]) {
    for shot in shots {
        let stem = format!("{folder}/{}", shot.name);
        files.push((format!("{stem}.csv"), shot.to_csv()));
        files.push((
            format!("{stem}.truth.json"),
            format!("{:#}\n", shot.truth()),
        ));
    }
}
