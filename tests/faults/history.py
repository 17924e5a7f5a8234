# SPDX-License-Identifier: Apache-2.0
"""history - what must be true of everything that a ship's programs printed and recorded.

Looked at when a ship is given up, over its whole life with all its faults:
  lost     a change that a watermark covered, or that a station which still runs has said, and that
           is not in the recorder's file
  stale    READY on a live screen later than a fault's deadline and before its end
  split    two screens READY for different events; READY on one a second after another one began to
           show something wrong on the ship and goes on showing it
  alert    one that says it was delivered to a station whose screen never had it
"""

import collections
import json
import sqlite3
import sys
import threading
import time

from screens import HERE, Screen
from ship import STATIONS

sys.path.insert(0, str(HERE.parent / "interop"))

from busclient import Client, Folder  # noqa: E402

APART_S = 1.0
ALERT_S = 1.0
LATE_S = 0.45  # what two screens say of the same is so far apart at most: two ticks and a turn
TRANSPORT = ("lost", "held 3 s", "validator", "differ", "twin", "two programs", "picture")


class Listener:
    """A viewer in a thread: every change that was said, every mark of the recorder."""

    def __init__(self, ship):
        self.said = collections.defaultdict(set)  # (node, incarnation) -> sequences
        self.sent = collections.defaultdict(set)  # ... and sequence -> times that it was sent
        self.marks = {}                           # (node, incarnation) -> covered through
        self.covered = {}                         # ... and sequence -> wall ms of that
        self.client = Client(Folder(ship.dir), "viewer", listen=("recorded/", "change/"))
        self.client.receive = self.receive
        self.stopping = False
        self.thread = threading.Thread(target=self.run, daemon=True)
        self.thread.start()

    def receive(self, bus, raw):
        try:
            topic, envelope = self.client.verify(raw)
        except Exception:  # somebody sends what is none: not said by anyone
            return
        kind = envelope.WhichOneof("body")
        if kind == "change":
            key = (envelope.node, envelope.incarnation)
            self.said[key].add(envelope.sequence)
            self.sent[key + (envelope.sequence,)].add(envelope.wall_ms)
        elif kind == "recorded":
            key = (topic.split("/")[2], envelope.recorded.for_incarnation)
            old = self.marks.get(key, 0)
            self.marks[key] = max(old, envelope.recorded.through)
            for sequence in [s for s in self.said[key] if old < s <= self.marks[key]]:
                self.covered[key + (sequence,)] = 1000 * time.time()

    def resent_for_a_bus(self, key, patience_ms=180):
        """Sent again although the disk had it in time: somebody's receipt was missed. A word is
        also sent again when the record is slow, and that is no fault of a bus."""
        sent = self.sent[key]
        return len(sent) > 1 and self.covered.get(key, 0) - min(sent) < patience_ms

    def run(self):
        while not self.stopping:
            self.client.run(0.25)

    def settled(self, live):
        """Whether the marks cover what the running lives have said."""
        return all(self.marks.get(key, 0) >= max(said) for key, said in list(self.said.items())
                   if key in live and said)

    def stop(self):
        self.stopping = True
        self.thread.join()
        self.client.close()


def lives(ship):
    """(node, incarnation) of the stations that run."""
    found = set()
    for name in STATIONS:
        process = ship.running.get(name)
        if process is None or process.process.poll() is not None:
            continue
        for _, line in process.lines:
            if "ready, incarnation" in line:
                found.add((name, int(line.split("incarnation")[1].split()[0].strip(",.")))) 
    return found


def lost_changes(ship, listener, limit_s=20):
    """(number lost, words): wait until all is covered, then ask the file."""
    live = lives(ship)
    until = time.monotonic() + limit_s
    while not listener.settled(live) and time.monotonic() < until:
        time.sleep(0.1)
    file = sqlite3.connect("file:%s?mode=ro" % (ship.dir / "record" / "recorder-1.db"), uri=True)
    try:
        held = set(file.execute("SELECT node, incarnation, sequence FROM change"))
    finally:
        file.close()
    problems = []
    for key, through in listener.marks.items():
        missing = [s for s in range(1, through + 1) if key + (s,) not in held]
        problems += ["%s %d: %s covered and not recorded" % (key + (missing,))] if missing else []
    for key in live:
        missing = [s for s in listener.said[key] if key + (s,) not in held]
        problems += ["%s %d: %s said and not recorded" % (key + (missing,))] if missing else []
    return len(problems), problems


def covering(faults, at, name, slack_s=0.0):
    """Whether that screen was blind at that time."""
    return any(name in blind and begin <= at <= end + slack_s for begin, end, _, blind, _ in faults)


def timeline(ship, name):
    """Verdicts of every process that has had that name, in order."""
    shown = []
    for process in [p for p in ship.ended if p.name == name] + [ship.running[name]]:
        shown += Screen(process).shown()
    return sorted(shown)


