"""Reading a 450 MB CSV (10 M rows, time and 4 channels): firstpulse against polars, pandas, pyarrow.

    python3 read_csv.py [BINARY] [--rows N] [--runs N]

Seven interleaved runs, warm cache, each reader in a process of its own. Prints a Markdown table:
wall time (for the Python readers without their start and import, for firstpulse all of its
process), peak resident memory of the process, and the ratios that are promised. A benchmark: it
passes and fails nothing.
"""

import argparse
import json
import statistics
import sys

import common

SNIPPET = """
import json, sys, time
import {module}
begin = time.perf_counter()
{read}
took = time.perf_counter() - begin
print(json.dumps({{"took": took, "rows": {rows}, "columns": {columns}}}))
"""
READERS = {
    "polars": ("polars", "t = polars.read_csv(sys.argv[1])", "t.height", "t.width"),
    "pandas, C engine": ("pandas", "t = pandas.read_csv(sys.argv[1], engine='c')", "len(t)", "t.shape[1]"),
    "pandas, pyarrow engine": ("pandas", "t = pandas.read_csv(sys.argv[1], engine='pyarrow')", "len(t)", "t.shape[1]"),
    "pyarrow": ("pyarrow.csv", "t = pyarrow.csv.read_csv(sys.argv[1])", "t.num_rows", "t.num_columns"),
}


def python_reader(name, path, rows):
    module, read, count, columns = READERS[name]
    code = SNIPPET.format(module=module, read=read, rows=count, columns=columns)
    _, peak, output = common.child([sys.executable, "-c", code, str(path)])
    said = json.loads(output)
    assert (said["rows"], said["columns"]) == (rows, 5), f"{name} read {said}"
    return said["took"], peak


def firstpulse(binary, path, rows):
    wall, peak, output = common.child([binary, "read", str(path), "--json"])
    channels = json.loads(output)["files"][0]["captures"][0]["channels"]
    assert [c["samples"] for c in channels] == [rows] * 4, "firstpulse did not read all"
    return wall, peak


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("binary", nargs="?", default="target/release/firstpulse")
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--without-firstpulse", action="store_true")
    options = parser.parse_args()
    path = common.csv_file(options.rows)
    common.warm(path)
    ways = {name: (lambda name=name: python_reader(name, path, options.rows)) for name in READERS}
    if not options.without_firstpulse:
        ways["firstpulse"] = lambda: firstpulse(options.binary, path, options.rows)
    seen = {name: [] for name in ways}
    for _ in range(options.runs):
        for name, way in ways.items():
            seen[name].append(way())
    table(seen, path, options)


def table(seen, path, options):
    times = {n: [t for t, _ in rows] for n, rows in seen.items()}
    peaks = {n: [p for _, p in rows] for n, rows in seen.items()}
    others = [n for n in seen if n != "firstpulse"]
    fastest = min(others, key=lambda n: statistics.median(times[n]))
    lowest = min(others, key=lambda n: statistics.median(peaks[n]))
    print(f"{options.rows} rows, {path.stat().st_size / 1e6:.0f} MB, {options.runs} interleaved runs, "
          f"warm cache; {common.machine()}; {common.versions(['polars', 'pandas', 'pyarrow'])}\n")
    print("| reader | time, s: median (range) | peak memory, MB: median (range) | |")
    print("| --- | --- | --- | --- |")
    for name in seen:
        marks = [m for m, n in (("fastest of the others", fastest), ("lowest of the others", lowest)) if n == name]
        print(f"| {name} | {common.spread(times[name])} | {common.spread(peaks[name], 1e-6, 0)} | {', '.join(marks)} |")
    if "firstpulse" in seen:
        speed = statistics.median(times[fastest]) / statistics.median(times["firstpulse"])
        memory = statistics.median(peaks["firstpulse"]) / statistics.median(peaks[lowest])
        print(f"\nfirstpulse is {speed:.2f} times as fast as the fastest ({fastest}; wanted: 2) and takes "
              f"{memory:.2f} of the memory of the lowest ({lowest}; wanted: 0.33).")


if __name__ == "__main__":
    main()
