"""Records of pins that hold or move slowly: VREF, COMP, FB, bulk, output, and a sweep of VCC."""

import math

import numpy as np

import coverage_truth as truth
import coverage_waves as waves
from coverage_drive import add_vref
from coverage_record import WIDE, Record, channel_of, edge, near, running


def reference(rng, p):
    """VREF beside OUT while it runs."""
    record, clock, rises, falls, period, duty = running(rng, p)
    rise, fall = edge(rng, p, "rise", record.step_s), edge(rng, p, "fall", record.step_s)
    train = waves.Train(rises, falls, 0.1, 12.5, rise, fall)
    out = record.add(channel_of(p, "out", train, (0.0, 13.0)))
    record.told |= truth.pulses(record, "out", train, period, duty, clock, p["divide"], out)
    level, ripple, droop = (float(rng.uniform(*span)) for span in ((4.7, 5.2), p["ripple"], p["droop"]))
    add_vref(rng, p, record, level, ripple, droop)
    return record


def control(rng, p):
    """COMP and FB beside OUT."""
    record, clock, rises, falls, period, duty = running(rng, p)
    rise, fall = edge(rng, p, "rise", record.step_s), edge(rng, p, "fall", record.step_s)
    train = waves.Train(rises, falls, 0.1, 12.5, rise, fall)
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
    inside = on + 0.05 * (off - on), off - 1e-9 * span  # a run is settled from its first twentieth on
    mean, lowest, highest = truth.dense(vref, *inside)
    tenth = 0.1 * (inside[1] - inside[0])
    first = truth.dense(vref, inside[0], inside[0] + tenth)[0]
    last = truth.dense(vref, inside[1] - tenth, inside[1])[0]
    record.told = {"start_threshold": truth.Truth(start), "stop_threshold": truth.Truth(stop),
                   "hysteresis": truth.Truth(start - stop), "starts_per_sweep": truth.Truth(1.0, at_zero=True),
                   "vref_voltage": truth.Truth(mean), "vref_droop": truth.Truth(first - last),
                   "vref_off_voltage": truth.Truth(0.0),
                   "vref_ripple": truth.Truth(highest - lowest, highest - lowest > 8.0 * channel.noise_v,
                                              at_zero=highest == lowest)}
    return record
