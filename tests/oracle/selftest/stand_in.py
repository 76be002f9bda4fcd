#!/usr/bin/env python3
"""Stands in for the program to test the judge: answers from the truth beside each file.

STAND_IN=honest (default), wrong-roles, narrow, misses, refuses or crashes.
"""

import hashlib
import json
import os
import pathlib
import random
import sys

STAGES = ("supply", "reference", "oscillator", "drive", "current-sense", "own-supply")


def main():
    mode = os.environ.get("STAND_IN", "honest")
    files = [pathlib.Path(a) for a in sys.argv[2:] if a.endswith(".csv")]
    captures, events, measured = [], [], []
    for index, file in enumerate(files):
        truth = json.loads(file.with_suffix(".truth.json").read_text())
        seed = hashlib.sha256(file.read_bytes()[:5000]).digest()
        rng = random.Random(seed)
        if mode == "crashes" and rng.random() < 0.1:
            sys.exit(101)
        channels = []
        for channel in truth["channels"]:
            role = "fb" if mode == "wrong-roles" and rng.random() < 0.1 else channel["role"]
            channels.append({"name": channel["name"], "role": role})
        captures.append({"file": file.name, "kind": truth["kind"], "channels": channels})
        for event in truth["events"]:
            if mode == "misses" and rng.random() < 0.1:
                continue
            late = rng.uniform(0, truth["step_s"])
            events.append({"capture": index, "what": event["what"], "at_s": event["at_s"] + late,
                           "vcc": event["vcc"] * 1.005, "u95": 0.02 * event["vcc"]})
        for quantity, value in truth["quantities"].items():
            if mode == "refuses" and rng.random() < 0.6:
                measured.append({"quantity": quantity, "capture": index, "value": None, "u95": None,
                                 "why_not": "stand-in", "verdict": "no-limit", "provisional": False})
                continue
            u95 = 0.03 * abs(value) + 1e-12
            error = rng.gauss(0.0, u95 / (1.0 if mode == "narrow" else 2.2))
            measured.append({"quantity": quantity, "capture": index, "value": value + error, "u95": u95,
                             "why_not": None, "verdict": "in-limits", "provisional": False})
    stages = [{"stage": s, "state": "working", "because": ""} for s in STAGES]
    print(json.dumps({"schema": "firstpulse/1", "captures": captures, "events": events,
                      "measured": measured, "stages": stages}))
    return 0


if __name__ == "__main__":
    sys.exit(main())
