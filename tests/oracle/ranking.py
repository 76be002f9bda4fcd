"""Which controller is this: how often `controllers --start … --stop …` keeps the true part, and how often
a name that it gives alone is right.

    python3 ranking.py BINARY [--count N] [--seed S] [--only STRATUM] [--show]

Parts come from `ranking_parts.py`: every profile equally often, in turn. Each is read with an error of
the size that is told with `--meter`. In each stratum:

- the true part is listed, with nothing against it, in at least 97 % of the records;
- of the answers that name one part, or one class, fewer than 2.5 % are wrong;
- the heaviest class is the true one at least as often as LEAST_FIRST says (no rule of the trade: less than
  was reached when it was written). Where parts of several classes have the same figures no more can be had.

A rule is broken where so few would be met by chance in one of 200 runs. Part and class share no code with
the program; the published values are its own.
"""

import argparse
import json
import os
import random
import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

from ranking_parts import Shelf

LISTED, WRONG = 0.97, 0.025
LEAST_FIRST = {"bench": 0.8}
METERS = {"scope": ("2%", 0.02, 0.0), "meter": ("0.5%+10mV", 0.005, 0.010)}
# what is told beside start and stop
TOLD = {
    "thresholds": (),
    "ratio": ("ratio",),
    "out": ("ratio", "headroom"),
    "ramp": ("ratio", "ramp-valley", "ramp-height"),
    "bench": ("ratio", "duty", "ramp-valley", "ramp-height", "standby-current", "headroom", "vref"),
}
KEYS = {"ramp-valley": "osc_valley", "ramp-height": "osc_amplitude_pp", "standby-current": "icc_startup",
        "vref": "vref"}
STRATA = [(spread, told, meter) for spread in ("uniform", "typical") for told in TOLD for meter in METERS]


def figures(shelf, part, spread, told, rng):
    """The truth by option, or None for a part that nobody could rank."""
    thresholds = shelf.thresholds(part, spread, rng)
    if thresholds is None:
        return None
    truth = dict(zip(("start", "stop"), thresholds))
    for name in told:
        if name == "ratio":
            value = part.divide
        elif name == "duty":
            value = shelf.duty(part, spread, rng)
        elif name == "headroom":
            value = shelf.headroom(part, rng)
        else:
            value = shelf.drawn(part, KEYS[name], spread, rng)
        if value is not None:
            truth[name] = float(value)
    return truth


def read(truth, meter, rng):
    """What a person reads: most of the gain error is common to all voltages."""
    _, gain, offset = METERS[meter]
    common = rng.uniform(-0.9, 0.9) * gain
    words = []
    for name, value in truth.items():
        if name == "ratio":
            text = f"{value:.0f}"
        elif name == "duty":
            text = f"{100 * value * (1 + rng.uniform(-0.01, 0.01)):.4g}%"
        else:
            shift = 0.0 if name == "standby-current" else rng.uniform(-offset, offset)
            value = value * (1 + common + rng.uniform(-0.1, 0.1) * gain) + shift
            unit = "mA" if name == "standby-current" else "V"
            scaled = value * 1e3 if unit == "mA" else value
            text = f"{scaled:.5f}{unit}"
        words.append(f"--{name}={text}")
    return words


def ask(binary, meter, words):
    command = [binary, "controllers", "--json", "--meter", METERS[meter][0], *words]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"{' '.join(command)}: {done.stderr.strip()[:300]}")
    return json.loads(done.stdout)


def judge(shelf, part, said):
    """What one answer got right; `one` and `class` are None where no such answer was given."""
    ranked = said["ranked"]
    left = [one for one in ranked if not one["against"] and one["weight"] > 0]
    weights = {}
    for one in left:
        kin = shelf.classes[one["id"]]
        weights[kin] = weights.get(kin, 0.0) + one["weight"]
    heaviest = max(weights, key=weights.get, default=None)
    text = said["conclusion"] or ""
    kin = re.search(r"Only the class (\S+) fits", text)
    alone = re.search(r"Only (.+) fits\.", text)
    return {
        "listed": any(one["id"] == part.id for one in left),
        "first": heaviest == shelf.classes[part.id],
        "one": alone[1] == part.title if alone and not kin else None,
        "class": kin[1] in shelf.words_of(part) if kin else None,
        "nothing": not left,
        "left": len(left),
        "text": text,
    }


