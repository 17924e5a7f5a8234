# SPDX-License-Identifier: Apache-2.0
"""table - the rows of the fault catalogue: one function a row, one Result a fault that was made.

A row is registered by @row. Its function gets a Context and a random generator of its own seed and
gives Results, one for each fault that it made; what must not be is in `problems` and fails the run.
A row that cannot be tried by programs says why: absent(number, title, why).
"""

import collections
import random
import threading
import time
import traceback

STALL_S = 0.12  # what a deadline of 1.0 s cannot bear of the machine itself

Row = collections.namedtuple("Row", "number title defence function seconds short root alone")
ROWS = {}
ABSENT = {}


class Result:
    """What came of one fault."""

    def __init__(self, what):
        self.what = what
        self.times = []       # s from the fault to NOT READY, one for each live screen
        self.reported = []    # the same of a fault that somebody said by a key
        self.back = None      # s from its end to READY on every screen
        self.named = [0, 0]   # screens that named a right cause, screens that were asked
        self.lost = 0         # acknowledged changes that are gone
        self.unsafe = 0       # READY on a screen where it must not be
        self.counts = collections.Counter()  # figures of the row: tried, refused, ...
        self.problems = []

    def must(self, holds, words):
        if not holds:
            self.problems.append(words)
        return holds


def row(number, title, defence, seconds=10, short=False, root=False, alone=False):
    """Register a row: its number in the catalogue, what goes wrong, what must hold against it;
    about how long one run of it takes, whether the short set has it, whether it needs root, and
    whether it takes so much of the machine that no other ship may play beside it."""
    def register(function):
        assert number not in ROWS, number
        ROWS[number] = Row(number, title, defence, function, seconds, short, root, alone)
        return function
    return register


def absent(number, title, why):
    ABSENT[number] = (title, why)


class Context:
    """What rows share: a ship that is READY, made anew when a row has left it otherwise."""

    def __init__(self, make_rig, seed):
        self.make_rig = make_rig
        self.seed = seed
        self.shared = None
        self.pulse = Pulse()
        self.born = 0.0
        self.figures = collections.Counter()
        self.problems = []

    def rig(self, make=None):
        """The shared ship, READY; `make`: a kind of its own, when there is none."""
        if self.shared is None:
            self.shared = (make or self.make_rig)(self.seed)
            self.born = time.monotonic()
            try:
                self.shared.start_all()
            except BaseException:
                self.drop()
                raise
        return self.shared

    def drop(self):
        """Close the shared ship; what it did goes into the figures and problems."""
        rig, self.shared = self.shared, None
        if rig is None:
            return
        try:
            figures, problems = rig.reckon()
            self.figures.update(figures)
            self.figures["ships"] += 1
            self.problems += problems
        finally:
            rig.close()


class Pulse:
    """Whether the machine itself stood still: a thread that sleeps 5 ms and looks at the clock.

    What is measured beside a machine that gives nobody the processor says nothing of the programs.
    """

    def __init__(self):
        self.worst = 0.0
        threading.Thread(target=self.beat, daemon=True).start()

    def beat(self):
        before = time.monotonic()
        while True:
            time.sleep(0.005)
            now = time.monotonic()
            self.worst = max(self.worst, now - before - 0.005)
            before = now

    def take(self):
        worst, self.worst = self.worst, 0.0
        return worst


def run_row(context, entry, seed):
    """The Results of one run of a row. A run that failed while the machine stood still is void: it
    is made once more, and counted."""
    context.pulse.take()
    results = try_row(context, entry, seed)
    stood_s = context.pulse.take()
    if stood_s > STALL_S and any(result.problems for result in results):
        context.figures["void runs"] += 1
        print("row %d seed %d: void, the machine stood still for %.0f ms: %s" % (
            entry.number, seed, 1000 * stood_s, [r.problems[:1] for r in results if r.problems]),
              flush=True)
        context.drop()
        results = try_row(context, entry, seed)
    return results


def try_row(context, entry, seed):
    """The Results of a row; one that breaks gives one Result with the reason."""
    rng = random.Random("%d/%d" % (entry.number, seed))
    results = []
    try:
        for result in entry.function(context, rng):
            results.append(result)
    except Exception as error:
        broken = Result("did not come to its end")
        where = traceback.extract_tb(error.__traceback__)[-1]
        broken.problems.append("%s: %s (%s:%d)" % (type(error).__name__, error,
                                                    where.filename.split("/")[-1], where.lineno))
        results.append(broken)
        try:
            context.drop()
        except Exception:
            pass
    return results
