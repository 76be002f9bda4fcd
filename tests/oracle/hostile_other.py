"""What is not it: hum, rings, noise, spikes, too few ripples, still rails."""

import numpy as np

import coverage_scope as scope
import coverage_waves as waves
from hostile_record import OUT, OUT_LEVELS, RAMP, RAMP_LEVELS, Hostile, flat, good_ramp, period_of, pulses, triangle


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
