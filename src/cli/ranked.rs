//! Which controllers fit what was read: text and object.

use anyhow::bail;
use clap::{ArgGroup, Args};
use serde_json::json;

use super::choices;
use super::controllers::told;
use super::deliver::Delivery;
use super::profile::{self, number};
use crate::data::ControllerFits;
use crate::data::options::Accuracy;
use crate::inspect::{Library, RANKED_BY, Ranked, Seen};
use crate::report::json::{self, SCHEMA};
use crate::report::text::Page;

/// What a bench scope is taken for where nothing is said (common practice).
const ASSUMED: Accuracy = Accuracy {
    gain: 0.02,
    offset: 0.0,
};
/// What a counted ratio may be off, and a duty cycle read by hand, in each case the share of the
/// value (common practice).
const COUNTED: Accuracy = Accuracy {
    gain: 0.01,
    offset: 0.0,
};

/// Figures that were read.
#[derive(Debug, Clone, Args)]
#[command(group(ArgGroup::new("seen").multiple(true)))]
pub(super) struct SeenArgs {
    /// VCC at which the part started, for instance 15.9V: ranks the profiles that fit
    #[arg(long, value_name = "V", requires = "stop", group = "seen", value_parser = choices::volts, allow_hyphen_values = true)]
    start: Option<f64>,
    /// VCC at which the part stopped, for instance 9.9V
    #[arg(long, value_name = "V", requires = "start", group = "seen", value_parser = choices::volts, allow_hyphen_values = true)]
    stop: Option<f64>,
    /// Lower turning point of the ramp, for instance 1.0V
    #[arg(long, value_name = "V", group = "seen", value_parser = choices::volts)]
    ramp_valley: Option<f64>,
    /// Ramp peak minus ramp valley, for instance 1.7V
    #[arg(long, value_name = "V", group = "seen", value_parser = choices::volts)]
    ramp_height: Option<f64>,
    /// Cycles of the oscillator for each of OUT, for instance 2
    #[arg(long, value_name = "N", group = "seen", value_parser = choices::ratio)]
    ratio: Option<f64>,
    /// Largest duty cycle, read bench-fed, for instance 48%
    #[arg(long, value_name = "SHARE", group = "seen", value_parser = choices::ratio)]
    duty: Option<f64>,
    /// Current into VCC below the start, for instance 0.4mA
    #[arg(long, value_name = "A", group = "seen", value_parser = choices::amps)]
    standby_current: Option<f64>,
    /// VCC minus the high level of OUT, for instance 1.5V; 0V for none
    #[arg(long, value_name = "V", group = "seen", value_parser = choices::level, allow_hyphen_values = true)]
    headroom: Option<f64>,
    /// The reference, for instance 5.0V
    #[arg(long, value_name = "V", group = "seen", value_parser = choices::volts)]
    vref: Option<f64>,
}

impl SeenArgs {
    /// Was any figure given?
    pub(super) fn any(&self) -> bool {
        !self.seen(ASSUMED).is_empty()
    }

    /// The figures with their standard uncertainties: the half-width of a rectangular distribution
    /// over the square root of 3 (JCGM 100:2008 4.3.7).
    fn seen(&self, meter: Accuracy) -> Vec<Seen> {
        [
            ("vcc_start", self.start, meter),
            ("vcc_stop", self.stop, meter),
            ("osc_to_out_divide", self.ratio, COUNTED),
            ("osc_amplitude_pp", self.ramp_height, meter),
            ("osc_valley", self.ramp_valley, meter),
            ("out_headroom", self.headroom, meter),
            ("vref", self.vref, meter),
            ("duty_max", self.duty, COUNTED),
            ("icc_startup", self.standby_current, share_of(meter)),
        ]
        .into_iter()
        .filter_map(|(key, value, accuracy)| {
            let value = value?;
            let u = (accuracy.gain * value.abs() + accuracy.offset) / 3_f64.sqrt();
            Some(Seen { key, value, u })
        })
        .collect()
    }
}

/// For a current the part in volts counts nothing.
fn share_of(meter: Accuracy) -> Accuracy {
    Accuracy {
        offset: 0.0,
        ..meter
    }
}

