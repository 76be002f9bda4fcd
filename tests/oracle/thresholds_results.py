"""Results kept in a file, a line each, so that a long run can be taken up again or made longer."""

import hashlib
import json
import pathlib


class Results:
    """What one binary said with one seed. A file that another binary or seed has written to is refused."""

    def __init__(self, path, binary, seed):
        self.path = pathlib.Path(path) if path else None
        self.of = {"binary": hashlib.sha256(pathlib.Path(binary).read_bytes()).hexdigest(), "seed": seed} if path else {}
        self.found = {}
        for line in self.path.read_text().splitlines() if path and self.path.exists() else []:
            entry = json.loads(line)
            if {key: entry[key] for key in self.of} != self.of:
                raise SystemExit(f"{path}: from another binary or seed; name another file")
            self.found.setdefault(entry["stratum"], {})[entry["number"]] = entry["result"]

    def done(self, stratum):
        """Results by number of record."""
        return self.found.get(stratum, {})

    def add(self, stratum, number, result):
        if self.path and "unknown" not in result:
            with self.path.open("a", encoding="utf-8") as file:
                file.write(json.dumps(self.of | {"stratum": stratum, "number": number, "result": result}, default=float) + "\n")
