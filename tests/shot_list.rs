//! The shot list: settings that hold what is expected, nothing above the ceiling, what the run holds
//! already, channels at hand, every set-up. Ceilings are common practice: 18 V for parts that start at
//! 16 V, 12 V for those that start at 8.4 V, 20 V while the family is not known; a screen of 8 by 10
//! divisions and the 1-2-5 series are common practice too.

#![expect(clippy::unwrap_used, reason = "a test may fail where it stands")]

mod made;

use firstpulse::data::{
    Inspection, NextRoles, Options, PlannedShot, Progress, Proposed, Role, Setup, ShotKind,
    ShotList, roles_for_file, roles_for_next,
};
use firstpulse::inspect::{self, Library};

fn options(setup: Setup, controller: Option<&str>, channels: Option<usize>) -> Options {
    Options {
        setup: Some(setup),
        controller: controller.map(str::to_owned),
        scope_channels: channels,
        ..Options::default()
    }
}

fn planned(options: &Options) -> ShotList {
    made::examine(&[], options).shot_list.unwrap()
}

fn demo(channels: Option<usize>) -> Inspection {
    let case = inspect::demo(&Progress::new()).unwrap();
    let group = &case.groups[0];
    let mut options = group.options.clone();
    options.scope_channels = channels;
    inspect::examine(&group.shots, &options, &Library::built_in().unwrap()).unwrap()
}

fn pins(shot: &PlannedShot) -> Vec<Role> {
    shot.channels.iter().map(|c| c.role).collect()
}

fn in_series(value: f64) -> bool {
    let exponent = value.log10().floor();
    [1.0, 2.0, 5.0, 10.0]
        .iter()
        .any(|digit| (value / (digit * 10_f64.powf(exponent)) - 1.0).abs() < 1e-6)
}

const FAMILIES: [(Option<&str>, f64); 3] =
    [(Some("UC3844"), 18.0), (Some("UC3843"), 12.0), (None, 20.0)];

#[test]
fn every_expected_range_fits_its_divisions_with_room() {
    for (controller, _) in FAMILIES {
        for setup in Setup::ALL {
            for channels in [1, 2, 4] {
                let list = planned(&options(setup, controller, Some(channels)));
                for shot in &list.shots {
                    assert!(in_series(shot.seconds_per_division), "{shot:?}");
                    assert!(shot.channels.len() <= channels, "{shot:?}");
                    for channel in &shot.channels {
                        let (step, zero) = (channel.volts_per_division, channel.zero_divisions);
                        assert!(in_series(step), "{channel:?}");
                        let up = |volts: f64| zero + volts / step;
                        let (low, high) = channel.range_v;
                        assert!(low <= 0.0 && high > 0.0, "{channel:?}");
                        assert!(up(low) >= 0.49 && up(high) <= 7.51, "{channel:?}");
                        // a coarse setting throws resolution away
                        assert!(high - low > 0.9 * step, "{channel:?}");
                    }
                }
            }
        }
    }
}

#[test]
fn nothing_on_the_bench_goes_above_the_ceiling() {
    for (controller, ceiling) in FAMILIES {
        for zener in [None, Some(15.0), Some(6.2)] {
            for setup in [Setup::Injected, Setup::LowBulk] {
                let mut options = options(setup, controller, None);
                options.parts.extend(zener.map(|v| ("zener".to_owned(), v)));
                let inspection = made::examine(&[], &options);
                let limit = zener.map_or(ceiling, |z: f64| z.min(ceiling));
                let told = inspection.do_not_exceed.as_ref().unwrap().volts;
                assert!((told - limit).abs() < 1e-9, "{told} {limit}");
                for shot in inspection.shot_list.unwrap().shots {
                    for channel in &shot.channels {
                        let fed = matches!(channel.role, Role::Vcc | Role::Out | Role::Gate);
                        assert!(!fed || channel.range_v.1 <= limit, "{channel:?}");
                    }
                    for volts in shot.how.iter().flat_map(|text| volts_in(text)) {
                        assert!(
                            volts <= limit,
                            "{volts} V in {:?}, not above {limit}",
                            shot.how
                        );
                    }
                }
            }
        }
    }
}

