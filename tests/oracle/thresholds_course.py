"""How a hand turns the bench supply: points (s, V) with straight lines between them."""

import math

import numpy as np


class Hand:
    def __init__(self, rng, p, volts, rate):
        self.rng, self.p, self.rate = rng, p, rate
        self.points = [(0.0, volts)]

    def hold(self, seconds):
        t, v = self.points[-1]
        self.points.append((t + seconds, v))
        return t, t + seconds

    def turn(self, volts):
        """To these volts in straight pieces, each at a rate of its own."""
        t, v = self.points[-1]
        while abs(volts - v) > 1e-9:
            by = min(float(self.rng.uniform(*self.p["piece"])), abs(volts - v))
            low, high = (math.log(x) for x in self.p["uneven"])
            t += by / (self.rate * math.exp(self.rng.uniform(low, high)))
            v = volts if by == abs(volts - v) else v + math.copysign(by, volts - v)
            self.points.append((t, v))

    def click(self, volts):
        """To beyond these volts in steps of about 0.1 V, about 0.2 s each."""
        up = volts > self.points[-1][1]
        while (self.points[-1][1] < volts) == up:
            self.hold(float(self.rng.uniform(0.16, 0.24)))
            t, v = self.points[-1]
            by = float(self.rng.uniform(0.09, 0.11)) * (1.0 if up else -1.0)
            self.points.append((t + float(self.rng.uniform(1e-3, 4e-3)), v + by))


def course(rng, p, thresholds, feed, sweeps):
    """The supply over a record, and its flat pieces that a multimeter is read at."""
    start, stop = thresholds
    low, high = (math.log(x) for x in p["rate"])
    span = start - stop
    ripple = p["peak"][1] if p["ripple"] else 0.0

    def below():  # the next sweep begins here: well below the stop
        return feed.running_v + stop - ripple - float(rng.uniform(0.3, 0.5)) * max(span, 2.0)

    def above():
        return feed.running_v + start + ripple + float(rng.uniform(0.2, 1.0)) * (1.0 if span > 2.0 else 0.4)

    first = [float(rng.uniform(0.3, 0.45)) * start, float(rng.uniform(0.78, 0.9)) * start]
    first = first[2 - p["points"]:]
    begin = feed.idle_v + (first[0] if first else float(rng.uniform(0.3, 0.7)) * stop)
    if p["steps"]:
        begin = feed.idle_v + start - float(rng.uniform(1.5, 2.5))
    hand = Hand(rng, p, begin, math.exp(rng.uniform(low, high)))
    flats = []
    for volts in first:
        hand.turn(feed.idle_v + volts)
        flats.append(hand.hold(float(rng.uniform(0.4, 0.6) if p["seconds"] else rng.uniform(0.6, 1.2))))
    move(hand, p, (start, feed.idle_v, ripple), below, above, sweeps)
    return squeezed(hand.points, flats, p["seconds"])


def move(hand, p, park, below, above, sweeps):
    rng, turn = hand.rng, hand.click if p["steps"] else hand.turn
    hand.hold(float(rng.uniform(0.05, 0.3)))
    if p["course"] == "parked":
        start, idle, ripple = park
        hand.turn(idle + start - ripple - float(rng.uniform(0.15, 0.8)))
        hand.hold(float(rng.uniform(0.5, 1.5)))
        hand.turn(below())
        return
    for _ in range(sweeps):
        turn(above())
        hand.hold(float(rng.uniform(0.1, 0.5)))
        if p["course"] == "no-stop":
            hand.turn(hand.points[-1][1] + 0.3)
            hand.hold(float(rng.uniform(0.5, 1.5)))
            return
        turn(below())
        hand.hold(float(rng.uniform(0.1, 0.3)))


def squeezed(points, flats, seconds):
    """All but the flat pieces faster, so that it takes so many seconds; as drawn where none are given."""
    if not seconds:
        return points, flats
    still = sum(b - a for a, b in flats)
    share = (seconds - still) / (points[-1][0] - still)

    def at(t):
        held = sum(min(max(t - a, 0.0), b - a) for a, b in flats)
        return held + share * (t - held)

    return [(at(t), v) for t, v in points], [(at(a), at(b)) for a, b in flats]


def rest(points, until):
    """The supply stays where it is to the end of the record."""
    points.append((points[-1][0] + 1e-3, points[-1][1]))
    points.append((max(until, points[-1][0]) + 1.0, points[-1][1]))
    return np.array(points)
