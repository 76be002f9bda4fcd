"""Kinds of random tables: each makes the content of one file and its truth, or None where the style forbids it."""

from collections import namedtuple
from fractions import Fraction

import table_more
import table_pandas
from printed import capture, even, read
from table_columns import (TIME_UNITS, coarse_column, drop_some, is_unclear, pick_names, plain_text,
                           short_exponent, time_column, value_column)
from table_rows import (Sheet, header_choice, noise, units_for)

Kind = namedtuple("Kind", "weight make")


def channels(style, header, count, how_many=None, fancy=True):
    """A few channels whose units the header can show."""
    names = pick_names(style, how_many or style.pick(1, 2, 2, 3, 4))
    units = units_for(style, header)
    return [value_column(style, count, name, units, fancy) for name in names]


def finish(style, sheet, columns, captures, has_names=True, unclear=False):
    """Content and truth."""
    truth = read("", *captures)
    if unclear or is_unclear(style, columns, has_names):
        truth["may_ask"] = True
    return sheet.encoded(), truth


def plain(style, count, time=None):
    header = header_choice(style, "none")
    if header in ("bare", "none"):
        units = ["s"]
    else:
        units = list(TIME_UNITS)
    time = (time or time_column)(style, count, units)
    columns = channels(style, header, count)
    for number, column in enumerate(columns if header == "none" else [], 1):
        column.name = f"CH{number}"  # what a reader calls what has no name
    if style.chance(0.15):
        drop_some(style, columns, empty_allowed=True)
    sheet = Sheet(style)
    notes = [] if header == "none" else noise(style, sheet, count, columns)
    sheet.header(header, [time, *columns])
    sheet.rows([time, *columns], may_decorate=header != "none")
    axis = time.axis
    found = capture(*(column.truth(axis) for column in columns), notes=notes)
    # a column without a name, whose neighbours are equal, need not be time
    nameless = header == "none" and "times" in axis
    return finish(style, sheet, [time, *columns], [found], header != "none", nameless)


def coarse(style, count):
    return plain(style, max(count, 30), coarse_column)


def interval_lines(style, sheet, step, start):
    """Key/value rows, or header cells, that tell interval or rate and the start."""
    rate = 1 / step
    mega, kilo = plain_text(rate / 10**6), plain_text(rate / 10**3)
    small = short_exponent(f"{float(step):.6e}")
    forms = [("Sample interval", small), ("Sample interval (us)", plain_text(step * 10**6)),
             ("Sample interval", plain_text(step * 10**6) + " us"), ("Sampling interval in ms", plain_text(step * 1000)),
             ("Increment", plain_text(step)), ("Time increment", small), ("Sample rate", kilo + " kSa/s"),
             ("Sample rate", mega + " MS/s"), ("Sampling rate", plain_text(rate)), ("Sample rate (kS/s)", kilo),
             ("Sampling frequency", kilo + " kHz"), ("Sample rate in Hz", plain_text(rate))]
    key, text = forms[int(style.rng.integers(len(forms)))]
    lines = [(key, style.number(text))]
    if start != 0:
        lines.append(("Start time", style.number(style.pick(plain_text(start), plain_text(start * 10**6) + " us"))))
    if style.chance(0.3):
        lines.reverse()
    for key, text in lines:
        sheet.key(key, text)


def random_rate(style):
    return Fraction(style.pick(1, 2, 4, 5, 8, 10, 16, 20, 25, 40, 50, 100, 125, 250)) * style.pick(1000, 1000, 10**6)


def index(style, count):
    """No time column: a count of the samples or nothing, and something that tells the interval."""
    step = 1 / random_rate(style)
    start = -step * style.pick(0, 0, 10, count // 4)
    header = style.pick("bare", "paren", "square", *(["row"] if style.separator != "space" else []))
    columns = channels(style, header, count)
    sheet = Sheet(style)
    notes = noise(style, sheet, count, columns)
    interval_lines(style, sheet, step, start)
    counted = [table_more.count_column(style, count)] if style.chance(0.7) else []
    sheet.header(header, [*counted, *columns])
    sheet.rows([*counted, *columns], beside=False)
    axis = even(start, step)
    # no separator shows what a mark or a blank inside the only column is
    alone = len(columns) == 1 and not counted and not style.quoted
    odd = style.decimal == "," or style.extras & {"thousands", "suffixes", "unit-in-cell"}
    found = capture(*(c.truth(axis) for c in columns), notes=notes)
    return finish(style, sheet, columns, [found], unclear=bool(alone and odd))


def codes(style, count):
    """Whole numbers, with volts per code and an offset before them."""
    step = 1 / random_rate(style)
    names = pick_names(style, style.pick(1, 2))
    sheet = Sheet(style)
    noise(style, sheet, count, [], volts=False)
    factor = style.pick("0.0390625", "0.002", "1.25e-3", "0.04", "4.8828125e-4")
    offset = style.pick("0", "0", "5", "-2.5", "0.125")
    what = style.pick("code", "count", "LSB", "bit", "step")
    sheet.key(f"Volts per {what}", style.number(factor))
    if offset != "0":
        sheet.key("Offset in V", style.number(offset))
    columns = []
    for name in names:
        columns.append(table_more.code_column(style, count, name, Fraction(factor), Fraction(offset)))
    if style.chance(0.5):
        interval_lines(style, sheet, step, Fraction(0))
        first, axis = table_more.count_column(style, count), even(0, step)
    else:
        first = time_column(style, count, ["s"])
        axis = first.axis
    sheet.header("bare", [first, *columns])
    sheet.rows([first, *columns], beside=False)
    return finish(style, sheet, [first, *columns], [capture(*(c.truth(axis) for c in columns))])


KINDS = {
    "plain": Kind(38, plain),
    "coarse": Kind(4, coarse),
    "index": Kind(12, index),
    "codes": Kind(5, codes),
    "minmax-columns": Kind(5, table_more.minmax_columns),
    "minmax-rows": Kind(4, table_more.minmax_rows),
    "own-times": Kind(5, table_more.own_times),
    "blocks": Kind(4, table_more.blocks),
    "segments": Kind(6, table_more.segments),
    "clock": Kind(7, table_more.clock),
    "pandas": Kind(12, table_pandas.pandas_table),
}
