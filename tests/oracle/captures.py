"""Captures of modelled units as a scope would store them, each with its truth.

    python3 captures.py outside DIR    writes the small committed set into DIR
    python3 captures.py many DIR N S   writes N random captures from seed S into DIR

Scope errors, each drawn anew for every channel: gain within ±2 % and offset within ±0.1 division,
both rectangular; Gaussian noise; 8 to 12 bits over 8 divisions; values beyond the screen clip.
Truth is what the analogue waveform did before these errors.
"""

import json
import math
import pathlib
import sys

import numpy as np

import units

DIVISIONS = 8


# ---------------------------------------------------------------- scope


def volts_per_division(span):
    for exponent in range(-3, 4):
        for digit in (1.0, 2.0, 5.0):
            step = digit * 10.0**exponent
            if step * DIVISIONS * 0.92 >= span:
                return step
    return 1000.0


def digitise(rng, volts, bits, kept_in_view):
    """Values as stored, and the errors that they got."""
    low, high = min(0.0, float(kept_in_view[0])), float(kept_in_view[1])
    division = volts_per_division((high - low) * 1.03)
    if rng.random() < 0.2:
        division = volts_per_division(division * DIVISIONS * 0.95)
    room = DIVISIONS - (high - low) / division
    bottom = (math.floor(low / division * 2) / 2 - rng.integers(0, max(int(room * 2) - 1, 1)) * 0.25) * division
    gain = float(rng.uniform(0.98, 1.02))
    offset = float(rng.uniform(-0.1, 0.1) * division)
    noise = float(rng.uniform(0.0008, 0.004) * DIVISIONS * division)
    lsb = DIVISIONS * division / 2**bits
    seen = volts * gain + offset + rng.normal(0.0, noise, len(volts))
    codes = np.clip(np.round((seen - bottom) / lsb), 0, 2**bits - 1)
    errors = {"bits": bits, "gain": gain, "lsb_v": lsb, "noise_v": noise, "offset_v": offset,
              "volts_per_division": division}
    return bottom + codes * lsb, lsb, errors


# ---------------------------------------------------------------- CSV


DIALECTS = ("comma", "semicolon", "tab", "comma-units-row", "semicolon-units-row")


def csv_text(rng, dialect, start_s, step_s, names, columns, lsbs):
    split = {"c": ",", "s": ";", "t": "\t"}[dialect[0]]
    comma = dialect.startswith("semicolon")
    time_scale, time_unit = (1e3, "ms") if rng.random() < 0.2 else (1.0, "s")
    volt_scale, volt_unit = (1e3, "mV") if rng.random() < 0.12 else (1.0, "V")
    if dialect.endswith("units-row"):
        open_, close = ("(", ")") if rng.random() < 0.5 else ("", "")
        head = [split.join(["Time", *names]),
                split.join(f"{open_}{u}{close}" for u in [time_unit] + [volt_unit] * len(names))]
    else:
        open_, close = ("(", ")") if rng.random() < 0.5 else ("[", "]")
        head = [split.join([f"Time {open_}{time_unit}{close}", *(f"{n} {open_}{volt_unit}{close}" for n in names)])]
    count = len(columns[0])
    if rng.random() < 0.5:
        spread = max(abs(start_s), abs(start_s + step_s * count)) / step_s
        digits = max(5, math.ceil(math.log10(spread)) + 2)
        time_form = f"%.{digits}e"
    else:
        time_form = f"%.{max(0, math.ceil(-math.log10(step_s * time_scale)) + 3)}f"
    forms = [f"%.{max(0, math.ceil(-math.log10(lsb * volt_scale)) + 1)}f" for lsb in lsbs]
    row = split.join([time_form, *forms])
    table = np.column_stack([(start_s + step_s * np.arange(count)) * time_scale,
                             *(c * volt_scale for c in columns)])
    body = "\n".join(row % tuple(r) for r in table.tolist())
    if comma:
        body = body.replace(".", ",")
    return "\n".join(head) + "\n" + body + "\n"


# ---------------------------------------------------------------- what is recorded


