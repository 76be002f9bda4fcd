"""The best that can be done by one who knows the instants of the events and the frequency of the ripple.

A line, with a sine where there is ripple, through the samples of the straight piece before an event
(at most its last volt), evaluated at the event. What noise and codes do to it is drawn at random; gain,
offset and meter are drawn from just what is stated; the half-width holds 95 % of all that. Of extremes it
knows no more than they show: noise of few samples with ripple leaves the same room as noise of many alone.
"""

import math

import numpy as np

import thresholds_pairs as pairs

MOST_V, FEWEST, MOST = 1.0, 12, 3000
DRAWS, BUDGET = 100, 2000
MOST_PAIRS, PAIR_DRAWS, SAFE = 200, 40, 1.03  # by how much the spread of so few draws is too small
HALF_STEP_V = 0.05  # a supply with steps: the event lies anywhere in one
OF_NOISE = 16.0  # a room between extremes over the scatter of its middle that noise alone does not make
LEAST_ADDED = 0.5  # what noise adds to a ripple's room between extremes, over the scatter of its middle, at least


def coded(rng, channel, clean, draws):
    """Clean volts as the channel would show them, drawn anew, the code levels wherever they fall."""
    grid = rng.uniform(0.0, 1.0, (draws, 1)) * channel.code
    noisy = clean + rng.normal(0.0, channel.noise_codes * channel.code, (draws, len(clean)))
    return np.round((noisy - grid) / channel.code) * channel.code + grid


def window(record, event):
    """Samples before the event, by number."""
    earliest = event.straight_from_s + 8.0 * record.sweep.feed.tau_s
    begin = max(earliest, event.at_s - MOST_V / max(abs(event.slope), 1e-3))
    first = max(math.ceil(begin / record.step_s), 0)
    end = math.ceil(event.at_s / record.step_s) - bool(record.p["pairs"])
    return np.arange(max(first, end - MOST), min(end, record.count))


def on_last_step(rng, record, event):
    """A supply with steps: the mean of the samples on the last one, and half a step further."""
    sweep, channel, tau_s = record.sweep, record.channels[0], record.sweep.feed.tau_s
    times, volts = zip(*sweep.points)
    after = int(np.searchsorted(times, event.at_s))
    if volts[after] == volts[after - 1]:  # VCC follows the supply late: that has done its step
        after -= 1
    begin, end = times[after - 2] + 8.0 * tau_s, times[after - 1]
    index = np.arange(math.ceil(begin / record.step_s), math.ceil(end / record.step_s))
    if len(index) < FEWEST:
        return None
    further = HALF_STEP_V if event.start else -HALF_STEP_V
    codes, bottom = record.seen[0]
    middle = 0.5 * (volts[after - 1] + volts[after]) - sweep.feed.drop(not event.start)
    error = coded(rng, channel, sweep.vcc(index * record.step_s), DRAWS).mean(axis=1) + further - middle
    read = (float(np.mean(bottom + codes[index] * channel.code)) + further, float(np.sqrt(np.mean(error**2))))
    return {"mean": read, "threshold": read, "peak": 0.0}


def at_event(rng, record, event):
    """Seen volts and their standard uncertainty at one event, threshold and mean; None out of reach."""
    if record.p["steps"]:
        return on_last_step(rng, record, event)
    index = window(record, event)
    if len(index) < FEWEST:
        return None
    if record.p["pairs"]:
        return between_extremes(rng, record, event, index[-MOST_PAIRS:])
    sweep, channel = record.sweep, record.channels[0]
    t = index * record.step_s - event.at_s
    columns = [np.ones_like(t), t]
    peak = sweep.ripple.peak(not event.start)
    if peak > 0.0:
        if -t[0] * sweep.ripple.hertz < 1.0:
            return None
        turn = 2.0 * math.pi * sweep.ripple.hertz * t
        columns += [np.sin(turn), np.cos(turn)]
    solve = np.linalg.pinv(np.stack(columns, axis=1))
    weights = {"mean": solve[0], "threshold": solve[0] + solve[3] if peak > 0.0 else solve[0]}
    codes, bottom = record.seen[0]
    seen = bottom + codes[index] * channel.code
    drawn = coded(rng, channel, sweep.vcc(index * record.step_s), DRAWS)
    truths = {"mean": event.mean_v, "threshold": event.threshold_v}
    out = {}
    for word, weight in weights.items():
        error = drawn @ weight - truths[word]
        out[word] = (float(seen @ weight), float(np.sqrt(np.mean(error**2))))
    out["peak"] = peak
    return out


def between_extremes(rng, record, event, index):
    """Middles of the intervals by a line, with a sine where they are short beside the ripple, and half of
    what lies between lowest and highest where they are long; less what the same does to records drawn anew."""
    sweep, channel = record.sweep, record.channels[0]
    peak = sweep.ripple.peak(not event.start)
    t = (index + 0.5) * record.step_s - event.at_s
    columns = [np.ones_like(t), t]
    slow = peak > 0.0 and sweep.ripple.hertz * record.step_s < 0.3
    if slow:
        if -t[0] * sweep.ripple.hertz < 1.0:
            return None
        turn = 2.0 * math.pi * sweep.ripple.hertz * t
        columns += [np.sin(turn), np.cos(turn)]
    solve = np.linalg.pinv(np.stack(columns, axis=1))
    side = (1.0 if event.start else -1.0) * (peak > 0.0 and not slow)
    shown, spread = (part[index] for part in pairs.middles(record.seen[0], channel))
    drawn, spreads = pairs.redrawn(rng, record, index, PAIR_DRAWS)
    out = {"peak": peak}
    for word, weight, by, true in (("mean", solve[0], 0.0, event.mean_v),
                                   ("threshold", solve[0] + solve[3] if slow else solve[0], side, event.threshold_v)):
        errors = drawn @ weight + by * spreads.mean(axis=1) - true
        out[word] = (float(shown @ weight + by * spread.mean() - errors.mean()), float(np.std(errors)) * SAFE)
    # whether ripple or noise made the room, extremes don't say; but the controller's own is missing at the starts
    scatter = float(np.std(np.diff(shown, 2))) / math.sqrt(6.0)
    out["shown"] = slow or float(spread.mean()) > OF_NOISE * max(scatter, 0.25 * channel.code)
    told = peak if not slow and (sweep.ripple.own or out["shown"]) else 0.0
    out["hidden"] = max(float(spread.mean()) - told - LEAST_ADDED * scatter, 0.0)
    return out


