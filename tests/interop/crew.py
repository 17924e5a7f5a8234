# SPDX-License-Identifier: Apache-2.0
"""crew - several stations of busclient in one loop, and a viewer who hears everything.

All from docs/protocol.md. The viewer keeps what the real programs say, to be read by reader.py when
the play is over, and what was refused, by whom and why.
"""

import collections
import concurrent.futures
import time

import zmq

import reader
from busclient import Client, kind_of, pb, unknown

NAME = {v.number: v.name[15:].lower().replace("_", "-")
        for v in pb.RefusalReason.DESCRIPTOR.values}
EVERYTHING = ("beat/", "change/", "verdict/", "picture/", "alert/", "receipt/", "judged/", "recorded/",
              "bus/")


def mix(state, word):
    """docs/protocol.md, section 7: one more number folded in."""
    whole = (1 << 64) - 1
    state = (state ^ word) * 0x9E3779B97F4A7C15 & whole
    state = (state ^ state >> 29) * 0xBF58476D1CE4E5B9 & whole
    return state ^ state >> 32


def mix_text(state, text):
    for byte in text.encode():
        state = mix(state, byte)
    return mix(state, 0x100)


def instance_of(alert):
    """The number under which an alert is acknowledged."""
    cause, event = alert.cause, alert.event
    state = mix_text(mix(1, cause.rule), cause.station)
    state = mix(mix(state, event.recovery_ms), getattr(event, "pass"))
    state = mix_text(state, cause.subject.node)
    return mix(mix(state, cause.subject.incarnation), cause.subject.sequence) or 1


class Listener(Client):
    """A viewer who hears every topic."""

    def __init__(self, folder):
        super().__init__(folder, "viewer", listen=EVERYTHING)
        self.heard = []                         # every frame, once
        self.refusals = collections.Counter()   # (publisher, name) -> count, of all buses
        self.lines = []                         # each line of a broker: (bus, refusal)
        self.judged = collections.Counter()     # (station, name) that a validator told as refused
        self.seen_reasons = set()               # (station, name) that a validator told as seen
        self.rows = {}                          # (station, sequence) -> (name, rule), of receipts

    def receive(self, bus, raw):
        if raw in self.seen:
            return
        super().receive(bus, raw)
        if raw not in self.seen:
            return  # it was dropped
        topic, envelope = self.verify(raw)
        self.heard.append((topic, raw))
        kind = envelope.WhichOneof("body")
        if kind == "refusals":
            for line in envelope.refusals.refusal:
                self.refusals[(line.publisher, NAME[line.reason])] += line.count
                self.lines.append((envelope.node, line))
        elif kind == "receipt":
            for row in envelope.receipt.refused:
                self.rows[(topic.split("/")[2], row.sequence)] = NAME[row.reason], row.rule
        elif kind == "judged" and envelope.judged.kind == pb.JUDGED_KIND_REFUSED:
            self.judged[(envelope.judged.node, NAME[envelope.judged.reason])] += 1
        elif kind == "judged" and envelope.judged.kind == pb.JUDGED_KIND_SEEN:
            seen = envelope.judged.seen
            self.seen_reasons.add((seen.node, NAME[seen.reason]))

    def take_receipt(self, envelope):
        # Those to others come here too; only an own one dates a verdict.
        if envelope.receipt.for_incarnation == self.incarnation:
            super().take_receipt(envelope)

    def notes(self, rule=26):
        """Of each validator: {(station, reason, reported, needed)} of that note."""
        return {v: {(c.station, NAME[c.reason], c.reported.number, c.needed.number)
                    for c in picture.cause if c.rule == rule}
                for v, picture in self.pictures.items()}

    def noted(self, station, name, rule=26):
        notes = self.notes(rule)
        return len(notes) == len(self.folder.validators()) and all(
            any(n[:2] == (station, name) for n in of_one) for of_one in notes.values())

    def states(self, station):
        """What each validator holds of that station."""
        return [next((s for s in picture.station if s.node == station), None)
                for picture in self.pictures.values()]

    def read_all(self):
        """What reader.py says against what was heard, and how many of each body there were."""
        wrong, counted = [], collections.Counter()
        for topic, raw in self.heard:
            data = raw[len(topic) + 65:]
            said = reader.judge(topic, data)
            counted[pb.Envelope.FromString(data).WhichOneof("body")] += 1
            if said != "accepted":
                wrong.append("%s: %s: %s" % (topic, said, data.hex()[:200]))
        return wrong, counted


