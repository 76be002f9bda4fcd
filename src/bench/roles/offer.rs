//! A probe factor that would make a record fit what it seems to be. It is offered, never applied.

use crate::data::{FactorOffer, Role};

use super::Look;
use super::look::volts;
use super::{rtct, vcc, vref};

/// Factors tried: a switch on the probe or in the channel's menu left wrong, once or twice.
const FACTORS: [f64; 4] = [10.0, 0.1, 100.0, 0.01];

/// The first factor with which the channel plainly is VREF, VCC or RT/CT beside the others as they
/// stand. A reference or a supply is offered only where both go together, for levels alone fit much.
pub(super) fn offer(look: &Look, all: &[Look], taken: &[Role]) -> Option<FactorOffer> {
    if !look.volts || !look.mean.is_finite() {
        return None;
    }
    FACTORS.into_iter().find_map(|factor| {
        let (role, why) = role_at(&look.scaled(factor), all)?;
        (!taken.contains(&role)).then(|| FactorOffer {
            factor,
            role,
            reason: format!(
                "{}; would be {} if the probe's factor were {factor}: {why}",
                look.words(),
                role.title()
            ),
        })
    })
}

fn role_at(look: &Look, all: &[Look]) -> Option<(Role, String)> {
    let others = || all.iter().filter(|o| o.channel != look.channel);
    if rtct::ramps(look) && !others().any(rtct::ramps) {
        let range = format!("a ramp from {} to {}", volts(look.low), volts(look.high));
        return Some((Role::RtCt, range));
    }
    if vcc::is_reference(look) && !others().any(vcc::is_reference) {
        let supply = others().find_map(|o| vref::starts_at(look, o));
        if let Some(level) = supply {
            let why = format!("5 V from where VCC reaches {}", volts(level));
            return Some((Role::Vref, why));
        }
    }
    let supply = (7.8..34.0).contains(&look.high) && look.low > -1.5 && !look.fast_pulses();
    if supply && !look.flat && vcc::climbs(look) && !others().any(climbing_supply) {
        let reference = others().find(|o| vcc::is_reference(o))?;
        let level = vref::starts_at(reference, look)?;
        let why = format!("VREF comes up where it reaches {}", volts(level));
        return Some((Role::Vcc, why));
    }
    None
}

fn climbing_supply(look: &Look) -> bool {
    (6.3..34.0).contains(&look.high) && !look.flat && !look.fast_pulses() && vcc::climbs(look)
}
