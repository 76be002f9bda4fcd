"""VREF recorded through the scope input and on the range that VCC is recorded on, and read by a meter."""

import numpy as np

from coverage_scope import Accuracy, Channel, table

ROWS, STEP_S = 1500, 1e-3


class OneRange(Accuracy):
    """The errors of one input on one range: drawn once."""

    def __init__(self, rng, stated):
        super().__init__(stated.gain, stated.offset)
        self.errors = stated.draw(rng)

    def draw(self, rng):
        return self.errors


class Reference:
    """A record of a steady VREF and what the meter shows of it."""

    def __init__(self, rng, p, level_v, vcc, meter_gain):
        self.true = level_v
        self.shown = round(level_v * meter_gain + float(rng.uniform(-p["meter"].offset, p["meter"].offset)), 4)
        self.channel = Channel("vref", lambda t: np.full(len(t), level_v), vcc.span, vcc.accuracy, 8, vcc.noise_codes)
        self.codes, self.bottom = self.channel.record(rng, STEP_S * np.arange(ROWS))
        self.begin, self.end = 0.1, STEP_S * ROWS - 0.1

    def text(self):
        return table(STEP_S, ROWS, [self.channel], [self.codes], [self.bottom])

    def seen(self):
        index = slice(round(self.begin / STEP_S), round(self.end / STEP_S))
        return self.bottom + self.codes[index] * self.channel.code


def options(record):
    """Two files: VREF alone; the witness and, in its second column, VCC, that went through the same input."""
    p, reference = record.p, record.reference
    words = ["--setup", "injected", "--role", "1:1=vref", "--role", f"2:1={p['witness']}", "--role", "2:2=vcc",
             "--accuracy", f"1={p['accuracy'].text}", "--accuracy", f"2={p['accuracy'].text}", "--same-range", "1:1,2:2",
             "--set-to-meter", f"1:1@{reference.begin:.4f}..{reference.end:.4f}={reference.shown:.4f}"]
    for begin, end, _, shown in record.flats:
        words += ["--set-to-meter", f"2:2@{begin:.4f}..{end:.4f}={shown:.4f}"]
    return words + ["--meter", p["meter"].text]
