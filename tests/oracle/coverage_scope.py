"""A scope: gain, offset and time-base errors within what is stated, noise, codes, a plain table."""

import functools

import numpy as np

TIME_BASE = 1e-4  # what the program assumes, ± of the interval


class Accuracy:
    """Stated for a channel: ± share of the reading, ± volts; `text` is for the command line."""

    def __init__(self, gain, offset):
        self.gain, self.offset = gain, offset
        self.text = f"{gain * 100:g}%+{offset * 1000:g}mV"

    def draw(self, rng):
        return 1.0 + rng.uniform(-self.gain, self.gain), rng.uniform(-self.offset, self.offset)


class Channel:
    """How one waveform is recorded."""

    def __init__(self, role, wave, span, accuracy, bits=8, noise=1.0, scale=1.0):
        self.role, self.wave, self.span, self.accuracy = role, wave, span, accuracy
        self.bits, self.noise_codes, self.scale = bits, noise, scale
        self.code = scale * 1.15 * (span[1] - span[0]) / 2**bits

    @property
    def noise_v(self):
        """Noise and rounding together."""
        return self.code * float(np.hypot(self.noise_codes, 12**-0.5))

    def record(self, rng, true_s):
        """Codes, and the level of code 0."""
        gain, offset = self.accuracy.draw(rng)
        low, high = self.span
        range_ = self.code * 2**self.bits
        room = range_ - (high - low)
        bottom = low - room * (rng.uniform(0.35, 0.65) if self.scale == 1.0 else rng.uniform(0.2, 0.8))
        seen = self.wave(true_s) * gain + offset + rng.normal(0.0, self.noise_codes * self.code, len(true_s))
        return np.clip(np.round((seen - bottom) / self.code), 0, 2**self.bits - 1).astype(int), bottom


@functools.lru_cache(maxsize=8)
def time_texts(step, count):
    return [f"{i * step:.11e}" for i in range(count)]


def code_texts(channel, codes, bottom):
    """Volts of codes as they are written."""
    decimals = max(0, 3 - int(np.floor(np.log10(channel.code))))
    low = int(codes.min())
    known = [f"{bottom + c * channel.code:.{decimals}f}" for c in range(low, int(codes.max()) + 1)]
    return [known[c - low] for c in codes.tolist()]


def table(step, count, columns, codes, bottoms):
    """The text of a record: its time, then one column a channel."""
    texts = [code_texts(*column) for column in zip(columns, codes, bottoms)]
    head = ",".join(["Time (s)", *(f"CH{n} (V)" for n in range(1, len(columns) + 1))])
    return head + "\n" + "\n".join(map(",".join, zip(time_texts(step, count), *texts))) + "\n"


def draw_time_base(rng):
    return float(rng.uniform(-TIME_BASE, TIME_BASE))
