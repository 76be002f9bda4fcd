//! What was found in each run, and how it was proved: shots, stages, suspects.

use super::page::Page;
use super::{Sheet, joined};
use crate::data::job::Run;
use crate::data::text::engineering;
use crate::data::{InspectedCapture, InspectedChannel, Inspection, Suspect, Unit};
use crate::report::job::run_words;
use crate::report::text::mark;

/// Each run: how it was taken, the stages, the suspects.
pub(super) fn found(page: &mut Page, sheet: &Sheet<'_>) {
    page.heading(2, "What was found, and how");
    for (_, run, found) in sheet.runs() {
        page.heading(3, &run_words(run));
        how(page, run, found);
        stages(page, found);
        page.facts(
            "What it comes to",
            &[
                ("Works", found.lines.works.clone()),
                ("Does not", found.lines.fails.clone()),
                ("Measure next", found.lines.next.clone()),
            ],
        );
        suspects(page, &found.suspects);
    }
    for (number, why) in sheet.report.failed {
        let title = sheet.report.run(*number).map(run_words);
        page.heading(3, &title.unwrap_or_else(|| format!("run {}", number + 1)));
        page.paragraph(&format!("Could not be inspected: {why}"));
    }
}

fn how(page: &mut Page, run: &Run, found: &Inspection) {
    let ticked = run.change_over.iter().map(|line| line.title());
    let ticked: Vec<&str> = ticked.collect();
    let setup = match found.setup.value {
        Some(setup) => format!("{}: {}", setup.id(), setup.meaning()),
        None => found.setup.reason.clone(),
    };
    page.facts(
        "How it was taken",
        &[
            ("Set-up", setup),
            ("Condition", run.condition.words()),
            ("Ticked before", ticked.join("; ")),
        ],
    );
    let mut rows: Vec<[String; 5]> = Vec::new();
    for (number, shot) in found.captures.iter().enumerate() {
        for (index, channel) in shot.channels.iter().enumerate() {
            rows.push(channel_row(number, shot, index, channel));
        }
    }
    page.table(
        "Shots and channels",
        ["shot", "channel", "is on", "factor and accuracy", "samples"],
        &rows,
    );
}

fn channel_row(
    number: usize,
    shot: &InspectedCapture,
    index: usize,
    known: &InspectedChannel,
) -> [String; 5] {
    let kind = shot.kind.value.map_or("unknown kind", |kind| kind.id());
    let setup = shot.setup.value.map_or("set-up not known", |s| s.id());
    let channel = shot.capture.channels.get(index);
    let name = channel.map_or("", |c| c.name.as_str());
    let role = known
        .role
        .value
        .map_or("pin not known".to_owned(), |r| r.title_with_pin());
    let place = known
        .place
        .as_ref()
        .map_or(String::new(), |p| format!(" at {p}"));
    let sure = known
        .role
        .sureness()
        .map_or(String::new(), |s| format!(" ({s})"));
    let assumed = if known.accuracy_assumed {
        " (assumed)"
    } else {
        ""
    };
    let meter = if known.set_to_meter.is_some() {
        "set to a meter"
    } else {
        "not set to a meter"
    };
    let bandwidth = known.bandwidth_hz.map_or(String::new(), |hertz| {
        format!("bandwidth {}", engineering(hertz, Unit::Hertz, 3))
    });
    let samples = channel.map_or(String::new(), |c| {
        let each = engineering(c.time.interval_s(), Unit::Second, 4);
        format!("{}, {each} apart, {}", c.samples.len(), c.kind.id())
    });
    [
        format!("{}: {}, {kind}, {setup}", number + 1, shot.capture.file),
        name.to_owned(),
        format!("{role}{place}{sure}"),
        joined(&[
            &format!("× {}", engineering(known.gain, Unit::Unknown, 6)),
            &format!(
                "±({} % + {}){assumed}",
                engineering(100.0 * known.accuracy.gain, Unit::Unknown, 3),
                engineering(
                    known.accuracy.offset,
                    channel.map_or(Unit::Volt, |c| c.unit),
                    3
                )
            ),
            meter,
            bandwidth.as_str(),
        ]),
        samples,
    ]
}

fn stages(page: &mut Page, found: &Inspection) {
    let row = |f: &crate::data::StageFinding| {
        let apart: Vec<&str> = f.not_seen_together.iter().map(|s| s.title()).collect();
        let apart = if apart.is_empty() {
            String::new()
        } else {
            format!("\nNot seen together with: {}", apart.join(", "))
        };
        [
            f.stage.title().to_owned(),
            format!("{} {}", mark(f.state, false), f.state.title()),
            f.figures.join("\n"),
            format!("{}{apart}", f.because),
        ]
    };
    let rows: Vec<[String; 4]> = found.stages.iter().map(row).collect();
    page.table(
        "The start-up order",
        ["stage", "state", "figures", "because"],
        &rows,
    );
}

fn suspects(page: &mut Page, suspects: &[Suspect]) {
    let Some(first) = suspects.first() else {
        return;
    };
    let mut text = format!("Consistent with: {} ({}).", first.title, first.rank_word());
    if let Some(second) = suspects.get(1) {
        text.push_str(&format!(
            " The runner-up: {} ({}).",
            second.title,
            second.rank_word()
        ));
    }
    if !first.next_check.is_empty() {
        text.push_str(&format!(" What separates them: {}", first.next_check));
    }
    page.paragraph(&text);
    let said = |reasons: &[crate::data::Evidence]| {
        let texts: Vec<&str> = reasons.iter().map(|r| r.text.as_str()).collect();
        texts.join("\n")
    };
    let rows: Vec<[String; 4]> = suspects
        .iter()
        .map(|s| {
            let name = format!("{}: {}", s.rank_word(), s.title);
            [
                name,
                said(&s.reasons_for),
                said(&s.reasons_against),
                s.next_check.clone(),
            ]
        })
        .collect();
    page.table(
        "Causes that fit, the best first: ranked by rules of the trade, not measured",
        ["consistent with", "for", "against", "check"],
        &rows,
    );
}
