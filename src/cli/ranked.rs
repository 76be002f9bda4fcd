//! Which controllers fit a start and a stop that were read: text and object.

use anyhow::bail;
use serde_json::json;

use super::controllers::told;
use super::deliver::Delivery;
use super::profile::{self, number};
use crate::data::Unit;
use crate::data::options::Accuracy;
use crate::inspect::{Library, Ranked};
use crate::report::json::{self, SCHEMA};
use crate::report::text::Page;

/// What a bench scope is taken for where nothing is said (common practice).
const ASSUMED: Accuracy = Accuracy {
    gain: 0.02,
    offset: 0.0,
};

/// Ranks the library by start and stop and hands the list over. An empty list is an answer too.
pub(super) fn run(
    library: &Library,
    start_v: f64,
    stop_v: f64,
    meter: Option<Accuracy>,
    delivery: &Delivery,
) -> anyhow::Result<u8> {
    if stop_v >= start_v {
        bail!(
            "--start {} --stop {}: the start has to be above the stop",
            number(start_v, Unit::Volt),
            number(stop_v, Unit::Volt)
        );
    }
    let accuracy = meter.unwrap_or(ASSUMED);
    // the half-width of a rectangular distribution over the square root of 3 (JCGM 100:2008 4.3.7)
    let u_v = (accuracy.gain * start_v + accuracy.offset) / 3_f64.sqrt();
    let ranked = library.rank(start_v, stop_v, u_v);
    if delivery.json {
        delivery.object(&object(library, &ranked, u_v), &[])?;
        return Ok(0);
    }
    let mut page = Page::new(delivery.ascii());
    told(&mut page, library);
    let assumed = match meter {
        Some(_) => "",
        None => ", 2 % of the reading being assumed (--meter 0.5%+10mV says better)",
    };
    page.paragraph(&format!(
        "What starts at {} and stops at {}{assumed}:",
        number(start_v, Unit::Volt),
        number(stop_v, Unit::Volt)
    ));
    page.gap();
    list(&mut page, &ranked);
    delivery.text(&page.finish(), &[])?;
    Ok(0)
}

fn list(page: &mut Page, ranked: &[Ranked]) {
    if ranked.is_empty() {
        page.paragraph(
            "No profile fits. Read both again at the VCC pin of the part, with a meter.",
        );
        return;
    }
    page.row(0, &[("share", 6), ("id", 24), ("title", 46)]);
    page.rule();
    for one in ranked {
        let share = format!("{:.1} %", 100.0 * one.weight);
        page.row(
            0,
            &[(&share, 6), (&one.profile.id, 24), (&one.profile.title, 46)],
        );
        page.hanging("", 8, &one.why);
    }
    page.gap();
    page.paragraph(
        "Shares of all profiles taken as equally probable beforehand. Start and stop alone seldom \
         leave one: what is printed on the part decides.",
    );
}

fn object(library: &Library, ranked: &[Ranked], u_v: f64) -> serde_json::Value {
    let list: Vec<_> = ranked
        .iter()
        .map(
            |one| json!({"id": one.profile.id, "weight": json::number(one.weight), "why": one.why}),
        )
        .collect();
    let profiles: Vec<_> = ranked.iter().map(|r| profile::object(r.profile)).collect();
    json!({
        "schema": SCHEMA,
        "controllers": profiles,
        "ranked": list,
        "u": json::number(u_v),
        "notes": library.told(),
    })
}
