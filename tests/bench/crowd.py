#!/usr/bin/python3 -B
# SPDX-License-Identifier: Apache-2.0
"""crowd.py - from a report to its verdict, and how many screens a ship bears

    tests/bench/crowd.py [--pairs 5] [--seconds 20] [--nodes 15,32,64,96] [--json FILE]

The demo ship, two buses, two validators, a recorder. Its stations, and viewers beside them, are threads
of one process (crowd.c): all that a client does on the bus, without terminal and page.

First, in pairs: one hop through the plainest forwarder, and stations that say as many words a second
together: one that says 100, and 15 that say 500. A word is signed, relayed, verified, judged; its
receipt is signed, relayed and verified, after the verdict if there is one. Ratios are to the hop's
median and to its 99th of a hundred.

Then, for each number of nodes that beat: receipts of ten words a second, how old the oldest beat was
that a screen's picture stood on, the processor time of each program, and how soon every screen has
the full picture after both brokers were started anew. From a release build (TL_BUILD_DIR, default
build-release). Exit 0.
"""
import argparse
import json
import pathlib
import shutil
import statistics
import subprocess
import sys
import threading
import time

import fleet
import relay
from ship import ALL_STATIONS, Ship

CROWD = relay.BUILD / "tests" / "bench" / "crowd"
REPORTS = [(100, ["deck"]), (500, ALL_STATIONS)]  # a second, of whom
WORDS_A_S = 10
TIMES_BACK = 3


class Crowd:
    """One process of many clients, and what it prints."""

    def __init__(self, ship, say_us, seconds, nodes):
        self.process = subprocess.Popen(
            [str(CROWD), "-C", str(ship.dir), str(say_us), str(seconds), *nodes],
            stdout=subprocess.PIPE, text=True)
        self.told = []
        self.news = threading.Condition()
        self.thread = threading.Thread(target=self.read, daemon=True)
        self.thread.start()

    def read(self):
        for line in self.process.stdout:
            with self.news:
                self.told.append(json.loads(line))
                self.news.notify_all()
        with self.news:
            self.told.append(None)
            self.news.notify_all()

    def until(self, event, after=0, limit_s=60):
        """(seconds by the clock that only goes on, place after it)."""
        end = time.monotonic() + limit_s
        with self.news:
            while True:
                for place in range(after, len(self.told)):
                    line = self.told[place]
                    assert line is not None, "the crowd has ended"
                    if line.get("event") == event:
                        return line["at_ns"] / 1e9, place + 1
                assert self.news.wait(end - time.monotonic()), "no '%s' came" % event

    def result(self):
        self.thread.join()
        assert self.process.wait() == 0, "the crowd failed"
        return self.told[-2]

    def close(self):
        self.process.kill()
        self.process.wait()


def viewers(number):
    return ["viewer" if n == 1 else "viewer-%d" % n for n in range(1, number + 1)]


def with_viewers(number):
    """An edit of a ship's folder."""
    def edit(ship):
        path = ship.dir / "stations.yaml"
        node = "  - {id: viewer, kind: viewer}\n"
        path.write_text(path.read_text().replace(
            node, "".join(node.replace("viewer,", name + ",") for name in viewers(number))))
    return edit


def start_all(ship):
    ship.brokers()
    ship.validators()
    ship.recorders()


