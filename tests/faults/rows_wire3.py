# SPDX-License-Identifier: Apache-2.0
"""rows_wire3 - floods at the ports of the buses (18, 23 to 25).

While a flood lasts a FOUL by a key is on all screens within 150 ms, a station that is killed is
NOT READY within 1.0 s, and READY comes back: those who have joined do not notice the flood.
"""

import contextlib
import resource
import selectors
import socket
import threading
import time

import nacl.bindings
import zmq
import zmq.utils.z85 as z85

import cycle
import faults
import rig as rigs
from rows_wire import clear, foul, now, still_ready
from ship import BROKER, STATIONS
from table import Result, row
from witness import Witness, ship_with

GREETING = b"\xff" + bytes(7) + b"\x01\x7f\x03"       # the first 11 of 64 bytes of ZMTP 3
BY_KEY_S = 0.15


def room_for_files():
    soft, hard = resource.getrlimit(resource.RLIMIT_NOFILE)
    resource.setrlimit(resource.RLIMIT_NOFILE, (min(hard, 8192), hard))


class Crowd:
    """Connections to ports, each opened anew when the other side closes it: `first` is what they
    say, once; how many they were and how long each was borne."""

    def __init__(self, ports, each, first):
        room_for_files()
        self.ports, self.each, self.first = list(ports) * each, each, first
        self.selector = selectors.DefaultSelector()
        self.opened = self.closed = 0
        self.borne = []
        self.stopping = False
        self.full = threading.Event()
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def open(self, port):
        peer = socket.socket()
        peer.setblocking(False)
        with contextlib.suppress(BlockingIOError):
            peer.connect(("127.0.0.1", port))
        self.opened += 1
        self.selector.register(peer, selectors.EVENT_READ | selectors.EVENT_WRITE,
                               (port, now()))

    def turn(self, key, events):
        peer, (port, since) = key.fileobj, key.data
        with contextlib.suppress(OSError):
            if events & selectors.EVENT_WRITE:
                words = self.first()
                if words:
                    peer.send(words)
                self.selector.modify(peer, selectors.EVENT_READ, (port, now()))
                return
            if peer.recv(4096):
                return
        self.selector.unregister(peer)
        peer.close()
        self.closed += 1
        self.borne.append(now() - since)
        self.waiting.append(port)

    def run(self):
        self.waiting = list(self.ports)
        while not self.stopping:
            for port in self.waiting[:20]:  # so many a turn, else nobody else gets a turn
                self.open(port)
            del self.waiting[:20]
            if self.opened >= len(self.ports):
                self.full.set()
            for key, events in self.selector.select(0.02):
                self.turn(key, events)
            time.sleep(0.005)

    def stop(self):
        self.stopping = True
        self.thread.join()
        for key in list(self.selector.get_map().values()):
            key.fileobj.close()
        self.selector.close()


@contextlib.contextmanager
def crowd(ports, each, first):
    people = Crowd(ports, each, first)
    assert people.full.wait(20), "no crowd"
    try:
        yield people
    finally:
        people.stop()


@contextlib.contextmanager
def witness(rig):
    seen = Witness(rig)
    try:
        while len(seen.counters) < 2:
            time.sleep(0.02)
        yield seen
    finally:
        seen.stop()


def by_key(rig, words):
    result = cycle.run(rig, faults.foul(rig, "deck"), 0.0)
    result.what = words + ": " + result.what
    result.must(max(result.times, default=9) <= BY_KEY_S,
                "%s: FOUL on a screen after %.0f ms" % (words, 1000 * max(result.times, default=9)))
    return result


def in_a_flood(rig, rng, words, station=None):
    """Both of what must hold during a flood."""
    yield by_key(rig, words)
    name = station or rng.choice([s for s in STATIONS if s not in ("deck", "primary")])
    result = cycle.run(rig, faults.kill(rig, name), rng.uniform(0.1, 0.4))
    result.what = words + ": " + result.what
    yield result


def counted(seen, name, before=None):
    """That counter of all buses together, less what it was."""
    total = sum(getattr(c, name) for c in list(seen.counters.values()))
    return total - before if before is not None else total


def after_a_beat():
    time.sleep(1.2)  # a bus tells its counters once a second


# ---- one bus honest, the other not ----

@row(18, "frames reordered and doubled on one of two paths", "sequence; copies are dropped",
     seconds=16)
def two_paths(context, rng):
    """A rogue bus doubles, delays and shuffles; the honest one delivers: nothing is lost, resent
    or applied twice, and READY stays."""
    bad = rng.choice(["bus-a", "bus-b"])
    with ship_with(context, (bad,)) as ship:
        result = Result("%s shuffles, doubles and delays" % bad)
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        way = rng.choice(["shuffle", "echo"])
        if way == "shuffle":
            ship.rule("shuffle", "", window=rng.randint(5, 60))
        else:
            ship.rule("echo", "", times=rng.randint(1, 3), ms=rng.randint(100, 400))
        since = now()
        time.sleep(1.5)
        said = [ship.do("approach", "inbound %d plover %d" % (500 + n, 30000 + n))
                for n in range(6)]
        result.must(all(code == 0 for code, _ in said), "not said: %s" % said)
        still_ready(result, screens, marks, way)
        until = now() + 5
        while any(state["approach"][1] < len(said) and now() < until
                  for state in ship.witness.state(after=now()).values()):
            pass
        changes = {}
        for (node, life, sequence, raw), times in list(ship.witness.marked.items()):
            if node == "approach":
                changes.setdefault((life, sequence), set()).add(raw)
                result.counts["copies"] += times - 1
        result.counts["resent"] = sum(ship.listener.resent_for_a_bus(("approach",) + key)
                                      for key in changes)
        result.must(result.counts["resent"] == 0, "%d resent" % result.counts["resent"])
        result.must(result.counts["copies"] >= len(changes), "one path alone")
        for name, state in ship.witness.state(after=now()).items():
            result.must(state["approach"][1] == len(changes),
                        "%s applied %s of %d" % (name, state["approach"], len(changes)))
        result.must(since < now(), "time")
        result.counts.update(ship.counts())
        yield result
        result = Result("FOUL over %s" % way)
        screens, marks, begin = foul(ship, result, limit_s=BY_KEY_S)
        time.sleep(1.0)
        clear(ship, result, screens, marks, begin, "an old CLEAR by the other path")
        yield result


