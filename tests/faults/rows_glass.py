# SPDX-License-Identifier: Apache-2.0
"""rows_glass - terminals: a screen that is gone, hang-ups, signals, odd sizes and kinds (10 to 12,
71, 72). Keys and entries stand in rows_glass2, alerts and commands from a shell in rows_glass3."""

import os
import pty
import select
import signal
import subprocess
import termios
import threading
import time

from busclient import Client, Folder
import cycle
import faults
from screens import TerminalProcess
from ship import STATIONS, TRAPLINE
from table import Result, row

TYPISTS = [s for s in STATIONS if s != "bridge"]  # the bridge is told by its sensors
SAID_S = 0.15    # a word said by a key is on every screen
ANSWER_S = 3.0   # a station that does not answer a line in this time is broken
OUTCOMES = ("accepted by", "REFUSED", "NOT CONFIRMED", "NOT SAID", "stands as said before")


class Glass(TerminalProcess):
    """A program on a terminal that is its own, so that its size, a hang-up and the end of the
    terminal reach it as in life; or, with pipe=True, on a pipe whose reader can go away."""

    def __init__(self, name, command, env, size=(24, 80), pipe=False):
        self.name = name
        self.lines = []
        self.bells = 0
        self.odd = bytearray()  # bytes that a plain terminal must never be sent
        self.shut = False
        self.changed = threading.Condition()
        words = [str(word) for word in command]
        env = dict(env, TERM="dumb")  # lines; pages are looked at in tests/screens
        if pipe:
            self.master, out = os.pipe()
            self.process = subprocess.Popen(words, env=env, stdin=subprocess.PIPE, stdout=out,
                                            stderr=out)
        else:
            self.master, out = pty.openpty()
            settings = termios.tcgetattr(out)
            settings[3] &= ~termios.ECHO
            termios.tcsetattr(out, termios.TCSANOW, settings)
            termios.tcsetwinsize(out, size)
            self.process = subprocess.Popen(["setsid", "--ctty"] + words, env=env, stdin=out,
                                            stdout=out, stderr=out)
        os.close(out)
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def read(self):
        rest = b""
        while not self.shut:
            if not select.select([self.master], [], [], 0.05)[0]:
                continue
            try:
                data = os.read(self.master, 65536)
            except OSError:
                break
            if not data:
                break
            with self.changed:
                self.bells += data.count(b"\a")
                self.odd += bytes(c for c in data if not (32 <= c < 127 or c in b"\r\n\a"))
                *whole, rest = (rest + data.replace(b"\a", b"")).split(b"\n")
                for line in whole:
                    self.lines.append((time.monotonic(),
                                       line.decode("utf-8", "replace").rstrip("\r")))
                self.changed.notify_all()
        with self.changed:
            self.changed.notify_all()

    def type(self, line):
        self.put((line + "\n").encode())

    def put(self, data):
        """These bytes, as fast as the terminal takes them."""
        if self.process.stdin is not None:
            self.process.stdin.write(data)
            self.process.stdin.flush()
        while self.process.stdin is None and data:
            data = data[os.write(self.master, data[:1024]):]

    def look_away(self):
        """The reader's side is closed: of a terminal, its master; then the kernel hangs it up."""
        self.shut = True
        self.reader.join()
        if self.master >= 0:
            os.close(self.master)
        self.master = -1

    def close(self):
        self.reader.join(5)
        self.look_away()
        if self.process.stdin is not None:
            self.process.stdin.close()


def on_glass(rig, name, env=None, **more):
    """That station on a terminal (or pipe) of this kind, its words said, the ship READY."""
    words = [TRAPLINE] + (["engine", "--unit", name[7:]] if name.startswith("engine-") else [name])
    words += ["-C", rig.folder(name), "--stay"]
    rig.kill(name)
    rig.ended.append(rig.running[name])
    rig.running[name] = Glass(name, words, dict(rig.node_env(name), **(env or {})), **more)
    rig.running[name].wait_text("ready, incarnation")
    rig.words_again(name)
    rig.until_ready()
    return rig.running[name]


