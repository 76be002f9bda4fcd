"""Tests the captures themselves: reads each CSV back, takes the scope's errors out again and looks
whether the truth is really in the samples.

    python3 truth.py [COUNT [SEED]]

Prints `N passed, N failed`, exit 1 when something failed.
"""

import pathlib
import sys

import numpy as np

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent))
import captures  # noqa: E402


def table(made):
    """Times in seconds and columns in volts, as a careful reader would see them."""
    text = made.text
    dialect = made.truth["dialect"]
    if dialect.startswith("semicolon"):
        text = text.replace(",", ".")
    split = {"c": ",", "s": ";", "t": "\t"}[dialect[0]]
    lines = text.splitlines()
    head = 2 if dialect.endswith("units-row") else 1
    rows = np.array([line.split(split) for line in lines[head:]], dtype=float)
    units = "".join(lines[:head])
    rows[:, 0] *= 1e-3 if "ms" in units else 1.0
    rows[:, 1:] *= 1e-3 if "mV" in units else 1.0
    return rows[:, 0], rows[:, 1:].T


def corrected(made, columns):
    out = {}
    for channel, values in zip(made.truth["channels"], columns):
        scope = channel["scope"]
        out[channel["role"]] = (values - scope["offset_v"]) / scope["gain"], scope["noise_v"] + scope["lsb_v"]
    return out


def line_at(t, v, at, before, count):
    """A line through the last samples before `at`, evaluated there."""
    k = np.flatnonzero((t < at) & (t > before))[-count:]
    if len(k) < 3:
        return None
    centre = t[k].mean()
    slope = np.polyfit(t[k] - centre, v[k], 1)
    return float(np.polyval(slope, at - centre))


def checks(made):
    truth = made.truth
    t, columns = table(made)
    pins = corrected(made, columns)
    step = truth["step_s"]
    yield "time axis", len(t) == truth["samples"] and np.allclose(
        t, truth["start_s"] + step * np.arange(len(t)), rtol=0, atol=0.02 * step)
    if "vcc" in pins and truth["events"]:
        vcc, sigma = pins["vcc"]
        ripple = truth["model"].get("ripple_amplitude_v", 0.0)
        last = -np.inf
        for event in truth["events"]:
            seen = line_at(t, vcc, event["at_s"], last, 12)
            rate = 8.0 * step if truth["kind"] == "sweep" else 0.0
            last = event["at_s"] + 2 * step
            if seen is not None:
                steep = abs(np.diff(vcc[np.searchsorted(t, event["at_s"]) - 4:][:3])).max()
                yield f"VCC at {event['what']}", abs(seen - event["vcc"]) < 6 * sigma + 2.2 * ripple + rate + steep
    if truth["kind"] == "sweep":
        starts = [e for e in truth["events"] if e["what"] == "start"]
        stops = [e for e in truth["events"] if e["what"] == "stop"]
        yield "starts and stops alternate", 0 <= len(starts) - len(stops) <= 1 and len(starts) >= 1
        gaps = np.diff([e["at_s"] for e in truth["events"]])
        yield "no chatter", bool(np.all(gaps > 0.2))
    runs = running_at(t, truth)
    if "vref" in pins and runs.sum() > 30:
        vref, sigma = pins["vref"]
        yield "VREF", abs(np.median(vref[runs]) - truth["quantities"]["vref_voltage"]) < sigma
    if "rtct" in pins and runs.sum() > 300:
        ramp, sigma = pins["rtct"]
        q = truth["quantities"]
        high, low = np.quantile(ramp[runs], [0.995, 0.005])
        yield "ramp within its levels", high < q["ramp_peak"] + 4 * sigma and low > q["ramp_valley"] - 4 * sigma
        yield "ramp reaches its levels", high > q["ramp_peak"] - 0.35 and low < q["ramp_valley"] + 0.35
    if truth["kind"] == "running":
        yield from running_checks(truth, t, pins)


def running_at(t, truth):
    if truth["kind"] == "running":
        return np.ones(len(t), bool)
    runs = np.zeros(len(t), bool)
    edges = [(e["at_s"], e["what"]) for e in truth["events"]]
    for index, (at, what) in enumerate(edges):
        if what == "start":
            end = edges[index + 1][0] if index + 1 < len(edges) else np.inf
            runs |= (t > at + 3 * truth["step_s"] + 2e-4) & (t < end - truth["step_s"])
    return runs


def running_checks(truth, t, pins):
    q, step = truth["quantities"], truth["step_s"]
    for role, frequency, duty in (("out", "out_frequency", "out_duty_cycle"), ("gate", "gate_frequency", "gate_duty_cycle")):
        if role not in pins:
            continue
        values, _ = pins[role]
        high, low = q[f"{role}_high_level"], q[f"{role}_low_level"]
        above = (values > 0.5 * (high + low)).astype(int)
        up = np.flatnonzero(np.diff(above) == 1)
        span = (up[-1] - up[0]) * step
        yield f"{role} frequency", abs((len(up) - 1) / span / q[frequency] - 1) < 2 * step / span + 1e-9
        cycles = above[up[0] + 1 : up[-1] + 1]
        slack = 1.5 * step * q[frequency] + 1e-4
        yield f"{role} duty", abs(cycles.mean() - q[duty]) < slack
        settled = values[values > 0.5 * (high + low)]
        yield f"{role} high level", abs(np.median(settled) - high) < 3 * pins[role][1]
    if "rtct" in pins and "out_frequency" in q:
        ratio = q["oscillator_frequency"] / q["out_frequency"]
        yield "divide", abs(ratio - q["oscillator_to_out_ratio"]) < 1e-6


def main():
    count, seed = (int(a) for a in (sys.argv[1:] + ["60", "3"][len(sys.argv) - 1 :])[:2])
    passed, failed = 0, 0
    for number, run in captures.many(count, seed):
        for made in run:
            for name, good in checks(made):
                passed += bool(good)
                failed += not good
                if not good:
                    print(f"{seed}:{number:03} {made.truth['kind']} {made.truth['controller']}: {name}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
