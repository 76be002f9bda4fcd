"""Start-up and timing vectors by small steps alone (Runge-Kutta of fourth order, Python's floats, no
package): the charge of VCC, the hold-up, ramps on RT/CT with and without a leak, the bulk under load.
No closed form of any of them is used here.

    python3 budget_vectors.py            writes budget_vectors.json next to this file
    python3 budget_vectors.py --check    compares with the committed file, exit 1 when it differs
"""

import json
import math
import pathlib
import sys

HERE = pathlib.Path(__file__).resolve().parent


def crossing(slope, begin, level, step, most=2_000_000):
    """Time at which dV/dt = slope(V) leads from begin to level, None when it never gets there."""
    v, t = begin, 0.0
    up = level > begin
    for _ in range(most):
        def rk(h, v=v):
            a = slope(v)
            b = slope(v + h * a / 2)
            c = slope(v + h * b / 2)
            d = slope(v + h * c)
            return v + h * (a + 2 * b + 2 * c + d) / 6

        nxt = rk(step)
        if (nxt >= level) if up else (nxt <= level):
            low, high = 0.0, step
            for _ in range(60):
                mid = (low + high) / 2
                reached = rk(mid) >= level if up else rk(mid) <= level
                low, high = (low, mid) if reached else (mid, high)
            return t + high
        if abs(nxt - v) < 1e-13 * max(abs(v), 1e-3) or (nxt > v) != up:
            return None
        v, t = nxt, t + step
    return None


def rest(slope, begin, step, most=400_000):
    """The level at which V comes to rest, 0 where it would fall below."""
    v = begin
    for _ in range(most):
        a = slope(v)
        b = slope(v + step * a / 2)
        c = slope(v + step * b / 2)
        d = slope(v + step * c)
        nxt = v + step * (a + 2 * b + 2 * c + d) / 6
        if nxt < 0.0:
            return 0.0
        if abs(nxt - v) < 1e-14 * max(abs(v), 1.0):
            break
        v = nxt
    return v


def tidy(value):
    return None if value is None else float(f"{value:.9g}")


def charge(bulk, r, c, i, leak, start):
    def slope(v):
        return ((bulk - v) / r - i - (v / leak if leak else 0.0)) / c

    tau = c / (1 / r + (1 / leak if leak else 0.0))
    first = c * start * r / bulk
    time = crossing(slope, 0.0, start, min(tau, first) / 4000, 400_000)
    return {"bulk": bulk, "r": r, "c": c, "i": i, "leak": leak, "start": start, "time_s": tidy(time),
            "final_v": tidy(rest(slope, 0.0, tau / 40))}


def charges():
    peak = math.sqrt(2.0) * 230.0 - 2.0
    out = [charge(peak, 164e3, 47e-6, 0.5e-3, None, 16.0)]
    for leak in (50e3, 20e3, 12e3, 11e3, 8e3):
        out.append(charge(peak, 164e3, 47e-6, 0.5e-3, leak, 16.0))
    for r in (300e3, 450e3, 600e3, 620e3):
        out.append(charge(peak, r, 47e-6, 0.5e-3, None, 16.0))
    # published circuit: 150 kOhm, 10 uF, 320 V
    out.append(charge(320.0, 150e3, 10e-6, 0.5e-3, None, 16.0))
    out.append(charge(320.0, 150e3, 10e-6, 1e-3, None, 16.0))
    # SLUS223G 9.2.2.9: 100 kOhm and 120 uF from the low line
    out.append(charge(120.0, 100e3, 120e-6, 0.0, None, 16.0))
    out.append(charge(120.0, 100e3, 120e-6, 0.5e-3, None, 16.0))
    # 251 V mains, 220 kOhm, 8.4 V class; 48 V DC
    out.append(charge(math.sqrt(2.0) * 251.0 - 2.0, 220e3, 22e-6, 0.5e-3, None, 8.4))
    out.append(charge(48.0, 22e3, 10e-6, 0.5e-3, None, 8.4))
    return out


def hold_up(bulk, r, c, run, start, stop, vref_c, vref_v=5.0):
    def slope(v):
        return ((bulk - v) / r - run) / c

    begin = start - vref_c * vref_v / c
    guess = c * (start - stop) / run
    return crossing(slope, begin, stop, guess / 4000) if begin > stop else 0.0


def smallest(bulk, r, run, start, stop, vref_c, until):
    """The capacitor that lasts just as long, by trial."""
    low, high = 1e-9, 1e-2
    for _ in range(60):
        mid = math.sqrt(low * high)
        lasts = hold_up(bulk, r, mid, run, start, stop, vref_c)
        low, high = (low, mid) if lasts is None or lasts >= until else (mid, high)
    return high


