"""The oracle of the thresholds against itself: python3 thresholds_check.py [--count N]

Truths: the instants and volts of the closed forms, against VCC behind its resistance stepped through
in small steps (explicit, shortened near the thresholds) with a comparator on it. Estimator: over many
records its own half-widths hold the truth in 93 to 98 %, else no half-width may be set against it.
Exit 1 where one of them does not hold.
"""

import argparse
import math
import sys
from collections import defaultdict

import thresholds_record as records
from thresholds_score import LEAST, MOST, too_few, too_many
from thresholds_strata import STRATA

NEAR_V = 0.01


def stepped(sweep, until_s):
    """Starts and stops as (start, s, V without ripple), by small steps."""
    feed, ripple, points = sweep.feed, sweep.ripple, [tuple(map(float, p)) for p in sweep.points]
    turn = 2.0 * math.pi * ripple.hertz
    t, running, segment, events, counts = 0.0, False, 0, [], [0, 0]
    v = points[0][1] - feed.idle_v
    coarse, fine = feed.tau_s / 20.0, min(feed.tau_s / 40.0, 1.0 / ripple.hertz / 60.0)
    while t < until_s:
        while segment + 2 < len(points) and points[segment + 1][0] <= t:
            segment += 1
        (a_s, a_v), (b_s, b_v) = points[segment:segment + 2]
        peak = ripple.peak_v if running or not ripple.own else 0.0
        levels = sweep.stops if running else sweep.starts
        level = levels[min(counts[running], len(levels) - 1)]
        sign = -1.0 if running else 1.0
        short = sign * (level - v) - peak
        if short <= 0.0 and sign * (v + peak * math.sin(turn * t + ripple.phase) - level) >= 0.0:
            events.append((not running, t, v))
            counts[running] += 1
            running = not running
            continue
        step = fine if short < NEAR_V and peak > 0.0 else coarse if short > 3.0 * NEAR_V else coarse / 8.0
        step = min(step, max(b_s - t, 1e-9))
        supply = a_v + (b_v - a_v) * (t + 0.5 * step - a_s) / (b_s - a_s)
        v += (supply - (feed.running_v if running else feed.idle_v) - v) * (1.0 - math.exp(-step / feed.tau_s))
        t += step
    return events


def check_truth(name, record, problems):
    seen = stepped(record.sweep, record.span_s)
    told, ripple = record.sweep.events, record.sweep.ripple
    if [s[0] for s in seen] != [e.start for e in told]:
        problems.append(f"{name}: {len(seen)} events in steps, {len(told)} told")
        return
    for (_, at_s, volts), event in zip(seen, told):
        peak = ripple.peak(not event.start)
        loose = 3e-3 + 0.02 * peak
        late = record.sweep.feed.tau_s + (1.1 / ripple.hertz if peak > 0.0 else 0.0)
        if abs(volts - event.mean_v) > loose or abs(at_s - event.at_s) > late:
            problems.append(f"{name}: VCC at {at_s:.5f} s is {volts:.5f} V, told {event.mean_v:.5f} at {event.at_s:.5f} s")
        drawn = float(record.sweep.vcc(event.at_s - 1e-9))
        if abs(drawn - event.threshold_v) > 1e-4:
            problems.append(f"{name}: the wave is at {drawn:.5f} V at an event of {event.threshold_v:.5f} V")


def check_estimator(name, made, problems):
    held, count = defaultdict(int), defaultdict(int)
    for record in made:
        for quantity, told in record.told.items():
            best = told["oracle"]
            if best and told["value"] is not None:
                count[quantity] += 1
                held[quantity] += abs(best["value"] - told["value"]) <= best["u95"]
    for quantity, n in count.items():
        if too_few(held[quantity], n, LEAST) or too_many(held[quantity], n, MOST):
            problems.append(f"{name}: the estimator's {quantity} holds the truth in {held[quantity] / n:.1%} of {n}")


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--count", type=int, default=20, help="records a stratum for the estimator")
    count = parser.parse_args().count
    problems, held = [], 0
    for stratum in STRATA:
        before = len(problems)
        check_truth(stratum["name"], records.make(stratum, 987, 0), problems)
        check_estimator(stratum["name"], (records.make(stratum, 987, number) for number in range(count)), problems)
        held += len(problems) == before
    for line in problems:
        print(line)
    print(f"{held} held, {len(problems)} failed")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
