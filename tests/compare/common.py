"""Children with their wall time and peak memory, and the table that all comparisons print."""

import json
import os
import pathlib
import statistics
import subprocess
import sys
import tempfile
import time

import numpy as np

CACHE = pathlib.Path(os.environ.get("FIRSTPULSE_BENCH_DIR", tempfile.gettempdir())) / "firstpulse-bench"


def digits(values, out):
    """Writes integers 0 to 9 999 999 as `d.dddddd` into the eight columns of `out`."""
    rest = values.astype(np.int64)
    for place in (7, 6, 5, 4, 3, 2, 0):
        out[:, place] = rest % 10 + ord("0")
        rest //= 10
    out[:, 1] = ord(".")


def signals(first, count):
    """Four channels around a running controller, 1 to 9.999999 V, and the row numbers."""
    k = np.arange(first, first + count)
    rng = np.random.default_rng([7, first])
    phase = k * 0.0131 % 1.0
    vcc = 6.0 + 3.0 * np.abs((k / 2.5e6) % 2 - 1)
    vref = np.where(vcc > 7.0, 5.0, 1.1)
    ramp = 1.2 + 1.7 * phase
    out = np.where(phase < 0.48, vcc - 0.5, 1.05)
    noise = rng.normal(0.0, 0.02, (4, count))
    return k, [np.clip(np.round((v + n) * 1e6), 1_000_000, 9_999_999) for v, n in zip((vcc, vref, ramp, out), noise)]


def csv_file(rows):
    """A CSV of `rows` rows, 45 bytes each: time and four channels; kept for the next run."""
    CACHE.mkdir(parents=True, exist_ok=True)
    path = CACHE / f"table_{rows}.csv"
    head = b"Time (s),CH1 (V),CH2 (V),CH3 (V),CH4 (V)\n"
    if path.exists() and path.stat().st_size == len(head) + 45 * rows:
        return path
    step = 500_000
    with open(path, "wb") as file:
        file.write(head)
        for first in range(0, rows, step):
            count = min(step, rows - first)
            k, channels = signals(first, count)
            block = np.empty((count, 45), np.uint8)
            for column, values in enumerate([k, *channels]):
                digits(values, block[:, 9 * column : 9 * column + 8])
                block[:, 9 * column + 8] = ord("," if column < 4 else "\n")
            file.write(block.tobytes())
    return path


def child(command):
    """Runs a command: (wall seconds, peak resident bytes, standard output)."""
    read, write = os.pipe()
    begin = time.perf_counter()
    pid = os.posix_spawnp(command[0], command, os.environ, file_actions=[
        (os.POSIX_SPAWN_DUP2, write, 1), (os.POSIX_SPAWN_CLOSE, read)])
    os.close(write)
    with os.fdopen(read, "rb") as pipe:
        output = pipe.read()
    _, status, usage = os.wait4(pid, 0)
    wall = time.perf_counter() - begin
    if os.waitstatus_to_exitcode(status) not in (0, 1, 3):
        raise SystemExit(f"{command[:3]} ended with {os.waitstatus_to_exitcode(status)}")
    return wall, usage.ru_maxrss * 1024, output


def warm(path):
    """Brings the file into the page cache."""
    with open(path, "rb") as file:
        while file.read(1 << 24):
            pass


def machine():
    model = next((line.split(":")[1].strip() for line in open("/proc/cpuinfo", encoding="utf-8")
                  if line.startswith("model name")), "unknown")
    return f"{os.cpu_count()} × {model}, Python {sys.version.split()[0]}"


def versions(names):
    code = "import json,importlib.metadata as m,sys;print(json.dumps({n:m.version(n) for n in sys.argv[1:]}))"
    return json.loads(subprocess.check_output([sys.executable, "-c", code, *names]))


def spread(values, scale=1.0, digits_=2):
    median = statistics.median(values) * scale
    return f"{median:.{digits_}f} ({min(values) * scale:.{digits_}f}–{max(values) * scale:.{digits_}f})"
