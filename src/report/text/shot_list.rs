//! The shots that the run still needs: at most [`MOST_LINES`] lines each. JSON has every sentence.

use super::WIDTH;
use super::page::{Page, wrap};
use crate::data::text::{engineering, trimmed};
use crate::data::{Inspection, PlannedChannel, PlannedShot, Unit};

/// Most lines of one shot.
pub(super) const MOST_LINES: usize = 5;
/// Column of the text of a shot.
const INDENT: usize = 5;

/// What is still to be taken, with its settings; nothing where no set-up is known or all is done.
pub(super) fn shot_list(page: &mut Page, run: &Inspection) {
    let Some(list) = &run.shot_list else {
        return;
    };
    let open: Vec<&PlannedShot> = list.open().collect();
    if open.is_empty() && list.readings.is_empty() {
        return;
    }
    page.heading("SHOTS TO TAKE");
    for (number, shot) in open.iter().enumerate() {
        one(page, number + 1, shot);
    }
    if list.shots.is_empty() {
        page.hanging("", 2, "None in this set-up; readings by meter:");
        for text in &list.readings {
            page.hanging("  -", 4, text);
        }
    }
    let mut told: Vec<&str> = Vec::new();
    for caution in open.iter().flat_map(|shot| &shot.cautions) {
        if !told.contains(&caution.as_str()) {
            told.push(caution);
            page.hanging("  !", 4, caution);
        }
    }
    let then = if open.is_empty() { "Next" } else { "Then" };
    for text in &list.later {
        page.hanging("", 2, &format!("{then}: {text}"));
    }
}

fn one(page: &mut Page, number: usize, shot: &PlannedShot) {
    let head = format!(
        "{}: {}, {}, {}/div",
        shot.title,
        shot.setup.id(),
        shot.kind.id(),
        trimmed(&engineering(shot.seconds_per_division, Unit::Second, 3))
    );
    let settings: Vec<String> = shot.channels.iter().map(setting).collect();
    let settings = format!("{}.", settings.join("; "));
    let mut lines = wrap(&head, WIDTH - INDENT);
    for text in [&settings].into_iter().chain(&shot.how) {
        let more = wrap(text, WIDTH - INDENT);
        if lines.len() + more.len() <= MOST_LINES {
            lines.extend(more);
        }
    }
    let label = format!("  {number}");
    for (row, line) in lines.iter().enumerate() {
        page.hanging(if row == 0 { &label } else { "" }, INDENT, line);
    }
}

/// `VCC 5 V/div, zero 1 div up (−5 to 35 V)`.
fn setting(channel: &PlannedChannel) -> String {
    let (low, high) = channel.screen_v();
    let volts = |v: f64| trimmed(&engineering(v, Unit::Volt, 3));
    format!(
        "{} {}/div, zero {:.0} div up ({} to {})",
        channel.role.title(),
        volts(channel.volts_per_division),
        channel.zero_divisions,
        volts(low),
        volts(high)
    )
}
