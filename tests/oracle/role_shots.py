"""Labelled channels of modelled captures, and how often the roles proposed for them are right.

    python3 role_shots.py BINARY [--count N] [--seed S] [--keep DIR]

An own generator (numpy only), apart from the program and from the other models here. Each channel
gets a gain error within 2 %, an offset within 0.1 division, noise and 8-bit steps. Levels: TI
SLUS223G for the bipolar family (start 14.5-17.5 or 7.8-9.0 V, VREF 4.9-5.1 V, ramp 1.0-2.7 V, CS
limit 0.9-1.1 V); the ramp of CMOS relatives, 0.7-2.5 V, with OUT up to VCC; all else common practice.
Prints the share right by bin of confidence, by role, what was taken for what, and the probe offers.
A channel whose probe factor is wrong, a dead one, and a floating one have no role: any is wrong.
"""

import argparse
import collections
import json
import pathlib
import subprocess
import tempfile

import numpy as np

BATCH = 100
BINS = [0.0, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95, 0.975, 1.001]


class Unit:
    """One specimen: thresholds, levels, timing."""

    def __init__(self, rng):
        wide = rng.random() < 0.55
        self.cmos = rng.random() < 0.25
        self.on = rng.uniform(14.5, 17.5) if wide else rng.uniform(7.8, 9.0)
        self.off = rng.uniform(8.5, 11.5) if wide else self.on - rng.uniform(0.6, 1.0)
        self.vref = rng.uniform(4.9, 5.1)
        self.valley = rng.uniform(0.65, 0.8) if self.cmos else rng.uniform(0.95, 1.2)
        self.peak = self.valley + rng.uniform(1.65, 1.8)
        self.drop = rng.uniform(0.0, 0.2) if self.cmos else rng.uniform(1.2, 2.0)
        self.divide = int(rng.integers(1, 3))
        self.f_osc = 10 ** rng.uniform(4.5, 5.4)
        self.phase = rng.uniform(0, 1)
        self.rise = rng.uniform(0.75, 0.97)
        self.duty = rng.uniform(0.15, 0.95)
        self.clamp = rng.uniform(5.6, 7.2)
        self.cs = rng.uniform(0.3, 1.05)
        self.ramp_start = rng.uniform(0.2, 0.7)
        self.delay = rng.uniform(0.005, 0.03)
        self.out = rng.choice([3.3, 5.0, 12.0, 15.0, 19.0, 24.0, 48.0])
        self.bulk = rng.uniform(120, 390)
        self.aux = rng.uniform(9, 16)
        self.reverse = rng.uniform(10, 60)


def supply(u, rng, kind, t):
    """VCC, whether it runs, and the time since the last start."""
    span = t[-1] - t[0]
    if kind == "running":
        level = rng.uniform(max(u.off + 0.8, 8.5), max(u.on, 10.0) + 1)
        return np.full_like(t, level), np.ones_like(t, bool), np.full_like(t, 9.0)
    vcc, run = np.zeros_like(t), np.zeros_like(t, bool)
    if kind == "sweep":
        top = u.on + rng.uniform(0.5, 3)
        phase = np.mod((t - t[0]) / span * rng.integers(1, 3), 1.0)
        vcc = top * np.clip(np.minimum(phase, 1 - phase) * 2 * rng.uniform(1.0, 1.15), 0, 1)
    state, at, since = False, 0.0, np.full_like(t, -1.0)
    step, v = t[1] - t[0], 0.0
    climb = u.on / (span * rng.uniform(0.15, 0.45))
    takes_over = kind == "start"
    fall = (u.on - u.off) / (span * rng.uniform(0.05, 0.12))
    settled, soft = u.off + rng.uniform(0.8, 3.0), span * rng.uniform(0.01, 0.04)
    for i in range(len(t)):
        if kind != "sweep":
            if not state:
                v += climb * step
            elif takes_over and t[i] - at > soft:
                v += (settled - v) * min(1.0, step / soft)
            else:
                v -= fall * step
            vcc[i] = v
        if not state and vcc[i] >= u.on:
            state, at = True, t[i]
        elif state and vcc[i] < u.off:
            state = False
        run[i] = state
        since[i] = t[i] - at if state else -1.0
    return vcc, run, since


