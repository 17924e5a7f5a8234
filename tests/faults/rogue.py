# SPDX-License-Identifier: Apache-2.0
"""rogue - a bus that cannot be trusted: it holds the bus's own key and does what it is told.

As a program (rogue.py DIR BUS SEED) it stands in the place of one trapline-broker: SUB and XPUB
with the CURVE key of the bus, its sign of life on bus/<bus>/. It asks nobody for a key and passes
every frame on byte for byte, and remembers all of them, until a line of JSON on its input tells it
otherwise. Rules are looked at in order, the first that fits the topic decides:

  {"do": "rule", "way": "drop",    "topics": [prefix...], "share": 0..1}
  {"do": "rule", "way": "delay",   "topics": [...], "ms": MS}         late, in order, no gap
  {"do": "rule", "way": "shuffle", "topics": [...], "window": N}      N frames in another order
  {"do": "rule", "way": "flip",    "topics": [...], "share": 0..1}    one bit of a frame turned
  {"do": "rule", "way": "retopic", "topics": [...], "from": A, "to": B}  A in the topic becomes B
  {"do": "rule", "way": "echo",    "topics": [...], "times": N, "ms": MS}  and N times more, later
  {"do": "honest"}                 no rules; what is held back comes out
  {"do": "recorded", "topics": [...], "since": S, "until": S}  what came in that time (monotonic s)
  {"do": "say", "frames": [hex...], "gap_ms": MS, "rounds": N}  frames out, whoever made them
  {"do": "hush"}                   stop saying
  {"do": "counts"}                 what it has done so far
  {"do": "first"}                  when a rule was first applied since this was last asked, 0 never

Each line is answered by one: {"answer": {...}}. witness.py makes ships with such buses.
"""

import collections
import json
import os
import pathlib
import random
import sys
import time

HERE = pathlib.Path(__file__).resolve().parent
for name in ("system", "interop"):
    sys.path.insert(0, str(HERE.parent / name))

import nacl.bindings  # noqa: E402
import nacl.signing  # noqa: E402
import zmq  # noqa: E402
import zmq.utils.z85 as z85  # noqa: E402

from busclient import Folder, pb, signed_part  # noqa: E402

KEPT = 20000
BEAT_S = 1.0


def sign(key, topic, envelope):
    """A frame, signed by whatever key."""
    data = envelope if isinstance(envelope, bytes) else envelope.SerializeToString(
        deterministic=True)
    return topic.encode() + b"\0" + key.sign(signed_part(topic.encode(), data)).signature + data