def has_glass(rig, name):
    """The one that an earlier row has left, or a new one."""
    process = rig.running[name]
    return process if type(process) is Glass and process.process.poll() is None and \
        process.master >= 0 else on_glass(rig, name)


def ask(process, line, *wanted, limit_s=ANSWER_S):
    """Type a line; the first line after it that has one of those words."""
    mark = process.mark()
    process.type(line)
    return process.wait_for(lambda text: any(w in text for w in wanted), mark, limit_s)[1]


def say(process, line):
    """Type a line toward READY, read the read-back, confirm it; (read-back, outcome)."""
    read_back = ask(process, line, "read back:")
    return read_back, ask(process, "confirm", *OUTCOMES)


def changes(rig, name):
    """How many changes the present life of a station has sent to the buses."""
    _, line = rig.running[name].wait_text("ready, incarnation")
    life = int(line.split("incarnation")[1].split()[0].strip(",."))
    return len(rig.listener.said[(name, life)])


def count_of(rig, name, before, wanted, limit_s=2.0):
    """Changes since `before`, once there are `wanted`; a moment is left for one too many."""
    until = time.monotonic() + limit_s
    while changes(rig, name) - before < wanted and time.monotonic() < until:
        time.sleep(0.02)
    time.sleep(0.3)
    return changes(rig, name) - before


def none_ready(result, screens, marks, what):
    """No screen has shown READY since its mark."""
    for name, screen in screens.items():
        shown = [v for v in screen.shown(marks[name]) if v[1]]
        result.unsafe += len(shown)
        result.must(not shown, "%s: READY on %s" % (what, name))


def quick_foul(result, rig, name, what):
    """FOUL by one line at that station: how long until each screen has it; then CLEAR again."""
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    begin = time.monotonic()
    rig.type(name, "foul person")
    cycle.wait_not_ready(screens, marks, begin + 1.5)
    for other, screen in screens.items():
        first = cycle.first_not_ready(screen, marks[other])
        took = first[0] - begin if first else 9.9
        result.reported.append(took)
        result.times.append(took)
        result.must(took <= SAID_S, "%s: FOUL on %s after %.3f s" % (what, other, took))
        result.unsafe += 1 if took > 1.0 else 0
        result.named[0] += 1 if first and cycle.names(first[2][0], [("line-crossed", name)]) else 0
        result.named[1] += 1
    result.must(result.named[0] == result.named[1], what + ": FOUL not named as the cause")
    rig.say_until(name, "clear" if name == "deck" else "no foul")
    rig.until_ready()


def settle(screens, ready, limit_s=1.0):
    """Whether every screen has come to that verdict in time."""
    until = time.monotonic() + limit_s
    while any(screen.ready() != ready for screen in screens.values()):
        if time.monotonic() > until:
            return False
        process = next(iter(screens.values())).process
        with process.changed:
            process.changed.wait(0.01)
    return True


# ---- a screen that is gone ----

@row(10, "terminal or pipe of a station closed", "who has no screen is not live", seconds=12)
def screen_closed(context, rng):
    """Nobody sees what that station shows: it must not count as a pair of eyes. Others go on."""
    rig = context.rig()
    for what, pipe in rng.sample([("terminal", False), ("pipe", True)], 2):
        name = rng.choice(TYPISTS)
        glass = on_glass(rig, name, pipe=pipe)
        fault = cycle.Fault("%s of %s closed" % (what, name), glass.look_away,
                            lambda: again(rig, name), causes=faults.lost(name), blind=[name])
        result = cycle.run(rig, fault, rng.uniform(0.3, 0.8))
        result.counts["ended by it"] = 1 if glass.process.returncode != -signal.SIGKILL else 0
        yield result


def again(rig, name):
    if rig.running[name].process.poll() is None:
        rig.kill(name)
    rig.restart(name)


@row(11, "hang-up", "keys are read, on a terminal too; the terminal's own end ends the station",
     seconds=16)