/// The figures before a volt sign in a text.
fn volts_in(text: &str) -> Vec<f64> {
    let words: Vec<&str> = text.split([' ', ',', ';']).collect();
    let before = words
        .windows(2)
        .filter(|w| w[1].trim_end_matches('.') == "V");
    before.map(|w| w[0].parse().unwrap()).collect()
}

#[test]
fn sweeps_go_to_the_top_of_their_class_and_say_where_to_hold_still() {
    for (controller, top, low, held) in [
        ("UC3844", "18 V", "5 V", "15 V"),
        ("UC3842", "18 V", "5 V", "15 V"),
        ("UC3843", "12 V", "5 V", "10 V"),
        ("UC3845", "12 V", "5 V", "10 V"),
    ] {
        let list = planned(&options(Setup::Injected, Some(controller), None));
        let sweep = &list.shots[0];
        assert_eq!(
            (sweep.kind, pins(sweep)),
            (ShotKind::Sweep, vec![Role::Vcc, Role::Vref])
        );
        let how = &sweep.how[0];
        assert!(how.contains(&format!("0 to {top}")), "{how}");
        assert!(
            how.contains(&format!("about {low} and at about {held}")),
            "{how}"
        );
        // a sweep by hand takes 20 to 60 s (common practice)
        let seconds = 10.0 * sweep.seconds_per_division;
        assert!((20.0..=60.0).contains(&seconds), "{seconds}");
    }
}

#[test]
fn the_position_follows_from_the_range_and_the_setting() {
    // 8 divisions of 2 V end at 16 V, so 18 V need 5 V a division, 12 V fit from 2 V below
    let high = planned(&options(Setup::Injected, Some("UC3844"), None));
    let vcc = &high.shots[0].channels[0];
    assert!((vcc.volts_per_division - 5.0).abs() < 1e-9, "{vcc:?}");
    assert!(
        vcc.position.contains("2 V/div clips above 16 V"),
        "{}",
        vcc.position
    );
    let low = planned(&options(Setup::Injected, Some("UC3843"), None));
    let vcc = &low.shots[0].channels[0];
    assert!((vcc.volts_per_division - 2.0).abs() < 1e-9, "{vcc:?}");
    for part in [
        "zero 1 division above",
        "−2 V to 14 V",
        "in the middle it clips at 8 V",
    ] {
        assert!(vcc.position.contains(part), "{part}: {}", vcc.position);
    }
}

#[test]
fn a_ceiling_below_the_start_threshold_is_said() {
    let mut options = options(Setup::Injected, Some("UC3844"), None);
    let said = |options: &Options| {
        let list = planned(options);
        let cautions = &list.shots[0].cautions;
        cautions.iter().any(|c| c.contains("proves nothing"))
    };
    assert!(!said(&options));
    options.parts.insert("zener".to_owned(), 15.0);
    assert!(said(&options));
}

#[test]
fn a_running_shot_holds_a_few_cycles_of_the_expected_oscillator() {
    // SLUS223G 8.3.6: f = 1.72/(RT CT) for RT of 5 kΩ or more
    for (rt, ct) in [
        (13e3, 1e-9),
        (10e3, 3.3e-9),
        (47e3, 4.7e-9),
        (8.2e3, 470e-12),
    ] {
        let mut options = options(Setup::Injected, Some("UC3844"), None);
        options.parts.insert("rt".to_owned(), rt);
        options.parts.insert("ct".to_owned(), ct);
        let list = planned(&options);
        let shot = list
            .shots
            .iter()
            .find(|s| s.kind == ShotKind::Running)
            .unwrap();
        // OUT of this part has half the rate of the oscillator
        let cycles = 10.0 * shot.seconds_per_division * 1.72 / (rt * ct) / 2.0;
        assert!(
            (2.0..8.0).contains(&cycles),
            "{cycles} cycles of OUT at {rt} {ct}"
        );
    }
    let unknown = planned(&options(Setup::Injected, None, None));
    let shot = unknown
        .shots
        .iter()
        .find(|s| s.kind == ShotKind::Running)
        .unwrap();
    assert!(
        (5e-6..=10e-6).contains(&shot.seconds_per_division),
        "{shot:?}"
    );
}

