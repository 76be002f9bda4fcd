"""Tables whose lines before or beside the samples say something that matters."""

from fractions import Fraction

from printed import (capture, channel, comma, even, fixture, line, number, numbers, read, refused, rows, text, wave)


@fixture("keyvalue-before.csv")
def keyvalue_before():
    time, a, b = line(60, -200, 10, 4), numbers(wave(60, 1, -50, 1500), 2), numbers(wave(60, 2, 0, 500), 2)
    content = text("Remark,second bench", "Coupling,DC", "Bandwidth limit,20 MHz", "Probe attenuation,10", "",
                   "Time (s),VCC (V),VREF (V)", rows(",", time, a, b))
    axis = even("-0.02", "0.001")
    return content, read("key/value rows and a blank line before a plain table; the attenuation is noted, not applied",
                         capture(channel("VCC", a, axis), channel("VREF", b, axis),
                                 notes=["Coupling,DC", "Probe attenuation"], decisions={"first-row": "7", "names": "6"}))


@fixture("keyvalue-beside.csv")
def keyvalue_beside():
    time, a = line(40, 0, 25, 1), numbers(wave(40, 3, -300, 300), 3)
    beside = [("Device", "GV-24"), ("Remark", "warm"), ("Room", "23.5")] + [("", "")] * 37
    content = text("Time (us),CS (V),,Setting,Content", rows(",", time, a, [""] * 40, *zip(*beside)))
    return content, read("key/value cells in columns to the right of the samples, for three rows",
                         capture(channel("CS", a, even(0, "2.5e-6"))))


@fixture("keyvalue-left.csv")
def keyvalue_left():
    a = numbers(wave(50, 4, 0, 3300), 3)
    beside = [("Sample interval", "2.0E-06"), ("Start time", "-4.0E-05"), ("Points", "50")] + [("", "")] * 47
    content = text(rows(",", *zip(*beside), a))
    return content, read("key/value cells to the left tell interval and start; no header, no time column",
                         capture(channel("CH1", a, even("-4e-5", "2e-6")), decisions={"first-row": "1"}))


@fixture("units-row.csv")
def units_row():
    time, a, b = line(80, 0, 5, 1), numbers(wave(80, 5, 0, 12000)), numbers(wave(80, 6, -90, 900), 1)
    content = text("Zeit;RT/CT;CS", "(ms);(mV);(mA)", rows(";", comma(time), a, comma(b)), end="\r\n")
    axis = even(0, "5e-4")
    return content, read("a row of units in brackets under the names, decimal comma, CR LF",
                         capture(channel("RT/CT", a, axis, factor="1e-3"),
                                 channel("CS", b, axis, "A", "1e-3"), decisions={"units": "2", "unit.3": "mA"}))


def units_in_names(names, separator, factors, unit="V"):
    time, a = line(30, -50, 5), numbers(wave(30, 7 + len(names[1]), -999, 4000), 1)
    content = text(separator.join(names), rows(separator, time, a))
    axis = even(-50 * factors[0], 5 * factors[0])
    return content, read(f"units inside the names: {names[0]}, {names[1]}",
                         capture(channel("OUT", a, axis, unit, factors[1])))


@fixture("unit-square.csv")
def unit_square():
    return units_in_names(["Time [ms]", "OUT [mV]"], ",", [Fraction(1, 10**3), "1e-3"])


@fixture("unit-in.csv")
def unit_in():
    return units_in_names(["time in us", "OUT in mV"], ";", [Fraction(1, 10**6), "1e-3"])


@fixture("unit-slash.tsv")
def unit_slash():
    return units_in_names(["t/ns", "OUT/mA"], "\t", [Fraction(1, 10**9), "1e-3"], "A")


@fixture("unit-underscore.csv")
def unit_underscore():
    return units_in_names(["time_us", "OUT_mV"], ",", [Fraction(1, 10**6), "1e-3"])


@fixture("units-preamble.csv")
def units_preamble():
    time, a = line(60, 0, 4), numbers(wave(60, 8, 0, 5100), 1)
    content = text("Time unit,us", "Vertical unit,mV", "Time,VREF", rows(",", time, a))
    return content, read("units only in the rows before the samples",
                         capture(channel("VREF", a, even(0, "4e-6"), factor="1e-3"),
                                 decisions={"unit.1": "us", "unit.2": "mV"}))


@fixture("index-preamble.csv")
def index_preamble():
    index, a, b = line(100, 0, 1), numbers(wave(100, 9, 0, 1600), 2), numbers(wave(100, 10, 0, 520), 2)
    content = text("Start time;-0,002", "Increment;0,00001", "", "Index;VCC in V;VREF in V",
                   rows(";", index, comma(a), comma(b)))
    axis = even("-0.002", "0.00001")
    return content, read("an index column; start and increment before it; decimal comma",
                         capture(channel("VCC", a, axis), channel("VREF", b, axis), decisions={"time": "none"}))


