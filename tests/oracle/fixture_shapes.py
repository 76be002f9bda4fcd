"""Tables whose rows are more than one record, more than one axis, or two samples an instant."""

from fractions import Fraction

from printed import (capture, channel, comma, even, fixture, line, number, numbers, paired, read, refused, rounded,
                     rows, text, uneven, wave, worded)


@fixture("times-equal.csv")
def times_equal():
    time, a, b = line(60, -20, 5, 1), numbers(wave(60, 200, 0, 999), 2), numbers(wave(60, 201, -999, 0), 2)
    content = text("t1 (us);VCC (V);t2 (us);OUT (V)", rows(";", time, a, time, b))
    axis = even("-2e-6", "5e-7")
    return content, read("a time column for each channel, the same times", capture(
        channel("VCC", a, axis), channel("OUT", b, axis)))


@fixture("times-rates.csv")
def times_rates():
    slow, a = line(40, 0, 10, 1), numbers(wave(40, 202, 0, 999), 2)
    fast, b = line(90, -5, 1, 1), numbers(wave(90, 203, -999, 0), 2)
    pad = [""] * 50
    content = text("Time A (ms),VCC (V),Time B (ms),OUT (V)", rows(",", slow + pad, a + pad, fast, b))
    return content, read("a time column for each channel, other rates, the first ends earlier",
                         capture(channel("VCC", a, even(0, "0.001")), channel("OUT", b, even("-5e-4", "1e-4"))))


@fixture("times-rates-french.csv")
def times_rates_french():
    one, a = line(30, 0, 4, 2), numbers(wave(30, 204, 0, 999), 2)
    two, b = line(30, 1, 4, 2), numbers(wave(30, 205, -999, 0), 2)
    content = text("Appareil;GV-24", "Remarque;à froid", "Temps (s);VCC (V);Temps (s);OUT (V)",
                   rows(";", *map(comma, (one, a, two, b))), end="\r\n").encode("windows-1252")
    return content, read("French, decimal comma; both times have one name, the second axis is shifted",
                         capture(channel("VCC", a, even(0, "0.04")), channel("OUT", b, even("0.01", "0.04"))))


def block(name, time, cells):
    return text(f"Channel: {name}", "Time (s),Value (V)", rows(",", time, cells), "")


@fixture("blocks-equal.csv")
def blocks_equal():
    time, a, b = line(40, 0, 2, 3), numbers(wave(40, 206, 0, 999), 2), numbers(wave(40, 207, -999, 0), 2)
    axis = even(0, "0.002")
    return block("VCC", time, a) + block("OUT", time, b), read(
        "channels as blocks one after the other, each names its channel; the same times",
        capture(channel("VCC", a, axis), channel("OUT", b, axis)))


@fixture("blocks-unequal.csv")
def blocks_unequal():
    one, a = line(50, 0, 2, 3), numbers(wave(50, 208, 0, 999), 2)
    two, b = line(35, -1, 3, 3), numbers(wave(35, 209, -999, 0), 2)
    return block("VCC", one, a) + block("RT/CT", two, b), read(
        "channels as blocks with other times", capture(
            channel("VCC", a, even(0, "0.002")), channel("RT/CT", b, even("-0.001", "0.003"))))


@fixture("blocks-headers.csv")
def blocks_headers():
    time, a, b = line(40, 0, 5, 1), numbers(wave(40, 210, 0, 999), 1), numbers(wave(40, 211, 0, 999), 1)
    content = text("Zeit [ms];CH1 [mV]", rows(";", comma(time), comma(a)), "",
                   "Zeit [ms];CH2 [mV]", rows(";", comma(time), comma(b)))
    axis = even(0, "5e-4")
    return content, read("blocks told apart by the names of their columns alone",
                         capture(channel("CH1", a, axis, factor="1e-3"), channel("CH2", b, axis, factor="1e-3")))


def segments(headers, start=-10, step=5, count=30, seed=220, repeat=True):
    """A file of several segments, and the capture of each."""
    content, captures = "", []
    for k, header in enumerate(headers):
        first = start if repeat else start + k * count * step
        time, a, b = (line(count, first, step, 4), numbers(wave(count, seed + 2 * k, 0, 1700), 2),
                      numbers(wave(count, seed + 2 * k + 1, 0, 505), 2))
        content += text(header, rows(",", time, a, b))
        axis = even(number(first, 4), number(step, 4))
        captures.append(capture(channel("VCC", a, axis), channel("VREF", b, axis)))
    return content, captures


NAMES = "Time (s),VCC (V),VREF (V)"


@fixture("segments.csv")
def segments_labelled():
    content, captures = segments([[f"Segment {k}", NAMES] for k in (1, 2, 3)])
    return content, read("three segments, each with its number and its names", *captures)


@fixture("segments-records.csv")
def segments_records():
    headers = [[f"Record,{k}", f"Remark,attempt {k}", "", NAMES] for k in (1, 2)]
    content, captures = segments(headers, seed=230)
    return "Unit under test,GV-24\n" + content, read(
        "records with their number in a key/value row, and lines that hold for all", *captures)


