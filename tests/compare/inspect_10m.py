"""Inspection of 10 M samples × 4: firstpulse's inspect minus its read, against fixed numpy work.

    python3 inspect_10m.py [BINARY] [--rows N] [--runs N]

The numpy work, on float64 arrays already in memory, once a channel: minimum and maximum, a
histogram of 256 bins, crossings of the middle level with hysteresis of a tenth, and a line fit.
Do not tune it: it is the yardstick. A benchmark: it passes and fails nothing.
"""

import argparse
import json
import statistics
import sys
import time

import numpy as np

import common


def yardstick(values):
    low, high = values.min(), values.max()
    counts, _ = np.histogram(values, bins=256, range=(low, high))
    middle, margin = 0.5 * (low + high), 0.05 * (high - low)
    state = np.where(values > middle + margin, 1, np.where(values < middle - margin, -1, 0)).astype(np.int8)
    state = state[state != 0]
    edges = np.count_nonzero(np.diff(state))
    k = np.arange(len(values), dtype=float)
    k -= k.mean()
    slope = float(k @ values / (k @ k))
    return low, high, int(counts.max()), edges, slope


def numpy_child(rows):
    """In a process of its own: makes the arrays, then times the work alone."""
    _, channels = common.signals(0, rows)
    channels = [c * 1e-6 for c in channels]
    begin = time.perf_counter()
    results = [yardstick(c) for c in channels]
    print(json.dumps({"edges": [int(r[3]) for r in results], "took": time.perf_counter() - begin}))


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("binary", nargs="?", default="target/release/firstpulse")
    parser.add_argument("--rows", type=int, default=10_000_000)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--without-firstpulse", action="store_true")
    parser.add_argument("--numpy-child", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.numpy_child:
        return numpy_child(options.rows)
    path = common.csv_file(options.rows)
    common.warm(path)
    work, read, inspect = [], [], []
    for _ in range(options.runs):
        output = common.child([sys.executable, __file__, "--numpy-child", "--rows", str(options.rows)])[2]
        work.append(json.loads(output)["took"])
        if not options.without_firstpulse:
            read.append(common.child([options.binary, "read", str(path), "--json"])[0])
            inspect.append(common.child([options.binary, "inspect", str(path), "--json"])[0])
    print(f"{options.rows} × 4 samples, {options.runs} interleaved runs; {common.machine()}\n")
    print("| what | time, s: median (range) |\n| --- | --- |")
    print(f"| numpy work | {common.spread(work)} |")
    if read:
        apart = [i - r for i, r in zip(inspect, read)]
        print(f"| firstpulse read | {common.spread(read)} |")
        print(f"| firstpulse inspect | {common.spread(inspect)} |")
        print(f"| firstpulse inspect minus read | {common.spread(apart)} |")
        print(f"\nfirstpulse takes {statistics.median(apart) / statistics.median(work):.2f} of numpy's time "
              "(wanted: at most 1).")
    return None


if __name__ == "__main__":
    main()
