"""Files that hold no record that could be read rightly."""

import codecs
import struct
import zlib

from printed import fixture, line, number, numbers, refused, rows, text, wave

NOTHING = ["not-recognised", "no-numbers", "too-little", "no-record"]
NO_RECORD = ["no-record", "not-recognised"]


@fixture("frequency-axis.csv")
def frequency_axis():
    content = text("X (kHz),Y (V)", rows(",", line(60, 0, 5, 1), numbers(wave(60, 500, 0, 999), 3)))
    return content, refused("the unit says frequency", ["frequency-axis"])


@fixture("frequency-german.csv")
def frequency_german():
    content = text("Frequenz;Pegel", "Hz;dB", rows(";", line(60, 0, 50), numbers(wave(60, 502, -900, 0), 1)))
    return content, refused("name and unit say frequency", ["frequency-axis"])


@fixture("parts.csv")
def parts():
    items = [("R3", 22000, "resistor"), ("R4", 330, "resistor"), ("C7", 47, "capacitor"), ("C9", 1, "capacitor"),
             ("D2", 1, "diode"), ("Q1", 1, "transistor"), ("R12", 820, "resistor"), ("T1", 1, "transformer")]
    content = text("Part,Value,Kind,Count", [f"{a},{b},{c},1" for a, b, c in items])
    return content, refused("a list of parts", NO_RECORD)


@fixture("parts-numbers.csv")
def parts_numbers():
    content = text("Item;Part;Quantity;Price",
                   [f"{k};part {chr(65 + k * 7 % 26)}{k * 13 % 10};{k * 5 % 7 + 1};{number(k * 37 % 900 + 5, 2)}"
                    for k in range(1, 25)])
    return content, refused("a list of parts with a running number: it counts rows, it is no time", NO_RECORD)


@fixture("statistics.csv")
def statistics():
    names = ["Frequency", "Period", "Rise", "Fall", "Top", "Base", "Mean"]
    content = text("Measurement,Minimum,Maximum,Mean,Deviation",
                   [f"{name},{k * 7 % 5}.1{k},{k * 11 % 9 + 5}.2{k},{k * 3 % 4 + 2}.05,0.0{k}1"
                    for k, name in enumerate(names)])
    return content, refused("statistics of measurements, a row for each", NO_RECORD)


@fixture("prose-numbers.txt")
def prose_numbers():
    return text("The unit started at 16.1 V, 3 times out of 5,", "then stopped at 9.8 V, 2 of 5 times.",
                "R3 was 22 k, C7 held 38 uF of 47,", "and the output rose to 24.1 V, once.",
                "", "12 volts were left after 3 seconds, 5 after 9."), refused("prose with numbers", NOTHING)


@fixture("prose-wide.txt")
def prose_wide():
    content = text("Das Gerät tickt, dann ist es still.", "Mehr war am 3. März nicht zu hören.", "Ende, Punkt.")
    return codecs.BOM_UTF16_LE + content.encode("utf-16-le"), refused("prose in UTF-16", NOTHING)


@fixture("picture.csv")
def picture():
    def chunk(kind, body):
        return struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))

    pixels = b"".join(bytes([0]) + bytes((x * y) % 251 for x in range(24)) for y in range(16))
    # stored, not compressed: the same bytes with any version of the library
    stored = b"\x78\x01\x01" + struct.pack("<HH", len(pixels), len(pixels) ^ 0xFFFF) + pixels
    stored += struct.pack(">I", zlib.adler32(pixels))
    content = (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", struct.pack(">IIBBBBB", 24, 16, 8, 0, 0, 0, 0))
               + chunk(b"IDAT", stored) + chunk(b"IEND", b""))
    return content, refused("a picture with the name of a table", ["not-recognised", "binary"])


@fixture("mark-only.csv")
def mark_only():
    return b"\xef\xbb\xbf", refused("nothing but the mark of the encoding", ["empty", *NOTHING])


@fixture("mark-only-wide.csv")
def mark_only_wide():
    return b"\xff\xfe", refused("nothing but the mark of the encoding", ["empty", *NOTHING])


@fixture("header-only.csv")
def header_only():
    return text("Record length,0", "Time (s),VCC (V)"), refused("names and no samples", NOTHING)


@fixture("blank-only.csv")
def blank_only():
    return "\n \r\n\t\n\n", refused("blank lines", ["empty", *NOTHING])


@fixture("ragged-later.csv")
def ragged_later():
    body = rows(";", line(80, 0, 1, 3), numbers(wave(80, 510, 0, 999), 2), numbers(wave(80, 511, 0, 999), 2))
    body[60] += ";0.5"
    return text("t (s);a (V);b (V)", body), refused("a row with a cell too many", ["ragged"], line=62, says="4 cells")


@fixture("backwards-once.csv")
def backwards_once():
    times = line(60, 0, 2, 3)
    times[40] = times[38]
    return text("t (s),a (V)", rows(",", times, numbers(wave(60, 512, 0, 999), 2))), refused(
        "one time steps back", ["time-not-rising"], line=42)


@fixture("not-a-number.csv")
def not_a_number():
    cells = numbers(wave(60, 514, 0, 999), 2)
    cells[33] = "3.7.5"
    return text("t (s),a (V)", rows(",", line(60, 0, 2, 3), cells)), refused(
        "a cell with two points", ["not-a-number"], line=35, says="3.7.5")


@fixture("comma-both.csv")
def comma_both():
    content = text(rows(",", line(40, 0, 1), numbers([abs(n) for n in wave(40, 516, 100, 999)])))
    return content, refused("`0,532`: two columns or one with a decimal comma", ["ask"], says="comma")


@fixture("two-numbers.csv")
def two_numbers():
    return text("t,a", "0,1"), refused("one row of samples", NOTHING)


@fixture("no-interval.csv")
def no_interval():
    content = text("CH1 (V);CH2 (V)", rows(";", numbers(wave(50, 518, 0, 999), 2), numbers(wave(50, 519, 0, 999), 2)))
    return content, refused("no time and nothing that tells the interval", ["ask"], says="interval=")


@fixture("text-no-time.csv")
def text_no_time():
    words = ["left", "right", "upper", "lower"]
    content = text("Place,Volts", [f"{words[k * 7 % 4]} {k},{number(n, 2)}" for k, n in enumerate(wave(40, 520, 0, 999))])
    return content, refused("a varying text and no time", NO_RECORD)


@fixture("bad-key-value.csv")
def bad_key_value():
    content = text("t,a", rows(",", line(20, 0, 1), numbers(wave(20, 522, 0, 99))))
    return content, refused("a layout value that its key does not take", ["bad-value"],
                            layout={"sections": "chapters"}, says="sections")
