"""Records that must not fool a measurement: each with what may be said of it, and what may not.

A quantity in `truth` may be given, and must then be right within u95; one in `never` must not be given.
"""

import math

import numpy as np

import coverage_scope as scope
import coverage_waves as waves
from coverage_records import FINE, WIDE

EDGES = ["frequency", "duty_cycle", "pulse_duration", "jitter", "rise_time", "fall_time", "overshoot", "undershoot"]
OUT = [f"out_{w}" for w in EDGES] + ["missing_pulses", "oscillator_to_out_ratio"]
OUT_LEVELS = ["out_high_level", "out_low_level", "out_headroom"]
GATE = ["gate_frequency", "gate_duty_cycle", "gate_rise_time", "gate_fall_time", "gate_overshoot", "gate_delay"]
RAMP_LEVELS = ["ramp_peak", "ramp_valley", "ramp_amplitude"]
RAMP = ["oscillator_frequency", "oscillator_jitter", "ramp_rise_duration", "ramp_fall_duration", "ramp_asymptote",
        "rt_ct_product", "ramp_discharge", "oscillator_to_out_ratio"]
OUT_TIMING = [q for q in OUT if "duty" not in q]


class Hostile:
    """One record with its channels and what it allows."""

    def __init__(self, rng, step, count, setup="injected"):
        self.rng, self.step, self.count = rng, step, count
        self.time_base = scope.draw_time_base(rng)
        self.step_s = step * (1.0 + self.time_base)
        self.span_s = self.step_s * (count - 1)
        self.channels, self.truth, self.never, self.not_dead, self.not_working = [], {}, [], [], []
        self.setup, self.layout, self.rows, self.pair = setup, [], None, False

    def add(self, role, wave, span, accuracy=WIDE, noise=1.0, bits=8):
        self.channels.append(scope.Channel(role, wave, span, accuracy, bits, noise))
        return self.channels[-1]

    def text(self):
        if self.pair:
            return self.pairs()
        true_s = self.step_s * np.arange(self.count)
        seen = [c.record(self.rng, true_s) for c in self.channels]
        text = scope.table(self.step, self.count, self.channels, [s[0] for s in seen], [s[1] for s in seen])
        if self.rows is not None:
            lines = text.splitlines()
            text = "\n".join([lines[0], *(lines[1 + i] for i in self.rows)]) + "\n"
        return text

    def pairs(self):
        """Lowest and highest of each interval, as a scope with peak detection stores them."""
        inside = 20
        fine_s = self.step_s / inside * np.arange(self.count * inside)
        head, columns = ["Time (s)"], []
        for number, channel in enumerate(self.channels, 1):
            codes, bottom = channel.record(self.rng, fine_s)
            volts = (bottom + codes * channel.code).reshape(self.count, inside)
            head += [f"CH{number} min (V)", f"CH{number} max (V)"]
            columns += [volts.min(axis=1), volts.max(axis=1)]
        rows = zip((i * self.step for i in range(self.count)), *columns)
        body = "\n".join(f"{t:.11e}," + ",".join(f"{v:.5f}" for v in rest) for t, *rest in rows)
        return ",".join(head) + "\n" + body + "\n"

    def options(self):
        words = ["--setup", self.setup, *(w for key in self.layout for w in ("--layout", key))]
        for number, channel in enumerate(self.channels, 1):
            words += ["--role", f"{number}={channel.role}", "--accuracy", f"{number}={channel.accuracy.text}"]
        return words


def flat(level):
    return lambda t: np.full_like(t, level)


def period_of(rng):
    return float(rng.uniform(10e-6, 20e-6))


def pulses(rng, h, period, duty, edge_s, low=0.1, high=12.5, damping=None, clock=None, shift=None):
    clock = clock or waves.Clock(rng, period, h.span_s * 1.05 + 3.0 * period)
    at = clock.at if shift is None else clock.at - clock.at[0] + shift
    step = waves.ringing(edge_s, damping) if damping else waves.straight(edge_s)
    return waves.Train(at[:-1], at[:-1] + duty * np.diff(at), low, high, step, step), clock


