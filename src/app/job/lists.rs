//! Lists of the job's sheet: rows of the record, and the cells of a new one.

use super::fields::number;
use crate::app::state::AppState;
use crate::data::Role;
use crate::data::job::{ColdReading, Job, OutputReading, PartCheck, PinReading, Replaced, Soak};
use crate::data::typed::{self, Kind, MarkedPart, marked};

/// A list.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum JobList {
    /// Resistances and diode voltages, unpowered.
    Cold,
    /// Voltages of pins.
    Pins,
    /// Outputs against what they should be.
    Outputs,
    /// Parts measured against their marks.
    Checked,
    /// Parts replaced.
    Replaced,
    /// Soak runs.
    Soaks,
    /// Photos and scope pictures; new ones come by their own field.
    Pictures,
}

impl JobList {
    /// The lists with rows to type, in the order shown.
    pub const TYPED: [JobList; 6] = [
        JobList::Cold,
        JobList::Pins,
        JobList::Outputs,
        JobList::Checked,
        JobList::Replaced,
        JobList::Soaks,
    ];

    /// Its heading.
    pub fn title(self) -> &'static str {
        match self {
            JobList::Cold => "Cold readings",
            JobList::Pins => "Pins by meter",
            JobList::Outputs => "Outputs",
            JobList::Checked => "Parts checked",
            JobList::Replaced => "Replaced",
            JobList::Soaks => "Soak",
            JobList::Pictures => "Pictures",
        }
    }

    /// Name and example of each cell of a new row.
    pub fn cells(self) -> &'static [(&'static str, &'static str)] {
        match self {
            JobList::Cold => &[
                ("place", "VCC to ground"),
                ("ohms", "12k, or open"),
                ("diode", "0.52V"),
                ("note", ""),
            ],
            JobList::Pins => &[("pin", "vref"), ("volts", "5.01V"), ("note", "")],
            JobList::Outputs => &[
                ("output", "24 V"),
                ("nominal", "24V"),
                ("tolerance %", "5"),
                ("read", "23.9V"),
                ("load", "2 A"),
            ],
            JobList::Checked => &[
                ("part", "R12"),
                ("marked", "220k 1%"),
                ("read", "217.8k"),
                ("ESR", "0R4"),
                ("leakage", "2uA"),
                ("note", ""),
            ],
            JobList::Replaced => &[("part", "D6"), ("why", "open"), ("with", "UF4004")],
            JobList::Soaks => &[
                ("load", "2 A"),
                ("minutes", "60"),
                ("passed", "yes or no"),
                ("result", ""),
            ],
            JobList::Pictures => &[],
        }
    }
}

/// Keeps what was typed into a cell.
pub fn edit(state: &mut AppState, list: JobList, cell: usize, text: String) {
    state.job.drafts.cells.insert((list, cell), text);
    state.job.drafts.wrong.remove(&list);
}

/// Adds the new row of a list; one that can't be read stays, with the reason.
pub fn add(state: &mut AppState, list: JobList) {
    let cells: Vec<String> = (0..list.cells().len())
        .map(|cell| state.job.drafts.cell(list, cell).trim().to_owned())
        .collect();
    let mut job = state.job.job().clone();
    match put(&mut job, list, &cells) {
        Ok(()) => {
            state.job.drafts.cells.retain(|(of, _), _| *of != list);
            state.job.drafts.wrong.remove(&list);
            let name = format!("{}: a row", list.title());
            state.job.history.edit(&name, |held| *held = job);
        }
        Err(why) => {
            state.job.drafts.wrong.insert(list, why);
        }
    }
}