@fixture("segments-uneven.csv")
def segments_uneven():
    one, first = segments([["Sweep 1", NAMES]], seed=236, count=40)
    two, second = segments([["Sweep 2", NAMES]], seed=238, count=25, step=10)
    return one + "\n" + two, read("sweeps of other lengths and steps", *first, *second)


@fixture("segments-continuing.csv")
def segments_continuing():
    content, captures = segments([[NAMES]] * 3, repeat=False, seed=240, start=0)
    axis = even(0, "0.0005")
    joined = []
    for place, name in enumerate(("VCC", "VREF")):
        cells = []
        for k in range(3):
            cells += numbers(wave(30, 240 + 2 * k + place, 0, 1700 if place == 0 else 505), 2)
        joined.append(channel(name, cells, axis))
    return content, read("the names again between the rows, while time goes on: one record", capture(*joined))


@fixture("sections-ask.csv")
def sections_ask():
    content, _ = segments([[NAMES]] * 2, seed=250)
    return content, refused("the same names, and time starts again: channels or records?", ["ask"], says="sections=")


@fixture("sections-records.csv")
def sections_records():
    content, captures = segments([[NAMES]] * 2, seed=250)
    return content, read("the same, told to be records", *captures, layout={"sections": "records"})


@fixture("sections-blank.csv")
def sections_blank():
    content, _ = segments([[]] * 2, seed=254)
    middle = content.index("\n-0.0010", 5) + 1
    return content[:middle] + "\n" + content[middle:], refused(
        "no names at all; a blank line, and time starts again", ["ask", "time-not-rising"])


@fixture("minmax-rows.csv")
def minmax_rows():
    low = wave(40, 260, -900, 400)
    high = [a + b for a, b in zip(low, wave(40, 261, 5, 90))]
    both = [n for pair in zip(low, high) for n in pair]
    cells, time = numbers(both, 3), [t for one in line(40, -50, 25, 1) for t in (one, one)]
    content = text("Time (us),OUT (V)", rows(",", time, cells))
    return content, read("two rows for one instant, the lower one first",
                         capture(channel("OUT", cells, paired("-5e-6", "2.5e-6"))))


@fixture("minmax-rows-two.csv")
def minmax_rows_two():
    columns = []
    for seed in (262, 264):
        low = wave(35, seed, -900, 400)
        high = [a + b for a, b in zip(low, wave(35, seed + 1, 0, 60))]
        columns.append(numbers([n for pair in zip(low, high) for n in pair], 2))
    time = [t for one in line(35, 0, 4, 1) for t in (one, one)]
    content = text("Bemerkung\tSpitzenwerte", "Zeit\tOUT\tCS", "ms\tV\tA", rows("\t", *map(comma, (time, *columns))))
    axis = paired(0, "4e-4")
    return content, read("two rows for one instant, two channels, decimal comma, a row of units",
                         capture(channel("OUT", columns[0], axis), channel("CS", columns[1], axis, "A")))


@fixture("pairs-ask.csv")
def pairs_ask():
    cells, time = line(60, 0, 3, 2), [t for one in line(30, 0, 1, 3) for t in (one, one)]
    content = text("Time (s),RT/CT (V)", rows(",", time, cells))
    return content, refused("a ramp with each time twice: extremes, or times printed too coarsely?", ["ask"],
                            says="rows-per-instant=")


@fixture("pairs-told-two.csv")
def pairs_told_two():
    cells, time = line(60, 0, 3, 2), [t for one in line(30, 0, 1, 3) for t in (one, one)]
    content = text("Time (s),RT/CT (V)", rows(",", time, cells))
    return content, read("the same, told: two rows are one instant", capture(
        channel("RT/CT", cells, paired(0, "0.001"))), layout={"rows-per-instant": "2"})


@fixture("pairs-told-one.csv")
def pairs_told_one():
    cells, time = line(60, 0, 3, 2), [t for one in line(30, 0, 1, 3) for t in (one, one)]
    content = text("Time (s),RT/CT (V)", rows(",", time, cells))
    axis = dict(even("-0.00025", "0.0005", "0.001"), times=[float(Fraction(t)) for t in time])
    return content, read("the same, told: each row is one sample, its time rounded",
                         capture(channel("RT/CT", cells, axis)), layout={"rows-per-instant": "1"})


def extremes(seed, count, decimals):
    low = wave(count, seed, -900, 400)
    high = [a + b for a, b in zip(low, wave(count, seed + 1, 5, 90))]
    both = numbers([n for pair in zip(low, high) for n in pair], decimals)
    return numbers(low, decimals), numbers(high, decimals), both


@fixture("minmax-columns.csv")
def minmax_columns():
    low, high, both = extremes(270, 50, 3)
    content = text("Time (us),CH1 min (V),CH1 max (V)", rows(",", line(50, 0, 5, 1), low, high))
    return content, read("two columns for one channel, lower extreme first",
                         capture(channel("CH1", both, paired(0, "5e-7"))))


