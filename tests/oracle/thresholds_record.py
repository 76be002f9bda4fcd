"""One record of a swept VCC and a witness, what is told to the program, and what is true."""

import math
import zlib

import numpy as np

import thresholds_oracle as oracle
import thresholds_pairs as pairs
import thresholds_range as range_
from coverage_record import Record, near
from coverage_scope import Channel, table
from thresholds_course import course, rest
from thresholds_sweep import Feed, Ripple, Sweep
from thresholds_witness import WITNESS

QUANTITIES = ("start_threshold", "stop_threshold", "hysteresis", "start_threshold_mean", "stop_threshold_mean")


def make(stratum, seed, number):
    """Record `number` of a stratum: the same for the same seed."""
    rng = np.random.default_rng([seed, zlib.crc32(stratum["name"].encode()), number])
    while True:
        record = draw(rng, stratum)
        if record is not None:
            return record


def drawn(rng, span):
    return math.exp(rng.uniform(math.log(span[0]), math.log(span[1])))


def draw(rng, p):
    """None where the drawn supply makes the controller start or stop more often than it is swept."""
    start, stop = thresholds(rng, p)
    feed = Feed(0.011 + float(rng.uniform(0.45, 0.6)), 0.0, float(rng.uniform(0.3e-3, 2e-3)))
    feed.running_v = feed.idle_v + float(rng.uniform(0.39, 0.47))
    sweeps = int(rng.integers(p["sweeps"][0], p["sweeps"][1] + 1))
    points, flats = course(rng, p, (start[0], stop[0]), feed, sweeps)
    rows = int(round(drawn(rng, p["rows"])))
    record = Record(rng, points[-1][0] / rows, rows)
    ripple = drawn_ripple(rng, p, record)
    if ripple is None:
        return None
    rest(points, record.span_s)
    record.sweep = sweep = Sweep(points, feed, ripple, start, stop)
    wanted = {"sweeps": (sweeps, sweeps), "parked": (0, 0), "no-stop": (1, 0)}[p["course"]]
    if (len(sweep.of(True)), len(sweep.of(False))) != wanted:
        return None
    record.p = p
    record.meter_gain = p["meter"].draw(rng)[0] if p["meter"] else 1.0  # one meter on one range: the same for both
    record.flats = [read(rng, p, record, flat) for flat in flats]
    add_channels(rng, p, record)
    record.told = told(rng, record)
    return record


def thresholds(rng, p):
    """Start and stop volts, one an event where they drift from sweep to sweep."""
    start, stop = near(rng, p["class"][0], 0.05), near(rng, p["class"][1], 0.03 if p["class"][1] > 7.0 else 0.02)
    if p["class"][0] < 10.0:
        stop = start - near(rng, 0.8, 0.1)
    drift = float(rng.uniform(-p["drift"], p["drift"])) / 2.0
    return [start + k * drift for k in range(3)], [stop + k * drift for k in range(3)]


def drawn_ripple(rng, p, record):
    """None where its frequency lies so near a multiple of half the sampling rate that no samples show it."""
    if p["ripple"] is None:
        return Ripple()
    hertz = 100.0 * float(rng.uniform(0.998, 1.002)) if p["ripple"] == "mains" else float(rng.uniform(25e3, 70e3))
    if p["ripple"] == "mains" and record.step_s > 2.5e-3:
        return None
    turn = hertz * record.step_s % 0.5
    if not 0.01 < turn < 0.49 and hertz * record.step_s > 0.25:
        return None
    return Ripple(float(rng.uniform(*p["peak"])), hertz, float(rng.uniform(0.0, 6.283)), p["ripple"] == "own")


def read(rng, p, record, flat):
    """A flat piece with what the multimeter shows there: from, to, true volts, reading."""
    begin, end = (round(flat[0] + share * (flat[1] - flat[0]), 4) for share in (0.15, 0.9))
    true = float(np.mean(record.sweep.vcc(np.linspace(begin, end, 200_001))))
    shown = true * record.meter_gain + float(rng.uniform(-p["meter"].offset, p["meter"].offset))
    return begin, end, true, round(shown, 4)


def add_channels(rng, p, record):
    top = max(v for _, v in record.sweep.points)
    least = max(20.0, 1.08 * top + 1.0) if p["class"][0] > 10.0 else 20.0
    kind = pairs.Paired if p["pairs"] else Channel
    accuracy = range_.OneRange(rng, p["accuracy"]) if p["reference"] else p["accuracy"]
    for role, wave, span in [("vcc", record.sweep.vcc, (-0.3, float(rng.uniform(least, 40.0)) / 1.15)),
                             (p["witness"], *WITNESS[p["witness"]](rng, record.sweep))]:
        record.add(kind(role, wave, span, accuracy if role == "vcc" else p["accuracy"], 8,
                        float(rng.uniform(*p["noise"]))))
    if p["pairs"]:
        raw = pairs.drawn_raw(rng)
        for channel in record.channels:
            channel.raw = raw
    true_s = record.step_s * np.arange(record.count)
    record.seen = [channel.record(rng, true_s) for channel in record.channels]
    record.reference = None
    if p["reference"]:
        level_v = float(np.max(record.channels[1].wave(true_s)))
        record.reference = range_.Reference(rng, p, level_v, record.channels[0], record.meter_gain)


def texts(record):
    """The files of the record, by what is added to its name."""
    if record.p["pairs"]:
        return {"": pairs.table(record, record.p["pairs"])}
    turned = -1 if record.reference else 1
    codes, bottoms = zip(*record.seen[::turned])
    sweep = table(record.step, record.count, record.channels[::turned], codes, bottoms)
    return {"-vref": record.reference.text(), "": sweep} if record.reference else {"": sweep}


def options(record):
    if record.reference:
        return range_.options(record)
    words = record.options("injected")
    for begin, end, _, shown in record.flats:
        words += ["--set-to-meter", f"1@{begin:.4f}..{end:.4f}={shown:.4f}"]
    return words + (["--meter", record.p["meter"].text] if record.flats else [])


def told(rng, record):
    """Truth by quantity, with the half-width that the estimator reaches who knows the events; `never`
    where the record shows none."""
    sweep = record.sweep
    truths = {}
    for word, start in (("start", True), ("stop", False)):
        events = sweep.of(start)
        if events:
            truths[f"{word}_threshold"] = float(np.mean([e.threshold_v for e in events]))
            if sweep.ripple.peak(not start) > 0.0:
                truths[f"{word}_threshold_mean"] = float(np.mean([e.mean_v for e in events]))
    if sweep.of(True) and sweep.of(False):
        truths["hysteresis"] = truths["start_threshold"] - truths["stop_threshold"]
    best = oracle.estimate(rng, record) if sweep.events else {}
    found = {q: {"value": v, "oracle": best.get(q)} for q, v in truths.items()}
    for quantity in QUANTITIES:
        if quantity not in truths and not ("mean" in quantity and quantity[:-5] in truths):
            found[quantity] = {"value": None, "oracle": None}
    return found