@fixture("index-cells.csv")
def index_cells():
    index, a = line(70, 0, 1), numbers(wave(70, 11, -200, 12500), 1)
    content = text("No.,OUT,Increment,Start", ",mV,2.5e-6,-1e-3", rows(",", index, a, [""] * 70, [""] * 70))
    return content, read("start and increment in cells of the header, above columns that stay empty",
                         capture(channel("OUT", a, even("-1e-3", "2.5e-6"), factor="1e-3")))


@fixture("interval-only.txt")
def interval_only():
    a, b = numbers(wave(120, 12, 0, 999), 3), numbers(wave(120, 13, -999, 0), 3)
    content = text("Sample interval: 20 us", "Remark: no column of times", "VCC\tVREF", rows("\t", a, b))
    axis = even(0, "20e-6")
    return content, read("no time column, only the sample interval",
                         capture(channel("VCC", a, axis), channel("VREF", b, axis),
                                 decisions={"time": "none", "separator": "tab"}))


@fixture("rate-kilo.csv")
def rate_kilo():
    a = numbers(wave(64, 14, -2048, 2047), 3)
    content = text("Sample rate;250 kSa/s", "VCC (V);", rows(";", a, [""] * 64), end="\r\n")
    return content, read("only a sample rate with a prefix; a separator after each cell",
                         capture(channel("VCC", a, even(0, "4e-6"))))


@fixture("rate-mega.csv")
def rate_mega():
    a, b = numbers(wave(90, 15, -128, 1270), 2), numbers(wave(90, 16, -128, 1270), 2)
    content = text("# Sampling rate = 2 MS/s", "# Start time = -12.5 us", "RT/CT,OUT", rows(",", a, b))
    axis = even("-12.5e-6", "5e-7")
    return content, read("rate and start in comment lines before two channels without time",
                         capture(channel("RT/CT", a, axis), channel("OUT", b, axis)))


@fixture("rate-hertz.csv")
def rate_hertz():
    a = numbers(wave(40, 17, 0, 2400), 2)
    content = text("Sampling frequency (Hz),12500", "Start time (ms),-0.8", "", "Sample,VCC (V)",
                   rows(",", line(40, 0, 1), a))
    return content, read("the rate in hertz, the start in milliseconds, units in the keys",
                         capture(channel("VCC", a, even("-0.8e-3", "80e-6"))))


@fixture("trigger-index.csv")
def trigger_index():
    index, a = line(60, 0, 1), numbers(wave(60, 18, 0, 1700), 2)
    content = text("Sample interval,1 ms", "Trigger index,20", "Index,VCC (V)", rows(",", index, a))
    return content, read("the sample of the trigger is told by its index: it is at time zero",
                         capture(channel("VCC", a, even("-0.02", "0.001"))))


@fixture("codes.csv")
def codes():
    index, a = line(100, 0, 1), numbers(wave(100, 19, -128, 127))
    content = text("Volts per code,0.0390625", "Offset in V,5.5", "Increment,4e-7", "Start time,-2e-5", "",
                   "Index,VCC", rows(",", index, a))
    axis = even("-2e-5", "4e-7")
    return content, read("integer codes with volts per code and an offset in volts",
                         capture(channel("VCC", a, axis, factor="0.0390625", offset="5.5")))


@fixture("codes-two.csv")
def codes_two():
    index, a, b = line(80, 0, 1), numbers(wave(80, 20, 0, 4095)), numbers(wave(80, 21, 0, 4095))
    content = text("Record points;80", "Sample rate;1 MSa/s", "Key;CH1;CH2", "Volts per LSB;0.005;0.002", "",
                   "Sample;CH1;CH2", rows(";", index, a, b), end="\r\n")
    axis = even(0, "1e-6")
    truth = read("codes of two channels, each with its own volts per step in its own column",
                 capture(channel("CH1", a, axis, factor="0.005"), channel("CH2", b, axis, factor="0.002")))
    return content, dict(truth, may_ask=True)


@fixture("codes-zero.csv")
def codes_zero():
    index, a = line(60, 0, 1), numbers(wave(60, 22, 0, 255))
    content = text("Volts per step,0.04", "Code at zero volts,100", "Sample interval,2e-6", "Index,VCC",
                   rows(",", index, a))
    truth = read("codes with the code that stands for zero volts: (code - 100) x 0.04 V",
                 capture(channel("VCC", a, even(0, "2e-6"), factor="0.04", offset="-4")))
    return content, dict(truth, may_ask=True)


@fixture("codes-ambiguous.csv")
def codes_ambiguous():
    time, a = line(50, 0, 2, 3), numbers(wave(50, 23, -100, 100))
    content = text("Scale,0.04", "Time (s),VCC", rows(",", time, a))
    return content, refused("whole numbers with a `scale` that may mean a code or a division", ["ask"], says="scale.2=")


@fixture("codes-told.csv")
def codes_told():
    time, a = line(50, 0, 2, 3), numbers(wave(50, 23, -100, 100))
    content = text("Scale,0.04", "Time (s),VCC", rows(",", time, a))
    return content, read("the same, told", capture(channel("VCC", a, even(0, "0.002"), factor="0.04", offset="-0.5")),
                         layout={"scale.2": "0.04", "offset.2": "-0.5"})


