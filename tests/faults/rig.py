# SPDX-License-Identifier: Apache-2.0
"""rig - a ship of real programs that faults are made on, and what its screens show.

Every node reaches the buses through the strait (strait.c), so that any weather can be made between
any node and any bus. Each process may be stopped, killed and started anew; each has a file of
faults (preload.c). The screens are the lines that stations print, on pipes and on pseudo-terminals,
and a `watch --json` of their own; a Screen folds them into what stood on the glass and when.
"""

import json
import signal
import subprocess
import sys
import time

from screens import Screen, TerminalProcess
import history
import ship as system
from injectors import PRELOAD, Machine, Strait
from ship import BUILD, RECORDER, STATIONS, TRAPLINE, VALIDATOR, Process, Ship, free_port

sys.setswitchinterval(0.0005)  # lines are dated as they come

ON_TERMINALS = ("deck", "engine-1")
NOT_READY_S = 1.0   # design: on every live screen after one fault
HOLD_S = 3.0        # design: a cause of transport kind holds so long
READY_LIMIT_S = 30.0


def with_recorder(ship):
    path = ship.dir / "stations.yaml"
    line = "  - {id: viewer, kind: viewer}\n"
    text = path.read_text()
    assert line in text
    path.write_text(text.replace(line, "  - {id: recorder-1, kind: recorder}\n" + line))
    system.without_advice(ship)


