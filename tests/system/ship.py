# SPDX-License-Identifier: Apache-2.0
"""ship - real programs on loopback for the system tests.

A Ship is a copy of configs/demo with fresh keys and free ports in a folder of its own, and the
processes that run in it. Each process writes to a pipe that a thread reads into timed lines, so a
test waits for a line, never for a time. Everything that was started is stopped by pid.
"""

import json
import os
import pathlib
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import threading
import time

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))
BUILD = pathlib.Path(os.environ.get("TL_BUILD_DIR", SOURCE / "build"))
TRAPLINE = BUILD / "clients" / "trapline"
BROKER = BUILD / "broker" / "relay" / "trapline-broker"
VALIDATOR = BUILD / "broker" / "validator" / "trapline-validator"
RECORDER = BUILD / "broker" / "recorder" / "trapline-recorder"

STATIONS = ["engine-1", "engine-2", "engine-3", "engine-4", "deck", "approach", "platform",
            "primary", "bridge"]
# Everyone who has a say on the demo ship; the small ship of most tests has those above alone.
ALL_STATIONS = STATIONS + ["wires", "gear-officer", "tracks", "aid", "barricade", "safety"]
SMALL_OFF = ["all-of-wires", "all-of-tracks", "all-of-aid", "all-of-gear-officer",
             "all-of-barricade", "accumulator-pressure", "crosshead-gap", "over-trap-weight",
             "setting-light", "service-unknown", "engine-fault", "fluid-level", "arrest-unread",
             "wind-low", "crosswind-over", "deck-motion", "ship-not-steady", "not-manned",
             "all-of-mechanics"]
# What an engine room says once of its engine beside its gauges.
ENGINE_STATE = ("service in", "fluid battery", "fault none")
# A sanitizer build on two cores is slower; deadlines of the design are asserted by the programs'
# own words and by time stamps of lines, these limits only end a test that hangs.
PATIENCE_S = 20.0


GIVEN_PORTS = set()  # whoever was given one need not have bound it yet


def free_port(low=20000, high=32000):
    """A TCP port below the ephemeral range that nobody listens on, and that was not given before."""
    import random
    for _ in range(200):
        port = random.randrange(low, high)
        if port in GIVEN_PORTS:
            continue
        with socket.socket() as probe:
            try:
                probe.bind(("127.0.0.1", port))
                GIVEN_PORTS.add(port)
                return port
            except OSError:
                continue
    raise RuntimeError("no free port")


class Process:
    """One running program; its lines with the time at which each came."""

    def __init__(self, name, command, env, stdin=subprocess.DEVNULL):
        self.name = name
        self.lines = []
        self.changed = threading.Condition()
        self.process = subprocess.Popen([str(word) for word in command], env=env, stdin=stdin,
                                        stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
                                        text=True, bufsize=1, errors="replace")
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def read(self):
        for line in self.process.stdout:
            with self.changed:
                self.lines.append((time.monotonic(), line.rstrip("\n")))
                self.changed.notify_all()
        with self.changed:
            self.changed.notify_all()

    def mark(self):
        with self.changed:
            return len(self.lines)

    def wait_for(self, test, since=0, limit_s=PATIENCE_S):
        """The first (time, line) from `since` on for which test(line) holds."""
        until = time.monotonic() + limit_s
        at = since
        with self.changed:
            while True:
                while at < len(self.lines):
                    if test(self.lines[at][1]):
                        return self.lines[at]
                    at += 1
                left = until - time.monotonic()
                if left <= 0 or (self.process.poll() is not None and not self.reader.is_alive()):
                    raise AssertionError("%s: line not seen; last lines:\n  %s" % (
                        self.name, "\n  ".join(line for _, line in self.lines[-12:])))
                self.changed.wait(min(left, 0.2))

    def wait_text(self, text, since=0, limit_s=PATIENCE_S):
        return self.wait_for(lambda line: text in line, since, limit_s)

    def type(self, line):
        self.process.stdin.write(line + "\n")
        self.process.stdin.flush()

    def signal(self, number):
        if self.process.poll() is None:
            os.kill(self.process.pid, number)

    def kill(self):
        self.signal(signal.SIGKILL)
        self.process.wait()
        self.close()

    def close(self):
        self.reader.join()
        self.process.stdout.close()
        if self.process.stdin is not None:
            self.process.stdin.close()

    def end(self, limit_s=PATIENCE_S):
        self.signal(signal.SIGCONT)
        self.signal(signal.SIGTERM)
        try:
            code = self.process.wait(limit_s)
        except subprocess.TimeoutExpired:
            self.kill()
            raise AssertionError(self.name + " did not end on SIGTERM")
        self.close()
        return code