def nice_step(rng, wanted):
    """A sample interval near `wanted`, as scopes have them or odd."""
    exponent = math.floor(math.log10(wanted))
    mantissa = wanted / 10.0**exponent
    if rng.random() < 0.6:
        options = [1.0, 2.0, 2.5, 4.0, 5.0, 8.0, 10.0]
        mantissa = min(options, key=lambda m: abs(math.log(m / mantissa)))
    return round(mantissa, 3) * 10.0**exponent


def sample_count(rng, small, least=1000):
    if small:
        return int(rng.integers(max(least, 1000), max(least, 1000) + 500))
    return int(10 ** rng.uniform(math.log10(max(least, 1000)), math.log10(200_000)))


def draw_timing(rng, c, low_hz=25e3, high_hz=250e3):
    """RT and CT, with the sink able to end the ramp well."""
    while True:
        rt = float(rng.choice([4.7e3, 6.8e3, 8.2e3, 10e3, 13e3, 15e3, 22e3, 33e3]) * rng.uniform(0.98, 1.02))
        ct = float(rng.choice([470e-12, 1e-9, 1.5e-9, 2.2e-9, 3.3e-9, 4.7e-9]) * rng.uniform(0.95, 1.05))
        if low_hz < 1.8 / (rt * ct) < high_hz:
            return rt, ct


ROLES = {
    "sweep": [(["vcc", "vref"], 5), (["vcc", "rtct"], 3), (["vcc", "out"], 1), (["vcc", "vref", "rtct"], 2),
              (["vcc", "vref", "out"], 2), (["vcc", "vref", "rtct", "out"], 2)],
    "start": [(["vcc", "vref"], 5), (["vcc", "out"], 2), (["vcc", "rtct"], 1), (["vcc", "vref", "out"], 2),
              (["vcc", "vref", "rtct", "out"], 1)],
    "running": [(["rtct", "out"], 5), (["vcc", "rtct", "out"], 2), (["vcc", "out"], 2), (["out", "gate"], 1),
                (["vcc", "vref", "rtct", "out"], 2), (["rtct", "out", "gate"], 1)],
}


def draw_roles(rng, kind):
    choices, weights = zip(*ROLES[kind])
    weights = np.array(weights, float)
    roles = list(choices[int(rng.choice(len(choices), p=weights / weights.sum()))])
    rng.shuffle(roles)
    return roles


def draw_names(rng, count):
    numbers = sorted(rng.choice(np.arange(1, 5), size=count, replace=False).tolist())
    return [f"CH{n}" for n in numbers]


def waveforms(roles, t, history, pins):
    vcc = history.vcc(t)
    made = {"vcc": lambda: vcc, "vref": lambda: pins.vref(t), "rtct": lambda: pins.ramp(t),
            "out": lambda: pins.out(t, vcc), "gate": lambda: pins.gate(t, vcc)}
    return [made[role]() for role in roles]


def views(c, roles, vcc_top):
    """What a careful user keeps on the screen, by role."""
    top = {"vcc": vcc_top, "vref": 1.04 * c.vref_v, "rtct": 1.05 * c.peak_v,
           "out": vcc_top - c.out_drop_v, "gate": vcc_top - c.out_drop_v}
    return [(-0.02 * top[role], 1.03 * top[role]) for role in roles]


class Made:
    """A capture with its truth."""

    def __init__(self, text, truth):
        self.text, self.truth = text, truth


def finish(rng, c, setup, kind, roles, start_s, step_s, count, history, pins, vcc_top, events, quantities, notes):
    t = start_s + step_s * np.arange(count)
    bits = int(rng.choice([8, 8, 8, 10, 12]))
    columns, lsbs, channels = [], [], []
    names = draw_names(rng, len(roles))
    for role, name, volts, view in zip(roles, names, waveforms(roles, t, history, pins), views(c, roles, vcc_top)):
        stored, lsb, errors = digitise(rng, volts, bits, view)
        columns.append(stored)
        lsbs.append(lsb)
        channels.append({"name": name, "role": role, "scope": errors})
    dialect = str(rng.choice(DIALECTS))
    text = csv_text(rng, dialect, start_s, step_s, names, columns, lsbs)
    truth = {
        "channels": channels, "controller": c.marking, "dialect": dialect, "events": events,
        "kind": kind, "model": notes, "quantities": quantities, "samples": count, "setup": setup,
        "start_s": start_s, "step_s": step_s,
    }
    return Made(text, tidy(truth))


