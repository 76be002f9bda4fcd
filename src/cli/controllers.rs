//! The library of controllers: a list, what a marking leaves open, or one in full.

use std::collections::BTreeMap;
use std::collections::BTreeSet;

use serde_json::{Value, json};

use super::args::ControllersArgs;
use super::profile::{self, number};
use super::{do_not_exceed, ranked};
use crate::data::Limit;
use crate::inspect::{ControllerError, Found, Library, Profile};
use crate::report::json::SCHEMA;
use crate::report::text::Page;

pub(super) fn run(args: &ControllersArgs) -> anyhow::Result<u8> {
    args.delivery.check(&[])?;
    if args.template {
        args.delivery.text(Library::template(), &[])?;
        return Ok(0);
    }
    let library = args.library.library()?;
    if args.seen.any() {
        return ranked::run(&library, &args.seen, args.meter, &args.delivery);
    }
    let marking = args.marking.as_deref();
    let found = marking.map(|m| find(&library, m, args.marking_not_trusted));
    let found = found.transpose()?;
    let parts = args.parts.iter();
    let parts: BTreeMap<String, f64> = parts
        .map(|(name, part)| (name.clone(), part.value()))
        .collect();
    if args.delivery.json {
        let object = object(&library, found.as_ref(), &parts);
        args.delivery.object(&object, &[])?;
        return Ok(0);
    }
    let mut page = Page::new(args.delivery.ascii());
    told(&mut page, &library);
    match &found {
        None => list(&mut page, &library.profiles().iter().collect::<Vec<_>>()),
        Some(found) => {
            if !found.note.is_empty() {
                page.paragraph(&format!("{}.", found.note));
                page.gap();
            }
            match found.profiles.as_slice() {
                [one] => profile::text(&mut page, &library, one, &parts),
                several => open(&mut page, &library, several, &parts),
            }
        }
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

fn find<'a>(
    library: &'a Library,
    marking: &str,
    not_trusted: bool,
) -> Result<Found<'a>, ControllerError> {
    if not_trusted {
        library.find_class(marking)
    } else {
        library.find(marking)
    }
}

fn object(library: &Library, found: Option<&Found>, parts: &BTreeMap<String, f64>) -> Value {
    let all: Vec<&Profile> = match found {
        Some(found) => found.profiles.clone(),
        None => library.profiles().iter().collect(),
    };
    let objects: Vec<Value> = all.iter().map(|p| profile::object(library, p)).collect();
    json!({
        "schema": SCHEMA,
        "controllers": objects,
        "ranked": [],
        "found": found.map(|f| json!({"how": f.how.id(), "note": f.note})),
        "do_not_exceed": found.map(|f| do_not_exceed::object(&f.profiles, parts)),
        "gaps": library.gaps().iter().map(profile::gap).collect::<Vec<_>>(),
        "notes": library.told(),
    })
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
    let value = limit.and_then(|l| Some(number(l.typ.or(l.max)?, l.unit)));
    value.unwrap_or_else(|| "?".to_owned())
}

/// A marking that leaves several open: what they are, what not to exceed, the widest of their
/// values, and where they contradict each other.
fn open(page: &mut Page, library: &Library, profiles: &[&Profile], parts: &BTreeMap<String, f64>) {
    page.paragraph("It could be any of these; the widest limits apply:");
    page.gap();
    list(page, profiles);
    do_not_exceed::text(page, profiles, parts);
    let keys: BTreeSet<&str> = profiles
        .iter()
        .flat_map(|p| p.values.keys().map(String::as_str))
        .collect();
    let widest: Vec<(&str, Limit)> = keys
        .into_iter()
        .filter_map(|key| Some((key, Library::widest(profiles, key)?)))
        .collect();
    if !widest.is_empty() {
        profile::values(page, widest.iter().map(|(key, limit)| (*key, limit, None)));
    }
    profile::contradictions(page, library, profiles);
}
