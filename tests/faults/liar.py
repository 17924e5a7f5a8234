# SPDX-License-Identifier: Apache-2.0
"""liar - somebody who holds a valid key and says what he should not, and an ear that hears what
came of it: frames byte by byte, refusals by name, what each validator holds of each station.
"""

import collections
import threading
import time

import zmq

import cycle
from busclient import Client, Folder, pb
from ship import STATIONS

REFUSED_PUBLISHER, OTHER_BODY = 26, 27   # docs/rules.md
REASON = {v.name[15:]: v.number for v in pb.RefusalReason.DESCRIPTOR.values}
TRANSPORT = [("station-lost", None), ("no-validator", None), ("validators-differ", None)]
NAME = {number: name for name, number in REASON.items()}
VALUE = {f.name: f.number for f in pb.Datum.DESCRIPTOR.oneofs_by_name["value"].fields}
ENGINES = ["engine-%d" % n for n in (1, 2, 3, 4)]
WEIGHT = 34000                           # ordered for the one aircraft of the rig
BURST, BURST_S = 25, 0.02                # below every queue on the way, on a machine with work


# ---- the wire, by hand ----

def varint(number):
    out = b""
    while True:
        number, low = number >> 7, number & 0x7F
        if number == 0:
            return out + bytes([low])
        out += bytes([low | 0x80])


def field(number, value):
    """One field: a varint, or bytes with their length."""
    if isinstance(value, bytes):
        return varint(number << 3 | 2) + varint(len(value)) + value
    return varint(number << 3) + varint(value)


def nested(numbers, inner):
    """`inner` inside of sub-messages with those field numbers, the outermost first."""
    for number in reversed(numbers):
        inner = field(number, inner)
    return inner


def event_bytes(event):
    return event.SerializeToString(deterministic=True)


def datum_bytes(sequence, kind, value, event=None, slot=0, voice_for=b"", tail=b""):
    """A datum: kind by name or number, the bytes of its value, and what should not be after it."""
    out = field(1, sequence) + (field(2, slot) if slot else b"")
    out += field(3, event_bytes(event)) if event is not None else b""
    out += field(5, voice_for) if voice_for else b""
    return out + field(VALUE.get(kind, kind), value) + tail


# ---- what comes of it ----

class Ear:
    """A viewer in a thread: refusals of brokers, notes and states of validators, receipts."""

    def __init__(self, rig):
        self.client = Client(Folder(rig.dir), "viewer", listen=(
            "picture/", "bus/", "receipt/", "verdict/", "change/", "beat/"))
        self.client.receive = self.receive
        self.changed = threading.Condition()
        self.refused = collections.Counter()    # (publisher, reason) -> count of both buses
        self.pictures = {}                      # validator -> (picture, when)
        self.receipts = {}                      # (validator, node) -> (receipt, when)
        self.told_old = collections.Counter()   # node -> receipts that name a newer life of it
        self.newest = {}                        # (kind, node) -> raw frame
        self.keep = None                        # raw frames, when a list
        self.delivered = collections.Counter()  # topic -> frames that the buses passed on, each
        self.flooded = set()                    # topics whose frames are only counted
        self.lies = set()                       # hashes of what liars sent
        self.stopping = False
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()
        self.until(lambda: len(self.pictures) == 2 and all(
            ("beat", s) in self.newest for s in STATIONS), 10)

    def run(self):
        while not self.stopping:
            self.client.run(0.1)
            with self.changed:
                self.changed.notify_all()

    def receive(self, bus, raw):
        topic = raw.partition(b"\0")[0].decode("ascii", "replace")
        self.delivered[topic] += 1
        if topic in self.flooded or hash(raw) in self.lies or raw in self.client.seen:
            return
        try:
            topic, envelope = self.client.verify(raw)
        except Exception:  # whatever a liar said: the validators are asked, not this one
            return
        self.client.seen[raw] = True
        while len(self.client.seen) > 4096:
            self.client.seen.popitem(last=False)
        with self.changed:
            self.take(topic.split("/"), envelope, raw)
            self.changed.notify_all()

    def take(self, level, envelope, raw):
        if self.keep is not None:
            self.keep.append((time.monotonic(), level[0], envelope, raw))
        self.newest[(level[0], level[1])] = raw
        if level[0] == "bus":
            for line in envelope.refusals.refusal:
                self.refused[(line.publisher, NAME[line.reason])] += line.count
        elif level[0] == "picture":
            self.pictures[envelope.node] = (envelope.picture, time.monotonic())
        elif level[0] == "verdict":
            self.client.take_verdict(envelope)
        elif level[0] == "receipt":
            self.receipts[(envelope.node, level[2])] = (envelope.receipt, time.monotonic())
            self.told_old[level[2]] += envelope.receipt.higher_incarnation != 0

    def until(self, test, limit_s=5.0):
        end = time.monotonic() + limit_s
        with self.changed:
            while not test():
                left = end - time.monotonic()
                if left <= 0:
                    return False
                self.changed.wait(min(left, 0.1))
        return True

    def notes(self, rule=REFUSED_PUBLISHER):
        """[{(station, reason)} of each validator]"""
        with self.changed:
            return [{(c.station, NAME[c.reason]) for c in picture.cause if c.rule == rule}
                    for picture, _ in self.pictures.values()]

    def noted(self, station, reason, limit_s=5.0, rule=REFUSED_PUBLISHER):
        return self.until(lambda: all((station, reason) in n for n in self.notes(rule)), limit_s)

    def held(self, *but):
        """What each validator holds of each station: {(validator, node): (incarnation, applied,
        digest)}, from pictures that came after now."""
        since = time.monotonic()
        assert self.until(lambda: len(self.pictures) == 2 and all(
            at > since for _, at in self.pictures.values())), "no picture of both validators"
        with self.changed:
            return {(v, s.node): (s.incarnation, s.applied, s.digest)
                    for v, (picture, _) in self.pictures.items()
                    for s in picture.station if s.node not in but}

    def event(self):
        return next(iter(self.client.verdicts.values())).event

    def stop(self):
        self.stopping = True
        self.thread.join()
        self.client.close()