fn put(job: &mut Job, list: JobList, cells: &[String]) -> Result<(), String> {
    let at = |index: usize| cells.get(index).map_or("", String::as_str);
    let named = |what: &str| match at(0) {
        "" => Err(format!("name the {what} first")),
        text => Ok(text.to_owned()),
    };
    match list {
        JobList::Cold => job.cold.push(ColdReading {
            place: named("place")?,
            ohms: ohms(at(1))?,
            diode_volts: maybe(at(2), Kind::Volt)?,
            note: at(3).to_owned(),
            when: None,
        }),
        JobList::Pins => job.pins.push(PinReading {
            pin: Role::from_id(&named("pin")?.to_lowercase())
                .ok_or("a pin was expected: vcc vref rtct out gate cs comp fb bulk aux output")?,
            volts: typed::value(at(1), Kind::Volt)?,
            note: at(2).to_owned(),
            ..PinReading::default()
        }),
        JobList::Outputs => job.outputs.push(OutputReading {
            name: named("output")?,
            nominal_volts: maybe(at(1), Kind::Volt)?,
            tolerance: number(at(2).trim_end_matches('%').trim())?.map(|p| p / 100.0),
            volts: typed::value(at(3), Kind::Volt)?,
            load: at(4).to_owned(),
            when: None,
        }),
        JobList::Checked => job.checked.push(checked(named("part")?, cells)?),
        JobList::Replaced => job.replaced.push(Replaced {
            part: named("part")?,
            why: at(1).to_owned(),
            with: at(2).to_owned(),
            date: String::new(),
        }),
        JobList::Soaks => job.soaks.push(Soak {
            load: at(0).to_owned(),
            minutes: number(at(1))?.ok_or("say for how many minutes")?,
            passed: match at(2).to_lowercase().as_str() {
                "" => None,
                "yes" | "y" => Some(true),
                "no" | "n" => Some(false),
                _ => return Err("passed: yes or no was expected".to_owned()),
            },
            result: at(3).to_owned(),
            date: String::new(),
        }),
        JobList::Pictures => {}
    }
    Ok(())
}

fn maybe(text: &str, kind: Kind) -> Result<Option<f64>, String> {
    (!text.is_empty())
        .then(|| typed::value(text, kind))
        .transpose()
}

/// Ohms, or `open` for no connection.
fn ohms(text: &str) -> Result<Option<f64>, String> {
    match text.to_lowercase().as_str() {
        "open" | "inf" | "ol" => Ok(Some(f64::INFINITY)),
        _ => maybe(text, Kind::Ohm),
    }
}

/// A part with its mark; a name that begins with C, or a mark in farads, is a capacitor.
fn checked(part: String, cells: &[String]) -> Result<PartCheck, String> {
    let at = |index: usize| cells.get(index).map_or("", String::as_str);
    let kind = kind_of(&part, at(1));
    let mark = (!at(1).is_empty())
        .then(|| marked(at(1), kind))
        .transpose()?;
    let mark = mark.as_ref();
    Ok(PartCheck {
        kind: if kind == Kind::Farad {
            "capacitor".to_owned()
        } else {
            "resistor".to_owned()
        },
        marked: mark.map(MarkedPart::value),
        tolerance: mark.and_then(|mark| {
            let (low, _) = mark
                .has_tolerance()
                .then(|| mark.range(typed::Tolerance::both(0.0)))?;
            Some(1.0 - low / mark.value())
        }),
        reading: maybe(at(2), kind)?,
        esr_ohms: maybe(at(3), Kind::Ohm)?,
        leakage_amperes: maybe(at(4), Kind::Ampere)?,
        note: at(5).to_owned(),
        part,
        out_of_circuit: None,
    })
}

fn kind_of(part: &str, mark: &str) -> Kind {
    let capacitor = part.to_lowercase().starts_with('c') || mark.to_lowercase().contains('f');
    if capacitor { Kind::Farad } else { Kind::Ohm }
}

/// Takes a row out of a list.
pub fn remove(state: &mut AppState, list: JobList, row: usize) {
    let name = format!("{}: a row less", list.title());
    state.job.history.edit(&name, |job| match list {
        JobList::Cold => take(&mut job.cold, row),
        JobList::Pins => take(&mut job.pins, row),
        JobList::Outputs => take(&mut job.outputs, row),
        JobList::Checked => take(&mut job.checked, row),
        JobList::Replaced => take(&mut job.replaced, row),
        JobList::Soaks => take(&mut job.soaks, row),
        JobList::Pictures => take(&mut job.pictures, row),
    });
}

fn take<T>(rows: &mut Vec<T>, row: usize) {
    if row < rows.len() {
        rows.remove(row);
    }
}
