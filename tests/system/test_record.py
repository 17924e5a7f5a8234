# SPDX-License-Identifier: Apache-2.0
"""test_record - the recorder with real programs: what it covers is on disk, also after kill -9."""

import json
import resource
import sqlite3
import sys
import threading
import unittest

from ship import SOURCE, Ship

sys.path.insert(0, str(SOURCE / "tests" / "interop"))
from busclient import Client, Folder  # noqa: E402



def add_recorder(ship):
    path = ship.dir / "stations.yaml"
    text = path.read_text()
    line = "  - {id: viewer, kind: viewer}\n"
    assert line in text
    path.write_text(text.replace(line, "  - {id: recorder-1, kind: recorder}\n" + line))


def start_recorder(ship):
    ship.recorders()
    return ship.running["recorder-1"]


def rows(ship, sql):
    """What the file says, asked as any reader would, beside the recorder."""
    file = sqlite3.connect("file:%s?mode=ro" % (ship.dir / "record" / "recorder-1.db"), uri=True)
    try:
        return file.execute(sql).fetchall()
    finally:
        file.close()


class Listener(Client):
    """Hears recorded/ as a viewer would and keeps the highest mark of each life of a station."""

    def __init__(self, ship):
        super().__init__(Folder(ship.dir), "viewer", listen=("recorded/", "beat/recorder-1/"))
        self.marks = {}
        self.beats = 0

    def receive(self, bus, raw):
        topic, envelope = self.verify(raw)
        if envelope.WhichOneof("body") == "beat":
            self.beats += 1
        if envelope.WhichOneof("body") != "recorded":
            return
        key = (topic.split("/")[2], envelope.recorded.for_incarnation)
        self.marks[key] = max(self.marks.get(key, 0), envelope.recorded.through)

    def mark_of(self, station):
        return max([mark for (node, _), mark in self.marks.items() if node == station] or [0])

    def until_recorded(self, ship, station, words):
        """Say it there, where all before it has long been recorded, and have it recorded too."""
        beats = self.beats
        assert self.run(20, lambda: self.beats > beats + 1)  # what was told before it is read
        mark = self.mark_of(station)
        ship.say(station, words)
        assert self.run(20, lambda: self.mark_of(station) > mark)


class Record(unittest.TestCase):
    def until(self, listener, test, note=(), limit_s=20):
        self.assertTrue(listener.run(limit_s, test), "%s %s" % (listener.marks, note))

    def assert_covered_is_in_file(self, ship, marks):
        held = set(rows(ship, "SELECT node, incarnation, sequence FROM change"))
        for (node, incarnation), through in marks.items():
            missing = [s for s in range(1, through + 1) if (node, incarnation, s) not in held]
            self.assertEqual(missing, [], "%s through %d" % (node, through))
        self.assertEqual(rows(ship, "SELECT node, first, last FROM gap"), [])

    def test_a_pass_is_recorded_covered_and_printed(self):
        with Ship(add_recorder) as ship:
            ship.brokers()
            start_recorder(ship)
            listener = Listener(ship)
            try:
                ship.validators()
                ship.stations()
                ship.heard()
                ship.open_recovery()
                ship.order(204, "plover", 34000)
                ship.until_show(0)
                ship.say("engine-3", "set 40000")
                ship.until_show(1)
                ship.say("platform", "wave-off")
                self.until(listener, lambda: listener.mark_of("engine-3") >= 3 and
                           listener.mark_of("platform") >= 4 and listener.beats > 5)
                self.assert_covered_is_in_file(ship, listener.marks)
                code, out = ship.call("log", "passes", "-C", ship.dir)
                self.assertEqual(code, 0, out)
                self.assertIn("204 plover", out)
                self.assertIn("wave-off", out)
                self.assertIn("not ready: engine 3", out)
                code, out = ship.call("log", "passes", "--json", "--record",
                                      ship.dir / "record" / "recorder-1.db")
                row = json.loads(out)["passes"][0]
                self.assertEqual((code, row["pass"], row["result"], row["set"]["engine-3"],
                                  row["cause"]["rule"]),
                                 (0, 1, "wave-off", 40000, "setting-other-aircraft"))
                alerts = rows(ship, "SELECT DISTINCT step, rule, station FROM alert")
                self.assertIn(("raised", "setting-other-aircraft", "engine-3"), alerts)
            finally:
                listener.close()

    def test_what_was_covered_is_on_disk_after_the_recorder_is_killed_under_traffic(self):
        with Ship(add_recorder) as ship:
            ship.brokers()
            recorder = start_recorder(ship)
            ship.validators()
            ship.stations("deck")
            ship.heard("deck")
            listener = Listener(ship)
            stop = threading.Event()
            said = []

            def talk():
                while not stop.is_set():
                    reason = ("person", "equipment")[len(said) % 2]
                    said.append(ship.do("deck", "foul " + reason))

            talker = threading.Thread(target=talk)
            talker.start()
            try:
                for _ in range(3):
                    floor = listener.mark_of("deck") + 3
                    self.until(listener, lambda: listener.mark_of("deck") >= floor,
                               said)
                    recorder.kill()
                    covered = dict(listener.marks)
                    self.assert_covered_is_in_file(ship, covered)
                    recorder = start_recorder(ship)
                stop.set()
                talker.join()
                self.until(listener, lambda: listener.mark_of("deck") == len(said))
                self.assert_covered_is_in_file(ship, listener.marks)
            finally:
                stop.set()
                talker.join()
                listener.close()

    def test_a_recorder_that_cannot_write_says_so_is_silent_and_goes_on_when_it_can(self):
        with Ship(add_recorder) as ship:
            ship.brokers()
            recorder = start_recorder(ship)
            ship.validators()
            ship.stations("deck")
            ship.heard("deck")
            listener = Listener(ship)
            limit = resource.RLIMIT_FSIZE
            try:
                ship.say("deck", "foul person")
                self.until(listener, lambda: listener.mark_of("deck") == 1)
                before = resource.prlimit(recorder.process.pid, limit)
                resource.prlimit(recorder.process.pid, limit, (8192, before[1]))
                ship.say("deck", "foul equipment")
                recorder.wait_text("REC-001")
                listener.run(0.5)
                beats = listener.beats
                self.assertFalse(listener.run(1.5, lambda: listener.beats > beats))
                self.assertEqual(listener.mark_of("deck"), 1)
                resource.prlimit(recorder.process.pid, limit, before)
                recorder.wait_text("REC-002")
                self.until(listener, lambda: listener.mark_of("deck") == 2 and
                           listener.beats > beats)
                self.assert_covered_is_in_file(ship, listener.marks)
            finally:
                listener.close()


if __name__ == "__main__":
    unittest.main(verbosity=2)