def tidy(value):
    if isinstance(value, dict):
        return {k: tidy(v) for k, v in value.items()}
    if isinstance(value, list):
        return [tidy(v) for v in value]
    if isinstance(value, float):
        return float(f"{value:.9g}")
    return value


def events_of(c, history, begin, end):
    found = [{"at_s": t, "vcc": c.start_v, "what": "start"} for t in history.starts if begin < t < end]
    found += [{"at_s": t, "vcc": c.stop_v, "what": "stop"} for t in history.stops if begin < t < end]
    return sorted(found, key=lambda e: e["at_s"])


def thresholds(c, events):
    out = {}
    starts = [e for e in events if e["what"] == "start"]
    stops = [e for e in events if e["what"] == "stop"]
    if starts:
        out["start_threshold"] = c.start_v
    if stops:
        out["stop_threshold"] = c.stop_v
    if starts and stops:
        out["hysteresis"] = c.start_v - c.stop_v
    return out, len(starts)


def slow_pins(c, roles):
    out = {}
    if "vref" in roles:
        out["vref_voltage"] = c.vref_v
    if "rtct" in roles:
        out |= {"ramp_peak": c.peak_v, "ramp_valley": c.valley_v, "ramp_amplitude": c.peak_v - c.valley_v}
    return out


# ---------------------------------------------------------------- kinds of capture


def sweep(rng, small=False, c=None, roles=None, timing=None):
    c = c or units.draw_controller(rng)
    roles = roles or draw_roles(rng, "sweep")
    sweeps = 1 if small else int(rng.integers(1, 5))
    rates = (0.7, 2.5) if rng.random() < 0.6 else (2.0, 8.0)
    history, span, vref_capacitor, ripple = units.injected(rng, c, rates, sweeps)
    rt, ct = timing or draw_timing(rng, c)
    pins = units.Pins(c, rt, ct, history.starts, history.stops, vref_capacitor, rng)
    pins.drift = True
    coarse = 0.05 / rates[1]  # at most 50 mV from sample to sample
    if ripple:
        coarse = min(coarse, 1e-3)
    least = int(span / coarse) + 1
    count = max(sample_count(rng, small), least)
    step = nice_step(rng, span / count)
    begin = -round(float(rng.uniform(0.0, 0.3)) * span / step) * step if rng.random() < 0.7 else 0.0
    count = max(int(span / step), 100)
    shift = shift_history(history, pins, begin)
    events = events_of(c, history, begin, begin + step * (count - 1))
    quantities, starts = thresholds(c, events)
    quantities |= slow_pins(c, roles)
    if starts:
        quantities["starts_per_sweep"] = 1.0
    notes = {"ct": ct, "ripple_amplitude_v": ripple, "rt": rt, "shift_s": shift}
    return finish(rng, c, "injected", "sweep", roles, begin, step, count, history, pins,
                  float(history.vcc(begin + step * np.arange(count)).max()), events, quantities, notes)


def shift_history(history, pins, by):
    """Moves everything on the time axis, so that the record starts at `by`."""
    original = list(history.pieces)
    history.pieces = [
        units.Piece(p.begin + by, p.end + by, lambda t, f=p.volts: f(t - by)) for p in original
    ]
    if history.ripple:
        ripple = history.ripple
        history.ripple = lambda t, v: ripple(t - by, v)
    history.starts = [t + by for t in history.starts]
    history.stops = [t + by for t in history.stops]
    pins.starts = pins.starts + by
    pins.stops = pins.stops + by
    return by


