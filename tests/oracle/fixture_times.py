"""Tables whose times are rounded, told by a clock, or named in a misleading way."""

from fractions import Fraction

from printed import (capture, channel, comma, even, fixture, line, number, numbers, read, refused, rounded, rows, text,
                     uneven, wave)


def coarse(start, step, count, decimals, factor=1):
    """Times printed too coarsely: their texts and their axis."""
    texts = [rounded(start + step * k, decimals) for k in range(count)]
    digit = Fraction(1, 10**decimals) * factor
    axis = even(start * factor, step * factor, digit)
    return texts, dict(axis, times=[float(Fraction(t) * factor) for t in texts])


@fixture("coarse-times.csv")
def coarse_times():
    texts, axis = coarse(Fraction(0), Fraction("0.0332"), 120, 2)
    a = numbers(wave(120, 400, 0, 999), 2)
    return text("t,VCC", rows(",", texts, a)), read("times rounded to a third of a step: the step jitters",
                                                   capture(channel("VCC", a, axis)))


@fixture("equal-times.csv")
def equal_times():
    texts, axis = coarse(Fraction(0), Fraction("0.42"), 150, 0, Fraction(1, 1000))
    a = numbers(wave(150, 402, -999, 999), 2)
    return text("Time (ms);OUT (V)", rows(";", texts, a)), read(
        "times rounded so coarsely that two or three neighbours are equal", capture(channel("OUT", a, axis)))


@fixture("rounded-digits.txt")
def rounded_digits():
    texts, times = [], []
    for k in range(100):
        mantissa = f"{Fraction(123457 * k, 10**11).__float__():.4e}"
        texts.append(mantissa)
        times.append(float(Fraction(mantissa)))
    a = numbers(wave(100, 404, 0, 999), 2)
    axis = dict(even(0, Fraction(123457, 10**11), "1e-8"), times=times)
    return text("t VCC", rows(" ", texts, a)), read("times of five significant digits", capture(channel("VCC", a, axis)))


@fixture("jittered.csv")
def jittered():
    times = numbers([1000 * k + j for k, j in enumerate(wave(60, 406, -120, 120, 200))], 6)
    a = numbers(wave(60, 407, 0, 999), 2)
    return text("t,VCC", rows(",", times, a)), read("times that truly jitter", capture(channel("VCC", a, uneven(times))))


def clock(milliseconds, decimals=3, mark="."):
    """A time of day."""
    seconds, rest = divmod(milliseconds % 86_400_000, 1000)
    fraction = mark + f"{rest:03}"[:decimals] if decimals else ""
    return f"{seconds // 3600:02}:{seconds // 60 % 60:02}:{seconds % 60:02}{fraction}"


def clocks(first, step, count, decimals=3, mark="."):
    return [clock(first + step * k, decimals, mark) for k in range(count)]


NOON = 12 * 3_600_000


@fixture("clock-parts.csv")
def clock_parts():
    a = numbers(wave(80, 410, 0, 1700), 2)
    content = text("Time,VCC (V)", rows(",", clocks(NOON - 1500, 25, 80), a))
    return content, read("the time of day, with milliseconds", capture(channel("VCC", a, even(0, "0.025"))))


@fixture("clock-date.csv")
def clock_date():
    a = numbers(wave(60, 412, 0, 1700), 2)
    times = ["2026-03-04 " + one for one in clocks(NOON, 250, 60)]
    return text("Date and time,VCC (V)", rows(",", times, a)), read(
        "date and time of day in one cell", capture(channel("VCC", a, even(0, "0.25"))))


@fixture("clock-date-t.csv")
def clock_date_t():
    a = numbers(wave(60, 414, 0, 1700), 2)
    times = ["2026-03-04T" + one for one in clocks(NOON, 100, 60, 1)]
    return text("timestamp;VCC", rows(";", times, a)), read(
        "date, the letter T, and the time of day", capture(channel("VCC", a, even(0, "0.1"))))


@fixture("clock-midnight.csv")
def clock_midnight():
    a = numbers(wave(80, 416, 0, 1700), 2)
    times = clocks(86_400_000 - 20_000, 500, 80, 1, ",")
    return text("Zeit;VCC in V", rows(";", times, comma(a))), read(
        "over midnight without a date, decimal comma", capture(channel("VCC", a, even(0, "0.5"))))


@fixture("clock-two-columns.csv")
def clock_two_columns():
    a, b = numbers(wave(40, 418, 0, 1700), 2), numbers(wave(40, 420, 0, 505), 2)
    content = text("Date;Time;VCC (V);VREF (V)", rows(";", ["04.03.2026"] * 40, clocks(NOON, 1000, 40, 0), a, b))
    axis = even(0, 1)
    return content, read("the date in a column of its own; it does not change",
                         capture(channel("VCC", a, axis), channel("VREF", b, axis)))


