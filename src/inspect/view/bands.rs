//! Published limits drawn into a lane, and the values that a lane shows.

use crate::data::{ControllerChoice, Limit, Role};

pub use crate::data::drawing::Band;

/// The values with the bands and a margin.
pub fn range_of(values: (f64, f64), bands: &[Band]) -> (f64, f64) {
    let mut low = values.0;
    let mut high = values.1;
    for band in bands {
        low = low.min(band.low);
        high = high.max(band.high);
    }
    if !low.is_finite() || !high.is_finite() {
        return (0.0, 1.0);
    }
    let margin = (0.08 * (high - low))
        .max(1e-3 * high.abs().max(low.abs()))
        .max(1e-9);
    (low - margin, high + margin)
}

/// Limits that belong into the lane of a role.
pub fn bands(role: Option<Role>, controller: Option<&ControllerChoice>) -> Vec<Band> {
    let (Some(role), Some(choice)) = (role, controller) else {
        return Vec::new();
    };
    let published: Vec<(&str, &Option<Limit>)> = match role {
        Role::Vcc => vec![("start", &choice.start), ("stop", &choice.stop)],
        Role::Vref => vec![("VREF", &choice.vref)],
        Role::RtCt => vec![("peak", &choice.ramp_peak), ("valley", &choice.ramp_valley)],
        _ => Vec::new(),
    };
    published
        .into_iter()
        .filter_map(|(word, limit)| band(word, limit.as_ref()?))
        .collect()
}

fn band(word: &str, limit: &Limit) -> Option<Band> {
    let (low, high) = match (limit.min, limit.max, limit.typ) {
        (Some(min), Some(max), _) => (min, max),
        (_, _, Some(typ)) => (typ, typ),
        _ => return None,
    };
    Some(Band {
        low,
        high,
        text: format!("{word} {}", limit.shown()),
    })
}
