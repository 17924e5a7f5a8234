# SPDX-License-Identifier: Apache-2.0
"""lamp_end - the far end of a lamp's line, as docs/lamp.md wants it; for the tests

The CRC is the one of Python's zlib, which is not ours.
"""
import re
import zlib

DROP_S = 1.0


def check(line):
    """The nine fields of a whole line, or None."""
    if not line.startswith(b"TL1 ") or not line.endswith(b"\n") or len(line) > 200:
        return None
    body, _, tail = line[:-1].rpartition(b" ")
    if not re.fullmatch(rb"[0-9a-f]{8}", tail) or int(tail, 16) != zlib.crc32(body):
        return None
    fields = body.decode("ascii").split(" ", 8)
    return fields if len(fields) == 9 else None


class FarEnd:
    """Bytes and the own clock (seconds) in; is_ready(now) says what the lamp shows."""

    def __init__(self):
        self.bytes = b""
        self.forget()
        self.sequence = self.at = -1
        self.bad = 0
        self.edges = []
        self.states = []

    def forget(self):
        self.word, self.came, self.least = None, None, None

    def feed(self, data, now):
        self.bytes += data
        *lines, self.bytes = self.bytes.split(b"\n")
        for line in lines:
            self.take(line + b"\n", now)
        self.bytes = self.bytes[-400:]

    def take(self, line, now):
        fields = check(line)
        if fields is None:
            self.bad += 1
            return
        _, sequence, at, lost, word, kind, rule, station, text = fields
        if int(sequence) < self.sequence or int(at) < self.at:
            self.forget()
        self.sequence, self.at, self.lost = int(sequence), int(at), int(lost)
        if word in ("RAISED", "AGAIN", "ACKNOWLEDGED", "GONE"):
            self.edges.append((word, kind, rule, station, text))
            return
        self.states.append((now, word, rule, station))
        difference = now - int(at) / 1000
        first = self.least is None
        self.least = difference if first else min(self.least, difference)
        late = difference - self.least > DROP_S
        self.word, self.came = (None if first or late else word), now

    def is_ready(self, now):
        return self.word == "READY" and now - self.came < DROP_S
