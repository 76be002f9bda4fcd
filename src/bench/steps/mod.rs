//! Works-or-dead readings: between which voltages the thresholds lie.
//!
//! The start threshold is bracketed by the readings going up, the stop threshold by those going down.
//! Without a direction, working at V says stop ≤ V and dead at V says start > V; between the two
//! thresholds both are right.

mod probit;
mod shots;
mod words;

use crate::data::{
    Bracket, Direction, InspectedCapture, Measured, Options, Outcome, ProbitFit, Quantity,
    StepPlace, StepsFinding, Term, Value, VoltageStep,
};

/// Fewest readings in one direction, and fewest pairs of them that contradict each other, for the
/// scatter of a threshold to be fitted.
const FOR_A_FIT: (usize, usize) = (6, 2);

/// What the voltage steps say, and the thresholds as measured values.
///
/// `None` where none were told and fewer than two captures stand for one. Captures alone say nothing of
/// a direction, so they give no threshold.
pub fn find(
    options: &Options,
    captures: &[&InspectedCapture],
    measured: &[Measured],
) -> Option<(StepsFinding, Vec<Measured>)> {
    let of_captures = shots::readings(captures, measured);
    if options.steps.is_empty() && of_captures.len() < 2 {
        return None;
    }
    let mut readings = options.steps.clone();
    readings.extend(of_captures);
    let start = Threshold::of(&readings, Direction::Up);
    let stop = Threshold::of(&readings, Direction::Down);
    let mut finding = undirected(&readings);
    finding.contradictions = [&start, &stop]
        .into_iter()
        .filter_map(Threshold::contradiction)
        .collect();
    let doubt = |step: &VoltageStep| match step.place {
        StepPlace::Shot(index) => {
            shots::value(index, Quantity::VccMean, measured).map_or(0.0, |v| v.1)
        }
        _ => 0.0,
    };
    let across = words::across(&readings, start.bracket, stop.bracket, doubt);
    finding.contradictions.extend(across);
    let mut list = Vec::new();
    if !options.steps.is_empty() {
        for threshold in [&start, &stop] {
            let mut one = threshold.measured(&finding, options);
            if let Some(said) = words::soft(threshold, &one, options, measured) {
                (one.quantity, one.remarks) = (threshold.mean, vec![said]);
            } else {
                one.remarks = words::beside(threshold, &one, options, measured);
            }
            finding.remarks.extend(one.remarks.iter().cloned());
            list.push(one);
        }
        list.push(hysteresis(&list));
        list.extend(currents(options));
    }
    finding.readings = readings;
    (finding.start, finding.start_fit) = (start.bracket, start.fit);
    (finding.stop, finding.stop_fit) = (stop.bracket, stop.fit);
    Some((finding, list))
}

/// What the readings without direction say.
fn undirected(readings: &[VoltageStep]) -> StepsFinding {
    let free = |works: bool| {
        let of = move |s: &&VoltageStep| s.going.is_none() && s.works == works;
        readings.iter().filter(of).map(|s| s.volts)
    };
    StepsFinding {
        start_above_v: free(false).reduce(f64::max),
        stop_at_most_v: free(true).reduce(f64::min),
        ..StepsFinding::default()
    }
}

/// The readings going in one direction.
struct Threshold {
    going: Direction,
    quantity: Quantity,
    /// What a meter reads there, where a scope shows that the pin goes further.
    mean: Quantity,
    bracket: Bracket,
    /// Pairs of which the dead one is not below the working one.
    pairs: usize,
    fit: Option<ProbitFit>,
}