class Rig(Ship):
    """The small ship with a recorder, each node behind the strait."""

    WEIGHT = 34000

    def __init__(self, seed=1, edit=None, terminals=ON_TERMINALS, hosts=None):
        """hosts: {node: injectors.Host}, nodes that run on a host of their own."""
        self.seed = seed
        self.strait = Strait(seed)
        self.terminals = terminals
        self.machines = {}
        self.hosts = hosts or {}
        self.env_of = {}        # node -> more environment
        self.ended = []         # processes that were killed and replaced, for the history
        self.faults = []        # (begin, end, deadline, blind screens, what), for the history
        self.listener = None

        def change(ship):
            with_recorder(ship)
            if edit is not None:
                edit(ship)

        super().__init__(edit=change)
        nodes = STATIONS + ["validator-1", "validator-2", "recorder-1", "watch", "far"]
        for node in nodes:
            self.make_folder(node)

    # ---- where each node finds the buses ----

    def make_folder(self, node):
        folder = self.dir / "nodes" / node
        folder.mkdir(parents=True)
        for path in self.dir.glob("*.yaml"):
            if path.name != "bus.yaml":
                (folder / path.name).symlink_to(path)
        text = (self.dir / "bus.yaml").read_text()
        address = self.hosts[node].hub if node in self.hosts else "127.0.0.1"
        names = {"5751": "a/in", "5752": "a/out", "5753": "b/in", "5754": "b/out"}
        for demo, port in self.ports.items():
            mine = self.listen("%s/%s" % (node, names[demo]), port)
            text = text.replace("127.0.0.1:%d" % port, "%s:%d" % (address, mine))
        for key in ("identity", "state", "run", "record"):
            text = text.replace("%s_dir: %s" % (key, key), "%s_dir: %s" % (key, self.dir / key))
        (folder / "bus.yaml").write_text(text)

    def listen(self, name, port):
        for _ in range(50):
            mine = free_port()
            try:
                self.strait.tell("listen %s %d 127.0.0.1:%d" % (name, mine, port))
                return mine
            except AssertionError:
                continue
        raise RuntimeError("no port for " + name)

    def folder(self, node):
        return self.dir / "nodes" / node

    # ---- programs ----

    def node_env(self, node):
        if node not in self.machines:
            self.machines[node] = Machine(self.dir / ("faults-" + node))
        env = dict(self.env, TL_FAULTS=str(self.machines[node].path), LD_PRELOAD=str(PRELOAD))
        env.update(self.env_of.get(node, {}))
        return env

    def launch(self, node, words, stdin=subprocess.PIPE, ready="ready"):
        words = (self.hosts[node].enter if node in self.hosts else []) + list(words)
        if node in self.terminals:
            process = TerminalProcess(node, words, self.node_env(node))
        else:
            process = Process(node, words, self.node_env(node), stdin)
        if node in self.running:
            self.ended.append(self.running[node])
        self.running[node] = process
        if ready:
            process.wait_text(ready)
        return process

    def brokers(self, *names):
        for name in names or ("bus-a", "bus-b"):
            if name in self.running:
                self.ended.append(self.running.pop(name))
            super().brokers(name)

    def validators(self, *names, ready="ready"):
        for name in names or ("validator-1", "validator-2"):
            self.launch(name, [VALIDATOR, "-C", self.folder(name), "--node", name], ready=ready)

    def recorder(self, ready="ready"):
        return self.launch("recorder-1", [RECORDER, "-C", self.folder("recorder-1"), "--node",
                                          "recorder-1"], ready=ready)

    def station(self, name, folder=None, extra=(), stdin=None):
        words = self.station_words(name, folder or self.folder(name))
        return self.launch(name, words + list(extra), ready="ready, incarnation")

    def watch(self, name="watch", folder=None):
        return self.launch(name, [TRAPLINE, "watch", "--json", "-C", folder or self.folder(name)],
                           ready='"verdict"')

    def start_all(self):
        """Everything up, one aircraft ordered, all its words said; READY on every screen."""
        self.brokers()
        self.recorder()
        self.listener = history.Listener(self)
        self.validators()
        self.stations()
        self.heard()
        self.watch()
        self.open_recovery()
        self.order(204, "plover", self.WEIGHT)
        self.until_ready()

    def reckon(self):
        """What the whole life of this ship has come to: figures and problems (history.py). One that
        did not come up has none."""
        if self.listener is None or "watch" not in self.running:
            return {}, []
        return history.look(self, self.listener)

    def close(self):
        if self.listener is not None:
            self.listener.stop()
        for machine in self.machines.values():
            machine.clear()
        for process in self.ended:
            if process.process.poll() is None:
                process.kill()
        try:
            super().close()
        finally:
            self.strait.stop()

    def __exit__(self, kind, error, trace):
        if kind is not None:
            for name, process in self.running.items():
                for at, line in process.lines[-4:]:
                    print("   %-11s %.3f %s" % (name, at, line[:150]), file=sys.stderr)
        self.close()

    # ---- screens ----

    def screens(self, but=()):
        return {name: Screen(self.running[name]) for name in STATIONS + ["watch"]
                if name in self.running and name not in but}

    def until_ready(self, limit_s=READY_LIMIT_S, but=()):
        """Wait until every screen shows READY; when the last one came to it.

        Who heard no validator for ten seconds has lost his words for the event; people say them
        again when the screen asks for them, and so does this.
        """
        begin = time.monotonic()
        said_again = begin
        screens = self.screens(but)
        while True:
            shown = {name: screen.now() for name, screen in screens.items()}
            if all(v is not None and v[1] for v in shown.values()):
                return max(v[0] for v in shown.values())
            missing = {n: (v[2] + ["no cause"])[0] for n, v in shown.items() if v and not v[1]}
            if time.monotonic() - said_again > 6.0:
                said_again = time.monotonic()
                for words in set(missing.values()):
                    self.answer(words)
            assert time.monotonic() - begin < limit_s, "not READY again: %s" % missing
            with self.running["watch"].changed:
                self.running["watch"].changed.wait(0.05)

    def answer(self, words):
        """Say what a cause that begins with a station's name asks for."""
        for station in STATIONS:
            if words.startswith(station.replace("-", " ") + ":") and "not yet" in words:
                self.words_again(station)

    # ---- putting right what was lost ----

    def say_until(self, station, command, limit_s=15):
        """A word that may first be refused: others are not heard yet, a picture has not come."""
        until = time.monotonic() + limit_s
        while True:
            code, out = self.do(station, command)
            if code == 0:
                return
            assert time.monotonic() < until, "%s: %s: %s" % (station, command, out)
            time.sleep(0.05)

    def words_again(self, station):
        """What its operator says after that station has started anew; others say nothing."""
        if station.startswith("engine-"):
            words = ["set %d" % self.WEIGHT, "battery in"]
        else:
            words = {"deck": ["clear"], "platform": ["no foul", "call 204 plover", "hook down"],
                     "primary": ["resume", "no foul", "repeaters %d" % self.WEIGHT]}
            words = words.get(station, [])
        for word in words:
            self.say_until(station, word)
        if station.startswith("engine-"):
            self.say_until("primary", "repeaters %d" % self.WEIGHT)  # read anew: it may have moved

    def start_again(self, name):
        """Start what has died."""
        if name.startswith("validator-"):
            self.validators(name)
        elif name.startswith("bus-"):
            self.brokers(name)
        elif name == "recorder-1":
            self.recorder()
        elif name == "watch":
            self.watch()
        else:
            self.station(name)

    def restart(self, name):
        """Start again what has died, and say its words."""
        self.start_again(name)
        self.words_again(name)

    def kill(self, name):
        self.running[name].kill()

    def pause(self, name):
        self.running[name].signal(signal.SIGSTOP)

    def go_on(self, name):
        self.running[name].signal(signal.SIGCONT)

    def type(self, name, line):
        self.running[name].type(line)

    def type_and_confirm(self, name, line):
        """A word toward READY by the keys: confirmed when its read-back can be seen, not before."""
        mark = self.running[name].mark()
        self.type(name, line)
        self.running[name].wait_text("type 'confirm'", mark)
        self.type(name, "confirm")


def rule_texts():
    """{rule: the words of its cause}, as the program explains itself."""
    done = subprocess.run([str(TRAPLINE), "explain", "all", "--json"], stdout=subprocess.PIPE,
                          text=True, check=True)
    return {row["rule"]: row["text"] for row in json.loads(done.stdout)["rules"]}

