# SPDX-License-Identifier: Apache-2.0
"""terminals - programs of a ship on terminals whose cells can be read.

A Terminal is the program `terminal` (terminal.c): libvterm under a pseudo-terminal. Keys go in as
bytes, rows come out as text. Nothing here waits for a time: it waits for what stands on the screen.
"""

import os
import pathlib
import re
import subprocess
import sys
import time

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[1] / "system"))
from ship import BUILD, PATIENCE_S  # noqa: E402

TERMINAL = BUILD / "tests" / "screens" / "terminal"
TAB, ENTER, ESC = "\t", "\r", "\x1b"
# What moves by itself: the time of day with the live mark, ages, how old a verdict is.
MOVING = [(r"\d\d:\d\d:\d\d   [.oO]", "HH:MM:SS   ."), (r"\.\d s  ", ".N s  "),
          (r"\b(live|\d+s) ", "AGE "), (r"^\*", " "), (r"(RAMP IN) \d+", r"\1 N")]


def without_recorder(ship):
    """No recorder is on this ship, so none is missed."""
    path = ship.dir / "stations.yaml"
    path.write_text(re.sub(r"(?m)^  - \{id: recorder-1.*\n", "", path.read_text()))


class Terminal:
    def __init__(self, command, env=None, rows=24, cols=80, term="xterm-256color"):
        self.cols = cols
        env = dict(env or os.environ, TERM=term)
        self.process = subprocess.Popen(
            [str(TERMINAL), str(rows), str(cols)] + [str(word) for word in command], env=env,
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, bufsize=1)

    def ask(self, request):
        self.process.stdin.write(request + "\n")
        self.process.stdin.flush()
        return self.process.stdout.readline().rstrip("\n")

    def many(self, request):
        rows = []
        line = self.ask(request)
        while line != ".":
            assert line.startswith("|"), line
            rows.append(line[1:])
            line = self.process.stdout.readline().rstrip("\n")
        return rows

    def rows(self):
        return self.many("show")

    def ink(self):
        return self.many("ink")

    def still(self):
        """The rows without what moves by itself."""
        rows = []
        for row in self.rows():
            for pattern, plain in MOVING:
                row = re.sub(pattern, plain, row)
            rows.append(row.rstrip())
        return rows

    def row(self, text):
        """The row that has that text, as it is now."""
        found = [row for row in self.rows() if text in row]
        assert found, "%r stands nowhere:\n%s" % (text, "\n".join(self.rows()))
        return found[0]

    def wait(self, text, limit_s=PATIENCE_S):
        """Until that text stands somewhere; ms since it was asked."""
        answer = self.ask("await %d %s" % (limit_s * 1000, text))
        assert answer.startswith("seen "), "%r not seen:\n%s" % (text, "\n".join(self.rows()))
        return int(answer.split()[1])

    def wait_row(self, start, limit_s=PATIENCE_S):
        """Until a row begins with that text."""
        until = time.monotonic() + limit_s
        while not any(row.startswith(start) for row in self.rows()):
            assert time.monotonic() < until, "no row begins %r:\n%s" % (start,
                                                                        "\n".join(self.rows()))
            self.ask("await 20 \x01")

    def wait_gone(self, text, limit_s=PATIENCE_S):
        answer = self.ask("gone %d %s" % (limit_s * 1000, text))
        assert answer.startswith("gone "), "%r is still there:\n%s" % (text,
                                                                       "\n".join(self.rows()))

    def keys(self, text):
        """All at once, as a paste comes."""
        assert self.ask("keys " + text.encode("latin-1").hex()) == "ok"

    def press(self, text):
        """One key after the other, each when the page has painted the one before it."""
        for key in text:
            self.keys(key)
            self.ask("await 110 \x01")  # what stands nowhere: the time between two keys

    def confirm(self):
        """The confirm key, when the page offers it: what is read back has stood there to be read."""
        self.wait("y THAT IS RIGHT")
        self.press("y")

    def count(self):
        words = self.ask("count").split()
        return {"bytes": int(words[1]), "bells": int(words[3]), "cursor": words[7]}

    def size(self, rows, cols):
        assert self.ask("size %d %d" % (rows, cols)) == "ok"

    def signal(self, number):
        assert self.ask("signal %d" % number) == "ok"

    def modes(self):
        words = self.ask("modes").split()
        return dict(zip(words[::2], (int(n) for n in words[1::2])))

    def end(self, limit_s=PATIENCE_S):
        return self.ask("end %d" % (limit_s * 1000))

    def close(self):
        self.process.stdin.close()
        self.process.stdout.close()
        self.process.wait()
