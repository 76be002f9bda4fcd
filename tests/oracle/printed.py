"""Numbers as a file prints them, and the truth that stands beside such a file.

A number is kept as the decimal text that is printed, so that its truth is exact: the double nearest to
text times factor plus offset. Nothing is parsed back from a file.
"""

import json
from decimal import Decimal
from fractions import Fraction

OVER = object()  # a cell that says "beyond the range"; None is a cell without a value


def number(whole, decimals=0):
    """The decimal text of whole / 10**decimals."""
    digits = str(abs(whole)).rjust(decimals + 1, "0")
    text = digits if decimals == 0 else digits[:-decimals] + "." + digits[-decimals:]
    return "-" + text if whole < 0 else text


def numbers(wholes, decimals=0):
    return [number(whole, decimals) for whole in wholes]


def line(count, start, step, decimals=0):
    """The decimal texts start, start + step, …, all in units of the last decimal."""
    return numbers([start + step * index for index in range(count)], decimals)


def rounded(exact, decimals):
    """A fraction printed with so many decimals, half to even."""
    return number(round(Fraction(exact) * 10**decimals), decimals)


def wave(count, seed, low, high, slew=None):
    """Whole numbers that wander between low and high: never even steps, never long the same way."""
    state = seed * 2654435761 % 2**32 or 1
    slew = slew or max((high - low) // 12, 3)
    here, found = (low + high) // 2, []
    for _ in range(count):
        state = (state * 1664525 + 1013904223) % 2**32
        here = min(max(here + state * (2 * slew + 1) // 2**32 - slew, low), high)
        found.append(here)
    return found


def value(text, factor="1", offset="0"):
    """The double nearest to text × factor + offset."""
    return float(Fraction(text) * Fraction(factor) + Fraction(offset))


def channel(name, cells, time, unit="V", factor="1", offset="0", **more):
    """The truth of one channel; `time` comes from even(), uneven() or instants()."""
    printed = [cell for cell in cells if isinstance(cell, str)]
    places = {Decimal(cell).as_tuple().exponent for cell in printed}
    truth = {"name": name, "unit": unit, "samples": len(cells), "missing": len(cells) - len(printed)}
    if any(cell is OVER for cell in cells):
        truth["clipped"] = sum(cell is OVER for cell in cells)
    if places == {0}:
        truth["digit"] = float(abs(Fraction(factor)) / 10**6)  # whole numbers are kept as they are
    elif len(places) == 1:
        truth["digit"] = float(Fraction(10) ** places.pop() * abs(Fraction(factor)))
    else:
        truth["relative"] = 1e-7  # digits vary: what single precision keeps
    truth.update(time)
    truth.update(more)
    truth["values"] = [value(c, factor, offset) if isinstance(c, str) else None for c in cells]
    return truth


def even(start, step, digit=None):
    """An even axis; `digit` is the worth of the last printed digit where times are rounded."""
    time = {"start_s": float(Fraction(start)), "interval_s": float(Fraction(step)), "uniform": True}
    if digit is not None:
        time["time_digit"] = float(Fraction(digit))
    return time


def paired(start, step):
    """The axis of two samples an instant, the instants `step` apart."""
    return dict(even(start, Fraction(step) / 2), kind="min-max-pair")


def uneven(texts, factor="1"):
    """An axis with a time for each sample."""
    times = [value(text, factor) for text in texts]
    mean = (times[-1] - times[0]) / (len(times) - 1)
    return {"start_s": times[0], "interval_s": mean, "uniform": False, "times": times}


def capture(*channels, notes=(), decisions=None):
    found = {"channels": list(channels)}
    if notes:
        found["notes"] = list(notes)
    if decisions:
        found["decisions"] = decisions
    return found


def read(made, *captures, **more):
    """The truth of a file that must be read."""
    return {"made": made, **more, "captures": list(captures)}


def refused(made, ids, **more):
    """The truth of a file that must be refused with one of these ids."""
    return {"made": made, **more, "refused": ids}


def pretty(truth, depth=0):
    """JSON with a line for each member, and lists of plain things on one line."""
    inside = "\n" + " " * (depth + 1)
    if isinstance(truth, dict) and truth:
        members = [json.dumps(k, ensure_ascii=False) + ": " + pretty(v, depth + 1) for k, v in truth.items()]
        return "{" + inside + ("," + inside).join(members) + "\n" + " " * depth + "}"
    if isinstance(truth, list) and any(isinstance(item, dict) for item in truth):
        return "[" + inside + ("," + inside).join(pretty(item, depth + 1) for item in truth) + "\n" + " " * depth + "]"
    return json.dumps(truth, ensure_ascii=False, allow_nan=False)


def write(folder, name, content, truth):
    """Writes a file and NAME.truth.json beside it."""
    path = folder / name
    path.write_bytes(content)
    path.with_suffix(".truth.json").write_text(pretty(truth) + "\n", encoding="utf-8")


FIXTURES = {}


def fixture(name):
    """Registers a function that returns the content of file `name`, as text or bytes, and its truth."""

    def register(function):
        assert name not in FIXTURES, name
        FIXTURES[name] = function
        return function

    return register


def rows(separator, *columns):
    """A line for each row."""
    return [separator.join(cells) for cells in zip(*columns, strict=True)]


def text(*parts, end="\n"):
    """Lines, or lists of lines, each with its line end."""
    flat = []
    for part in parts:
        flat.extend([part] if isinstance(part, str) else part)
    return "".join(one + end for one in flat)


def comma(texts):
    """The same numbers with a decimal comma."""
    return [one.replace(".", ",") for one in texts]


def worded(cells, words, over="OL"):
    """Cells as printed: words in turn where there is no value."""
    turn, found = 0, []
    for cell in cells:
        if cell is None:
            cell, turn = words[turn % len(words)], turn + 1
        found.append(over if cell is OVER else cell)
    return found
