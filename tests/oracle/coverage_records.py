"""Records drawn at random: what is on the pins, how the scope saw it, what is true."""

import math

import numpy as np

import coverage_scope as scope
import coverage_truth as truth
import coverage_waves as waves

SHAPES = {"straight": waves.straight, "smooth": waves.smooth, "charging": waves.charging}
WIDE = scope.Accuracy(0.02, 0.02)
FINE = scope.Accuracy(0.001, 0.002)


class Record:
    """One shot: its table and its truths."""

    def __init__(self, rng, step_s, count):
        self.rng, self.count = rng, count
        self.step = float(f"{step_s:.3g}")
        self.time_base = scope.draw_time_base(rng)
        self.step_s = self.step * (1.0 + self.time_base)
        self.span_s = self.step_s * (count - 1)
        self.channels, self.told, self.waves = [], {}, {}

    def add(self, channel):
        self.channels.append(channel)
        self.waves[channel.role] = channel.wave
        return channel

    def text(self):
        true_s = self.step_s * np.arange(self.count)
        seen = [c.record(self.rng, true_s) for c in self.channels]
        return scope.table(self.step, self.count, self.channels, [s[0] for s in seen], [s[1] for s in seen])

    def options(self, setup):
        words = ["--setup", setup]
        for number, channel in enumerate(self.channels, 1):
            words += ["--role", f"{number}={channel.role}", "--accuracy", f"{number}={channel.accuracy.text}"]
        return words


def near(rng, value, by):
    return float(value * rng.uniform(1.0 - by, 1.0 + by))


def channel_of(p, role, wave, span, accuracy=None):
    return scope.Channel(role, wave, span, accuracy or p["accuracy"], p["bits"], p["noise"], p["scale"])


def edge(rng, p, word, step_s):
    """A transition as the stratum wants it, its duration in samples."""
    low, high = p[word]
    duration = step_s * math.exp(rng.uniform(math.log(low), math.log(high)))
    if p["shape"] == "ringing":
        return waves.ringing(duration, float(rng.uniform(*p["damping"])))
    return SHAPES[p["shape"]](duration)


def timing(rng, p):
    """Step and count of the record, and the OUT period that goes with them."""
    period = near(rng, p["period"], 0.06)
    step = p["period"] / p["spc"] * float(rng.choice([0.97, 1.0, 1.03]))
    if p["locked"]:  # nearly a whole number of samples a cycle: every cycle is seen at the same places
        step = float(f"{step:.3g}")
        period = step * p["spc"] * (1.0 + float(rng.choice([-1.0, 1.0])) * 10.0 ** float(rng.uniform(-6.0, -3.0)))
    count = int(np.clip(p["cycles"] * p["spc"], p["least_rows"], 9000))
    return period, step, count


def running(rng, p):
    """The common part of all strata that switch: clock, OUT and the instants of its pulses."""
    period, step, count = timing(rng, p)
    record = Record(rng, step, count)
    divide = p["divide"]
    clock = waves.Clock(rng, period / divide, record.span_s * 1.02 + 4.0 * period,
                        p["jitter"] * period / divide, p["jitter_kind"])
    at = clock.every(divide)
    duty = near(rng, p["duty"], 0.02)
    rises, falls = at[:-1], at[:-1] + duty * np.diff(at)
    return record, clock, rises, falls, period, duty


def drop(rng, record, rises, falls, wanted):
    """Takes pulses away from between the first and the last in the record."""
    inside = np.flatnonzero((rises > 0.0) & (falls < record.span_s))
    gone = rng.choice(inside[2:-2], size=wanted, replace=False)
    return np.delete(rises, gone), np.delete(falls, gone)