def triangle(rng, clock, fall=0.06):
    reference, peak, valley = 5.0, 2.7, 1.0
    rise_s = clock.period * (1.0 - fall)
    tau = rise_s / math.log((reference - valley) / (reference - peak))
    k = math.exp(clock.period * fall / tau)
    return waves.Ramp(clock, reference, (k * valley - peak) / (k - 1.0), valley, peak, tau)


def good_ramp(h, wave):
    h.truth |= {"oscillator_frequency": 1.0 / wave.clock.period, "ramp_peak": wave.peak, "ramp_valley": wave.valley,
                "ramp_amplitude": wave.peak - wave.valley, "ramp_rise_duration": wave.rise_s,
                "ramp_fall_duration": wave.fall_s, "ramp_asymptote": wave.reference, "rt_ct_product": wave.tau,
                "ramp_discharge": wave.reference - wave.target, "oscillator_jitter": 0.0}


def good_out(h, period, duty, edge_s, levels=(0.1, 12.5)):
    h.truth |= {"out_frequency": 1.0 / period, "out_duty_cycle": duty, "out_pulse_duration": duty * period,
                "out_jitter": 0.0, "out_rise_time": edge_s, "out_fall_time": edge_s, "missing_pulses": 0.0,
                "out_low_level": levels[0], "out_high_level": levels[1]}


# ---------------------------------------------------------------- nothing there


def noise_only(rng):
    h = Hostile(rng, float(rng.choice([1e-7, 2e-7, 1e-6])), 4000)
    for role, top in (("out", 15.0), ("rtct", 5.0)):
        h.add(role, flat(float(rng.uniform(0.0, 0.9)) * top), (0.0, top), noise=float(rng.uniform(0.3, 5.0)))
    h.never = OUT + OUT_LEVELS + RAMP + RAMP_LEVELS
    h.not_working = ["drive", "oscillator"]
    return h


def constant(rng):
    h = Hostile(rng, 2e-7, 3000)
    h.add("out", flat(float(rng.choice([0.0, 0.1, 12.0]))), (0.0, 15.0), noise=0.0)
    h.add("rtct", flat(float(rng.choice([0.0, 1.7, 5.0]))), (0.0, 5.5), noise=0.0)
    h.never = OUT + OUT_LEVELS + RAMP + RAMP_LEVELS
    h.not_working = ["drive", "oscillator"]
    return h


def drift_only(rng):
    h = Hostile(rng, 2e-7, 4000)
    slope, level = float(rng.uniform(-3.0, 3.0)), float(rng.uniform(4.0, 9.0))
    h.add("out", lambda t: level + slope * t / h.span_s, (0.0, 15.0), noise=float(rng.uniform(0.3, 2.0)))
    h.add("rtct", lambda t: 2.5 + 0.3 * slope * t / h.span_s, (0.0, 5.5), noise=float(rng.uniform(0.3, 2.0)))
    h.never = OUT + OUT_LEVELS + RAMP + RAMP_LEVELS
    h.not_working = ["drive", "oscillator"]
    return h


def one_edge(rng):
    h = Hostile(rng, 1e-7, 3000)
    at, up = float(rng.uniform(0.2, 0.8)) * h.span_s, rng.random() < 0.5
    edge_s = float(rng.uniform(0.1, 8.0)) * 1e-7
    step = waves.straight(edge_s)
    h.add("out", lambda t: 0.1 + 12.4 * (step(t - at) if up else 1.0 - step(t - at)), (0.0, 14.0))
    h.never = [q for q in OUT if not q.endswith(("rise_time", "fall_time"))]
    h.never = [q for q in h.never if not q.endswith("shoot")]
    h.truth = {"out_low_level": 0.1, "out_high_level": 12.5, ("out_rise_time" if up else "out_fall_time"): edge_s}
    h.never.append("out_fall_time" if up else "out_rise_time")
    return h


