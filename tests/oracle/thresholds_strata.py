"""The strata of thresholds.py: what is varied, by name. Spans are drawn from evenly, (low, high)."""

from coverage_scope import Accuracy

WIDE, FINE, EXACT = Accuracy(0.02, 0.1), Accuracy(0.005, 0.02), Accuracy(1e-5, 1e-4)
METER = Accuracy(0.005, 0.01)
X844, X845 = (16.0, 10.0), (8.4, 7.6)  # nominal start and stop, SLUS223G

USUAL = {"class": X844, "accuracy": WIDE, "witness": "vref", "meter": None, "points": 0, "sweeps": (1, 3),
         "rate": (0.8, 6.0), "rows": (2000, 20000), "seconds": None, "piece": (1.5, 4.0), "uneven": (0.6, 1.6),
         "ripple": None, "peak": (0.05, 0.3), "drift": 0.0, "steps": False, "course": "sweeps", "noise": (0.2, 1.0),
         "pairs": None, "reference": False}

SMALL = {"class": X845, "peak": (0.05, 0.14), "rate": (0.3, 2.0)}
POINTS = {"rows": (2000, 2000)}
PAIRS = {"seconds": 2.0, "rows": (20000, 20000), "sweeps": (1, 2), "witness": "out"}  # 10 kS/s while OUT pulses at 25 to 67 kHz
RANGE = {"reference": True, "meter": METER}
FAST = {"seconds": 4.0, "rows": (40000, 40000)}  # 10 kS/s for 4 s: nothing of the oscillator is left but its levels
NARROW = {"accuracy": EXACT}
MAINS = {"ripple": "mains"}
ONE = {"points": 1, "meter": METER}
TWO = {"points": 2, "meter": METER}

VARIED = {
    # accuracy as stated, no meter
    "plain": {},
    "plain-8": SMALL,
    "fine": {"accuracy": FINE},
    "exact": NARROW,
    "exact-8": NARROW | SMALL,
    "exact-coarse": NARROW | {"rows": (600, 2000)},
    "exact-uneven": NARROW | {"piece": (0.4, 1.5), "uneven": (0.3, 3.0)},
    # ripple: of the mains; of a switching bench supply; of the controller's own switching
    "ripple": MAINS,
    "ripple-exact": MAINS | NARROW,
    "ripple-exact-8": MAINS | NARROW | SMALL,
    "ripple-feed": {"ripple": "feed"},
    "ripple-feed-exact": {"ripple": "feed"} | NARROW,
    "ripple-own": {"ripple": "own"},
    "ripple-own-exact": {"ripple": "own"} | NARROW,
    # the oscillator or OUT beside VCC, aliased
    "rtct": FAST | {"witness": "rtct"},
    "rtct-exact": FAST | NARROW | {"witness": "rtct"},
    "rtct-ripple": FAST | MAINS | {"witness": "rtct"},
    "rtct-ripple-exact": FAST | MAINS | NARROW | {"witness": "rtct"},
    "out": FAST | {"witness": "out"},
    "out-exact": FAST | NARROW | {"witness": "out"},
    "out-ripple": FAST | MAINS | {"witness": "out"},
    # a supply with steps of 0.1 V; a threshold that drifts from sweep to sweep
    "steps": {"steps": True, "sweeps": (1, 1), "rows": (4000, 10000)},
    "steps-exact": NARROW | {"steps": True, "sweeps": (1, 1), "rows": (4000, 10000)},
    # a slow record of 4 s; an export of 2,000 points
    "slow": FAST,
    "slow-exact": FAST | NARROW,
    "points": POINTS,
    "points-exact": POINTS | NARROW,
    "points-ripple": POINTS | MAINS,
    "points-rtct": POINTS | {"witness": "rtct"},
    "points-out": POINTS | {"witness": "out"},
    "points-out-exact": POINTS | NARROW | {"witness": "out"},
    "points-out-ripple": POINTS | MAINS | {"witness": "out"},
    "points-out-own": POINTS | {"witness": "out", "ripple": "own"},
    # the lowest and the highest of each interval
    "pairs-rows": PAIRS | {"pairs": "rows"},
    "pairs-columns": PAIRS | {"pairs": "columns"},
    "pairs-vref": PAIRS | {"pairs": "columns", "witness": "vref"},
    "pairs-exact": PAIRS | NARROW | {"pairs": "columns"},
    "pairs-ripple": PAIRS | MAINS | {"pairs": "rows"},
    "pairs-own": PAIRS | {"pairs": "columns", "ripple": "own"},
    "pairs-feed": PAIRS | {"pairs": "columns", "ripple": "feed", "peak": (0.02, 0.3)},
    "pairs-2000": POINTS | {"pairs": "rows"},
    "drift": {"drift": 0.1, "sweeps": (3, 3), "accuracy": FINE},
    # no event, or no stop
    "parked": {"course": "parked"},
    "parked-8": SMALL | {"course": "parked"},
    "parked-ripple": MAINS | {"course": "parked"},
    "parked-rtct": FAST | {"course": "parked", "witness": "rtct"},
    "parked-out": FAST | {"course": "parked", "witness": "out"},
    "parked-pairs": PAIRS | {"pairs": "columns", "course": "parked"},
    "no-stop": {"course": "no-stop"},
    "no-stop-out": FAST | {"course": "no-stop", "witness": "out"},
    # set to a multimeter at one level, at two
    "meter-1": ONE,
    "meter-1-ripple": ONE | MAINS,
    "meter-1-rtct": ONE | FAST | {"witness": "rtct"},
    "meter-2": TWO,
    "meter-2-8": TWO | SMALL,
    "meter-2-ripple": TWO | MAINS,
    "meter-2-ripple-own": TWO | {"ripple": "own"},
    "meter-2-rtct": TWO | FAST | {"witness": "rtct"},
    "meter-2-rtct-ripple": TWO | FAST | MAINS | {"witness": "rtct"},
    "meter-2-drift": TWO | {"drift": 0.1, "sweeps": (3, 3)},
    # set to a multimeter by VREF, which went through the same input on the same range; and by one level of VCC
    "range": RANGE,
    "range-8": RANGE | SMALL,
    "range-and-1": RANGE | {"points": 1},
    "range-and-1-ripple": RANGE | MAINS | {"points": 1},
}

STRATA = [USUAL | {"name": name} | wanted for name, wanted in VARIED.items()]

# for a check of a minute or two: those in which every rule held when all were last run
CI = ("plain", "exact", "exact-coarse", "rtct", "rtct-ripple", "out", "steps", "meter-1", "meter-2",
      "meter-2-rtct", "parked", "parked-8", "parked-rtct", "parked-out", "no-stop")
