//! From claims to a role with a confidence, or to "can't tell".
//!
//! The odds of all roles claimed for a channel and of "something else" (odds 1) are normalised to
//! shares; one monotone table turns the best share into the confidence shown: the share of such
//! proposals that were right on modelled captures.

use crate::data::{Proposed, Role};

use super::Claim;
use super::look::Look;

/// A role is proposed from this share on.
const LEAST_SHARE: f64 = 0.7;

/// Two channels whose log-odds for one role differ by less have the same right to it.
const CLOSE: f64 = 1.0;

/// Share and the confidence that goes with it, linear in between. The log-odds were set by
/// `role_shots.py BINARY --count 800 --seed 101` (1,933 channels), so that shares agree with what was
/// right up to 0.95; of 494 proposals with more than 0.975, 0.990 were right.
const CALIBRATION: [(f64, f64); 3] = [(0.0, 0.0), (0.95, 0.95), (1.0, 0.99)];

pub(super) fn decide(look: &Look, claims: &[Claim]) -> Proposed<Role> {
    let own: Vec<&Claim> = claims
        .iter()
        .filter(|c| c.channel == look.channel)
        .collect();
    let Some(best) = own.first() else {
        return Proposed::unknown(format!(
            "can't tell: {}, which fits no pin well enough",
            look.words()
        ));
    };
    let all: f64 = 1.0 + own.iter().map(|c| c.log_odds.exp()).sum::<f64>();
    let share = best.log_odds.exp() / all;
    if share < LEAST_SHARE {
        return Proposed::unknown(candidates(look, &own));
    }
    match rival(best, claims) {
        Some(rival) => Proposed::unknown(format!(
            "can't tell: channels {} and {} both look like {}",
            look.channel.min(rival.channel) + 1,
            look.channel.max(rival.channel) + 1,
            best.role.title()
        )),
        None => {
            Proposed::because(best.role, best.reason.clone()).with_confidence(calibrated(share))
        }
    }
}

/// Another channel whose first choice is the same role, and whose right is no smaller.
fn rival<'a>(best: &Claim, claims: &'a [Claim]) -> Option<&'a Claim> {
    let first_choice = |c: &&Claim| {
        claims
            .iter()
            .find(|o| o.channel == c.channel)
            .is_some_and(|o| o.role == c.role)
    };
    claims.iter().filter(first_choice).find(|c| {
        c.role == best.role && c.channel != best.channel && c.log_odds > best.log_odds - CLOSE
    })
}

fn candidates(look: &Look, own: &[&Claim]) -> String {
    let names: Vec<&str> = own.iter().map(|c| c.role.title()).collect();
    let tells = own.first().map_or("", |c| what_tells(c.role));
    format!(
        "can't tell: {}, which may be {} or something else; {tells}",
        look.words(),
        names.join(", ")
    )
}

/// What another record would have to show.
fn what_tells(role: Role) -> &'static str {
    match role {
        Role::Out | Role::Gate => {
            "edges of both sides of the gate resistor in one fast record would tell"
        }
        Role::Comp | Role::Fb => "a record of it while the load changes would tell",
        Role::Cs => "OUT recorded beside it would tell",
        Role::Vcc | Role::Vref => "a sweep of VCC recorded beside it would tell",
        _ => "VCC recorded beside it from before the start would tell",
    }
}

fn calibrated(share: f64) -> f64 {
    let at = CALIBRATION.windows(2).find(|w| share <= w[1].0);
    at.map_or(share, |w| {
        let part = (share - w[0].0) / (w[1].0 - w[0].0);
        w[0].1 + part * (w[1].1 - w[0].1)
    })
}