def ear_of(rig):
    """One ear a ship, for as long as it sails."""
    if getattr(rig, "ear", None) is None:
        rig.ear = Ear(rig)
        hearing, close = rig.listener.client.receive, rig.close

        def hear(bus, raw):
            if hash(raw) not in rig.ear.lies:  # the history is of what stations say
                hearing(bus, raw)

        rig.listener.client.receive = hear

        def close_both():
            rig.ear.stop()
            close()

        rig.close = close_both
    return rig.ear


class Liar(Client):
    """Somebody with that node's key and a connection of his own. Says nothing by himself."""

    def __init__(self, rig, node, incarnation=None, folder=None):
        super().__init__(folder or Folder(rig.dir), node, incarnation, listen=())
        self.ear = ear_of(rig)
        for socket in self.publish:
            assert socket.poll(5000, zmq.POLLIN), "no bus for " + node
        self.sent = 0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def send_all(self, frames, buses=None):
        """Frames (bytes, or a list of parts), as fast as no queue on the way is filled."""
        for i, frame in enumerate(frames):
            parts = [frame] if isinstance(frame, bytes) else frame
            self.ear.lies.add(hash(parts[0]))
            for socket in [self.publish[i % 2]] if buses == "in turn" else self.publish:
                socket.send_multipart(parts, zmq.DONTWAIT)
            self.sent += 1
            if i % BURST == BURST - 1:
                time.sleep(BURST_S)

    def head(self, sequence, settled=0, node=None, schema=1):
        """The envelope without a body, with fresh echoes."""
        envelope = pb.Envelope(schema=schema, node=node or self.node, key_epoch=self.epoch,
                               incarnation=self.incarnation, sequence=sequence,
                               wall_ms=int(time.time() * 1000), settled=settled)
        for validator, (incarnation, tick) in sorted(self.ear.client.ticks.items()):
            envelope.echo.add(validator=validator, incarnation=incarnation, tick=tick)
        return envelope.SerializeToString(deterministic=True)

    def change(self, sequence, datum, topic=None, settled=None, node=None, tail=b""):
        """A change whose datum is given as bytes."""
        data = self.head(sequence, sequence - 1 if settled is None else settled, node)
        data += field(17, field(1, datum)) + tail
        return self.frame(topic or "change/%s/" % self.node, data)

    def a_beat(self, sequence, last_change=0, data=(), settled=0, tail=b"", schema=1):
        body = (field(1, last_change) if last_change else b"")
        body += b"".join(field(3, one) for one in data)
        return self.frame("beat/%s/" % self.node,
                          self.head(sequence, settled, schema=schema) + field(16, body + tail))


