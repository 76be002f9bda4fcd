"""Runs the program on captures that it has never seen and compares what it says with the truth.

    python3 judge.py BINARY [--count N] [--seed S] [--keep DIR] [--verbose]

The acceptance rules are fixed below. Prints a table and, last, `N passed, N failed` (rules).
Exit 0 when no rule failed.
"""

import argparse
import json
import pathlib
import subprocess
import sys
import tempfile
from collections import defaultdict

import numpy as np

import captures

WRONG_ROLES = 0.02
UNTOLD_ROLES = 0.15
MISSED_EVENTS = 0.02
FALSE_EVENTS = 0.02
COVERAGE = 0.90
ENOUGH = 20  # results of a quantity from which its coverage is judged
REFUSED = 0.25  # for the quantities that a repairer comes for; refusing everything is no pass
WANTED = ("start_threshold", "stop_threshold", "vref_voltage", "oscillator_frequency", "out_frequency")
TIMEOUT_S = 120
STATES = ("working", "marginal", "dead", "not-tested")
STAGES = ("supply", "reference", "oscillator", "drive", "current-sense", "own-supply")


class Tally:
    """What was seen over all runs."""

    def __init__(self):
        self.crashes, self.exit_codes, self.stages, self.contract = [], [], [], []
        self.roles = {"right": 0, "wrong": [], "untold": 0}
        self.kinds = {"right": 0, "wrong": [], "untold": 0}
        self.events = {w: {"found": 0, "missed": [], "false": []} for w in ("start", "stop")}
        self.late = defaultdict(list)
        self.values = defaultdict(list)  # quantity -> (error, u95, truth)
        self.refused = defaultdict(int)
        self.outliers = []
        self.runs = 0


def run_program(binary, files, truth):
    command = [binary, "inspect", *map(str, files), "--json", "--controller", truth["controller"],
               "--setup", truth["setup"]]
    try:
        done = subprocess.run(command, capture_output=True, timeout=TIMEOUT_S, text=True, check=False)
    except subprocess.TimeoutExpired:
        return None, f"no answer within {TIMEOUT_S} s"
    if done.returncode not in (0, 1, 3):
        return None, f"exit code {done.returncode}: {done.stderr.strip()[:300]}"
    try:
        said = json.loads(done.stdout)
    except json.JSONDecodeError as error:
        return None, f"no JSON: {error}"
    said["exit"] = done.returncode
    return said, None


def capture_base(said):
    """The contract leaves open whether captures count from 0 or 1: see what is used."""
    used = [e.get("capture") for e in said.get("events", []) + said.get("measured", [])]
    used = [u for u in used if isinstance(u, int)]
    return min(used) if used and len(said.get("captures", [])) == 1 else (0 if 0 in used else 1)


def judge_run(tally, said, truths, label):
    tally.runs += 1
    if said.get("schema") != "firstpulse/1":
        tally.contract.append(f"{label}: schema {said.get('schema')!r}")
    shown = said.get("captures", [])
    if len(shown) != len(truths):
        tally.contract.append(f"{label}: {len(shown)} captures for {len(truths)} files")
        return
    base = capture_base(said)
    for index, (capture, truth) in enumerate(zip(shown, truths)):
        where = f"{label}/{index + 1} {truth['kind']}"
        events = [e for e in said["events"] if e["capture"] == index + base]
        measured = {}
        for m in said["measured"]:
            if m["capture"] == index + base:
                measured.setdefault(m["quantity"], m)
        judge_roles(tally, capture, truth, where)
        judge_events(tally, events, truth, where)
        judge_values(tally, measured, truth, where)
    judge_exit(tally, said, label)
    judge_stages(tally, said, truths, label)


def judge_roles(tally, capture, truth, where):
    kind = capture.get("kind")
    if kind is None:
        tally.kinds["untold"] += 1
    elif kind == truth["kind"]:
        tally.kinds["right"] += 1
    else:
        tally.kinds["wrong"].append(f"{where}: {kind}")
    for channel, true in zip(capture["channels"], truth["channels"]):
        if channel["name"] != true["name"]:
            tally.contract.append(f"{where}: channel {channel['name']!r} for {true['name']!r}")
        role = channel.get("role")
        if role in (None, "other"):
            tally.roles["untold"] += 1
        elif role == true["role"]:
            tally.roles["right"] += 1
        else:
            tally.roles["wrong"].append(f"{where}: {true['role']} taken for {role}")


def witnessed(truth):
    """VREF or RT/CT, or a VCC that climbs by itself, show the starts. A VCC moved by hand shows them only by
    its step behind a feed, OUT only where its samples don't fall in step with the pulses: there a program may
    tell none, but what it tells has to be true."""
    return truth["kind"] == "start" or any(c["role"] in ("vref", "rtct") for c in truth["channels"])


