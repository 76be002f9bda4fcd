"""Seen too seldom: aliases, sampling in step, extremes of intervals."""

import math

import numpy as np

import coverage_scope as scope
import coverage_waves as waves
from hostile_record import OUT, OUT_TIMING, RAMP, Hostile, flat, period_of, pulses, triangle


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
