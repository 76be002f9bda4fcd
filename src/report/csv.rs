//! The measured values of all runs as one table (RFC 4180), for a spreadsheet or a script.

use crate::data::{Inspection, Judged, Outcome, Quantity};
use crate::report::JobReport;

/// Names of the columns.
pub const COLUMNS: [&str; 24] = [
    "run",
    "when",
    "shot",
    "file",
    "setup",
    "channel",
    "role",
    "quantity",
    "title",
    "kind",
    "unit",
    "value",
    "u",
    "u95",
    "count",
    "min",
    "typ",
    "max",
    "condition",
    "source",
    "verdict",
    "provisional",
    "why_not",
    "settle",
];

/// Is a quantity computed from several measured ones, as opposed to read off the record?
pub fn is_derived(quantity: Quantity) -> bool {
    matches!(
        quantity,
        Quantity::Hysteresis
            | Quantity::RtCtProduct
            | Quantity::RampDischarge
            | Quantity::RampAsymptote
            | Quantity::OutHeadroom
            | Quantity::OscillatorToOutRatio
            | Quantity::StartMargin
            | Quantity::HiccupRatio
    )
}

/// The table with its head; rows end with carriage return and line feed.
pub fn measured(report: &JobReport<'_>) -> String {
    let mut out = String::new();
    push(&mut out, &COLUMNS.map(str::to_owned));
    for (number, found) in report.runs {
        let run = report.run(*number);
        let title = run.map_or("", |run| run.title.as_str());
        let when = run.and_then(|run| run.when).map_or("", |when| when.id());
        for judged in &found.measured {
            push(&mut out, &row((title, when), found, judged));
        }
    }
    out
}

fn row((run, when): (&str, &str), found: &Inspection, judged: &Judged) -> [String; 24] {
    let measured = &judged.measured;
    let info = measured.quantity.info();
    let shot = measured.capture.and_then(|index| found.captures.get(index));
    let index = measured.channel;
    let known = shot
        .zip(index)
        .and_then(|(shot, index)| shot.channels.get(index));
    let channel = shot
        .zip(index)
        .and_then(|(shot, index)| shot.capture.channels.get(index));
    let value = measured.value();
    let limit = judged.expected.as_ref();
    let number = |value: Option<f64>| {
        value
            .filter(|v| v.is_finite())
            .map_or(String::new(), |v| format!("{v}"))
    };
    let text = |text: Option<&str>| text.unwrap_or_default().to_owned();
    let setup = shot.and_then(|shot| shot.setup.value).or(found.setup.value);
    let why_not = match &measured.outcome {
        Outcome::NotMeasurable(why) => Some(why.as_str()),
        Outcome::Value(_) => None,
    };
    [
        run.to_owned(),
        when.to_owned(),
        measured
            .capture
            .map_or("hand".to_owned(), |c| format!("{}", c + 1)),
        text(shot.map(|shot| shot.capture.file.as_str())),
        text(setup.map(|setup| setup.id())),
        text(channel.map(|channel| channel.name.as_str())),
        text(
            known
                .and_then(|known| known.role.value)
                .map(|role| role.id()),
        ),
        info.id.to_owned(),
        info.title.to_owned(),
        if is_derived(measured.quantity) {
            "derived"
        } else {
            "measured"
        }
        .to_owned(),
        info.unit.symbol().to_owned(),
        number(value.map(|v| v.value)),
        number(value.map(|v| v.u)),
        number(value.map(|v| v.u95)),
        value.map_or(String::new(), |v| format!("{}", v.count)),
        number(limit.and_then(|l| l.min)),
        number(limit.and_then(|l| l.typ)),
        number(limit.and_then(|l| l.max)),
        text(limit.map(|l| l.condition.as_str())),
        text(limit.map(|l| l.source.as_str())),
        judged.verdict.id().to_owned(),
        if judged.provisional { "yes" } else { "no" }.to_owned(),
        text(why_not),
        judged.settle.clone(),
    ]
}

fn push(out: &mut String, cells: &[String]) {
    let cells: Vec<String> = cells.iter().map(|text| cell(text)).collect();
    out.push_str(&cells.join(","));
    out.push_str("\r\n");
}

/// A cell: a text that a spreadsheet could take for a formula gets an apostrophe before it, and what holds a
/// separator, a quote or a line end is quoted.
fn cell(text: &str) -> String {
    let text = text.replace('\0', "");
    let formula = text.trim_start_matches([' ', '\u{A0}', '\u{FEFF}']);
    let formula =
        formula.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '＝', '＋', '－', '＠']);
    let text = if formula && !is_plain(&text) {
        format!("'{text}")
    } else {
        text
    };
    if text.contains([',', '"', '\r', '\n']) || text.starts_with(' ') || text.ends_with(' ') {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

/// A number as it is written here: finite, of digits, point, sign and exponent alone.
fn is_plain(text: &str) -> bool {
    text.parse::<f64>().is_ok_and(f64::is_finite)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_formula_slips_into_a_cell() {
        for text in ["=1+1", "+A1", "-A1", "@sum", "\tx", " =1", "-inf", "+nan"] {
            let shown = cell(text);
            assert!(
                shown.trim_start_matches('"').starts_with('\''),
                "{text:?} gives {shown:?}"
            );
        }
        assert_eq!(cell("-1.5"), "-1.5");
        assert_eq!(cell("a,\"b\"\nc"), "\"a,\"\"b\"\"\nc\"");
    }
}