def judge_events(tally, events, truth, where):
    if not witnessed(truth) and not events:
        truth = dict(truth, events=[])
    instants = sorted(e["at_s"] for e in truth["events"])
    tolerance = max(5 * truth["step_s"], 0.002 * truth["step_s"] * truth["samples"])
    widest = tolerance
    if len(instants) > 1:
        widest = float(np.diff(instants).min()) / 3
        tolerance = min(tolerance, max(float(np.diff(instants).min()) / 3, 2 * truth["step_s"]))
    for what, seen in tally.events.items():
        open_ = [e for e in events if e["what"] == what]
        for true in (e for e in truth["events"] if e["what"] == what):
            near = min(open_, key=lambda e: abs(e["at_s"] - true["at_s"]), default=None)
            # the program's own interval counts, up to a third of the way to the next event
            room = max(tolerance, min(1.5 * (near or {}).get("within_s", 0.0), widest))
            if near is None or abs(near["at_s"] - true["at_s"]) > room:
                seen["missed"].append(f"{where}: {what} at {true['at_s']:.6g} s")
                continue
            open_.remove(near)
            seen["found"] += 1
            tally.late[what].append((near["at_s"] - true["at_s"]) / truth["step_s"])
            if near.get("vcc") is not None and near.get("u95") is not None:
                add_value(tally, f"(VCC at {what})", near["vcc"], near["u95"], true["vcc"], where)
        seen["false"] += [f"{where}: {what} at {e['at_s']:.6g} s" for e in open_]


def add_value(tally, name, value, u95, true, where):
    error = value - true
    tally.values[name].append((error, u95, true))
    if abs(error) > u95 + 1e-9 * abs(true):
        tally.outliers.append(f"{where}: {name} {value:.6g} ± {u95:.3g}, truth {true:.6g}")


def judge_values(tally, measured, truth, where):
    for quantity, true in truth["quantities"].items():
        entry = measured.get(quantity)
        if entry is None or entry.get("value") is None:
            tally.refused[quantity] += 1
            if entry is not None and not entry.get("why_not"):
                tally.contract.append(f"{where}: {quantity} null without why_not")
            continue
        u95 = entry.get("u95")
        if u95 is None or u95 < 0.0:
            tally.contract.append(f"{where}: {quantity} with u95 {u95}")
            continue
        add_value(tally, quantity, entry["value"], u95, true, where)


def judge_exit(tally, said, label):
    """The exit code must follow from what the JSON itself says."""
    measured = said["measured"]
    bad = any(m["verdict"] == "outside" and not m.get("provisional") for m in measured)
    bad |= any(s["state"] in ("dead", "marginal") for s in said["stages"])
    limited = [m for m in measured if m["verdict"] not in ("no-limit", None)]
    open_ = any(m["verdict"] == "cannot-say" or m.get("provisional") for m in limited)
    # it starts and falls back, and whose fault that is can't be said; shots that contradict each other
    open_ |= any(s["stage"] == "own-supply" and s["state"] == "not-tested" and s.get("figures") for s in said["stages"])
    open_ |= any(j["value"] is None for j in said.get("joined", []))
    expected = 1 if bad else 3 if open_ or not limited else 0
    if said["exit"] != expected:
        tally.exit_codes.append(f"{label}: exit {said['exit']}, the JSON says {expected}")


def judge_stages(tally, said, truths, label):
    """The modelled controllers work: nothing of the chip may be called dead."""
    states = {s["stage"]: s["state"] for s in said["stages"]}
    if tuple(states) != STAGES or any(s not in STATES for s in states.values()):
        tally.contract.append(f"{label}: stages {states}")
        return
    roles = {c["role"] for t in truths for c in t["channels"]}
    starts = any(e["what"] == "start" for t in truths for e in t["events"])
    running = any(t["kind"] == "running" for t in truths)
    for stage, role in (("supply", "vcc"), ("reference", "vref"), ("oscillator", "rtct"), ("drive", "out")):
        if role in roles and (starts or running) and states[stage] == "dead":
            tally.stages.append(f"{label}: {stage} called dead")
        if role not in roles and stage != "drive" and states[stage] == "dead":
            tally.stages.append(f"{label}: {stage} called dead without {role} recorded")


class Rules:
    """Acceptance rules, each passed or failed."""

    def __init__(self):
        self.passed, self.failed = 0, 0

    def check(self, text, good):
        self.passed += good
        self.failed += not good
        print(f"  {'ok  ' if good else 'FAIL'}  {text}")