class Rogue:
    """The broker itself."""

    def __init__(self, folder, bus, seed):
        self.bus = bus
        self.rng = random.Random(seed)
        self.epoch = folder.newest(bus)
        self.key = nacl.signing.SigningKey(folder.seed(bus, self.epoch))
        self.life = int(time.time() * 1000)
        self.sequence = 0
        self.context = zmq.Context()
        row = [b for b in folder.buses if b["id"] == bus][0]
        self.ingress = self.bind(zmq.SUB, row["ingress"])
        self.ingress.subscribe(b"")
        self.egress = self.bind(zmq.XPUB, row["egress"])
        self.record = collections.deque(maxlen=KEPT)  # (when, topic, frame)
        self.rules = []
        self.due = []          # (when, number, frame) of what comes later
        self.number = 0
        self.held = []         # of a shuffle
        self.saying = None     # [frames, next, gap, when, rounds]
        self.first = 0.0       # when a rule was first applied, since that was last asked
        self.rest = b""        # of an order that has not come whole
        self.counts = collections.Counter()

    def bind(self, kind, endpoint):
        socket = self.context.socket(kind)
        secret = bytes(self.key) + bytes(self.key.verify_key)
        socket.curve_server = 1
        socket.curve_secretkey = z85.encode(
            nacl.bindings.crypto_sign_ed25519_sk_to_curve25519(secret))
        socket.linger = 0
        socket.sndhwm = socket.rcvhwm = 0
        socket.bind(endpoint)
        return socket

    # ---- frames ----

    def send(self, frame):
        self.egress.send(frame, zmq.DONTWAIT)

    def later(self, frame, delay_s):
        self.number += 1
        self.due.append((time.monotonic() + delay_s, self.number, frame))

    def take(self, parts):
        if len(parts) != 1:
            return
        frame = parts[0]
        topic = frame.partition(b"\0")[0].decode("ascii", "replace")
        self.record.append((time.monotonic(), topic, frame))
        for rule in self.rules:
            if topic.startswith(tuple(rule["topics"])):
                self.first = self.first or time.monotonic()
                return getattr(self, rule["way"])(rule, topic, frame)
        self.send(frame)

    def drop(self, rule, topic, frame):
        if self.rng.random() < rule.get("share", 1.0):
            self.counts["dropped"] += 1
        else:
            self.send(frame)

    def delay(self, rule, topic, frame):
        self.counts["delayed"] += 1
        self.later(frame, rule["ms"] / 1000)

    def shuffle(self, rule, topic, frame):
        self.held.append(frame)
        if len(self.held) >= rule["window"]:
            order = list(range(len(self.held)))
            self.rng.shuffle(order)
            self.counts["out of order"] += sum(a > b for a, b in zip(order, order[1:]))
            for at in order:
                self.send(self.held[at])
            self.held = []

    def flip(self, rule, topic, frame):
        if self.rng.random() < rule.get("share", 1.0):
            bit = self.rng.randrange(8 * (len(topic) + 1), 8 * len(frame))
            spoilt = bytearray(frame)
            spoilt[bit // 8] ^= 1 << bit % 8
            frame = bytes(spoilt)
            self.counts["flipped"] += 1
        self.send(frame)

    def retopic(self, rule, topic, frame):
        if rule.get("both"):
            self.send(frame)
        other = topic.replace(rule["from"], rule["to"])
        self.counts["under another topic"] += 1
        self.send(other.encode() + frame[len(topic):])

    def echo(self, rule, topic, frame):
        self.send(frame)
        for _ in range(rule["times"]):
            self.counts["said again"] += 1
            self.later(frame, self.rng.uniform(0, rule["ms"] / 1000))

    # ---- orders ----

    def obey(self, order):
        what = order.pop("do")
        if what == "rule":
            self.rules.append(order)
        elif what == "honest":
            self.rules = []
            for frame in self.held:
                self.send(frame)
            self.held = []
        elif what == "recorded":
            return {"frames": [frame.hex() for at, topic, frame in self.record
                               if order["since"] <= at <= order["until"] and
                               topic.startswith(tuple(order["topics"]))]}
        elif what == "say":
            self.saying = [[bytes.fromhex(f) for f in order["frames"]], 0,
                           order.get("gap_ms", 5) / 1000, time.monotonic(),
                           order.get("rounds", 1)]
        elif what == "hush":
            self.saying = None
        elif what == "first":
            first, self.first = self.first, 0.0
            return {"first": first}
        return dict(self.counts, saying=int(self.saying is not None))

    def speak(self, now):
        """What is due of what it was told to say, and of what it holds back."""
        while self.saying and self.saying[0] and self.saying[3] <= now:
            frames, at, gap, _, rounds = self.saying
            self.send(frames[at])
            self.counts["said"] += 1
            self.saying[1] = at = at + 1
            self.saying[3] += gap
            if at == len(frames):
                self.saying[1], self.saying[4] = 0, rounds - 1
                if rounds <= 1:
                    self.saying = None
        ready = sorted(entry for entry in self.due if entry[0] <= now)
        if ready:
            self.due = [entry for entry in self.due if entry[0] > now]
            for _, _, frame in ready:
                self.send(frame)

    def beat(self):
        self.sequence += 1
        envelope = pb.Envelope(schema=1, node=self.bus, key_epoch=self.epoch, incarnation=self.life,
                               sequence=self.sequence, wall_ms=int(time.time() * 1000))
        envelope.counters.forwarded = len(self.record) + 1
        self.send(sign(self.key, "bus/%s/" % self.bus, envelope))

    def wait_ms(self, now, next_beat):
        when = [next_beat, now + 0.1] + [entry[0] for entry in self.due]
        when += [self.saying[3]] if self.saying else []
        return max(0, int(1000 * (min(when) - now)))

    def run(self, orders):
        poller = zmq.Poller()
        for socket in (self.ingress, self.egress, orders):
            poller.register(socket, zmq.POLLIN)
        next_beat = time.monotonic()
        while True:
            now = time.monotonic()
            if now >= next_beat:
                self.beat()
                next_beat = now + BEAT_S
            self.speak(now)
            ready = dict(poller.poll(self.wait_ms(now, next_beat)))
            for socket in (self.ingress, self.egress):
                for _ in range(200 if socket in ready else 0):
                    try:
                        parts = socket.recv_multipart(zmq.DONTWAIT)
                    except zmq.Again:
                        break
                    if socket is self.ingress:
                        self.take(parts)
            if orders in ready:
                data = os.read(orders, 1 << 20)
                if not data:
                    return
                *lines, self.rest = (self.rest + data).split(b"\n")
                for line in lines:
                    print(json.dumps({"answer": self.obey(json.loads(line))}), flush=True)


def main():
    rogue = Rogue(Folder(sys.argv[1]), sys.argv[2], sys.argv[3])
    print("ready", flush=True)
    rogue.run(0)


if __name__ == "__main__":
    main()
