# SPDX-License-Identifier: Apache-2.0
"""rows_words - what somebody with a valid key says that he should not: frames that are too long,
cut, flipped, with states and figures that are none (32 to 35, 130).

The hands are in liar.py; rows_words2 to 4 have the other rows about words.
"""

import re
import socket
import struct
import threading
import time

import cycle
from busclient import Folder, pb
from liar import Liar, Scene, VALUE, WEIGHT, ear_of, field, good_word, nested, pick, varint
from ship import STATIONS
from table import Result, row

KEYED = [s for s in STATIONS if s != "bridge"]
MIB = 1 << 20


# ---- 32: too long ----

class Between:
    """A pipe between a liar and one broker's door, through which bytes can be slipped."""

    def __init__(self, endpoint):
        self.to = ("127.0.0.1", int(endpoint.rsplit(":", 1)[1]))
        self.door = socket.create_server(("127.0.0.1", 0))
        self.address = "tcp://127.0.0.1:%d" % self.door.getsockname()[1]
        self.out, self.ended = None, threading.Event()
        threading.Thread(target=self.serve, daemon=True).start()

    def serve(self):
        try:
            inside, _ = self.door.accept()
        except OSError:
            return
        self.door.close()
        self.out = socket.create_connection(self.to)
        threading.Thread(target=self.pump, args=(inside, self.out), daemon=True).start()
        self.pump(self.out, inside)
        self.ended.set()

    @staticmethod
    def pump(source, target):
        try:
            while data := source.recv(65536):
                target.sendall(data)
        except OSError:
            pass
        for end in (source, target):
            try:
                end.shutdown(socket.SHUT_RDWR)
            except OSError:
                pass


def memory_of(process):
    """(most address space, most resident) of a process, bytes"""
    text = open("/proc/%d/status" % process.process.pid).read()
    return [1024 * int(re.search(key + r":\s+(\d+)", text).group(1)) for key in ("VmPeak", "VmHWM")]


def announced(rig, result, size, key):
    """A frame of that size is announced to bus-a, by who has no key yet or by who has one."""
    ear = ear_of(rig)
    header = b"\x02" + struct.pack(">Q", size) + bytes(1000)
    if key is None:
        with socket.create_connection(("127.0.0.1", rig.ports["5751"])) as out:
            greeting = b"\xff" + bytes(8) + b"\x7f\x03\x01CURVE".ljust(23, b"\0") + bytes(32)
            out.sendall(greeting + b"\x06" + header[1:])
            out.settimeout(3.0)
            try:
                while out.recv(4096):
                    pass
            except ConnectionResetError:
                pass
            except socket.timeout:
                result.must(False, "%d bytes before the handshake: still connected" % size)
    else:
        folder = Folder(rig.dir)
        between = Between(folder.buses[0]["ingress"])
        folder.buses = [dict(folder.buses[0], ingress=between.address)]
        with Liar(rig, key, 1, folder) as liar:
            assert liar.publish
            between.out.sendall(header)
            result.must(between.ended.wait(2.0), "%d bytes announced: still connected" % size)
    result.counts["announced"] += 1
    result.must(ear.until(lambda: True), "no ear")


