//! Tables that follow one another in a file: more channels, more records, or one record that goes on.

use std::sync::Arc;

use super::assemble::Part;
use super::preamble::Label;
use crate::data::{Answer, Capture, Channel, Decision, Mask, Note, Samples, Store, TimeAxis};
use crate::formats::{FormatError, ReadOptions, layout};

/// What later tables are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Later {
    /// Further channels of the same record.
    Channels,
    /// Further records.
    Records,
    /// The same record, going on.
    One,
}

const KEY: &str = "sections";
/// Share of a step within which two times are the same.
const SAME: f64 = 0.01;

/// Makes captures of the tables of a file.
pub(super) fn captures(
    file: &str,
    mut parts: Vec<Part>,
    remarks: Vec<Note>,
    options: &ReadOptions,
) -> Result<Vec<Capture>, FormatError> {
    check_declared(&mut parts);
    let tables = parts.len();
    let (later, why) = match tables {
        0 | 1 => (Later::Records, String::new()),
        _ => later(file, &parts, options)?,
    };
    let channels_of = |part: &Part| part.channels.len();
    let all: usize = parts.iter().map(channels_of).sum();
    if later == Later::Channels && all > options.limits.columns {
        return Err(FormatError::TooManyColumns {
            file: file.to_owned(),
            line: parts.last().map_or(1, |part| part.first_line),
            found: all,
            limit: options.limits.columns,
        });
    }
    let lines: Vec<u64> = parts.iter().map(|part| part.first_line).collect();
    let mut captures = match later {
        Later::Records => parts.into_iter().map(|part| capture(file, part)).collect(),
        Later::Channels => vec![channels(file, parts)],
        Later::One => vec![one(file, parts, &lines)?],
    };
    for capture in &mut captures {
        if tables > 1 {
            capture.decisions.push(Decision {
                what: KEY.to_owned(),
                value: later.id().to_owned(),
                why: why.clone(),
            });
        }
        capture.notes.extend(remarks.iter().cloned());
    }
    Ok(captures)
}

/// Notes on tables that have not as many rows as the file says, neither alone nor all together.
fn check_declared(parts: &mut [Part]) {
    let total: usize = parts.iter().map(|part| part.rows).sum();
    for part in parts {
        let (rows, Some((said, line))) = (part.rows, part.declared) else {
            continue;
        };
        if said != rows as u64 && said != total as u64 {
            part.notes.push(Note::at_line(
                format!("the file declares {said} samples, {rows} are there"),
                line,
            ));
        }
    }
}

impl Later {
    fn id(self) -> &'static str {
        match self {
            Later::Channels => "channels",
            Later::Records => "records",
            Later::One => "one",
        }
    }
}

/// Decides what the later tables are, with the reason.
fn later(
    file: &str,
    parts: &[Part],
    options: &ReadOptions,
) -> Result<(Later, String), FormatError> {
    if let Some(value) = layout::given(options, KEY) {
        let all = [Later::Channels, Later::Records, Later::One];
        let found = all.into_iter().find(|later| later.id() == value);
        let later = found.ok_or_else(|| layout::bad_value(file, KEY, value))?;
        return Ok((later, layout::why_given(options, KEY)));
    }
    let names =
        |part: &Part| -> Vec<String> { part.channels.iter().map(|c| c.name.clone()).collect() };
    let each: Vec<Vec<String>> = parts.iter().map(names).collect();
    let differ = |a: &Vec<String>, b: &Vec<String>| a.iter().all(|name| !b.contains(name));
    let all_differ = each
        .iter()
        .enumerate()
        .all(|(index, a)| each.iter().skip(index + 1).all(|b| differ(a, b)));
    let all_same = each.windows(2).all(|pair| pair.first() == pair.last());
    let segments = parts
        .iter()
        .skip(1)
        .all(|part| matches!(part.label, Label::Segment(_)));
    let pairs = || parts.iter().zip(parts.iter().skip(1));
    if segments {
        let why = "the lines between them number them";
        return Ok((Later::Records, why.to_owned()));
    }
    if all_differ {
        let why = format!("{} blocks of samples name different channels", parts.len());
        return Ok((Later::Channels, why));
    }
    if all_same && pairs().all(|(a, b)| goes_on(a, b)) {
        return Ok((Later::One, "time goes on with the same step".to_owned()));
    }
    if all_same && pairs().all(|(a, b)| start(b) > end(a)) {
        let why = "time goes on after a gap, with the same channels";
        return Ok((Later::Records, why.to_owned()));
    }
    let line = parts.get(1).map_or(1, |part| part.first_line);
    Err(FormatError::ask(
        file,
        format!(
            "another block of samples begins in line {line}, and nothing tells whether it holds further channels of the record or another record; which?"
        ),
        vec![Answer::of(KEY, "channels"), Answer::of(KEY, "records")],
    ))
}

