"""A model of a supply with a 384x controller, for captures that the product has never seen.

Own design: VCC is a chain of closed pieces (linear node with a ramp as source), each ended by the
first crossing of a threshold, found on a grid and refined by bisection; the other pins are functions
of time and of the starts and stops. Truth is what these analogue functions did, before any scope.

Spread: start and stop thresholds, VREF and operating current lie within the limits of TI SLUS223G
(16/10 V parts 14.5-17.5 / 8.5-11.5 V; 8.4/7.6 V parts 7.8-9.0 / 7.0-8.2 V; VREF 4.9-5.1 V).
"""

import math
from dataclasses import dataclass, field

import numpy as np
from scipy.optimize import brentq


@dataclass
class Controller:
    """One specimen."""

    marking: str
    start_v: float
    stop_v: float
    typical_stop_v: float
    vref_v: float
    divide: int
    sink_a: float
    peak_v: float
    valley_v: float
    standby_a: float
    run_a: float
    out_drop_v: float
    out_low_v: float


def draw_controller(rng):
    digit = int(rng.integers(2, 6))
    grade = str(rng.choice(["", "A"]))
    wide = digit in (2, 4)
    if wide:
        start = rng.uniform(14.5, 17.5)
        stop = float(np.clip(start - rng.uniform(5.4, 6.6), 8.5, 11.5))
    else:
        start = rng.uniform(7.85, 9.0)
        stop = float(np.clip(start - rng.uniform(0.65, 0.95), 7.0, 8.2))
    valley = rng.uniform(0.95, 1.2)
    return Controller(
        marking=f"UC384{digit}{grade}",
        start_v=float(start), stop_v=stop, typical_stop_v=10.0 if wide else 7.6,
        vref_v=float(rng.uniform(4.9, 5.1)),
        divide=2 if digit in (4, 5) else 1,
        sink_a=float(rng.uniform(7.8e-3, 8.8e-3) if grade else rng.uniform(6e-3, 10e-3)),
        peak_v=float(valley + rng.uniform(1.62, 1.78)), valley_v=float(valley),
        standby_a=float(rng.uniform(0.3e-3, 0.5e-3) if grade else rng.uniform(0.4e-3, 0.9e-3)),
        run_a=float(rng.uniform(10e-3, 16e-3)),
        out_drop_v=float(rng.uniform(1.3, 1.9)), out_low_v=float(rng.uniform(0.02, 0.25)),
    )


@dataclass
class Piece:
    """VCC from `begin` to `end`, as a function of absolute time."""

    begin: float
    end: float
    volts: object


@dataclass
class History:
    """What VCC did, and when the controller started and stopped."""

    pieces: list = field(default_factory=list)
    starts: list = field(default_factory=list)
    stops: list = field(default_factory=list)
    ripple: object = None
    takeover_s: float = math.nan
    after_start_v: list = field(default_factory=list)

    def vcc(self, t):
        """VCC at times `t`; 0 before the first piece."""
        t = np.asarray(t, dtype=float)
        out = np.zeros_like(t)
        for piece in self.pieces:
            inside = (t >= piece.begin) & (t < piece.end)
            if inside.any():
                out[inside] = piece.volts(t[inside])
        return out + self.ripple(t, out) if self.ripple else out


def linear_node(begin, v0, a, b, g, c):
    """C·dV/dt = a + b·(t − begin) − g·V, with g above zero."""
    q = b / g
    p = (a - c * q) / g
    return lambda t: p + q * (t - begin) + (v0 - p) * np.exp(-(g / c) * (t - begin))


def first_crossing(gap, begin, end, step):
    """First time in (begin, end] at which `gap` is above zero, or None."""
    count = int(min(max((end - begin) / step, 200), 200_000))
    grid = np.concatenate([begin + (end - begin) * np.geomspace(1e-7, 5e-3, 60),
                           np.linspace(begin, end, count + 1)[1:]])
    grid.sort()
    values = gap(grid)
    above = np.flatnonzero(values > 1e-12)
    if not len(above):
        return None
    k = int(above[0])
    if k == 0 or values[k - 1] >= 0.0:
        return float(grid[k])
    return float(brentq(lambda x: float(gap(np.array([x]))[0]), grid[k - 1], grid[k], xtol=1e-12))