def flats(rng, record):
    """Seen mean of each piece that the meter was read at, its standard uncertainty, true volts, reading."""
    codes, bottom = record.seen[0]
    channel, found = record.channels[0], []
    for begin, end, true, shown in record.flats:
        index = np.arange(math.ceil(begin / record.step_s), min(math.floor(end / record.step_s), record.count - 1))[:MOST]
        drawn = coded(rng, channel, record.sweep.vcc(index * record.step_s), DRAWS).mean(axis=1)
        found.append((float(np.mean(bottom + codes[index] * channel.code)), float(np.sqrt(np.mean((drawn - true) ** 2))),
                      true, shown))
    if record.reference:
        one = record.reference
        values = one.seen()
        drawn = coded(rng, one.channel, np.full(len(values), one.true), DRAWS).mean(axis=1)
        found.append((float(np.mean(values)), float(np.sqrt(np.mean((drawn - one.true) ** 2))), one.true, one.shown))
    return found


class Budget:
    """Errors of scope and meter, drawn from what is stated."""

    def __init__(self, rng, record):
        self.rng, self.marks = rng, flats(rng, record)
        accuracy = record.p["accuracy"]
        self.gain = 1.0 + rng.uniform(-accuracy.gain, accuracy.gain, BUDGET)
        self.offset = rng.uniform(-accuracy.offset, accuracy.offset, BUDGET)
        meter = record.p["meter"]
        common = 1.0 + rng.uniform(-meter.gain, meter.gain, BUDGET) if meter else 1.0
        self.drawn = [(true * self.gain + self.offset + rng.normal(0.0, u, BUDGET),
                       true * common + rng.uniform(-meter.offset, meter.offset, BUDGET)) for _, u, true, _ in self.marks]

    def share(self, volts):
        """How much of what scope and meter differ by at the one level is taken off at another: the
        regression of the drawn errors there on the drawn differences."""
        (seen, shown), = self.drawn
        return float(np.mean((volts * (self.gain - 1.0) + self.offset) * (seen - shown)) / np.mean((seen - shown) ** 2))

    def to_volts(self, seen, marks, volts):
        """Seen volts, of about `volts`, as the meter would show them: `marks` are (seen, shown) at none,
        one or two levels."""
        if not marks:
            return seen
        if len(marks) == 1:
            return seen - self.share(volts) * (marks[0][0] - marks[0][1])
        (s1, d1), (s2, d2) = marks
        return d1 + (seen - s1) * (d2 - d1) / (s2 - s1)

    def value(self, seen):
        return self.to_volts(seen, [(s, shown) for s, _, _, shown in self.marks], seen)

    def errors(self, value, u, half_step):
        seen = value * self.gain + self.offset + self.rng.normal(0.0, u, BUDGET)
        return self.to_volts(seen, self.drawn, value) - value + self.rng.uniform(-half_step, half_step, BUDGET)

    def shares(self):
        """How much of the ripple that may hide is there: one and the same at starts and stops, between none and all."""
        return self.rng.uniform(0.0, 1.0, BUDGET)


def stands_out(read, u):
    """Does the ripple show, so that the mean is another value than the threshold?"""
    return read["peak"] > 6.0 * u and read["peak"] > 0.1 and read.get("shown", True)


def estimate(rng, record):
    """Value and half-width by quantity."""
    budget, out, errors = Budget(rng, record), {}, {}
    shares = budget.shares()
    half_step = HALF_STEP_V if record.p["steps"] else 0.0
    for word, start in (("start", True), ("stop", False)):
        read = [at_event(rng, record, event) for event in record.sweep.of(start)]
        if not read or None in read:
            continue
        for kind, name in (("threshold", f"{word}_threshold"), ("mean", f"{word}_threshold_mean")):
            seen = float(np.mean([r[kind][0] for r in read]))
            u = math.sqrt(sum(r[kind][1] ** 2 for r in read)) / len(read)
            value = budget.value(seen)
            hidden = max(r.get("hidden", 0.0) for r in read) if kind == "threshold" else 0.0
            # hidden ripple raises the start and lowers the stop
            errors[name] = budget.errors(value, u, half_step) + (hidden if start else -hidden) * shares
            out[name] = {"value": value, "u95": float(np.quantile(np.abs(errors[name]), 0.95)),
                         "clear": kind == "threshold" or stands_out(read[0], u)}
    if "start_threshold" in out and "stop_threshold" in out:
        both = np.abs(errors["start_threshold"] - errors["stop_threshold"])
        out["hysteresis"] = {"value": out["start_threshold"]["value"] - out["stop_threshold"]["value"],
                             "u95": float(np.quantile(both, 0.95)), "clear": True}
    return out
