"""Random tables as pandas writes them."""

import csv
import io
from decimal import Decimal
from fractions import Fraction

import pandas

from printed import capture, channel, read
from table_columns import TIME_UNITS, VALUE_UNITS, Column, is_unclear, pick_names, time_column, value_column
from table_rows import title
from table_style import ENDS

CODECS = {"utf-8": "utf-8", "utf-8-mark": "utf-8-sig", "windows-1252": "cp1252", "utf-16-le": "utf-16-le",
          "utf-16-be": "utf-16-be", "utf-16-le-mark": "utf-16", "utf-16-be-mark": None}


def printed_as(text, form):
    """What pandas prints of the double nearest to `text`."""
    return format(float(text), form) if form else repr(float(text))


def time_digit(texts, factor, given):
    """The worth of the last digit of the largest time, where the number of decimals varies."""
    numbers = [Decimal(text) for text in texts]
    if len({number.as_tuple().exponent for number in numbers}) == 1:
        return given
    digits = max(len(number.as_tuple().digits) for number in numbers)
    most = max(abs(number) for number in numbers)
    return dict(given, time_digit=float(Fraction(10) ** (most.adjusted() - digits + 1) * factor))


def pandas_table(style, count):
    coding = CODECS[style.encoding]
    if coding is None or style.separator == "space" or style.padded or style.trailing:
        return None
    header = style.pick("paren", "square", "slash", "bare")
    time = time_column(style, count, ["s"] if header == "bare" else list(TIME_UNITS), scientific=False)
    units = VALUE_UNITS[:1] if header == "bare" else VALUE_UNITS[:4]
    columns = [value_column(style, count, name, units, False) for name in pick_names(style, style.pick(1, 2, 3))]
    form = style.pick("", "", ".9f", ".8e")
    frame, found, shown = {}, [], []
    given = {key: item for key, item in time.axis.items() if key != "time_digit"}
    for column in [time, *columns]:
        frame[title(style, header, column)] = [float(text) for text in column.cells]
    times = [printed_as(text, form) for text in time.cells]
    if any(Fraction(a) != Fraction(b) for a, b in zip(times, time.cells)):
        return None  # this form would round the times
    axis = time_digit(times, time.factor, given)
    missing = style.chance(0.2)
    for column in columns:
        cells = [printed_as(text, form) for text in column.cells]
        for row in range(5, count - 2, 9) if missing else ():
            cells[row] = None
            frame[title(style, header, column)][row] = float("nan")
        found.append(channel(column.name, cells, axis, column.unit, column.factor))
        # numbers with a decimal comma between commas are quoted by pandas
        shown.append(Column("", shown=[(cell or "").replace(".", style.decimal) for cell in cells]))
    quoting = csv.QUOTE_ALL if style.quoted else csv.QUOTE_MINIMAL
    content = io.BytesIO()
    pandas.DataFrame(frame).to_csv(content, sep=style.mark, decimal=style.decimal, encoding=coding,
                                   lineterminator=ENDS[style.end], float_format="%" + form if form else None,
                                   index=style.chance(0.25), quoting=quoting, na_rep=style.pick("", "NaN"))
    truth = read("", capture(*found))
    if style.decimal != style.mark and is_unclear(style, [*shown, Column("", shown=times)], True):
        truth["may_ask"] = True
    return content.getvalue(), truth