@row(32, "frame too long, up to 1 GiB announced", "limit a kind; the peer is dropped", seconds=8)
def oversize(context, rng):
    rig = context.rig()
    station = pick(rng, ear_of(rig), STATIONS, "OVERSIZE")
    result = Result("%s sends more than a frame may have" % station)
    with Scene(rig, result, station) as scene:
        before = {b: memory_of(rig.running[b]) for b in ("bus-a", "bus-b")}
        kind, value, slot, event = good_word(station, rng)
        good = scene.change(kind, value, slot, event=event)
        beat = scene.liar.a_beat(1 << 40)
        scene.broker_refuses([good + bytes(size - len(good)) for size in
                              (2049, 4097, rng.randrange(2049, 32768), 32768, 32769, 40000)] +
                             [beat + bytes(size - len(beat)) for size in (4097, 32768)], "OVERSIZE")
        for size in (65537, MIB, 32 * MIB):  # past the socket's own limit: not read at all
            with Liar(rig, station, 1) as liar:
                liar.send_all([bytes(size)])
                time.sleep(0.1)
        for key in (None, station):
            for size in (4097 * 17, 1 << 24, 1 << 30, (1 << 63) - 1):
                announced(rig, result, size, key)
        for bus, (space, resident) in before.items():
            now = memory_of(rig.running[bus])
            result.counts["MiB more"] = max(result.counts["MiB more"], (now[1] - resident) // MIB)
            result.must(now[0] - space < 256 * MIB and now[1] - resident < 64 * MIB,
                        "%s grew by %d and %d bytes" % (bus, now[0] - space, now[1] - resident))
        scene.nothing_taken()
    yield result


# ---- 33, 130: cut, flipped ----

@row(33, "empty or cut short at every byte", "refused, never all defaults", seconds=12)
def cut_short(context, rng):
    """One good change cut after each byte; then each cut of its envelope signed anew."""
    rig = context.rig()
    station = pick(rng, ear_of(rig), KEYED, "TRUNCATED", "MISSING", "EMPTY")
    result = Result("%s: frames cut short" % station)
    kind, value, slot, event = good_word(station, rng)
    with Scene(rig, result, station) as scene:
        good = scene.change(kind, value, slot, event=event)
        topic, _, rest = good.partition(b"\0")
        ends = len(topic) + 1
        scene.broker_refuses([good[:n] for n in range(ends)], "NO_TOPIC")
        scene.broker_refuses([good[:ends + n] for n in range(64)], "TRUNCATED")
        scene.broker_refuses([good[:ends + 64]], "EMPTY")
        scene.tell([good[:ends + n] for n in range(65, len(rest))], "SIGNATURE")
        envelope = rest[64:]
        scene.tell([scene.liar.frame(topic, envelope[:n]) for n in range(1, len(envelope))],
                   "MISSING")
        scene.tell([scene.liar.frame(topic, scene.liar.head(scene.next) + body) for body in [
            field(17, b""), field(17, field(1, b"")), field(17, nested([1, VALUE[kind]], b""))]],
            "EMPTY")
        scene.tell([scene.change(kind, b"", slot, event=event)])
        scene.nothing_taken()
        scene.a_good_one_is_taken(kind, value, slot, event)
    yield result


@row(130, "each bit of 20 recorded frames flipped", "signature; the claim fits the topic",
     seconds=25)
def flipped(context, rng):
    """Whoever has the connection sends what its station said, one bit of it changed."""
    rig = context.rig()
    ear = ear_of(rig)
    result = Result("recorded frames with one bit changed")
    for station in rng.sample(STATIONS, 2):
        with Scene(rig, result, station) as scene:
            ear.keep = []
            rig.type(station, "watch %s" % rng.choice(["Rowan", "Hazel", "Alder"]))
            ear.until(lambda: len([1 for f in ear.keep if f[2].node == station and
                                   f[1] in ("beat", "change")]) >= 12)
            mine = [f for f in ear.keep if f[2].node == station and f[1] in ("beat", "change")]
            ear.keep = None
            scene.before = ear.held()
            changes = [f for f in mine if f[1] == "change"][:2]
            frames = [f[3] for f in changes + [f for f in mine if f[1] == "beat"]][:10]
            topics = {frame.partition(b"\0")[0].decode() for frame in frames}
            stood = set().union(*ear.notes())
            ear.flooded |= topics
            before = sum(ear.delivered[t] for t in topics)
            for frame in frames:
                start = 8 * (frame.index(b"\0") + 1)
                lies = []
                for bit in range(start, 8 * len(frame)):
                    lie = bytearray(frame)
                    lie[bit // 8] ^= 1 << bit % 8
                    lies.append(bytes(lie))
                scene.liar.send_all(lies, "in turn")
                result.counts["tried"] += len(lies)
            result.counts["frames"] += len(frames)
            ear.until(lambda: False, 0.5)
            result.counts["passed on"] += sum(ear.delivered[t] for t in topics) - before
            ear.flooded -= topics
            said = {reason for notes in ear.notes() for s, reason in notes if s == station}
            result.must("SIGNATURE" in said, "%s: named %s" % (station, said))
            # Those read the claim before the key is known; all others would be past the signature.
            past = said - {r for s, r in stood if s == station} - {"SIGNATURE", "TRUNCATED",
                                                                   "RANGE", "MISSING",
                                                                   "UNKNOWN_USER",
                                                                   "NOT_YOUR_TOPIC"}
            result.must(not past, "%s: past the signature: %s" % (station, past))
            scene.nothing_taken(flood=True)
    result.must(result.counts["passed on"] >= result.counts["tried"], "not all passed on")
    yield result


# ---- 34: words that no enum has ----

ENUMS = {"engine": [("battery", 1, b"", b"", 0), ("service", 1, b"", b"", 0),
                    ("fluid", 1, b"", b"", 0), ("fault", 1, b"", field(2, 7), 0)],
         "deck": [("deck", 1, b"", b"", 0), ("deck", 2, field(1, 74), b"", 0)],
         "platform": [("hook", 1, b"", b"", 0), ("result", 1, b"", b"", 1),
                      ("deck", 1, b"", b"", 0)],
         "primary": [("recovery", 2, field(1, 1 << 40), b"", 0), ("deck", 1, b"", b"", 0),
                     ("order", 5, field(1, 204) + field(2, b"plover") + field(3, WEIGHT), b"", 1)],
         "approach": [("inbound", 6, field(1, 204) + field(2, b"plover") + field(3, 33000), b"",
                       204)]}
PAST_32_BITS = [1 << 31, (1 << 32) - 1, 1 << 32, (1 << 32) + 53, (1 << 32) + 74, 1 << 63]


def enum_of(kind, number):
    message = pb.Datum.DESCRIPTOR.fields_by_name[kind].message_type
    return {v.number for v in message.fields_by_number[number].enum_type.values}


@row(34, "a state that is none: 0 to 255, 2^31 and more", "refused as no state", seconds=12)
def no_such_state(context, rng):
    rig = context.rig()
    station = pick(rng, ear_of(rig), KEYED, "ENUM", "NOT_CANONICAL")
    result = Result("%s: states that are none" % station)
    with Scene(rig, result, station) as scene:
        for kind, number, ahead, behind, slot in ENUMS[station.split("-")[0]]:
            known = enum_of(kind, number)
            numbers = [n for n in range(1, 256) if n not in known] + [(1 << 31) - 1, (1 << 64) - 1]
            scene.tell([scene.change(kind, ahead + field(number, n) + behind, slot)
                        for n in numbers], "ENUM")
            scene.tell([scene.change(kind, ahead + field(number, n) + behind, slot)
                        for n in PAST_32_BITS + [0]], "NOT_CANONICAL")
        scene.tell([scene.change("unknown", field(1, n)) for n in list(range(36, 256))], "ENUM")
        scene.nothing_taken()
        kind, value, slot, event = good_word(station, rng)
        scene.a_good_one_is_taken(kind, value, slot, event)
    yield result
    yield from no_such_verdict(rig, rng)


def no_such_verdict(rig, rng):
    """Both validators' keys say a word for READY that is not quite it, while the deck is foul."""
    ear = ear_of(rig)
    ready = pb.VERDICT_WORD_READY
    words = sorted({ready ^ 1 << b for b in range(31)} | {42300 ^ 1 << b for b in range(31)} |
                   set(range(1, 256)) | {rng.randrange(1 << 31) for _ in range(40)})
    words = [w for w in words if w not in (0, ready, 42300)]
    result = Result("verdicts that are neither word, the deck foul")
    rig.say_until("deck", "foul person")
    screens = rig.screens()
    cycle.wait_not_ready(screens, {name: 0 for name in screens}, time.monotonic() + 1.0)
    while any(s.ready() for s in screens.values()):
        time.sleep(0.01)
    marks, begin = cycle.marks_of(screens), time.monotonic()
    for validator in ("validator-1", "validator-2"):
        with Liar(rig, validator, ear.client.verdicts[validator].incarnation) as liar:
            for word in words:
                lie = pb.Envelope()
                lie.CopyFrom(ear.client.verdicts[validator])
                lie.sequence += 10000
                lie.verdict.word = word
                lie.verdict.ClearField("first")
                lie.verdict.cause_count = 0
                liar.send_all([liar.frame("verdict/%s/" % validator, lie)])
                result.counts["tried"] += 1
            time.sleep(0.3)
    for name, screen in screens.items():
        seen = [v for v in screen.shown(marks[name]) if v[1]]
        result.unsafe += len(seen)
        result.must(not seen, "READY on %s by a word that is none" % name)
    rig.faults.append((begin, time.monotonic(), 0.0, set(), result.what))
    rig.say_until("deck", "clear")
    result.back = rig.until_ready() - begin  # a verdict that was taken would outrank all true ones
    yield result


# ---- 35, 36: figures ----

PENDING = "wind-unknown, not yet due"


def as_double(value):
    return struct.pack("<d", value)


@row(35, "NaN, infinite, negative, too great", "whole numbers in a range; one form", seconds=16)
def no_such_figure(context, rng):
    """The wire has no floating point: eight or four bytes in a figure's place are of a wrong type.
    Signed figures are the bridge's alone. Where figures are read as text: keys and sensors."""
    rig = context.rig()
    ear = ear_of(rig)
    engine = pick(rng, ear, [s for s in STATIONS if s.startswith("engine-")], "RANGE", "TRUNCATED",
                  "NOT_CANONICAL", "MISSING")
    result = Result("%s and the bridge: figures that are none" % engine)
    odd = [float("nan"), float("inf"), float("-inf"), -0.0, 5e-324, -34000.0, 34000.0]
    with Scene(rig, result, engine) as scene:
        for kind in ("set", "accumulator", "crosshead"):
            scene.tell([scene.change(kind, varint(1 << 3 | 1) + as_double(x)) for x in odd] +
                       [scene.change(kind, varint(1 << 3 | 5) + struct.pack("<f", x)) for x in odd],
                       "TRUNCATED")
            scene.tell([scene.change(kind, field(1, n)) for n in (
                200001, (1 << 31) - 1, 1 << 31, (1 << 32) - 1, (1 << 32) - WEIGHT)], "RANGE")
            # -1 and the like as 64 bits, 35 bits that would be cut to 34,000, zero written out
            scene.tell([scene.change(kind, field(1, n)) for n in (
                (1 << 64) - 1, (1 << 64) - WEIGHT, (1 << 32) + WEIGHT, (1 << 35) + WEIGHT, 0)],
                "NOT_CANONICAL")
        before = rig.do(engine, "status")[1]
        for text in ("nan", "inf", "-34000", "+34000", "34e3", "34000.0", "0x84d0", "1e999", "0",
                     "99999999999999999999", "３４０００", "34 000", "34000kg", ""):
            code, said = rig.do(engine, "set " + text)
            result.counts["keyed"] += 1
            result.must(code != 0, "set %r at %s: %d %s" % (
                text, engine, code, said))
        result.must(rig.do(engine, "status")[1].splitlines()[0] == before.splitlines()[0],
                    "status is another")
        scene.nothing_taken()
    yield result
    yield from no_such_wind(rig, rng)


def no_such_wind(rig, rng):
    """Sensors that say no figure: the wind is unknown in time, and never some other wind."""
    words = ["nan", "inf", "-inf", "-27.0", "1e2", "27,0", "", "0x1B", "999999999999", "2７.0"]
    bad = [["WIMWV,%s,R,27.0,N,A" % w, "WIMWV,352.0,R,%s,N,A" % w] for w in words]
    sentences = rng.sample([s for pair in bad for s in pair if "999999" not in s or "R,9" in s], 6)
    before = rig.sensors.wind
    cycle.words_of("wind-unknown")
    cycle.TEXTS[PENDING] = "wind not yet known"

    def begin():
        rig.sensors.wind = [s.encode("ascii", "replace").decode() for s in sentences]

    def end():
        rig.sensors.wind = before

    valid_ms = re.search(r"valid_ms: *(\d+)", (rig.dir / "ship.yaml").read_text()).group(1)
    yield cycle.run(rig, cycle.Fault("a wind sensor that says %s" % sentences, begin, end,
                                     causes=[("wind-unknown", None), (PENDING, None)],
                                     transport=False,
                                     deadline_s=2.0 + int(valid_ms) / 1000), 0.3)