def channel(role, u, t, vcc, run, since, rng, dead):
    """True volts of a role."""
    cycle = np.mod(t * u.f_osc + u.phase, 1.0)
    period = u.divide / u.f_osc
    out_phase = np.mod((t * u.f_osc + u.phase) / u.divide, 1.0)
    on = u.duty * u.rise / u.divide
    pulse = np.clip((out_phase - 0.0) / 0.008, 0, 1) * np.clip((on - out_phase) / 0.008, 0, 1)
    top = np.maximum(vcc - u.drop, 0)
    span = t[-1] - t[0]
    if role == "vcc":
        return vcc
    if dead:
        return np.full_like(t, rng.uniform(-0.02, 0.1))
    if role == "vref":
        return np.where(run, u.vref * np.clip(since / max(span * 1e-4, 1e-5), 0, 1), 0.02)
    if role == "rtct":
        up = u.valley + (u.peak - u.valley) * (cycle / u.rise) ** rng.uniform(0.75, 0.95)
        down = u.peak - (u.peak - u.valley) * (cycle - u.rise) / (1 - u.rise)
        return np.where(run, np.where(cycle < u.rise, up, down), 0.0)
    if role == "out":
        return np.where(run, 0.1 + (top - 0.1) * pulse, 0.05)
    if role == "gate":
        late = np.mod(out_phase - u.delay / 2, 1.0)
        shape = np.where(late < on, 1 - np.exp(-late / u.delay), np.exp(-(late - on) / u.delay))
        return np.where(run, 0.1 + (top - 0.1) * shape, 0.03)
    if role == "cs":
        inside = (out_phase < on) * (u.ramp_start + (1 - u.ramp_start) * out_phase / on)
        return np.where(run, u.cs * inside, 0.0)
    if role == "comp":
        if span / period < 5000:
            return np.full_like(t, rng.uniform(1.2, 4.2)) + 0.03 * np.sin(t / span * 9)
        level = u.clamp if rng.random() < 0.5 else rng.uniform(1.5, 4.2)
        settle = np.exp(-np.clip(since, 0, None) / (0.1 * span))
        return np.where(run, level + (u.clamp - level) * settle, 0.0)
    if role == "fb":
        if rng.random() < 0.3:
            return np.full_like(t, 0.0)
        return np.where(run, rng.uniform(2.45, 2.55), 0.0)
    if role == "aux":
        return np.where(run, np.where(out_phase < on, -u.reverse, np.where(out_phase < 0.9, u.aux, 0)), 0.0)
    if role == "bulk":
        return u.bulk * (1 - 0.05 * np.mod(t * 100, 1.0))
    if role == "output":
        return np.where(run, u.out * (1 - np.exp(-np.clip(since, 0, None) / (0.01 * span))), 0.0)
    amplitude = rng.uniform(0.2, 20)  # hum on a floating probe
    return amplitude * np.sin(2 * np.pi * 50 * t + u.phase) + 0.1 * amplitude * np.sin(300 * np.pi * t)


SLOW = ["vcc", "vref", "rtct", "out", "gate", "cs", "comp", "fb", "bulk", "output", "aux", "none"]
WEIGHT = {"sweep": [9, 8, 4, 3, 1, 1, 2, 1, 0, 0, 0, 1], "start": [9, 6, 2, 2, 1, 1, 2, 1, 2, 3, 0.5, 1],
          "hiccup": [9, 5, 2, 2, 1, 1, 1, 1, 2, 2, 0.5, 1], "running": [3, 1, 6, 8, 2.5, 4, 2, 2, 1, 1, 2, 1]}


def scope(volts, rng):
    span = max(np.ptp(np.append(volts, 0)), 0.05)
    division = next(s for e in range(-3, 4) for d in (1, 2, 5) if (s := d * 10.0**e) * 7.4 >= span)
    seen = volts * rng.uniform(0.98, 1.02) + rng.uniform(-0.1, 0.1) * division
    seen = seen + rng.normal(0, rng.uniform(0.003, 0.03) * division, len(volts))
    lsb = 8 * division / 256
    return np.round(seen / lsb) * lsb


