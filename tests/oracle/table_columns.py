"""Columns of a random table: times and channels, as printed and as they truly are."""

from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from printed import OVER, channel, even, number, numbers, rounded, wave
from table_style import grouped, unclear_comma

TIME_UNITS = {"s": Fraction(1), "ms": Fraction(1, 10**3), "us": Fraction(1, 10**6), "ns": Fraction(1, 10**9)}
VALUE_UNITS = [("V", "V", Fraction(1)), ("mV", "V", Fraction(1, 1000)), ("mA", "A", Fraction(1, 1000)),
               ("A", "A", Fraction(1)), ("uV", "V", Fraction(1, 10**6)), ("kV", "V", Fraction(1000))]
NAMES = ["VCC", "VREF", "OUT", "CS", "RT/CT", "COMP", "CH1", "CH2", "CH3", "Drain", "Math1", "U7 pin 6"]
ACCENTED = ["Kühlung", "Tensión", "Spannung 3"]
FOREIGN = ["Напряжение", "电压", "電圧2", "Napięcie"]
TIME_NAMES = ["Time", "t", "time", "Zeit", "Temps", "Tiempo", "Tempo"]
TIME_FOREIGN = ["Czas", "Время", "时间", "時間"]
MISSING = ["nan", "NaN", "---", "****", "inf", "-inf", "N/A"]
OVERLOAD = ["OL", "overload", "Overflow", "CLIP"]


def exact(fraction):
    """The decimal of a fraction that has one."""
    fraction = Fraction(fraction)
    found = Decimal(fraction.numerator) / Decimal(fraction.denominator)
    assert Fraction(found) == fraction, fraction
    return found


def plain_text(fraction):
    return format(exact(fraction).normalize(), "f")


def short_exponent(text):
    """`2.5e-6` as `2.5e-06`: an exponent of at least two digits."""
    mantissa, power = text.lower().split("e")
    return f"{mantissa}e{int(power):+03}"


@dataclass
class Column:
    """A column; `cells` are texts, None or OVER; `shown` is what stands in the file."""

    name: str
    unit: str = "V"
    symbol: str = "V"
    factor: Fraction = Fraction(1)
    cells: list = field(default_factory=list)
    shown: list = field(default_factory=list)
    offset: Fraction = Fraction(0)
    axis: dict = field(default_factory=dict)

    def truth(self, axis):
        return channel(self.name, self.cells, axis, self.unit, self.factor, self.offset)


def pick_names(style, count, pool=None):
    pool = list(pool or (NAMES + ACCENTED + (FOREIGN if style.unicode else [])))
    if style.separator == "space":
        pool = [name for name in pool if " " not in name]
    return [str(name) for name in style.rng.choice(pool, count, replace=False)]


def time_name(style):
    return style.pick(*TIME_NAMES, *(TIME_FOREIGN if style.unicode else []))


def micro(style, symbol):
    """`us` with the letter of its prefix, sometimes."""
    return symbol.replace("u", "µ") if style.chance(0.4) else symbol


