#!/usr/bin/env python3
"""Stands in for the program before thresholds.py: reads the truth beside the record and errs as told by
STAND_IN: honest, biased, narrow, wide, refusing, inventing or old (which knows no meter)."""

import json
import os
import pathlib
import random
import sys

MODE = os.environ["STAND_IN"]


def answer(rng, quantity, told):
    truth, best = told["value"], told["oracle"]
    if truth is None:
        value = 12.0 if MODE == "inventing" and rng.random() < 0.05 else None
        return {"quantity": quantity, "value": value, "u95": 0.1, "why_not": None if value else "no event"}
    if best is None or (MODE == "refusing" and rng.random() < 0.15):
        return {"quantity": quantity, "value": None, "u95": None, "why_not": "no wish"}
    sigma = best["u95"] / 1.96
    value = truth + rng.gauss(0.0, sigma) + (0.8 * best["u95"] if MODE == "biased" else 0.0)
    return {"quantity": quantity, "value": value, "u95": best["u95"] * {"narrow": 0.5, "wide": 1.7}.get(MODE, 1.0), "why_not": None}


def main():
    file = pathlib.Path(sys.argv[2])
    if MODE == "old" and "--set-to-meter" in sys.argv:
        print("error: unexpected argument '--set-to-meter' found", file=sys.stderr)
        sys.exit(2)
    kept = json.loads(file.with_suffix(".truth.json").read_text())
    rng = random.Random(file.stem)
    print(json.dumps({"measured": [answer(rng, q, told) for q, told in kept["told"].items()]}))


if __name__ == "__main__":
    main()