class Crew:
    def __init__(self, folder, *stations):
        self.folder = folder
        self.viewer = Listener(folder)
        self.at = {}
        self.away = set()
        self.poller = zmq.Poller()
        self.by_socket = {}
        self.add(self.viewer)
        for station in stations:
            self.join(station)

    def add(self, client):
        for bus, socket in enumerate(client.subscribe):
            self.poller.register(socket, zmq.POLLIN)
            self.by_socket[socket] = (client, bus)

    def join(self, station, incarnation=None, node=None):
        """`station` is the name in this crew, `node` the one on the bus."""
        client = Client(self.folder, node or station, incarnation, listen=("verdict/",))
        self.at[station] = client
        self.add(client)
        return client

    def leave(self, station):
        if station not in self.away:
            self.pause(station)
        self.away.discard(station)
        self.at.pop(station).close()

    def pause(self, *stations):
        """They neither read nor beat: lost, and not ended."""
        for station in stations:
            self.away.add(station)
            for socket in self.at[station].subscribe:
                self.poller.unregister(socket)
                del self.by_socket[socket]

    def resume(self, *stations):
        for station in stations:
            self.away.remove(station)
            self.add(self.at[station])

    def close(self):
        for station in list(self.at):
            self.leave(station)
        self.viewer.close()

    def turn(self):
        for socket, _ in self.poller.poll(20):
            client, bus = self.by_socket[socket]
            client.drain(bus)
        for name, client in self.at.items():
            if name not in self.away:
                client.tend()
        self.viewer.tend()

    def until(self, test, limit_s=10.0):
        end = time.monotonic() + limit_s
        while time.monotonic() < end:
            self.turn()
            if test():
                return True
        return False

    def hear(self, limit_s=10.0):
        """Everyone hears every validator."""
        clients = [self.viewer, *self.at.values()]
        validators = self.folder.validators()
        assert self.until(lambda: all(c.hears(v) for c in clients for v in validators),
                          limit_s), "not heard"

    def beside(self, call):
        """What `call` returns, which may take its time: the crew beats on meanwhile."""
        with concurrent.futures.ThreadPoolExecutor(1) as pool:
            future = pool.submit(call)
            assert self.until(future.done, 30)
            return future.result()

    def event(self):
        envelope = next(iter(self.viewer.verdicts.values()))
        return envelope.event

    # ---- saying ----

    def say_all(self, words, limit_s=6.0):
        """[(station, datum)]: said together, and settled; {(station, sequence): reason}."""
        said = [(station, self.at[station].say(made)) for station, made in words]
        assert self.until(lambda: all(self.at[s].settled >= n for s, n in said), limit_s), [
            (s, n, dict(self.at[s].through)) for s, n in said if self.at[s].settled < n]
        return {(s, n): self.reason(s, n) for s, n in said if n in self.at[s].refused}

    def reason(self, station, sequence):
        return self.at[station].refused[sequence][0][15:].lower().replace("_", "-")

    def say(self, *words):
        """As say_all, and nothing of it is refused. What was said too late is said again."""
        again = list(words)
        for _ in range(3):
            refused = self.say_all(again)
            again = [(s, d) for s, d in again if refused.get((s, d.sequence)) == "too-old"]
            if not again:
                break
        assert not refused, refused

    def refused(self, station, made, then=None):
        """Said, and refused: why. Then it is taken back, as the protocol asks, or `then` is said."""
        refused = self.say_all([(station, made)])
        assert len(refused) == 1, "%s was not refused" % made
        client = self.at[station]
        name = kind_of(made), made.slot, made.voice_for
        reason = next(iter(refused.values()))
        if reason in ("not-your-kind", "not-owner"):
            del client.data[name]  # nor may it be said UNKNOWN
        else:
            client.say(then or unknown(*name))
        return reason

    def held(self, station, made):
        """Every validator holds it just as it was said."""
        states = self.viewer.states(station)
        return len(states) == len(self.folder.validators()) and all(
            state is not None and any(self.same(datum, made) for datum in state.data)
            for state in states)

    @staticmethod
    def same(held, said):
        copy = pb.Datum()
        copy.CopyFrom(held)
        copy.ClearField("said_age_ms")
        return copy == said