def sentence(body):
    """An NMEA sentence with its checksum (IEC 61162-1: exclusive or of the bytes in between)."""
    total = 0
    for byte in body.encode("ascii"):
        total ^= byte
    return "$%s*%02X\r\n" % (body, total)


class Sensors:
    """The ship's sensors: two datagrams of sentences a second, to the bridge's UDP port."""

    def __init__(self, port):
        self.port = port
        self.running = True
        self.wind = ["WIMWV,352.0,R,27.0,N,A"]
        self.thread = threading.Thread(target=self.send, daemon=True)
        self.thread.start()

    def send(self):
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as out:
            while self.running:
                bodies = ["HEHDT,000.0,T", "GPVTG,000.0,T,,M,12.0,N,22.2,K,A", "HEROT,0.0,A",
                          "IIXDR,A,0.4,D,PTCH,A,-1.1,D,ROLL,D,0.20,M,HEAVE"] + list(self.wind)
                out.sendto("".join(sentence(b) for b in bodies).encode("ascii"),
                           ("127.0.0.1", self.port))
                time.sleep(0.25)

    def stop(self):
        self.running = False
        self.thread.join()


def make_small(folder):
    """Leave the nine stations of the first recovery, and switch off what the others speak for."""
    path = folder / "stations.yaml"
    lines = []
    for line in path.read_text().splitlines():
        kind = re.search(r"kind: ([a-z-]+)", line)
        gone = kind and kind.group(1) in ALL_STATIONS[len(STATIONS):] + ["recorder"]
        if not gone and not line.startswith("override_by"):
            lines.append(re.sub(r", (voice_by: \[[^]]*\]|may_stop: true)", "", line))
    path.write_text("\n".join(lines) + "\n")
    path = folder / "ship.yaml"
    switch_off(path, SMALL_OFF, "not fitted")


def switch_off(path, rules, reason):
    """Put rules on the list of ship.yaml that are not judged."""
    off = "".join("\n  - {rule: %s, reason: %s}" % (rule, reason) for rule in rules)
    text = path.read_text().replace("rules_off: []", "rules_off:")
    path.write_text(text.replace("rules_off:", "rules_off:" + off))


def without_advice(ship):
    """For tests that are not about the last seconds: no advice to wave off."""
    switch_off(ship.dir / "ship.yaml", ["wave-off-advised"], "not under test")


def room_of(station):
    """The words that name a station on a command line."""
    kind, _, unit = station.partition("-")
    return ["engine", "--unit", unit] if kind == "engine" else [station]


class Asker:
    """Somebody at the socket of a station; whoever asks without waiting may hang up."""

    def __init__(self, ship, station):
        self.station = station
        self.line = socket.socket(socket.AF_UNIX)
        self.line.settimeout(PATIENCE_S)
        self.line.connect(str(ship.dir / "run" / (station + ".sock")))

    def ask(self, command):
        asked_ms = int(time.clock_gettime(time.CLOCK_BOOTTIME) * 1000)
        self.line.sendall(("do confirm %d %s\n" % (asked_ms, command)).encode())
        return self

    def hang_up(self):
        self.line.close()

    def answer(self):
        """(exit code, output)"""
        with self.line, self.line.makefile() as answer:
            told = answer.readlines()
        last = re.fullmatch(r"exit (\d+)\n", told[-1] if told else "")
        assert last, "%s -> no answer: %s" % (self.station, told)
        return int(last.group(1)), "".join(told[:-1])


