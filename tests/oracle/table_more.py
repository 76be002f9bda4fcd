"""Kinds of random tables with more than one axis, record or sample an instant, and clock times."""

from fractions import Fraction

from printed import capture, even, line, numbers, paired, read, wave
from table_columns import (TIME_UNITS, VALUE_UNITS, Column, exact, is_unclear, pick_names, rounded, time_column, value_column)
from table_rows import Sheet, noise

PAIR_HEADERS = ["bare", "paren", "square", "row"]


def count_column(style, count):
    cells = line(count, 0, 1)
    return Column(style.pick("Index", "Sample", "No.", "n"), "1", "", Fraction(1), cells, list(cells))


def code_column(style, count, name, factor, offset):
    low, high = style.pick((-128, 127), (0, 255), (0, 4095), (-2048, 2047))
    cells = numbers(wave(count, int(style.rng.integers(1, 2**31)), low, high))
    return Column(name, "V", "", factor, cells, list(cells), offset)


def ended(style, sheet, columns, captures, unclear=False):
    truth = read("", *captures)
    if unclear or is_unclear(style, columns, True):
        truth["may_ask"] = True
    return sheet.encoded(), truth


def units_for_pairs(header):
    return VALUE_UNITS[:1] if header == "bare" else VALUE_UNITS[:3]


def extremes(style, count, header, name):
    """Lower and upper values of one channel, and both in turn."""
    symbol, unit, factor = units_for_pairs(header)[int(style.rng.integers(len(units_for_pairs(header))))]
    decimals, seed = style.pick(1, 2, 3, 4), int(style.rng.integers(1, 2**30))
    low = wave(count, seed, -900, 5000)
    high = [a + b for a, b in zip(low, wave(count, seed + 1, 3, 400))]
    both = numbers([n for pair in zip(low, high) for n in pair], decimals)
    return Column(name, unit, symbol, factor, both, [style.number(text) for text in both])


def minmax_columns(style, count):
    header = style.pick(*PAIR_HEADERS)
    time = time_column(style, count, ["s"] if header == "bare" else list(TIME_UNITS))
    names = pick_names(style, style.pick(1, 2), [name for name in ("CH1", "CH2", "OUT", "VCC", "CS")])
    pair = extremes(style, count, header, names[0])
    links = ["_"] if style.separator == "space" else [" ", "_"]
    link, (low, high) = style.pick(*links), style.pick(("min", "max"), ("Min", "Max"), ("MIN", "MAX"))
    shown = [Column(f"{names[0]}{link}{word}", pair.unit, pair.symbol, pair.factor, [], pair.shown[place::2])
             for place, word in enumerate((low, high))]
    if style.chance(0.4):
        shown.reverse()
    others = [value_column(style, count, name, units_for_pairs(header), False) for name in names[1:]]
    sheet = Sheet(style)
    notes = noise(style, sheet, count, [])
    notes = [note for note in notes if "declares" not in note]  # what is counted is open here
    sheet.header(header, [time, *shown, *others])
    sheet.may_cut = False
    sheet.rows([time, *shown, *others], beside=False)
    step = time.axis["interval_s"]
    pairs = dict(paired(Fraction(0), Fraction(1)), start_s=time.axis["start_s"], interval_s=step / 2)
    if "time_digit" in time.axis:
        pairs["time_digit"] = time.axis["time_digit"]
    found = capture(pair.truth(pairs), *(column.truth(time.axis) for column in others), notes=notes)
    return ended(style, sheet, [time, *shown, *others], [found])


def minmax_rows(style, count):
    header = style.pick(*PAIR_HEADERS)
    time = time_column(style, count, ["s"] if header == "bare" else list(TIME_UNITS), scientific=False)
    pairs = [extremes(style, count, header, name) for name in pick_names(style, style.pick(1, 2))]
    time.shown = [text for text in time.shown for _ in range(2)]
    sheet = Sheet(style)
    sheet.header(header, [time, *pairs])
    sheet.may_cut = False
    sheet.rows([time, *pairs], beside=False)
    axis = dict(paired(0, 1), start_s=time.axis["start_s"], interval_s=time.axis["interval_s"] / 2)
    return ended(style, sheet, [time, *pairs], [capture(*(pair.truth(axis) for pair in pairs))])


def own_times(style, count):
    """A time column for each channel; the second may have another rate and another end."""
    if style.separator == "space" or style.trailing:
        return None
    header = style.pick("paren", "square", "row")
    other = count if style.chance(0.4) else count + style.pick(7, 30)
    columns, found = [], []
    for k, (name, length) in enumerate(zip(pick_names(style, 2), (count, other))):
        time = time_column(style, length, list(TIME_UNITS))
        time.name = f"t{k + 1}" if style.chance(0.6) else "Time"
        value = value_column(style, length, name, VALUE_UNITS[:3], False)
        found.append(value.truth(time.axis))
        columns += [time, value]
    for column in columns:
        column.shown += [""] * (max(count, other) - len(column.shown))
    if style.chance(0.3):
        columns = columns[2:] + columns[:2]
        found.reverse()
    sheet = Sheet(style)
    noise(style, sheet, count, [])
    sheet.header(header, columns)
    sheet.may_cut = False
    sheet.rows(columns, may_decorate=False, beside=False)
    return ended(style, sheet, columns, [capture(*found)])