def injected(rng, controller, rates, duration_hint):
    """Bench supply through a diode and a resistor into VCC, turned up and down by hand."""
    c = controller
    capacitor = float(10 ** rng.uniform(math.log10(4.7e-6), math.log10(100e-6)))
    feed = float(rng.choice([10.0, 15.0, 22.0]))
    hysteresis = c.start_v - c.stop_v
    vref_capacitor = min(float(rng.choice([0.1e-6, 0.47e-6, 1e-6])), 0.2 * hysteresis * capacitor / 5.0)
    if feed * c.run_a > 0.35 * hysteresis:
        feed = 10.0
    bleed = float(rng.uniform(100e3, 470e3))
    knots = hand_turned(rng, c, rates, duration_hint)
    history = History()
    amplitude = float(rng.uniform(0.03, 0.15)) if rng.random() < 0.25 and hysteresis > 3.0 else 0.0
    if amplitude:
        phase = rng.uniform(0, 2 * math.pi)
        history.ripple = lambda t, v: amplitude * np.sin(628.3185 * t + phase) * np.clip(v / 3, 0, 1)
    simulate_injected(history, c, knots, capacitor, feed, bleed, vref_capacitor)
    return history, knots[-1][0], vref_capacitor, amplitude


def hand_turned(rng, c, rates, sweeps):
    """Source voltage against time: pauses, uneven rates, several times up and down."""
    low, high = max(c.stop_v - rng.uniform(1.5, 4.0), 2.0), c.start_v + 1.2 + rng.uniform(0.8, 2.5)
    knots = [(0.0, float(rng.uniform(0.0, 3.0))), (float(rng.uniform(0.3, 1.0)), None)]
    knots[1] = (knots[1][0], knots[0][1])
    ends_up = rng.random() < 0.12
    for index in range(sweeps):
        for target, last in ((high, False), (low, True)):
            if last and ends_up and index == sweeps - 1:
                break
            walk_to(rng, knots, target + rng.uniform(-0.3, 0.3), rates)
            knots.append((knots[-1][0] + float(rng.uniform(0.3, 1.2)), knots[-1][1]))
    return knots


def walk_to(rng, knots, target, rates):
    t, v = knots[-1]
    steady = rng.random() < 0.4
    rate = rng.uniform(*rates)
    while abs(target - v) > 0.05:
        part = abs(target - v) if steady else min(abs(target - v), rng.uniform(0.8, 4.0))
        if not steady:
            rate = rng.uniform(*rates)
        t += part / rate
        v += math.copysign(part, target - v)
        knots.append((float(t), float(v)))


def simulate_injected(history, c, knots, capacitor, feed, bleed, vref_capacitor):
    t, v, running, stretch = knots[0][0], max(knots[0][1] - 0.58, 0.0), False, 0
    conducts = True
    while stretch < len(knots) - 1:
        (t0, s0), (t1, s1) = knots[stretch], knots[stretch + 1]
        if t >= t1 - 1e-12:
            stretch += 1
            continue
        slope = (s1 - s0) / (t1 - t0)
        source = s0 + slope * (t - t0) - (0.72 if running else 0.58)
        g = 1 / bleed + (0.0 if running else c.standby_a / c.start_v)
        load = c.run_a if running else 0.0
        if conducts:
            volts = linear_node(t, v, source / feed - load, slope / feed, g + 1 / feed, capacitor)
        else:
            volts = linear_node(t, v, -load, 0.0, g, capacitor)
        t_, source_ = t, source

        def seen(x, volts=volts):
            mean = volts(x)
            return mean + history.ripple(x, mean) if history.ripple else mean

        def over(x, volts=volts):
            surplus = source_ + slope * (x - t_) - volts(x)
            return -surplus - 1e-9 if conducts else surplus - 1e-9

        limit = (lambda x: c.stop_v - seen(x)) if running else (lambda x: seen(x) - c.start_v)
        step = 2e-4 if history.ripple else 2e-3
        hits = [(first_crossing(limit, t, t1, step), "limit"), (first_crossing(over, t, t1, step), "diode")]
        hits = sorted((h for h in hits if h[0] is not None), key=lambda h: h[0])
        end, why = hits[0] if hits else (t1, "knot")
        history.pieces.append(Piece(t, end, volts))
        v = float(volts(np.array([end]))[0])
        t = end
        if why == "diode":
            conducts = not conducts
        elif why == "limit":
            running = not running
            conducts = True
            (history.starts if running else history.stops).append(end)
            if running:
                v -= vref_capacitor * c.vref_v / capacitor
                history.after_start_v.append(v)
    history.pieces[-1].end = math.inf


