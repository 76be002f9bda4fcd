"""Records of extremes: of each interval the scope keeps only the lowest and the highest of its samples."""

import numpy as np

from coverage_scope import Channel, code_texts, time_texts

RAW = (10.0, 400.0)  # samples of an interval: between these in each record, as no file says how many
AT_ONCE = 4000  # intervals


def drawn_raw(rng):
    return round(float(np.exp(rng.uniform(*np.log(RAW)))))


class Paired(Channel):
    raw = None  # samples of an interval, one number for all channels of a record

    def record(self, rng, true_s):
        """Codes, lowest and highest of each interval in turn, and the level of code 0. The interval k
        begins at `true_s[k]`."""
        gain, offset = self.accuracy.draw(rng)
        low, high = self.span
        bottom = low - (self.code * 2**self.bits - (high - low)) * rng.uniform(0.35, 0.65)
        step_s = true_s[1] - true_s[0]
        ends = []
        for first in range(0, len(true_s), AT_ONCE):
            clean = waved(self.wave, instants(true_s[first:first + AT_ONCE], step_s, self.raw)) * gain + offset
            noisy = clean + rng.standard_normal(clean.shape) * (self.noise_codes * self.code)
            ends.append(np.stack([noisy.min(axis=1), noisy.max(axis=1)], axis=1).ravel())
        codes = np.round((np.concatenate(ends) - bottom) / self.code)
        return np.clip(codes, 0, 2**self.bits - 1).astype(int), bottom


def instants(begins_s, step_s, raw):
    return begins_s[:, None] + step_s / raw * np.arange(raw)


def waved(wave, at_s):
    return wave(at_s.ravel()).reshape(at_s.shape)


def table(record, way):
    """`rows`: each time twice. `columns`: two a channel, named for what they hold."""
    columns, head = [], ["Time (s)"]
    for number, (channel, (codes, bottom)) in enumerate(zip(record.channels, record.seen), 1):
        texts = code_texts(channel, codes, bottom)
        columns += [texts] if way == "rows" else [texts[0::2], texts[1::2]]
        head += [f"CH{number} (V)"] if way == "rows" else [f"CH{number} min (V)", f"CH{number} max (V)"]
    times = time_texts(record.step, record.count)
    if way == "rows":
        times = [text for text in times for _ in range(2)]
    return ",".join(head) + "\n" + "\n".join(map(",".join, zip(times, *columns))) + "\n"


def middles(seen, channel):
    """Volts half way between lowest and highest, and half of what lies between them."""
    codes, bottom = seen
    low, high = bottom + codes[0::2] * channel.code, bottom + codes[1::2] * channel.code
    return 0.5 * (low + high), 0.5 * (high - low)


def redrawn(rng, record, index, draws):
    """What the intervals would have shown, drawn anew: middles and halves, a row a draw."""
    channel = record.channels[0]
    clean = waved(record.sweep.vcc, instants(index * record.step_s, record.step_s, channel.raw))
    both = []
    for _ in range(draws):
        noisy = clean + rng.standard_normal(clean.shape) * (channel.noise_codes * channel.code)
        grid = rng.uniform(0.0, channel.code)
        low, high = (np.round((ends - grid) / channel.code) * channel.code + grid
                     for ends in (noisy.min(axis=1), noisy.max(axis=1)))
        both.append((0.5 * (low + high), 0.5 * (high - low)))
    return tuple(np.array(part) for part in zip(*both))
