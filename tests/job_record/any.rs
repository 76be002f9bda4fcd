//! Any record that can be kept.

use std::collections::BTreeMap;

use firstpulse::data::job::*;
use firstpulse::data::options::{Accuracy, ChannelChoice, MeterPoint, RoleChoice};
use firstpulse::data::typed::{Input, InputVolts, PARTS, all_readings, marked_part};
use firstpulse::data::{Direction, ReferenceLevels, Role, Setup, ShotKind, StepPlace, VoltageStep};
use proptest::collection::{btree_map, btree_set, vec};
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::select;

fn words() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        vec(any::<char>(), 0..12).prop_map(String::from_iter),
        vec(
            select(vec![
                '"', '\\', '\'', '\n', '\r', '\t', '#', '=', '[', ' ', 'a'
            ]),
            0..12
        )
        .prop_map(String::from_iter),
    ]
}

fn number() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    prop_oneof![
        POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO,
        (-1000..1000_i32).prop_map(f64::from),
    ]
}

fn open() -> impl Strategy<Value = f64> {
    prop_oneof![number(), Just(f64::INFINITY)]
}

fn date() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        any::<u32>().prop_map(|s| date::from_unix_seconds(u64::from(s))),
        Just("2026-11-26".to_owned()),
    ]
}

fn file() -> impl Strategy<Value = String> {
    vec(select(vec!['a', 'ä', '.', ' ', '-', '"', '\'']), 1..8)
        .prop_map(|name| format!("captures/x{}", String::from_iter(name)))
}

fn sha256() -> impl Strategy<Value = String> {
    let digits = vec(
        select("0123456789abcdef".chars().collect::<Vec<_>>()),
        64..=64,
    );
    prop_oneof![Just(String::new()), digits.prop_map(String::from_iter)]
}

fn setup() -> impl Strategy<Value = Option<Setup>> {
    of(select(Setup::ALL.to_vec()))
}

fn when() -> impl Strategy<Value = Option<When>> {
    of(select(When::ALL.to_vec()))
}

fn role() -> impl Strategy<Value = Role> {
    select(Role::ALL.to_vec())
}

fn accuracy() -> impl Strategy<Value = Accuracy> {
    (0.0..1.0, 0.0..10.0).prop_map(|(gain, offset)| Accuracy { gain, offset })
}

fn channel() -> impl Strategy<Value = ChannelChoice> {
    (of(1..=9_usize), words()).prop_map(|(capture, channel)| ChannelChoice { capture, channel })
}

fn capture() -> impl Strategy<Value = CaptureFile> {
    (file(), sha256(), btree_map(words(), words(), 0..3)).prop_map(|(file, sha256, layout)| {
        CaptureFile {
            file,
            sha256,
            layout,
        }
    })
}

fn shot() -> impl Strategy<Value = RunShot> {
    let kind = of(select(ShotKind::ALL.to_vec()));
    (file(), of(1..=5_usize), vec(file(), 0..2), setup(), kind).prop_map(
        |(file, capture, with, setup, kind)| RunShot {
            file,
            capture,
            with,
            setup,
            kind,
        },
    )
}

fn condition() -> impl Strategy<Value = Condition> {
    let heat = of(select(Heat::ALL.to_vec()));
    (heat, of(number()), words(), words()).prop_map(|(heat, minutes, sprayed, note)| Condition {
        heat,
        minutes,
        sprayed,
        note,
    })
}

fn step() -> impl Strategy<Value = VoltageStep> {
    let going = of(select(vec![Direction::Up, Direction::Down]));
    (number(), any::<bool>(), going, of(number())).prop_map(|(volts, works, going, current_a)| {
        VoltageStep {
            volts,
            works,
            going,
            current_a,
            place: StepPlace::Typed,
        }
    })
}

fn role_choice() -> impl Strategy<Value = RoleChoice> {
    (channel(), role(), of(words())).prop_map(|(channel, role, place)| RoleChoice {
        channel,
        role,
        place,
    })
}

fn meter_point() -> impl Strategy<Value = MeterPoint> {
    (channel(), number(), number(), number()).prop_map(|(channel, from_s, to_s, volts)| {
        MeterPoint {
            channel,
            from_s,
            to_s,
            volts,
        }
    })
}

fn readings() -> impl Strategy<Value = BTreeMap<String, f64>> {
    let names: Vec<String> = all_readings().map(|r| r.0.to_owned()).collect();
    btree_map(select(names), number(), 0..4)
}

fn parts() -> impl Strategy<Value = BTreeMap<String, f64>> {
    let one = select(PARTS.to_vec())
        .prop_flat_map(|(name, _, least, most)| (Just(name.to_owned()), least..most));
    vec(one, 0..5).prop_map(BTreeMap::from_iter)
}

fn marks() -> impl Strategy<Value = BTreeMap<String, String>> {
    let texts = ["4k7 5%", "13 kΩ ±1 %", "220k", "110k 5% + 110k 5%"];
    // as the program writes them, so that telling them back changes no letter
    let written = texts.map(|text| marked_part("rt", text).map_or(String::new(), |m| m.shown()));
    btree_map(Just("rt".to_owned()), select(written.to_vec()), 0..2)
}

fn levels() -> impl Strategy<Value = ReferenceLevels> {
    let other = (number(), number(), number()).prop_map(|(low, middle, high)| ReferenceLevels {
        low,
        middle,
        high,
    });
    prop_oneof![Just(ReferenceLevels::default()), other]
}

