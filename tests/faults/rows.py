# SPDX-License-Identifier: Apache-2.0
"""rows - gathers the rows of all files, plans runs of them and plays them in a worker."""

import importlib
import json
import os
import pathlib
import random
import subprocess
import sys
import time

import table
from rig import Rig

# Importing them registers their rows.
for path in sorted(pathlib.Path(__file__).parent.glob("rows_*.py")):
    importlib.import_module(path.stem)

# Runs of a row for --long; else MANY of a row of at most CHEAP_S, and two of the others.
LONG = {74: 150, 79: 200}
CHEAP_S = 10
MANY = 14


def times_of(arguments, entry):
    if arguments.times or not arguments.long:
        return arguments.times or 1
    return LONG.get(entry.number, MANY if entry.seconds <= CHEAP_S else 2)


def plan(arguments, numbers):
    """Jobs (row, seed) in an order that does not play one row after itself."""
    chosen = [r for n, r in sorted(table.ROWS.items())
              if (not numbers or n in numbers) and (not arguments.short or r.short)]
    jobs = [{"row": r.number, "seed": arguments.seed + turn} for r in chosen
            for turn in range(times_of(arguments, r))]
    random.Random(arguments.seed).shuffle(jobs)
    part, _, parts = arguments.part.partition("/")
    return jobs[int(part) - 1::int(parts)] if parts else jobs


def own_network():
    """In a namespace of its own the loopback device is down at first."""
    if os.geteuid() == 0:
        subprocess.run(["ip", "link", "set", "lo", "up"], check=False)


def work(order):
    """Play the jobs one after the other; write all results to order["out"]."""
    own_network()
    context = table.Context(Rig, order["jobs"][0]["seed"])
    results, skipped = [], []
    for job in order["jobs"]:
        entry = table.ROWS[job["row"]]
        if entry.root and os.geteuid() != 0:
            skipped.append(entry.number)
            continue
        begin = time.monotonic()
        for result in table.run_row(context, entry, job["seed"]):
            results.append(dict(vars(result), row=entry.number, seed=job["seed"]))
            for problem in result.problems:
                print("row %d seed %d: %s" % (entry.number, job["seed"], problem), flush=True)
        print("row %2d seed %d: %.1f s %s" % (entry.number, job["seed"], time.monotonic() - begin,
                                             entry.title), flush=True)
        if context.shared and time.monotonic() - context.born > 240:
            give_up(context)  # a new ship now and then: its record is looked at
    give_up(context)
    pathlib.Path(order["out"]).write_text(json.dumps({
        "results": results, "figures": context.figures, "problems": context.problems,
        "skipped": skipped}))
    return 0


def give_up(context):
    before = len(context.problems)
    try:
        context.drop()
    except Exception as error:
        context.problems.append("a ship did not end well: %s" % error)
    for problem in context.problems[before:]:
        print("history: " + problem, flush=True)
    sys.stdout.flush()
