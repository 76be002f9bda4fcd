"""Records that must not fool the program: what it says of them is absent or right.

    python3 hostile.py BINARY [--only NAME ...] [--count N] [--seed S] [--json FILE] [--keep DIR]

For each case (by name in hostile_records.py) a list of quantities that must not be given, and a truth for those
that may. Rules: none of the first is ever given; of the others value ± u95 holds the truth in 93 %
(three standard deviations of the count allowed), and none is off by more than twice its u95; no
stage whose pin works is called dead, and none whose pin is still is called working.
Last line: `N passed, N failed`. Exit 0 when no rule failed.
With --keep, the records stay, a folder a case, and `wrong.md` in it lists what was wrong.
"""

import argparse
import json
import pathlib
import sys
import tempfile
from collections import defaultdict

import numpy as np

import coverage_program as program
from coverage_score import ENOUGH, LEAST, Cell
from hostile_records import CASES

FAR = 2.0  # times u95


def make(name, seed, number):
    own = int.from_bytes(name.encode(), "little") % 2**61
    return CASES[name](np.random.default_rng([seed, own, number]))


def run(binary, name, count, seed, folder):
    """The failures of a case, and how many rules held."""
    folder.mkdir(parents=True, exist_ok=True)
    made, words = {}, []
    for number in range(count):
        record = make(name, seed, number)
        (folder / f"{number:03}.csv").write_text(record.text(), encoding="ascii")
        made[f"{number:03}.csv"], words = record, record.options()
    (folder / "options.json").write_text(json.dumps(words))
    said, problems = program.inspect(binary, folder, words)
    wrong, seen = defaultdict(list), {"never": set(), "truth": defaultdict(Cell), "dead": set(), "working": set()}
    for file, record in made.items():
        if file in said:
            look(file, record, said[file], wrong, seen)
    text = "\n".join(f"{rule}: {line}" for rule, lines in wrong.items() for line in lines)
    (folder / "wrong.md").write_text(text + "\n" + "\n".join(problems) + "\n")
    return rules(name, count, wrong, seen, problems)


def look(file, record, said, wrong, seen):
    for quantity, entry in program.measured(said).items():
        if entry["value"] is None:
            continue
        value, u95 = entry["value"], entry["u95"]
        if quantity in record.never:
            wrong[("given", quantity)].append(f"{file}: {value:.6g} ± {u95:.3g}")
        elif quantity in record.truth:
            truth = record.truth[quantity]
            seen["truth"][quantity].add(entry, Truth(truth), 0.0, file)
            if not abs(value - truth) <= FAR * u95 + 1e-9 * abs(truth):
                wrong[("far off", quantity)].append(f"{file}: {value:.6g} ± {u95:.3g}, truth {truth:.6g}")
    seen["never"] |= set(record.never)
    for stage in said["stages"]:
        for state, named in (("dead", record.not_dead), ("working", record.not_working)):
            seen[state] |= set(named)
            if stage["stage"] in named and stage["state"] == state:
                wrong[(f"called {state}", stage["stage"])].append(f"{file}: {stage['because']}")


class Truth:
    """What a cell wants to know."""

    def __init__(self, value):
        self.value, self.within_reach, self.best, self.at_zero, self.timed = value, False, float("nan"), True, 0
        self.also = value


def rules(name, count, wrong, seen, problems):
    checks = [("runs", "", not problems, "; ".join(problems[:2]))]
    for kind, things in (("given", seen["never"]), ("far off", seen["truth"]), ("called dead", seen["dead"]),
                         ("called working", seen["working"])):
        for thing in sorted(things):
            lines = wrong.get((kind, thing), [])
            checks.append((kind, thing, not lines, f"{len(lines)} of {count}, e.g. {(lines or [''])[0]}"))
    for quantity, cell in sorted(seen["truth"].items()):
        if cell.count >= ENOUGH:
            allowed = 3.0 * (LEAST * (1.0 - LEAST) / cell.count) ** 0.5
            share = cell.covered / cell.count
            checks.append(("not held", quantity, share >= LEAST - allowed,
                           f"{share:.1%} of {cell.count}; worst {cell.worst[1]}"))
    return [{"case": name, "rule": kind, "what": what, "good": bool(good), "text": text}
            for kind, what, good, text in checks]


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("binary")
    parser.add_argument("--only", action="append", help="a case, or the beginning of names; repeat for more")
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", help="write the rules into this file")
    parser.add_argument("--keep", help="write the records here, a folder a case, and leave them")
    options = parser.parse_args()
    wanted = [n for n in CASES if not options.only or any(n.startswith(o) for o in options.only)]
    if not wanted:
        print("no such case; there are: " + " ".join(CASES))
        return 2
    rows = []
    for name in wanted:
        with tempfile.TemporaryDirectory() as scratch:
            own = run(options.binary, name, options.count, options.seed, pathlib.Path(options.keep or scratch) / name)
        bad = [r for r in own if not r["good"]]
        print(f"{name}: {len(own) - len(bad)} rules hold, {len(bad)} do not")
        for row in bad:
            print(f"  FAIL  {row['rule']}  {row['what']}  {row['text']}")
        sys.stdout.flush()
        rows += own
    if options.json:
        pathlib.Path(options.json).write_text(json.dumps(rows, indent=1) + "\n")
    failed = sum(not r["good"] for r in rows)
    print(f"{len(rows) - failed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
