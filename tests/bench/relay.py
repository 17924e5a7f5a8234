#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""relay.py - what the broker costs beside the plainest forwarder of the same library

    relay.py [--pairs 3] [--json FILE]         longer: --pairs 15

The same traffic (wire_load.c) goes in turn through zmq_proxy() with one frame a message, through
zmq_proxy() with topic and body as two, and through trapline-broker, with the same keys, sizes, buffers
and subscribers. Not more messages are on their way than the water marks hold, so none is lost. A
figure is the median of the ratios of runs beside each other, with the least and the greatest. Rates
are what all subscribers together received; delays are at 2,000 messages a second, and to the last of
200 subscribers, as an alert goes out, at 25. Exit 0.
"""
import argparse
import json
import operator
import os
import pathlib
import re
import shutil
import statistics
import subprocess
import sys
import tempfile

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).parents[2]))
BUILD = pathlib.Path(os.environ.setdefault("TL_BUILD_DIR", str(SOURCE / "build-release")))
sys.path.append(str(SOURCE / "tests" / "system"))  # it has a relay.py too
from ship import free_port  # noqa: E402
TRAPLINE = BUILD / "clients" / "trapline"
BROKER = BUILD / "broker" / "relay" / "trapline-broker"
LOAD = BUILD / "tests" / "bench" / "wire_load"
BUS = "bus-a"
# name, subscribers, messages, us between two of them
RATES = [("rate, 1 subscriber", 1, 200000, 0), ("rate, 20 subscribers", 20, 20000, 0),
         ("rate, 200 subscribers", 200, 2000, 0)]
DELAYS = [("delay, 1 subscriber", 1, 4000, 500), ("delay, 20 subscribers", 20, 2000, 500)]
LAST = [("to the last of 200", 200, 100, 40000)]


def make_folder():
    folder = pathlib.Path(tempfile.mkdtemp(prefix="trapline-bench-"))
    for path in (SOURCE / "configs" / "demo").glob("*.yaml"):
        shutil.copy(path, folder)
    path = folder / "bus.yaml"
    path.write_text(re.sub(r"127\.0\.0\.1:\d+", lambda _: "127.0.0.1:%d" % free_port(),
                           path.read_text()))
    subprocess.run([TRAPLINE, "keys", "new", "-C", folder, "--all"], check=True,
                   stdout=subprocess.DEVNULL)
    return folder


class Way:
    """A way for messages: what stands between, and as how many frames they go."""

    def __init__(self, words, frames):
        self.words, self.frames = words, frames

    def run(self, folder, kind, subscribers, messages, each_us):
        between = [str(word) for word in self.words] + ["-C", str(folder), "--bus", BUS]
        load = [str(LOAD), kind, "-C", str(folder), "--bus", BUS, str(self.frames),
                str(subscribers), str(messages)] + ([str(each_us)] if kind == "delay" else [])
        with subprocess.Popen(between, stdout=subprocess.PIPE, text=True) as process:
            try:
                assert "ready" in process.stdout.readline(), between
                done = subprocess.run(load, stdout=subprocess.PIPE, check=True, text=True)
            finally:
                process.kill()
        return json.loads(done.stdout)


WAYS = {"one frame": Way([LOAD, "forward"], 1), "two frames": Way([LOAD, "forward"], 2),
        "broker": Way([BROKER], 1)}


def rate_of(got):
    return got["delivered"] / got["seconds"]


MEASURED = [
    ("rate", "1/s", {"": rate_of}, RATES),
    ("delay", "us", {" p50": operator.itemgetter("p50_us"), " p99": operator.itemgetter("p99_us")},
     DELAYS),
    ("delay", "us", {" p50": operator.itemgetter("last_p50_us")}, LAST)]


def measure(folder, pairs):
    """[{name, unit, one frame, two frames, broker, ratios}], medians."""
    table = []
    for kind, unit, values, cases in MEASURED:
        for name, *load in cases:
            runs = [{way: WAYS[way].run(folder, kind, *load) for way in WAYS}
                    for _ in range(pairs)]
            table += [row_of(name + tail, unit, runs, value) for tail, value in values.items()]
    return table


def row_of(name, unit, runs, value):
    row = {"name": name, "unit": unit}
    for way in WAYS:
        row[way] = statistics.median(value(run[way]) for run in runs)
        lost = sum(run[way]["wanted"] - run[way]["delivered"] for run in runs)
        row["lost " + way] = lost / sum(run[way]["wanted"] for run in runs)
    for way in ("one frame", "two frames"):
        ratios = sorted(value(run["broker"]) / value(run[way]) for run in runs)
        row["to " + way] = [statistics.median(ratios), ratios[0], ratios[-1]]
    return row


def show(table):
    print("%-28s %10s %10s %10s   %-18s %-18s lost" % (
        "", "one frame", "two frames", "broker", "broker/one frame", "broker/two frames"))
    for row in table:
        print("%-28s %10.0f %10.0f %10.0f   %-18s %-18s %s" % (
            row["name"] + ", " + row["unit"], row["one frame"], row["two frames"], row["broker"],
            "%.2f (%.2f..%.2f)" % tuple(row["to one frame"]),
            "%.2f (%.2f..%.2f)" % tuple(row["to two frames"]),
            "/".join("%.1f" % (100 * row["lost " + way]) for way in WAYS) + " %"))


def main():
    parser = argparse.ArgumentParser(description=__doc__,
                                     formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--pairs", type=int, default=3)
    parser.add_argument("--json")
    words = parser.parse_args()
    folder = make_folder()
    try:
        table = measure(folder, words.pairs)
    finally:
        shutil.rmtree(folder)
    show(table)
    if words.json:
        pathlib.Path(words.json).write_text(json.dumps(table))


if __name__ == "__main__":
    main()
