"""A record that must not fool a measurement: with what may be said of it, and what may not.

A quantity in `truth` may be given, and must then be right within u95; one in `never` must not be given.
"""

import math

import numpy as np

import coverage_scope as scope
import coverage_waves as waves
from coverage_record import WIDE

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
