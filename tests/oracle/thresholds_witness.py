"""The second channel: what tells that the controller runs."""

import math

import numpy as np


def since(events, t):
    """Seconds since the last event before each t; infinite before the first."""
    at = np.array([-math.inf, *(e.at_s for e in events)])
    return t - at[np.searchsorted(at, t, side="right") - 1]


def vref(rng, sweep):
    """Up with a time constant after a start; down through the pull-down of about 5 kilohms after a stop."""
    level, idle = float(rng.uniform(4.9, 5.1)), float(rng.uniform(0.0, 0.04))
    capacitor = math.exp(rng.uniform(math.log(0.1e-6), math.log(4.7e-6)))
    up, down = 100.0 * capacitor, 5e3 * capacitor

    def wave(t):
        running = sweep.mean(t)[1]
        rise = level * -np.expm1(-since(sweep.of(True), t) / up)
        fall = level * np.exp(-since(sweep.of(False), t) / down)
        return np.maximum(np.where(running, rise, fall), idle)

    return wave, (-0.3, 6.0)


def rtct(rng, sweep):
    """A ramp far too fast for the record, from the start on; at 0 while stopped."""
    hertz, valley, peak = float(rng.uniform(50e3, 135e3)), float(rng.uniform(0.95, 1.2)), float(rng.uniform(2.6, 2.85))
    short = float(rng.uniform(0.01, 0.06))  # share of the fall
    unit = math.log((5.0 - valley) / (5.0 - peak))

    def wave(t):
        running = sweep.mean(t)[1]
        after = np.where(running, since(sweep.of(True), t), 0.0) * hertz
        phase = (after - np.floor(after)) / (1.0 - short)
        rise = 5.0 - (5.0 - valley) * np.exp(-np.minimum(phase, 1.0) * unit)
        fall = peak - (peak - valley) * np.clip((phase - 1.0) * (1.0 - short) / short, 0.0, 1.0)
        return np.where(running, np.where(phase < 1.0, rise, fall), 0.0)

    return wave, (-0.2, 3.4)


def out(rng, sweep):
    """Pulses far too fast for the record, 1.2 to 1.9 V below VCC."""
    hertz, duty = float(rng.uniform(50e3, 135e3)) / 2.0, float(rng.uniform(0.45, 0.49))
    below, low = float(rng.uniform(1.2, 1.9)), float(rng.uniform(0.02, 0.3))

    def wave(t):
        vcc, running = sweep.mean(t)
        after = np.where(running, since(sweep.of(True), t), 0.0) * hertz
        return np.where(running, np.where(after - np.floor(after) < duty, vcc - below, low), 0.02)

    return wave, (-0.3, 20.0)


WITNESS = {"vref": vref, "rtct": rtct, "out": out}