def hold_ups():
    peak = math.sqrt(2.0) * 230.0 - 2.0
    out = []
    for c, run, start, stop, vref_c, until in [
        (47e-6, 14.36327e-3, 16.0, 10.0, 0.0, 10e-3),
        (47e-6, 14.36327e-3, 16.0, 10.0, 1e-6, 4.819e-3),
        (8e-6, 14.36327e-3, 16.0, 10.0, 1e-6, 10e-3),
        (100e-6, 11e-3, 8.4, 7.6, 0.1e-6, 5e-3),
        (120e-6, 11e-3, 16.0, 10.0, 0.0, 10e-3),
    ]:
        out.append({"bulk": peak, "r": 164e3, "c": c, "run": run, "start": start, "stop": stop,
                    "vref_c": vref_c, "until": until,
                    "hold_s": tidy(hold_up(peak, 164e3, c, run, start, stop, vref_c)),
                    "smallest": tidy(smallest(peak, 164e3, run, start, stop, vref_c, until))})
    return out


def legs(rt, ct, sink, vref, peak, valley, leak=None):
    def slope(current):
        return lambda v: ((vref - v) / rt - current - (v / leak if leak else 0.0)) / ct

    tau = rt * ct
    rise = crossing(slope(0.0), valley, peak, tau / 4000)
    fall = crossing(slope(sink), peak, valley, ct * (peak - valley) / sink / 2000)
    return rise, fall


def ramps():
    out = []
    for rt, ct, sink, peak, valley, leak in [
        (10e3, 3.3e-9, 8.3e-3, 2.7, 1.0, None),
        (13e3, 1e-9, 8.3e-3, 2.7, 1.0, None),
        (1e3, 10e-9, 8.3e-3, 2.7, 1.0, None),
        (680.0, 22e-9, 8.3e-3, 2.7, 1.0, None),
        (15.4e3, 1e-9, 8.3e-3, 2.7, 1.0, None),
        (10e3, 3.3e-9, 8.4e-3, 2.5, 0.7, None),
        (10e3, 3.3e-9, 6e-3, 2.7, 1.0, None),
        (6.2e3, 1e-9, 8.3e-3, 2.8, 1.2, None),
        (13e3, 1e-9, 8.3e-3, 2.7, 1.0, 100e3),
        (13e3, 1e-9, 8.3e-3, 2.7, 1.0, 20e3),
    ]:
        rise, fall = legs(rt, ct, sink, 5.0, peak, valley, leak)
        out.append({"rt": rt, "ct": ct, "sink": sink, "vref": 5.0, "peak": peak, "valley": valley,
                    "leak": leak, "rise_s": tidy(rise), "fall_s": tidy(fall)})
    return out


def moved():
    out = []
    for part, rt, ct, sink, scale in [
        ("ct", 13e3, 0.7e-9, 8.3e-3, 1.0),
        ("ct", 13e3, 1.5e-9, 8.3e-3, 1.0),
        ("rt", 18e3, 1e-9, 8.3e-3, 1.0),
        ("rt", 9e3, 1e-9, 8.3e-3, 1.0),
        ("discharge-current", 13e3, 1e-9, 5.5e-3, 1.0),
        ("vref", 13e3, 1e-9, 8.3e-3, 0.85),
        ("nothing", 13.1e3, 1.03e-9, 8.5e-3, 1.0),
        ("open", 17e3, 1.3e-9, 8.3e-3, 1.0),
    ]:
        vref, peak, valley = 5.0 * scale, 2.7 * scale, 1.0 * scale
        rise, fall = legs(rt, ct, sink, vref, peak, valley)
        out.append({"marked_rt": 13e3, "marked_ct": 1e-9, "moved": part, "vref": vref, "peak": peak,
                    "valley": valley, "rise_s": tidy(rise), "fall_s": tidy(fall)})
    return out


def trough(peak, hertz, farads, watts, half_wave=False):
    """Lowest voltage of the bulk under constant power, full wave, steps of a microsecond: the capacitor
    follows the crest and runs down by itself."""
    step = 1e-6
    v, t, lowest = peak, 0.25 / hertz, peak
    end = t + 3.0 / hertz
    while t < end:
        t += step
        source = peak * math.sin(2 * math.pi * hertz * t)
        source = source if half_wave else abs(source)
        v = max(source, math.sqrt(max(v * v - 2 * watts * step / farads, 0.0)))
        lowest = min(lowest, v)
    return lowest


def bulks():
    out = []
    for peak, hertz, farads, watts in [
        (325.27, 50.0, 100e-6, 70.6), (325.27, 50.0, 42.77e-6, 70.6), (120.2, 47.0, 126e-6, 56.5),
        (120.2, 60.0, 33e-6, 18.75),
    ]:
        out.append({"peak": peak, "hertz": hertz, "farads": farads, "watts": watts,
                    "trough_v": float(f"{trough(peak, hertz, farads, watts):.5g}")})
    return out


def main():
    document = {
        "about": "charges, hold-ups, ramps and bulk troughs by small steps; written by budget_vectors.py",
        "bulks": bulks(), "charges": charges(), "hold_ups": hold_ups(), "moved": moved(), "ramps": ramps(),
    }
    text = json.dumps(document, indent=1, sort_keys=True) + "\n"
    target = HERE / "budget_vectors.json"
    if "--check" in sys.argv:
        same = target.read_text() == text
        print(f"{target.name} {'is as computed' if same else 'differs from what was just computed'}")
        return 0 if same else 1
    target.write_text(text)
    return 0


if __name__ == "__main__":
    sys.exit(main())
