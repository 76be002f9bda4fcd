"""Draws thousands of short records, lets the program measure them, and counts how often it is right.

    python3 coverage.py BINARY [--only NAME ...] [--count N] [--seed S] [--json FILE] [--keep DIR]

Every record has new gain and offset errors, uniform within the accuracy that the program is told; a
time base off by up to 100 ppm, which the program assumes; noise, codes, phases, levels, edges.
Truth comes from the closed forms, by the definitions of the catalogue. Nothing is shared with the
program but its command line.

Rules (limits in coverage_score.py): in every stratum value ± u95 holds the truth in 93 to 98 % (three
standard deviations of the count allowed; no upper limit where the truth is the end of the range), and
so over all strata together; a frequency scatters at most 3 times as much as the best estimate; a duty
cycle is off by less than 0.1 % of the period at 50 samples a cycle; at most 2 % are refused where
the oracle, told the events, could measure. A quantity that no record is given is named, not judged.
Last line: `N passed, N failed`. Exit 0 when no rule failed.
"""

import argparse
import json
import pathlib
import sys
import tempfile
import time
from collections import defaultdict

import coverage_program as program
import coverage_records as records
from coverage_score import Cell, Rules
from coverage_strata import STRATA


def run(binary, stratum, count, seed, folder):
    """All records of a stratum through the program once."""
    folder.mkdir(parents=True, exist_ok=True)
    made, words = {}, None
    for number in range(count):
        record = records.make(stratum, seed, number)
        file = f"{number:04}.csv"
        (folder / file).write_text(record.text(), encoding="ascii")
        made[file] = (record.told, record.time_base)
        words = record.options(stratum["setup"])
    keep_truth(folder, made, words)
    said, problems = program.inspect(binary, folder, words)
    cells, given = defaultdict(Cell), set()
    for file, (told, time_base) in made.items():
        if file not in said:
            problems.append(f"{file}: nothing said")
            continue
        entries = program.measured(said[file])
        given |= set(entries)
        for quantity, truth in told.items():
            cells[quantity].add(entries.get(quantity), truth, time_base, file)
    return cells, given, problems


def keep_truth(folder, made, words):
    """Beside the records, in an ending that a batch leaves out."""
    plain = {file: {"time_base": time_base, "told": {q: vars(t) for q, t in told.items()}}
             for file, (told, time_base) in made.items()}
    (folder / "truth.json").write_text(json.dumps({"options": words, "records": plain}, indent=1))


def table(name, cells, seconds):
    print(f"\n{name}  ({seconds:.0f} s)")
    print(f"  {'quantity':24}{'n':>5}{'refused':>9}{'covered':>9}{'bias/u95':>10}{'u95':>11}{'u95/truth':>11}"
          f"{'rms':>11}{'x best':>8}{'bias %':>9}{'worst/u95':>11}")
    for quantity, cell in cells.items():
        f = cell.figures()
        refused = f"{f['refused']}/{f['within_reach']}"
        if not f["count"]:
            print(f"  {quantity:24}{0:5}{refused:>9}  {program.reasons(cell.why, 1)}")
            continue
        duty = f"{f['bias'] * 100:+.4f}" if "duty" in quantity else ""
        scatter = "" if f["scatter"] != f["scatter"] else f"{f['scatter']:.2f}"
        print(f"  {quantity:24}{f['count']:5}{refused:>9}{f['coverage']:9.1%}{f['bias_over_u95']:+10.3f}{f['u95']:11.3g}"
              f"{f['u95_over_truth']:11.2e}{f['rms']:11.3g}{scatter:>8}{duty:>9}{f['worst_over_u95']:11.2f}")


def judge(all_cells, given, problems):
    rules = Rules()
    rules.check(not problems, f"runs: {len(problems)} problems, the first: {(problems or [''])[0]}")
    missing = set()
    for stratum, cells in all_cells:
        for quantity, cell in cells.items():
            if quantity not in given:
                missing.add(quantity)
                continue
            before = len(rules.failed)
            rules.cell(stratum, quantity, cell)
            rules.failed[before:] = [t.replace("{why}", program.reasons(cell.why)) for t in rules.failed[before:]]
    by_quantity = defaultdict(list)
    for _, cells in all_cells:
        for quantity, cell in cells.items():
            by_quantity[quantity].append(cell)
    for quantity, cells in sorted(by_quantity.items()):
        rules.pooled(quantity, cells)
    print(f"\nnot given in any record: {', '.join(sorted(missing)) or 'none'}")
    for text in rules.failed:
        print(f"  FAIL  {text}")
    return rules


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("binary")
    parser.add_argument("--only", action="append", help="a stratum, or the beginning of names; repeat for more")
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", help="write the table into this file")
    parser.add_argument("--keep", help="write the records here, a folder a stratum, and leave them")
    options = parser.parse_args()
    wanted = [s for s in STRATA if not options.only or any(s["name"].startswith(o) for o in options.only)]
    if not wanted:
        print("no such stratum; there are: " + " ".join(s["name"] for s in STRATA))
        return 2
    results, given, problems = [], set(), []
    for stratum in wanted:
        begun = time.monotonic()
        with tempfile.TemporaryDirectory() as scratch:
            folder = pathlib.Path(options.keep or scratch) / stratum["name"]
            cells, seen, wrong = run(options.binary, stratum, options.count, options.seed, folder)
        table(stratum["name"], cells, time.monotonic() - begun)
        sys.stdout.flush()
        results.append((stratum, cells))
        given |= seen
        problems += [f"{stratum['name']}: {w}" for w in wrong]
    rules = judge(results, given, problems)
    if options.json:
        rows = [{"stratum": s["name"], "quantity": q, "given": q in given, "why_not": program.reasons(c.why),
                 **c.figures()} for s, cells in results for q, c in cells.items()]
        pathlib.Path(options.json).write_text(json.dumps({"rows": rows, "failed": rules.failed}, indent=1) + "\n")
    print(f"{rules.passed} passed, {len(rules.failed)} failed")
    return 1 if rules.failed else 0


if __name__ == "__main__":
    sys.exit(main())
