"""Shift vectors from scipy: two records of one happening, and the lag at which they correlate best.

    python3 scipy_shifts.py            writes shifts.json
    python3 scipy_shifts.py --check    compares with the committed file, exit 1 when it differs

Each entry has the samples of both records, the lag by which the second was truly made later, the lag of
the largest scipy.signal.correlate(b, a) of both without their means, and the lag of the largest
scipy.stats.pearsonr of what lies over each other, at least half of the shorter record. The plain
correlation puts a record that climbs too close to its copy; the coefficient does not.
"""

import json
import pathlib
import sys

import numpy as np
from scipy import signal, stats

TARGET = pathlib.Path(__file__).resolve().parent / "shifts.json"


def climb(t, at):
    """VCC that climbs, starts and falls back, as a repairer sees it: an exponential and a step."""
    up = 16.0 * (1.0 - np.exp(-np.clip(t - at, 0.0, None) / 60.0))
    return np.where(t - at > 90.0, 10.0 + 2.0 * np.exp(-(t - at - 90.0) / 20.0), up)


def pulses(t, at):
    return np.where((np.mod(t - at, 97.0) < 21.0) & (t > at) & (t < at + 250.0), 12.0, 0.2)


def chirp(t, at):
    return signal.chirp(t - at, f0=0.004, t1=400.0, f1=0.06)


CASES = [
    # form, samples before, samples after, lag, gain, offset, noise, seed
    (climb, 400, 400, 37, 1.0, 0.0, 0.0, 1),
    (climb, 400, 300, -25, 1.03, 0.15, 0.05, 2),
    (pulses, 420, 500, 61, 1.0, 0.0, 0.0, 3),
    (pulses, 420, 420, -44, 0.95, -0.1, 0.3, 4),
    (chirp, 500, 500, 0, 1.0, 0.0, 0.1, 5),
    (chirp, 380, 500, 83, 2.0, 1.0, 0.2, 6),
    (chirp, 500, 350, -60, 1.0, 0.0, 0.4, 7),
]


def pearson(a, b):
    """Lag and coefficient of the best fit."""
    least = max(8, -(-min(len(a), len(b)) // 2))
    found = []
    for lag in range(least - len(a), len(b) - least + 1):
        first, last = max(0, -lag), min(len(a), len(b) - lag)
        found.append((stats.pearsonr(a[first:last], b[first + lag:last + lag]).statistic, lag))
    coefficient, lag = max(found)
    return lag, coefficient


def entry(form, count_a, count_b, lag, gain, offset, noise, seed):
    random = np.random.default_rng(seed)
    a = form(np.arange(count_a, dtype=float), 80.0) + random.normal(0.0, noise, count_a)
    b = gain * form(np.arange(count_b, dtype=float), 80.0 + lag) + offset + random.normal(0.0, noise, count_b)
    a, b = np.round(a, 4), np.round(b, 4)
    full = signal.correlate(b - b.mean(), a - a.mean(), mode="full", method="direct")
    lags = signal.correlation_lags(count_b, count_a, mode="full")
    best = pearson(a, b)
    return {"form": form.__name__, "true_lag": lag, "plain_lag": int(lags[np.argmax(full)]),
            "lag": best[0], "coefficient": float(f"{best[1]:.9g}"), "a": a.tolist(), "b": b.tolist()}


def main():
    lines = [json.dumps(entry(*case), sort_keys=True, separators=(",", ":")) for case in CASES]
    text = "[\n" + ",\n".join(lines) + "\n]\n"
    if "--check" in sys.argv:
        same = TARGET.read_text() == text
        print(f"{TARGET.name} {'is as computed' if same else 'differs from what was just computed'}")
        return 0 if same else 1
    TARGET.write_text(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
