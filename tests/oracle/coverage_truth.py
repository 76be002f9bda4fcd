"""What a record truly holds, by the definitions of the catalogue, and how well it could be told."""

import math
from dataclasses import dataclass

import numpy as np


@dataclass
class Truth:
    """One quantity of one record."""

    value: float
    within_reach: bool = True  # could the oracle, told the events, measure it?
    best: float = math.nan  # standard error of the best that one could do, time base left out
    at_zero: bool = False  # the truth lies at the end of its range: too much coverage is no fault
    timed: int = 0  # +1 where the value is a time, -1 where it is a rate: the time base goes into it
    also: float = math.nan  # another reading of the definition, as right as the first


def best_period(cycles, white, walk):
    """Least squares on M equally spaced periods with white errors of the instants, plus a random walk."""
    m = max(cycles, 1)
    return math.hypot(math.sqrt(12.0 / (m * (m + 1.0) * (m + 2.0))) * white, walk / math.sqrt(m))


def mean_rate(instants, missing=0):
    """Over the periods that were there, which with jitter is not quite that of the clock."""
    cycles = len(instants) - 1 + missing
    return cycles / float(instants[-1] - instants[0]) if cycles > 0 else math.nan


def instant_error(channel, amplitude, step, step_s):
    """Error of one 50 % crossing by a straight line between the samples beside it, the instants of the
    samples being random: what the shape between them adds, and noise over the slope between them."""
    after = (np.arange(400) + 0.5) / 400.0 * step_s
    high, low = step(step.t50 + after), step(step.t50 + after - step_s)
    slope = (high - low) / step_s
    shape = after - (high - 0.5) / slope
    return float(np.sqrt(np.var(shape) + np.mean((channel.noise_v / (amplitude * slope)) ** 2)))


def pulses(record, prefix, train, period, duty, clock, divide, channel, missing=0):
    """Truths of a pulsing pin."""
    step_s, span_s = record.step_s, record.span_s
    amplitude = train.high - train.low
    instant = instant_error(channel, amplitude, train.rise, step_s)
    inside = train.rises[(train.rises > 0.0) & (train.rises < span_s)]
    cycles = len(inside) - 1
    white, walk = (clock.jitter, 0.0) if clock.kind == "white" else (0.0, math.sqrt(divide) * clock.jitter)
    best = best_period(cycles, math.hypot(instant, white), walk)
    shortest = min(duty, 1.0 - duty) * period
    seen = cycles >= 2 and shortest >= 1.5 * step_s + train.rise.duration
    rate = mean_rate(inside, missing)
    told = {f"{prefix}_frequency": Truth(1.0 / period, seen, best / period**2, timed=-1, also=rate),
            f"{prefix}_duty_cycle": Truth(duty, seen),
            f"{prefix}_high_level": Truth(train.high, seen),
            f"{prefix}_low_level": Truth(train.low, seen)}
    edge_seen = seen and amplitude > 20.0 * channel.noise_v
    for word, step in (("rise", train.rise), ("fall", train.fall)):
        told[f"{prefix}_{word}_time"] = Truth(step.duration, edge_seen and step.duration >= 3.0 * step_s, timed=1)
    for word, step in (("overshoot", train.rise), ("undershoot", train.fall)):
        rings = step.kind == "ringing"
        reach = edge_seen and rings and step.ring_s >= 8.0 * step_s
        if rings or step.duration >= 2.0 * step_s:
            told[f"{prefix}_{word}"] = Truth(step.overshoot, reach, at_zero=not rings)
    if prefix == "gate":
        told.pop("gate_undershoot", None)
        return told
    told["out_pulse_duration"] = Truth(duty * period, seen, timed=1)
    jitter = clock.period_deviation(divide)
    told["out_jitter"] = Truth(jitter, seen and cycles >= 8 and jitter > 3.0 * instant, at_zero=jitter == 0.0, timed=1)
    told["missing_pulses"] = Truth(float(missing), seen and cycles >= 6, at_zero=True)
    return told


def ramp(record, wave, channel, leak=False):
    """Truths of the RT/CT ramp."""
    clock, step_s = wave.clock, record.step_s
    inside = clock.at[(clock.at > 0.0) & (clock.at < record.span_s)]
    cycles = len(inside) - 1
    instant = channel.noise_v / wave.slope_at_middle()
    white, walk = (clock.jitter, 0.0) if clock.kind == "white" else (0.0, clock.jitter)
    best = best_period(cycles, math.hypot(instant, white), walk)
    period = clock.period
    seen = cycles >= 2 and period >= 8.0 * step_s
    both = seen and wave.fall_s >= 2.0 * step_s and wave.rise_s >= 2.0 * step_s
    jitter = clock.period_deviation(1)
    # levels: many cycles fill the range of the samples, so the ends are told by them all
    ends = seen and cycles * period / step_s >= 200 and channel.noise_v < 0.1
    fit = seen and channel.noise_v / math.sqrt(record.count) < 0.0015 and period >= 15.0 * step_s
    told = {"oscillator_frequency": Truth(1.0 / period, seen, best / period**2, timed=-1, also=mean_rate(inside)),
            "ramp_peak": Truth(wave.peak, ends), "ramp_valley": Truth(wave.valley, ends),
            "ramp_amplitude": Truth(wave.peak - wave.valley, ends),
            "ramp_rise_duration": Truth(wave.rise_s, both, timed=1),
            "ramp_fall_duration": Truth(wave.fall_s, both, timed=1),
            "ramp_asymptote": Truth(wave.reference, fit),
            "oscillator_jitter": Truth(jitter, seen and cycles >= 8 and jitter > 3.0 * instant,
                                       at_zero=jitter == 0.0, timed=1)}
    if not leak:
        told["rt_ct_product"] = Truth(wave.tau, ends and both, timed=1)
        told["ramp_discharge"] = Truth(wave.reference - wave.target, ends and both)
    return told


def ratio(told):
    """Oscillator to OUT, whose time base is one."""
    a, b = told["oscillator_frequency"], told["out_frequency"]
    value = a.value / b.value
    best = value * math.hypot(a.best / a.value, b.best / b.value)
    return {"oscillator_to_out_ratio": Truth(value, a.within_reach and b.within_reach, best)}


def sense(wave, widths, step_s):
    """Truths of the current-sense pin, from the whole pulses of the record."""
    lines = [wave.line(float(w)) for w in widths[:: max(1, len(widths) // 12)]]
    reach = float(np.min(widths)) >= 20.0 * step_s
    return {"cs_peak": Truth(float(np.mean(wave.within(widths))), reach),
            "cs_slope": Truth(float(np.mean([s for _, s in lines])), reach, timed=-1),
            "cs_pedestal": Truth(float(np.mean([level for level, _ in lines])), reach)}


def dense(wave, begin_s, end_s, count=400_001):
    """Mean, lowest and highest of a wave, from dense points."""
    seen = wave(np.linspace(begin_s, end_s, count))
    return float(seen.mean()), float(seen.min()), float(seen.max())
