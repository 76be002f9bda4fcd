"""Tables that are plain but for how their text is encoded, separated and printed."""

import codecs

from printed import (OVER, capture, channel, comma, even, fixture, line, number, numbers, read, rows, text, wave,
                     worded)


def plain(seed, separator=",", names=("Time (s)", "VCC (V)", "VREF (V)"), end="\n", write=list, count=50):
    """Lines and captures of one plain table: time, two channels."""
    time = line(count, -100, 25, 4)
    a, b = numbers(wave(count, seed, -500, 16000), 3), numbers(wave(count, seed + 1, 0, 5050), 3)
    axis = even("-0.01", "0.0025")
    content = text(separator.join(names), rows(separator, write(time), write(a), write(b)), end=end)
    bare = [name.split(" (")[0] for name in names]
    return content, capture(channel(bare[1], a, axis), channel(bare[2], b, axis))


def marked(content, *whats):
    """The capture with decisions that must have been taken."""
    return dict(content, decisions=dict(whats))


@fixture("utf16le-mark.csv")
def utf16le_mark():
    content, found = plain(100, ";", write=comma, end="\r\n")
    return codecs.BOM_UTF16_LE + content.encode("utf-16-le"), read(
        "UTF-16, little end first, with mark", marked(found, ("encoding", "utf-16le"), ("decimal", "comma")))


@fixture("utf16be-mark.csv")
def utf16be_mark():
    content, found = plain(102, "\t")
    return codecs.BOM_UTF16_BE + content.encode("utf-16-be"), read(
        "UTF-16, big end first, with mark", marked(found, ("encoding", "utf-16be"), ("separator", "tab")))


@fixture("utf16le-bare.csv")
def utf16le_bare():
    content, found = plain(104, names=("Zeit (s)", "Spannung µP (V)", "Ω-Teiler (V)"))
    return content.encode("utf-16-le"), read(
        "UTF-16, little end first, without mark, some letters beyond one byte", marked(found, ("encoding", "utf-16le")))


@fixture("utf16be-bare.csv")
def utf16be_bare():
    content, found = plain(106, end="\r\n")
    return content.encode("utf-16-be"), read(
        "UTF-16, big end first, without mark", marked(found, ("encoding", "utf-16be")))


@fixture("latin.csv")
def latin():
    time, a = line(40, 0, 5, 1), numbers(wave(40, 108, 0, 900), 1)
    content = text("Gerät Nº 2, Prüfling", "Zeit (µs),Spannung für CS (mV)", rows(",", time, a))
    return content.encode("windows-1252"), read(
        "one byte a letter", capture(channel("Spannung für CS", a, even(0, "5e-7"), factor="1e-3"),
                                     decisions={"encoding": "windows-1252", "unit.1": "us"}))


@fixture("nul-padding.csv")
def nul_padding():
    content, found = plain(110, end="\r\n")
    return content.encode() + bytes(300), read("zeros after the last line, as a full block", found)


@fixture("nul-header.csv")
def nul_header():
    time, a = line(40, 0, 1, 3), numbers(wave(40, 112, 0, 999), 2)
    head = b"Remark,first bench" + bytes(14) + b"\nTime (s),VCC (V)\x00\x00\n"
    return head + text(rows(",", time, a)).encode(), read(
        "zeros that pad texts before the samples", capture(channel("VCC", a, even(0, "0.001"))))


@fixture("cr-alone.csv")
def cr_alone():
    content, found = plain(114, "\t", end="\r")
    return content, read("lines end with CR alone", found)


@fixture("crcrlf-blank.csv")
def crcrlf_blank():
    content, found = plain(116, ";", end="\r\r\n")
    return "\r\r\n\r\r\n" + content, read("CR CR LF, and two blank lines first", marked(found, ("names", "3")))


@fixture("blank-first.csv")
def blank_first():
    content, found = plain(118)
    return "\n,,\n \n" + content, read("blank lines first, one of separators only", found)


@fixture("trailing-separators.csv")
def trailing_separators():
    content, found = plain(120, ";", end=";;\n")
    return content, read("two separators at the end of each line", found)


@fixture("padded.csv")
def padded():
    time, a, b = line(45, 0, 2, 3), numbers(wave(45, 122, -400, 4000), 2), numbers(wave(45, 123, -400, 400), 1)
    content = text("   time (s) ;     OUT (V) ;      CS (mV) ",
                   [f"{t:>11} ; {x:>11} ;{y:>13} " for t, x, y in zip(time, a, b)])
    axis = even(0, "0.002")
    return content, read("cells padded to a width", capture(channel("OUT", a, axis),
                                                           channel("CS", b, axis, factor="1e-3")))


