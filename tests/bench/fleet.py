#!/usr/bin/python3 -B
# SPDX-License-Identifier: Apache-2.0
"""fleet.py - a whole ship of real programs: what each costs, and how soon all are back

    tests/bench/fleet.py [--seconds 20] [--times 5] [--json FILE]

The demo ship with everybody on it, two brokers, two validators, a recorder and a watch, is brought
to READY. Then, while nobody says anything: processor time of each program in ms a second, and its
memory. Then both brokers are killed and started
again, --times times: from their "ready" to the first picture in which every station is live (READY
itself waits 3 s more by rule). From a release build (TL_BUILD_DIR, default build-release). Exit 0.
"""
import argparse
import json
import os
import pathlib
import statistics
import sys
import time

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))
os.environ.setdefault("TL_SOURCE_DIR", str(SOURCE))
os.environ.setdefault("TL_BUILD_DIR", str(SOURCE / "build-release"))
sys.path.append(str(SOURCE / "tests" / "system"))  # it has a relay.py too

from ship import PATIENCE_S, Ship  # noqa: E402

TICKS_A_S = os.sysconf("SC_CLK_TCK")
KINDS = (("broker", "bus-"), ("validator", "validator-"), ("recorder", "recorder-"),
         ("watch", "watch"), ("crowd", "crowd"), ("station", ""))


def kind_of(name):
    return next(kind for kind, begin in KINDS if name.startswith(begin))


def used(pid):
    """(processor seconds, resident KiB) of a program."""
    proc = pathlib.Path("/proc/%d" % pid)
    fields = proc.joinpath("stat").read_text().rpartition(")")[2].split()
    rss = next(line for line in proc.joinpath("status").read_text().splitlines()
               if line.startswith("VmRSS"))
    return (int(fields[11]) + int(fields[12])) / TICKS_A_S, int(rss.split()[1])


def pids_of(ship):
    return {name: process.process.pid for name, process in ship.running.items()}


def at_rest(pids, seconds):
    """Of programs by name: {kind: (how many, ms a second each at most, on average, KiB at most)}"""
    begin = time.monotonic()
    before = {name: used(pid)[0] for name, pid in pids.items()}
    time.sleep(seconds)
    took = time.monotonic() - begin
    rows = {}
    for name, pid in pids.items():
        cpu_s, kib = used(pid)
        rows.setdefault(kind_of(name), []).append(((cpu_s - before[name]) * 1000 / took, kib))
    return {kind: (len(row), max(r[0] for r in row), statistics.mean(r[0] for r in row),
                   max(r[1] for r in row)) for kind, row in rows.items()}


def back_again(ship):
    """Seconds from the brokers' "ready" until every station is live again."""
    for name in ("bus-a", "bus-b"):
        ship.running.pop(name).kill()
    lost = time.monotonic()
    ship.until_show(3)
    ship.brokers()
    begin = time.monotonic()
    while True:
        picture = ship.show()[1]
        if picture and all(station["live"] for station in picture["stations"]):
            return time.monotonic() - begin
        assert time.monotonic() - lost < PATIENCE_S, picture


def main():
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--times", type=int, default=5)
    parser.add_argument("--json", default="")
    arguments = parser.parse_args()
    with Ship(full=True) as ship:
        ship.brokers()
        ship.validators()
        ship.recorders()
        ship.stations()
        ship.heard()
        ship.watch().wait_text("verdict")
        ship.open_recovery()
        ship.order(204, "plover", 34000)
        ship.until_show(0)
        rest = at_rest(pids_of(ship), arguments.seconds)
        back = [back_again(ship) for _ in range(arguments.times)]
    print("%-10s %7s %16s %16s %12s" % ("program", "number", "ms a s, average", "ms a s, most",
                                        "KiB, most"))
    for kind, (number, most, average, kib) in rest.items():
        print("%-10s %7d %16.1f %16.1f %12d" % (kind, number, average, most, kib))
    print("every station live again after both brokers: median %.2f s, most %.2f s, %d times" % (
        statistics.median(back), max(back), len(back)))
    if arguments.json:
        pathlib.Path(arguments.json).write_text(json.dumps(
            {"at rest": rest, "back": back}, indent=1))


if __name__ == "__main__":
    main()