#[test]
fn the_built_in_unit_has_taken_its_first_shots() {
    let list = demo(None).shot_list.unwrap();
    assert_eq!((list.channels, list.setup), (2, Setup::Injected));
    let taken: Vec<_> = list
        .shots
        .iter()
        .filter(|s| s.done)
        .map(|s| (s.taken_as, pins(s)))
        .collect();
    let expected = [
        (Some(0), vec![Role::Vcc, Role::Vref]),
        (Some(1), vec![Role::Vcc, Role::RtCt]),
        (Some(2), vec![Role::RtCt, Role::Out]),
        (Some(3), vec![Role::Vcc, Role::Vref]),
    ];
    assert_eq!(taken, expected);
    assert!(list.shots.iter().all(|s| s.done == s.taken_as.is_some()));
    let next = list.open().next().unwrap();
    assert_eq!(
        (next.setup, pins(next)),
        (Setup::Injected, vec![Role::Out, Role::Gate])
    );
}

#[test]
fn four_channels_take_fewer_shots_and_miss_no_pin() {
    for setup in [Setup::Injected, Setup::LowBulk, Setup::Mains] {
        let two = planned(&options(setup, None, Some(2)));
        let four = planned(&options(setup, None, Some(4)));
        assert!(four.shots.len() < two.shots.len(), "{setup:?}");
        let together = |list: &ShotList, kind, pair: &[Role]| {
            let mut of_kind = list.shots.iter().filter(|s| s.kind == kind);
            of_kind.any(|s| pair.iter().all(|role| pins(s).contains(role)))
        };
        for shot in &two.shots {
            assert!(
                together(&four, shot.kind, &pins(shot)),
                "{setup:?} {}",
                shot.title
            );
        }
    }
    // what two channels took before is not asked for again
    let list = demo(Some(4)).shot_list.unwrap();
    assert_eq!(list.channels, 4);
    let next = list.open().next().unwrap();
    assert_eq!(pins(next), [Role::Out, Role::Gate, Role::Comp, Role::Cs]);
}

#[test]
fn each_setup_has_its_own_shots() {
    let cold = planned(&options(Setup::Cold, None, None));
    assert!(cold.shots.is_empty() && roles_for_next(&cold).is_none());
    assert!(
        cold.readings
            .iter()
            .any(|text| text.contains("VCC (7) to ground"))
    );
    for (setup, kind, pair) in [
        (Setup::Injected, ShotKind::Running, [Role::Comp, Role::Cs]),
        (Setup::LowBulk, ShotKind::Running, [Role::Cs, Role::Comp]),
        (Setup::Mains, ShotKind::Start, [Role::Vcc, Role::Bulk]),
        (Setup::Mains, ShotKind::Start, [Role::Vcc, Role::Output]),
        (Setup::Mains, ShotKind::Running, [Role::Cs, Role::Comp]),
    ] {
        let list = planned(&options(setup, None, None));
        assert!(
            list.shots.iter().any(|s| s.kind == kind && pins(s) == pair),
            "{setup:?}"
        );
        assert!(list.shots.iter().all(|s| s.setup == setup && !s.done));
        assert!(
            list.shots
                .iter()
                .all(|s| !s.cautions.is_empty() && !s.how.is_empty())
        );
        assert!(!list.later.is_empty());
    }
    let mains = planned(&options(Setup::Mains, None, None));
    for channel in mains.shots.iter().flat_map(|s| &s.channels) {
        assert_eq!(
            channel.probe.contains("differential"),
            channel.role != Role::Output
        );
    }
    assert!(made::examine(&[], &Options::default()).shot_list.is_none());
}

