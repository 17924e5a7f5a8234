#!/usr/bin/python3 -B
# SPDX-License-Identifier: Apache-2.0
"""counts - instructions of one call of what is called most, beside those that were kept

  tests/bench/counts.py            compare with counts.txt; one in a hundred more fails
  tests/bench/counts.py --write    keep these

Counted by callgrind in bench_judge on the small ship, with the plainest functions of the C library,
so that neither the load nor the processor of the machine matters. Of the build of tests/run (debug):
what a change adds in work is seen there too, and no other build is needed. Fewer passes, and is said.
Exit status: 0 not more, 1 more or not counted, 2 usage.
"""

import os
import pathlib
import re
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
BUILD = pathlib.Path(os.environ.get("TL_BUILD_DIR", HERE.parents[1] / "build"))
KEPT = HERE / "counts.txt"
ROUNDS = 20
# function of bench_judge -> (what it is, calls of it: rounds, kinds of message, batch of bench_judge.c)
COUNTED = {"read_frame": ("read a message", ROUNDS * 4 * 10),
           "judge_beat": ("judge a beat", ROUNDS), "judge_change": ("judge a change", ROUNDS)}
MORE_IN = 100
PLAIN = "glibc.cpu.hwcaps=-AVX2,-AVX512F,-AVX512VL,-AVX,-ERMS,-FSRM,-SSE4_2,-SSSE3,-BMI2"
HEADER = """# Instructions of one call, debug build of Debian 12's gcc. Written by tests/bench/counts.py --write
"""


def count():
    """{what: instructions of one call}"""
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder) / "out"
        program = BUILD / "tests" / "bench" / "bench_judge"
        subprocess.run(
            ["valgrind", "--tool=callgrind", "--callgrind-out-file=%s" % out, "--collect-atstart=no",
             *["--toggle-collect=%s" % name for name in COUNTED], str(program), str(ROUNDS), " a ",
             "small"],
            check=True, env=dict(os.environ, GLIBC_TUNABLES=PLAIN), stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE)
        table = subprocess.run(
            ["callgrind_annotate", "--inclusive=yes", "--threshold=100", "--show-percs=no",
             "--auto=no", str(out)],
            check=True, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True).stdout
    counted = {}
    for name, (what, calls) in COUNTED.items():
        found = re.search(r"^ *([\d,]+) .*:%s(?: \[|$)" % name, table, re.MULTILINE)
        if found:
            counted[what] = int(found[1].replace(",", "")) // calls
    return counted


def kept():
    rows = [line.rsplit(None, 1) for line in KEPT.read_text().splitlines()
            if line and not line.startswith("#")]
    return {what: int(number) for what, number in rows}


def main(words):
    if words not in ([], ["--write"]):
        print(__doc__, file=sys.stderr)
        return 2
    try:
        now = count()
    except (OSError, subprocess.CalledProcessError) as error:
        print("counts: not counted: %s" % error)
        return 1
    if words:
        KEPT.write_text(HEADER + "".join("%s %d\n" % row for row in now.items()))
    before, bad = kept(), 0
    for what, _ in COUNTED.values():
        if what not in now or what not in before:
            print("%-16s not counted, or not kept" % what)
            bad += 1
            continue
        more = now[what] - before[what]
        bad += more * MORE_IN > before[what]
        print("%-16s %9d kept %9d now  %+.1f %%" % (what, before[what], now[what],
                                                   100 * more / before[what]))
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
