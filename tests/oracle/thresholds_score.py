"""What came of a quantity in a stratum, and the rules that it is held to.

A share fails only where its count has less than one chance in a thousand at the limit.
"""

import math

import numpy as np

LEAST, MOST = 0.93, 0.98  # share of truths within value ± u95
REFUSED = 0.02  # of the records in which the oracle could measure
WIDTH = 1.5  # median half-width over the oracle's
BIAS = 0.25  # of the median half-width, where gain and offset are exact
CHANCE = 1e-3
DEVIATIONS = 3.1  # as seldom, for a mean


def at_least(hits, count, share):
    """Probability of so many hits or more."""
    def log_term(k):
        return (math.lgamma(count + 1) - math.lgamma(k + 1) - math.lgamma(count - k + 1)
                + k * math.log(share) + (count - k) * math.log(1.0 - share))
    return min(1.0, sum(math.exp(log_term(k)) for k in range(hits, count + 1)))


def too_many(hits, count, share):
    return at_least(hits, count, share) < CHANCE


def too_few(hits, count, share):
    return too_many(count - hits, count, 1.0 - share)


class Cell:
    def __init__(self):
        self.errors, self.u95, self.ratios, self.why, self.unwanted = [], [], [], [], []
        self.held = self.within_reach = self.refused = self.oracle_held = self.oracle_count = self.never = 0
        self.worst = (0.0, "")

    def add(self, told, said, file):
        said = said or {}
        value, best = said.get("value"), told["oracle"]
        if told["value"] is None:
            self.never += 1
            if value is not None:
                self.unwanted.append(f"{file}: {value:.4g}")
            return
        if best:
            self.oracle_count += 1
            self.oracle_held += abs(best["value"] - told["value"]) <= best["u95"]
            if best["clear"]:
                self.within_reach += 1
                if value is None:
                    self.refused += 1
                    self.why.append(said.get("why_not") or "not in the list")
        if value is None:
            return
        error, u95 = value - told["value"], said["u95"]
        self.errors.append(error)
        self.u95.append(u95)
        self.held += abs(error) <= u95 + 1e-12
        if best:
            self.ratios.append(u95 / best["u95"])
        far = abs(error) / max(u95, 1e-12)
        if far > self.worst[0]:
            self.worst = (far, f"{file}: {value:.4f} ± {u95:.4f}, truth {told['value']:.4f}")

    @property
    def count(self):
        return len(self.errors)

    def figures(self):
        count = self.count
        middle = float(np.median(self.u95)) if count else math.nan
        return {"count": count, "held": self.held / count if count else math.nan, "within_reach": self.within_reach,
                "refused": self.refused, "bias": float(np.mean(self.errors)) if count else math.nan, "u95": middle,
                "rms": float(np.sqrt(np.mean(np.square(self.errors)))) if count else math.nan,
                "ratio": float(np.median(self.ratios)) if self.ratios else math.nan,
                "oracle_held": self.oracle_held / self.oracle_count if self.oracle_count else math.nan,
                "never": self.never, "unwanted": len(self.unwanted), "worst": self.worst[1]}


class Rules:
    def __init__(self):
        self.held, self.failed = 0, []

    def check(self, good, text):
        if good:
            self.held += 1
        else:
            self.failed.append(text)

    def cell(self, stratum, quantity, cell, reasons):
        where, f = f"{stratum['name']}: {quantity}", cell.figures()
        if cell.never:
            self.check(not cell.unwanted, f"{where} is given in {f['unwanted']} of {cell.never} records that show none; "
                                          f"{'; '.join(cell.unwanted[:2])}")
        if cell.within_reach:
            self.check(not too_many(cell.refused, cell.within_reach, REFUSED),
                       f"{where} is refused in {cell.refused} of {cell.within_reach}: {reasons(cell.why)}")
        if not cell.count:
            return
        share = f"{where} holds the truth in {f['held']:.1%} of {cell.count}"
        detail = f"bias {f['bias']:+.4f}, rms {f['rms']:.4f}, median u95 {f['u95']:.4f} V; worst {f['worst']}"
        self.check(not too_few(cell.held, cell.count, LEAST), f"{share}, too few; {detail}")
        # extremes hide ripple of the supply, which is doubt: where none is drawn nothing is ever off by it
        if not stratum["pairs"] or stratum["ripple"] == "feed":
            self.check(not too_many(cell.held, cell.count, MOST), f"{share}, too many; {detail}")
        if cell.ratios:
            wide = sum(r > WIDTH for r in cell.ratios)
            self.check(not too_many(wide, len(cell.ratios), 0.5),
                       f"{where} is {f['ratio']:.2f} times as wide as the oracle's; {detail}")
        if stratum["accuracy"].gain < 1e-4:
            error = float(np.std(cell.errors)) / math.sqrt(cell.count)
            self.check(abs(f["bias"]) <= BIAS * f["u95"] + DEVIATIONS * error,
                       f"{where} is off by {f['bias']:+.4f} V, {abs(f['bias']) / f['u95']:.2f} of u95; {detail}")
