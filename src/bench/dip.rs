//! VCC within a pulse: the lowest level of one cycle laid over many.

use crate::data::{InspectedCapture, Mark, Quantity, Role, ShotKind, Term, Value};

use super::Findings;
use super::trace::Trace;

/// VCC dip in a fast record; nothing where no channel gives cycles.
pub fn measure(shot: &InspectedCapture, found: &mut Findings) {
    let Some(vcc) = Trace::of_role(shot, Role::Vcc) else {
        return;
    };
    let Some(fold) = vcc.facts().fold.as_ref() else {
        return;
    };
    if shot.kind.value != Some(ShotKind::Running) {
        return;
    }
    let gain = vcc.known.gain;
    let means: Vec<f64> = fold.means.iter().map(|raw| vcc.true_of(*raw)).collect();
    if means.len() < 3 || means.iter().any(|v| !v.is_finite()) {
        found.refuse(
            Quantity::VccDip,
            vcc.index,
            "too few samples for every part of a cycle; record longer",
        );
        return;
    }
    let n = means.len();
    let mean = means.iter().sum::<f64>() / n as f64;
    let lowest = (0..n)
        .min_by(|a, b| means[*a].total_cmp(&means[*b]))
        .unwrap_or(0);
    let per_part = fold.counts.iter().copied().min().unwrap_or(1).max(1);
    let noise = fold.scatter * gain.abs() / f64::from(per_part).sqrt();
    let by_noise = noise * (2.0 * (n as f64).ln()).sqrt();
    let seen = mean - means[lowest];
    let stands_out = seen > 2.0 * by_noise;
    let dip = if stands_out {
        seen
    } else {
        (seen - by_noise).max(0.0)
    };
    let beside = 0.5 * (means[(lowest + 1) % n] + means[(lowest + n - 1) % n]);
    let mut terms = vcc.systematic_over(dip);
    terms.extend([
        Term::normal("noise", noise),
        Term::within("part of a cycle", 0.25 * (beside - means[lowest])),
        Term::within(
            "what noise alone would show",
            if stands_out { 0.0 } else { by_noise },
        ),
        vcc.resolution_term(),
    ]);
    let (from_s, to_s) = (vcc.channel.time.start_s(), vcc.channel.time.end_s());
    let marks = [mean, mean - dip].map(|level| Mark::Level {
        level,
        from_s,
        to_s,
    });
    let mut value = Value::from_terms(dip, terms);
    value.count = fold.cycles;
    found.marked(
        Quantity::VccDip,
        vcc.index,
        value,
        Some((from_s, to_s)),
        marks.to_vec(),
    );
}