# ---- floods ----

@row(23, "half a handshake, 250 times at each port", "a handshake has 1.5 s", seconds=22)
def slow_handshakes(context, rng):
    rig = context.rig()
    with witness(rig) as seen:
        before = counted(seen, "handshakes_refused")
        part = GREETING[:rng.randint(0, len(GREETING))]
        with crowd(rig.ports.values(), 250, lambda: part) as people:
            yield from in_a_flood(rig, rng, "250 half handshakes a port")
        after_a_beat()
        result = Result("they are turned away")
        result.counts["opened"], result.counts["turned away"] = people.opened, people.closed
        result.counts["counted"] = counted(seen, "handshakes_refused", before)
        result.must(people.closed >= 1000, "%d of %d closed" % (people.closed, people.opened))
        slowest = sorted(people.borne)[int(0.99 * len(people.borne))] if people.borne else 99
        result.must(slowest <= 3.0, "borne for %.1f s" % slowest)
        result.must(result.counts["counted"] >= 1000, "counted: %s" % dict(result.counts))
        yield result


class TightRig(rigs.Rig):
    """Its brokers may open so many files and no more."""

    FILES = 100

    def brokers(self, *names):
        for name in names or ("bus-a", "bus-b"):
            self.start(name, "prlimit", "--nofile=%d:%d" % (self.FILES, self.FILES), BROKER, "-C",
                       self.dir, "--bus", name).wait_text("ready")


@row(24, "connection flood until descriptors are used up", "who has joined is served; BRK-007",
     seconds=24)
def no_descriptors(context, rng):
    """200 connections to each port of brokers that may open 100 files."""
    context.drop()
    kept, context.make_rig = context.make_rig, TightRig
    try:
        rig = context.rig()
    finally:
        context.make_rig = kept
    marks = {name: rig.running[name].mark() for name in ("bus-a", "bus-b")}
    name = rng.choice([s for s in STATIONS if s not in ("deck", "primary")])
    people = Crowd(rig.ports.values(), 200, lambda: b"")
    try:
        for bus, mark in marks.items():
            rig.running[bus].wait_text("no room for more connections", mark)
        yield by_key(rig, "no descriptors left")

        def end():
            people.stop()
            rig.restart(name)

        result = cycle.run(rig, cycle.Fault("no descriptors left: %s killed" % name,
                                            lambda: rig.kill(name), end, causes=faults.lost(name),
                                            blind=[name]), rng.uniform(0.2, 1.0))
        result.counts["opened"], result.counts["turned away"] = people.opened, people.closed
        result.must(result.back <= 15.0, "in again %.1f s after the flood" % result.back)
        yield result
    finally:
        if not people.stopping:
            people.stop()
        context.drop()


def resident_kib(process):
    for line in open("/proc/%d/status" % process.process.pid):
        if line.startswith("VmRSS"):
            return int(line.split()[1])
    return 0


def subscriber(seen, bus):
    """A socket with the viewer's key that forgets none of its subscriptions, not yet connected."""
    made = seen.context.socket(zmq.SUB)
    made.sndhwm = made.linger = 0
    made.curve_serverkey = z85.encode(nacl.bindings.crypto_sign_ed25519_pk_to_curve25519(
        seen.folder.keys[(bus["id"], seen.folder.newest(bus["id"]))]))
    made.curve_publickey, made.curve_secretkey = seen.curve
    return made


@row(25, "100,000 subscriptions by a viewer's key", "counted and told; memory bounded", seconds=24)
def subscriptions(context, rng):
    rig = context.rig()
    with witness(rig) as seen:
        result = Result("memory of the brokers")
        before = {b: resident_kib(rig.running[b]) for b in ("bus-a", "bus-b")}
        marks = {b: rig.running[b].mark() for b in before}
        sockets = []
        for bus in seen.folder.buses:
            sockets.append(subscriber(seen, bus))
        try:
            for number in range(100000):
                for socket_ in sockets:
                    socket_.subscribe(b"beat/%d-%06d/" % (rng.randrange(1000), number))
            for bus, socket_ in zip(seen.folder.buses, sockets):
                socket_.connect(bus["egress"])
            for bus, mark in marks.items():
                rig.running[bus].wait_text("more than all nodes need", mark)
            yield from in_a_flood(rig, rng, "100,000 subscriptions")
            after_a_beat()
            result.counts["held"] = counted(seen, "subscriptions")
            for bus, kib in before.items():
                grown = resident_kib(rig.running[bus]) - kib
                result.counts["KiB"] = max(result.counts["KiB"], grown)
                result.must(grown < 128 * 1024, "%s has grown by %d KiB" % (bus, grown))
        finally:
            for socket_ in sockets:
                socket_.close()
        until = now() + 20
        while counted(seen, "subscriptions") > 1000 and now() < until:
            time.sleep(0.1)
        result.counts["left"] = counted(seen, "subscriptions")
        result.must(result.counts["left"] < 1000, "%d still held" % result.counts["left"])
        rig.until_ready()
        yield result
