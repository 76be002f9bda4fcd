//! VCC that goes up and down before an event in cycles which the record follows: a line through the last part of one
//! shows neither what a meter averages nor how far the pin goes.

use crate::signal::Line;

use super::super::course::Course;
use super::lead::Lead;
use super::sampled::Sampled;

/// A line through less than this part of the samples may lie within one part of a cycle.
const PART: usize = 3;
/// What lies so many times the noise on either side of a line belongs to cycles …
const CLEAR: f64 = 4.0;
/// … where it changes sides so often: a hand that bends its course does so once or twice.
const FEWEST_TURNS: usize = 6;

/// A line through all straight samples, where the course before the event was cut short by cycles; `None` where it was
/// not. `times` are those of the samples without their tone.
pub(super) fn through(
    times: &[f64],
    lead: &Lead,
    course: &Course,
    sampled: &Sampled<'_>,
) -> Option<Course> {
    let cut_short = PART * course.line.count < lead.clean.len();
    if !cut_short || sampled.pairs() {
        return None;
    }
    let turns = turns(times, &lead.clean, sampled.grain());
    if turns < FEWEST_TURNS {
        return None;
    }
    let all = lead
        .times
        .iter()
        .copied()
        .zip(lead.straight().iter().copied());
    let line = Line::fit(all)?;
    // what a part of a cycle shifts a line by falls as cycles are more
    let cycles = 0.5 * turns as f64;
    Some(Course {
        line,
        value: line.at(0.0),
        u: line.scatter / (1.0 + cycles / 3.0),
    })
}

/// How often levels change from one side of a line through them to the other, by more than noise does.
fn turns(times: &[f64], values: &[f64], grain: f64) -> usize {
    let Some(line) = Line::fit(times.iter().copied().zip(values.iter().copied())) else {
        return 0;
    };
    let off = times.iter().zip(values).map(|(t, v)| v - line.at(*t));
    let clear = off.filter(|r| r.abs() > CLEAR * grain);
    let sides: Vec<bool> = clear.map(|r| r > 0.0).collect();
    sides.windows(2).filter(|w| w[0] != w[1]).count()
}
