# SPDX-License-Identifier: Apache-2.0
"""witness - ships whose buses are rogue (rogue.py), and a viewer that keeps what the validators
made of what they heard."""

import collections
import contextlib
import json
import subprocess
import threading
import time

import nacl.exceptions
import nacl.signing

import rig as rigs
from busclient import Client, Folder, signed_part
from screens import HERE


def rogue_brokers(ship, names):
    for name in names:
        ship.start(name, "/usr/bin/python3", "-B", HERE / "rogue.py", ship.dir, name,
                   "%s/%s" % (ship.seed, name), stdin=subprocess.PIPE).wait_text("ready")


def tell(ship, name, **order):
    """One order to one rogue; its answer."""
    process = ship.running[name]
    mark = process.mark()
    process.type(json.dumps(order))
    return json.loads(process.wait_text('{"answer"', mark)[1])["answer"]


def careful(client):
    """Let that viewer look at the signature before anything else, and live on after a frame that
    a rogue has made."""
    verify, receive = client.verify, client.receive

    def fits(key, topic, rest):
        try:
            nacl.signing.VerifyKey(key).verify(signed_part(topic, rest[64:]), rest[:64])
            return True
        except (ValueError, nacl.exceptions.CryptoError):
            return False

    def signature_first(raw):
        topic, _, rest = raw.partition(b"\0")
        node = (topic.decode("ascii", "replace") + "//").split("/")[1]
        if not any(name == node and fits(key, topic, rest)
                   for (name, _), key in client.folder.keys.items()):
            raise ValueError("signature")
        return verify(raw)

    def guarded(bus, raw):
        try:
            receive(bus, raw)
        except (ValueError, nacl.exceptions.CryptoError) as error:
            client.dropped[str(error)] += 1

    client.verify, client.receive = signature_first, guarded


class Witness(Client):
    """A viewer that says nothing and keeps what the validators made of what they heard."""

    def __init__(self, ship):
        super().__init__(Folder(ship.dir), "viewer", listen=(
            "verdict/", "picture/", "alert/", "receipt/", "bus/", "change/"))
        self.receipts = collections.defaultdict(list)  # (validator, addressee) -> (when, receipt)
        self.states = []       # (when, validator, {node: (life, applied, digest)})
        self.newest_of = {}    # validator -> (life, number) of its newest picture
        self.counters = {}     # bus -> its newest counters
        self.marked = collections.Counter()
        self.stopping = False
        careful(self)
        self.thread = threading.Thread(target=self.turn, daemon=True)
        self.thread.start()

    def beat(self):
        self.last_beat = time.monotonic()

    def turn(self):
        while not self.stopping:
            self.run(0.25)

    def receive(self, bus, raw):
        topic, envelope = self.verify(raw)
        now, kind = time.monotonic(), envelope.WhichOneof("body")
        if kind == "receipt":
            if raw not in self.seen:
                self.receipts[tuple(topic.split("/")[1:3])].append((now, envelope.receipt))
                self.seen[raw] = True
                while len(self.seen) > 2048:
                    self.seen.popitem(last=False)
        elif kind == "picture" and (envelope.incarnation, envelope.sequence) > self.newest_of.get(
                envelope.node, (0, 0)):
            self.newest_of[envelope.node] = (envelope.incarnation, envelope.sequence)
            self.states.append((now, envelope.node, {
                s.node: (s.incarnation, s.applied, s.digest) for s in envelope.picture.station}))
        elif kind == "counters":
            self.counters[envelope.node] = envelope.counters
        elif kind == "change":
            self.marked[(envelope.node, envelope.incarnation, envelope.sequence, raw)] += 1

    def state(self, after=0.0, limit_s=5.0):
        """{validator: {node: state}} of pictures that came later than that."""
        until = time.monotonic() + limit_s
        while True:
            newest = {v: state for at, v, state in list(self.states) if at >= after}
            if len(newest) == 2:
                return newest
            assert time.monotonic() < until, "no picture"
            time.sleep(0.02)

    def moved(self, before, since, but=()):
        """[(validator, node, state)]: whatever any picture since then told otherwise."""
        return [(validator, node, now) for at, validator, state in list(self.states)
                if at >= since for node, now in state.items()
                if node not in but and now != before[validator][node]]

    def answered(self, addressee, nonces, since):
        """How many receipts since then answer one of those beats."""
        return sum(1 for (_, to), rows in list(self.receipts.items()) if to == addressee
                   for at, receipt in list(rows) if at >= since and receipt.nonce in nonces)

    def stop(self):
        self.stopping = True
        self.thread.join()
        self.close()


@contextlib.contextmanager
def ship_with(context, rogues, terminals=("deck",)):
    """The shared ship made anew, READY, with those buses rogue; given up at the end of the row."""
    class RogueRig(rigs.Rig):
        def __init__(self, seed):
            super().__init__(seed, terminals=terminals)
            self.witness = None

        def brokers(self, *names):
            names = names or ("bus-a", "bus-b")
            rogue_brokers(self, [n for n in names if n in rogues])
            honest = [n for n in names if n not in rogues]
            if honest:
                super().brokers(*honest)

        def tell(self, **order):
            """The same to every rogue; the sum of their counts, the frames of the first."""
            answers = [tell(self, name, **dict(order)) for name in rogues]
            total = collections.Counter()
            for answer in answers:
                total.update({k: v for k, v in answer.items() if k not in ("frames", "first")})
            return dict(total, frames=answers[0].get("frames", []),
                        first=min(a.get("first", 0.0) for a in answers))

        def counts(self):
            return {k: v for k, v in self.tell(do="counts").items() if k not in ("frames", "first")}

        def rule(self, way, *topics, **more):
            self.tell(do="rule", way=way, topics=topics, **more)

        def until_said(self, limit_s=20):
            until = time.monotonic() + limit_s
            while self.counts()["saying"]:
                assert time.monotonic() < until, "still saying"
                time.sleep(0.05)

        def close(self):
            if self.witness is not None:
                self.witness.stop()
            super().close()

    context.drop()
    ship = context.rig(RogueRig)
    ship.witness = Witness(ship)
    try:
        yield ship
    except BaseException:
        context.shared = None
        with contextlib.suppress(Exception):
            ship.close()
        raise
    context.drop()