def hop(rate, seconds):
    folder = relay.make_folder()
    try:
        return relay.WAYS["one frame"].run(folder, "delay", 1, rate * seconds, 1000000 // rate)
    finally:
        shutil.rmtree(folder)


def reports(rate, stations, seconds):
    with Ship(full=True) as ship:
        start_all(ship)
        return Crowd(ship, 1000000 // rate, seconds, stations).result()


def ratio_text(rows, key, place, of_hop):
    ratios = sorted(row[1][key][place] / row[0][of_hop] for row in rows)
    return "%.1f (%.1f..%.1f)" % (statistics.median(ratios), ratios[0], ratios[-1])


def measure_reports(rate, stations, pairs, seconds):
    rows = [(hop(rate, seconds), reports(rate, stations, seconds)) for _ in range(pairs)]
    print("%-28s %11s %9s %9s   %-20s %s" % (
        "%d a second of %d, us" % (rate, len(stations)), "p50", "p99", "most",
        "p50 / p50 of one hop", "p99 / p99"))
    print("%-28s %11.0f %9.0f" % ("one hop, plain forwarder", *[
        statistics.median(row[0][key] for row in rows) for key in ("p50_us", "p99_us")]))
    for name, key in (("receipt of one validator", "first"), ("receipt of both", "both"),
                      ("mark of the recorder", "recorded")):
        print("%-28s %11.0f %9.0f %9.0f   %-20s %s" % (
            name, *[statistics.median(row[1][key][place] for row in rows) for place in (1, 2, 3)],
            ratio_text(rows, key, 1, "p50_us"), ratio_text(rows, key, 2, "p99_us")))
    said = [(row[1]["said"], row[1]["refused"], row[1]["broken"]) for row in rows]
    print("said, not said for want of room, times that a station was lost: %s" % said)
    return rows


def back_again(ship, crowd, place):
    _, place = crowd.until("whole", place)
    for name in ("bus-a", "bus-b"):
        ship.running.pop(name).kill()
    _, place = crowd.until("broken", place)
    ship.brokers()
    begin = time.monotonic()
    at, place = crowd.until("whole", place)
    return at - begin, place - 1


def measure_nodes(number, seconds):
    more = max(0, number - len(ALL_STATIONS))
    names = ALL_STATIONS + viewers(more)
    with Ship(full=True, edit=with_viewers(max(1, more))) as ship:
        start_all(ship)
        crowd = Crowd(ship, 1000000 // WORDS_A_S, seconds, names)
        begin = time.monotonic()
        whole, _ = crowd.until("whole")
        row = {"nodes": len(names), "whole after s": whole - begin,
               "costs": fleet.at_rest(dict(fleet.pids_of(ship), crowd=crowd.process.pid),
                                      seconds - 1)}
        row.update(crowd.result())
        crowd = Crowd(ship, 0, 3600, names)
        place = 0
        row["back"] = []
        for _ in range(TIMES_BACK):
            took, place = back_again(ship, crowd, place)
            row["back"].append(took)
        crowd.close()
    return row


def show_nodes(rows):
    print("%5s %6s %17s %17s %8s %18s %27s %6s" % (
        "nodes", "lost", "receipt of both", "stands on, ms", "back, s", "of a node", "broker",
        "whole"))
    print("%5s %6s %8s %8s %8s %8s %8s %9s %8s %9s %8s %8s" % (
        "", "", "p50, ms", "p99, ms", "p99", "most", "most", "ms a s", "KiB", "ms a s",
        "valid'r", "KiB"))
    for row in rows:
        costs = row["costs"]
        (_, crowd_ms, _, crowd_kib) = costs["crowd"]
        (_, broker_ms, _, broker_kib) = costs["broker"]
        print("%5d %6d %8.1f %8.1f %8d %8d %8.2f %9.1f %8.0f %9.1f %8.1f %8d" % (
            row["nodes"], row["broken"], row["both"][1] / 1e3, row["both"][2] / 1e3,
            row["stands_on_ms"][2], row["stands_on_ms"][3], max(row["back"]),
            crowd_ms / row["nodes"], crowd_kib / row["nodes"], broker_ms, costs["validator"][1],
            broker_kib))


def main():
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("--pairs", type=int, default=5)
    parser.add_argument("--seconds", type=int, default=20)
    parser.add_argument("--nodes", default="15,32,64,96")
    parser.add_argument("--json", default="")
    words = parser.parse_args()
    pairs = [measure_reports(rate, stations, words.pairs, min(words.seconds, 10))
             for rate, stations in REPORTS]
    rows = []
    for number in [int(n) for n in words.nodes.split(",") if n]:
        rows.append(measure_nodes(number, words.seconds))
    show_nodes(rows)
    if words.json:
        pathlib.Path(words.json).write_text(json.dumps({"reports": pairs, "nodes": rows}, indent=1))
    return 0


if __name__ == "__main__":
    sys.exit(main())
