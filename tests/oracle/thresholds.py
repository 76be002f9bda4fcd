"""Draws records of a swept VCC, lets the program read the thresholds, and counts how often it is right.

    python3 thresholds.py BINARY [--count N] [--seed S] [--only PREFIX ...] [--skip PREFIX ...] [--keep DIR]
                                 [--json FILE] [--results FILE] [--ci]

VCC is turned up and down by hand, behind a diode and a feed resistance, with ripple or without; VREF,
RT/CT or OUT beside it tells when the controller runs. Some records hold the extremes of intervals; some
come with a record of VREF through the same input, which a meter was read at (--same-range). Gain and
offset of the scope, and the errors of the meter, are drawn anew within what the program is told. Truth is the level at which
the comparator was set. Nothing is shared with the program but its command line.

Rules of a stratum (limits in thresholds_score.py, each with one chance in a thousand): value ± u95 holds
the truth in 93 to 98 % (of extremes whose intervals hide no ripple of the supply in more, as some may hide
in them); at most 2 % are refused where the estimator that is told the instants can measure; the median
half-width is at most 1.5 times its; where gain and offset are exact the bias is below a quarter of u95; no number comes from a record that shows no start or no stop. A stratum whose option the program
does not know is left out and said to be.

--keep leaves the records in which something is amiss, each with its truth. --results adds what came of each
record to a file and does not run again what stands there: a run of hours can be broken off and taken up, or
made longer by a larger --count. --ci runs a few strata at a small count. Last line: `N held, M failed`. Exit 0 when no rule failed.
"""

import argparse
import json
import pathlib
import sys
import tempfile
import time
from collections import defaultdict
from concurrent.futures import ProcessPoolExecutor

import thresholds_program as program
from coverage_program import reasons
from thresholds_record import QUANTITIES
from thresholds_results import Results
from thresholds_score import Cell, Rules
from thresholds_strata import CI, STRATA

WORKERS = 2


def run(pool, options, stratum, folder, results):
    """All records of a stratum through the program; None where it does not know an option."""
    folder.mkdir(parents=True, exist_ok=True)
    name, keep, done = stratum["name"], bool(options.keep), results.done(stratum["name"])
    left = [n for n in range(options.count) if n not in done]
    jobs = [(options.binary, name, options.seed, n, str(folder), keep) for n in left]
    found = [done[n] for n in range(options.count) if n in done]
    if jobs and not done:  # the first by itself: an unknown option shows there
        found.append(program.one(jobs.pop(0)))
        results.add(name, left.pop(0), found[0])
    if found and "unknown" in found[0]:
        print(f"\n{name}: left out, the program says: {found[0]['unknown']}")
        return None
    for number, result in zip(left, pool.map(program.one, jobs, chunksize=4)):
        results.add(name, number, result)
        found.append(result)
    return scored(name, found)


def scored(name, found):
    cells, problems = defaultdict(Cell), []
    for result in found:
        if "problem" in result:
            problems.append(f"{name}: {result['problem']}")
            continue
        for quantity in QUANTITIES:
            if quantity in result["told"]:
                cells[quantity].add(result["told"][quantity], result["said"].get(quantity), result["file"])
    return cells, problems


def table(name, cells, seconds):
    print(f"\n{name}  ({seconds:.0f} s)")
    print(f"  {'quantity':22}{'n':>5}{'refused':>9}{'held':>8}{'oracle':>8}{'bias/u95':>10}{'bias V':>9}{'rms V':>8}"
          f"{'u95 V':>8}{'x oracle':>10}{'unwanted':>10}")
    for quantity in (q for q in QUANTITIES if q in cells):
        cell = cells[quantity]
        f = cell.figures()
        unwanted = f"{f['unwanted']}/{f['never']}" if cell.never else ""
        refused = f"{f['refused']}/{f['within_reach']}"
        if not cell.count:
            print(f"  {quantity:22}{0:5}{refused:>9}{'':61}{unwanted:>10}  {reasons(cell.why, 1)}")
            continue
        print(f"  {quantity:22}{cell.count:5}{refused:>9}{f['held']:8.1%}{f['oracle_held']:8.1%}"
              f"{f['bias'] / f['u95']:+10.3f}{f['bias']:+9.4f}{f['rms']:8.4f}{f['u95']:8.4f}{f['ratio']:10.2f}"
              f"{unwanted:>10}")
    sys.stdout.flush()


def told_what():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("binary")
    parser.add_argument("--only", action="append", help="a stratum, or the beginning of names; repeat for more")
    parser.add_argument("--skip", action="append", default=[], help="none of these, the same way")
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--json", help="write the table into this file")
    parser.add_argument("--results", help="keep what came of each record in this file, and take up what is there")
    parser.add_argument("--keep", help="leave the records in which something is amiss here, a folder a stratum")
    parser.add_argument("--ci", action="store_true", help="a few strata, 60 records each")
    options = parser.parse_args()
    if options.ci:
        options.count, options.only = 60, None
    return options


def main():
    options = told_what()
    wanted = [s for s in STRATA if not options.only or any(s["name"].startswith(o) for o in options.only)]
    wanted = [s for s in wanted if not any(s["name"].startswith(o) for o in options.skip)]
    if options.ci:
        wanted = [s for s in STRATA if s["name"] in CI]
    if not wanted:
        print("no such stratum; there are: " + " ".join(s["name"] for s in STRATA))
        return 2
    results = Results(options.results, options.binary, options.seed)
    rules, rows, left_out = Rules(), [], []
    with ProcessPoolExecutor(WORKERS) as pool, tempfile.TemporaryDirectory() as scratch:
        for stratum in wanted:
            begun = time.monotonic()
            ran = run(pool, options, stratum, pathlib.Path(options.keep or scratch) / stratum["name"], results)
            if ran is None:
                left_out.append(stratum["name"])
                continue
            cells, problems = ran
            table(stratum["name"], cells, time.monotonic() - begun)
            rules.check(not problems, f"{stratum['name']}: {len(problems)} runs went wrong; {(problems or [''])[0]}")
            for quantity, cell in cells.items():
                rules.cell(stratum, quantity, cell, reasons)
                rows.append({"stratum": stratum["name"], "quantity": quantity, **cell.figures()})
    print()
    for text in rules.failed:
        print(f"  FAIL  {text}")
    if left_out:
        print(f"left out, as the program does not know their option: {' '.join(left_out)}")
    if options.json:
        pathlib.Path(options.json).write_text(json.dumps({"rows": rows, "failed": rules.failed}, indent=1) + "\n")
    print(f"{rules.held} held, {len(rules.failed)} failed")
    return 1 if rules.failed else 0


if __name__ == "__main__":
    sys.exit(main())
