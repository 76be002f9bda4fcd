//! The library of controllers: a list, what a marking leaves open, or one in full.

use std::collections::BTreeSet;

use serde_json::json;

use super::args::ControllersArgs;
use super::profile::{self, number};
use super::ranked;
use crate::data::Limit;
use crate::inspect::{ControllerError, Library, Profile};
use crate::report::json::SCHEMA;
use crate::report::text::Page;

pub(super) fn run(args: &ControllersArgs) -> anyhow::Result<u8> {
    args.delivery.check(&[])?;
    if args.template {
        args.delivery.text(Library::template(), &[])?;
        return Ok(0);
    }
    let library = args.library.library()?;
    if let (Some(start_v), Some(stop_v)) = (args.start, args.stop) {
        return ranked::run(&library, start_v, stop_v, args.meter, &args.delivery);
    }
    let found: Vec<&Profile> = match &args.marking {
        None => library.profiles().iter().collect(),
        Some(marking) => find(&library, marking)?,
    };
    if args.delivery.json {
        let all: Vec<_> = found.iter().map(|p| profile::object(p)).collect();
        let object =
            json!({"schema": SCHEMA, "controllers": all, "ranked": [], "notes": library.told()});
        args.delivery.object(&object, &[])?;
        return Ok(0);
    }
    let mut page = Page::new(args.delivery.ascii());
    told(&mut page, &library);
    match (&args.marking, found.as_slice()) {
        (Some(_), [one]) => profile::text(&mut page, one),
        (Some(marking), several) => open(&mut page, marking, several),
        (None, all) => list(&mut page, all),
    }
    args.delivery.text(&page.finish(), &[])?;
    Ok(0)
}

/// Says which profiles are the user's own, where there are any.
pub(super) fn told(page: &mut Page, library: &Library) {
    for what in library.told() {
        page.paragraph(what);
    }
    page.gap();
}

/// An exact id first, so that each profile can be named alone; else whatever the marking means.
fn find<'a>(library: &'a Library, marking: &str) -> Result<Vec<&'a Profile>, ControllerError> {
    let exact = library
        .profiles()
        .iter()
        .find(|p| p.id.eq_ignore_ascii_case(marking.trim()));
    match exact {
        Some(profile) => Ok(vec![profile]),
        None => library.lookup(marking),
    }
}

fn list(page: &mut Page, profiles: &[&Profile]) {
    page.row(0, &[("id", 24), ("start", 8), ("stop", 8), ("title", 32)]);
    page.rule();
    for profile in profiles {
        let start = typical(profile.values.get("vcc_start"));
        let stop = typical(profile.values.get("vcc_stop"));
        page.row(
            0,
            &[
                (&profile.id, 24),
                (&start, 8),
                (&stop, 8),
                (&profile.title, 32),
            ],
        );
    }
    page.gap();
    page.paragraph("start and stop: typical VCC at which it starts and stops. firstpulse controllers ID shows one in full.");
}

fn typical(limit: Option<&Limit>) -> String {
    let value = limit.and_then(|l| Some(number(l.typ?, l.unit)));
    value.unwrap_or_else(|| "?".to_owned())
}

/// A marking that leaves several open: what they are, and the widest of their values.
fn open(page: &mut Page, marking: &str, profiles: &[&Profile]) {
    page.paragraph(&format!(
        "'{marking}' could be any of these; the widest limits apply:"
    ));
    page.gap();
    list(page, profiles);
    let keys: BTreeSet<&str> = profiles
        .iter()
        .flat_map(|p| p.values.keys().map(String::as_str))
        .collect();
    let widest: Vec<(&str, Limit)> = keys
        .into_iter()
        .filter_map(|key| Some((key, Library::widest(profiles, key)?)))
        .collect();
    if !widest.is_empty() {
        profile::values(page, widest.iter().map(|(key, limit)| (*key, limit)));
    }
}