def shot(rng):
    kind = str(rng.choice(list(WEIGHT), p=[0.3, 0.2, 0.1, 0.4]))
    u = Unit(rng)
    number = int(rng.choice([1, 2, 3, 4], p=[0.15, 0.45, 0.2, 0.2]))
    weights = np.array(WEIGHT[kind], float)
    roles = [str(r) for r in rng.choice(SLOW, number, replace=False, p=weights / weights.sum())]
    count = int(rng.integers(2000, 5000))
    span = rng.uniform(6, 60) / u.f_osc * u.divide if kind == "running" else 10 ** rng.uniform(-0.3, 1.3)
    t = np.arange(count) * (span / count)
    vcc, run, since = supply(u, rng, kind, t)
    dead = rng.random() < 0.08
    peak_detect = kind != "running" and rng.random() < 0.25
    own = t + (rng.uniform(0, 1, count) * span / count if peak_detect else 0.0)
    columns, truth = [], []
    for role in roles:
        volts = channel(role, u, own, vcc, run, since, rng, dead)
        if peak_detect and role in ("out", "gate", "cs", "rtct", "aux"):
            pairs = volts[: count // 2 * 2].reshape(-1, 2)
            ends = {"out": (0.1, 1), "gate": (0.1, 1), "cs": (0.0, u.cs), "rtct": (u.valley, u.peak),
                    "aux": (-u.reverse, u.aux)}[role]
            scale = np.maximum(vcc - u.drop, 0)[::2][: len(pairs)] if role in ("out", "gate") else 1.0
            runs = run[::2][: len(pairs)]
            volts = volts.copy()
            volts[0 : 2 * len(pairs) : 2] = np.where(runs, ends[0], 0.0)
            volts[1 : 2 * len(pairs) : 2] = np.where(runs, ends[1] * scale, 0.0)
        factor = float(rng.choice([0.1, 10.0])) if rng.random() < 0.05 else 1.0
        columns.append(scope(volts * factor, rng))
        flat = np.ptp(volts) < 0.3 and abs(np.mean(volts)) < 0.3
        truth.append({"role": "none" if flat else role, "factor": factor})
    names = [f"CH{i + 1}" for i in rng.permutation(4)[:number]]
    if rng.random() < 0.1:
        names = [str(rng.choice(["A", "probe", "VCC", "VREF", "CS", "trace"])) + str(i) for i in range(number)]
    head = ",".join(["Time (s)"] + [f"{n} (V)" for n in names])
    rows = "\n".join(",".join(["%.9e" % a] + ["%.5g" % v for v in r])
                     for a, *r in zip(t.tolist(), *[c.tolist() for c in columns]))
    return head + "\n" + rows + "\n", kind, truth


def ask(binary, folder):
    done = subprocess.run([binary, "inspect", str(folder), "--json"], capture_output=True, text=True, check=False)
    return json.loads(done.stdout)


def gather(binary, count, seed, keep):
    """(true role, factor, role said, confidence, factor offered, kind, reason) of each channel."""
    rng, found, refused = np.random.default_rng(seed), [], 0
    for first in range(0, count, BATCH):
        with tempfile.TemporaryDirectory(dir=keep) as folder:
            truths = {}
            for i in range(first, min(first + BATCH, count)):
                text, kind, truth = shot(rng)
                pathlib.Path(folder, f"s{i:05}.csv").write_text(text, encoding="utf-8")
                truths[f"s{i:05}.csv"] = (kind, truth)
            said = ask(binary, folder)
            refused += len(said["errors"])
            for run in said["files"]:
                kind, truth = truths[pathlib.Path(run["file"]).name]
                for c, true in zip(run["captures"][0]["channels"], truth):
                    offer = c["factor_offer"] and c["factor_offer"]["factor"]
                    found.append((true["role"], true["factor"], c["role"], c["role_confidence"], offer, kind,
                                  c["role_reason"]))
    return found, refused


def report(found, refused):
    told = [f for f in found if f[2]]
    def right(f):
        return f[0] == f[2] and f[1] == 1.0
    print(f"{len(found)} channels, {refused} files refused; told {len(told)} ({len(told) / len(found):.1%}), "
          f"wrong {sum(not right(f) for f in told)} ({sum(not right(f) for f in told) / max(len(told), 1):.2%} of told)")
    print("confidence        count   right")
    for low, high in zip(BINS, BINS[1:]):
        here = [right(f) for f in told if low <= (f[3] or 0) < high]
        if here:
            print(f"{low:5.3f} to {min(high, 1):5.3f}  {len(here):6}  {np.mean(here):6.3f}")
    sure = [right(f) for f in told if (f[3] or 0) >= 0.9]
    print(f"0.9 and more    {len(sure):6}  {np.mean(sure) if sure else float('nan'):6.3f}")
    print("true role   channels  told  wrong")
    for role in SLOW:
        own = [f for f in found if f[0] == role and f[1] == 1.0]
        said = [f for f in own if f[2]]
        wrong = [f for f in said if not right(f)]
        if own:
            print(f"{role:10} {len(own):8} {len(said) / len(own):6.1%} {len(wrong) / len(own):6.1%}")
    print("said role and confidence: count, right")
    pairs = collections.defaultdict(list)
    for f in told:
        pairs[(f[2], f[3] and round(f[3], 3))].append(right(f))
    for key, hits in sorted(pairs.items(), key=str):
        print(f"  {key[0]:8} {key[1]}  {len(hits):5}  {np.mean(hits):.3f}")
    print("taken for (true, factor, said):")
    for key, n in collections.Counter((f[0], f[1], f[2], f[5]) for f in told if not right(f)).most_common(30):
        print(f"  {n:5}  {key}")
    wrong = [f for f in found if f[1] != 1.0 and f[0] in ("vcc", "vref", "rtct")]
    met = [f for f in wrong if f[4] and abs(f[4] * f[1] - 1) < 1e-9]
    false = [f for f in found if f[4] and not abs(f[4] * f[1] - 1) < 1e-9]
    print(f"probe factor wrong on VCC, VREF, RT/CT: {len(wrong)}, offered rightly {len(met)}; "
          f"wrong offers in all: {len(false)} {collections.Counter((f[0], f[1], f[4], f[5]) for f in false).most_common(5)}")


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("binary")
    parser.add_argument("--count", type=int, default=1500)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--keep", default=None)
    given = parser.parse_args()
    report(*gather(given.binary, given.count, given.seed, given.keep))


if __name__ == "__main__":
    main()
