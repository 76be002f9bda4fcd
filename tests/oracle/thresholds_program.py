"""One record through the program, and what it said of each quantity."""

import json
import pathlib
import subprocess

import thresholds_record as records
from thresholds_record import QUANTITIES
from thresholds_strata import STRATA

TIMEOUT_S = 300


class Unknown(Exception):
    """The program does not know an option that the stratum needs."""


def inspect(binary, files, words):
    """The measured entries by quantity; where the program refuses the whole job, its reason for each."""
    command = ["nice", binary, "inspect", *map(str, files), "--json", *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=TIMEOUT_S, check=False)
    if done.returncode == 2 and "unexpected argument" in done.stderr:
        raise Unknown(done.stderr.strip().splitlines()[0])
    if done.returncode == 2 and done.stderr.strip() and "panicked" not in done.stderr:
        return {q: {"value": None, "why_not": done.stderr.strip().splitlines()[0]} for q in QUANTITIES}
    if done.returncode not in (0, 1, 3) or "panicked" in done.stderr:
        raise RuntimeError(f"exit code {done.returncode}: {done.stderr.strip()[:300]}")
    found = {}
    for entry in json.loads(done.stdout)["measured"]:
        found.setdefault(entry["quantity"], entry)
    return found


def one(job):
    """Makes record `number` of a stratum, has it measured, and lays told and said side by side."""
    binary, name, seed, number, folder, keep = job
    stratum = next(s for s in STRATA if s["name"] == name)
    record = records.make(stratum, seed, number)
    file = pathlib.Path(folder) / f"{number:04}.csv"
    files = []
    for more, text in records.texts(record).items():
        files.append(file.with_stem(file.stem + more))
        files[-1].write_text(text, encoding="ascii")
    beside = file.with_suffix(".truth.json")
    truth = {"options": records.options(record), "told": record.told}
    beside.write_text(json.dumps(truth))
    result = {"file": file.name, "told": record.told, "said": {}}
    try:
        said = inspect(binary, files, truth["options"])
        result["said"] = {q: {k: said[q].get(k) for k in ("value", "u95", "why_not")} for q in QUANTITIES if q in said}
    except Unknown as error:
        result["unknown"] = str(error)
    except (RuntimeError, ValueError, KeyError, subprocess.TimeoutExpired) as error:
        result["problem"] = f"{file.name}: {error!r}"[:400]
    if keep and amiss(result):
        truth |= {"said": result["said"], "events": [vars(e) for e in record.sweep.events],
                  "ripple": vars(record.sweep.ripple), "step_s": record.step_s}
        beside.write_text(json.dumps(truth, indent=1, default=float) + "\n")
    else:
        for path in [*files, beside]:
            path.unlink()
    return result


def amiss(result):
    """A truth not held, a number where none is due, a refusal where the oracle could measure."""
    if "problem" in result:
        return True
    for quantity, told in result["told"].items():
        said = result["said"].get(quantity) or {}
        value = said.get("value")
        if told["value"] is None:
            if value is not None:
                return True
        elif value is None:
            if told["oracle"] and told["oracle"]["clear"]:
                return True
        elif abs(value - told["value"]) > said["u95"]:
            return True
    return False
