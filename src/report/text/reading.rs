//! How each file was understood, on a terminal.

use super::inspection::note_text;
use super::page::Page;
use crate::data::Channel;
use crate::data::text::{engineering, harmless};
use crate::report::{FileReading, Shown};

/// Longest name of a channel shown.
const NAME: usize = 40;

/// What reading some files gave; a file that failed says why in its place.
pub fn reading(files: &[FileReading], ascii: bool) -> String {
    let mut page = Page::new(ascii);
    for file in files {
        page.gap();
        page.paragraph(&file.file);
        page.rule();
        match file.failure() {
            Some(why) => page.hanging("  Failed", 12, why),
            None => one_file(&mut page, file.captures()),
        }
    }
    page.finish()
}

fn one_file(page: &mut Page, captures: &[Shown]) {
    if let Some(first) = captures.first() {
        page.hanging("  Format", 12, first.capture.format);
        for decision in &first.capture.decisions {
            let text = format!("{} = {}: {}", decision.what, decision.value, decision.why);
            page.hanging("  Decided", 12, &text);
        }
        for note in &first.capture.notes {
            page.hanging("  Note", 12, &note_text(note));
        }
    }
    for (index, shown) in captures.iter().enumerate() {
        page.gap();
        if captures.len() > 1 {
            page.hanging(
                "",
                2,
                &format!("Capture {} of {}", index + 1, captures.len()),
            );
        }
        channels(page, shown);
        times(page, shown);
    }
}

fn channels(page: &mut Page, shown: &Shown) {
    page.row(
        2,
        &[
            ("channel", 22),
            ("samples", 11),
            ("missing", 8),
            ("least", 11),
            ("most", 11),
        ],
    );
    for (index, channel) in shown.capture.channels.iter().enumerate() {
        let facts = shown.facts.get(index);
        let level = |value: Option<f64>| engineering(value.unwrap_or(f64::NAN), channel.unit, 4);
        let name = format!("{} {}", index + 1, harmless(&channel.name, NAME));
        page.row(
            2,
            &[
                (&name, 22),
                (&channel.samples.len().to_string(), 11),
                (&channel.missing.count().to_string(), 8),
                (&level(facts.map(|f| f.min)), 11),
                (&level(facts.map(|f| f.max)), 11),
            ],
        );
    }
}

/// Channels that share one time axis are named in one line.
fn times(page: &mut Page, shown: &Shown) {
    let mut seen: Vec<(&Channel, Vec<String>)> = Vec::new();
    for (index, channel) in shown.capture.channels.iter().enumerate() {
        let number = (index + 1).to_string();
        match seen.iter_mut().find(|(c, _)| c.time == channel.time) {
            Some((_, numbers)) => numbers.push(number),
            None => seen.push((channel, vec![number])),
        }
    }
    let several = seen.len() > 1;
    for (channel, numbers) in seen {
        let axis = &channel.time;
        let second = |value: f64| engineering(value, crate::data::Unit::Second, 6);
        let spacing = if axis.is_uniform() { "even" } else { "uneven" };
        let whose = if several {
            format!(" (channel {})", numbers.join(", "))
        } else {
            String::new()
        };
        let text = format!(
            "{} to {}, {spacing} steps of {}{whose}",
            second(axis.start_s()),
            second(axis.end_s()),
            second(axis.interval_s()),
        );
        page.hanging("  Time", 12, &text);
    }
}
