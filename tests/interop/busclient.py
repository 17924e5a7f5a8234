# SPDX-License-Identifier: Apache-2.0
"""busclient - a second, small implementation of a node, written from docs/protocol.md.

Python 3 with zmq, protobuf and nacl. It shares no code with the C programs but the schema. It
joins as a station or a viewer, dates verdicts by its own clock, says changes and resends them, and
can be told to do what it should not: sign for another topic, send a frame of its own making.
"""

import collections
import importlib
import os
import pathlib
import subprocess
import sys
import tempfile
import time

import nacl.bindings
import nacl.exceptions
import nacl.hash
import nacl.signing
import zmq
import zmq.utils.z85 as z85
from google.protobuf.message import DecodeError

LOST_S = 0.8
STANDS_S = 0.9  # READY, from the oldest beat that it stands on
SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))


def load_schema():
    schema = SOURCE / "proto" / "schema"
    with tempfile.TemporaryDirectory(prefix="trapline-schema-") as out:
        subprocess.run(["protoc", "-I%s" % schema, "--python_out=%s" % out,
                        str(schema / "trapline.proto")], check=True)
        sys.path.insert(0, out)
        module = importlib.import_module("trapline_pb2")
        sys.path.remove(out)
    return module


pb = load_schema()


def read_flow(text):
    """The few shapes of YAML that the folder uses: top-level scalars, lists of flow mappings."""
    top = {}
    name = None
    for line in text.splitlines():
        line = line.split(" #")[0].rstrip()
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        if not line.startswith(" ") and not line.startswith("-"):
            name, _, value = line.partition(":")
            top[name] = value.strip().strip('"') or []
        elif line.strip().startswith("- {"):
            body = line.strip()[3:].rstrip("}")
            row = {}
            for part in body.split(", "):
                key, _, value = part.partition(": ")
                row[key.strip()] = value.strip().strip('"')
            top[name].append(row)
        elif line.strip().startswith("- "):
            key, _, value = line.strip()[2:].partition(":")
            top[name].append({key.strip(): value.strip().strip('"')})
        elif isinstance(top.get(name), list) and top[name] and line.startswith("    "):
            key, _, value = line.strip().partition(":")
            top[name][-1][key.strip()] = value.strip().strip('"')
    return top


class Folder:
    """A configuration folder: buses, nodes, public keys, and the secrets that are here."""

    def __init__(self, path):
        self.path = pathlib.Path(path)
        self.buses = read_flow((self.path / "bus.yaml").read_text())["buses"]
        self.nodes = read_flow((self.path / "stations.yaml").read_text())["nodes"]
        self.verified = collections.OrderedDict()  # frames of any client of this folder
        self.keys = {}
        for row in read_flow((self.path / "keys.yaml").read_text())["keys"]:
            if row.get("revoked", "false") == "false":
                self.keys[(row["node"], int(row["epoch"]))] = bytes.fromhex(row["identity"])

    def validators(self):
        return [n["id"] for n in self.nodes if n["kind"] == "validator"]

    def newest(self, node):
        return max(epoch for name, epoch in self.keys if name == node)

    def seed(self, node, epoch):
        for word in (self.path / "identity" / ("%s.%d.key" % (node, epoch))).read_text().split():
            if len(word) == 64 and all(c in "0123456789abcdef" for c in word):
                return bytes.fromhex(word)
        raise ValueError("no seed in the secret file of " + node)

    def digest(self, *names):
        content = b""
        for name in names:
            data = (self.path / name).read_bytes()
            content += name.encode() + b"\0" + len(data).to_bytes(8, "little") + data
        return nacl.hash.generichash(content, digest_size=16, encoder=nacl.encoding.RawEncoder)


def signed_part(topic, envelope):
    return b"trapline.v1\0" + topic + b"\0" + envelope


def datum(kind, event=None, slot=0, /, **value):
    """A datum of that kind with that value, stated for that event."""
    made = pb.Datum(slot=slot)
    getattr(made, kind).SetInParent()
    for name, content in value.items():
        if isinstance(content, pb.Event):
            getattr(getattr(made, kind), name).CopyFrom(content)
        else:
            setattr(getattr(made, kind), name, content)
    if event is not None:
        made.stated_for.add().CopyFrom(event)
    return made


def kind_of(said):
    """The kind of a datum, whether its value is known or not."""
    name = said.WhichOneof("value")
    if name == "unknown":
        return pb.DatumKind.Name(said.unknown.kind)[11:].lower()
    return name