def drive(rng, p):
    """OUT, and with it what the stratum asks for: ramp, VCC, gate, VREF."""
    record, clock, rises, falls, period, duty = running(rng, p)
    missing = int(rng.integers(1, 6)) if p["missing"] else 0
    if missing:
        rises, falls = drop(rng, record, rises, falls, missing)
    vcc = float(rng.uniform(11.5, 16.0))
    fall_off = float(rng.uniform(0.0, 0.2) if p["cmos"] else rng.uniform(1.2, 1.9))
    low, high = float(rng.uniform(0.02, 0.35)), vcc - fall_off
    rise, fall = edge(rng, p, "rise", record.step_s), edge(rng, p, "fall", record.step_s)
    train = waves.Train(rises, falls, low, high, rise, fall)
    margin = (high - low) * max(rise.overshoot, fall.overshoot)
    out = record.add(channel_of(p, "out", train, (low - margin - 0.1, high + margin + 0.4)))
    record.told |= truth.pulses(record, "out", train, period, duty, clock, p["divide"], out, missing)
    if missing:
        del record.told["out_duty_cycle"]  # whether empty cycles count is not said
        record.told["out_frequency"].within_reach = False  # that of the clock, or none
    if "rtct" in p["roles"]:
        add_ramp(rng, p, record, clock)
        record.told |= truth.ratio(record.told)
    if "vcc" in p["roles"]:
        add_vcc(rng, p, record, vcc, rises, high)
    if "gate" in p["roles"]:
        add_gate(rng, p, record, clock, train, period, duty)
    if "cs" in p["roles"]:
        add_sense(rng, p, record, rises, falls)
    return record


def add_ramp(rng, p, record, clock):
    """RT, CT and levels so that the ramp has the period of the clock."""
    reference = float(rng.uniform(4.9, 5.1))
    peak, valley = near(rng, 2.7, 0.04), near(rng, 1.05, 0.08)
    share = p["fall_share"]
    unit = math.log((reference - valley) / (reference - peak))
    # discharge so strong that the fall takes `share` of the period, found by halving
    low, high = -1e4, valley - 1e-3
    for _ in range(200):
        middle = 0.5 * (low + high)
        fall = math.log((peak - middle) / (valley - middle))
        low, high = (middle, high) if fall / (fall + unit) < share else (low, middle)
    target = 0.5 * (low + high)
    tau = clock.period * (1.0 - share) / unit
    if p["leak"]:  # a leak across CT: the same shape, headed for less
        reference = float(rng.uniform(3.3, 4.5))
        tau = clock.period * (1.0 - share) / math.log((reference - valley) / (reference - peak))
        low, high = -1e4, valley - 1e-3
        for _ in range(200):
            middle = 0.5 * (low + high)
            fall = tau * math.log((peak - middle) / (valley - middle))
            low, high = (middle, high) if fall < share * clock.period else (low, middle)
        target = 0.5 * (low + high)
    wave = waves.Ramp(clock, reference, target, valley, peak, tau)
    channel = record.add(channel_of(p, "rtct", wave, (valley - 0.1, peak + 0.15)))
    record.told |= truth.ramp(record, wave, channel, p["leak"])
    if "vref" in p["roles"]:
        add_vref(rng, p, record, reference, 0.0, 0.0)


def add_vcc(rng, p, record, vcc, rises, high):
    tau = near(rng, 0.15, 0.5) * p["period"]
    dip = float(rng.uniform(*p["dip"]))
    ripple = float(rng.uniform(*p["ripple"]))
    hertz = float(rng.uniform(5.0, 9.0)) / record.span_s
    wave = waves.Dips(vcc, rises, dip, tau, ripple, hertz, float(rng.uniform(0.0, 6.28)))
    mean, lowest, highest = truth.dense(wave, 0.0, record.span_s)
    channel = record.add(channel_of(p, "vcc", wave, (lowest - 0.3, highest + 0.3) if p["zoom"] else (0.0, highest + 1.0)))
    told = record.told
    told["vcc_mean"] = truth.Truth(mean)
    told["vcc_ripple"] = truth.Truth(highest - lowest, highest - lowest > 8.0 * channel.noise_v, at_zero=dip + ripple == 0.0)
    told["out_headroom"] = truth.Truth(mean - high)
    if dip > 0.0 and ripple == 0.0:
        told["vcc_dip"] = truth.Truth(mean - lowest, dip > 5.0 * channel.noise_v and tau > 4.0 * record.step_s)


