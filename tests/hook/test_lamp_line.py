#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_lamp_line - a far end that keeps to docs/lamp.md never stays ready without its source

The lines are those of the program's own code, over a FIFO and over a pseudo-terminal; the far end is
lamp_end.py, whose CRC is Python's zlib (CRC-32 of ISO/IEC/IEEE 8802-3).
"""
import os
import pathlib
import pty
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import unittest
import zlib

sys.path.insert(0, os.path.dirname(__file__))
import lamp_end  # noqa: E402

SAY = sys.argv.pop(1)
DOCUMENT = pathlib.Path(os.environ["TL_SOURCE_DIR"]) / "docs" / "lamp.md"
PATIENCE_S = 20.0


class Line:
    """A source at one end, a far end at the other."""

    def __init__(self, kind):
        self.dir = pathlib.Path(tempfile.mkdtemp(prefix="trapline-lamp-"))
        if kind == "fifo":
            path = self.dir / "lamp"
            os.mkfifo(path)
            self.fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        else:
            self.fd, other = pty.openpty()
            path = os.ttyname(other)
            os.set_blocking(self.fd, False)
            self.other = other
        self.source = subprocess.Popen([SAY, str(path)], stdin=subprocess.PIPE)
        self.end = lamp_end.FarEnd()
        self.log = []  # (time, bytes)

    def say(self, word):
        self.source.stdin.write(word)
        self.source.stdin.flush()

    def listen(self, wait_s):
        if select.select([self.fd], [], [], wait_s)[0]:
            try:
                data = os.read(self.fd, 65536)
            except OSError:
                data = b""
            now = time.monotonic()
            if data:
                self.log.append((now, data))
                self.end.feed(data, now)
            else:
                time.sleep(wait_s)  # the other end of a FIFO is closed: nothing to wait for

    def until(self, holds):
        limit = time.monotonic() + PATIENCE_S
        while not holds(self.end, time.monotonic()):
            assert time.monotonic() < limit, self.end.states[-5:]
            self.listen(0.01)

    def until_ready(self):
        self.until(lambda end, now: end.is_ready(now))

    def until_dark(self):
        self.until(lambda end, now: not end.is_ready(now))

    def close(self):
        self.source.kill()
        self.source.wait()
        self.source.stdin.close()
        os.close(self.fd)
        if hasattr(self, "other"):
            os.close(self.other)
        shutil.rmtree(self.dir)


class Lamp(unittest.TestCase):
    def setUp(self):
        self.line = None

    def tearDown(self):
        if self.line:
            self.line.close()

    def make_ready(self, kind="fifo"):
        self.line = Line(kind)
        self.line.say(b"r")
        self.line.until_ready()
        return self.line

    def ready_line(self):
        line = self.make_ready()
        lines = b"".join(data for _, data in line.log).splitlines(keepends=True)
        return [one for one in lines if b" READY " in one][-1]

    def test_the_examples_of_the_document_check(self):
        text = DOCUMENT.read_text().split("```")[1]
        lines = [line for line in text.splitlines() if line.startswith("TL1 ") and "SEQ" not in line]
        self.assertEqual(len(lines), 3)
        for line in lines:
            self.assertIsNotNone(lamp_end.check(line.encode() + b"\n"),
                                 "%08x" % zlib.crc32(line.rpartition(" ")[0].encode()))

    def test_a_word_reaches_the_far_end_with_its_cause(self):
        line = self.make_ready()
        line.say(b"n")
        line.until_dark()
        self.assertEqual(line.end.states[-1][1:], ("NOT-READY", "deck-foul", "deck"))
        line.say(b"a")
        line.until(lambda end, now: end.edges)
        self.assertEqual(line.end.edges, [("RAISED", "alarm", "deck-foul", "deck", "deck: foul")])
        line.say(b"d")
        line.until(lambda end, now: end.word == "DRILL-READY")
        self.assertFalse(line.end.is_ready(time.monotonic()))
        line.source.stdin.close()
        line.until(lambda end, now: end.word == "END")
        self.assertEqual(line.end.bad, 0)

    def killed(self, kind, number):
        line = self.make_ready(kind)
        line.source.send_signal(number)
        line.until_dark()
        last = [at for at, word, *_ in line.end.states if word == "READY"][-1]
        self.assertTrue(line.end.is_ready(last + lamp_end.DROP_S - 0.001))
        self.assertFalse(line.end.is_ready(last + lamp_end.DROP_S))

    def test_a_source_that_is_killed_is_dark_within_a_second(self):
        self.killed("fifo", signal.SIGKILL)

    def test_one_that_hangs_is_dark_within_a_second_and_comes_back_on_a_terminal_line_too(self):
        self.killed("pty", signal.SIGSTOP)
        self.line.source.send_signal(signal.SIGCONT)
        self.line.until_ready()

    def test_no_one_or_two_flipped_bits_make_a_line(self):
        good = bytearray(self.ready_line())
        self.assertIsNotNone(lamp_end.check(bytes(good)))
        bits = 8 * len(good)
        taken = 0
        for first in range(bits):
            good[first // 8] ^= 1 << first % 8
            taken += lamp_end.check(bytes(good)) is not None
            for second in range(first + 1, bits):
                good[second // 8] ^= 1 << second % 8
                taken += lamp_end.check(bytes(good)) is not None
                good[second // 8] ^= 1 << second % 8
            good[first // 8] ^= 1 << first % 8
        self.assertEqual(taken, 0)

    def test_lines_that_come_late_make_nothing_ready(self):
        line = self.make_ready()
        mark = len(line.log)
        line.until(lambda end, now: len(line.log) >= mark + 4)
        end = lamp_end.FarEnd()
        for at, data in line.log[:mark]:
            end.feed(data, at)
        at = line.log[mark - 1][0]
        self.assertTrue(end.is_ready(at))
        for at, data in line.log[mark:]:  # the same lines, 1.2 s later than they came
            end.feed(data, at + 1.2)
            self.assertFalse(end.is_ready(at + 1.2))

    def test_another_source_begins_not_ready(self):
        text = self.ready_line()
        end = lamp_end.FarEnd()
        end.feed(text, 10.0)
        self.assertFalse(end.is_ready(10.0))
        end.sequence = 10**9
        end.word, end.came, end.least = "READY", 10.0, -10**9
        end.feed(text, 10.1)
        self.assertFalse(end.is_ready(10.1))


if __name__ == "__main__":
    unittest.main(verbosity=2)