/// COMP is a level, and without current in the switch so is CS.
#[test]
fn no_shot_waits_for_a_pin_that_does_not_pulse() {
    for (setup, expected) in [
        (Setup::Injected, "at any instant"),
        (Setup::LowBulk, "trigger on CS (3)"),
        (Setup::Mains, "trigger on CS (3)"),
    ] {
        let list = planned(&options(setup, None, None));
        let mut shots = list.shots.iter();
        let shot = shots.find(|s| pins(s).contains(&Role::Comp)).unwrap();
        assert!(shot.how[0].contains(expected), "{:?}", shot.how);
    }
}

#[test]
fn roles_for_the_next_file_are_set_or_offered() {
    let list = planned(&options(Setup::Injected, Some("UC3844"), None));
    let next = roles_for_next(&list).unwrap();
    let told: Vec<_> = next
        .iter()
        .map(|r| (r.channel, r.role, r.place.as_deref()))
        .collect();
    assert_eq!(told, [(0, Role::Vcc, Some("pin")), (1, Role::Vref, None)]);
    let shot = &list.shots[0];
    let nothing = || Proposed::unknown("it does not move");
    let looks = |role| Proposed::because(role, "a flat top at 5 V");
    let fits = [looks(Role::Vcc), nothing()];
    assert_eq!(roles_for_file(shot, &fits), NextRoles::Set(next.clone()));
    let swapped = roles_for_file(shot, &[looks(Role::Vref), looks(Role::Vcc)]);
    let NextRoles::Offer { roles, reason } = swapped else {
        panic!("set without asking");
    };
    assert_eq!(roles, next);
    assert!(
        reason.contains("channel 1 looks like VREF (8)") && reason.contains("a flat top"),
        "{reason}"
    );
    let by_user = roles_for_file(shot, &[Proposed::set(Role::Bulk), nothing()]);
    assert!(matches!(by_user, NextRoles::Offer { reason, .. } if reason.contains("by you")));
    let short = roles_for_file(shot, &[nothing()]);
    assert!(matches!(short, NextRoles::Offer { roles, .. } if roles.len() == 1));
}

fn run(args: &[&str]) -> (Option<i32>, String, String) {
    let output = assert_cmd::cargo::cargo_bin_cmd!("firstpulse")
        .args(args)
        .env_remove("LC_ALL")
        .env("LANG", "C.UTF-8")
        .output()
        .unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (
        output.status.code(),
        text(output.stdout),
        text(output.stderr),
    )
}

#[test]
fn the_terminal_lists_what_is_open_and_json_has_it_all() {
    let (_, text, _) = run(&["inspect"]);
    let (_, section) = text.split_once("SHOTS TO TAKE\n").unwrap();
    let section = section.split("\n\n").next().unwrap();
    assert!(
        section.starts_with("  1  OUT (6) + Gate: injected, running"),
        "{section}"
    );
    assert!(!section.contains("VCC (7) + RT/CT (4)"), "{section}");
    let shots = section.lines().filter(|line| !line.starts_with("  !"));
    let mut length = 0;
    for line in shots.take_while(|line| !line.starts_with("  Then")) {
        length = if line.starts_with("     ") {
            length + 1
        } else {
            1
        };
        assert!(length <= 5, "{section}");
    }
    let (_, json, _) = run(&["inspect", "--json", "--scope-channels", "4"]);
    let object: serde_json::Value = serde_json::from_str(&json).unwrap();
    let list = &object["shot_list"];
    assert_eq!(list["channels"], 4);
    let shots = list["shots"].as_array().unwrap();
    assert_eq!(shots[0]["done"], true);
    assert_eq!(shots[0]["taken_as"], 1);
    let open = shots.iter().find(|s| s["done"] == false).unwrap();
    assert_eq!(open["channels"].as_array().unwrap().len(), 4);
    let (code, _, err) = run(&["inspect", "--scope-channels", "0"]);
    assert_eq!(code, Some(2));
    assert!(
        err.contains("--scope-channels") && err.contains("from 1 to 64"),
        "{err}"
    );
}
