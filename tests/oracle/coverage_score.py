"""Results of a quantity in a stratum, and the rules that they are held to."""

import math

import numpy as np

LEAST, MOST = 0.93, 0.98  # share of truths within value ± u95
SCATTER = 3.0  # frequency: rms error over that of the best estimate
DUTY_BIAS = 0.001  # of the period, at DUTY_SAMPLES a cycle
DUTY_SAMPLES = 50
REFUSED = 0.02  # of the records in which the oracle could measure
ENOUGH = 20  # results from which a share is judged


class Cell:
    """One quantity in one stratum."""

    def __init__(self):
        self.errors, self.u95, self.truths, self.best, self.own, self.zero = [], [], [], [], [], []
        self.held = []
        self.within_reach, self.refused, self.beyond, self.why, self.worst = 0, 0, 0, [], (0.0, "")
        self.absent = 0

    def add(self, entry, truth, time_base, file):
        self.within_reach += truth.within_reach
        if entry is None or entry.get("value") is None:
            self.absent += entry is None
            self.refused += truth.within_reach
            self.beyond += not truth.within_reach
            if truth.within_reach:
                self.why.append((entry or {}).get("why_not") or "not in the list")
            return
        value, u95 = entry["value"], entry["u95"]
        error = value - truth.value
        self.errors.append(error)
        self.u95.append(u95)
        self.truths.append(truth.value)
        self.zero.append(truth.at_zero)
        self.best.append(truth.best)
        self.own.append(value * (1.0 + time_base) ** truth.timed - truth.value)
        self.held.append(self.holds(error, u95, truth.value) or self.holds(value - truth.also, u95, truth.also))
        far = abs(error) / u95 if u95 > 0.0 else (0.0 if self.held[-1] else math.inf)
        if far > self.worst[0]:
            self.worst = (far, f"{file}: {value:.7g} ± {u95:.3g}, truth {truth.value:.7g}")

    @staticmethod
    def holds(error, u95, truth):
        return abs(error) <= u95 + 1e-9 * abs(truth)

    @property
    def count(self):
        return len(self.errors)

    @property
    def covered(self):
        return sum(self.held)

    @property
    def one_sided(self):
        return bool(self.zero) and all(self.zero)

    def scatter(self):
        """Root mean square of the errors, the time base taken out, each over the best one could do."""
        z = [e / b for e, b in zip(self.own, self.best) if b > 0.0]
        return float(np.sqrt(np.mean(np.square(z)))) if z else math.nan

    def figures(self):
        errors, u95, truths = (np.array(x) for x in (self.errors, self.u95, self.truths))
        if not self.count:
            return {"count": 0, "within_reach": self.within_reach, "refused": self.refused, "beyond": self.beyond}
        width = float(u95.mean())
        scale = float(np.abs(truths).mean())
        return {"count": self.count, "within_reach": self.within_reach, "refused": self.refused,
                "beyond": self.beyond, "coverage": self.covered / self.count,
                "bias_over_u95": float(errors.mean()) / width if width else math.nan, "bias": float(errors.mean()),
                "u95": width, "u95_over_truth": width / scale if scale else math.nan,
                "rms": float(np.sqrt(np.mean(errors**2))), "scatter": self.scatter(), "worst": self.worst[1],
                "worst_over_u95": self.worst[0]}


def share_is_right(covered, count, one_sided):
    """Within the limits, three standard deviations of the count allowed."""
    share = covered / count
    low, high = (3.0 * math.sqrt(p * (1.0 - p) / count) for p in (LEAST, MOST))
    return share >= LEAST - low and (one_sided or share <= MOST + high)


class Rules:
    """Passed and failed, with the texts of those that failed."""

    def __init__(self):
        self.passed, self.failed = 0, []

    def check(self, good, text):
        if good:
            self.passed += 1
        else:
            self.failed.append(text)

    def cell(self, stratum, quantity, cell):
        where = f"{stratum['name']}: {quantity}"
        if cell.count >= ENOUGH:
            self.check(share_is_right(cell.covered, cell.count, cell.one_sided),
                       f"{where} holds the truth in {cell.covered / cell.count:.1%} of {cell.count}; "
                       f"bias {np.mean(cell.errors):+.3g}, mean u95 {np.mean(cell.u95):.3g}; worst {cell.worst[1]}")
        locked = stratum.get("locked")  # each cycle is seen alike: nothing averages, and few draws tell no bias
        # the bound is that of edges: it says nothing of cycles of so few samples that they show none
        if quantity.endswith("_frequency") and cell.count >= ENOUGH and cell.within_reach and not locked:
            scatter = cell.scatter()
            self.check(not scatter > SCATTER, f"{where} scatters {scatter:.2f} times the best")
        if quantity.endswith("duty_cycle") and stratum.get("spc") == DUTY_SAMPLES and cell.count >= ENOUGH and not locked:
            bias = float(np.mean(cell.errors))
            self.check(abs(bias) < DUTY_BIAS, f"{where} is off by {bias * 100:+.4f} % of the period")
        if cell.within_reach:
            share = cell.refused / cell.within_reach
            self.check(share <= REFUSED, f"{where} is refused in {share:.1%} of {cell.within_reach}: {{why}}")

    def pooled(self, quantity, cells):
        """Over all strata, where too wide shows that single strata are too few for."""
        two = [c for c in cells if not c.one_sided]
        count, covered = sum(c.count for c in two), sum(c.covered for c in two)
        if count >= ENOUGH:
            self.check(share_is_right(covered, count, False),
                       f"all strata: {quantity} holds the truth in {covered / count:.1%} of {count}")
