# SPDX-License-Identifier: Apache-2.0
"""rows_wire5 - ports that are taken, another ship's nodes, turned bits and noise (28 to 31)."""

import random
import socket
import subprocess
import time

import cycle
import faults
from rows_wire import now, ready_or, still_ready
from rows_wire3 import after_a_beat, by_key, counted, crowd, in_a_flood, witness
from screens import Screen
from ship import BROKER, STATIONS, Ship, free_port
from table import Result, row

OLD = [b"\x01\x00", b"\x06\x00hello", b"\xff" + bytes(8) + b"\x7f\x01", b"\x01\x00\x02\x00x",
       b"GET / HTTP/1.1\r\n\r\n", b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03"]


def ended(command, limit_s=10):
    """(exit code, what it printed) of a program that must not come up."""
    done = subprocess.run([str(w) for w in command], stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, text=True, timeout=limit_s, check=False)
    return done.returncode, done.stdout


@row(28, "port in use, wrong address", "exit 1 or 78, a plain sentence, no half start", seconds=10)
def wrong_port(context, rng):
    rig = context.rig()
    rig.until_ready()
    result = Result("brokers that can not come up")
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    folder = rig.dir / "elsewhere"
    folder.mkdir(exist_ok=True)
    for path in rig.dir.glob("*.yaml"):
        if path.name != "bus.yaml" and not (folder / path.name).exists():
            (folder / path.name).symlink_to(path)
    text = (rig.dir / "bus.yaml").read_text()
    for key in ("identity", "state", "run", "record"):
        text = text.replace("%s_dir: %s" % (key, key), "%s_dir: %s" % (key, rig.dir / key))
    bus, ingress, egress = rng.choice([("bus-a", "5751", "5752"), ("bus-b", "5753", "5754")])
    taken = [("%s:%d" % ("127.0.0.1", rig.ports[p])) for p in (ingress, egress)]
    free = free_port()
    for words, ours, code, sentence in (
            ("both in use", taken, 1, "is in use by another program"),
            ("the second in use", ["127.0.0.1:%d" % free, taken[1]], 1,
             "is in use by another program"),
            ("not an address here", ["192.0.2.7:%d" % free, taken[1]], 1,
             "is not an address of this host"),
            ("no number", ["127.0.0.1:port", taken[1]], 78, "bus.yaml"),
            ("port out of range", ["127.0.0.1:70000", taken[1]], 78, "bus.yaml")):
        (folder / "bus.yaml").write_text(text.replace(taken[0], ours[0]).replace(taken[1], ours[1]))
        got, out = ended([BROKER, "-C", folder, "--bus", bus])
        result.counts["tried"] += 1
        result.must(got == code and sentence in out and "ready" not in out,
                    "%s: %d %s" % (words, got, out))
        with socket.socket() as probe:  # nothing of it is left behind
            probe.bind(("127.0.0.1", free))
    still_ready(result, screens, marks, "a second broker that did not start")
    yield result
    yield by_key(rig, "after it")


@row(29, "cable to another ship's net", "CURVE; key not in the list: 0 accepted", seconds=20)
def other_ship(context, rng):
    """Nodes of a second ship reach the buses of the first: once with their own list of keys, once
    with the public keys of its buses."""
    rig = context.rig()
    rig.until_ready()
    knows = rng.choice([False, True])
    result = Result("nodes of another ship, the keys of the buses %s to them" % (
        "known" if knows else "not known"))
    with witness(rig) as seen, Ship() as other:
        (other.dir / "bus.yaml").write_text((rig.dir / "bus.yaml").read_text())
        if knows:
            ours = {line.split(",")[0]: line
                    for line in (rig.dir / "keys.yaml").read_text().splitlines() if "node:" in line}
            lines = (other.dir / "keys.yaml").read_text().splitlines()
            (other.dir / "keys.yaml").write_text("\n".join(
                ours[line.split(",")[0]] if "node: bus-" in line else line
                for line in lines) + "\n")
        screens = rig.screens()
        marks, mark = cycle.marks_of(screens), rig.running["watch"].mark()
        buses = {name: rig.running[name].mark() for name in ("bus-a", "bus-b")}
        before = counted(seen, "handshakes_refused")
        other.validators("validator-1")
        other.stations("deck", "platform")
        watch = other.watch()
        words = "our key is not known there" if knows else "its broker has another key"
        for process in (other.running["deck"], watch):
            process.wait_text(words)
        if knows:
            for name, since in buses.items():
                rig.running[name].wait_text("key not in keys.yaml", since)
        time.sleep(1.0)
        after_a_beat()
        still_ready(result, screens, marks, result.what)
        result.must(not [line for _, line in rig.running["watch"].lines[mark:] if "alert" in line],
                    "alerts on the first ship")
        refused = counted(seen, "handshakes_refused", before)
        result.counts["refused"] = refused
        result.must(refused >= 8, "%d handshakes counted" % refused)
        for name in ("deck", "platform"):
            shown = Screen(other.running[name]).shown()
            result.counts["accepted"] += sum(1 for v in shown if v[1])
            result.must(not any(v[1] for v in shown), "READY on the other ship's " + name)
        code, _ = other.show()
        result.must(code == 3, "the other ship hears a verdict: exit %d" % code)
    yield result
    yield by_key(rig, "after it")


@row(30, "bits turned on the TCP stream", "CURVE: the connection is dropped", seconds=18)
def bits_turned(context, rng):
    """Nothing of a turned stream gets through; the node is back by itself."""
    rig = context.rig()
    rig.until_ready()
    node = rng.choice(STATIONS + list(faults.VALIDATORS))
    with witness(rig) as seen:
        result = Result("%s: one bit in some hundred bytes turned" % node)
        screens, mark = rig.screens(), rig.running["watch"].mark()
        marks, before, since = cycle.marks_of(screens), seen.state(after=now()), now()
        rig.strait.weather(node + "/*", rng.choice(["up", "down", "both"]), "flip",
                           rng.randint(200, 20000))
        time.sleep(rng.uniform(2.0, 4.0))
        causes = faults.lost(node) + faults.NO_VALIDATOR + [
            ("station-lost", None)] + ([("validators-differ", None)] if node != "watch" else [])
        ready_or(result, screens, marks, causes, "bits turned")
        over = now()
        rig.faults.append((since, over, None, {node}, result.what))
        rig.strait.calm(node + "/*")
        result.back = rig.until_ready() - over
        result.must(result.back <= 9.0, "READY %.1f s after it" % result.back)
        moved = [m for m in seen.moved(before, since) if m[1] != node]
        result.counts["accepted"] = len(moved)
        result.must(not moved, "taken: %s" % moved[:2])
        refused = [line for _, line in rig.running["watch"].lines[mark:]
                   if "refused-publisher" in line]
        result.must(not refused, "beyond CURVE: %s" % refused[:1])
    yield result


def noise(rng):
    def words():
        kind = rng.random()
        if kind < 0.4:
            return bytes(rng.randrange(256) for _ in range(rng.randint(1, 400)))
        if kind < 0.7:
            return rng.choice(OLD) + bytes(rng.randrange(256) for _ in range(rng.randint(0, 60)))
        # a whole greeting, of a mechanism that may not be used, and then a frame
        name = rng.choice([b"NULL", b"PLAIN", b"CURVE", b"GSSAPI", b"none"])
        greeting = b"\xff" + bytes(8) + b"\x7f\x03" + bytes([rng.randint(0, 1)]) + name.ljust(
            20, b"\0") + bytes([rng.randint(0, 1)]) + bytes(31)
        return greeting + b"\x04\x19\x05READY\x0bSocket-Type\0\0\0\x03PUB" + b"\0\x05hello"
    return words


@row(31, "1,000 connections of noise and of old framing", "CURVE: 0 delivered", seconds=24)
def garbage(context, rng):
    rig = context.rig()
    with witness(rig) as seen:
        failed, refused = counted(seen, "handshakes_refused"), counted(seen, "refused")
        mark = rig.running["watch"].mark()
        with crowd(rig.ports.values(), 50, noise(random.Random(rng.random()))) as people:
            yield from in_a_flood(rig, rng, "noise at the ports")
            until = now() + 10
            while people.closed < 1000 and now() < until:
                time.sleep(0.05)
        after_a_beat()
        result = Result("noise is turned away")
        result.counts["tried"], result.counts["closed"] = people.opened, people.closed
        result.counts["counted"] = counted(seen, "handshakes_refused", failed)
        result.counts["delivered"] = counted(seen, "refused", refused)
        result.must(people.closed >= 1000, "%d connections" % people.closed)
        result.must(result.counts["delivered"] == 0, "delivered to the program")
        result.must(result.counts["counted"] >= 800, "counted %d" % result.counts["counted"])
        result.must(not [line for _, line in rig.running["watch"].lines[mark:]
                         if "refused-publisher" in line], "an alert of it")
        rig.until_ready()
        yield result
