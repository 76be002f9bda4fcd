//! A job with its runs inspected: what every page and table of it is made from.

use super::gates;
use super::load::Loaded;
use crate::data::drawing::Drawing;
use crate::data::job::{Run, When};
use crate::data::text::{error_chain, harmless};
use crate::data::{CompareOptions, Compared, Inspection, Options};
use crate::inspect::{self, Library, drawing};

/// A job with what its runs gave.
#[derive(Debug)]
pub struct Inspected {
    /// The record with its captures.
    pub loaded: Loaded,
    /// Runs that could be inspected, by their number in the record, from 0.
    pub runs: Vec<(usize, Inspection)>,
    /// Those that could not, with the reason.
    pub failed: Vec<(usize, String)>,
}

impl Inspected {
    /// Inspects all runs; `told` gives the options of a run from those of the record.
    pub fn of(loaded: Loaded, told: &dyn Fn(&Options) -> Options, library: &Library) -> Self {
        let (mut runs, mut failed) = (Vec::new(), Vec::new());
        for (number, group) in loaded.runs.iter().zip(&loaded.case.groups) {
            match inspect::examine(&group.shots, &told(&group.options), library) {
                Ok(mut inspection) => {
                    gates::settle(&loaded.job, &mut inspection);
                    runs.push((*number, inspection));
                }
                Err(error) => failed.push((*number, error_chain(&error))),
            }
        }
        Self {
            loaded,
            runs,
            failed,
        }
    }

    /// The first run marked before the repair against each one marked after it; empty without both.
    pub fn before_and_after(&self, options: &CompareOptions) -> Vec<Compared> {
        let before = self.marked(When::Before);
        let Some((first, base)) = before.first() else {
            return Vec::new();
        };
        let one = |(run, found): &(&Run, &Inspection)| Compared {
            before: harmless(&first.title, usize::MAX),
            after: harmless(&run.title, usize::MAX),
            comparison: inspect::compare(base, found, options),
        };
        self.marked(When::After).iter().map(one).collect()
    }

    fn marked(&self, wanted: When) -> Vec<(&Run, &Inspection)> {
        let all = self.runs.iter().filter_map(|(number, found)| {
            let run = self.loaded.job.runs.get(*number)?;
            (run.when == Some(wanted)).then_some((run, found))
        });
        all.collect()
    }

    /// Lanes and loop of each run that was inspected, by its number; `columns` is how many pixels a lane
    /// is wide.
    pub fn drawings(&self, columns: usize) -> Vec<(usize, Vec<Drawing>)> {
        let of = |(number, found): &(usize, Inspection)| {
            let index = self.loaded.runs.iter().position(|run| run == number)?;
            let group = self.loaded.case.groups.get(index)?;
            let shots = group.shots.iter().enumerate();
            let lanes = shots.filter_map(|(shot, raw)| drawing::lanes(raw, found, shot, columns));
            let all = lanes.chain(drawing::over_vcc(&group.shots, found));
            Some((*number, all.collect()))
        };
        self.runs.iter().filter_map(of).collect()
    }
}
