"""The strata: what is varied, by name. Rise and fall times are in samples, noise in codes."""

from coverage_record import FINE, WIDE
from coverage_scope import Accuracy

USUAL = {"kind": "drive", "roles": ("out", "rtct"), "setup": "injected", "accuracy": WIDE, "bits": 8, "noise": 1.0,
         "scale": 1.0, "spc": 50, "cycles": 40, "least_rows": 1500, "period": 14.8e-6, "divide": 2, "duty": 0.45,
         "shape": "straight", "rise": (0.05, 3.0), "fall": (0.05, 3.0), "gate_rise": (3.0, 12.0),
         "damping": (0.3, 0.6), "jitter": 0.0, "jitter_kind": "white", "missing": False, "cmos": False,
         "fall_share": 0.06, "leak": False, "locked": False, "dip": (0.0, 0.0), "ripple": (0.0, 0.0), "droop": (0.0, 0.0),
         "zoom": False, "pedestal": False, "spike": True}

RAMP = {"divide": 1, "period": 7.4e-6, "duty": 0.6, "spc": 100, "fall_share": 0.08}
SENSE = {"roles": ("out", "cs"), "setup": "mains", "spc": 300, "cycles": 16, "duty": 0.35, "accuracy": FINE}
MAINS = {"kind": "mains", "setup": "mains", "span": 0.1, "rows": 4000, "accuracy": WIDE,
         "own_accuracy": Accuracy(0.02, 2.0), "hertz": 100.0, "mean": (290.0, 330.0), "ripple": (8.0, 40.0)}

