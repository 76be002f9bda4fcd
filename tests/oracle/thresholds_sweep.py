"""VCC behind a feed resistance while a hand turns the bench supply, and the comparator on it: closed forms.

The supply is straight between points. Behind resistance R and diode the VCC capacitor C follows with
R·C; the drop is small while the controller idles and larger while it runs. The comparator sees ripple
too: it starts when VCC with its ripple first reaches the start threshold, and stops when that first
reaches the stop threshold.
"""

import math
from dataclasses import dataclass

import numpy as np


@dataclass
class Feed:
    idle_v: float
    running_v: float
    tau_s: float

    def drop(self, running):
        return self.running_v if running else self.idle_v


@dataclass
class Ripple:
    """A sine on VCC; one of its own making is there only while the controller runs."""

    peak_v: float = 0.0
    hertz: float = 100.0
    phase: float = 0.0
    own: bool = False

    def peak(self, running):
        return self.peak_v if running or not self.own else 0.0

    def at(self, t, running):
        return np.where(running | (not self.own), self.peak_v * np.sin(2.0 * math.pi * self.hertz * t + self.phase), 0.0)


@dataclass
class Event:
    start: bool
    at_s: float
    mean_v: float
    threshold_v: float
    slope: float
    straight_from_s: float


@dataclass
class Piece:
    """VCC without ripple from begin_s on, while the supply is straight and the state holds."""

    begin_s: float
    settled_v: float  # what a slow VCC would be at begin_s
    slope: float
    off_v: float  # by how much it is off at begin_s
    tau_s: float
    running: bool

    def __call__(self, t):
        after = np.asarray(t) - self.begin_s
        return self.settled_v + self.slope * after + self.off_v * np.exp(-after / self.tau_s)


def reached(piece, end_s, ripple, level):
    """First instant up to end_s at which VCC with ripple is at the level or beyond it, else None."""
    sign = -1.0 if piece.running else 1.0
    peak = ripple.peak(piece.running)

    def beyond(t):
        return sign * (piece(t) - level) + peak  # at the tip of the ripple

    def seen(t):
        return sign * (piece(t) + ripple.at(t, piece.running) - level)

    begin = piece.begin_s
    quick = begin + piece.tau_s * np.linspace(0.0, 12.0, 121)
    grid = np.unique(np.concatenate([quick[quick < end_s], np.linspace(begin, end_s, 201)]))
    hit = np.flatnonzero(beyond(grid) >= 0.0)
    if not len(hit):
        return None
    near = begin if hit[0] == 0 else halved(beyond, grid[hit[0] - 1], grid[hit[0]])
    if peak == 0.0:
        return near
    window = 1.05 / ripple.hertz
    while near < end_s:
        dense = np.linspace(near, min(near + window, end_s), 2001)
        hit = np.flatnonzero(seen(dense) >= 0.0)
        if len(hit):
            return dense[0] if hit[0] == 0 else halved(seen, dense[hit[0] - 1], dense[hit[0]])
        near = dense[-1]
    return None


def halved(f, low, high):
    for _ in range(60):
        middle = 0.5 * (low + high)
        low, high = (low, middle) if f(middle) >= 0.0 else (middle, high)
    return high


class Sweep:
    """The pieces and events that follow from the points (s, V) of the supply."""

    def __init__(self, points, feed, ripple, starts, stops):
        self.points, self.feed, self.ripple = points, feed, ripple
        self.starts, self.stops = starts, stops
        self.pieces, self.events = [], []
        running, v = False, points[0][1] - feed.drop(False)
        for (a_s, a_v), (b_s, b_v) in zip(points, points[1:]):
            slope, t = (b_v - a_v) / (b_s - a_s), a_s
            while t < b_s:
                settled = a_v + slope * (t - a_s) - feed.drop(running) - slope * feed.tau_s
                piece = Piece(t, settled, slope, v - settled, feed.tau_s, running)
                at = reached(piece, b_s, ripple, self.threshold(running))
                self.pieces.append(piece)
                if at is not None:
                    straight = max(a_s, self.events[-1].at_s if self.events else a_s)
                    self.events.append(Event(not running, at, float(piece(at)), self.threshold(running), slope, straight))
                    running = not running
                t = b_s if at is None else max(at, t + 1e-9)
                v = float(piece(t))
        self.begins = np.array([p.begin_s for p in self.pieces])

    def threshold(self, running):
        """The one that ends the state; the last holds for further events."""
        done = sum(e.start != running for e in self.events)
        of_kind = self.stops if running else self.starts
        return of_kind[min(done, len(of_kind) - 1)]

    def of(self, start):
        return [e for e in self.events if e.start == start]

    def mean(self, t):
        """VCC without its ripple, and whether the controller runs."""
        t = np.asarray(t, dtype=float)
        if t.ndim != 1 or np.any(t[1:] < t[:-1]):
            order = np.argsort(t, axis=None)
            volts, running = (np.empty(t.size) for _ in range(2))
            volts[order], running[order] = self.mean(t.ravel()[order])
            return volts.reshape(t.shape), running.reshape(t.shape) > 0.5
        volts, running = np.empty(len(t)), np.empty(len(t), dtype=bool)
        firsts = [0, *np.searchsorted(t, self.begins[1:]), len(t)]
        for piece, first, end in zip(self.pieces, firsts, firsts[1:]):
            volts[first:end], running[first:end] = piece(t[first:end]), piece.running
        return volts, running

    def vcc(self, t):
        mean, running = self.mean(t)
        return mean + self.ripple.at(np.asarray(t), running)
