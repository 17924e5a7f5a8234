#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""record_growth.py - what a record costs as it grows: size, restart, questions, verify

    record_growth.py [--passes 100,1000] [--json FILE]      longer: --passes 1000,10000,30000

Each record is made by record_maker with signed reports and keys of its own, in a folder that is
removed. Seconds are those of the processor (user and system) of whole programs, best of three (verify
and making: one), so that other work on the machine counts little; `ready` is by the clock, from the
start of the recorder to its line that it is ready. `recovery` is a question about the newest recovery
alone; `all` reads every pass, nan where the log refuses so many at once. Exit 0.
"""
import argparse
import json
import math
import os
import pathlib
import resource
import shutil
import subprocess
import tempfile
import time

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).parents[2]))
BUILD = pathlib.Path(os.environ.get("TL_BUILD_DIR", SOURCE / "build-release"))
TRAPLINE = BUILD / "clients" / "trapline"
RECORDER = BUILD / "broker" / "recorder" / "trapline-recorder"
MAKER = BUILD / "tests" / "bench" / "record_maker"
FIRST_S, RECOVERY_S, PASSES_A_RECOVERY = 1900000000, 4 * 3600, 12


def make_folder():
    folder = pathlib.Path(tempfile.mkdtemp(prefix="trapline-growth-"))
    for path in (SOURCE / "configs" / "demo").glob("*.yaml"):
        shutil.copy(path, folder)
    subprocess.run([TRAPLINE, "keys", "new", "-C", folder, "--all"], check=True,
                   stdout=subprocess.DEVNULL)
    return folder


def timed(words):
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    done = subprocess.run([str(w) for w in words], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          check=False)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    if b"more rows than can be read at once" in done.stderr:
        return math.nan, done.stdout  # asked for too much, and told so: no figure
    assert done.returncode == 0, (words, done.returncode, done.stderr)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime, done.stdout


def restart(folder):
    """From the start of the program to its line that it is ready: the file is open and read."""
    begin = time.monotonic()
    with subprocess.Popen([RECORDER, "-C", folder, "--node", "recorder-1"],
                          stdout=subprocess.PIPE) as process:
        line = process.stdout.readline()
        took = time.monotonic() - begin
        process.terminate()
    assert b"ready" in line, line
    return took


def utc(seconds):
    return time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(seconds))


def measure(passes):
    folder = make_folder()
    try:
        made, _ = timed([MAKER, "-C", folder, "--node", "recorder-1", passes])
        path = folder / "record" / "recorder-1.db"
        last = FIRST_S + (passes - 1) // PASSES_A_RECOVERY * RECOVERY_S
        log = [TRAPLINE, "log"]
        newest = ["--record", path, "--from", utc(last), "--to", utc(last + RECOVERY_S)]

        def best(*words):
            return min(timed(words)[0] for _ in range(3))

        _, out = timed([*log, "passes", "--json", *newest])
        count = len(json.loads(out)["passes"])
        assert count == (passes - 1) % PASSES_A_RECOVERY + 1, count
        verify, out = timed([*log, "verify", "--json", "-C", folder, "--record", path])
        assert json.loads(out)["whole"]
        return {"passes": passes, "bytes": path.stat().st_size,
                "bytes_a_pass": path.stat().st_size // passes, "make_s": made,
                "ready_s": min(restart(folder) for _ in range(3)),
                "recovery_s": best(*log, "passes", *newest),
                "all_s": best(*log, "passes", "--record", path, "--csv"), "verify_s": verify}
    finally:
        shutil.rmtree(folder)


def main():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--passes", default="100,1000")
    parser.add_argument("--json")
    words = parser.parse_args()
    print("%8s %12s %8s %8s %9s %10s %8s %9s" % ("passes", "bytes", "a pass", "made s", "ready s",
                                                 "recovery s", "all s", "verify s"))
    rows = []
    for passes in [int(word) for word in words.passes.split(",")]:
        row = measure(passes)
        rows.append(row)
        print("%8d %12d %8d %8.2f %9.3f %10.3f %8.2f %9.2f" % (
            row["passes"], row["bytes"], row["bytes_a_pass"], row["make_s"], row["ready_s"],
            row["recovery_s"], row["all_s"], row["verify_s"]), flush=True)
    if words.json:
        known = [{key: value for key, value in row.items() if value == value} for row in rows]
        pathlib.Path(words.json).write_text(json.dumps(known))  # JSON has no nan


if __name__ == "__main__":
    main()
