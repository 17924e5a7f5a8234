# SPDX-License-Identifier: Apache-2.0
"""screens - programs on pseudo-terminals, and what stood on a screen and when."""

import json
import os
import pathlib
import pty
import subprocess
import sys
import termios
import threading
import time

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE.parent / "system"))

from ship import Process  # noqa: E402


class TerminalProcess(Process):
    """A program on a pseudo-terminal of its own."""

    def __init__(self, name, command, env, size=(24, 80)):
        self.name = name
        self.lines = []
        self.bells = []  # when each rang; it is no part of a line
        self.changed = threading.Condition()
        self.master, slave = pty.openpty()
        settings = termios.tcgetattr(slave)
        settings[3] &= ~termios.ECHO
        termios.tcsetattr(slave, termios.TCSANOW, settings)
        termios.tcsetwinsize(slave, size)
        env = dict(env, TERM="dumb")  # lines; pages are looked at in tests/screens
        self.process = subprocess.Popen([str(word) for word in command], env=env, stdin=slave,
                                        stdout=slave, stderr=slave, start_new_session=True)
        os.close(slave)
        self.reader = threading.Thread(target=self.read, daemon=True)
        self.reader.start()

    def read(self):
        rest = b""
        while True:
            try:
                data = os.read(self.master, 65536)
            except OSError:
                data = b""
            if not data:
                break
            *whole, rest = (rest + data).split(b"\n")
            with self.changed:
                for line in whole:
                    now = time.monotonic()
                    text = line.decode("utf-8", "replace").rstrip("\r")
                    self.bells += [now] * text.count("\a")
                    self.lines.append((now, text.replace("\a", "")))
                self.changed.notify_all()
        with self.changed:
            self.changed.notify_all()

    def type(self, line):
        os.write(self.master, (line + "\n").encode())

    def close(self):
        self.reader.join(5)
        if self.master >= 0:
            os.close(self.master)
        self.master = -1


class Screen:
    """What stood on one screen: (when, READY or not, its causes), oldest first."""

    def __init__(self, process, since=0):
        self.process = process
        self.name = process.name

    def read(self, at, line):
        """(when, ready, words, event) of a line that is a verdict, else None."""
        if line.startswith("{"):
            try:
                row = json.loads(line)
            except json.JSONDecodeError:
                return None
            if row.get("kind") != "verdict":
                return None
            return (at, row["verdict"] == "READY", [c["text"] for c in row["causes"]],
                    row["event"] and row["event"]["pass"])
        if line.startswith("NOT READY"):
            return (at, False, [line[11:]], None)
        if line.startswith("READY"):
            words = line.split()
            event = int(words[-1]) if words[-1].isdigit() else None
            return (at, True, [], event)
        return None

    def shown(self, since=0):
        """All verdicts that came from line `since` on."""
        with self.process.changed:
            lines = self.process.lines[since:]
        return [v for v in (self.read(at, line) for at, line in lines) if v is not None]

    def now(self):
        with self.process.changed:
            for at, line in reversed(self.process.lines):
                verdict = self.read(at, line)
                if verdict is not None:
                    return verdict
        return None

    def ready(self):
        verdict = self.now()
        return verdict is not None and verdict[1]