fn run() -> impl Strategy<Value = Run> {
    let head = (
        words(),
        when(),
        date(),
        setup(),
        condition(),
        vec(shot(), 0..3),
    );
    let told = (
        vec(role_choice(), 0..3),
        vec((channel(), number()), 0..2),
        vec((channel(), accuracy()), 0..2),
        vec((channel(), number()), 0..2),
        vec(meter_point(), 0..2),
        vec(vec(channel(), 0..3), 0..2),
    );
    let ticks = btree_set(select(ChangeOver::ALL.to_vec()), 0..8);
    let rest = (setup(), levels(), readings(), vec(step(), 0..3), ticks);
    (head, told, rest).prop_map(|(head, told, rest)| Run {
        title: head.0,
        when: head.1,
        date: head.2,
        setup: head.3,
        condition: head.4,
        shots: head.5,
        roles: told.0,
        probes: told.1,
        accuracies: told.2,
        bandwidths: told.3,
        meter_points: told.4,
        same_range: told.5,
        next_setup: rest.0,
        reference_levels: rest.1,
        readings: rest.2,
        steps: rest.3,
        change_over: rest.4,
    })
}

fn cold() -> impl Strategy<Value = ColdReading> {
    (words(), of(open()), of(open()), when(), words()).prop_map(
        |(place, ohms, diode_volts, when, note)| ColdReading {
            place,
            ohms,
            diode_volts,
            when,
            note,
        },
    )
}

fn pin() -> impl Strategy<Value = PinReading> {
    (role(), number(), setup(), when(), words()).prop_map(|(pin, volts, setup, when, note)| {
        PinReading {
            pin,
            volts,
            setup,
            when,
            note,
        }
    })
}

fn output() -> impl Strategy<Value = OutputReading> {
    (
        words(),
        of(number()),
        of(number()),
        number(),
        words(),
        when(),
    )
        .prop_map(
            |(name, nominal_volts, tolerance, volts, load, when)| OutputReading {
                name,
                nominal_volts,
                tolerance,
                volts,
                load,
                when,
            },
        )
}

fn checked() -> impl Strategy<Value = PartCheck> {
    let numbers = (
        of(number()),
        of(number()),
        of(open()),
        of(open()),
        of(number()),
    );
    (words(), words(), numbers, of(any::<bool>()), words()).prop_map(
        |(part, kind, numbers, out_of_circuit, note)| PartCheck {
            part,
            kind,
            marked: numbers.0,
            tolerance: numbers.1,
            reading: numbers.2,
            esr_ohms: numbers.3,
            leakage_amperes: numbers.4,
            out_of_circuit,
            note,
        },
    )
}

fn replaced() -> impl Strategy<Value = Replaced> {
    (words(), words(), words(), date()).prop_map(|(part, why, with, date)| Replaced {
        part,
        why,
        with,
        date,
    })
}

fn mains() -> impl Strategy<Value = MainsChecks> {
    let check = || of((words(), date()).prop_map(|(by, date)| MainsCheck { by, date }));
    (check(), check()).prop_map(|(current_sense, feedback_loop)| MainsChecks {
        current_sense,
        feedback_loop,
    })
}

fn soak() -> impl Strategy<Value = Soak> {
    (words(), number(), of(any::<bool>()), words(), date()).prop_map(
        |(load, minutes, passed, result, date)| Soak {
            load,
            minutes,
            passed,
            result,
            date,
        },
    )
}

fn picture() -> impl Strategy<Value = Picture> {
    (file(), sha256(), words()).prop_map(|(file, sha256, title)| Picture {
        file,
        sha256,
        title,
    })
}

fn work() -> impl Strategy<Value = Work> {
    let currency = select(vec![String::new(), "EUR".to_owned(), "CHF".to_owned()]);
    (of(number()), of(number()), of(number()), currency).prop_map(
        |(estimate, hours, cost, currency)| Work {
            estimate,
            hours,
            cost,
            currency,
        },
    )
}

fn input() -> impl Strategy<Value = Option<Input>> {
    let volts = || 0.001..=10e3_f64;
    let told = prop_oneof![
        volts().prop_map(InputVolts::Nominal),
        (volts(), 0.0..100.0).prop_map(|(volts, percent)| InputVolts::Within(volts, percent)),
        (volts(), volts()).prop_map(|(a, b)| InputVolts::Between(f64::min(a, b), f64::max(a, b))),
    ];
    of((any::<bool>(), told).prop_map(|(dc, volts)| Input { dc, volts }))
}

/// Any record that can be kept.
pub fn record() -> impl Strategy<Value = Job> {
    let head = (
        words(),
        words(),
        words(),
        words(),
        date(),
        date(),
        words(),
        words(),
    );
    let bench = (
        of(any::<bool>()),
        input(),
        of(1..=64_usize),
        parts(),
        of(accuracy()),
        marks(),
    );
    let runs = (vec(capture(), 0..3), vec(run(), 0..3));
    let hand = (
        vec(cold(), 0..3),
        vec(pin(), 0..3),
        vec(output(), 0..3),
        vec(checked(), 0..3),
    );
    let done = (
        vec(replaced(), 0..3),
        mains(),
        vec(soak(), 0..2),
        vec(picture(), 0..2),
        work(),
    );
    (head, bench, runs, hand, done).prop_map(|(head, bench, runs, hand, done)| Job {
        unit: JobUnit {
            name: head.0,
            maker: head.1,
            serial: head.2,
        },
        complaint: head.3,
        opened: head.4,
        changed: head.5,
        controller: Marking {
            marking: head.6,
            trusted: bench.0,
        },
        input: bench.1,
        scope_channels: bench.2,
        parts: bench.3,
        meter: bench.4,
        marks: bench.5,
        captures: runs.0,
        runs: runs.1,
        cold: hand.0,
        pins: hand.1,
        outputs: hand.2,
        checked: hand.3,
        replaced: done.0,
        mains: done.1,
        soaks: done.2,
        pictures: done.3,
        work: done.4,
        notes: head.7,
    })
}
