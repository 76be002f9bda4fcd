"""Waveforms in closed form around a current-mode controller, for the oracle of measured quantities.

Instants are true seconds, levels true volts. Nothing here knows a sample, a code or a program.
"""

import math

import numpy as np


class Step:
    """A transition from 0 to 1 that begins at 0 s and has ended, for all that counts, at `length`."""

    def __init__(self, kind, length, shape):
        self.kind, self.length, self.shape = kind, length, shape
        self.grid = np.linspace(0.0, length, 8001)
        self.curve = shape(self.grid)
        self.t10, self.t50, self.t90 = (self.first(level) for level in (0.1, 0.5, 0.9))

    def __call__(self, t):
        return np.where(t < 0.0, 0.0, np.where(t >= self.length, 1.0, self.shape(np.clip(t, 0.0, self.length))))

    def first(self, level):
        """Instant of the first crossing, by a straight line between dense points."""
        after = int(np.argmax(self.curve >= level))
        a, b = self.curve[after - 1], self.curve[after]
        return float(self.grid[after - 1] + (level - a) / (b - a) * (self.grid[1] - self.grid[0]))

    @property
    def duration(self):
        """From 10 to 90 % (IEEE 181 transition duration)."""
        return self.t90 - self.t10

    @property
    def overshoot(self):
        """Above the final state within three transition durations of it (IEEE 181), as a share."""
        seen = self.curve[self.grid <= self.t90 + 3.0 * self.duration]
        return max(0.0, float(seen.max()) - 1.0)


def straight(duration):
    """A straight transition of this duration from 10 to 90 %."""
    whole = duration / 0.8
    return Step("straight", whole, lambda t: t / whole)


def smooth(duration):
    """Half a wave of a cosine: arccos(0.8)/π of it lies below 10 %."""
    whole = duration / (1.0 - 2.0 * math.acos(0.8) / math.pi)
    return Step("smooth", whole, lambda t: 0.5 - 0.5 * np.cos(math.pi * t / whole))


def charging(duration):
    """One time constant: ln 9 of it from 10 to 90 %."""
    tau = duration / math.log(9.0)
    return Step("charging", 12.0 * tau, lambda t: -np.expm1(-t / tau))


def ringing(duration, damping):
    """Second order, under-damped; the peak stands exp(-π·ζ/√(1-ζ²)) above the final level."""
    root = math.sqrt(1.0 - damping**2)

    def shape(t, omega):
        phase = omega * root * t
        return 1.0 - np.exp(-damping * omega * t) * (np.cos(phase) + damping / root * np.sin(phase))

    unit = Step("ringing", 9.0 / damping, lambda t: shape(t, 1.0))
    omega = unit.duration / duration
    step = Step("ringing", 9.0 / damping / omega, lambda t: shape(t, omega))
    step.ring_s = 2.0 * math.pi / (omega * root)
    return step


class Clock:
    """Instants of an oscillator with jitter, from before the record to after it.

    `white`: every instant is off by its own error; periods then vary by √2 of it.
    `walk`: every period is off by its own error; instants wander off.
    """

    def __init__(self, rng, period, span, jitter=0.0, kind="white"):
        count = int(span / period) + 12
        ideal = (np.arange(count) - 5.0 - rng.random()) * period
        errors = rng.normal(0.0, 1.0, count) * jitter
        self.at = ideal + (errors if kind == "white" else np.cumsum(errors) - errors[0])
        self.period, self.jitter, self.kind = period, jitter, kind

    def every(self, divide):
        """Every `divide`-th instant."""
        return self.at[::divide]

    def phase(self, t):
        """Number of the cycle and how much of it has gone."""
        number = np.clip(np.searchsorted(self.at, t, side="right") - 1, 0, len(self.at) - 2)
        return number, (t - self.at[number]) / (self.at[number + 1] - self.at[number])

    def period_deviation(self, divide):
        """Standard deviation of single periods of `divide` cycles."""
        if self.kind == "white":
            return math.sqrt(2.0) * self.jitter
        return math.sqrt(divide) * self.jitter