def time_column(style, count, units, start=None, scientific=None):
    """An even time column, printed exactly; its axis holds the worth of the last digit where that varies."""
    unit = style.pick(*units)
    factor = TIME_UNITS[unit]
    step = Fraction(style.pick(1, 2, 4, 5, 8, 10, 16, 20, 25, 40, 50, 125))
    seconds = {"s": (-3, -7), "ms": (0, -4), "us": (1, -3), "ns": (1, -1)}[unit]
    places = -style.pick(*range(seconds[1], seconds[0] + 1))
    step *= Fraction(1, 10**places) if places > 0 else Fraction(10**-places)
    first = -step * style.pick(0, 0, 0, count // 10, count // 2) if start is None else Fraction(start)
    times = [first + step * k for k in range(count)]
    axis = even(first * factor, step * factor)
    if scientific is None:
        scientific = style.chance(0.2)
    if scientific:
        digits = max(len(exact(t).normalize().as_tuple().digits) for t in times) - 1 + style.pick(0, 2)
        texts = [short_exponent(format(exact(t), f".{digits}e")) for t in times]
        most = max(abs(exact(t)) for t in times)
        axis["time_digit"] = float(Fraction(10) ** (most.adjusted() - digits) * factor)
    else:
        decimals = max(max(-exact(t).normalize().as_tuple().exponent for t in times), 0) + style.pick(0, 0, 1)
        texts = [rounded(t, decimals) for t in times]
    column = Column(time_name(style), "s", micro(style, unit), factor, texts, [style.number(t) for t in texts])
    column.axis = axis
    return column


def coarse_column(style, count, units):
    """Times printed too coarsely to tell the step from two of them."""
    unit = style.pick(*units)
    factor = TIME_UNITS[unit]
    decimals = style.pick(*{"s": (4, 6), "ms": (1, 3), "us": (0, 2), "ns": (0, 1)}[unit])
    step = Fraction(style.pick("0.37", "0.42", "0.71", "1.3", "2.4", "3.32", "7.7")) / 10**decimals
    texts = [rounded(step * k, decimals) for k in range(count)]
    column = Column(time_name(style), "s", micro(style, unit), factor, texts, [style.number(t) for t in texts])
    column.axis = dict(even(0, step * factor, Fraction(1, 10**decimals) * factor),
                       times=[float(Fraction(t) * factor) for t in texts])
    return column


def value_column(style, count, name, units=VALUE_UNITS, fancy=True):
    """A channel in some unit, printed in some way."""
    symbol, unit, factor = units[int(style.rng.integers(len(units)))]
    decimals = style.pick(1, 2, 2, 3, 3, 4, 5, 6, 8)
    span = 10 ** (decimals + style.pick(0, 1, 2)) * 9
    low = style.pick(-span, -span // 2, 0)
    column = Column(name, unit, micro(style, symbol), factor)
    column.cells = numbers(wave(count, int(style.rng.integers(1, 2**31)), low, span), decimals)
    column.shown = [style.number(text) for text in column.cells]
    if fancy:
        style.pick(*[leave] * 14, in_thousands, with_exponents, with_suffixes, with_units)(style, column)
    return column


def leave(_style, _column):
    pass


def in_thousands(style, column):
    """Larger numbers with marks between thousands; a comma or point needs both marks in some cell."""
    marks = ["'"]
    if style.separator != "space":
        marks += [" ", "\u00a0", *(["\u202f", "\u2009"] if style.unicode else [])]
    if style.decimal == "." and (style.separator != "comma" or style.quoted):
        marks.append(",")
    if style.decimal == ",":
        marks.append(".")
    mark = style.pick(*marks)
    seed = int(style.rng.integers(1, 2**31))
    column.cells = numbers(wave(len(column.cells), seed, -4 * 10**6, 9 * 10**6), style.pick(1, 2))
    column.shown = [grouped(text, mark, style.decimal) for text in column.cells]
    style.extras.add("thousands")


def with_exponents(style, column):
    column.cells = [text + style.pick("e+00", "E-03", "e+01") for text in column.cells]
    column.shown = [style.number(text) for text in column.cells]
    style.extras.add("exponents")


def with_suffixes(style, column):
    """Engineering suffixes, where the column's unit has no prefix."""
    if column.factor != 1 or style.separator == "space":
        return
    powers = {"": 0, "m": -3, "u": -6, "k": 3}
    apart, exact_texts, shown = style.pick("", " "), [], []
    for text in column.cells:
        letter = style.pick(*powers)
        exact_texts.append(f"{text}e{powers[letter]}")
        shown.append(style.number(text) + (apart + letter if letter else ""))
    column.cells, column.shown = exact_texts, shown
    style.extras.add("suffixes")


def with_units(style, column):
    """The unit inside each cell."""
    if style.separator == "space":
        return
    apart = style.pick("", " ")
    column.shown = [style.number(text) + apart + column.symbol for text in column.cells]
    style.extras.add("unit-in-cell")


def drop_some(style, columns, empty_allowed=True):
    """Takes values out of a column: empty cells and words; never near the ends."""
    column = columns[int(style.rng.integers(len(columns)))]
    words = [style.pick(*MISSING), *([""] if empty_allowed and style.separator != "space" else [])]
    over = style.pick(*OVERLOAD)
    for row in range(4, len(column.cells) - 2):
        if style.chance(0.06):
            column.cells[row], column.shown[row] = None, words[row % len(words)]
        elif style.chance(0.02):
            column.cells[row], column.shown[row] = OVER, over
    style.extras.add("missing")


def is_unclear(style, columns, has_names):
    """May a reader ask what the comma is?"""
    shown = [cell for column in columns for cell in column.shown]
    if style.decimal == ",":
        bare = style.separator == "comma" and not style.quoted
        return bare or unclear_comma(shown)
    whole = not any("." in cell for cell in shown)
    return style.separator == "comma" and whole and not has_names


__all__ = ["Column", "coarse_column", "drop_some", "exact", "is_unclear", "number", "pick_names", "plain_text",
           "short_exponent", "time_column", "time_name", "value_column"]