@fixture("aligned.txt")
def aligned():
    time, a, b = line(45, -44, 4), numbers(wave(45, 124, -400, 400), 3), numbers(wave(45, 125, 0, 9000), 2)
    content = text("  t/us      VREF/V      OUT/V", [f"{t:>6}{x:>12}{y:>11}" for t, x, y in zip(time, a, b)])
    axis = even("-44e-6", "4e-6")
    return content, read("columns aligned by blanks", capture(channel("VREF", a, axis), channel("OUT", b, axis)))


@fixture("quoted.csv")
def quoted():
    time, a = line(50, 0, 2, 2), numbers(wave(50, 126, -999, 999), 2)
    content = text('"Time (ms)","VCC, ""main"" (V)"',
                   [f'"{t}","{x}"' for t, x in zip(comma(time), comma(a))])
    truth = read("every cell quoted, commas between cells and in numbers",
                 capture(channel('VCC, "main"', a, even(0, "20e-6")), decisions={"decimal": "comma"}))
    return content, truth


@fixture("comments-between.csv")
def comments_between():
    time, a = line(60, 0, 1, 3), numbers(wave(60, 128, 0, 1700), 2)
    body = rows(",", time, a)
    content = text("# taken with the lid open", "// second try", "", "% names follow", "Time (s),VCC (V)",
                   body[:20], "# load connected", body[20:40], "", "! load taken off", body[40:])
    return content, read("comment lines before and between the rows, a blank line between",
                         capture(channel("VCC", a, even(0, "0.001"))))


@fixture("missing-words.csv")
def missing_words():
    time = line(40, 0, 1, 2)
    a = [None if k in (3, 9, 15, 21, 27, 33) else cell for k, cell in enumerate(numbers(wave(40, 130, -999, 999), 2))]
    b = [OVER if k in (5, 6, 30) else cell for k, cell in enumerate(numbers(wave(40, 132, 0, 999), 3))]
    content = text("t (s);VCC (V);CS (V)", rows(";", time, worded(a, ["", "nan", "---", "****", "-inf", "N/A"]),
                                                worded(b, [], "OL")))
    axis = even(0, "0.01")
    return content, read("empty cells, words and signs without a value, and overload",
                         capture(channel("VCC", a, axis), channel("CS", b, axis),
                                 notes=["column 2: 6 samples missing"]))


@fixture("overload-signs.csv")
def overload_signs():
    time, a = line(48, 0, 5, 1), numbers(wave(48, 134, -9900, 9900), 3)
    a[7], a[8], a[20], a[31], a[40] = OVER, OVER, OVER, OVER, None
    words = iter([">10", ">10", "<-10", "overload"])
    printed = [next(words) if cell is OVER else cell or "" for cell in a]
    content = text("Time (ms),OUT (V)", rows(",", time, printed), end="\r\n")
    return content, read("signs of a range that was left, and one empty cell",
                         capture(channel("OUT", a, even(0, "5e-4"))))


def suffixed(texts):
    """Engineering suffixes in turn: the printed number and its exact value as an exponent."""
    powers, found = [("m", -3), ("", 0), ("u", -6), ("k", 3)], []
    for k, one in enumerate(texts):
        letter, power = powers[k % 4]
        found.append((one + letter, f"{one}e{power}"))
    return zip(*found)


@fixture("suffixes.csv")
def suffixes():
    time, numbers_a = line(40, 0, 1, 3), numbers(wave(40, 136, 100, 999), 2)
    printed, exact = suffixed(numbers_a)
    spaced = [one[:-1] + " " + one[-1] if one[-1].isalpha() else one for one in printed]
    content = text("time,CS,OUT", rows(",", time, printed, spaced))
    axis = even(0, "0.001")
    return content, read("engineering suffixes, joined and apart, on columns without a unit",
                         capture(channel("CS", exact, axis), channel("OUT", exact, axis)))


@fixture("unit-in-cell.csv")
def unit_in_cell():
    a, b = numbers(wave(60, 138, -999, 999), 1), numbers(wave(60, 139, 0, 99), 1)
    content = text("Time;CH1;CH2", [f"{t} us;{x}mV;{y} A" for t, x, y in zip(line(60, 0, 5, 1), a, b)])
    axis = even(0, "5e-7")
    return content, read("the unit inside each cell, with a prefix",
                         capture(channel("CH1", a, axis, factor="1e-3"), channel("CH2", b, axis, "A")))


@fixture("unit-cells-right.csv")
def unit_cells_right():
    a = numbers(wave(50, 140, -999, 999), 1)
    content = text(rows(",", line(50, 0, 2), ["us"] * 50, a, ["mV"] * 50))
    return content, read("unit words in columns to the right of the numbers, no names",
                         capture(channel("CH1", a, even(0, "2e-6"), factor="1e-3")))