def one_pulse(rng):
    h = Hostile(rng, 1e-7, 3000)
    begin, width = float(rng.uniform(0.2, 0.5)) * h.span_s, float(rng.uniform(0.02, 0.3)) * h.span_s
    edge_s = float(rng.uniform(0.1, 5.0)) * 1e-7
    step = waves.straight(edge_s)
    h.add("out", waves.Train(np.array([begin]), np.array([begin + width]), 0.1, 12.5, step, step), (0.0, 14.0))
    h.channels[0].wave.rises = np.array([-1.0, begin])
    h.channels[0].wave.falls = np.array([-0.5, begin + width])
    h.never = ["out_frequency", "out_duty_cycle", "out_jitter", "oscillator_to_out_ratio"]
    h.truth = {"out_pulse_duration": width, "out_rise_time": edge_s, "out_fall_time": edge_s, "missing_pulses": 0.0,
               "out_low_level": 0.1, "out_high_level": 12.5}
    return h


def silent_out(rng, high):
    """OUT stays where it is while the ramp runs and couples into it."""
    h = Hostile(rng, 1e-7, 4000)
    period = period_of(rng) / 2.0
    clock = waves.Clock(rng, period, h.span_s * 1.05 + 3.0 * period)
    wave = triangle(rng, clock)
    level, coupled = (12.4 if high else 0.1), float(rng.uniform(0.05, 0.8))
    h.add("out", lambda t: level - coupled * np.exp(-np.maximum(clock.phase(t)[1], 0.0) / 0.03), (-1.5, 14.0))
    h.add("rtct", wave, (0.8, 3.0))
    h.never, h.not_working = OUT + ["out_high_level", "out_low_level"], ["drive"]
    good_ramp(h, wave)
    return h


def silent_low(rng):
    return silent_out(rng, False)


def silent_high(rng):
    return silent_out(rng, True)


def silent_gate(rng):
    h = Hostile(rng, 1e-7, 4000)
    period, duty = period_of(rng), 0.45
    train, _ = pulses(rng, h, period, duty, 50e-9)
    h.add("out", train, (-0.2, 13.0))
    coupled = float(rng.uniform(0.05, 0.5))
    h.add("gate", lambda t: 0.05 + coupled * (train(t) - train(t - 30e-9)) / 12.4, (-1.5, 14.0))
    good_out(h, period, duty, 50e-9)
    h.never = GATE + ["gate_high_level", "gate_low_level"]
    return h


def silent_sense(rng):
    """OUT pulses, no current flows: noise, and the spike at each edge."""
    h = Hostile(rng, 5e-8, 5000)
    period, duty = period_of(rng), 0.45
    train, clock = pulses(rng, h, period, duty, 30e-9)
    spike = float(rng.choice([0.0, rng.uniform(0.1, 0.6)]))
    wave = waves.Sense(train.rises, train.falls, 0.0, 0.0, 60e-9, spike, 35e-9)
    h.add("out", train, (-0.2, 13.0))
    h.add("cs", wave, (-0.1, 1.2), FINE)
    h.truth = {"cs_peak": 0.0, "cs_slope": 0.0, "cs_pedestal": 0.0}
    return h


# ---------------------------------------------------------------- not all of it there


def starts_within(rng):
    """The record begins within a pulse and ends within one."""
    h = Hostile(rng, 1e-7, 1000)
    duty = float(rng.uniform(0.3, 0.6))
    cycles = int(rng.integers(3, 8))
    period = h.span_s / (cycles + 0.5 * duty)
    train, _ = pulses(rng, h, period, duty, 60e-9, shift=-5.0 * period - float(rng.uniform(0.2, 0.8)) * duty * period)
    h.add("out", train, (-0.2, 13.0))
    good_out(h, period, duty, 60e-9)
    return h


def starts_late(rng):
    """Nothing in the first part of the record, then pulses."""
    h = Hostile(rng, 1e-7, 6000)
    period, duty = period_of(rng), float(rng.uniform(0.2, 0.6))
    train, _ = pulses(rng, h, period, duty, 60e-9)
    late = train.rises > float(rng.uniform(0.2, 0.7)) * h.span_s
    late[:2] = True  # two pulses long before the record
    train.rises, train.falls = train.rises[late], train.falls[late]
    train.rises[:2], train.falls[:2] = [-1.0, -0.9], [-0.95, -0.85]
    h.add("out", train, (-0.2, 13.0))
    good_out(h, period, duty, 60e-9)
    return h