def hang_up(context, rng):
    """Sent by somebody it asks for keys.yaml to be read again, which disturbs nobody, however often.
    Sent by the system, when the terminal is gone, it is the end of the station, shown as lost."""
    rig = context.rig()
    name = rng.choice(TYPISTS)
    glass = on_glass(rig, name)
    nodes = list(faults.VALIDATORS) + ["bus-a", "bus-b", "recorder-1", "watch"] + STATIONS
    nodes = rng.sample(nodes, len(nodes))
    times = rng.randint(1, 20)
    marks = {node: rig.running[node].mark() for node in nodes}

    def all_of_them():
        for _ in range(times):
            for node in nodes:
                rig.running[node].signal(signal.SIGHUP)

    result = cycle.run(rig, cycle.Fault("%d hang-ups of everybody" % times, all_of_them,
                                        lambda: None, deadline_s=None), 1.5)
    dead = [n for n in nodes if rig.running[n].process.poll() is not None]
    result.must(not dead, "ended by a hang-up: %s" % dead)
    for node in nodes:
        rig.running[node].wait_text("keys.yaml read again", marks[node], 3)
    result.counts["hang-ups"] = times * len(nodes)
    quick_foul(result, rig, "deck", "after hang-ups")
    yield result
    fault = cycle.Fault("terminal of %s hung up" % name, glass.look_away,
                        lambda: again(rig, name), causes=faults.lost(name), blind=[name])
    yield cycle.run(rig, fault, rng.uniform(0.3, 0.8))


class Beats:
    """Counts beats as they come, with a key of a viewer."""

    def __init__(self, ship):
        self.at = {}
        self.client = Client(Folder(ship.dir), "viewer", listen=("beat/", "verdict/"))
        self.client.receive = self.receive
        self.seen = set()

    def receive(self, bus, raw):
        topic, envelope = self.client.verify(raw)
        key = (topic, envelope.incarnation, envelope.sequence)
        if key not in self.seen:
            self.seen.add(key)
            self.at.setdefault(envelope.node, []).append(time.monotonic())


@row(12, "1,000 signals a second", "no input lost, no beat left out", seconds=12)
def signal_storm(context, rng):
    """Signals that a program must bear, and stops so short that only the call is interrupted."""
    rig = context.rig()
    typist = rng.choice(["deck", "platform", "primary", "engine-3"])
    nodes = [typist, rng.choice(faults.VALIDATORS)]
    result = Result("signals at %s" % " and ".join(nodes))
    rig.until_ready()
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    stop = threading.Event()
    beats = Beats(rig)
    beats.client.run(0.5)
    begin = time.monotonic()

    def storm():
        while not stop.wait(0.001):
            for node in nodes:
                process = rig.running[node]
                for number in (signal.SIGWINCH, signal.SIGCONT, signal.SIGURG):
                    process.signal(number)
                result.counts["signals"] += 3
                if result.counts["signals"] % 60 == 0:
                    process.signal(signal.SIGSTOP)  # the calls that wait give EINTR
                    process.signal(signal.SIGCONT)

    thread = threading.Thread(target=storm, daemon=True)
    thread.start()
    mark = rig.running[typist].mark()
    for i in range(40):
        rig.type(typist, "nonsense-%d" % i)
        beats.client.run(0.06)
    stop.set()
    thread.join()
    lasted = time.monotonic() - begin
    rig.running[typist].wait_text("nonsense-39", mark)
    answers = [line for _, line in rig.running[typist].lines[mark:] if "nonsense-" in line]
    result.counts["lines typed"] = 40
    result.must(len(answers) == 40, "%d answers to 40 lines" % len(answers))
    for node in nodes:
        at = [t for t in beats.at.get(node, []) if t >= begin]
        gap = max((b - a for a, b in zip(at, at[1:])), default=9.9)
        result.counts["beats"] += len(at)
        result.must(len(at) >= 4.5 * lasted, "%s: %d beats in %.1f s" % (node, len(at), lasted))
        result.must(gap <= 0.45, "%s: %.3f s between two beats" % (node, gap))
    beats.client.close()
    for name, screen in screens.items():
        gone = cycle.first_not_ready(screen, marks[name])
        result.must(gone is None, "%s left READY: %s" % (name, gone and gone[2]))
    quick_foul(result, rig, "deck" if "engine" in typist else typist, "after the storm")
    yield result