def add_gate(rng, p, record, clock, out, period, duty):
    delay = float(rng.uniform(0.2, 6.0)) * record.step_s
    rise, fall = edge(rng, p, "gate_rise", record.step_s), edge(rng, p, "gate_rise", record.step_s)
    stretch = float(rng.uniform(0.0, 2.0)) * record.step_s
    low, high = float(rng.uniform(0.0, 0.2)), out.high - float(rng.uniform(0.0, 0.3))
    train = waves.Train(out.rises + delay, out.falls + delay + stretch, low, high, rise, fall)
    margin = (high - low) * max(rise.overshoot, fall.overshoot)
    channel = record.add(channel_of(p, "gate", train, (low - margin - 0.1, high + margin + 0.4)))
    duty += stretch / period
    record.told |= truth.pulses(record, "gate", train, period, duty, clock, p["divide"], channel)
    record.told["gate_delay"] = truth.Truth(delay, timed=1)


def add_sense(rng, p, record, rises, falls):
    width = float(np.mean(falls - rises))
    peak = float(rng.uniform(0.6, 1.0))
    pedestal = float(rng.uniform(0.2, 0.6)) * peak if p["pedestal"] else 0.0
    tau = float(rng.uniform(0.02, 0.08)) * width
    spike = float(rng.uniform(0.3, 1.2)) if p["spike"] else 0.0
    wave = waves.Sense(rises, falls, pedestal, (peak - pedestal) / width, tau, spike, 0.55 * tau)
    _, lowest, highest = truth.dense(wave, 0.0, record.span_s, 100_001)
    record.add(channel_of(p, "cs", wave, (lowest - 0.05, highest + 0.1)))
    whole = (rises > 0.0) & (falls < record.span_s)
    record.told |= truth.sense(wave, (falls - rises)[whole], record.step_s)


def add_vref(rng, p, record, reference, ripple, droop):
    hertz = float(rng.uniform(5.0, 12.0)) / record.span_s

    def wave(t):
        return reference + 0.5 * ripple * np.sin(2.0 * math.pi * hertz * t) - droop * (t / record.span_s - 0.5)

    mean, lowest, highest = truth.dense(wave, 0.0, record.span_s)
    channel = record.add(channel_of(p, "vref", wave, (lowest - 0.1, highest + 0.1) if p["zoom"] else (0.0, highest + 0.5)))
    tenth = record.span_s / 10.0
    first, last = truth.dense(wave, 0.0, tenth)[0], truth.dense(wave, 9.0 * tenth, 10.0 * tenth)[0]
    height = highest - lowest
    record.told |= {"vref_voltage": truth.Truth(mean),
                    "vref_ripple": truth.Truth(height, height > 8.0 * channel.noise_v, at_zero=height == 0.0),
                    "vref_droop": truth.Truth(first - last, droop != 0.0 or ripple == 0.0)}


def reference(rng, p):
    """VREF beside OUT while it runs."""
    record, clock, rises, falls, period, duty = running(rng, p)
    train = waves.Train(rises, falls, 0.1, 12.5, edge(rng, p, "rise", record.step_s), edge(rng, p, "fall", record.step_s))
    out = record.add(channel_of(p, "out", train, (0.0, 13.0)))
    record.told |= truth.pulses(record, "out", train, period, duty, clock, p["divide"], out)
    add_vref(rng, p, record, float(rng.uniform(4.7, 5.2)), float(rng.uniform(*p["ripple"])), float(rng.uniform(*p["droop"])))
    return record


def control(rng, p):
    """COMP and FB beside OUT."""
    record, clock, rises, falls, period, duty = running(rng, p)
    train = waves.Train(rises, falls, 0.1, 12.5, edge(rng, p, "rise", record.step_s), edge(rng, p, "fall", record.step_s))
    out = record.add(channel_of(p, "out", train, (0.0, 13.0)))
    record.told |= truth.pulses(record, "out", train, period, duty, clock, p["divide"], out)
    for role, level in (("comp", float(rng.uniform(1.5, 4.2))), ("fb", float(rng.uniform(0.0, 2.5)))):
        height, hertz = float(rng.uniform(*p["ripple"])), float(rng.uniform(3.0, 8.0)) / record.span_s

        def wave(t, level=level, height=height, hertz=hertz):
            return level + 0.5 * height * np.sin(2.0 * math.pi * hertz * t)

        record.add(channel_of(p, role, wave, (min(0.0, level) - 0.2, level + 0.6)))
        record.told[f"{role}_level"] = truth.Truth(truth.dense(wave, 0.0, record.span_s)[0])
    return record