@fixture("maxmin-columns.csv")
def maxmin_columns():
    low, high, both = extremes(272, 50, 1)
    cs = numbers(wave(50, 274, 0, 999), 2)
    content = text("t/ms;OUT_Max/mV;OUT_Min/mV;CS/V", rows(";", line(50, 0, 2), comma(high), comma(low), comma(cs)))
    return content, read("two columns for one channel, upper extreme first, and a plain channel",
                         capture(channel("OUT", both, paired(0, "0.002"), factor="1e-3"),
                                 channel("CS", cs, even(0, "0.002"))))


@fixture("minmax-index.csv")
def minmax_index():
    low, high, both = extremes(276, 60, 0)
    content = text("Sample interval;4 us", "Index;CH2 Min [mV];CH2 Max [mV]", rows(";", line(60, 0, 1), low, high),
                   end="\r\n").encode("utf-16-le")
    return content, read("two columns for one channel, an index and an interval, UTF-16 without mark",
                         capture(channel("CH2", both, paired(0, "4e-6"), factor="1e-3")))


@fixture("text-columns.csv")
def text_columns():
    time, a = line(60, 0, 1, 3), numbers(wave(60, 280, 0, 1700), 2)
    state = ["stop"] * 20 + ["run"] * 25 + ["stop"] * 15
    content = text("Time (s),Unit,VCC (V),State", rows(",", time, ["GV-24"] * 60, a, state))
    return content, read("a constant text and a status beside the numbers",
                         capture(channel("VCC", a, even(0, "0.001"))))


@fixture("status-partly.csv")
def status_partly():
    time, a = line(50, 0, 2, 3), numbers(wave(50, 282, 0, 1700), 2)
    flags = ["trigger" if k == 10 else "" for k in range(50)]
    content = text("Time (s);VCC (V);Event", rows(";", time, a, flags))
    return content, read("a column with a word in one row only", capture(channel("VCC", a, even(0, "0.002"))))


@fixture("gap-times.csv")
def gap_times():
    times = line(30, 0, 1, 3) + line(30, 100, 1, 3)
    a = [None if k % 13 == 5 else cell for k, cell in enumerate(numbers(wave(60, 284, 0, 999), 2))]
    content = text("Time (s),VCC (V)", rows(",", times, worded(a, ["", "----"])))
    return content, read("a hole in time, and samples missing", capture(channel("VCC", a, uneven(times))))


@fixture("many-columns.csv")
def many_columns():
    time, columns = line(30, 0, 1, 2), [numbers(wave(30, 290 + k, -99, 99), 1) for k in range(9)]
    content = text("t," + ",".join(f"D{k}" for k in range(9)), rows(",", time, *columns))
    axis = even(0, "0.01")
    return content, read("nine channels", capture(*(channel(f"D{k}", c, axis) for k, c in enumerate(columns))))


@fixture("thirds.csv")
def thirds():
    times = [rounded(Fraction(k, 3), 3) for k in range(90)]
    a = numbers(wave(90, 300, 0, 999), 2)
    axis = dict(even(0, Fraction(1, 3000), "1e-6"), times=[float(Fraction(t) / 1000) for t in times])
    return text("t/ms,VCC", rows(",", times, a)), read("thirds of a millisecond, three decimals",
                                                      capture(channel("VCC", a, axis)))


@fixture("blocks-interval.csv")
def blocks_interval():
    content, found = "", []
    for k, name in enumerate(("VCC", "RT/CT")):
        cells = numbers(wave(60, 310 + k, -999, 1999), 2)
        content += text(f"Channel;{name}", "Sample interval;2 us", "Start time;-0,00002", "Unit;V", comma(cells), "",
                        end="\r\n")
        found.append(channel(name, cells, even("-2e-5", "2e-6")))
    truth = read("blocks without times, each with its own interval and start; UTF-16, decimal comma",
                 capture(*found))
    return b"\xff\xfe" + content.encode("utf-16-le"), dict(truth, may_ask=True)


@fixture("segments-own-start.csv")
def segments_own_start():
    content, captures = "Device,GV-24\n", []
    for k, start in enumerate(("0", "0.0125")):
        cells = numbers(wave(40, 320 + k, -128, 127))
        content += text(f"Segment,{k + 1}", f"Start time,{start}", "Increment,1e-5", "Volts per code,0.05", "Index,OUT",
                        rows(",", line(40, 0, 1), cells))
        captures.append(capture(channel("OUT", cells, even(start, "1e-5"), factor="0.05")))
    return content, dict(read("segments of codes, each with its own start", *captures), may_ask=True)


@fixture("separator-told.csv")
def separator_told():
    time, a = line(40, 0, 1, 2), numbers(wave(40, 330, 0, 1700), 2)
    content = text("sep=;", "Zeit (ms);VCC (V)", rows(";", comma(time), comma(a)), end="\r\n")
    return content, read("a first line that names the separator", capture(channel("VCC", a, even(0, "1e-5"))))
