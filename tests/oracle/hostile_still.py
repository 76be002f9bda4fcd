"""Nothing there: noise, constant levels, one edge, pins that are still while others move."""

import numpy as np

import coverage_waves as waves
from coverage_record import FINE
from hostile_record import GATE, OUT, OUT_LEVELS, RAMP, RAMP_LEVELS, Hostile, flat, good_out, good_ramp
from hostile_record import period_of, pulses, triangle


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