class Ship:
    shell = ()  # words before each command of a shell: the host that it is on

    def __init__(self, edit=None, full=False):
        self.full = full
        self.names = ALL_STATIONS if full else STATIONS
        self.dir = pathlib.Path(tempfile.mkdtemp(prefix="trapline-"))
        self.running = {}
        self.sensors = None
        for path in (SOURCE / "configs" / "demo").glob("*.yaml"):
            shutil.copy(path, self.dir)
        self.ports = {}
        text = (self.dir / "bus.yaml").read_text()
        for demo in ("5751", "5752", "5753", "5754"):
            self.ports[demo] = free_port()
            text = text.replace(":" + demo, ":%d" % self.ports[demo])
        (self.dir / "bus.yaml").write_text(text)
        if not full:
            make_small(self.dir)
        if edit is not None:
            edit(self)
        self.env = dict(os.environ, TRAPLINE_CONFIG=str(self.dir))
        code, out = self.call("keys", "new", "-C", self.dir, "--all")
        assert code == 0, out

    # ---- programs ----

    def start(self, name, *command, stdin=subprocess.DEVNULL, env=None):
        process = Process(name, command, env or self.env, stdin)
        self.running[name] = process
        return process

    def brokers(self, *names):
        for name in names or ("bus-a", "bus-b"):
            self.start(name, BROKER, "-C", self.dir, "--bus", name).wait_text("ready")

    def validators(self, *names):
        for name in names or ("validator-1", "validator-2"):
            self.start(name, VALIDATOR, "-C", self.dir, "--node", name).wait_text("ready")

    def recorders(self, *names):
        for name in names or ("recorder-1",):
            self.start(name, RECORDER, "-C", self.dir, "--node", name).wait_text("ready")

    def station_words(self, name, folder):
        """The command line of that station; the bridge's has the port that the sensors send to."""
        words = [TRAPLINE, *room_of(name), "-C", folder, "--stay"]
        if name == "bridge":
            port = free_port()
            words += ["--nmea", "udp://127.0.0.1:%d" % port]
            if self.sensors is None:
                self.sensors = Sensors(port)
            self.sensors.port = port
        return words

    def station(self, name, folder=None, extra=(), stdin=subprocess.DEVNULL):
        words = self.station_words(name, folder or self.dir)
        process = self.start(name, *words, *extra, stdin=stdin)
        process.wait_text("ready, incarnation")
        return process

    def stations(self, *names):
        for name in names or self.names:
            self.station(name)

    def watch(self, name="watch", folder=None):
        return self.start(name, TRAPLINE, "watch", "--json", "-C", folder or self.dir)

    def close(self):
        problems = []
        if self.sensors is not None:
            self.sensors.stop()
        for name, process in reversed(list(self.running.items())):
            try:
                code = process.end()
                if code not in (0, 1, 3, -signal.SIGKILL, -signal.SIGTERM):
                    problems.append("%s ended with %s: %s" % (
                        name, code, "\n".join(line for _, line in process.lines[-8:])))
            except AssertionError as error:
                problems.append(str(error))
        shutil.rmtree(self.dir, ignore_errors=True)
        assert not problems, "\n".join(problems)

    def __enter__(self):
        return self

    def __exit__(self, kind, error, trace):
        if kind is not None:
            for name, process in self.running.items():
                print("---- %s" % name, file=sys.stderr)
                for at, line in process.lines[-15:]:
                    print("     %.3f %s" % (at, line), file=sys.stderr)
        self.close()

    # ---- what people do ----

    def call(self, *words, limit_s=PATIENCE_S):
        """Run `trapline words...` to its end; (exit code, output)."""
        done = subprocess.run([*self.shell, str(TRAPLINE), *[str(w) for w in words]], env=self.env,
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, text=True, timeout=limit_s)
        return done.returncode, done.stdout

    def do(self, station, command, confirm=True, folder=None):
        return self.call(*room_of(station), "--do", command, "-C", folder or self.dir,
                         *(["--confirm"] if confirm else []))

    def ask(self, station, command):
        """As do(), but over the socket that --do uses (clients/station/local.h): a shell to start
        for each of a hundred words is most of the time of a test under the sanitizers."""
        return Asker(self, station).ask(command).answer()

    def say(self, station, command):
        """Say it in the room of that station, and have it taken."""
        code, out = (self.do if self.shell else self.ask)(station, command)
        assert code == 0, "%s: %s -> %d %s" % (station, command, code, out)
        return out

    def show(self):
        """(exit code, the object that show --json prints, or None)."""
        code, out = self.call("show", "--json", "-C", self.dir)
        try:
            return code, json.loads(out)
        except json.JSONDecodeError:
            return code, None

    def until_show(self, code, rules=None, limit_s=PATIENCE_S):
        """Ask `show` until it exits with that code (and exactly those causes "rule:station").

        Advice to wave off depends on the seconds since the pilot's call, and picture-lost too: they
        are looked at only where they are asked for.
        """
        timed = ("wave-off-advised", "picture-lost")
        ignored = [t for t in timed if not any(r.startswith(t) for r in rules or [])]
        until = time.monotonic() + limit_s
        while True:
            got, picture = self.show()
            causes = sorted("%s:%s" % (c["rule"], c["station"] or "")
                            for c in picture["causes"]
                            if c["rule"] not in ignored) if picture else None
            if got == code and (rules is None or causes == sorted(rules)):
                return picture
            assert time.monotonic() < until, "show: exit %s, causes %s" % (got, causes)

    def until_alerts(self, want, limit_s=PATIENCE_S):
        """Ask `show` until exactly those alerts ("rule:station") are active."""
        until = time.monotonic() + limit_s
        while True:
            picture = self.show()[1]
            alerts = sorted("%s:%s" % (a["rule"], a["station"])
                            for a in picture["alerts"]
                            if a["state"] != "returned" and
                            a["rule"] not in ("wave-off-advised", "picture-lost")) if picture else None
            if alerts == sorted(want):
                return picture
            assert time.monotonic() < until, alerts

    def heard(self, *names):
        """Wait until those stations show a verdict: then they hear a validator."""
        for name in names or self.names:
            self.running[name].wait_text("NOT READY")

    def all_up(self):
        self.brokers()
        self.validators()
        self.stations()
        self.heard()

    def open_recovery(self):
        self.say("primary", "open")
        self.say("primary", "no foul")
        self.say("platform", "no foul")
        if self.full:
            self.say("gear-officer", "no foul")
            self.say("safety", "no foul")
            self.standing_words()

    def standing_words(self, keyed_engines=(1, 2, 3, 4)):
        """What is said once: the deck edge, gauges, cables, barricade."""
        self.say("wires", "rig all")
        self.say("wires", "sheave all up")
        self.say("wires", "pendant all good 2.75 4.90")
        self.say("wires", "stanchions lowered")
        for n in (1, 2, 3, 4):
            if n in keyed_engines:
                self.say("engine-%d" % n, "accumulator 405")
                self.say("engine-%d" % n, "gap 6.50")
            for words in ENGINE_STATE:
                self.say("engine-%d" % n, words)
            self.say("gear-officer", "cable %d 20" % n)
            self.say("gear-officer", "inspected %d good Rowan" % n)
            self.say("gear-officer", "pendant-life %d 20" % n)
        for name in self.names:
            self.say(name, "watch Ash")
        self.say("barricade", "barricade ready")
        self.say("barricade", "power 1500 0")

    def order(self, side, type_, weight, **words):
        """Primary orders it, and every station says its words for it."""
        self.say("primary", "order %d %s %d" % (side, type_, weight))
        self.words_for(side, type_, weight, **words)

    def words_for(self, side, type_, weight, engines=(1, 2, 3, 4), repeaters=True):
        for n in engines:
            self.say("engine-%d" % n, "set %d" % weight)
            self.say("engine-%d" % n, "battery in")
        if repeaters:
            self.say("primary", "repeaters %d" % weight)
        if self.full:
            self.say("wires", "reset")
            self.say("tracks", "secured")
            self.say("aid", "aid %s 3.50 3" % type_)
            self.say("approach", "inbound %d %s %d" % (side, type_, weight - 500))
        self.say("deck", "clear")
        self.say("platform", "call %d %s" % (side, type_))
        self.say("platform", "hook down")

    def make_ready(self):
        """Everything up, one plover ordered and all its words said; READY."""
        self.all_up()
        self.until_show(1)
        self.open_recovery()
        self.order(204, "plover", 34000)
        self.until_show(0)


def causes(line):
    """Causes of one JSON line of watch, or None when it is not a verdict."""
    try:
        row = json.loads(line)
    except json.JSONDecodeError:
        return None
    return row if row.get("kind") == "verdict" else None