def report(tally, verbose):
    rules = Rules()
    print_values(tally)
    for title, lines in (("crashes", tally.crashes), ("contract", tally.contract),
                         ("wrong roles", tally.roles["wrong"]), ("wrong kinds", tally.kinds["wrong"]),
                         ("missed starts", tally.events["start"]["missed"]),
                         ("missed stops", tally.events["stop"]["missed"]),
                         ("false starts", tally.events["start"]["false"]),
                         ("false stops", tally.events["stop"]["false"]),
                         ("exit codes", tally.exit_codes), ("stages", tally.stages),
                         ("outside u95", tally.outliers)):
        if lines:
            print(f"{title}: {len(lines)}")
            for line in lines if verbose else lines[:8]:
                print(f"    {line}")
    print(f"rules, over {tally.runs} runs:")
    rules.check(f"no crash, hang or refusal to run ({len(tally.crashes)})", not tally.crashes)
    rules.check(f"JSON as in the contract ({len(tally.contract)} breaches)", not tally.contract)
    rules.check(f"exit code follows from the JSON ({len(tally.exit_codes)})", not tally.exit_codes)
    rules.check(f"no working stage called dead ({len(tally.stages)})", not tally.stages)
    share_rules(rules, "roles", tally.roles)
    share_rules(rules, "kinds of shot", tally.kinds)
    for what, seen in tally.events.items():
        total = seen["found"] + len(seen["missed"])
        missed, false = len(seen["missed"]) / max(total, 1), len(seen["false"]) / max(total, 1)
        rules.check(f"{what}s missed {missed:.1%} of {total} (at most {MISSED_EVENTS:.0%})",
                    total > 0 and missed <= MISSED_EVENTS)
        rules.check(f"{what}s that never were {false:.1%} (at most {FALSE_EVENTS:.0%})", false <= FALSE_EVENTS)
    for name, rows in sorted(tally.values.items()):
        if len(rows) >= ENOUGH:
            share = covered(rows)
            rules.check(f"{name}: u95 holds the truth in {share:.1%} of {len(rows)} (at least {COVERAGE:.0%})",
                        share >= COVERAGE)
    for name in WANTED:
        total = len(tally.values[name]) + tally.refused[name]
        refused = tally.refused[name] / max(total, 1)
        rules.check(f"{name}: refused {refused:.1%} of {total} (at most {REFUSED:.0%})",
                    total > 0 and refused <= REFUSED)
    print(f"{rules.passed} passed, {rules.failed} failed")
    return 1 if rules.failed else 0


def share_rules(rules, title, seen):
    total = seen["right"] + seen["untold"] + len(seen["wrong"])
    wrong, untold = len(seen["wrong"]) / max(total, 1), seen["untold"] / max(total, 1)
    rules.check(f"{title} wrong {wrong:.1%} of {total} (at most {WRONG_ROLES:.0%})",
                total > 0 and wrong <= WRONG_ROLES)
    rules.check(f"{title} not told {untold:.1%} (at most {UNTOLD_ROLES:.0%})", untold <= UNTOLD_ROLES)


def covered(rows):
    return float(np.mean([abs(e) <= u + 1e-9 * abs(t) for e, u, t in rows]))


def print_values(tally):
    print(f"{'quantity':26}{'n':>5}{'refused':>9}{'in u95':>9}{'median |err|/u95':>18}{'median u95/|truth|':>20}")
    for name in sorted(set(tally.values) | set(tally.refused)):
        rows = tally.values.get(name, [])
        if not rows:
            print(f"{name:26}{0:5}{tally.refused[name]:9}")
            continue
        ratio = np.median([abs(e) / u if u > 0 else (0.0 if abs(e) <= 1e-9 * abs(t) else np.inf) for e, u, t in rows])
        width = np.median([u / abs(t) if t else np.inf for _, u, t in rows])
        print(f"{name:26}{len(rows):5}{tally.refused[name]:9}{covered(rows):9.1%}{ratio:18.3f}{width:20.4f}")
    for what, late in tally.late.items():
        print(f"{what}s: median {np.median(late):+.2f} samples from the truth, "
              f"95 % within {np.quantile(np.abs(late), 0.95):.2f}")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("binary")
    parser.add_argument("--count", type=int, default=120)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", help="write the captures here and leave them")
    parser.add_argument("--verbose", action="store_true")
    options = parser.parse_args()
    tally = Tally()
    with tempfile.TemporaryDirectory() as scratch:
        folder = pathlib.Path(options.keep or scratch)
        folder.mkdir(parents=True, exist_ok=True)
        for number, made in captures.many(options.count, options.seed):
            files = []
            for shot, one in enumerate(made, 1):
                name = f"{number:03}_{shot}_{one.truth['kind']}"
                captures.save(folder, name, one)
                files.append(folder / f"{name}.csv")
            truths = [one.truth for one in made]
            label = f"{options.seed}:{number:03}"
            said, problem = run_program(options.binary, files, truths[0])
            if problem:
                tally.crashes.append(f"{label} {truths[0]['kind']}: {problem}")
            else:
                try:
                    judge_run(tally, said, truths, label)
                except (KeyError, TypeError, AttributeError) as error:
                    tally.contract.append(f"{label}: {type(error).__name__} {error}")
            if not options.keep:
                for file in files:
                    file.unlink()
    return report(tally, options.verbose)


if __name__ == "__main__":
    sys.exit(main())