@fixture("volts-per-division.csv")
def volts_per_division():
    time, a = line(60, -30, 1, 4), numbers(wave(60, 24, -100, 1500), 3)
    content = text("Volts per division,0.5", "Vertical scale,500 mV", "Time (s),CS (V)", rows(",", time, a))
    return content, read("volts per division beside values in volts: not applied",
                         capture(channel("CS", a, even("-0.003", "0.0001"))))


@fixture("declared-more.csv")
def declared_more():
    time, a = line(96, 0, 1, 3), numbers(wave(96, 25, 0, 999), 2)
    content = text("Record length,100", "Time (s),VCC (V)", rows(",", time, a))
    return content, read("the file declares more samples than it has",
                         capture(channel("VCC", a, even(0, "0.001")),
                                 notes=["the file declares 100 samples, 96 are there"]))


@fixture("declared-same.csv")
def declared_same():
    a = numbers(wave(48, 26, 0, 5000), 3)
    content = text("Number of points\t48", "Sample interval\t5e-05", "", "CH2", a)
    return content, read("a declared count that is right; one column",
                         capture(channel("CH2", a, even(0, "5e-5"))))


@fixture("many-words.csv")
def many_words():
    index, a, b = line(72, 0, 1), numbers(wave(72, 27, 0, 1700), 2), numbers(wave(72, 28, 0, 5050), 3)
    content = text("", "Gerät;GV-24", "Bemerkung;kalt, ohne Last", "Abtastrate;50 kS/s", "Anzahl Punkte;75",
                   "Kopplung;DC;DC", "", "Nr.;VCC;VREF", ";V;V", rows(";", index, comma(a), comma(b)), end="\r\n")
    axis = even(0, "2e-5")
    return b"\xff\xfe" + content.encode("utf-16-le"), read("German words before the samples: rate, declared count; UTF-16 with mark, decimal comma",
                         capture(channel("VCC", a, axis), channel("VREF", b, axis),
                                 notes=["the file declares 75 samples, 72 are there"],
                                 decisions={"encoding": "utf-16le", "decimal": "comma"}))


@fixture("layout-told.csv")
def layout_told():
    index, a, b = line(40, 0, 1), numbers(wave(40, 29, 0, 2500), 1), numbers(wave(40, 30, 0, 90), 1)
    content = text("n,x,y", rows(",", index, a, b))
    return content, read("names, units, interval and start told; one column left out",
                         capture(channel("OUT", a, even("-2e-6", "1e-7"), factor="1e-3")),
                         layout={"time": "none", "interval": "100 ns", "start": "-2 us", "column.1": "count",
                                 "column.3": "leave-out", "name.2": "OUT", "unit.2": "mV"})


LANGUAGES = {
    "french.csv": ("Temps (ms)", "Tension (V)", "Courant (mA)", ";", "utf-8"),
    "spanish.csv": ("Tiempo [ms]", "Tensión [V]", "Corriente [mA]", ";", "windows-1252"),
    "polish.csv": ("Czas [ms]", "Napięcie [V]", "Prąd [mA]", ";", "utf-8-sig"),
    "russian.csv": ("Время (мс)", "Напряжение (В)", "Ток (мА)", ";", "utf-8"),
    "chinese.csv": ("时间 (ms)", "电压 (V)", "电流 (mA)", ",", "utf-8"),
    "japanese.csv": ("時間[ms]", "電圧[V]", "電流[mA]", "\t", "utf-16-le"),
    "italian.csv": ("Tempo in ms", "Tensione in V", "Corrente in mA", ";", "utf-8"),
}


def language(names, separator, encoding, seed):
    time, a, b = line(50, -50, 5, 2), numbers(wave(50, seed, -500, 1500), 2), numbers(wave(50, seed + 1, 0, 999), 1)
    write = comma if separator == ";" else list
    content = text(separator.join(names), rows(separator, write(time), write(a), write(b))).encode(encoding)
    axis = even("-0.5e-3", "0.05e-3")
    bare = [name.split(" in ")[0].split("(")[0].split("[")[0].strip() for name in names]
    return content, read("names in another language, " + encoding,
                         capture(channel(bare[1], a, axis), channel(bare[2], b, axis, "A", "1e-3")))


for order, (file, (*words, mark, coding)) in enumerate(LANGUAGES.items()):
    fixture(file)(lambda w=words, m=mark, c=coding, s=40 + 2 * order: language(w, m, c, s))


@fixture("chinese-units.csv")
def chinese_units():
    time, a = line(30, 0, 1), numbers(wave(30, 60, 0, 500), 2)
    content = text("时间(毫秒),电压(伏)", rows(",", time, a))
    truth = read("unit words in Chinese", capture(channel("电压", a, even(0, "0.001"))))
    return content, dict(truth, may_ask=True)
