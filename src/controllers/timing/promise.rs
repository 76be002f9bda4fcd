//! What timing parts promise, with bounds that hold for every combination of their tolerances.

use super::rule::{self, Rule, SourcedRule};
use super::{TimingParts, USUAL_DISCHARGE_A, typical_parts, usual_parts};
use crate::controllers::{Profile, TimingKind};
use crate::data::part_check::usual_tolerance;
use crate::data::text::{engineering, trimmed};
use crate::data::typed::MarkedPart;
use crate::data::{Bounded, Limit, Timing, Unit};

/// Below this RT the short formula 1.72/(RT·CT) fails, in ohms (SLUS223G).
pub const SHORT_FROM_OHM: f64 = 5e3;
/// Spread of a discharge current without published limits, as a factor either way: two to one from part
/// to part in untrimmed ones (common practice).
pub const UNTRIMMED: f64 = std::f64::consts::SQRT_2;

/// What RT and CT promise with one of these candidates; without any, with the usual levels of the
/// bipolar family. The nominal values are those of the first candidate, the bounds the widest of all.
///
/// A part that is not told leaves what depends on it out, with the reason.
pub fn promise(
    candidates: &[&Profile],
    rt: Option<&MarkedPart>,
    ct: Option<&MarkedPart>,
) -> Timing {
    let each: Vec<Timing> = candidates.iter().map(|p| one(Some(p), rt, ct)).collect();
    let mut each = each.into_iter();
    let Some(first) = each.next() else {
        let mut usual = one(None, rt, ct);
        let text = "no controller told: the usual levels of the bipolar 384x family are assumed";
        usual.remarks.insert(0, text.to_owned());
        return usual;
    };
    each.fold(first, join)
}

fn join(mut all: Timing, other: Timing) -> Timing {
    let wider = |a: Option<Bounded>, b: Option<Bounded>| Some(a?.joined(b?));
    if all.rule != other.rule || all.divide != other.divide {
        let text = "the candidates make their frequency in different ways: the first is shown";
        if !all.remarks.iter().any(|known| known == text) {
            all.remarks.push(text.to_owned());
        }
        return all;
    }
    all.discharge_a = wider(all.discharge_a, other.discharge_a);
    all.rise_s = wider(all.rise_s, other.rise_s);
    all.fall_s = wider(all.fall_s, other.fall_s);
    all.frequency_hz = wider(all.frequency_hz, other.frequency_hz);
    all.out_frequency_hz = wider(all.out_frequency_hz, other.out_frequency_hz);
    all.max_duty = wider(all.max_duty, other.max_duty);
    for reason in other.why_not {
        if !all.why_not.iter().any(|known| known.0 == reason.0) {
            all.why_not.push(reason);
        }
    }
    all
}

fn one(profile: Option<&Profile>, rt: Option<&MarkedPart>, ct: Option<&MarkedPart>) -> Timing {
    let rule = profile.map_or_else(rule::usual, rule::rule_of);
    let bounded = |part: &MarkedPart| {
        let (low, high) = part.range(usual_tolerance(part));
        Bounded::around(part.value(), low, high)
    };
    let mut timing = empty(&rule, profile.and_then(|p| p.divide).unwrap_or(1));
    timing.rt_ohm = rt.map(bounded);
    timing.ct_farad = ct.map(bounded);
    for (name, part) in [("RT", rt), ("CT", ct)] {
        let assumed = part.filter(|p| !p.has_tolerance());
        if let Some(assumed) = assumed {
            let shown = usual_tolerance(assumed).shown();
            timing
                .remarks
                .push(format!("{name}: no tolerance told, {shown} assumed"));
        }
    }
    fill(&mut timing, &rule.rule, profile);
    if !rule.condition.is_empty() {
        timing
            .remarks
            .push(format!("the relation: {}", rule.condition));
    }
    timing.out_frequency_hz = timing
        .frequency_hz
        .map(|f| f.times(1.0 / f64::from(timing.divide)));
    timing
}

fn empty(rule: &SourcedRule, divide: u32) -> Timing {
    Timing {
        rule: rule.words.clone(),
        source: rule.source.clone(),
        status: rule.status,
        rt_ohm: None,
        ct_farad: None,
        discharge_a: None,
        divide: if divide == 2 { 2 } else { 1 },
        rise_s: None,
        fall_s: None,
        frequency_hz: None,
        out_frequency_hz: None,
        max_duty: None,
        short_hz: None,
        short_error: None,
        why_not: Vec::new(),
        remarks: Vec::new(),
    }
}

