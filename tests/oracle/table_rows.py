"""Lines of a random table: rows before the samples, header, rows, and what may stand between and after."""

from table_columns import VALUE_UNITS, micro, time_name

HEADERS = ["paren", "square", "in", "slash", "underscore", "row", "row", "row-brackets", "preamble", "bare"]
NOISE = [("Remark", "bench 3"), ("Operator", "nobody"), ("Coupling", "DC"), ("Bandwidth limit", "20 MHz"),
         ("Unit under test", "GV-24"), ("Probe attenuation", "10"), ("Room temperature", "23.5"), ("Mode", "normal")]


def header_choice(style, *more):
    """How names and units are shown; `none` for no header at all is one of ten where it is allowed."""
    if more and style.chance(0.1):
        return style.pick(*more)
    fitting = [one for one in HEADERS if one != "in" or style.separator != "space"]
    return style.pick(*fitting)


def units_for(style, header):
    """Units that a channel may have under this header."""
    if header in ("bare", "none"):
        return VALUE_UNITS[:1]
    if header == "preamble":
        one = VALUE_UNITS[int(style.rng.integers(len(VALUE_UNITS)))]
        return [one]
    if header == "underscore":  # `CS_A` is a name, not amperes
        return [one for one in VALUE_UNITS if one[0] != "A"]
    return VALUE_UNITS


def title(style, header, column):
    """The cell above a column."""
    apart = "" if style.separator == "space" else " "
    if not column.symbol:
        return column.name
    return {"paren": f"{column.name}{apart}({column.symbol})", "square": f"{column.name}{apart}[{column.symbol}]",
            "in": f"{column.name} in {column.symbol}", "slash": f"{column.name}/{column.symbol}",
            "underscore": f"{column.name}_{column.symbol}"}.get(header, column.name)


def noise(style, sheet, count, columns, volts=True):
    """Rows before the samples that change nothing; the parts of notes that must be there."""
    notes = []
    if not style.chance(0.45):
        return notes
    for place in style.rng.choice(len(NOISE), style.pick(1, 2, 3), replace=False):
        key, text = NOISE[int(place)]
        sheet.key(key, style.number(text))
        notes.append(key)
    if style.chance(0.3):
        declared = count + style.pick(0, 0, 5)
        sheet.key(style.pick("Record length", "Number of points"), str(declared))
        sheet.may_cut = False
        if declared != count:
            notes.append(f"the file declares {declared} samples, {count} are there")
    # whole numbers below volts per division may be codes: only beside decimals
    decimals = columns and all(style.decimal in cell for column in columns for cell in column.shown[:4])
    if volts and decimals and style.chance(0.2):
        sheet.key("Volts per division", style.number("0.5"))
    if style.chance(0.4):
        sheet.lines.append("")
    style.extras.add("key/value rows")
    return notes


class Sheet:
    """The lines of a file as they are put together."""

    def __init__(self, style):
        self.style = style
        self.lines = []
        self.last_end = True
        self.padding = b""
        self.may_cut = True
        if style.chance(0.06):
            self.lines += ["", *([" "] if style.chance(0.3) else [])]
            style.extras.add("blank first lines")

    def key(self, name, *values):
        self.lines.append(self.style.key(name, *values))

    def header(self, header, columns, beside=()):
        """The lines of names and units."""
        style = self.style
        if header == "none":
            style.extras.add("no header")
            return
        style.extras.add("header " + header)
        if header == "preamble":
            for key, column in (("Time unit", columns[0]), ("Vertical unit", columns[-1])):
                self.key(key, column.symbol)
        self.header_at = len(self.lines)
        self.lines.append(style.row([title(style, header, column) for column in columns] + list(beside)))
        if header.startswith("row"):
            wrap = "({})" if header == "row-brackets" else "{}"
            units = [wrap.format(column.symbol) if column.symbol else "" for column in columns]
            self.lines.append(style.row(units))

    def rows(self, columns, may_decorate=True, beside=True):
        """The rows of samples, perhaps with lines between and after, a text column, or a cut end."""
        style = self.style
        last = None
        cells = [list(row) for row in zip(*(column.shown for column in columns), strict=True)]
        alone = style.trailing == 0 and style.separator != "space" and may_decorate
        if beside and alone and style.chance(0.05):
            self.beside(cells)
        elif beside and alone and style.chance(0.05):
            self.status(cells)
        elif alone and self.may_cut and not style.quoted and style.decimal != style.mark and len(columns) > 2 and style.chance(0.05):
            last = self.cut(columns, cells)
        lines = [style.row(row) for row in cells]
        if may_decorate and style.chance(0.1):
            lead = style.pick("# ", "% ", "// ", "! ")
            for _ in range(style.pick(1, 2)):
                lines.insert(int(style.rng.integers(2, len(lines))), lead + "load connected")
            style.extras.add("comments between")
        self.lines += lines
        if last is not None:
            self.lines.append(last)
        elif alone and style.chance(0.04):
            self.lines += ["", "end of record, no remarks"]
            style.extras.add("text after")
        if last is None and style.encoding == "utf-8" and style.chance(0.05):
            self.padding = bytes(64)
            style.extras.add("zeros after")

    def widen(self, names):
        """More cells in the line of names; as many empty ones in the line of units."""
        for place in range(self.header_at, len(self.lines)):
            self.lines[place] += self.style.mark + self.style.row(names if place == self.header_at else [""] * len(names))

    def beside(self, cells):
        """Key/value cells to the right of the first rows."""
        self.widen(["", "Setting", "Content"])
        notes = [("Remark", "warm"), ("Room", "23.5"), ("Unit under test", "GV-24")]
        for row, line in enumerate(cells):
            line += ["", *(notes[row] if row < len(notes) else ("", ""))]
        self.style.extras.add("key/value beside")

    def status(self, cells):
        """A text beside the numbers."""
        self.widen(["State"])
        for row, line in enumerate(cells):
            line.append("run" if row > len(cells) // 3 else "stop")
        self.style.extras.add("text column")

    def cut(self, columns, cells):
        """A last line that the file does not hold whole: its samples are none."""
        for column in columns:
            column.cells.pop()
            column.shown.pop()
        self.last_end = False
        self.style.extras.add("cut")
        return self.style.row(cells.pop()[:-1])

    def encoded(self):
        return self.style.encode(self.lines, self.last_end) + self.padding


__all__ = ["Sheet", "header_choice", "micro", "noise", "time_name", "units_for"]
