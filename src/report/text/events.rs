//! Starts and stops, in order; a long row of like ones is cut short.

use super::page::Page;
use crate::data::text::plus_minus;
use crate::data::{Event, Inspection, Joined, Unit};

/// Most events of one shot that are all shown.
const MOST: usize = 6;
/// How many are shown of a longer row: the first two starts with their stops.
const FIRST: usize = 4;

/// The starts and stops of every shot. JSON has all of them.
pub(super) fn events(page: &mut Page, run: &Inspection) {
    if run.events.is_empty() {
        return;
    }
    page.heading("STARTS AND STOPS");
    let mut shots: Vec<usize> = run.events.iter().map(|e| e.capture).collect();
    shots.dedup();
    for shot in shots {
        let all: Vec<&Event> = run.events.iter().filter(|e| e.capture == shot).collect();
        if all.len() <= MOST {
            all.iter().for_each(|event| one_row(page, event));
            continue;
        }
        all.iter()
            .take(FIRST)
            .for_each(|event| one_row(page, event));
        if let Some(last) = all.last() {
            let text = format!(
                "and {} more, the last a {} at {} (--json has them all)",
                all.len() - FIRST,
                last.kind.id(),
                plus_minus(last.at_s, last.within_s, Unit::Second)
            );
            page.hanging("", 10, &text);
        }
    }
    run.joined.iter().for_each(|joined| together(page, joined));
}

/// What all sweeps of the run say of one threshold; a refusal to join stands in the notes.
fn together(page: &mut Page, joined: &Joined) {
    let Some(value) = &joined.value else {
        return;
    };
    let shots: Vec<String> = joined
        .captures
        .iter()
        .map(|c| (c + 1).to_string())
        .collect();
    let text = format!(
        "{}, shots {} together: {} ({} events)",
        joined.quantity.info().title,
        shots.join(", "),
        plus_minus(value.value, value.u95, Unit::Volt),
        value.count
    );
    page.hanging("", 2, &text);
}

fn one_row(page: &mut Page, event: &Event) {
    let vcc = match event.vcc {
        Some((vcc, u95)) => format!("VCC {}", plus_minus(vcc, u95, Unit::Volt)),
        None if event.why_no_vcc.is_some() => "VCC can't be read".to_owned(),
        None => "VCC not recorded".to_owned(),
    };
    let at = plus_minus(event.at_s, event.within_s, Unit::Second);
    let shot = format!("shot {}", event.capture + 1);
    let witness = format!("seen on {}", event.witness.title());
    page.row(
        2,
        &[
            (&shot, 7),
            (event.kind.id(), 5),
            (&at, 22),
            (&vcc, 20),
            (&witness, 14),
        ],
    );
}