def start(rng, small=False):
    while True:
        c = units.draw_controller(rng)
        m, fault = units.draw_mains(rng, c)
        history = units.mains_start(c, m, 4.0)
        if history.starts:
            break
    first = history.starts[0]
    ticking = len(history.stops) > 0
    if math.isnan(history.takeover_s):
        period = history.starts[1] - history.starts[0] if len(history.starts) > 1 else 2 * first
        span = first + period * rng.uniform(3.2, 5.5)
        finest = (history.stops[0] - first) / 8 if ticking else period / 100
    else:
        span = history.takeover_s + first * rng.uniform(0.3, 1.0)
        finest = (history.takeover_s - first) / 8
    span = min(span, 3.9)
    before = span * rng.uniform(0.03, 0.15)
    least = int((span + before) / finest) + 1
    if small and least > 1500:
        return start(rng, small)
    count = max(sample_count(rng, small), min(least, 200_000))
    step = nice_step(rng, (span + before) / count)
    begin = -round(before / step) * step
    count = int((span + before) / step)
    roles = draw_roles(rng, "start")
    rt, ct = draw_timing(rng, c)
    pins = units.Pins(c, rt, ct, history.starts, history.stops, m.vref_capacitor, rng)
    pins.drift = True
    end = begin + step * (count - 1)
    events = events_of(c, history, begin, end)
    quantities, starts = thresholds(c, events)
    quantities |= slow_pins(c, roles)
    quantities |= start_quantities(c, history, events, starts, end, step, count, begin)
    top = max(float(history.vcc(begin + step * np.arange(count)).max()), c.start_v)
    notes = {"capacitor": m.capacitor, "fault": fault, "rt": rt, "ct": ct, "takeover_s":
             None if math.isnan(history.takeover_s) else history.takeover_s}
    return finish(rng, c, "mains", "start", roles, begin, step, count, history, pins, top, events, quantities, notes)


def start_quantities(c, history, events, starts, end, step, count, begin):
    out = {"start_attempts": float(starts)}
    on = [e["at_s"] for e in events if e["what"] == "start"]
    off = [e["at_s"] for e in events if e["what"] == "stop"]
    if on:
        out["first_start_delay"] = on[0]
    if len(on) > 1:
        out["hiccup_period"] = (on[-1] - on[0]) / (len(on) - 1)
    if len(on) > 1 and off:
        rest = [b - a for a, b in zip(off, on[1:])]
        burst = [b - a for a, b in zip(on, off)]
        out["hiccup_ratio"] = float(np.mean(rest) / np.mean(burst))
        out["charge_slope"] = float(np.mean([(c.start_v - c.stop_v) / r for r in rest]))
    if off:
        out["burst_slope"] = float(np.mean(
            [(c.stop_v - v) / (b - a) for v, a, b in zip(history.after_start_v, on, off)]))
    if history.takeover_s < end:
        t = np.linspace(on[-1] + 1e-9, history.takeover_s, 4000)
        out["start_margin"] = float(history.vcc(t).min()) - (c.stop_v if off else c.typical_stop_v)
        fifth = begin + step * np.arange(int(0.8 * count), count)
        if fifth[0] > history.takeover_s:
            out["vcc_settled"] = float(history.vcc(fifth).mean())
    return out


def running(rng, small=False):
    c = units.draw_controller(rng)
    rt, ct = draw_timing(rng, c)
    setup = "injected" if rng.random() < 0.7 else "mains"
    wide = c.start_v > 12
    vcc = float(rng.uniform(c.stop_v + 1.0, c.start_v + 1.0) if wide else rng.uniform(9.2, 14.0))
    history = units.History(pieces=[units.Piece(-math.inf, math.inf, lambda t: np.full_like(t, vcc))])
    pins = units.Pins(c, rt, ct, [-100.0 - float(rng.uniform(0, 1))], [], 0.47e-6, rng)
    roles = draw_roles(rng, "running")
    if setup == "mains":
        pins.regulate(pins.rise_s * float(rng.uniform(0.25, 0.8)))
    count = sample_count(rng, small)
    period = pins.period_s * c.divide
    densest = count / 6.0  # six OUT periods at least
    if "gate" in roles:
        pins.gate_tau_s = max(pins.gate_tau_s, 0.01 * pins.period_s)
    shortest = min(pins.on_s, period - pins.on_s) if "out" in roles else pins.on_s
    coarsest = max(25.0, 3.2 * period / shortest)  # a few samples in the shortest state
    if coarsest > densest:
        return running(rng, small)
    per_cycle = 10 ** rng.uniform(math.log10(coarsest), math.log10(max(min(densest, 2000.0), coarsest)))
    step = nice_step(rng, period / per_cycle)
    begin = -round(rng.uniform(0.0, 0.6) * count) * step
    quantities = running_quantities(c, roles, pins, vcc)
    notes = {"ct": ct, "per_cycle": period / step, "rt": rt}
    return finish(rng, c, setup, "running", roles, begin, step, count, history, pins, vcc, [], quantities, notes)


