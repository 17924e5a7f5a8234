# SPDX-License-Identifier: Apache-2.0
"""rows_wire6 - ten thousand bad frames a second at an ingress (141); what must hold meanwhile is in
rows_wire3.py."""

import contextlib
import pathlib
import re
import threading
import time

import zmq

from liar import Liar
from rows_wire import now, still_ready
from rows_wire3 import after_a_beat, counted, in_a_flood, witness
import cycle
from ship import STATIONS
from table import Result, row

A_SECOND = 10000
STEP_S = 0.01
GOLDEN = pathlib.Path(__file__).resolve().parents[1] / "codec" / "golden" / "v1" / "change.frame.hex"


def bad_frames(rng, node):
    """What a bus refuses by name, one after the other, for ever: no two of a kind the same."""
    good = bytes.fromhex(re.sub(r"\s", "", GOLDEN.read_text()))
    body = good.partition(b"\0")[2]
    others = [s for s in STATIONS if s != node]
    while True:
        noise = bytes(rng.randrange(256) for _ in range(rng.randint(1, 60)))
        cut = rng.randrange(64)
        yield b"change/%s/\0" % rng.choice(others).encode() + body + noise      # not its topic
        yield b"verdict/validator-1/\0" + body + noise
        yield b"beat/%s/\0" % node.encode() + body[:cut]                        # no signature
        yield b"change/%s/\0" % node.encode() + body[:64]                       # no envelope
        yield bytes(b or 1 for b in noise)                                      # no topic
        yield b"change/%s/\0" % node.encode() + body + noise * (1 + 2048 // len(noise))  # too long
        yield noise.replace(b"\0", b"/") + b"\0" + body
        yield b""


class Babbler:
    """A node's own key and connection, A_SECOND frames a second to the first bus from now on."""

    def __init__(self, rig, rng, node):
        self.liar = Liar(rig, node)
        self.frames = bad_frames(rng, node)
        self.ready = [next(self.frames) for _ in range(2 * A_SECOND)]
        self.sent, self.begin, self.seconds = 0, now(), 0.0
        self.stopping = False
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def run(self):
        socket = self.liar.publish[0]
        while not self.stopping:
            due = int((now() - self.begin) * A_SECOND)
            while self.sent < due:
                socket.send(self.ready[self.sent % len(self.ready)], zmq.DONTWAIT)
                self.sent += 1
            time.sleep(STEP_S)
        self.seconds = now() - self.begin

    def stop(self):
        self.stopping = True
        self.thread.join()
        self.liar.close()


@contextlib.contextmanager
def babbler(rig, rng, node):
    one = Babbler(rig, rng, node)
    try:
        yield one
    finally:
        one.stop()


@row(141, "10,000 bad frames a second at a bus", "refused by name and counted; 1.0 s is kept",
     seconds=24, alone=True)
def babble(context, rng):
    """By a listed key, while everybody works: nobody else is the slower for it."""
    rig = context.rig()
    rig.until_ready()
    node = rng.choice([s for s in STATIONS if s not in ("deck", "primary")])
    with witness(rig) as seen:
        result = Result("%s says 10,000 bad frames a second" % node)
        refused, marks = counted(seen, "refused"), cycle.marks_of(rig.screens())
        with babbler(rig, rng, node) as one:
            time.sleep(3.0)
            still_ready(result, rig.screens(), marks, "bad frames of %s" % node)
            yield from in_a_flood(rig, rng, "10,000 bad frames a second", station=rng.choice(
                [s for s in STATIONS if s not in ("deck", "primary", node)]))
        after_a_beat()
        got = counted(seen, "refused", refused)
        rate = one.sent / one.seconds
        result.counts["tried"], result.counts["refused by brokers"] = one.sent, got
        result.counts["a second"] = int(rate)
        result.must(rate >= 0.95 * A_SECOND, "only %.0f a second were sent" % rate)
        result.must(got >= 0.95 * one.sent, "%d of %d refused" % (got, one.sent))
        for name, process in rig.running.items():
            result.must(process.process.poll() is None, name + " has ended")
        yield result