def stale(ship, timelines):
    problems = []
    for begin, end, deadline_s, blind, what in ship.faults:
        for name, shown in timelines.items():
            if name in blind or deadline_s is None:
                continue
            for at, ready, _, _ in shown:
                if ready and begin + deadline_s < at < end:
                    problems.append("%s: READY on %s %.3f s after it" % (what, name, at - begin))
    return problems


def spans(shown, last):
    """(begin, end, verdict) of what stood."""
    ends = [v[0] for v in shown[1:]] + [last]
    return [(v[0], end, v) for v, end in zip(shown, ends)]


def split(ship, timelines, last):
    problems = []
    ready = [(begin, end, v[3], name) for name, shown in timelines.items()
             for begin, end, v in spans(shown, last) if v[1] and v[3] is not None]
    ready.sort(key=lambda row: row[0])
    for i, (begin, end, event, name) in enumerate(ready):
        for other_begin, other_end, other_event, other in ready[i + 1:]:
            if other_begin >= end:
                break
            together = min(end, other_end) - other_begin
            if event != other_event and together > APART_S:
                problems.append("READY for event %s on %s and %s on %s" % (
                    event, name, other_event, other))
    for begin, end, v in spans(timelines.get("watch", []), last):
        wrong = not v[1] and v[2] and not any(word in v[2][0] for word in TRANSPORT)
        if not wrong or end - begin <= APART_S or covering(ship.faults, begin, "watch"):
            continue
        for ready_begin, ready_end, _, name in ready:
            stands = min(end, ready_end) - max(begin + APART_S, ready_begin)
            if stands > LATE_S and name != "watch" and not covering(
                    ship.faults, max(begin + APART_S, ready_begin), name):
                problems.append("READY on %s for %.1f s while watch shows %s" % (
                    name, stands, v[2][0]))
    return problems


def alert_rows(ship):
    """Alerts that the watch saw come and go: (raised, gone, text, delivered)."""
    rows = []
    for process in [p for p in ship.ended if p.name == "watch"] + [ship.running["watch"]]:
        open_ = {}
        for at, line in list(process.lines):
            if not line.startswith('{"kind":"alert'):
                continue
            try:
                row = json.loads(line)
            except json.JSONDecodeError:
                continue
            key = json.dumps(row["instance"], sort_keys=True)
            if row["kind"] == "alert-gone":
                if key in open_:
                    raised, text = open_.pop(key)
                    rows.append((raised, at, text, row["delivered"]))
            else:
                open_.setdefault(key, (at, row["text"]))  # its cause may be another one later
    return rows


def hears_nobody(shown, at):
    """Whether what stood on that screen then was that it hears no validator."""
    return any("validator not heard here" in cause
               for verdict in [v for v in shown if v[0] <= at][-1:] for cause in verdict[2][:1])


def alerts(ship, timelines):
    """(pairs of alert and live station, of them printed within a second, problems)."""
    printed, told_gone = collections.defaultdict(list), collections.defaultdict(list)
    alive = collections.defaultdict(list)
    for name in STATIONS:
        for process in [p for p in ship.ended if p.name == name] + [ship.running[name]]:
            lines = list(process.lines)
            if lines:
                alive[name].append((lines[0][0], lines[-1][0] + 1.0))
            printed[name] += [(at, line) for at, line in lines if line.startswith("ALERT")]
            told_gone[name] += [(at, line) for at, line in lines if line.startswith("alert gone,")]
    pairs, in_time, problems = 0, 0, []
    for raised, gone, text, delivered in alert_rows(ship):
        if gone - raised < ALERT_S:
            continue
        for name in STATIONS:
            if covering(ship.faults, raised, name, 6.0) or covering(ship.faults, gone, name, 6.0) \
                    or not any(b + 1.0 <= raised and gone <= e for b, e in alive[name]):
                continue
            pairs += 1
            lines = printed[name]
            if hears_nobody(timelines[name], raised + ALERT_S):
                lines = lines + told_gone[name]  # it came and went there unheard
            mine = [at for at, line in lines if text in line and at <= gone + 0.2]
            if any(at <= raised + ALERT_S for at in mine):
                in_time += 1
            elif not mine and name in delivered:
                problems.append("delivered to %s, and its screen never had it: %s" % (name, text))
    return pairs, in_time, problems


def look(ship, listener):
    """Everything: a Counter of figures and the problems."""
    figures = collections.Counter()
    last = time.monotonic()
    timelines = {name: timeline(ship, name) for name in STATIONS + ["watch"]
                 if name in ship.running}
    figures["lost"], problems = lost_changes(ship, listener)
    found = stale(ship, timelines)
    figures["stale"] = len(found)
    problems += found
    found = split(ship, timelines, last)
    figures["split"] = len(found)
    problems += found
    figures["alert pairs"], figures["alert pairs in 1 s"], found = alerts(ship, timelines)
    figures["alerts misplaced"] = len(found)
    problems += found
    figures["changes"] = sum(len(said) for said in listener.said.values())
    figures["verdicts"] = sum(len(shown) for shown in timelines.values())
    return figures, problems
