"""The program on a folder of records."""

import json
import subprocess
from collections import Counter

TIMEOUT_S = 1800


def inspect(binary, folder, words):
    """What it says of each file, by name, and what went wrong."""
    command = ["nice", binary, "inspect", str(folder), "--json", *words]
    try:
        done = subprocess.run(command, capture_output=True, text=True, timeout=TIMEOUT_S, check=False)
    except subprocess.TimeoutExpired:
        return {}, [f"no answer within {TIMEOUT_S} s"]
    problems = []
    if done.returncode not in (0, 1, 3) or "panicked" in done.stderr:
        problems.append(f"exit code {done.returncode}: {done.stderr.strip()[:400]}")
    try:
        said = json.loads(done.stdout)
    except json.JSONDecodeError as error:
        return {}, [*problems, f"no JSON: {error}"]
    problems += [f"{e['file']}: {e['error'][:200]}" for e in said["errors"]]
    return {f["file"]: f for f in said["files"]}, problems


def measured(run):
    """Entries of a run by quantity; the first of each."""
    found = {}
    for entry in run["measured"]:
        found.setdefault(entry["quantity"], entry)
    return found


def reasons(texts, most=2):
    """The commonest, with figures left out so that like ones count together."""
    plain = Counter("".join("#" if c.isdigit() else c for c in text)[:90] for text in texts)
    return "; ".join(f"{count}× {text}" for text, count in plain.most_common(most))