def mains(rng, p):
    """Bulk voltage or output voltage over several mains cycles, beside a steady VCC."""
    record = Record(rng, p["span"] / p["rows"] * float(rng.choice([0.97, 1.0, 1.03])), p["rows"])
    mean, height = float(rng.uniform(*p["mean"])), float(rng.uniform(*p["ripple"]))
    hertz = p["hertz"] * float(rng.uniform(0.998, 1.002))
    conduction, phase = float(rng.uniform(0.15, 0.35)), float(rng.random())

    def wave(t):
        return waves.crest(t, hertz, mean, height, conduction, phase)

    average, lowest, highest = truth.dense(wave, 0.0, record.span_s)
    channel = record.add(channel_of(p, p["roles"][0], wave, (lowest - 0.1 * mean, highest + 0.1 * mean) if p["zoom"]
                                    else (0.0, highest * 1.05), p["own_accuracy"]))
    vcc = float(rng.uniform(12.0, 15.0))
    record.add(channel_of(p, "vcc", lambda t: np.full_like(t, vcc), (0.0, 18.0), WIDE))
    seen = height > 8.0 * channel.noise_v
    if p["roles"][0] == "bulk":
        error = channel.noise_v / (height / 2.3) * math.sqrt(6.0 / record.count) / (math.pi * record.span_s)
        record.told = {"bulk_voltage": truth.Truth(average), "bulk_ripple": truth.Truth(highest - lowest, seen),
                       "bulk_ripple_frequency": truth.Truth(hertz, seen, error, timed=-1)}
    else:
        last = truth.dense(wave, 0.8 * record.span_s, record.span_s)[0]
        record.told = {"output_voltage": truth.Truth(last), "output_ripple": truth.Truth(highest - lowest, seen)}
    record.told["vcc_mean"] = truth.Truth(vcc)
    return record


def sweep(rng, p):
    """VCC up and down by hand, VREF present while the controller runs; it droops as it warms."""
    rows = p["rows"]
    record = Record(rng, p["span"] / rows * float(rng.choice([0.97, 1.0, 1.03])), rows)
    start, stop = near(rng, 16.0, 0.05), near(rng, 10.0, 0.08)
    top, span = start + float(rng.uniform(0.8, 2.0)), record.span_s
    rate = 2.0 * top / span
    on, off = start / rate, span - stop / rate
    level, droop = float(rng.uniform(4.8, 5.2)), float(rng.uniform(*p["droop"]))
    height, hertz = float(rng.uniform(*p["ripple"])), float(rng.uniform(20.0, 40.0)) / span

    def vref(t):
        running_ = (t >= on) & (t < off)
        slow = level + 0.5 * height * np.sin(2.0 * math.pi * hertz * t) - droop * (t - on) / (off - on)
        return np.where(running_, slow, np.where(t >= off, level * np.exp(-np.maximum(t - off, 0.0) / 4e-4), 0.0))

    record.add(channel_of(p, "vcc", lambda t: top - rate * np.abs(t - 0.5 * span), (0.0, top + 0.5)))
    channel = record.add(channel_of(p, "vref", vref, (-0.2, level + 0.5)))
    inside = on + 1e-9 * span, off - 1e-9 * span
    mean, lowest, highest = truth.dense(vref, *inside)
    tenth = 0.1 * (off - on)
    first = truth.dense(vref, inside[0], inside[0] + tenth)[0]
    last = truth.dense(vref, inside[1] - tenth, inside[1])[0]
    record.told = {"start_threshold": truth.Truth(start), "stop_threshold": truth.Truth(stop),
                   "hysteresis": truth.Truth(start - stop), "starts_per_sweep": truth.Truth(1.0, at_zero=True),
                   "vref_voltage": truth.Truth(mean), "vref_droop": truth.Truth(first - last),
                   "vref_off_voltage": truth.Truth(0.0),
                   "vref_ripple": truth.Truth(highest - lowest, highest - lowest > 8.0 * channel.noise_v,
                                              at_zero=highest == lowest)}
    return record


KINDS = {"drive": drive, "reference": reference, "control": control, "mains": mains, "sweep": sweep}


def make(stratum, seed, number):
    """Record `number` of a stratum: the same for the same seed."""
    name = int.from_bytes(stratum["name"].encode(), "little") % 2**61
    rng = np.random.default_rng([seed, name, number])
    return KINDS[stratum["kind"]](rng, stratum)