@dataclass
class Mains:
    """Start-up parts on mains."""

    bulk_v: float
    resistor: float
    capacitor: float
    vref_capacitor: float
    aux_v: float  # settled auxiliary voltage; 0: open
    power_w: float
    load_ohm: float
    output_capacitor: float


def draw_mains(rng, c):
    wide = c.start_v > 12.0
    fault = str(rng.choice(["none", "aux-open", "small-capacitor"]))
    capacitor = {"none": rng.uniform(47e-6, 120e-6), "aux-open": rng.uniform(15e-6, 60e-6),
                 "small-capacitor": rng.uniform(3e-6, 8e-6)}[fault]
    if not wide:
        capacitor *= 4.0
    hysteresis = c.start_v - c.stop_v
    vref_capacitor = min(float(rng.choice([0.1e-6, 0.47e-6, 1e-6])), 0.2 * hysteresis * capacitor / 5.0)
    settled = rng.uniform(12.5, 14.5) if wide else rng.uniform(9.2, 11.5)
    return Mains(
        bulk_v=float(rng.uniform(285, 350)), resistor=float(rng.uniform(100e3, 220e3)),
        capacitor=float(capacitor), vref_capacitor=vref_capacitor,
        aux_v=0.0 if fault == "aux-open" else float(max(settled, c.stop_v + 1.0)),
        power_w=float(rng.uniform(60, 100)), load_ohm=float(rng.uniform(9.6, 30.0)),
        output_capacitor=float(rng.uniform(1000e-6, 2200e-6)),
    ), fault


def mains_start(c, m, until_s, ripple=None):
    """Switched on at 0 s: climb, starts, bursts, and the take-over if there is one."""
    history = History(ripple=ripple)
    g = 1 / m.resistor
    low = linear_node(0.0, 0.0, m.bulk_v * g, 0.0, g + c.standby_a / 2.0, m.capacitor)
    knee = first_crossing(lambda x: low(x) - 2.0, 0.0, until_s, 1e-3)
    history.pieces.append(Piece(0.0, knee if knee else math.inf, low))
    t, v, energy = knee, 2.0, 0.0
    tau = m.load_ohm * m.output_capacitor / 2
    settled_energy = 0.5 * m.output_capacitor * 24.0**2
    ratio = (m.aux_v + 0.7) / 24.0
    while t is not None and t < until_s:
        climb = linear_node(t, v, m.bulk_v * g - c.standby_a, 0.0, g, m.capacitor)
        on = first_crossing(lambda x: climb(x) - c.start_v, t, until_s, 2e-3)
        history.pieces.append(Piece(t, on if on else math.inf, climb))
        if on is None:
            return history
        energy *= math.exp(-(on - t) / tau)
        history.starts.append(on)
        v = c.start_v - m.vref_capacitor * c.vref_v / m.capacitor
        history.after_start_v.append(v)
        burst = linear_node(on, v, m.bulk_v * g - c.run_a, 0.0, g, m.capacitor)
        end_energy = m.power_w * tau

        def stored(x, on=on, energy=energy):
            return np.minimum(end_energy + (energy - end_energy) * np.exp(-(x - on) / tau), settled_energy)

        def aux(x):
            return ratio * np.sqrt(2 * stored(x) / m.output_capacitor) - 0.7 if m.aux_v else 0 * x

        limit = on + 1.0
        off = first_crossing(lambda x: c.stop_v - burst(x), on, limit, 1e-4)
        over = first_crossing(lambda x: aux(x) - burst(x), on, limit, 1e-4)
        if over is not None and (off is None or over < off):
            history.takeover_s = over
            history.pieces += [Piece(on, over, burst), Piece(over, math.inf, aux)]
            return history
        history.pieces.append(Piece(on, off, burst))
        history.stops.append(off)
        energy = float(stored(np.array([off]))[0])
        t, v = off, c.stop_v
    return history


