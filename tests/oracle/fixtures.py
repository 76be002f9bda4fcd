"""Writes the fixtures of the table reader, each with its truth beside it.

    python3 fixtures.py tests/fixtures/csv

Each structure here was made up from what a table can be: no layout is that of any instrument or program.
Needs nothing but Python itself.
"""

import pathlib
import sys

import fixture_cells  # noqa: F401  each registers its fixtures
import fixture_headers  # noqa: F401
import fixture_refused  # noqa: F401
import fixture_shapes  # noqa: F401
import fixture_times  # noqa: F401
import fixture_turns  # noqa: F401
from printed import FIXTURES, write


def main():
    folder = pathlib.Path(sys.argv[1])
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in FIXTURES.items():
        content, truth = make()
        write(folder, name, content.encode() if isinstance(content, str) else content, truth)
    print(len(FIXTURES), "fixtures")


if __name__ == "__main__":
    main()