def bursts(rng):
    """Groups of pulses; the pauses are no whole number of periods."""
    h = Hostile(rng, 1e-7, 9000)
    period, duty = 6e-6, 0.4
    at, instant = [], -30.0 * period
    while instant < h.span_s + 10.0 * period:
        group = int(rng.integers(4, 9))
        at += [instant + k * period for k in range(group)]
        instant += (group + float(rng.integers(3, 12)) + float(rng.uniform(0.3, 0.7))) * period
    at, step = np.array(at), waves.straight(60e-9)
    h.add("out", waves.Train(at, at + duty * period, 0.1, 12.5, step, step), (-0.2, 13.0))
    h.truth = {"out_frequency": 1.0 / period, "out_duty_cycle": duty, "out_pulse_duration": duty * period,
               "out_low_level": 0.1, "out_high_level": 12.5}
    h.never = ["out_jitter", "missing_pulses"]
    return h


def gap(rng):
    """Rows are missing in the middle; the time column says so."""
    h = Hostile(rng, 1e-7, 5000)
    period, duty = period_of(rng), 0.45
    train, _ = pulses(rng, h, period, duty, 60e-9)
    h.add("out", train, (-0.2, 13.0))
    begin, length = int(rng.integers(1000, 3000)), int(rng.integers(40, 900))
    h.rows = [i for i in range(h.count) if not begin <= i < begin + length]
    good_out(h, period, duty, 60e-9)
    return h


def alternating(rng):
    """Wide and narrow pulses in turn (subharmonic): mean duty cycle and width, no jitter of the rises."""
    h = Hostile(rng, 1e-7, 6000)
    period, duty, swing = period_of(rng), 0.4, float(rng.uniform(0.02, 0.15))
    train, _ = pulses(rng, h, period, duty, 60e-9)
    train.falls = train.rises + period * (duty + swing * (-1.0) ** np.arange(len(train.rises)))
    h.add("out", train, (-0.2, 13.0))
    good_out(h, period, duty, 60e-9)
    whole = (train.rises > 0.0) & (np.roll(train.rises, -1) < h.span_s) & (train.falls > train.rises)
    h.truth["out_duty_cycle"] = float(np.mean((train.falls - train.rises)[whole])) / period
    inside = (train.rises > 0.0) & (train.falls < h.span_s)
    h.truth["out_pulse_duration"] = float(np.mean((train.falls - train.rises)[inside]))
    return h


# ---------------------------------------------------------------- the range


def clipped(rng, told):
    """OUT and ramp beyond the top of the range."""
    h = Hostile(rng, 1e-7, 5000)
    period, duty = period_of(rng), 0.45
    clock = waves.Clock(rng, period / 2.0, h.span_s * 1.05 + 3.0 * period)
    at, step = clock.every(2), waves.straight(1e-9)  # the middle of what is seen is crossed as the true one is
    h.add("out", waves.Train(at[:-1], at[:-1] + duty * np.diff(at), 0.1, 12.5, step, step), (0.0, 0.0))
    wave = triangle(rng, clock)
    h.add("rtct", wave, (0.0, 0.0))
    for channel, top in zip(h.channels, (10.24, 2.56)):
        channel.code, channel.scale = top / 256.0, 1.0
        channel.record = lambda r, t, c=channel, top=top: fixed(c, r, t)
    if told:
        h.layout = ["full-scale.2=0..10.2", "full-scale.3=0..2.55"]
    h.never = ["out_high_level", "out_headroom", "out_overshoot"]
    h.truth = {"out_frequency": 1.0 / period, "oscillator_frequency": 2.0 / period, "ramp_valley": wave.valley,
               "ramp_peak": wave.peak, "ramp_amplitude": wave.peak - wave.valley,
               "oscillator_to_out_ratio": 2.0, "out_duty_cycle": duty, "out_pulse_duration": duty * period,
               "ramp_rise_duration": wave.rise_s, "ramp_fall_duration": wave.fall_s, "ramp_asymptote": 5.0,
               "rt_ct_product": wave.tau, "ramp_discharge": 5.0 - wave.target}
    return h