def grouped(texts, mark):
    """The same numbers with a mark between thousands."""
    found = []
    for one in texts:
        sign, whole = ("-", one[1:]) if one[0] == "-" else ("", one)
        whole, point, rest = whole.partition(".")
        found.append(sign + f"{int(whole):,}".replace(",", mark) + point + rest)
    return found


@fixture("blanks-inside.csv")
def blanks_inside():
    time = line(60, 0, 250)
    a, b = numbers(wave(60, 142, -99999, 999999), 1), numbers(wave(60, 143, 0, 99999), 1)
    content = text("t/us;VCC/mV;OUT/mV", rows(";", grouped(time, " "),
                                                comma(grouped(a, "\u00a0")), comma(grouped(b, "\u202f"))))
    axis = even(0, "250e-6")
    return content, read("blanks, no-break and thin ones between thousands, decimal comma",
                         capture(channel("VCC", a, axis, factor="1e-3"), channel("OUT", b, axis, factor="1e-3")))


@fixture("apostrophes.csv")
def apostrophes():
    time, a = line(60, 0, 100), numbers(wave(60, 144, -400000, 400000), 2)
    content = text("t/us,VCC/mV", rows(",", grouped(time, "'"), grouped(a, "'")))
    return content, read("apostrophes between thousands",
                         capture(channel("VCC", a, even(0, "100e-6"), factor="1e-3")))


@fixture("thousands-both.csv")
def thousands_both():
    time, a = line(60, 0, 1, 3), numbers(wave(60, 146, -400000, 400000), 2)
    content = text("t (s),VCC (mV)", rows(",", time, [f'"{one}"' for one in grouped(a, ",")]))
    return content, read("thousands comma and decimal point in quoted cells between commas",
                         capture(channel("VCC", a, even(0, "0.001"), factor="1e-3"), decisions={"decimal": "point"}))


@fixture("thousands-point.csv")
def thousands_point():
    time, a = line(60, 0, 1, 3), numbers(wave(60, 148, -400000, 400000), 2)
    german = [one.translate(str.maketrans(",.", ".,")) for one in grouped(a, ",")]
    content = text("t (s);VCC (mV)", rows(";", comma(time), german))
    return content, read("thousands point and decimal comma",
                         capture(channel("VCC", a, even(0, "0.001"), factor="1e-3"), decisions={"decimal": "comma"}))


@fixture("thousands-told.csv")
def thousands_told():
    a, b = numbers(wave(20, 150, 1000, 9999)), numbers(wave(20, 151, 1000, 9999))
    content = text("a;b", rows(";", grouped(a, ","), grouped(b, ",")))
    axis = even(0, "0.001")
    return content, read("`1,234` everywhere, told to be thousands",
                         capture(channel("a", a, axis), channel("b", b, axis)),
                         layout={"decimal": "point", "thousands": "comma", "time": "none", "interval": "1 ms"})


@fixture("sign-apart.csv")
def sign_apart():
    time, a = line(40, 0, 1, 3), numbers(wave(40, 152, -999, 999), 2)
    apart = [f"- {one[1:]}" if one[0] == "-" else f"+ {one}" if k % 3 else one for k, one in enumerate(a)]
    content = text("t (s),CS (V)", rows(",", time, apart))
    return content, read("a blank between sign and digits", capture(channel("CS", a, even(0, "0.001"))))


@fixture("no-header-exponents.csv")
def no_header():
    a, b = numbers(wave(40, 154, -999, 999), 3), numbers(wave(40, 156, -999, 999), 3)
    time = [f"{k * 5:.3e}".replace("e+00", "e-06").replace("e+01", "e-05").replace("e+02", "e-04") for k in range(40)]
    exponents = [[f"{one}E+00" for one in column] for column in (a, b)]
    content = text(rows(",", time, *exponents))
    axis = even(0, "5e-6", "1e-7")
    return content, read("no header at all, exponents everywhere",
                         capture(channel("CH1", a, axis), channel("CH2", b, axis), decisions={"names": "none"}))


@fixture("cut-cells.csv")
def cut_cells():
    content, found = plain(158)
    return content + "0.1150,1.2", read("the last line is cut: fewer cells", found)


@fixture("cut-decimals.csv")
def cut_decimals():
    content, found = plain(160)
    return content + "0.1150,1.234,2.", read("the last line is cut: fewer decimals", found)


@fixture("cut-half-wide.csv")
def cut_half_wide():
    content, found = plain(162)
    whole = codecs.BOM_UTF16_LE + (content + "0.1150,1.2").encode("utf-16-le")
    return whole[:-1], read("UTF-16 that ends in the middle of a letter of its last, cut line", found)


@fixture("text-after.csv")
def text_after():
    content, found = plain(164)
    return content + "\nend of record\nchecked by the second reader, no remarks\n", read(
        "lines of text after the samples", found)