def unknown(kind, slot=0, voice_for=""):
    """That datum, UNKNOWN."""
    made = pb.Datum(slot=slot, voice_for=voice_for)
    made.unknown.kind = pb.DatumKind.Value("DATUM_KIND_" + kind.upper())
    return made


# The states that section 6 calls toward READY; of a kind without one all is toward READY, but what
# is in SAFE.
READYWARD = {
    "recovery": [pb.RECOVERY_STATE_OPEN], "order": [pb.ORDER_STATE_ORDERED],
    "battery": [pb.BATTERY_STATE_IN], "deck": [pb.DECK_STATE_CLEAR, pb.DECK_STATE_NO_FOUL],
    "hook": [pb.HOOK_STATE_DOWN], "sheave": [pb.SHEAVE_STATE_UP],
    "pendant": [pb.PENDANT_STATE_GOOD], "free": [pb.FREE_STATE_FREE],
    "retract": [pb.RETRACT_STATE_RETRACTED], "track": [pb.TRACK_STATE_SECURED],
    "stanchions": [pb.STANCHION_STATE_LOWERED, pb.STANCHION_STATE_RAISED],
    "aid": [pb.AID_STATE_WORKING], "fluid": [pb.FLUID_STATE_BATTERY],
    "fault": [pb.FAULT_STATE_NONE], "inspected": [pb.INSPECTION_STATE_GOOD],
    "barricade": [pb.BARRICADE_STATE_SECURE, pb.BARRICADE_STATE_READY, pb.BARRICADE_STATE_RIGGED],
}
SAFE = ("unknown", "result", "watch", "acknowledged")


def is_toward_safe(said):
    kind = said.WhichOneof("value")
    if kind in READYWARD:
        value = getattr(said, kind)
        return value.state not in READYWARD[kind] and not (kind == "sheave" and value.bypassed)
    return kind in SAFE or (kind == "inbound" and said.inbound.diverted)