impl Threshold {
    fn of(all: &[VoltageStep], going: Direction) -> Self {
        let readings: Vec<VoltageStep> = all
            .iter()
            .filter(|s| s.going == Some(going) && s.volts.is_finite())
            .copied()
            .collect();
        let of = |works: bool| {
            let these = readings.iter().filter(move |s| s.works == works);
            these.map(|s| s.volts)
        };
        let bracket = Bracket {
            low_v: of(false).reduce(f64::max),
            high_v: of(true).reduce(f64::min),
        };
        let pairs = of(false)
            .map(|dead| of(true).filter(|works| dead >= *works).count())
            .sum();
        let enough = readings.len() >= FOR_A_FIT.0 && pairs >= FOR_A_FIT.1;
        let points: Vec<(f64, bool)> = readings.iter().map(|s| (s.volts, s.works)).collect();
        let (quantity, mean) = match going {
            Direction::Up => (Quantity::StartThreshold, Quantity::StartThresholdMean),
            Direction::Down => (Quantity::StopThreshold, Quantity::StopThresholdMean),
        };
        Self {
            going,
            quantity,
            mean,
            fit: enough.then(|| probit::fit(&points)).flatten(),
            bracket,
            pairs,
        }
    }

    fn contradiction(&self) -> Option<String> {
        (self.pairs > 0).then(|| words::contradiction(self))
    }

    /// The threshold with its budget, or why there is none.
    fn measured(&self, finding: &StepsFinding, options: &Options) -> Measured {
        let outcome = match (self.fit, self.bracket.sides()) {
            (Some(fit), _) => {
                let scatter = Term::normal("spread of the steps", fit.u_v);
                Outcome::Value(self.value(fit.centre_v, scatter, options))
            }
            (None, Some((low, high))) => {
                let between = Term::within("between two readings", 0.5 * (high - low));
                Outcome::Value(self.value(0.5 * (low + high), between, options))
            }
            (None, None) => Outcome::NotMeasurable(words::why_none(self, finding)),
        };
        by_hand(self.quantity, outcome)
    }

    fn value(&self, volts: f64, own: Term, options: &Options) -> Value {
        let mut terms = vec![own];
        terms.extend(self.meter(volts, options));
        Value::from_terms(volts, terms)
    }

    /// The meter's terms: they shift both sides of a bracket together.
    fn meter(&self, volts: f64, options: &Options) -> Vec<Term> {
        super::readings::terms(self.quantity, volts, options.meter)
    }
}

/// The current of the highest dead reading and of the highest working one, as standby and running current,
/// where nothing else was read for them.
fn currents(options: &Options) -> Vec<Measured> {
    let of = |works: bool, name: &str, quantity: Quantity| {
        let told = options.readings.contains_key(name);
        let those = options.steps.iter().filter(|s| s.works == works && !told);
        let read = those.filter_map(|s| Some((s, s.current_a.filter(|a| a.is_finite())?)));
        let (step, current_a) = read.max_by(|a, b| a.0.volts.total_cmp(&b.0.volts))?;
        let terms = super::readings::terms(quantity, current_a, options.meter);
        let value = Value::from_terms(current_a, terms);
        let mut one = by_hand(quantity, Outcome::Value(value));
        one.remarks = vec![words::read_at(step)];
        Some(one)
    };
    [
        of(false, "standby-current", Quantity::StandbyCurrent),
        of(true, "run-current", Quantity::RunCurrent),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn by_hand(quantity: Quantity, outcome: Outcome) -> Measured {
    Measured {
        quantity,
        capture: None,
        channel: None,
        outcome,
        span_s: None,
        marks: Vec::new(),
        remarks: Vec::new(),
    }
}

/// Start minus stop; the gain of the one meter acts on the difference only.
fn hysteresis(thresholds: &[Measured]) -> Measured {
    let acted_on = [Quantity::StartThreshold, Quantity::StopThreshold];
    let outcome = match thresholds {
        [start, stop] if [start.quantity, stop.quantity] != acted_on => Outcome::NotMeasurable(
            "the steps give the mean of VCC, and the controller acts on what the pin does"
                .to_owned(),
        ),
        [start, stop] => match (start.value(), stop.value()) {
            (Some(up), Some(down)) => {
                let parts = [(1.0, up), (-1.0, down)];
                Outcome::Value(Value::linear(up.value - down.value, &parts))
            }
            _ => Outcome::NotMeasurable("needs a start and a stop between readings".to_owned()),
        },
        _ => Outcome::NotMeasurable("needs a start and a stop".to_owned()),
    };
    by_hand(Quantity::Hysteresis, outcome)
}