# ---- terminals of other sizes and kinds ----

@row(71, "terminal of 20x5, 300x100, resized all the time", "the verdict line stands", seconds=14)
def sizes(context, rng):
    rig = context.rig()
    name = rng.choice(["deck", "platform", "primary"])
    size = rng.choice([(5, 20), (1, 1), (100, 300), (24, 80)])
    glass = on_glass(rig, name, size=size)
    result = Result("%s on a terminal of %d x %d" % (name, size[1], size[0]))
    stop = threading.Event()

    def storm():
        while not stop.wait(0.005):
            termios.tcsetwinsize(glass.master, (rng.randint(1, 120), rng.randint(1, 400)))
            result.counts["sizes"] += 1

    mark = glass.mark()
    for step in range(3):
        thread = threading.Thread(target=storm, daemon=True)
        if step:
            thread.start()
        quick_foul(result, rig, name, "resized" if step else "small" if size[1] < 80 else "wide")
        if step:
            stop.set()
            thread.join()
            stop.clear()
    verdicts = [line for _, line in glass.lines[mark:]
                if "READY" in line[:20] and "ALERT" not in line]
    result.must(len(verdicts) >= 6, "%d verdict lines" % len(verdicts))
    result.must(all(line.startswith(("READY", "NOT READY: ")) for line in verdicts),
                "the verdict word does not come first: %s" % verdicts)
    result.counts["verdict lines"] = len(verdicts)
    result.must(not glass.odd, "sent to the terminal: %r" % bytes(glass.odd[:40]))
    yield result


KINDS = [{"TERM": "dumb"}, {"TERM": ""}, {"NO_COLOR": "1"}, {"LANG": "C", "LC_ALL": "C"},
         {"TERM": "vt52", "LC_ALL": "POSIX"}, {"LC_ALL": "xx_XX.nothing"},
         {"COLUMNS": "1", "LINES": "1"},
         {"TERM": "xterm-256color", "COLORTERM": "truecolor", "LC_ALL": "C.UTF-8"}]


@row(72, "dumb terminal, no colour, no UTF-8", "the same words everywhere", seconds=12, short=True)
def plain(context, rng):
    """What it shows is, word for word, what another screen on a pipe shows."""
    rig = context.rig()
    kind = rng.choice(KINDS)
    glass = on_glass(rig, "deck", env=kind)
    result = Result("deck with %s" % kind)
    marks = {name: rig.running[name].mark() for name in ("deck", "platform")}
    rig.type("engine-2", "battery out")
    quick = [("platform", "hook not down"), ("deck", "foul equipment 30"), ("primary", "stop")]
    for station, line in rng.sample(quick, 2):
        rig.type(station, line)
    for name in marks:
        rig.running[name].wait_text("NOT READY", marks[name])
    time.sleep(0.3)
    rig.say_until("engine-2", "battery in")
    rig.say_until("platform", "hook down")
    rig.say_until("primary", "no foul")
    rig.say_until("deck", "clear")
    rig.until_ready()
    time.sleep(0.3)  # the last lines of both
    lines = {name: [line.split(" [ack")[0].split(" - not ack")[0] for _, line in
                    rig.running[name].lines[mark:]
                    if line.startswith(("ALERT", "alert gone", "READY", "NOT READY"))]
             for name, mark in marks.items()}
    for name, other in (("deck", "platform"), ("platform", "deck")):
        missing = [line for line in lines[name] if line.startswith(("ALERT", "READY"))
                   and line not in lines[other]]
        result.must(not missing, "on %s and not on %s: %s" % (name, other, missing))
    result.counts["lines compared"] = len(lines["deck"])
    result.must(len(lines["deck"]) >= 4, "only %s" % lines["deck"])
    result.must(not glass.odd, "sent to the terminal: %r" % bytes(glass.odd[:40]))
    yield result