def days(count, step, first="2026-03-30"):
    """Date and time cells that run over midnight in the middle."""
    second = {"2026-03-30": "2026-03-31", "30.03.2026": "31.03.2026", "03/04/2026": "04/04/2026"}[first]
    start = 86_400_000 - count // 2 * step
    found = [(first if start + k * step < 86_400_000 else second, clock(start + k * step)) for k in range(count)]
    return [list(column) for column in zip(*found)]


@fixture("date-changes.csv")
def date_changes():
    a, (dates, times) = numbers(wave(60, 422, 0, 1700), 2), days(60, 200)
    content = text("Date,Time,VCC (V)", rows(",", dates, times, a))
    return content, read("date and time in two columns, over midnight", capture(channel("VCC", a, even(0, "0.2"))))


@fixture("date-plain-order.csv")
def date_plain_order():
    a, (dates, times) = numbers(wave(60, 424, 0, 1700), 2), days(60, 200, "30.03.2026")
    content = text("Datum;Uhrzeit;VCC [V]", rows(";", dates, times, a), end="\r\n")
    return content, read("a day above 12 settles the order of the date", capture(channel("VCC", a, even(0, "0.2"))))


@fixture("date-ask.csv")
def date_ask():
    a, (dates, times) = numbers(wave(60, 426, 0, 1700), 2), days(60, 200, "03/04/2026")
    content = text("Date,Time,VCC (V)", rows(",", dates, times, a))
    return content, refused("a date that changes and whose order is open", ["ask"], says="date=")


@fixture("date-told.csv")
def date_told():
    a, (dates, times) = numbers(wave(60, 426, 0, 1700), 2), days(60, 200, "03/04/2026")
    content = text("Date,Time,VCC (V)", rows(",", dates, times, a))
    return content, read("the same, told", capture(channel("VCC", a, even(0, "0.2"))), layout={"date": "dmy"})


@fixture("clock-segments.csv")
def clock_segments():
    content, captures = "Logger,bench\n", []
    for k in range(2):
        a = numbers(wave(30, 430 + k, 0, 1700), 2)
        content += text(f"Record {k + 1}", "Time,VCC (V)", rows(",", clocks(NOON + 60_000 * k, 100, 30), a))
        captures.append(capture(channel("VCC", a, even(0, "0.1"))))
    return content, read("two records with clock times", *captures)


@fixture("frequency-name.csv")
def frequency_name():
    time, a = line(50, 0, 5, 1), numbers(wave(50, 440, 0, 999), 2)
    return text("Frequency (ms),CH1 (V)", rows(",", time, a)), read(
        "a first column called frequency, in milliseconds: time", capture(channel("CH1", a, even(0, "5e-4"))))


@fixture("channel-called-time.csv")
def channel_called_time():
    time, a = line(50, 0, 5, 1), numbers(wave(50, 442, 0, 999), 2)
    return text("x (ms),Time (V)", rows(",", time, a)), read(
        "a channel in volts called time", capture(channel("Time", a, even(0, "5e-4"))))


@fixture("frequency-channel.csv")
def frequency_channel():
    time, a = line(50, 0, 5, 1), numbers(wave(50, 444, 50000, 52000))
    return text("Time (ms),Frequency (Hz)", rows(",", time, a)), read(
        "a channel of frequency over time", capture(channel("Frequency", a, even(0, "5e-4"), "Hz")))


@fixture("time-last.csv")
def time_last():
    time, a = line(50, -100, 5, 1), numbers(wave(50, 446, 0, 999), 2)
    return text("CH1 (V);Time (us)", rows(";", comma(a), comma(time))), read(
        "time is the last column", capture(channel("CH1", a, even("-1e-5", "5e-7")), decisions={"time": "2"}))


@fixture("large-times.csv")
def large_times():
    time, a = line(60, 123456789000, 2, 6), numbers(wave(60, 448, 0, 999), 2)
    return text("time (s),VCC", rows(",", time, a)), read(
        "times far from zero with a small step", capture(channel("VCC", a, even("123456.789", "2e-6", "1e-9"))))


@fixture("index-and-time.csv")
def index_and_time():
    index, time, a = line(50, 1, 1), line(50, 0, 4, 2), numbers(wave(50, 450, 0, 999), 2)
    return text("No.\tTime (s)\tVCC (V)", rows("\t", index, time, a)), read(
        "a count of rows beside the time", capture(channel("VCC", a, even(0, "0.04")), decisions={"time": "2"}))
