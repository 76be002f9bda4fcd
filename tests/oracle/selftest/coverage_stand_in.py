#!/usr/bin/env python3
"""Stands in for the program before coverage.py: reads the truth beside the records and errs as told by
STAND_IN: honest, narrow, wide, biased, refusing or scattered."""

import json
import os
import pathlib
import random
import sys

MODE = os.environ["STAND_IN"]


def answer(rng, quantity, told, time_base):
    truth = told["value"]
    if MODE == "refusing" and rng.random() < 0.1:
        return {"quantity": quantity, "value": None, "u95": None, "why_not": "no wish"}
    sigma = told["best"] if told["best"] > 0.0 else 1e-4 * (abs(truth) + 1e-9)
    if MODE == "scattered" and quantity.endswith("frequency"):
        sigma *= 5.0
    base = abs(truth) * 1e-4 * (told["timed"] != 0)
    value = (truth + rng.gauss(0.0, sigma)) * (1.0 + time_base) ** -told["timed"]
    draws = sorted(abs(rng.gauss(0.0, sigma) + rng.uniform(-base, base)) for _ in range(1200))
    u95 = draws[1146] * {"narrow": 0.6, "wide": 4.0}.get(MODE, 1.0)
    if MODE == "biased" and "duty" in quantity:
        value, u95 = value + 0.0015, u95 + 0.0015
    return {"quantity": quantity, "value": value, "u95": u95, "why_not": None}


def main():
    folder = pathlib.Path(sys.argv[2])
    rng = random.Random(7)
    kept = json.loads((folder / "truth.json").read_text())
    files = [{"file": file, "measured": [answer(rng, q, t, record["time_base"]) for q, t in record["told"].items()]}
             for file, record in kept["records"].items()]
    print(json.dumps({"files": files, "errors": []}))


if __name__ == "__main__":
    main()
