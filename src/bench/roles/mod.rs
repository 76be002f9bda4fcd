//! Roles proposed from the waveforms, with the reason in words and a confidence.
//!
//! Each file of this room holds the evidence for one role, as log-odds against "something else".
//! `look` says what a channel looks like, `offer` tries other probe factors, `decide` weighs the claims.

mod bulk;
mod comp;
mod cs;
mod decide;
mod fb;
mod gate;
mod look;
mod offer;
mod out;
mod output;
mod rtct;
mod vcc;
mod vref;
mod winding;

use crate::data::{InspectedCapture, Proposed, Role};

use super::trace::Trace;
use look::Look;

pub(super) use look::above;

/// A role that a channel might have.
#[derive(Debug, Clone)]
struct Claim {
    channel: usize,
    role: Role,
    /// Evidence for the role against "something else": natural logarithm of the odds.
    log_odds: f64,
    reason: String,
}

/// Log-odds and reason, where a channel can have the role at all.
type Evidence = Option<(f64, String)>;

/// What a name that is the pin's own adds: too little to decide alone.
const NAME_LOG_ODDS: f64 = 0.7;

/// No other probe factor is tried where a role fits the volts as they stand with more than this.
const FITS_AS_IT_STANDS: f64 = 2.2;

/// Proposes roles for the channels whose role the user did not set. A role goes to one channel of
/// a capture; where two claim it with about the same right, neither gets it.
pub fn propose(shot: &mut InspectedCapture) {
    let looks: Vec<Look> = (0..shot.channels.len())
        .map(|i| Look::of(Trace::new(shot, i)))
        .collect();
    let taken: Vec<Role> = shot.channels.iter().filter_map(|c| c.role.value).collect();
    let mut claims: Vec<Claim> = looks
        .iter()
        .flat_map(|look| claims_of(look, &looks))
        .collect();
    claims.retain(|c| shot.channels[c.channel].role.value.is_none());
    claims.retain(|c| !taken.contains(&c.role));
    claims.sort_by(|a, b| b.log_odds.total_cmp(&a.log_odds));
    for (channel, look) in shot.channels.iter_mut().zip(&looks) {
        if channel.role.value.is_some() {
            continue;
        }
        let fits = claims
            .iter()
            .any(|c| c.channel == look.channel && c.log_odds > FITS_AS_IT_STANDS);
        if !fits {
            channel.factor_offer = offer::offer(look, &looks, &taken);
        }
        channel.role = match &channel.factor_offer {
            Some(offer) => Proposed::unknown(format!("can't tell: {}", offer.reason)),
            None => decide::decide(look, &claims),
        };
    }
}

fn claims_of(look: &Look, all: &[Look]) -> Vec<Claim> {
    if !look.volts || !look.mean.is_finite() {
        return Vec::new();
    }
    let found = [
        (Role::Vref, vref::evidence(look, all)),
        (Role::RtCt, rtct::evidence(look)),
        (Role::Out, out::evidence(look, all)),
        (Role::Gate, gate::evidence(look, all)),
        (Role::Vcc, vcc::evidence(look, all)),
        (Role::Bulk, bulk::evidence(look)),
        (Role::Output, output::evidence(look, all)),
        (Role::Cs, cs::evidence(look, all)),
        (Role::Comp, comp::evidence(look, all)),
        (Role::Fb, fb::evidence(look, all)),
        (Role::Aux, winding::evidence(look, all)),
    ];
    let claim = |(role, evidence): (Role, Evidence)| {
        let (log_odds, reason) = evidence?;
        let named = if look.is_named(role) {
            NAME_LOG_ODDS
        } else {
            0.0
        };
        Some(Claim {
            channel: look.channel,
            role,
            log_odds: log_odds + named,
            reason,
        })
    };
    found.into_iter().filter_map(claim).collect()
}