def fixed(channel, rng, t):
    """A range from 0 V: code 0 is 0 V."""
    gain, offset = channel.accuracy.draw(rng)
    seen = channel.wave(t) * gain + offset + rng.normal(0.0, channel.code, len(t))
    return np.clip(np.round(seen / channel.code), 0, 255).astype(int), 0.0


def clipped_told(rng):
    return clipped(rng, True)


def clipped_untold(rng):
    return clipped(rng, False)


def wandering(rng):
    """The base line of OUT drifts by a few volts, as behind a coupling capacitor."""
    h = Hostile(rng, 1e-7, 6000)
    period, duty, drift = period_of(rng), float(rng.uniform(0.3, 0.6)), float(rng.uniform(-3.0, 3.0))
    train, _ = pulses(rng, h, period, duty, 1e-9)
    h.add("out", lambda t: train(t) + drift * (t / h.span_s - 0.5), (-2.5, 15.0))
    h.truth = {"out_frequency": 1.0 / period, "out_duty_cycle": duty, "out_pulse_duration": duty * period,
               "out_jitter": 0.0, "missing_pulses": 0.0, "out_rise_time": 1e-9, "out_fall_time": 1e-9}
    return h


# ---------------------------------------------------------------- seen too seldom


def undersampled(rng):
    """A slow record of OUT and ramp: shares of time hold, times do not."""
    period = period_of(rng)
    h = Hostile(rng, 1.0 / float(rng.choice([500.0, 1e3, 1e4, 2e4, 5e4, 97e3])), 4000)
    clock = waves.Clock(rng, period / 2.0, h.span_s * 1.02 + 3.0 * period)
    duty, at, step = float(rng.uniform(0.2, 0.48)), clock.every(2), waves.straight(50e-9)
    h.add("out", waves.Train(at[:-1], at[:-1] + duty * np.diff(at), 0.1, 12.5, step, step), (-0.2, 13.0))
    wave = triangle(rng, clock)
    h.add("rtct", wave, (0.8, 3.0))
    h.add("vcc", flat(14.0), (0.0, 16.0))
    h.never, h.not_dead = [*OUT_TIMING, *RAMP], ["drive", "oscillator"]
    h.truth = {"out_duty_cycle": duty, "out_low_level": 0.1, "out_high_level": 12.5, "ramp_peak": wave.peak,
               "ramp_valley": wave.valley, "ramp_amplitude": wave.peak - wave.valley, "vcc_mean": 14.0,
               "out_headroom": 1.5}
    return h


def in_step(rng):
    """Sampled so nearly in step with OUT that it looks dead, solid, or thousands of times slower."""
    period = period_of(rng)
    each = int(rng.integers(2, 40))
    slip = float(rng.choice([0.0, rng.uniform(0.0, 0.4), rng.uniform(1.0, 30.0)]))  # cycles over the record
    h = Hostile(rng, 1e-6, 3000)
    h.step_s = period * each * (1.0 + slip / (h.count * each))
    h.step = h.step_s / (1.0 + h.time_base)
    h.span_s = h.step_s * (h.count - 1)
    duty, phase, edge_s = float(rng.uniform(0.2, 0.48)), float(rng.random()), 50e-9 / 0.8

    def out(t):
        x = ((t / period + phase) % 1.0) * period
        up = np.clip(x / edge_s, 0.0, 1.0)
        return 0.1 + 12.4 * np.where(x < duty * period, up, 1.0 - np.clip((x - duty * period) / edge_s, 0.0, 1.0))

    h.add("out", out, (-0.2, 13.0))
    h.add("vcc", flat(14.0), (0.0, 16.0))
    h.never, h.not_dead = list(OUT_TIMING), ["drive"]
    h.truth = {"out_duty_cycle": duty, "out_low_level": 0.1, "out_high_level": 12.5, "vcc_mean": 14.0,
               "out_headroom": 1.5}
    if slip < 1.0:
        h.never.append("out_duty_cycle")
        del h.truth["out_duty_cycle"]
    return h