class Train:
    """Pulses between two levels; `rises` and `falls` are the instants of their 50 % crossings."""

    def __init__(self, rises, falls, low, high, rise, fall):
        self.rises, self.falls, self.low, self.high, self.rise, self.fall = rises, falls, low, high, rise, fall

    def __call__(self, t):
        up = self.part(t, self.rises - self.rise.t50, self.rise)
        down = self.part(t, self.falls - self.fall.t50, self.fall)
        return self.low + (self.high - self.low) * (up - down)

    @staticmethod
    def part(t, begins, step):
        begun = np.searchsorted(begins, t, side="right")
        last = begins[np.maximum(begun - 1, 0)]
        return np.where(begun > 0, begun - 1 + step(t - last), 0.0)


class Ramp:
    """RT/CT: charged through RT from VREF, discharged by a constant current; levels hold, time stretches."""

    def __init__(self, clock, reference, target, valley, peak, tau):
        self.clock, self.reference, self.valley, self.peak, self.tau = clock, reference, valley, peak, tau
        self.target = target  # where the fall heads for
        self.rise_s, self.fall_s = ramp_times(reference, target, valley, peak, tau)

    def __call__(self, t):
        _, gone = self.clock.phase(t)
        seconds = gone * (self.rise_s + self.fall_s)
        up = self.reference - (self.reference - self.valley) * np.exp(-seconds / self.tau)
        down = self.target + (self.peak - self.target) * np.exp(-(seconds - self.rise_s) / self.tau)
        return np.where(seconds < self.rise_s, up, down)

    def slope_at_middle(self):
        return (self.reference - 0.5 * (self.valley + self.peak)) / self.tau


def ramp_times(reference, target, valley, peak, tau):
    rise = tau * math.log((reference - valley) / (reference - peak))
    fall = tau * math.log((peak - target) / (valley - target))
    return rise, fall


class Sense:
    """Current sense behind R and C: pedestal and slope while the switch conducts, a spike as it closes."""

    def __init__(self, rises, falls, pedestal, slope, filter_s, spike, spike_s):
        self.rises, self.falls, self.pedestal, self.slope = rises, falls, pedestal, slope
        self.tau, self.spike, self.spike_s = filter_s, spike, spike_s

    def within(self, s):
        """Level `s` seconds after the leading edge."""
        settled = -np.expm1(-s / self.tau)
        line = self.pedestal * settled + self.slope * (s - self.tau * settled)
        ratio = self.spike_s / (self.spike_s - self.tau)
        return line + self.spike * ratio * (np.exp(-s / self.spike_s) - np.exp(-s / self.tau))

    def __call__(self, t):
        number = np.clip(np.searchsorted(self.rises, t, side="right") - 1, 0, len(self.rises) - 1)
        gone = np.maximum(t - self.rises[number], 0.0)
        width = self.falls[number] - self.rises[number]
        after = self.within(width) * np.exp(-np.maximum(gone - width, 0.0) / self.tau)
        return np.where(gone < width, self.within(np.minimum(gone, width)), after)

    def line(self, width):
        """Straight line through the later half of a pulse: level at the leading edge, and slope."""
        s = np.linspace(0.5 * width, width, 2001)
        slope, level = np.polyfit(s, self.within(s), 1)
        return float(level), float(slope)


class Dips:
    """A rail that dips as each pulse begins and recovers with a time constant, on a slow ripple."""

    def __init__(self, mean, rises, dip, tau, ripple=0.0, ripple_hz=100.0, phase=0.0):
        self.mean, self.rises, self.dip, self.tau = mean, rises, dip, tau
        self.ripple, self.ripple_hz, self.phase = ripple, ripple_hz, phase

    def __call__(self, t):
        number = np.clip(np.searchsorted(self.rises, t, side="right") - 1, 0, len(self.rises) - 1)
        gone = np.maximum(t - self.rises[number], 0.0)
        slow = 0.5 * self.ripple * np.sin(2.0 * math.pi * self.ripple_hz * t + self.phase)
        return self.mean + slow - self.dip * np.exp(-gone / self.tau)


def crest(t, hertz, mean, height, conduction, phase):
    """Bulk ripple: a straight fall, then a rise over `conduction` of the cycle along half a cosine wave."""
    x = (t * hertz + phase) % 1.0
    fall = 1.0 - conduction
    down = 0.5 - x / fall
    up = -0.5 * np.cos(math.pi * (x - fall) / conduction)
    return mean + height * np.where(x < fall, down, up)
