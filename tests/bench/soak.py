#!/usr/bin/python3 -B
# SPDX-License-Identifier: Apache-2.0
"""soak.py - whether anything grows with the messages that have passed

    tests/bench/soak.py [--frames 1000000] [--words 20000] [--json FILE]

First a broker alone takes --frames frames as fast as it can, to one subscriber. Then a whole ship,
two buses, two validators, a recorder and 15 stations (crowd.c), in which the stations say --words words, 400
a second, with all that follows from them. The resident memory of each program is looked at all the
time. Exit 1 when one has more at the end than it had at most in the second quarter, by more than
SLACK_KIB (an arena of the C library more or less). From a release build (TL_BUILD_DIR, default
build-release); longer: --frames 10000000 --words 1000000.
"""
import argparse
import json
import pathlib
import shutil
import subprocess
import sys
import time

import crowd
import fleet
import relay
from ship import ALL_STATIONS, BROKER, Ship

SLACK_KIB = 256
WORDS_A_S = 400
LOOK_S = 0.2


class Memory:
    """What a program had over time."""

    def __init__(self, name, pid):
        self.name, self.pid, self.kib = name, pid, []

    def look(self):
        self.kib.append(fleet.used(self.pid)[1])

    def row(self):
        quarter = max(1, len(self.kib) // 4)
        early, late = max(self.kib[quarter:2 * quarter] or self.kib), max(self.kib[-quarter:])
        return {"name": self.name, "first": self.kib[0], "early": early, "late": late,
                "grown": late - early}


def broker_alone(frames):
    folder = relay.make_folder()
    words = ["-C", str(folder), "--bus", relay.BUS]
    try:
        with subprocess.Popen([str(relay.BROKER), *words], stdout=subprocess.PIPE,
                              text=True) as broker:
            assert "ready" in broker.stdout.readline()
            memory = Memory("broker, %d frames" % frames, broker.pid)
            load = subprocess.Popen([str(relay.LOAD), "rate", *words, "1", "1", str(frames)],
                                    stdout=subprocess.PIPE, text=True)
            while load.poll() is None:
                memory.look()
                time.sleep(LOOK_S)
            broker.kill()
        got = json.loads(load.stdout.read())
    finally:
        shutil.rmtree(folder)
    return [dict(memory.row(), messages=got["delivered"])]


def forwarded(page):
    return sum(float(line.rsplit(" ", 1)[1]) for line in page.read_text().splitlines()
               if line.startswith("trapline_messages_forwarded_total"))


def whole_ship(words):
    with Ship(full=True) as ship:
        for bus in ("bus-a", "bus-b"):
            ship.start(bus, BROKER, "-C", ship.dir, "--bus", bus, "--metrics",
                       ship.dir / (bus + ".prom")).wait_text("ready")
        ship.validators()
        ship.recorders()
        people = crowd.Crowd(ship, 1000000 // WORDS_A_S, max(4, words // WORDS_A_S), ALL_STATIONS)
        people.until("whole")
        memories = [Memory(name, pid) for name, pid in fleet.pids_of(ship).items()]
        memories.append(Memory("15 stations", people.process.pid))
        while people.thread.is_alive():
            for memory in memories:
                memory.look()
            time.sleep(LOOK_S)
        result = people.result()
        time.sleep(1.5)  # the page is written once a second
        messages = {bus: forwarded(ship.dir / (bus + ".prom")) for bus in ("bus-a", "bus-b")}
    return [dict(memory.row(), messages=max(messages.values())) for memory in memories], result


def main():
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("--frames", type=int, default=1000000)
    parser.add_argument("--words", type=int, default=20000)
    parser.add_argument("--json", default="")
    arguments = parser.parse_args()
    rows = broker_alone(arguments.frames)
    more, result = whole_ship(arguments.words)
    rows += more
    print("%-26s %10s %10s %12s %10s %8s" % (
        "KiB", "messages", "at first", "2nd quarter", "4th", "grown"))
    for row in rows:
        print("%-26s %10d %10d %12d %10d %8d" % (
            row["name"], row["messages"], row["first"], row["early"], row["late"], row["grown"]))
    print("words said %d, not said for want of room %d, times that a station was lost %d" % (
        result["said"], result["refused"], result["broken"]))
    if arguments.json:
        pathlib.Path(arguments.json).write_text(json.dumps({"rows": rows, "words": result}))
    grown = [row["name"] for row in rows if row["grown"] > SLACK_KIB]
    if grown:
        print("MEMORY GROWS: %s" % ", ".join(grown))
    return 1 if grown else 0


if __name__ == "__main__":
    sys.exit(main())