fn fill(timing: &mut Timing, rule: &Rule, profile: Option<&Profile>) {
    let kind = match rule {
        Rule::Fixed(versions) => return fixed(timing, versions),
        Rule::Known(TimingKind::Fixed) => return fixed(timing, &[]),
        Rule::Unknown => {
            let text = "no relation between timing parts and frequency is at hand for this part";
            return timing.why_not.push(("frequency", text.to_owned()));
        }
        Rule::Known(TimingKind::OverR { hz_ohm }) => {
            return match timing.rt_ohm {
                Some(rt) => timing.frequency_hz = Some(over(*hz_ohm, rt)),
                None => timing.why_not.push(("frequency", untold("rt"))),
            };
        }
        Rule::Known(kind) => kind,
    };
    let (Some(rt), Some(ct)) = (timing.rt_ohm, timing.ct_farad) else {
        let missing = if timing.rt_ohm.is_none() { "rt" } else { "ct" };
        return timing.why_not.push(("frequency", untold(missing)));
    };
    match kind {
        TimingKind::OverRc { constant, fall_ohm } => {
            product(timing, *constant, *fall_ohm, rt, ct);
        }
        TimingKind::RampEquation { .. } => {
            legs(timing, rt, ct, None, &|rt, ct, _| printed(kind, rt, ct));
        }
        _ => ramp(timing, profile, rt, ct),
    }
}

fn untold(part: &str) -> String {
    format!("{part} is not told: --part {part}=VALUE")
}

/// A constant over something positive.
fn over(constant: f64, below: Bounded) -> Bounded {
    Bounded::around(
        constant / below.typ,
        constant / below.high,
        constant / below.low,
    )
}

fn fixed(timing: &mut Timing, versions: &[Limit]) {
    let middle = |limit: &Limit| limit.typ.or_else(|| Some((limit.min? + limit.max?) / 2.0));
    let refusal = match versions {
        [limit] => match middle(limit) {
            Some(typ) => {
                let (low, high) = (limit.min.unwrap_or(typ), limit.max.unwrap_or(typ));
                timing.frequency_hz = Some(Bounded::around(typ, low, high));
                None
            }
            None => {
                Some("the part's own frequency is published without a typical value".to_owned())
            }
        },
        [] => Some("the part makes its own frequency, which is not in its profile".to_owned()),
        many => {
            let mut each: Vec<f64> = many.iter().filter_map(middle).collect();
            each.sort_by(f64::total_cmp);
            let shown = |hz: &f64| trimmed(&engineering(*hz, Unit::Hertz, 3));
            let words: Vec<String> = each.iter().map(shown).collect();
            let words = words.join(" or ");
            Some(format!(
                "the part makes its own frequency, {words} by its version: read the end of the marking"
            ))
        }
    };
    timing.why_not.extend(refusal.map(|why| ("frequency", why)));
    if timing.rt_ohm.is_some() || timing.ct_farad.is_some() {
        timing
            .remarks
            .push("fixed inside: RT and CT do not set it".to_owned());
    }
}

fn product(timing: &mut Timing, constant: f64, dead_ohm: Option<f64>, rt: Bounded, ct: Bounded) {
    let tau = Bounded::around(rt.typ * ct.typ, rt.low * ct.low, rt.high * ct.high);
    timing.frequency_hz = Some(over(constant, tau));
    let Some(dead_ohm) = dead_ohm else {
        let text = "no relation for the discharge is at hand for this part";
        timing.why_not.push(("dead_time", text.to_owned()));
        timing.why_not.push(("max_duty", text.to_owned()));
        return;
    };
    timing.fall_s = Some(ct.times(dead_ohm));
    // dead time over period: CT cancels
    let share = |rt_ohm: f64| (1.0 - dead_ohm * constant / rt_ohm) / f64::from(timing.divide);
    timing.max_duty = Some(Bounded::around(
        share(rt.typ),
        share(rt.low),
        share(rt.high),
    ));
}

/// Rise and fall of printed equations, in seconds; NaN outside of their range.
fn printed(kind: &TimingKind, rt_ohm: f64, ct_farad: f64) -> (f64, f64) {
    let TimingKind::RampEquation {
        rise,
        sink_a,
        vref_less_valley_v,
        vref_less_peak_v,
    } = kind
    else {
        return (f64::NAN, f64::NAN);
    };
    let tau = rt_ohm * ct_farad;
    let drop_v = sink_a * rt_ohm;
    let share = (drop_v - vref_less_valley_v) / (drop_v - vref_less_peak_v);
    (rise * tau, -tau * share.ln())
}