def blocks(style, count):
    """Channels one after another, each with a line that names it."""
    header = style.pick("paren", "square", "row")
    time = time_column(style, count, list(TIME_UNITS))
    sheet, columns, found = Sheet(style), [], []
    named = style.chance(0.7)
    for name in pick_names(style, style.pick(2, 3)):
        column = value_column(style, count, name, VALUE_UNITS[:3], False)
        above = Column("Value" if named else name, column.unit, column.symbol, column.factor)
        if named:
            sheet.key("Channel", name)
        sheet.header(header, [time, above])
        sheet.lines += [style.row(list(row)) for row in zip(time.shown, column.shown, strict=True)]
        if style.chance(0.7):
            sheet.lines.append("")
        columns.append(column)
        found.append(column.truth(time.axis))
    # a comment is no label
    return ended(style, sheet, [time, *columns], [capture(*found)], named and style.keys.startswith("comment"))


def segments(style, count):
    """Records one after another, each with its number, its names and its own times."""
    header = style.pick("paren", "square", "row")
    word = style.pick("Segment", "Record", "Frame", "Sweep")
    names = pick_names(style, style.pick(1, 2))
    again = style.chance(0.7)
    sheet, shown, found = Sheet(style), [], []
    time = time_column(style, count, list(TIME_UNITS))
    units = [VALUE_UNITS[int(style.rng.integers(3))] for _ in names]
    for number in range(1, style.pick(2, 3) + 1):
        if not again and number > 1:
            time = later(style, time, count)
        columns = [value_column(style, count, name, [unit], False) for name, unit in zip(names, units)]
        for column, first in zip(columns, shown[1:]):
            column.symbol = first.symbol
        sheet.key(word, str(number))
        sheet.header(header, [time, *columns])
        sheet.lines += [style.row(list(row)) for row in zip(*(c.shown for c in [time, *columns]), strict=True)]
        shown += [time, *columns]
        found.append(capture(*(column.truth(time.axis) for column in columns)))
    return ended(style, sheet, shown, found, style.keys.startswith("comment"))


def later(style, time, count):
    """The same step, beginning where the times of `time` end."""
    texts = [Fraction(text) for text in time.cells]
    step = texts[1] - texts[0]
    first = texts[-1] + step * style.pick(1, 50)
    decimals = max(max(-exact(first + step * k).normalize().as_tuple().exponent for k in range(count)), 0)
    cells = [rounded(first + step * k, decimals) for k in range(count)]
    column = Column(time.name, "s", time.symbol, time.factor, cells, [style.number(text) for text in cells])
    column.axis = even(first * time.factor, step * time.factor)
    return column


def clock(style, count):
    """The time of day, with or without a date, perhaps over midnight."""
    if style.separator == "space" or (style.separator == "comma" and style.decimal == "," and not style.quoted):
        return None
    milliseconds = style.pick(1, 2, 5, 10, 50, 250, 500, 1000)
    decimals = 0 if milliseconds == 1000 else 3
    begin = style.pick(43_200_000, 30_000_123, 86_400_000 - count // 2 * milliseconds)
    date = style.pick("", "", "2026-03-04", "2026-03-30", "30.03.2026")
    cells, dates = [], []
    for k in range(count):
        day, rest = divmod(begin + k * milliseconds, 86_400_000)
        seconds, part = divmod(rest, 1000)
        text = f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}"
        cells.append(text + (style.decimal + f"{part:03}" if decimals else ""))
        dates.append({"2026-03-04": "2026-03-05", "2026-03-30": "2026-03-31", "30.03.2026": "31.03.2026",
                      "": ""}[date] if day else date)
    if begin % 1000 and not decimals:
        return None
    firsts = [Column(style.pick("Time", "Zeit", "Clock"), "s", "", Fraction(1), [], cells)]
    if date and style.chance(0.5):
        firsts.insert(0, Column(style.pick("Date", "Datum"), "", "", Fraction(1), [], dates))
    elif date:
        link = style.pick(" ", "T") if date.startswith("2026") else " "
        firsts[0].shown = [day + link + text for day, text in zip(dates, cells)]
    columns = [value_column(style, count, name, VALUE_UNITS[:3], False) for name in pick_names(style, style.pick(1, 2))]
    sheet = Sheet(style)
    notes = noise(style, sheet, count, columns)
    sheet.header(style.pick("paren", "square"), [*firsts, *columns])
    sheet.may_cut = False
    sheet.rows([*firsts, *columns])
    axis = even(0, Fraction(milliseconds, 1000))
    return ended(style, sheet, columns, [capture(*(c.truth(axis) for c in columns), notes=notes)])
