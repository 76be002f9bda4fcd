"""Checks for run.sh, with the system's Python only (no numpy): pictures through ImageMagick.

    check.py picture FILE          many colours, and not one flat area
    check.py differ FILE FILE      at least 0.02 % of the pixels changed
    check.py tree PID              names in the accessibility tree
    check.py report FILE           the terminal report holds what it must
"""

import re
import subprocess
import sys
import time
import warnings

warnings.filterwarnings("ignore", category=DeprecationWarning)
STAGE_WORDS = ("supply", "reference", "oscillator", "drive", "current sense", "own supply")
STATE_WORDS = ("working", "marginal", "dead", "not tested")


def magick(*arguments):
    done = subprocess.run(arguments, capture_output=True, text=True, check=False)
    return done.stdout.strip() or done.stderr.strip()


def picture(path):
    size = magick("identify", "-format", "%w %h", path)
    colours = int(magick("identify", "-format", "%k", path))
    spread = float(magick("convert", path, "-colorspace", "Gray", "-format", "%[fx:standard_deviation]", "info:"))
    # the biggest single colour may be the background, but not nearly everything
    histogram = magick("convert", path, "-format", "%c", "histogram:info:")
    counts = [int(m) for m in re.findall(r"^\s*(\d+):", histogram, re.M)]
    share = max(counts) / sum(counts)
    print(f"    {size}, {colours} colours, spread {spread:.3f}, largest colour {share:.1%}")
    return size == "1366 768" and colours > 200 and spread > 0.03 and share < 0.97


def differ(first, second):
    changed = float(magick("compare", "-metric", "AE", first, second, "null:").split()[0])
    print(f"    {changed:.0f} pixels changed")
    return changed > 0.0002 * 1366 * 768


def names_in_tree(pid):
    import gi

    gi.require_version("Atspi", "2.0")
    from gi.repository import Atspi

    Atspi.init()
    desktop = Atspi.get_desktop(0)
    found = []

    def walk(node, depth):
        if node is None or depth > 40 or len(found) > 5000:
            return
        for read in (node.get_name, node.get_description):
            try:
                text = read()
            except Exception:  # a node may vanish while it is read
                continue
            if text:
                found.append(text)
        try:
            text = node.get_text_iface()
            if text is not None:
                found.append(Atspi.Text.get_text(text, 0, Atspi.Text.get_character_count(text)))
        except Exception:
            pass
        try:
            count = node.get_child_count()
        except Exception:
            return
        for index in range(count):
            try:
                child = node.get_child_at_index(index)
            except Exception:
                continue
            walk(child, depth + 1)

    for index in range(desktop.get_child_count()):
        application = desktop.get_child_at_index(index)
        if application is not None and application.get_process_id() == pid:
            walk(application, 0)
    return found


def tree(pid):
    found = []
    for _ in range(10):
        found = names_in_tree(int(pid))
        if len(found) > 20:
            break
        time.sleep(1)
    text = "\n".join(found).lower()
    missing = [w for w in (*STAGE_WORDS, "vcc", "vref") if w not in text]
    state = any(w in text for w in STATE_WORDS)
    print(f"    {len(found)} names, missing: {missing or 'none'}, a state named: {state}")
    if missing:
        print("    first names:", found[:25])
    return bool(found) and not missing and state


def report(path):
    text = open(path, encoding="utf-8").read().lower()
    wanted = ("vcc", "vref", *STAGE_WORDS)
    missing = [w for w in wanted if w not in text and w.replace(" ", "-") not in text]
    number = re.search(r"\d+\.\d+\s*(±\s*\d+(\.\d+)?\s*)?v\b", text)
    print(f"    {len(text)} characters, missing: {missing or 'none'}, a voltage: {bool(number)}")
    return not missing and number is not None and any(w in text for w in STATE_WORDS)


def main():
    what, *rest = sys.argv[1:]
    return 0 if {"picture": picture, "differ": differ, "tree": tree, "report": report}[what](*rest) else 1


if __name__ == "__main__":
    sys.exit(main())
