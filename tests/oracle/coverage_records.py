"""Records drawn at random: what is on the pins, how the scope saw it, what is true."""

import numpy as np

from coverage_drive import drive
from coverage_steady import control, mains, reference, sweep

KINDS = {"drive": drive, "reference": reference, "control": control, "mains": mains, "sweep": sweep}


def make(stratum, seed, number):
    """Record `number` of a stratum: the same for the same seed."""
    name = int.from_bytes(stratum["name"].encode(), "little") % 2**61
    rng = np.random.default_rng([seed, name, number])
    return KINDS[stratum["kind"]](rng, stratum)