class Scene:
    """A station that runs, and a liar beside it with its key and its very incarnation.

    What he says is right in every other way: the number that comes next, a fresh echo, an event
    that is current. So a check that is not made shows: the number is taken.
    """

    def __init__(self, rig, result, station):
        self.rig, self.result, self.station = rig, result, station
        self.ear = ear_of(rig)
        rig.until_ready()
        incarnation, self.applied, _ = self.ear.held()[("validator-1", station)]
        self.liar = Liar(rig, station, incarnation)
        self.next = self.applied + 1
        self.event = self.ear.event()
        self.before = self.ear.held()
        self.screens = rig.screens()
        self.marks = cycle.marks_of(self.screens)
        self.number = 0

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.liar.close()

    def change(self, kind, value, slot=0, tail=b"", event=True, **more):
        datum = datum_bytes(self.next, kind, value, self.event if event else None, slot, tail=tail)
        return self.liar.change(self.next, datum, **more)

    def tell(self, frames, reason=None):
        """Send them; the validators must name that reason for this station."""
        frames = list(frames)
        self.liar.send_all(frames)
        self.result.counts["tried"] += len(frames)
        if reason is not None:
            self.result.must(self.ear.noted(self.station, reason),
                             "%s: %s not named: %s" % (self.station, reason, self.ear.notes()))

    def broker_refuses(self, frames, reason):
        """Send them; each broker must count each of them under that reason."""
        key, frames = (self.station, reason), list(frames)
        before = self.ear.refused[key]
        self.liar.send_all(frames)
        self.result.counts["tried"] += len(frames)
        want = before + 2 * len(frames)
        self.ear.until(lambda: self.ear.refused[key] >= want, 8)
        got = self.ear.refused[key] - before
        self.result.counts["refused by brokers"] += got
        self.result.must(got == 2 * len(frames), "%s: %d of %d refused as %s: %s" % (
            self.station, got, 2 * len(frames), reason, dict(self.ear.refused)))

    def nothing_taken(self, flood=False):
        """What the validators hold is what they held; no screen left READY (in a flood: but for a
        cause of transport kind), none is gone."""
        after = self.ear.held()
        taken = sorted(set(after.items()) ^ set(self.before.items()))
        self.result.counts["accepted"] += len(taken)
        self.result.must(not taken, "taken: %s" % taken)
        for name, screen in self.screens.items():
            gone = [v[2][:1] for v in screen.shown(self.marks[name]) if not v[1]]
            self.result.counts["READY gone in the flood"] += bool(gone) if flood else 0
            self.result.must(not gone or flood and all(cycle.names(v[0], TRANSPORT) for v in gone),
                             "%s left READY: %s" % (name, gone))
        for name, process in self.rig.running.items():
            self.result.must(process.process.poll() is None, name + " has ended")

    def a_good_one_is_taken(self, kind, value, slot=0, event=True):
        """The same hands, the same way, a value that is right: taken as a new life's first word.

        Without this, "nothing was taken" could mean that nothing arrived.
        """
        node = self.station
        begin = time.monotonic()
        self.rig.kill(node)
        self.liar.incarnation += 1
        datum = datum_bytes(1, kind, value, self.event if event else None, slot)

        def taken():
            return all(r.for_incarnation == self.liar.incarnation and r.through == 1
                       and not r.refused for r in
                       [self.ear.receipts[(v, node)][0] for v in ("validator-1", "validator-2")])

        for number in range(1, 30):
            # His beat says that the number is in use, and not its value: it is not settled.
            self.liar.send_all([self.liar.a_beat(number)] if number < 3 else [
                self.liar.change(1, datum, settled=0)])
            if self.ear.until(taken, 0.1):
                break
        self.result.must(taken(), "a good %s of %s is not taken: %s" % (
            kind, node, self.ear.receipts.get(("validator-1", node))))
        self.rig.faults.append((begin, time.monotonic() + 0.5, 1.0, {node}, "liar as " + node))
        self.rig.restart(node)
        self.rig.until_ready()


def pick(rng, ear, among, *reasons):
    """One of them for whom no such refusal stands (notes stand for 60 s)."""
    standing = {s for notes in ear.notes() for s, reason in notes if reason in reasons}
    free = [s for s in among if s not in standing]
    return rng.choice(free or list(among))


def say_and_back(station):
    """(word toward safe, word that takes it back, cause that the first one is)"""
    if station.startswith("engine-"):
        return "battery out", "battery in", ("not-in-battery", station)
    return {"deck": ("foul person", "clear", ("line-crossed", "deck")),
            "platform": ("hook not down", "hook down", ("hook-not-down", "platform")),
            "primary": ("foul wire", "no foul", ("deck-foul", "primary"))}[station]


def no_ready(result, screens, marks, what):
    for name, screen in screens.items():
        seen = [v for v in screen.shown(marks[name]) if v[1]]
        result.unsafe += len(seen)
        result.must(not seen, "%s: READY on %s" % (what, name))


def until_not_ready(screens, limit_s=1.5):
    end = time.monotonic() + limit_s
    while any(s.ready() for s in screens.values()):
        assert time.monotonic() < end, "READY stays"
        time.sleep(0.01)


def good_word(station, rng):
    """A word that station may say now: (kind, bytes of its value, slot, whether for the event)."""
    if station.startswith("engine-"):
        return rng.choice([("set", field(1, WEIGHT), 0, True), ("battery", field(1, 53), 0, True)])
    return {"deck": ("deck", field(1, 53), 0, True),
            "platform": ("call", field(1, 204) + field(2, b"plover"), 0, True),
            "primary": ("deck", field(1, 108), 0, False),
            "approach": ("inbound", field(1, 204) + field(2, b"plover") + field(3, 33000), 204,
                         False)}.get(station, ("watch", field(1, b"Rowan"), 0, False))