VARIED = {
    # noise and resolution
    "core": {},
    "noise-0.2": {"noise": 0.2},
    "noise-3": {"noise": 3.0},
    "scale-2": {"scale": 2.0},
    "scale-5": {"scale": 5.0},
    "bits-12": {"bits": 12, "noise": 3.0},
    "bits-12-fine": {"bits": 12, "noise": 1.0, "accuracy": FINE},
    "fine": {"accuracy": FINE},
    # samples a cycle
    "spc-8": {"spc": 8, "cycles": 200, "period": 8e-6, "rise": (0.05, 1.0), "fall": (0.05, 1.0)},
    "spc-20": {"spc": 20, "cycles": 80},
    "spc-200": {"spc": 200, "cycles": 15},
    "spc-1000": {"spc": 1000, "cycles": 8},
    "spc-1000-few": {"spc": 1000, "cycles": 4},
    "locked": {"locked": True},
    "locked-instant": {"locked": True, "rise": (0.003, 0.03), "fall": (0.003, 0.03), "spc": 40, "cycles": 60},
    # duty cycle
    "duty-10": {"duty": 0.10},
    "duty-48": {"duty": 0.48},
    "duty-80": {"duty": 0.80, "divide": 1, "period": 10e-6},
    # edges
    "edge-instant": {"rise": (0.003, 0.03), "fall": (0.003, 0.03)},
    "edge-half": {"rise": (0.3, 0.8), "fall": (0.3, 0.8)},
    "edge-2": {"rise": (1.5, 3.0), "fall": (1.5, 3.0), "spc": 100, "cycles": 25},
    "edge-8": {"rise": (6.0, 10.0), "fall": (3.0, 6.0), "spc": 200, "cycles": 15, "shape": "smooth"},
    "edge-30-noisy": {"rise": (20.0, 40.0), "fall": (15.0, 30.0), "spc": 500, "cycles": 10, "noise": 3.0},
    "edge-charging": {"rise": (5.0, 10.0), "fall": (5.0, 10.0), "spc": 300, "cycles": 10, "shape": "charging"},
    "ring-mild": {"shape": "ringing", "damping": (0.45, 0.65), "rise": (6.0, 12.0), "fall": (6.0, 12.0), "spc": 500,
                  "cycles": 10},
    "ring-strong": {"shape": "ringing", "damping": (0.15, 0.35), "rise": (4.0, 8.0), "fall": (4.0, 8.0), "spc": 500,
                    "cycles": 10},
    # jitter
    "jitter-white-0.1": {"jitter": 0.001},
    "jitter-white-0.5": {"jitter": 0.005},
    "jitter-walk-0.1": {"jitter": 0.001, "jitter_kind": "walk"},
    "jitter-walk-0.5": {"jitter": 0.005, "jitter_kind": "walk"},
    "jitter-white-0.5-fast": {"jitter": 0.005, "spc": 200, "cycles": 30},
    "missing": {"missing": True, "cycles": 60, "spc": 40},
    # VCC beside OUT
    "vcc-steady": {"roles": ("out", "vcc")},
    "vcc-fine": {"roles": ("out", "vcc"), "accuracy": FINE, "bits": 12, "cmos": True},
    "vcc-dip": {"roles": ("out", "vcc"), "dip": (0.3, 1.0), "zoom": True, "accuracy": FINE},
    "vcc-dip-small": {"roles": ("out", "vcc"), "dip": (0.05, 0.3), "spc": 200, "cycles": 20},
    "vcc-ripple": {"roles": ("out", "vcc"), "ripple": (0.2, 0.8)},
    # ramp
    "ramp": RAMP,
    "ramp-20": RAMP | {"spc": 20, "cycles": 100},
    "ramp-500": RAMP | {"spc": 500, "cycles": 10},
    "ramp-fine": RAMP | {"accuracy": FINE, "bits": 12},
    "ramp-noise-3": RAMP | {"noise": 3.0, "accuracy": FINE},
    "ramp-scale-5": RAMP | {"scale": 5.0, "noise": 0.3},
    "ramp-slow-fall": RAMP | {"fall_share": 0.37, "duty": 0.4, "accuracy": FINE},
    "ramp-sharp-fall": RAMP | {"fall_share": 0.015, "accuracy": FINE},
    "ramp-locked": RAMP | {"locked": True, "accuracy": FINE},
    "ramp-jitter-0.5": RAMP | {"jitter": 0.005, "spc": 200, "cycles": 30, "accuracy": FINE},
    "ramp-leak": RAMP | {"leak": True, "accuracy": FINE},
    "ramp-vref": RAMP | {"roles": ("out", "rtct", "vref"), "accuracy": FINE},
    # gate
    "gate": {"roles": ("out", "gate"), "spc": 200, "cycles": 15},
    "gate-coarse": {"roles": ("out", "gate"), "spc": 50, "gate_rise": (0.3, 2.0)},
    "gate-ring": {"roles": ("out", "gate"), "shape": "ringing", "rise": (5.0, 8.0), "fall": (5.0, 8.0), "spc": 500,
                  "cycles": 10, "accuracy": FINE},
    # current sense
    "sense": SENSE,
    "sense-no-spike": SENSE | {"spike": False},
    "sense-pedestal": SENSE | {"pedestal": True},
    "sense-coarse": SENSE | {"spc": 100, "cycles": 40, "noise": 2.0},
    # steady pins
    "vref": {"kind": "reference", "cycles": 60},
    "vref-ripple": {"kind": "reference", "cycles": 60, "ripple": (0.05, 0.3), "accuracy": FINE, "zoom": True},
    "vref-droop": {"kind": "reference", "cycles": 60, "droop": (0.02, 0.2), "accuracy": FINE},
    "control": {"kind": "control", "ripple": (0.0, 0.3)},
    # mains
    "bulk-100": MAINS | {"roles": ("bulk",)},
    "bulk-50": MAINS | {"roles": ("bulk",), "hertz": 50.0, "ripple": (20.0, 80.0)},
    "bulk-small": MAINS | {"roles": ("bulk",), "ripple": (3.0, 8.0), "noise": 0.5, "zoom": True},
    "output": MAINS | {"roles": ("output",), "mean": (11.0, 25.0), "ripple": (0.3, 1.5), "own_accuracy": WIDE},
    "output-zoom": MAINS | {"roles": ("output",), "mean": (11.0, 25.0), "ripple": (0.05, 0.4), "own_accuracy": FINE,
                            "zoom": True},
    # VREF over a sweep of VCC
    "sweep": {"kind": "sweep", "span": 12.0, "rows": 6000},
    "sweep-droop": {"kind": "sweep", "span": 12.0, "rows": 6000, "droop": (0.03, 0.3), "ripple": (0.05, 0.2),
                    "accuracy": FINE},
}

STRATA = [USUAL | {"name": name} | wanted for name, wanted in VARIED.items()]
