"""Not all of it there: cut, late, in bursts, with gaps, beyond the range."""

import numpy as np

import coverage_waves as waves
from hostile_record import Hostile, good_out, period_of, pulses, triangle


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
