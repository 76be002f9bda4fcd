"""Records of OUT, and of ramp, VCC, gate, current sense and VREF beside it."""

import math

import numpy as np

import coverage_truth as truth
import coverage_waves as waves
from coverage_record import channel_of, edge, near, running


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
    span = (lowest - 0.3, highest + 0.3) if p["zoom"] else (0.0, highest + 1.0)
    channel = record.add(channel_of(p, "vcc", wave, span))
    told = record.told
    told["vcc_mean"] = truth.Truth(mean)
    height = highest - lowest
    told["vcc_ripple"] = truth.Truth(height, height > 8.0 * channel.noise_v, at_zero=dip + ripple == 0.0)
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
    span = (lowest - 0.1, highest + 0.1) if p["zoom"] else (0.0, highest + 0.5)
    channel = record.add(channel_of(p, "vref", wave, span))
    tenth = record.span_s / 10.0
    first, last = truth.dense(wave, 0.0, tenth)[0], truth.dense(wave, 9.0 * tenth, 10.0 * tenth)[0]
    height = highest - lowest
    record.told |= {"vref_voltage": truth.Truth(mean),
                    "vref_ripple": truth.Truth(height, height > 8.0 * channel.noise_v, at_zero=height == 0.0),
                    "vref_droop": truth.Truth(first - last, droop != 0.0 or ripple == 0.0)}