fn ramp(timing: &mut Timing, profile: Option<&Profile>, rt: Bounded, ct: Bounded) {
    let levels = profile.map_or_else(
        || usual_parts(rt.typ, ct.typ),
        |p| typical_parts(p, rt.typ, ct.typ),
    );
    let discharge = discharge_of(profile, timing);
    timing.discharge_a = Some(discharge);
    let at = |rt_ohm: f64, ct_farad: f64, discharge_a: f64| {
        let parts = TimingParts {
            rt_ohm,
            ct_farad,
            discharge_a,
            ..levels
        };
        let fall = parts.fall_s().unwrap_or(f64::INFINITY);
        // what stops the discharge leaves the rise as it is
        let charged = TimingParts {
            discharge_a: f64::MAX,
            ..parts
        };
        (charged.rise_s().unwrap_or(f64::NAN), fall)
    };
    if let Err(why) = levels.fall_s() {
        timing.why_not.push(("frequency", why.to_string()));
        return;
    }
    legs(timing, rt, ct, Some(discharge), &at);
    let short = levels.short_formula_hz();
    timing.short_hz = Some(short);
    timing.short_error = levels.short_formula_error().ok();
    if rt.low < SHORT_FROM_OHM {
        let error = 100.0 * timing.short_error.unwrap_or(f64::NAN);
        timing.remarks.push(format!(
            "RT is below 5 kΩ: the short formula 1.72/(RT·CT) is off by {error:+.0} % (SLUS223G: RT not below 5 kΩ)"
        ));
    }
    if timing.fall_s.is_some_and(|fall| fall.high.is_infinite()) {
        let text = "at the weakest discharge current RT holds CT up: the ramp may stop";
        timing.remarks.push(text.to_owned());
    }
}

/// The discharge current with its published limits; without, two to one.
fn discharge_of(profile: Option<&Profile>, timing: &mut Timing) -> Bounded {
    let limit = profile.and_then(|p| p.values.get("osc_discharge_current"));
    let typ = limit.and_then(|l| l.typ).unwrap_or(USUAL_DISCHARGE_A);
    if let Some((min, max)) = limit.and_then(|l| Some((l.min?, l.max?))) {
        return Bounded::around(typ, min, max);
    }
    timing.remarks.push(
        "the discharge current has no published limits: two to one from part to part assumed (untrimmed)"
            .to_owned(),
    );
    Bounded::around(typ, typ / UNTRIMMED, typ * UNTRIMMED)
}

/// Rise, fall, frequency and duty cycle with bounds. The rise grows with RT and CT; the fall grows with
/// CT, and shrinks as RT or the discharge current grow; their ratio has no CT.
fn legs(
    timing: &mut Timing,
    rt: Bounded,
    ct: Bounded,
    discharge: Option<Bounded>,
    at: &dyn Fn(f64, f64, f64) -> (f64, f64),
) {
    let id = discharge.unwrap_or(Bounded::exact(f64::NAN));
    let (rise, fall) = at(rt.typ, ct.typ, id.typ);
    let (shortest_rise, _) = at(rt.low, ct.low, id.typ);
    let (longest_rise, _) = at(rt.high, ct.high, id.typ);
    let (_, shortest_fall) = at(rt.high, ct.low, id.high);
    let (_, longest_fall) = at(rt.low, ct.high, id.low);
    if ![rise, fall].iter().all(|t| t.is_finite() && *t > 0.0) {
        let text = "RT and CT lie outside of the range of the relation";
        timing.why_not.push(("frequency", text.to_owned()));
        return;
    }
    let longest_fall = if longest_fall.is_nan() {
        f64::INFINITY
    } else {
        longest_fall
    };
    let duty = |rt: f64, id: f64| {
        let (rise, fall) = at(rt, ct.typ, id);
        let share = rise / (rise + fall);
        if share.is_finite() { share } else { 0.0 }
    };
    let fastest = 1.0 / (shortest_rise + shortest_fall);
    let slowest = 1.0 / (longest_rise + longest_fall);
    timing.rise_s = Some(Bounded::around(rise, shortest_rise, longest_rise));
    timing.fall_s = Some(Bounded::around(fall, shortest_fall, longest_fall));
    timing.frequency_hz = Some(Bounded::around(1.0 / (rise + fall), slowest, fastest));
    let share = Bounded::around(
        duty(rt.typ, id.typ),
        duty(rt.low, id.low),
        duty(rt.high, id.high),
    );
    timing.max_duty = Some(share.times(1.0 / f64::from(timing.divide)));
}
