# SPDX-License-Identifier: Apache-2.0
"""test_manager - what a service manager hears of real programs, and what it hands them.

The manager is a datagram socket of the test, and a folder for credentials. Words as in sd_notify(3),
sd_daemon(3) and systemd.exec(5).
"""

import os
import pathlib
import signal
import socket
import subprocess
import sys
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "system"))

from ship import BROKER, PATIENCE_S, RECORDER, TRAPLINE, VALIDATOR, Ship, room_of  # noqa: E402

WATCHDOG_S = 3.0


class Manager:
    """Hears one program."""

    def __init__(self, ship, name):
        path = str(ship.dir / (name + ".notify"))
        self.socket = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
        self.socket.bind(path)
        self.env = dict(ship.env, NOTIFY_SOCKET=path,
                        WATCHDOG_USEC=str(int(WATCHDOG_S * 1e6)))
        self.last = []

    def hear(self, limit_s=PATIENCE_S):
        """The next datagram as its lines, or None when none comes in time."""
        self.socket.settimeout(limit_s)
        try:
            self.last = self.socket.recv(4096).decode().split("\n")
        except socket.timeout:
            return None
        return self.last

    def until(self, word):
        """Hear until that line comes; whatever came before it."""
        before = []
        until = time.monotonic() + PATIENCE_S
        while self.hear() is not None and time.monotonic() < until:
            if word in self.last:
                return before
            before += self.last
        raise AssertionError("%s was not said; said: %s" % (word, before))

    def close(self):
        self.socket.close()


class Services(unittest.TestCase):
    def setUp(self):
        self.ship = Ship(full=True)
        self.addCleanup(self.ship.close)

    def managed(self, name, *command, **env):
        manager = Manager(self.ship, name)
        self.addCleanup(manager.close)
        process = self.ship.start(name, *command, env=dict(manager.env, **env))
        return manager, process

    def programs(self):
        folder = ("-C", self.ship.dir)
        yield "bus-a", (BROKER, *folder, "--bus", "bus-a")
        yield "bus-b", (BROKER, *folder, "--bus", "bus-b")
        yield "validator-1", (VALIDATOR, *folder, "--node", "validator-1")
        yield "validator-2", (VALIDATOR, *folder, "--node", "validator-2")
        yield "recorder-1", (RECORDER, *folder, "--node", "recorder-1")
        yield "deck", (TRAPLINE, *room_of("deck"), *folder, "--stay", "--lines")
        yield "watch", (TRAPLINE, "watch", *folder)

    def test_each_says_that_it_is_ready_and_that_it_turns_and_that_it_ends(self):
        running = {}
        for name, command in self.programs():
            manager, process = self.managed(name, *command)
            before = manager.until("READY=1")
            self.assertEqual([line for line in before if not line.startswith("STATUS=")], [], name)
            if name == "bus-a":  # who is told that it is up can join
                socket.create_connection(("127.0.0.1", self.ship.ports["5751"])).close()
                socket.create_connection(("127.0.0.1", self.ship.ports["5752"])).close()
            running[name] = manager, process
        running["validator-1"][0].until("STATUS=judges, 2 of 2 buses up")
        running["deck"][0].until("STATUS=every validator is heard")
        for name, (manager, process) in running.items():
            manager.until("WATCHDOG=1")
            fed = time.monotonic()
            manager.until("WATCHDOG=1")
            self.assertLess(time.monotonic() - fed, WATCHDOG_S, name)
        for name, (manager, process) in reversed(running.items()):
            process.signal(signal.SIGTERM)
            self.assertNotIn("READY=1", manager.until("STOPPING=1"), name)

    def test_a_loop_that_stands_still_feeds_no_watchdog(self):
        command = dict(self.programs())["validator-1"]
        manager, process = self.managed("validator-1", *command)
        manager.until("WATCHDOG=1")
        process.signal(signal.SIGSTOP)
        os.waitid(os.P_PID, process.process.pid, os.WSTOPPED | os.WNOWAIT)
        while manager.hear(0.01) is not None:
            pass
        self.assertIsNone(manager.hear(WATCHDOG_S))
        process.signal(signal.SIGCONT)
        manager.until("WATCHDOG=1")

    def test_no_one_is_ready_who_cannot_bind(self):
        with socket.socket() as taken:
            taken.bind(("127.0.0.1", self.ship.ports["5752"]))
            taken.listen()
            manager, process = self.managed("bus-a", *dict(self.programs())["bus-a"])
            self.assertNotIn("READY=1", manager.until("STOPPING=1"))
        self.assertEqual(process.process.wait(PATIENCE_S), 1)

    def test_a_secret_that_is_handed_over_is_the_node_s(self):
        handed = self.ship.dir / "handed"
        handed.mkdir()
        secret = self.ship.dir / "identity" / "bus-a.1.key"
        secret.rename(handed / "identity_bus-a.1.key")
        command = dict(self.programs())["bus-a"]
        done = subprocess.run([str(word) for word in command],
                              env=dict(self.ship.env, TRAPLINE_LOG="journal"),
                              stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
        self.assertEqual((done.returncode, done.stdout), (78, ""))
        self.assertRegex(done.stderr, r"\A<3>trapline-broker: \S+/bus-a\.1\.key does not exist; .*\n\Z")
        manager, _ = self.managed("bus-a", *command, CREDENTIALS_DIRECTORY=str(handed))
        manager.until("READY=1")


if __name__ == "__main__":
    unittest.main(verbosity=2)
