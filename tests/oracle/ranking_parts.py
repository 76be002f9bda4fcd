"""Parts drawn from what their makers publish, for ranking.py.

A figure of a part lies between its published limits. Where a limit is missing it lies as far from the
typical value as the widest that another maker publishes for the same figure, of the same family if there
is one. What a part's own document does not say at all is that of another part of its class: of those that
lists of replacements join with it and that have the same ratio. What nobody says is not told.

The ramp sets the largest duty cycle where RT and CT do: RT from 680 ohm up, by the charging law
(SLUS223G 8.3.6). OUT: a bipolar driver stays 1 to 2 V below VCC (SLUS223G 7.5: 13 V at least, 13.5 V
typical, from 15 V), a CMOS driver less than 0.2 V (common practice).
"""

import json
import math
import re
import subprocess


def plain(name):
    return re.sub("[^A-Z0-9]", "", name.split("(")[0].upper())


def class_number(part):
    """`844` or `8C44` of a 384x or 38C4x part, whatever maker and grade."""
    found = re.fullmatch(r"[A-Z]{0,4}[123](8C4[0-5]|84[2-5])[A-C]?\D*", plain(part))
    return found[1] if found else None


class Part:
    """One profile as the program prints it."""

    def __init__(self, told):
        self.id, self.title, self.family = told["id"], told["title"], told["family"]
        self.parts, self.divide = told["parts"], told["divide"]
        self.timing = (told["timing"] or {}).get("text", "")
        self.values = {value["key"]: value for value in told["values"]}
        names = told["parts"] + told["markings"] + told["same_class"]
        self.names = {n for n in map(plain, names) if len(n) > 3 and not n.endswith("4X")}
        self.names |= {number for number in map(class_number, told["parts"]) if number}


def class_of(part, parts):
    """All that replace each other with this one."""
    found, names = [part], set(part.names)
    while True:
        more = [p for p in parts if p not in found and p.divide == part.divide and p.names & names]
        if not more:
            return found
        found += more
        names.update(*(p.names for p in more))


class Shelf:
    """All parts, and what may be drawn of each."""

    def __init__(self, binary):
        done = subprocess.run([binary, "controllers", "--json"], capture_output=True, text=True, check=True)
        self.parts = [Part(told) for told in json.loads(done.stdout)["controllers"]]
        self.classes = {p.id: frozenset(q.id for q in class_of(p, self.parts)) for p in self.parts}
        self.by_id = {p.id: p for p in self.parts}

    def words_of(self, part):
        """What the class of a part may be called: its own number, or that of most of its class."""
        numbers = [class_number(self.by_id[i].parts[0]) for i in self.classes[part.id]]
        return {f"x{n}" for n in numbers if n} | {part.parts[0]}

    def share(self, key, family, side):
        """The widest published limit on one side, as a share of the typical value."""
        def widest(parts):
            both = [p.values[key] for p in parts if key in p.values]
            both = [v for v in both if v["typ"] and v[side] is not None]
            return max((abs(v[side] / v["typ"] - 1) for v in both), default=None)
        known = widest([p for p in self.parts if p.family == family])
        return known if known is not None else widest(self.parts)

    def limits(self, part, key):
        """Least, typical, most; None where nobody of the class says anything."""
        value = part.values.get(key)
        if value is None or all(value[side] is None for side in ("min", "typ", "max")):
            return None
        low, typ, high = value["min"], value["typ"], value["max"]
        if typ is None:
            typ = 0.5 * (low + high) if None not in (low, high) else high if low is None else low
        if low is None:
            share = self.share(key, part.family, "min")
            low = typ * (1 - share) if share is not None else None
        if high is None:
            share = self.share(key, part.family, "max")
            high = typ * (1 + share) if share is not None else None
        low = low if low is not None else 2 * typ - high if high is not None else 0.9 * typ
        high = high if high is not None else 2 * typ - low
        return low if low > 0 else 0.3 * typ, typ, high

    def witness(self, part, key, rng):
        """The part, or another of its class where it does not say."""
        if part.values.get(key):
            return part
        kin = [self.by_id[i] for i in sorted(self.classes[part.id]) if key in self.by_id[i].values]
        return rng.choice(kin) if kin else None

    def drawn(self, part, key, spread, rng):
        known = self.witness(part, key, rng)
        limits = self.limits(known, key) if known else None
        if limits is None:
            return None
        low, typ, high = limits
        if spread == "uniform":
            return rng.uniform(low, high)
        while True:  # three standard deviations to the nearer limit, nothing beyond either
            value = rng.gauss(typ, max(min(typ - low, high - typ), 0.2 * (high - low)) / 3)
            if low <= value <= high:
                return value

    def thresholds(self, part, spread, rng):
        """Start and stop; the stop lies below the start by what is published of it, if anything is."""
        hysteresis = part.values.get("vcc_hysteresis") or {}
        least, most = hysteresis.get("min") or 0.0, hysteresis.get("max") or math.inf
        for _ in range(10_000):
            start = self.drawn(part, "vcc_start", spread, rng)
            stop = self.drawn(part, "vcc_stop", spread, rng)
            if start is None:
                return None
            if stop is None:  # nobody says: anything from half of the start on
                stop = start * rng.uniform(0.55, 0.93)
            if least <= start - stop <= most and stop < start:
                return start, stop
        return None

    def duty(self, part, spread, rng):
        """Largest duty cycle with RT and CT as somebody chose them."""
        if part.divide is None:
            return None
        if self.timing_of(part) == "rt-ct":
            for _ in range(1000):
                rt = 10 ** rng.uniform(math.log10(680), 5)
                sink = rng.uniform(7.5e-3, 9.5e-3)
                peak, valley = (2.5, 0.7) if "C4" in part.family else (2.7, 1.0)
                rise = math.log((5 - valley) / (5 - peak))
                if sink * rt <= 5 - valley:
                    continue
                fall = math.log((peak - 5 + sink * rt) / (valley - 5 + sink * rt))
                return rise / (rise + fall) / part.divide
        if self.timing_of(part) == "280x":
            return (1 - 336 * 1.5 / 10 ** rng.uniform(4, 5)) / part.divide
        return self.drawn(part, "duty_max", spread, rng)

    def timing_of(self, part):
        if part.timing.startswith(("RT charges", "rise =")):
            return "rt-ct"
        return "280x" if "336 ohm" in part.timing else "other"

    def headroom(self, part, rng):
        if part.family.startswith("bipolar") or part.id.startswith("lt124"):
            return rng.uniform(1.0, 2.0)
        if part.family.startswith("BiCMOS") or part.id.startswith("isl"):
            return rng.uniform(0.0, 0.2)
        return None
