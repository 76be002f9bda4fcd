"""Tables whose rows are the lowest and the highest value of an interval in turn, with one time or a time each."""

from fixture_shapes import extremes
from printed import capture, channel, even, fixture, line, numbers, paired, read, refused, rows, text, wave


@fixture("minmax-in-turn.csv")
def minmax_in_turn():
    a, b = extremes(460, 50, 2)[2], extremes(462, 50, 3)[2]
    content = text("Time (ms),VCC (V),OUT (V)", rows(",", line(100, 0, 5, 1), a, b))
    axis = paired(0, "0.001")
    return content, read("lowest and highest in turn, each with a time of its own, in two channels",
                         capture(channel("VCC", a, axis), channel("OUT", b, axis)), decisions={"rows-per-instant": "2"})


@fixture("in-turn-told.csv")
def in_turn_told():
    cells = extremes(464, 40, 2)[2]
    content = text("Time (ms),VCC (V)", rows(",", line(80, 0, 5, 1), cells))
    return content, read("one channel, told: two rows are an interval", capture(
        channel("VCC", cells, paired(0, "0.001"))), layout={"rows-per-instant": "2"})


@fixture("in-turn-told-one.csv")
def in_turn_told_one():
    cells = extremes(464, 40, 2)[2]
    content = text("Time (ms),VCC (V)", rows(",", line(80, 0, 5, 1), cells))
    return content, read("the same, told: each row is a sample", capture(
        channel("VCC", cells, even(0, "5e-4"))), layout={"rows-per-instant": "1"})


@fixture("in-turn-ask.csv")
def in_turn_ask():
    cells = extremes(464, 40, 2)[2]
    content = text("Time (ms),VCC (V)", rows(",", line(80, 0, 5, 1), cells))
    return content, refused("every second value the higher one, in one channel: extremes, or two samples a cycle?",
                            ["ask"], says="rows-per-instant=")


@fixture("in-turn-and-not.csv")
def in_turn_and_not():
    a, b = extremes(466, 50, 2)[2], numbers(wave(100, 468, -900, 900), 2)
    content = text("Time (ms),OUT (V),VCC (V)", rows(",", line(100, 0, 5, 1), a, b))
    axis = even(0, "5e-4")
    return content, read("two samples a cycle beside a channel that wanders",
                         capture(channel("OUT", a, axis), channel("VCC", b, axis)))


@fixture("minmax-either-order.csv")
def minmax_either_order():
    a, b = (numbers(wave(80, seed, -900, 900), 2) for seed in (470, 472))
    time = [t for one in line(40, 0, 4, 3) for t in (one, one)]
    content = text("Time (s),VCC (V),OUT (V)", rows(",", time, a, b))
    axis = paired(0, "0.004")
    return content, read("each time twice, written finer than it steps: extremes in the order in which they came",
                         capture(channel("VCC", a, axis), channel("OUT", b, axis)), decisions={"rows-per-instant": "2"})


@fixture("pairs-of-rounded-times.csv")
def pairs_of_rounded_times():
    cells = numbers(wave(80, 474, -900, 900), 2)
    time = [t for one in line(40, 0, 1, 3) for t in (one, one)]
    content = text("Time (s),VCC (V)", rows(",", time, cells))
    axis = dict(even("-0.00025", "0.0005", "0.001"), times=[float(t) for t in time])
    return content, read("times of samples, rounded to pairs", capture(channel("VCC", cells, axis)),
                         decisions={"rows-per-instant": "1"})