class Client:
    def __init__(self, folder, node, incarnation=None, listen=("verdict/", "picture/", "alert/"),
                 epoch=None):
        self.folder = folder
        self.node = node
        self.epoch = epoch or folder.newest(node)
        self.signing = nacl.signing.SigningKey(folder.seed(node, self.epoch))
        assert bytes(self.signing.verify_key) == folder.keys[(node, self.epoch)]
        self.incarnation = incarnation or int(time.time() * 1000)
        self.context = zmq.Context()
        self.publish, self.subscribe = [], []
        secret = bytes(self.signing) + bytes(self.signing.verify_key)
        self.curve = (z85.encode(nacl.bindings.crypto_sign_ed25519_pk_to_curve25519(
            bytes(self.signing.verify_key))), z85.encode(
                nacl.bindings.crypto_sign_ed25519_sk_to_curve25519(secret)))
        self.poller = zmq.Poller()
        for bus in folder.buses:
            self.publish.append(self.socket(zmq.XPUB, bus, bus["ingress"]))
            sub = self.socket(zmq.SUB, bus, bus["egress"])
            for prefix in listen:
                sub.subscribe(prefix.encode())
            for validator in folder.validators():
                sub.subscribe(("receipt/%s/%s/" % (validator, node)).encode())
            self.subscribe.append(sub)
            self.poller.register(sub, zmq.POLLIN)
        self.seen = collections.OrderedDict()
        self.sequences = collections.Counter()
        self.ticks = {}        # validator -> (incarnation, tick)
        self.sent = {}         # nonce -> when
        self.answers = {}      # validator -> list of (sent, verdict number, oldest beat)
        self.verdicts = {}     # validator -> envelope
        self.pictures, self.alerts = {}, {}
        self.through = collections.defaultdict(int)
        self.refused = {}      # sequence -> (reason, validator)
        self.changes = {}      # sequence -> (datum, when)
        self.data = {}         # (kind, slot, voice_for) -> datum as last said
        self.samples = []      # that ride in the beats
        self.resend = {}       # sequence -> (when, gap)
        self.shown = {}        # validator -> sequence of its newest alert set that was shown
        self.settled = 0
        self.higher = 0
        self.dropped = collections.Counter()
        self.last_beat = 0.0
        self.frames = []       # every (bus, topic, envelope) received, when kept
        self.keep = False

    def socket(self, kind, bus, endpoint):
        socket = self.context.socket(kind)
        server = self.folder.keys[(bus["id"], self.folder.newest(bus["id"]))]
        socket.curve_serverkey = z85.encode(
            nacl.bindings.crypto_sign_ed25519_pk_to_curve25519(server))
        socket.curve_publickey, socket.curve_secretkey = self.curve
        socket.linger = 0
        socket.setsockopt(zmq.IMMEDIATE, 1)
        socket.connect(endpoint)
        return socket

    def close(self):
        for socket in self.publish + self.subscribe:
            socket.close()
        self.context.term()

    # ---- out ----

    def frame(self, topic, envelope):
        topic = topic.encode() if isinstance(topic, str) else topic
        data = envelope if isinstance(envelope, bytes) else envelope.SerializeToString(
            deterministic=True)
        return topic + b"\0" + self.signing.sign(signed_part(topic, data)).signature + data

    def send_frame(self, *parts):
        for socket in self.publish:
            try:
                socket.send_multipart(list(parts), zmq.DONTWAIT)
            except zmq.Again:
                pass

    def envelope(self, kind, sequence=None):
        if sequence is None:
            self.sequences[kind] += 1
            sequence = self.sequences[kind]
        envelope = pb.Envelope(schema=1, node=self.node, key_epoch=self.epoch,
                               incarnation=self.incarnation, sequence=sequence,
                               wall_ms=int(time.time() * 1000), settled=self.settled)
        for validator in self.folder.validators():
            if validator in self.ticks:
                incarnation, tick = self.ticks[validator]
                envelope.echo.add(validator=validator, incarnation=incarnation, tick=tick,
                                  alerts=self.shown.get(validator, 0))
        return envelope

    def beat(self):
        envelope = self.envelope("beat")
        envelope.beat.last_change = self.sequences["change"]
        envelope.beat.samples.extend(self.samples)
        for (kind, slot, voice_for), datum in self.data.items():
            entry = envelope.beat.data.add()
            settled = datum.sequence <= self.settled
            if datum.sequence not in self.refused and (settled or is_toward_safe(datum)):
                entry.CopyFrom(datum)
            else:
                entry.CopyFrom(unknown(kind, slot, voice_for))
                entry.sequence = datum.sequence
            entry.said_age_ms = int(1000 * (time.monotonic() - self.changes[datum.sequence][1]))
        self.sent[envelope.sequence] = time.monotonic()
        self.last_beat = time.monotonic()
        self.send_frame(self.frame("beat/%s/" % self.node, envelope))

    def send_change(self, sequence):
        datum, when = self.changes[sequence]
        envelope = self.envelope("change", sequence)
        envelope.said_age_ms = int(1000 * (time.monotonic() - when))
        if datum.stated_for:
            envelope.event.CopyFrom(datum.stated_for[0])
        envelope.change.datum.CopyFrom(datum)
        self.send_frame(self.frame("change/%s/" % self.node, envelope))

    def say(self, datum):
        """Say a datum (its value and events); returns the number of the change."""
        self.sequences["change"] += 1
        datum.sequence = self.sequences["change"]
        self.changes[datum.sequence] = (datum, time.monotonic())
        self.data[(kind_of(datum), datum.slot, datum.voice_for)] = datum
        self.send_change(datum.sequence)
        self.beat()
        return datum.sequence

    # ---- in ----

    def verify(self, raw):
        known = self.folder.verified.get(raw)
        if known is None:
            known = self.folder.verified[raw] = self.verify_anew(raw)
            while len(self.folder.verified) > 1024:
                self.folder.verified.popitem(last=False)
        return known

    def verify_anew(self, raw):
        topic, _, rest = raw.partition(b"\0")
        signature, data = rest[:64], rest[64:]
        envelope = pb.Envelope.FromString(data)
        publisher = topic.split(b"/")[1].decode()
        key = self.folder.keys.get((envelope.node, envelope.key_epoch))
        if publisher != envelope.node or key is None:
            raise ValueError("not its topic, or key not listed")
        nacl.signing.VerifyKey(key).verify(signed_part(topic, data), signature)
        if envelope.SerializeToString(deterministic=True) != data:
            raise ValueError("not canonical")
        return topic.decode(), envelope

    def receive(self, bus, raw):
        if raw in self.seen:
            return
        try:
            topic, envelope = self.verify(raw)
        except (ValueError, DecodeError, nacl.exceptions.BadSignatureError) as error:
            self.dropped[str(error)] += 1
            return
        self.seen[raw] = True
        while len(self.seen) > 2048:
            self.seen.popitem(last=False)
        if self.keep:
            self.frames.append((time.monotonic(), bus, topic, envelope))
        kind = envelope.WhichOneof("body")
        if kind == "verdict":
            self.take_verdict(envelope)
        elif kind == "receipt":
            self.take_receipt(envelope)
        elif kind == "picture":
            self.pictures[envelope.node] = envelope.picture
        elif kind == "alerts":
            self.alerts[envelope.node] = envelope.alerts

    def take_verdict(self, envelope):
        have = self.verdicts.get(envelope.node)
        if have is not None and (envelope.incarnation, envelope.sequence) <= (
                have.incarnation, have.sequence):
            return
        if have is not None and envelope.incarnation > have.incarnation:
            self.answers.pop(envelope.node, None)
        self.verdicts[envelope.node] = envelope
        if envelope.verdict.is_tick:
            self.ticks[envelope.node] = (envelope.incarnation, envelope.verdict.tick)
            if time.monotonic() - self.last_beat >= 0.1:
                self.beat()

    def take_receipt(self, envelope):
        receipt = envelope.receipt
        if receipt.for_incarnation != self.incarnation:
            return
        self.higher = max(self.higher, receipt.higher_incarnation)
        if receipt.nonce in self.sent:
            self.answers.setdefault(envelope.node, []).append(
                (self.sent[receipt.nonce], receipt.verdict, receipt.oldest_ms / 1000))
            del self.answers[envelope.node][:-16]
        self.through[envelope.node] = receipt.through
        for row in receipt.refused:
            self.refused.setdefault(row.sequence, (pb.RefusalReason.Name(row.reason),
                                                   envelope.node))
        heard = [v for v in self.folder.validators() if self.hears(v)]
        if heard:
            self.settled = max(self.settled, min(self.through[v] for v in heard))

    # ---- what may be believed ----

    def hears(self, validator):
        answers = self.answers.get(validator, [])
        return bool(answers) and time.monotonic() - max(a[0] for a in answers) <= LOST_S

    def age(self, validator):
        """Ages by this clock, seconds: of the verdict in hand, and of the oldest beat that it stands
        on; None when it cannot be dated."""
        if validator not in self.verdicts:
            return None
        number = self.verdicts[validator].sequence
        dated = [(sent, oldest) for sent, verdict, oldest in self.answers.get(validator, [])
                 if verdict <= number]
        if not dated:
            return None
        sent, oldest = max(dated)
        return time.monotonic() - sent, time.monotonic() - sent + oldest

    def ready(self):
        digest = self.folder.digest("ship.yaml", "gear.yaml", "aircraft.yaml", "stations.yaml")
        events = set()
        for validator in self.folder.validators():
            age = self.age(validator)
            if age is None or age[0] > LOST_S or age[1] > STANDS_S:
                return False
            envelope = self.verdicts[validator]
            if (envelope.verdict.word != pb.VERDICT_WORD_READY or
                    envelope.verdict.judgement_digest != digest):
                return False
            events.add((envelope.event.recovery_ms, envelope.event.pass_
                        if hasattr(envelope.event, "pass_") else getattr(envelope.event, "pass")))
        return len(events) == 1

    def causes(self, validator):
        picture = self.pictures.get(validator)
        return picture.cause if picture is not None else []

    def drain(self, bus):
        """Take what has come from that bus."""
        while True:
            try:
                self.receive(bus, self.subscribe[bus].recv(zmq.DONTWAIT))
            except zmq.Again:
                return

    def tend(self):
        """The own timers: beat, and send again what is not settled."""
        now = time.monotonic()
        if now - self.last_beat >= 0.2:
            self.beat()
        for sequence in [s for s in sorted(self.changes) if s > self.settled][:8]:
            at, gap = self.resend.get(sequence, (now + 0.2, 0.2))
            if now >= at:
                self.send_change(sequence)
                gap = min(2 * gap, 2.0)
                at = now + gap
            self.resend[sequence] = (at, gap)

    def run(self, seconds, until=None):
        """Turn for that long, or until `until()` holds; returns whether it held."""
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for socket, _ in self.poller.poll(20):
                self.drain(self.subscribe.index(socket))
            self.tend()
            if until is not None and until():
                return True
        return until is None