def alias(rng):
    """A fast OUT at a rate just above: looks like a clean, slow one."""
    rate = float(rng.uniform(110e3, 560e3))
    seen = rate / float(rng.uniform(7.0, 60.0))
    true = rate - seen if rate - seen < 490e3 else rate - 490e3
    h = Hostile(rng, 1.0 / rate, 4000)
    duty = float(rng.uniform(0.3, 0.6))
    train, _ = pulses(rng, h, 1.0 / true, duty, 30e-9)
    h.add("out", train, (-0.2, 13.0))
    h.never, h.not_dead = list(OUT_TIMING), ["drive"]
    h.truth = {"out_duty_cycle": duty, "out_low_level": 0.1, "out_high_level": 12.5}
    return h


def alias_ripple(rng):
    """Switching ripple on bulk and output in a slow record folds down to a slow one."""
    rate = float(rng.choice([5e3, 10e3, 20e3]))
    h = Hostile(rng, 1.0 / rate, 4000, "mains")
    hertz = rate * float(rng.integers(3, 14)) + float(rng.uniform(30.0, 400.0))
    height = float(rng.uniform(5.0, 20.0))
    h.add("bulk", lambda t: 310.0 + 0.5 * height * np.sin(2.0 * math.pi * hertz * t), (0.0, 340.0),
          scope.Accuracy(0.02, 2.0))
    h.add("vcc", flat(14.0), (0.0, 16.0))
    h.never = ["bulk_ripple_frequency"]
    h.truth = {"bulk_voltage": 310.0, "bulk_ripple": height, "vcc_mean": 14.0}
    return h


def extremes(rng):
    """Lowest and highest of each interval: levels hold, instants do not."""
    h = Hostile(rng, float(rng.choice([1e-6, 2e-6, 1e-5])), 1500)
    h.pair = True
    period = period_of(rng)
    clock = waves.Clock(rng, period / 2.0, h.span_s * 1.05 + 3.0 * period)
    at, step = clock.every(2), waves.straight(50e-9)
    h.add("out", waves.Train(at[:-1], at[:-1] + 0.45 * np.diff(at), 0.1, 12.5, step, step), (-0.2, 13.0))
    wave = triangle(rng, clock)
    h.add("rtct", wave, (0.8, 3.0))
    h.never, h.not_dead = OUT + RAMP, ["drive", "oscillator"]
    h.truth = {"out_low_level": 0.1, "out_high_level": 12.5, "ramp_peak": wave.peak, "ramp_valley": wave.valley,
               "ramp_amplitude": wave.peak - wave.valley}
    return h


# ---------------------------------------------------------------- what is not it


def hum(rng):
    """A probe that hangs in the air: mains, with its harmonics."""
    h = Hostile(rng, float(rng.choice([2e-6, 5e-6, 2e-5])), 20_000)
    a, b, c = rng.uniform(0.5, 4.0), rng.uniform(0.0, 0.6), rng.uniform(0.0, 6.28)

    def wave(t, size=1.0):
        return size * (a * np.sin(314.159 * t + c) + b * np.sin(942.478 * t) + 0.3 * b * np.sin(1570.8 * t + c))

    h.add("out", wave, (-5.0, 5.0))
    h.add("rtct", lambda t: wave(t, 0.5), (-2.5, 2.5))
    h.never, h.not_working = [*OUT, *OUT_LEVELS, *RAMP, *RAMP_LEVELS], ["drive", "oscillator"]
    return h


def ringing_hard(rng):
    """Edges that ring through the middle level many times."""
    h = Hostile(rng, 2e-8, 6000)
    period, duty = 12e-6, float(rng.uniform(0.4, 0.6))
    train, _ = pulses(rng, h, period, duty, float(rng.uniform(60e-9, 120e-9)), damping=float(rng.uniform(0.03, 0.09)))
    h.add("out", train, (-12.0, 25.0))
    h.truth = {"out_frequency": 1.0 / period, "out_jitter": 0.0, "missing_pulses": 0.0,
               "out_rise_time": train.rise.duration, "out_fall_time": train.fall.duration}
    return h


