//! The oscillator beside the budget: forwards from RT and CT, backwards from a measured ramp.

use crate::controllers::Profile;
use crate::controllers::timing::{
    self, MarkedTiming, RampSeen, TimingParts, typical_parts, usual_parts,
};
use crate::data::budget::BudgetRequest;
use crate::data::part_check::usual_tolerance;
use crate::data::{Bounded, FromRamp, Timing};

pub(super) fn timing(request: &BudgetRequest, candidates: &[&Profile]) -> Timing {
    let mark = |name: &str| request.marks.get(name);
    timing::promise(candidates, mark("rt"), mark("ct"))
}

/// What the ramp read gives away; `None` where none was read, or with a reason under `from_ramp`.
pub(super) fn from_ramp(
    request: &BudgetRequest,
    candidates: &[&Profile],
    why_not: &mut Vec<(&'static str, String)>,
) -> Option<FromRamp> {
    let read = |name: &str| request.readings.get(name).copied();
    let (rise_s, fall_s) = match (read("ramp-rise"), read("ramp-fall")) {
        (Some(rise), Some(fall)) => (rise, fall),
        (None, None) => {
            let text = "no ramp read: --reading ramp-rise=18u --reading ramp-fall=0.7u";
            why_not.push(("from_ramp", text.to_owned()));
            return None;
        }
        (rise, _) => {
            let missing = if rise.is_none() {
                "ramp-rise"
            } else {
                "ramp-fall"
            };
            why_not.push((
                "from_ramp",
                format!("{missing} is not told: --reading {missing}=TIME"),
            ));
            return None;
        }
    };
    let typical = |rt: f64, ct: f64| match candidates.first() {
        Some(profile) => typical_parts(profile, rt, ct),
        None => usual_parts(rt, ct),
    };
    let levels = typical(1.0, 1.0);
    let seen = RampSeen {
        rise_s,
        fall_s,
        peak_v: read("ramp-peak").unwrap_or(levels.peak_v),
        valley_v: read("ramp-valley").unwrap_or(levels.valley_v),
        vref_v: read("vref").unwrap_or(levels.vref_v),
    };
    let marked = marked(request, typical, candidates);
    let found = timing::from_ramp(&seen, read("ramp-asymptote"), marked.as_ref());
    if found.is_none() {
        let text = "times and levels of the ramp are in no order that a ramp has";
        why_not.push(("from_ramp", text.to_owned()));
    }
    found
}

fn marked(
    request: &BudgetRequest,
    typical: impl Fn(f64, f64) -> TimingParts,
    candidates: &[&Profile],
) -> Option<MarkedTiming> {
    let (rt, ct) = (request.marks.get("rt")?, request.marks.get("ct")?);
    let share = |part: &crate::data::typed::MarkedPart| {
        let (low, high) = part.range(usual_tolerance(part));
        (high / part.value() - 1.0).max(1.0 - low / part.value())
    };
    let parts = typical(rt.value(), ct.value());
    let promised = timing::promise(candidates, Some(rt), Some(ct));
    let wide = timing::UNTRIMMED;
    let untrimmed = Bounded::around(
        parts.discharge_a,
        parts.discharge_a / wide,
        parts.discharge_a * wide,
    );
    Some(MarkedTiming {
        parts,
        rt_share: share(rt),
        ct_share: share(ct),
        discharge_a: promised.discharge_a.unwrap_or(untrimmed),
    })
}
