"""The oracle's truths against its own waveforms, sampled densely without noise: python3 coverage_check.py

Plain counting on dense points, with tolerances from their spacing. Exit 1 where a truth is not what
the waveform shows.
"""

import sys

import numpy as np

import coverage_records as records
from coverage_strata import STRATA


def crossings(t, v, level, up):
    above = v > level
    after = np.flatnonzero(above[1:] != above[:-1]) + 1
    after = after[above[after] == up]
    return t[after - 1] + (level - v[after - 1]) / (v[after] - v[after - 1]) * (t[after] - t[after - 1])


def states(t, v, train):
    """First crossings of each edge at 10, 50 and 90 %, from near each instant on the closed form's list."""
    out = {}
    height = train.high - train.low
    for word, at, step, sign in (("rise", train.rises, train.rise, 1.0), ("fall", train.falls, train.fall, -1.0)):
        found = []
        for instant in at[(at > t[0] + step.length) & (at < t[-1] - step.length)][:6]:
            near = (t > instant - step.t50 - step.length * 0.01) & (t < instant - step.t50 + step.length)
            share = (v[near] - train.low) / height if sign > 0 else 1.0 - (v[near] - train.low) / height
            if near.sum() > 50:
                cross = [crossings(t[near], share, level, True)[0] for level in (0.1, 0.5, 0.9)]
                found.append((*cross, share.max() - 1.0))
        out[word] = np.array(found)
    return out


def check_train(name, record, prefix, problems):
    train = record.waves[prefix]
    told = record.told
    t = np.linspace(0.0, record.span_s, 3_000_001)
    v = train(t)
    edges = states(t, v, train)
    spacing = t[1] - t[0]
    for word, quantity, over in (("rise", f"{prefix}_rise_time", f"{prefix}_overshoot"),
                                 ("fall", f"{prefix}_fall_time", f"{prefix}_undershoot")):
        found = edges[word]
        if not len(found):
            continue
        compare(name, quantity, told[quantity].value, float(np.mean(found[:, 2] - found[:, 0])), 2.0 * spacing, problems)
        if over in told:
            compare(name, over, told[over].value, float(np.mean(found[:, 3])), 2e-3, problems)
    duty = told.get(f"{prefix}_duty_cycle")
    if duty is not None and train.rise.kind != "ringing":
        middle = 0.5 * (train.low + train.high)
        up, down = crossings(t, v, middle, True), crossings(t, v, middle, False)
        down = down[down > up[0]]
        pairs = min(len(up) - 1, len(down))
        share = (down[:pairs] - up[:pairs]) / np.diff(up)[:pairs]
        compare(name, f"{prefix}_duty_cycle", duty.value, float(share.mean()), 1e-4, problems)
        loose = 1e-4 + 4.0 * record.jitter / np.sqrt(pairs)
        rate = (len(up) - 1) / (up[-1] - up[0])
        if told.get("missing_pulses", None) is None or told["missing_pulses"].value == 0:
            compare(name, f"{prefix}_frequency", 1.0, rate / told[f"{prefix}_frequency"].value, loose, problems)
    compare(name, f"{prefix} levels", train.high - train.low, float(np.quantile(v, 0.995) - np.quantile(v, 0.005)),
            (0.02 + 1.2 * max(train.rise.overshoot, train.fall.overshoot) * 2.0) * (train.high - train.low), problems)


def check_ramp(name, record, problems):
    told, wave = record.told, record.waves["rtct"]
    t = np.linspace(0.0, record.span_s, 3_000_001)
    v = wave(t)
    compare(name, "ramp_peak", told["ramp_peak"].value, float(v.max()), 2e-3, problems)
    compare(name, "ramp_valley", told["ramp_valley"].value, float(v.min()), 2e-3, problems)
    up = np.diff(v) > 0.0
    share = float(up.mean())
    rise, fall = told["ramp_rise_duration"].value, told["ramp_fall_duration"].value
    cycles = record.span_s * told["oscillator_frequency"].value
    compare(name, "ramp rise share", rise / (rise + fall), share, 1.0 / cycles, problems)
    compare(name, "oscillator period", 1.0, (rise + fall) * told["oscillator_frequency"].value, 1e-9, problems)
    # three points of one rise, equally apart, give the level that it heads for
    begin = wave.clock.at[6] if wave.clock.at[7] < record.span_s else wave.clock.at[5]
    length = 0.9 * wave.rise_s * (wave.clock.at[7] - wave.clock.at[6]) / wave.clock.period
    a, b, c = wave(begin + 0.02 * length + 0.45 * length * np.arange(3.0))
    compare(name, "ramp_asymptote", told["ramp_asymptote"].value, float((a * c - b * b) / (a + c - 2.0 * b)), 0.02, problems)


def compare(name, what, told, seen, tolerance, problems):
    if not abs(told - seen) <= tolerance:
        problems.append(f"{name}: {what} told {told:.7g}, seen {seen:.7g}, tolerance {tolerance:.2g}")


def main():
    problems, done = [], 0
    for stratum in STRATA:
        for number in range(2):
            record = records.make(stratum, 987, number)
            record.jitter = stratum["jitter"]
            for prefix in ("out", "gate"):
                if prefix in record.waves and f"{prefix}_rise_time" in record.told:
                    check_train(stratum["name"], record, prefix, problems)
            if "rtct" in record.waves:
                check_ramp(stratum["name"], record, problems)
            done += 1
    for line in problems:
        print(line)
    print(f"{done - len({p.split(':')[0] for p in problems})} passed, {len(problems)} failed")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