/// Ranks the library by what was read and hands the list over. An empty list is an answer too.
pub(super) fn run(
    library: &Library,
    read: &SeenArgs,
    meter: Option<Accuracy>,
    delivery: &Delivery,
) -> anyhow::Result<u8> {
    if let (Some(start), Some(stop)) = (read.start, read.stop)
        && stop >= start
    {
        let [start, stop] = [start, stop].map(|v| number(v, crate::data::Unit::Volt));
        bail!("--start {start} --stop {stop}: the start has to be above the stop");
    }
    let seen = read.seen(meter.unwrap_or(ASSUMED));
    let ranked = library.rank_by(&seen);
    let fits = library.fits(&seen, &[]);
    if delivery.json {
        delivery.object(&object(library, &ranked, fits.as_ref(), &seen), &[])?;
        return Ok(0);
    }
    let mut page = Page::new(delivery.ascii());
    told(&mut page, library);
    page.paragraph(&format!("What has {}:", in_words(&seen)));
    if meter.is_none() {
        page.paragraph("2 % of the reading being assumed (--meter 0.5%+10mV says better).");
    }
    page.gap();
    list(&mut page, &ranked, fits.as_ref());
    delivery.text(&page.finish(), &[])?;
    Ok(0)
}

fn in_words(seen: &[Seen]) -> String {
    let one = |seen: &Seen| {
        let by = RANKED_BY.iter().find(|by| by.key == seen.key)?;
        Some(format!("{} {}", by.title, number(seen.value, by.unit)))
    };
    let all: Vec<String> = seen.iter().filter_map(one).collect();
    all.join(", ")
}

fn list(page: &mut Page, ranked: &[Ranked], fits: Option<&ControllerFits>) {
    if ranked.is_empty() {
        page.paragraph(
            "No profile fits. Read it again at the pins of the part, with a meter where that can be.",
        );
        return;
    }
    page.row(0, &[("share", 6), ("id", 24), ("title", 46)]);
    page.rule();
    let mut class = "";
    for one in ranked {
        let members = || ranked.iter().filter(|other| other.class == one.class);
        if one.class != class && members().count() > 1 {
            let sum: f64 = members().map(|member| member.weight).sum();
            page.paragraph(&format!("class {}: {:.1} %", one.class, 100.0 * sum));
        }
        class = &one.class;
        let share = format!("{:.1} %", 100.0 * one.weight);
        page.row(
            0,
            &[(&share, 6), (&one.profile.id, 24), (&one.profile.title, 46)],
        );
        page.hanging("", 8, &one.why);
    }
    page.gap();
    if let Some(fits) = fits {
        page.paragraph(&fits.conclusion);
        for one in &fits.separated_by {
            page.hanging("", 2, &format!("To tell them apart: {}", one.text));
        }
    }
    page.paragraph(
        "Beforehand a class counts by its makers, and its profiles share that alike. Start and stop alone \
         seldom leave one: what is printed on the part decides.",
    );
}

fn object(
    library: &Library,
    ranked: &[Ranked],
    fits: Option<&ControllerFits>,
    seen: &[Seen],
) -> serde_json::Value {
    let list: Vec<_> = ranked
        .iter()
        .map(|one| {
            json!({
                "id": one.profile.id,
                "class": one.class,
                "weight": json::number(one.weight),
                "why": one.why,
                "against": one.against,
            })
        })
        .collect();
    let profiles: Vec<_> = ranked
        .iter()
        .map(|r| profile::object(library, r.profile))
        .collect();
    let open = fits.map_or_else(Vec::new, |f| {
        f.separated_by.iter().map(json::separation).collect()
    });
    json!({
        "schema": SCHEMA,
        "controllers": profiles,
        "ranked": list,
        "separated_by": open,
        "found": null,
        "do_not_exceed": null,
        "gaps": library.gaps().iter().map(profile::gap).collect::<Vec<_>>(),
        "conclusion": fits.map(|f| &f.conclusion),
        "u": json::number(seen.first().map_or(f64::NAN, |s| s.u)),
        "notes": library.told(),
    })
}