class Pins:
    """VREF, RT/CT, OUT and gate as functions of time, for given starts and stops."""

    def __init__(self, c, rt, ct, starts, stops, vref_capacitor, rng):
        self.c, self.tau = c, rt * ct
        self.rise_s = self.tau * math.log((c.vref_v - c.valley_v) / (c.vref_v - c.peak_v))
        end = c.vref_v - c.sink_a * rt
        self.fall_s = self.tau * math.log((c.peak_v - end) / (c.valley_v - end))
        self.end_v = end
        self.period_s = self.rise_s + self.fall_s
        self.first_s = self.tau * math.log(c.vref_v / (c.vref_v - c.peak_v))
        self.starts, self.stops = np.array(starts, float), np.array(list(stops) + [math.inf], float)
        self.vref_rise_s = vref_capacitor * c.vref_v / 50e-3
        self.vref_decay_s = max(vref_capacitor * 5e3, 1e-7)
        self.wander = float(rng.uniform(-3e-4, 3e-4))
        edge = min(self.period_s / 40, 120e-9)
        self.out_rise_s, self.out_fall_s = float(rng.uniform(0.3, 1) * edge), float(rng.uniform(0.3, 1) * edge)
        self.gate_tau_s = float(rng.uniform(0.03, 0.09) * min(self.period_s * 0.2, 2e-6))
        self.on_s = self.rise_s
        self.drift = False

    def regulate(self, on_s):
        """A shorter pulse than the ramp allows, as on mains."""
        self.on_s = min(on_s, self.rise_s)

    def since_start(self, t):
        """Time since the last start and whether it runs."""
        index = np.searchsorted(self.starts, t, side="right") - 1
        begin = np.where(index >= 0, self.starts[np.maximum(index, 0)] if len(self.starts) else 0.0, np.inf)
        end = self.stops[np.clip(index, 0, len(self.stops) - 1)]
        return np.where(index >= 0, t - begin, -1.0), (index >= 0) & (t < end), t - end

    def vref(self, t):
        age, runs, since_stop = self.since_start(t)
        level = self.c.vref_v * np.clip(age / max(self.vref_rise_s, 1e-9), 0.0, 1.0)
        fading = self.c.vref_v * np.exp(-np.clip(since_stop, 0.0, None) / self.vref_decay_s)
        return np.where(runs, level, np.where(age > 0.0, fading, 0.0))

    def cycles(self, t):
        """Phase in seconds from the last ramp peak, number of the cycle (-1: first rise), runs."""
        age, runs, _ = self.since_start(t)
        x = age - self.vref_rise_s - self.first_s
        if self.drift:
            x = x * (1.0 + self.wander * np.sin(t * 0.7))
        k = np.floor(x / self.period_s)
        return x - k * self.period_s, k, runs & (x > -self.first_s), x

    def ramp(self, t):
        c = self.c
        phase, k, runs, x = self.cycles(t)
        falling = self.end_v + (c.peak_v - self.end_v) * np.exp(-phase / self.tau)
        rising = c.vref_v - (c.vref_v - c.valley_v) * np.exp(-(phase - self.fall_s) / self.tau)
        first = c.vref_v * (1.0 - np.exp(-np.clip(x + self.first_s, 0, self.first_s) / self.tau))
        out = np.where(phase < self.fall_s, falling, rising)
        return np.where(runs, np.where(k < 0, first, out), 0.0)

    def share(self, t, rise, fall):
        """How far between low and high; `rise` and `fall` give it from the time since each edge."""
        phase, k, runs, _ = self.cycles(t)
        on = phase - self.fall_s
        active = (np.mod(k, self.c.divide) == 0) & (k >= 0)
        before = (np.mod(k - 1, self.c.divide) == 0) & (k >= 1)
        out = np.zeros_like(phase)
        out = np.where(before & (on < 0), fall(phase + self.rise_s - self.on_s), out)
        mine = active & (on >= 0)
        out = np.where(mine & (on <= self.on_s), rise(on), out)
        out = np.where(mine & (on > self.on_s), fall(on - self.on_s), out)
        return np.where(runs, out, 0.0)

    def out(self, t, vcc):
        share = self.share(t, lambda x: np.clip(x / self.out_rise_s, 0, 1),
                           lambda x: np.clip(1 - x / self.out_fall_s, 0, 1))
        return self.c.out_low_v + (vcc - self.c.out_drop_v - self.c.out_low_v) * share * (vcc > 3.0)

    def gate(self, t, vcc):
        share = self.share(t, lambda x: 1 - np.exp(-x / self.gate_tau_s), lambda x: np.exp(-x / self.gate_tau_s))
        return self.c.out_low_v + (vcc - self.c.out_drop_v - self.c.out_low_v) * share

    def out_duty(self):
        return (self.on_s + 0.5 * (self.out_fall_s - self.out_rise_s)) / (self.period_s * self.c.divide)

    def gate_duty(self):
        return self.on_s / (self.period_s * self.c.divide)
