#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""names.py - the tests that docs/security.md names are there

Each `name_of_a_test` must be one that ctest knows, each row number one of the fault catalogue. Exit 1
and a line for each that is not.
"""
import os
import pathlib
import re
import subprocess
import sys

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
BUILD = pathlib.Path(os.environ["TL_BUILD_DIR"])


def rows_named(text):
    """The numbers of "rows 101, 102, 13 to 16" and "row 67"."""
    numbers = set()
    for part in re.findall(r"\brows? ((?:\d+(?: to \d+)?(?:, | and )?)+)", text):
        for low, high in re.findall(r"(\d+)(?: to (\d+))?", part):
            numbers |= set(range(int(low), int(high or low) + 1))
    return numbers


def missing(text, tests, rows):
    """What the text names and is not there."""
    names = set(re.findall(r"`([a-z]+(?:_[a-z]+)+)`", text))
    return sorted(names - tests) + ["row %d" % n for n in sorted(rows_named(text) - rows)]


def main():
    listed = subprocess.run(["ctest", "--test-dir", str(BUILD), "-N"], stdout=subprocess.PIPE,
                            text=True, check=True).stdout
    tests = set(re.findall(r"Test +#\d+: (\S+)", listed))
    rows = set()
    for path in (SOURCE / "tests" / "faults").glob("rows_*.py"):
        rows |= {int(n) for n in re.findall(r"^@row\((\d+)", path.read_text(), re.M)}
    assert missing("`no_such_test`, row 999", tests, rows) == ["no_such_test", "row 999"]
    assert len(tests) > 100 and len(rows) > 100
    text = (SOURCE / "docs" / "security.md").read_text()
    found = missing(text, tests, rows)
    for name in found:
        print("docs/security.md names %s, which is not there" % name)
    print("%d tests and %d rows are named" % (
        len(set(re.findall(r"`([a-z]+(?:_[a-z]+)+)`", text))), len(rows_named(text))))
    return 1 if found or not rows_named(text) else 0


if __name__ == "__main__":
    sys.exit(main())
