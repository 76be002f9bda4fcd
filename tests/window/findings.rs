//! What was measured on the example, and what fits it.

use firstpulse::data::{
    ControllerChoice, Evidence, Judged, Limit, Measured, Outcome, Quantity, Status, Suspect, Term,
    Unit, Value, Verdict,
};

pub fn limit(min: f64, typ: f64, max: f64, unit: Unit) -> Limit {
    Limit {
        min: Some(min),
        typ: Some(typ),
        max: Some(max),
        unit,
        condition: "TJ = 0 to 70 °C".to_owned(),
        source: "SLUS223G, electrical characteristics".to_owned(),
        status: Status::VerifiedFull,
        status_limits: Status::VerifiedFull,
    }
}

pub fn controller() -> ControllerChoice {
    ControllerChoice {
        marking: "UC3844".to_owned(),
        id: "uc3844".to_owned(),
        title: "UC3844 class, 16 V start, 10 V stop, half of the oscillator".to_owned(),
        candidates: vec!["uc3844".to_owned()],
        start: Some(limit(14.5, 16.0, 17.5, Unit::Volt)),
        stop: Some(limit(8.5, 10.0, 11.5, Unit::Volt)),
        vref: Some(limit(4.82, 5.0, 5.18, Unit::Volt)),
        ramp_peak: Some(Limit {
            min: None,
            max: None,
            ..limit(0.0, 2.8, 0.0, Unit::Volt)
        }),
        ramp_valley: Some(Limit {
            min: None,
            max: None,
            ..limit(0.0, 1.2, 0.0, Unit::Volt)
        }),
        divide: Some(2),
    }
}

pub fn judged(
    quantity: Quantity,
    place: (usize, usize),
    value: f64,
    half_width: f64,
    expected: Option<Limit>,
    verdict: Verdict,
) -> Judged {
    let terms = vec![
        Term::within("gain (assumed)", half_width),
        Term::normal("noise", 0.1 * half_width),
    ];
    let value = Value::from_terms(value, terms);
    let p_in = expected
        .as_ref()
        .filter(|limit| limit.has_limits())
        .map(|limit| value.probability_within(limit.min, limit.max));
    Judged {
        measured: Measured {
            quantity,
            capture: Some(place.0),
            channel: Some(place.1),
            outcome: Outcome::Value(value),
            span_s: None,
            marks: Vec::new(),
            remarks: Vec::new(),
        },
        expected,
        verdict,
        p_in,
        provisional: false,
        settle: if verdict == Verdict::CannotSay {
            "Set the channel to a multimeter reading.".to_owned()
        } else {
            String::new()
        },
    }
}

pub fn gap(quantity: Quantity, capture: usize, why: &str) -> Judged {
    Judged {
        measured: Measured {
            quantity,
            capture: Some(capture),
            channel: None,
            outcome: Outcome::NotMeasurable(why.to_owned()),
            span_s: None,
            marks: Vec::new(),
            remarks: Vec::new(),
        },
        expected: None,
        verdict: Verdict::NoLimit,
        p_in: None,
        provisional: false,
        settle: String::new(),
    }
}

pub fn measured() -> Vec<Judged> {
    use Quantity as Q;
    use Verdict::{CannotSay, InLimits, NoLimit};
    let choice = controller();
    let mut all = vec![
        judged(
            Q::StartThreshold,
            (0, 0),
            16.04,
            0.43,
            choice.start.clone(),
            InLimits,
        ),
        judged(
            Q::StopThreshold,
            (0, 0),
            10.06,
            0.31,
            choice.stop.clone(),
            InLimits,
        ),
        judged(Q::Hysteresis, (0, 0), 5.98, 0.14, None, NoLimit),
        judged(
            Q::StartThreshold,
            (1, 0),
            15.98,
            0.43,
            choice.start.clone(),
            InLimits,
        ),
        judged(
            Q::StopThreshold,
            (1, 0),
            11.35,
            0.31,
            choice.stop.clone(),
            CannotSay,
        ),
        gap(
            Q::StandbyCurrent,
            0,
            "no reading of the bench supply was given",
        ),
        judged(
            Q::VrefVoltage,
            (0, 1),
            4.98,
            0.13,
            choice.vref.clone(),
            CannotSay,
        ),
    ];
    all.extend(measured_running());
    all
}

fn measured_running() -> Vec<Judged> {
    use Quantity as Q;
    use Verdict::{InLimits, NoLimit, Outside};
    let mut provisional = judged(
        Q::RampAmplitude,
        (2, 0),
        1.61,
        0.05,
        Some(limit(1.5, 1.7, 1.9, Unit::Volt)),
        InLimits,
    );
    provisional.provisional = true;
    vec![
        judged(
            Q::OscillatorFrequency,
            (2, 0),
            67_520.0,
            40.0,
            Some(limit(62e3, 67e3, 72e3, Unit::Hertz)),
            InLimits,
        ),
        provisional,
        judged(
            Q::OutDutyCycle,
            (2, 1),
            0.471,
            0.004,
            Some(limit(0.46, 0.48, 0.5, Unit::One)),
            InLimits,
        ),
        judged(Q::HiccupPeriod, (3, 0), 0.42, 0.002, None, NoLimit),
        judged(Q::HiccupRatio, (3, 0), 6.0, 0.2, None, NoLimit),
        judged(
            Q::StartMargin,
            (3, 0),
            -0.04,
            0.02,
            Some(Limit {
                typ: None,
                max: None,
                ..limit(1.0, 0.0, 0.0, Unit::Volt)
            }),
            Outside,
        ),
        gap(Q::BulkVoltage, 3, "no channel is on the bulk capacitor"),
    ]
}

pub fn suspects() -> Vec<Suspect> {
    let seen = |text: &str| Evidence {
        text: text.to_owned(),
        quantity: "hiccup_period",
        capture: Some(3),
        span_s: Some((1.1, 1.52)),
    };
    let suspect =
        |cause, title: &str, weight, for_it: &[&str], against: &[&str], next: &str| Suspect {
            cause,
            title: title.to_owned(),
            weight,
            reasons_for: for_it.iter().map(|text| seen(text)).collect(),
            reasons_against: against.iter().map(|text| seen(text)).collect(),
            next_check: next.to_owned(),
        };
    vec![
        suspect(
            "aux-path-open",
            "auxiliary winding path open: diode, resistor or winding",
            0.72,
            &[
                "VCC falls straight from start to stop in every burst: nothing feeds it",
                "supply, reference, oscillator and drive work when fed from the bench",
            ],
            &[],
            "Unpowered, diode test across the auxiliary diode and its series resistor.",
        ),
        suspect(
            "winding-or-rectifier-shorted",
            "winding or output rectifier shorted",
            0.14,
            &["each burst is short"],
            &["no sign of overload on the current-sense pin, which was not recorded"],
            "Unpowered, diode test of the output rectifier.",
        ),
        suspect(
            "vcc-capacitor-low",
            "VCC capacitor has lost capacitance",
            0.06,
            &["each burst is short"],
            &[],
            "Measure the VCC capacitor out of circuit.",
        ),
    ]
}