def running_quantities(c, roles, pins, vcc):
    out = slow_pins(c, roles)
    oscillator = 1 / pins.period_s
    high = vcc - c.out_drop_v
    if "vcc" in roles:
        out["vcc_mean"] = vcc
    if "rtct" in roles:
        out |= {"oscillator_frequency": oscillator, "ramp_fall_duration": pins.fall_s, "ramp_rise_duration": pins.rise_s}
    if "out" in roles:
        out |= {"out_duty_cycle": pins.out_duty(), "out_frequency": oscillator / c.divide,
                "out_high_level": high, "out_low_level": c.out_low_v}
    if "gate" in roles:
        out |= {"gate_duty_cycle": pins.gate_duty(), "gate_frequency": oscillator / c.divide,
                "gate_high_level": high, "gate_low_level": c.out_low_v}
    if "vcc" in roles and "out" in roles:
        out["out_headroom"] = c.out_drop_v
    if "rtct" in roles and "out" in roles:
        out["oscillator_to_out_ratio"] = float(c.divide)
    return out


KINDS = {"sweep": sweep, "start": start, "running": running}


def pair(rng):
    """Two sweeps of one unit, VCC with one pin each."""
    c = units.draw_controller(rng)
    timing = draw_timing(rng, c)
    others = ["vref", "rtct"]
    rng.shuffle(others)
    return [sweep(rng, c=c, roles=["vcc", other] if rng.random() < 0.5 else [other, "vcc"], timing=timing)
            for other in others]


# ---------------------------------------------------------------- writing


def save(folder, name, made):
    (folder / f"{name}.csv").write_text(made.text, encoding="utf-8", newline="\n")
    (folder / f"{name}.truth.json").write_text(json.dumps(made.truth, indent=1, sort_keys=True) + "\n")
    return {"file": f"{name}.csv", "kind": made.truth["kind"], "truth": f"{name}.truth.json"}


def outside(folder):
    """The committed set: small records, each kind, each dialect by chance."""
    folder.mkdir(parents=True, exist_ok=True)
    index = []
    for number in range(16):
        kind = ("sweep", "sweep", "start", "running")[number % 4]
        attempt = 0
        while True:
            rng = np.random.default_rng([20240, number, attempt])
            made = KINDS[kind](rng, small=True)
            if len(made.text) < 59_000 and wanted(number, made.truth):
                break
            attempt += 1
        index.append(save(folder, f"{kind}_{number:02}", made))
    (folder / "index.json").write_text(json.dumps(index, indent=1, sort_keys=True) + "\n")
    print(f"{len(index)} captures written")


def wanted(number, truth):
    """Variety: one sweep ends while it runs; two starts tick, two run on."""
    if truth["kind"] == "sweep":
        return (number == 8) == all(e["what"] == "start" for e in truth["events"])
    if truth["kind"] == "start":
        runs_on = truth["model"]["takeover_s"] is not None
        return runs_on == (number in (6, 14))
    return True


def many(count, seed):
    """Runs of one or two captures, endlessly different."""
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        kind = rng.choice(["sweep", "start", "running", "pair"], p=[0.36, 0.26, 0.28, 0.10])
        yield number, (pair(rng) if kind == "pair" else [KINDS[str(kind)](rng)])


def main():
    if len(sys.argv) >= 3 and sys.argv[1] == "outside":
        outside(pathlib.Path(sys.argv[2]))
    elif len(sys.argv) >= 5 and sys.argv[1] == "many":
        folder = pathlib.Path(sys.argv[2])
        folder.mkdir(parents=True, exist_ok=True)
        for number, run in many(int(sys.argv[3]), int(sys.argv[4])):
            for shot, made in enumerate(run, 1):
                save(folder, f"{number:03}_{shot}_{made.truth['kind']}", made)
    else:
        print(__doc__)
        return 2
    return 0


if __name__ == "__main__":
    sys.exit(main())
