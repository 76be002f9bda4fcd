"""Edge vectors from scipy: pulses and ramps by formula, with the frequency, duty and edges expected.

    python3 scipy_edges.py            writes edges.json
    python3 scipy_edges.py --check    compares with the committed file, exit 1 when it differs

Clean signals are given by parameters only: sample k is at t = k/fs, and with phase p (in periods)
    square    high where frac(f·t + p) < duty, else low             (scipy.signal.square)
    sawtooth  rises from low to high over `width` of the period, then falls (scipy.signal.sawtooth)
Noisy ones carry their samples. Crossings are of the middle level, by linear interpolation between
the samples around it, in samples from the first.
"""

import json
import pathlib
import sys

import numpy as np
from scipy import signal

TARGET = pathlib.Path(__file__).resolve().parent / "edges.json"

CLEAN = [
    # kind, fs, f, duty or width, low, high, phase, samples
    ("square", 10e6, 67.522e3, 0.4858, 0.1, 13.5, 0.137, 20000),
    ("square", 50e6, 52.731e3, 0.9631, 0.2, 10.1, 0.611, 30000),
    ("square", 1e6, 33.3e3, 0.25, 0.0, 8.0, 0.05, 5000),
    ("square", 5e6, 250e3, 0.5, -0.3, 12.0, 0.333, 2000),
    ("sawtooth", 20e6, 135.044e3, 0.9715, 1.0, 2.7, 0.211, 20000),
    ("sawtooth", 10e6, 52.731e3, 0.963, 1.0, 2.7, 0.777, 20000),
    ("sawtooth", 5e6, 52.91e3, 0.438, 1.0, 2.7, 0.4, 10000),
]
NOISY = [
    # as above, with noise sigma and seed
    ("square", 1e6, 20.1e3, 0.48, 0.1, 13.5, 0.137, 400, 0.15, 11),
    ("sawtooth", 1e6, 21.7e3, 0.96, 1.0, 2.7, 0.211, 400, 0.01, 12),
    ("square", 2e6, 61.3e3, 0.31, 0.0, 9.0, 0.71, 400, 0.25, 13),
]


def wave(kind, fs, f, shape, low, high, phase, count):
    angle = 2 * np.pi * (f * np.arange(count) / fs + phase)
    unit = signal.square(angle, shape) if kind == "square" else signal.sawtooth(angle, shape)
    return low + (high - low) * (unit + 1) / 2


def crossings(values, level, rising):
    """Positions at which `level` is crossed, in samples."""
    above = values >= level
    k = np.flatnonzero(~above[:-1] & above[1:] if rising else above[:-1] & ~above[1:])
    return k + (level - values[k]) / (values[k + 1] - values[k])


def settled(values, level, low, high, rising):
    """The same, but each crossing counts only if the signal went from one third to the other."""
    band_low, band_high = low + 0.25 * (high - low), low + 0.75 * (high - low)
    state, last, out = None, None, []
    where = sorted([(p, r) for r in (True, False) for p in crossings(values, level, r)])
    marks = [(float(p), "up" if r else "down") for p, r in where]
    pending, position = 0, {}
    for index, value in enumerate(values):
        while pending < len(marks) and marks[pending][0] <= index:
            position.setdefault(marks[pending][1], []).append(marks[pending][0])
            pending += 1
        new = "high" if value > band_high else "low" if value < band_low else state
        if state is not None and new != state:
            last = position.get("up" if new == "high" else "down", [])
            if (new == "high") == rising and last:
                out.append(last[-1])
            position = {}
        state = new
    return out


def expected(values, fs, level, low, high):
    up = settled(values, level, low, high, True)
    down = settled(values, level, low, high, False)
    frequency = fs * (len(up) - 1) / (up[-1] - up[0])
    width = np.mean([min(d for d in down if d > u) - u for u in up if any(d > u for d in down)])
    return {"duty": tidy(float(width) * frequency / fs), "falling": len(down), "frequency_hz": tidy(frequency),
            "rising": len(up)}, up, down


def tidy(value, digits=8):
    return float(f"{value:.{digits}g}")


def entry(kind, fs, f, shape, low, high, phase, count, sigma=0.0, seed=None):
    values = wave(kind, fs, f, shape, low, high, phase, count)
    level = 0.5 * (low + high)
    out = {"duty" if kind == "square" else "width": shape, "f_hz": f, "fs_hz": fs, "high": high, "kind": kind,
           "level": level, "low": low, "phase": phase, "samples": count}
    if seed is not None:
        values = np.round(values + np.random.default_rng(seed).normal(0.0, sigma, count), 4)
        out |= {"seed": seed, "sigma": sigma, "values": [tidy(v) for v in values.tolist()]}
    else:
        out["first"] = [tidy(v) for v in values[:6].tolist()]
    out["expected"], up, down = expected(values, fs, level, low, high)
    if seed is not None:
        out["expected"] |= {"falling_at": [tidy(p) for p in down], "rising_at": [tidy(p) for p in up]}
    return out


def main():
    document = {"clean": [entry(*c) for c in CLEAN], "noisy": [entry(*n) for n in NOISY]}
    text = json.dumps(document, sort_keys=True, indent=None, separators=(",", ":"))
    text = text.replace('{"duty":0.', '\n{"duty":0.').replace('{"expected"', '\n{"expected"') + "\n"
    if "--check" in sys.argv:
        same = TARGET.read_text() == text
        print(f"{TARGET.name} {'is as computed' if same else 'differs from what was just computed'}")
        return 0 if same else 1
    TARGET.write_text(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