fn start(part: &Part) -> f64 {
    part.channels.first().map_or(f64::NAN, |c| c.time.start_s())
}

fn end(part: &Part) -> f64 {
    part.channels.first().map_or(f64::NAN, |c| c.time.end_s())
}

/// Does the time of `b` follow that of `a` after one step?
fn goes_on(a: &Part, b: &Part) -> bool {
    let step = |part: &Part| {
        part.channels
            .first()
            .map_or(f64::NAN, |c| c.time.interval_s())
    };
    let gap = start(b) - end(a);
    (gap / step(a) - 1.0).abs() < 0.5 && (step(b) / step(a) - 1.0).abs() < SAME
}

fn capture(file: &str, part: Part) -> Capture {
    Capture {
        file: file.to_owned(),
        format: "csv",
        channels: part.channels,
        decisions: part.decisions,
        notes: part.notes,
    }
}

/// One capture with the channels of all tables; those with the same times share one axis.
fn channels(file: &str, parts: Vec<Part>) -> Capture {
    let mut all: Vec<Channel> = Vec::new();
    let (mut decisions, mut notes) = (Vec::new(), Vec::new());
    for part in parts {
        for mut channel in part.channels {
            let known = all
                .iter()
                .map(|c| &c.time)
                .find(|time| time.matches(&channel.time));
            if let Some(time) = known {
                channel.time = Arc::clone(time);
            }
            all.push(channel);
        }
        if decisions.is_empty() {
            decisions = part.decisions;
        }
        notes.extend(part.notes);
    }
    Capture {
        file: file.to_owned(),
        format: "csv",
        channels: all,
        decisions,
        notes,
    }
}

/// One capture whose channels go on from table to table.
fn one(file: &str, parts: Vec<Part>, lines: &[u64]) -> Result<Capture, FormatError> {
    let mut parts = parts.into_iter();
    let Some(mut whole) = parts.next() else {
        return Err(FormatError::Empty {
            file: file.to_owned(),
        });
    };
    for (part, line) in parts.zip(lines.iter().skip(1)) {
        if part.channels.len() != whole.channels.len() {
            return Err(FormatError::Ragged {
                file: file.to_owned(),
                line: *line,
                expected: whole.channels.len() + 1,
                found: part.channels.len() + 1,
            });
        }
        let rises = start(&part) > end(&whole);
        if !rises {
            return Err(FormatError::TimeNotRising {
                file: file.to_owned(),
                line: *line,
                before: end(&whole),
                found: start(&part),
            });
        }
        let (mut joined, mut time) = (Vec::new(), None);
        for (a, b) in whole.channels.into_iter().zip(part.channels) {
            let time = time.get_or_insert_with(|| Arc::new(longer(&a.time, &b.time)));
            joined.push(appended(a, b, Arc::clone(time)));
        }
        whole.channels = joined;
        whole.notes.extend(part.notes);
    }
    Ok(capture(file, whole))
}

fn longer(a: &TimeAxis, b: &TimeAxis) -> TimeAxis {
    if let (
        TimeAxis::Uniform {
            start_s,
            step_s,
            count,
        },
        TimeAxis::Uniform { count: more, .. },
    ) = (a, b)
    {
        let total = count + more;
        let step = (b.end_s() - start_s) / (total.max(2) - 1) as f64;
        let even = (step / step_s - 1.0).abs() * total as f64 <= 1.0
            && ((b.start_s() - a.end_s()) / step_s - 1.0).abs() < 0.5;
        if even {
            return TimeAxis::Uniform {
                start_s: *start_s,
                step_s: super::time_fit::rounded(step, 12),
                count: total,
            };
        }
    }
    let times = |axis: &TimeAxis| -> Vec<f64> { (0..axis.len()).map(|i| axis.at(i)).collect() };
    let mut all = times(a);
    all.extend(times(b));
    TimeAxis::Explicit(all)
}

fn appended(a: Channel, b: Channel, time: Arc<TimeAxis>) -> Channel {
    let count = a.samples.len();
    let joined = |first: &Mask, second: &Mask| {
        let mut mask = first.clone();
        mask.extend_shifted(second, count);
        mask
    };
    let (missing, clipped) = (
        joined(&a.missing, &b.missing),
        joined(&a.clipped, &b.clipped),
    );
    // values, whatever codes the two were kept in
    let (first, second) = (
        a.samples.slice(0..count),
        b.samples.slice(0..b.samples.len()),
    );
    let values: Vec<f64> = first.into_iter().chain(second).collect();
    let single = values
        .iter()
        .all(|v| v.is_nan() || f64::from(*v as f32).to_bits() == v.to_bits());
    let store = if single {
        Store::F32(values.iter().map(|v| *v as f32).collect())
    } else {
        Store::F64(values)
    };
    Channel {
        samples: Samples::new(store, 1.0, 0.0),
        time,
        missing,
        clipped,
        ..a
    }
}
