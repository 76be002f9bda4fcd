//! Which timing part moved, from a ramp and the marks.

use super::{RampConstants, RampSeen, TimingParts};
use crate::data::typed::{Kind, written};
use crate::data::{Bounded, FromRamp, Moved};

/// What a reading of times and levels may be off by in all, as a share (common practice for a bench scope).
pub const READING: f64 = 0.03;
/// A rise that heads this much below VREF has a leak, as a share of VREF; and a VREF that is off by more
/// is not the ramp's fault (common practice).
pub const LEVEL: f64 = 0.05;

/// The marks, their tolerances as shares, and the spread of the discharge current.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MarkedTiming {
    /// Marked RT and CT, typical levels and discharge current.
    pub parts: TimingParts,
    /// Tolerance of RT.
    pub rt_share: f64,
    /// Tolerance of CT.
    pub ct_share: f64,
    /// Discharge current with its limits, in amperes.
    pub discharge_a: Bounded,
}

/// What a ramp gives away. `asymptote_v` is where its rise heads, where that was fitted; without it a leak
/// can't be told from a moved part. `None` for a ramp without sense, as [`RampSeen::constants`].
pub fn from_ramp(
    seen: &RampSeen,
    asymptote_v: Option<f64>,
    marked: Option<&MarkedTiming>,
) -> Option<FromRamp> {
    let leaks = |a: &f64| *a < seen.vref_v * (1.0 - LEVEL) && *a > seen.peak_v;
    let leaky = asymptote_v.filter(leaks);
    let towards = RampSeen {
        vref_v: leaky.unwrap_or(seen.vref_v),
        ..*seen
    };
    let constants = towards.constants()?;
    let mut found = FromRamp {
        rt_ct_s: constants.tau_s,
        discharge_drop_v: constants.discharge_drop_v,
        discharge_slope_v_per_s: constants.discharge_slope_v_per_s,
        leak_ohm: None,
        moved: None,
        because: "no marked RT and CT to set the ramp against".to_owned(),
        fixes: fixes(&constants, marked),
    };
    if let Some(marked) = marked {
        let (moved, because) = match leaky {
            Some(asymptote_v) => {
                let rt_ohm = marked.parts.rt_ohm;
                found.leak_ohm = Some(rt_ohm * asymptote_v / (seen.vref_v - asymptote_v));
                leak(asymptote_v, seen.vref_v, found.leak_ohm)
            }
            None => compare(seen, &constants, marked),
        };
        found.moved = Some(moved);
        found.because = because;
    } else if let Some(asymptote_v) = leaky {
        found.because = format!("the rise heads for {asymptote_v:.2} V, below VREF: RT/CT leaks");
    }
    Some(found)
}

fn leak(asymptote_v: f64, vref_v: f64, leak_ohm: Option<f64>) -> (Moved, String) {
    let size = leak_ohm.map_or(String::new(), |ohm| {
        format!(
            ", about {} with RT as marked",
            written(three(ohm), Kind::Ohm)
        )
    });
    let text = format!(
        "the rise heads for {asymptote_v:.2} V and not for VREF at {vref_v:.2} V: a leak from RT/CT to ground{size}"
    );
    (Moved::Leak, text)
}

/// Ratios to the marks: RT·CT, and discharge current times RT.
fn compare(seen: &RampSeen, found: &RampConstants, marked: &MarkedTiming) -> (Moved, String) {
    let parts = &marked.parts;
    if let Some(text) = with_vref(seen, parts) {
        return (Moved::Vref, text);
    }
    let product = found.tau_s / parts.tau_s();
    let drop = found.discharge_drop_v / (parts.discharge_a * parts.rt_ohm);
    let id = spread(marked.discharge_a);
    let off = |ratio: f64, share: f64| ratio.ln().abs() > (1.0 + share + READING).ln();
    let product_off = off(product, marked.rt_share + marked.ct_share);
    let drop_off = off(drop, marked.rt_share + id);
    let shown = format!(
        "RT·CT is {:+.0} %, discharge current × RT {:+.0} % off the marks",
        100.0 * (product - 1.0),
        100.0 * (drop - 1.0)
    );
    let rt_fits = !off(product / drop, marked.ct_share + id);
    let ct_fits = !drop_off;
    match (product_off, drop_off) {
        (false, false) => (
            Moved::Nothing,
            format!("{shown}: within tolerances and reading"),
        ),
        (false, true) => (
            Moved::Discharge,
            format!("{shown}: RT and CT are right, the controller's discharge current is not"),
        ),
        (true, _) if rt_fits && ct_fits => (
            Moved::Open,
            format!("{shown}: RT or CT, the spread of the discharge current hides which"),
        ),
        (true, _) if ct_fits => (
            Moved::Ct,
            format!("{shown}: the ratio of rise to fall has stayed, so CT moved"),
        ),
        (true, _) if rt_fits => (Moved::Rt, format!("{shown}: both by as much, so RT moved")),
        (true, _) => (
            Moved::Open,
            format!("{shown}: no single part explains both"),
        ),
    }
}

/// Peak and valley scaled with a VREF that is off.
fn with_vref(seen: &RampSeen, parts: &TimingParts) -> Option<String> {
    let ratio = seen.vref_v / parts.vref_v;
    let same = |level: f64, typ: f64| (level / typ / ratio - 1.0).abs() < LEVEL;
    let scaled = same(seen.peak_v, parts.peak_v) && same(seen.valley_v, parts.valley_v);
    (scaled && (ratio - 1.0).abs() > LEVEL).then(|| {
        format!(
            "peak and valley are off by as much as VREF ({:+.0} %): look at VREF, not at RT and CT",
            100.0 * (ratio - 1.0)
        )
    })
}

/// Half of the spread, as a share.
fn spread(current: Bounded) -> f64 {
    (current.high / current.typ - 1.0).max(current.typ / current.low - 1.0)
}

/// What one more known value gives.
fn fixes(found: &RampConstants, marked: Option<&MarkedTiming>) -> Vec<String> {
    let Some(marked) = marked else {
        return vec![
            "any one of RT, CT and discharge current gives the other two: read RT with the meter, power off"
                .to_owned(),
        ];
    };
    let parts = &marked.parts;
    let ohm = |v: f64| written(three(v), Kind::Ohm);
    let farad = |v: f64| written(three(v), Kind::Farad);
    let ampere = |v: f64| written(three(v), Kind::Ampere);
    let ct = parts.ct_farad;
    let by_ct = found.rt_ohm(ct);
    let by_id = found.rt_ohm_from_discharge(parts.discharge_a);
    vec![
        format!(
            "if RT reads {} as marked: CT is {}, discharge current {}",
            ohm(parts.rt_ohm),
            farad(found.ct_farad(parts.rt_ohm)),
            ampere(found.discharge_a(parts.rt_ohm))
        ),
        format!(
            "if CT reads {} as marked: RT is {}, discharge current {}",
            farad(ct),
            ohm(by_ct),
            ampere(found.discharge_a(by_ct))
        ),
        format!(
            "with the typical discharge current of {}: RT is {}, CT {}",
            ampere(parts.discharge_a),
            ohm(by_id),
            farad(found.ct_farad(by_id))
        ),
    ]
}

fn three(value: f64) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value;
    }
    let scale = 10f64.powf(2.0 - value.abs().log10().floor());
    (value * scale).round() / scale
}