def noisy_ramp(rng):
    """A ramp so noisy that it crosses its middle many times each way."""
    h = Hostile(rng, 2e-8, 6000)
    clock = waves.Clock(rng, period_of(rng), h.span_s * 1.05 + 60e-6)
    wave = triangle(rng, clock)
    h.add("rtct", wave, (0.2, 3.6), noise=float(rng.uniform(5.0, 12.0)))
    good_ramp(h, wave)
    return h


def spiked_ramp(rng):
    """OUT couples sharp spikes into the ramp at its edges."""
    h = Hostile(rng, 5e-8, 6000)
    period, duty = period_of(rng), 0.3
    clock = waves.Clock(rng, period / 2.0, h.span_s * 1.05 + 3.0 * period)
    at, step = clock.every(2), waves.straight(30e-9)
    train = waves.Train(at[:-1], at[:-1] + duty * np.diff(at), 0.1, 12.5, step, step)
    wave, coupled = triangle(rng, clock), float(rng.uniform(0.01, 0.08))
    h.add("rtct", lambda t: wave(t) + coupled * (train(t) - train(t - 100e-9)), (-0.2, 4.0))
    h.add("out", train, (-0.2, 13.0))
    h.truth = {"oscillator_frequency": 2.0 / period, "out_frequency": 1.0 / period, "out_duty_cycle": duty,
               "oscillator_to_out_ratio": 2.0, "out_jitter": 0.0, "oscillator_jitter": 0.0, "missing_pulses": 0.0,
               "out_pulse_duration": duty * period}
    return h


def few_ripples(rng):
    """Fewer than three cycles of the ripple on the bulk."""
    h = Hostile(rng, 1e-5, 3000, "mains")
    hertz, height = 100.0 * float(rng.uniform(0.2, 0.6)), float(rng.uniform(10.0, 40.0))
    phase = float(rng.random())
    h.add("bulk", lambda t: waves.crest(t, hertz, 310.0, height, 0.25, phase), (0.0, 360.0), scope.Accuracy(0.02, 2.0))
    h.add("vcc", flat(14.0), (0.0, 16.0))
    h.never = ["bulk_ripple_frequency"]
    h.truth = {"vcc_mean": 14.0}
    return h


def still_rails(rng):
    """Noise alone on the rails: no ripple, no dip, no droop."""
    h = Hostile(rng, 2e-5, 4000, "mains")
    noise = float(rng.uniform(0.3, 3.0))
    h.add("bulk", flat(310.0), (0.0, 360.0), scope.Accuracy(0.02, 2.0), noise=noise)
    h.add("vcc", flat(14.0), (0.0, 16.0), noise=noise)
    h.add("output", flat(24.0), (0.0, 30.0), noise=noise)
    h.add("vref", flat(5.0), (0.0, 6.0), noise=noise)
    h.never = ["bulk_ripple_frequency"]
    h.truth = {"bulk_voltage": 310.0, "bulk_ripple": 0.0, "vcc_mean": 14.0, "vcc_ripple": 0.0, "vcc_dip": 0.0,
               "output_voltage": 24.0, "output_ripple": 0.0, "vref_voltage": 5.0, "vref_ripple": 0.0,
               "vref_droop": 0.0}
    return h


CASES = {name.replace("_", "-"): make for name, make in (
    ("noise_only", noise_only), ("constant", constant), ("drift_only", drift_only), ("one_edge", one_edge),
    ("one_pulse", one_pulse), ("silent_low", silent_low), ("silent_high", silent_high), ("silent_gate", silent_gate),
    ("silent_sense", silent_sense), ("starts_within", starts_within), ("starts_late", starts_late), ("bursts", bursts),
    ("gap", gap), ("alternating", alternating), ("clipped_told", clipped_told), ("clipped_untold", clipped_untold),
    ("wandering", wandering), ("undersampled", undersampled), ("in_step", in_step), ("alias", alias),
    ("alias_ripple", alias_ripple), ("extremes", extremes), ("hum", hum), ("ringing_hard", ringing_hard),
    ("noisy_ramp", noisy_ramp), ("spiked_ramp", spiked_ramp), ("few_ripples", few_ripples),
    ("still_rails", still_rails))}
