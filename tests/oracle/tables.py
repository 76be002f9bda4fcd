"""Writes random record tables in random layouts, each with its truth beside it.

    python3 tables.py OUT --count N --seed S    N tables
    python3 tables.py OUT --sample              the small committed set

A truth with "may_ask" is one whose layout does not say enough: the reader may ask or refuse there, but
what it reads must be right. Values and times are kept as the decimal texts that are printed.
"""

import argparse
import pathlib

import numpy as np

from printed import write
from table_kinds import KINDS
from table_style import random_style

SAMPLE = {"count": 60, "seed": 384, "rows": (20, 60)}


def table(seed, number, rows):
    """Name, content and truth of one table."""
    rng = np.random.default_rng([seed, number])
    names = list(KINDS)
    weights = np.array([KINDS[name].weight for name in names], float)
    while True:
        style = random_style(rng)
        kind = names[int(rng.choice(len(names), p=weights / weights.sum()))]
        made = KINDS[kind].make(style, int(rng.integers(*rows)))
        if made is None:  # this style cannot show this kind
            continue
        content, truth = made
        ending = {"tab": "tsv", "space": "txt"}.get(style.separator, "csv")
        words = ", ".join([kind, *style.words()])
        return f"{number:04}-{kind}.{ending}", content, {**truth, "made": words}


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    parser.add_argument("out", type=pathlib.Path)
    parser.add_argument("--count", type=int, default=300)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--sample", action="store_true")
    options = parser.parse_args()
    count, seed, rows = options.count, options.seed, (20, 200)
    if options.sample:
        count, seed, rows = SAMPLE["count"], SAMPLE["seed"], SAMPLE["rows"]
    options.out.mkdir(parents=True, exist_ok=True)
    may_ask = 0
    for number in range(count):
        name, content, truth = table(seed, number, rows)
        may_ask += truth.get("may_ask", False)
        write(options.out, name, content, truth)
    print(f"{count} tables, {count - may_ask} must be read")


if __name__ == "__main__":
    main()
