"""One record, and what all kinds of them have in common."""

import math

import numpy as np

import coverage_scope as scope
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
