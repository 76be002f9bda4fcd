"""How a random table is written: separator, marks, encoding, line ends, units, and the like."""

import codecs
import re
from dataclasses import dataclass, field

SEPARATORS = {"comma": ",", "semicolon": ";", "tab": "\t", "space": " "}
ENDS = {"LF": "\n", "CRLF": "\r\n", "CRCRLF": "\r\r\n", "CR": "\r"}
MARKS = {"utf-8-mark": codecs.BOM_UTF8, "utf-16-le-mark": codecs.BOM_UTF16_LE, "utf-16-be-mark": codecs.BOM_UTF16_BE}
WIDE = ("utf-16-le", "utf-16-be", "utf-16-le-mark", "utf-16-be-mark")
ENCODINGS = ("utf-8", "utf-8-mark", "windows-1252", *WIDE)


@dataclass
class Style:
    """Choices that hold for a whole file."""

    rng: object
    separator: str = "comma"
    decimal: str = "."
    encoding: str = "utf-8"
    end: str = "LF"
    quoted: bool = False
    padded: bool = False
    trailing: int = 0
    commented: bool = False
    keys: str = "cells"  # how key/value rows are written
    extras: set = field(default_factory=set)

    @property
    def mark(self):
        return SEPARATORS[self.separator]

    @property
    def unicode(self):
        return self.encoding != "windows-1252"

    def chance(self, share):
        return self.rng.random() < share

    def pick(self, *choices):
        return choices[int(self.rng.integers(len(choices)))]

    def number(self, text):
        return text.replace(".", self.decimal)

    def row(self, cells):
        """One line of the table."""
        if self.quoted:
            cells = ['"' + cell.replace('"', '""') + '"' for cell in cells]
        if self.separator == "space":
            cells = [cell for cell in cells if cell]
        elif self.padded:
            cells = [cell.rjust(int(self.rng.integers(len(cell), len(cell) + 4))) + " " for cell in cells]
        return self.mark.join(cells) + self.mark * self.trailing

    def key(self, name, *values):
        """A key/value row before the samples."""
        if self.keys == "cells":
            return self.row([name, *values])
        link = {"colon": ": ", "equals": " = ", "comment-colon": ": ", "comment-equals": " = "}[self.keys]
        lead = "# " if self.keys.startswith("comment") else ""
        return lead + name + link + " ".join(values)

    def encode(self, lines, last_end=True):
        end = ENDS[self.end]
        text = end.join(lines) + (end if last_end else "")
        plain = self.encoding.removesuffix("-mark")
        return MARKS.get(self.encoding, b"") + text.encode(plain)

    def words(self):
        return [self.separator, {".": "decimal point", ",": "decimal comma"}[self.decimal], self.encoding, self.end,
                *(["quoted"] if self.quoted else []), *(["padded"] if self.padded else []),
                *([f"{self.trailing} trailing"] if self.trailing else []), *sorted(self.extras)]


def random_style(rng):
    """A style; plain ones are the most frequent."""
    style = Style(rng)
    style.separator = str(rng.choice(list(SEPARATORS), p=[0.4, 0.32, 0.18, 0.1]))
    comma_share = {"comma": 0.06, "semicolon": 0.55, "tab": 0.35, "space": 0.3}[style.separator]
    style.decimal = "," if style.chance(comma_share) else "."
    style.encoding = str(rng.choice(ENCODINGS, p=[0.42, 0.14, 0.14, 0.08, 0.06, 0.1, 0.06]))
    style.end = str(rng.choice(list(ENDS), p=[0.45, 0.4, 0.07, 0.08]))
    if style.separator != "space":
        style.quoted = style.chance(0.75 if style.decimal == style.mark else 0.07)
        style.padded = not style.quoted and style.chance(0.12)
        style.trailing = int(rng.choice([0, 1, 2], p=[0.86, 0.1, 0.04]))
    style.keys = style.pick("cells", "cells", "colon", "equals", "comment-colon", "comment-equals")
    if style.separator == "space" and style.keys == "cells":
        style.keys = "colon"
    return style


def grouped(text, mark, decimal):
    """A number with a mark between thousands and this decimal mark."""
    sign, whole = ("-", text[1:]) if text.startswith("-") else ("", text)
    whole, point, rest = whole.partition(".")
    return sign + f"{int(whole):,}".replace(",", mark) + point.replace(".", decimal) + rest


THOUSANDS_OR_DECIMAL = re.compile(r"[-+]?[0-9]{1,3},[0-9]{3}(?![0-9eE])")  # a unit may follow


def unclear_comma(cells):
    """Could every comma in these printed numbers stand between thousands as well?"""
    with_comma = [cell for cell in cells if "," in cell]
    return bool(with_comma) and all(THOUSANDS_OR_DECIMAL.match(cell) for cell in with_comma)