def too_many(bad, count, share):
    """Would as many be met in fewer than one of 200 runs, if each were bad with this probability?"""
    tail, term = 0.0, (1 - share) ** count
    for k in range(count + 1):
        if k >= bad:
            tail += term
        term *= share / (1 - share) * (count - k) / (k + 1)
    return bad > 0 and tail < 0.005


def readings(shelf, part, name, rng):
    """The options for one drawn part; a stop read above the start would be read again."""
    spread, told, meter = name
    while True:
        words = read(figures(shelf, part, spread, TOLD[told], rng), meter, rng)
        start, stop = (float(word.split("=")[1].rstrip("V")) for word in words[:2])
        if stop < start:
            return words


def stratum(binary, shelf, name, count, seed, show):
    rng = random.Random(f"{seed} {name}")
    drawable = [p for p in shelf.parts if figures(shelf, p, name[0], (), random.Random(1))]
    jobs = []
    for number in range(count):
        if number % len(drawable) == 0:
            rng.shuffle(drawable)
        part = drawable[number % len(drawable)]
        jobs.append((part, readings(shelf, part, name, rng)))
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        answers = list(pool.map(lambda job: ask(binary, name[2], job[1]), jobs))
    found = []
    for (part, words), said in zip(jobs, answers):
        result = judge(shelf, part, said)
        found.append(result)
        if show and not (result["listed"] and result["one"] is not False and result["class"] is not False):
            print(f"    {part.id}: {' '.join(words)}: {result['text']}")
    return found


def rules(name, found):
    """Lines of figures, and the rules that are broken."""
    count = len(found)
    lost = sum(not r["listed"] for r in found)
    given = [r[key] for r in found for key in ("one", "class") if r[key] is not None]
    ones = [r["one"] for r in found if r["one"] is not None]
    wrong = sum(not right for right in given)
    first = sum(r["first"] for r in found)
    line = (f"{' '.join(name):26} {count:4} records: listed {100 * (1 - lost / count):5.1f} %, "
            f"class first {100 * first / count:5.1f} %, one part named {len(ones):3} ({sum(not r for r in ones)} "
            f"wrong), one class {len(given) - len(ones):3} ({wrong - sum(not r for r in ones)} wrong), "
            f"nothing {sum(r['nothing'] for r in found)}, left {sum(r['left'] for r in found) / count:.1f}")
    broken = []
    if too_many(lost, count, 1 - LISTED):
        broken.append(f"{' '.join(name)}: the true part is lost in {lost} of {count}")
    if given and too_many(wrong, len(given), WRONG):
        broken.append(f"{' '.join(name)}: {wrong} of {len(given)} names given alone are wrong")
    least = LEAST_FIRST.get(name[1])
    if least is not None and too_many(count - first, count, 1 - least):
        broken.append(f"{' '.join(name)}: the true class is first in {first} of {count}")
    return line, broken


def main():
    ask_for = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask_for.add_argument("binary")
    ask_for.add_argument("--count", type=int, default=260, help="records in each stratum")
    ask_for.add_argument("--seed", type=int, default=1)
    ask_for.add_argument("--only", help="strata whose name holds this")
    ask_for.add_argument("--show", action="store_true", help="print each record that went wrong")
    told = ask_for.parse_args()
    shelf = Shelf(told.binary)
    broken, every = [], []
    for name in STRATA:
        if told.only and told.only not in " ".join(name):
            continue
        found = stratum(told.binary, shelf, name, told.count, told.seed, told.show)
        line, wrong = rules(name, found)
        print(line, flush=True)
        every += found
        broken += wrong
    line, wrong = rules(("all", "of", "them"), every)
    print(line)
    for text in broken + wrong:
        print(f"broken: {text}")
    return 1 if broken or wrong else 0


if __name__ == "__main__":
    sys.exit(main())
