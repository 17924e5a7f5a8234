# SPDX-License-Identifier: Apache-2.0
"""test_monitoring - pages of every program against what was done, and a lamp on a FIFO

Pages are read by a parser that is not ours (tests/metrics/monitored.py), the lamp's line by a far end
that keeps to docs/lamp.md.
"""

import contextlib
import os
import resource
import select
import sqlite3
import sys
import threading
import time
import unittest

from ship import BROKER, BUILD, PATIENCE_S, RECORDER, SOURCE, STATIONS, TRAPLINE, VALIDATOR, Ship
from test_record import add_recorder, start_recorder

for room in ("interop", "metrics", "hook"):
    sys.path.insert(0, str(SOURCE / "tests" / room))
from busclient import Client, Folder  # noqa: E402
import lamp_end  # noqa: E402
import monitored  # noqa: E402

PROGRAMS = {"bus-a": "broker", "validator-1": "validator", "recorder-1": "recorder",
            "deck": "station"}
WORDS = 6


class Watched(Ship):
    """Every program with --metrics, in one folder."""

    def start(self, name, *command, **more):
        (self.dir / "metrics").mkdir(exist_ok=True)
        nodes = name in STATIONS or command[0] in (BROKER, VALIDATOR, RECORDER)
        if nodes:
            command += ("--metrics", self.page(name))
        return super().start(name, *command, **more)

    def page(self, name):
        return self.dir / "metrics" / (name + ".prom")

    def read(self, name):
        text = self.page(name).read_text()
        assert text.endswith("\n# EOF\n"), text[-80:]
        return monitored.parse(text)

    def until(self, name, holds):
        """Read that page until it holds; the families."""
        until = time.monotonic() + PATIENCE_S
        while True:
            families = self.read(name) if self.page(name).exists() else None
            if families is not None and holds(families):
                return families
            assert time.monotonic() < until, self.page(name).read_text()
            time.sleep(0.02)

    def fresh(self, *names):
        """Of each a page that was filled from now on."""
        since = time.time()
        return {name: self.until(name, lambda f: written(f) > since) for name in names}

    def until_value(self, name, want, family, **labels):
        return self.until(name, lambda f: monitored.value(f, family, **labels) == want)


def written(families):
    return monitored.value(families, "trapline_page_timestamp_seconds")


def state_of(families, name, **labels):
    on = [s.labels[name] for s in families[name].samples
          if s.value == 1 and all(s.labels[k] == v for k, v in labels.items())]
    assert len(on) == 1, families[name].samples
    return on[0]


class Lamp:
    """The far end at a FIFO, read all the time as a lamp would."""

    def __init__(self, path):
        os.mkfifo(path)
        self.fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK)
        self.end = lamp_end.FarEnd()
        self.lock = threading.Lock()
        self.running = True
        self.thread = threading.Thread(target=self.read, daemon=True)
        self.thread.start()

    def read(self):
        while self.running:
            data = os.read(self.fd, 65536) if select.select([self.fd], [], [], 0.05)[0] else b""
            with self.lock:
                self.end.feed(data, time.monotonic())
            if not data:
                time.sleep(0.01)  # no writer: a FIFO is then always readable

    def close(self):
        self.running = False
        self.thread.join()
        os.close(self.fd)


class Monitoring(unittest.TestCase):
    def lamp(self, ship):
        self.line = Lamp(ship.dir / "lamp")
        self.addCleanup(self.line.close)
        self.end = self.line.end
        return ship.start("lamp", TRAPLINE, "watch", "--lamp", ship.dir / "lamp")

    def until_lamp(self, holds):
        until = time.monotonic() + PATIENCE_S
        while True:
            with self.line.lock:
                if holds(self.end, time.monotonic()):
                    return
                assert time.monotonic() < until, (self.end.states[-3:], self.end.edges)
            time.sleep(0.005)

    def until_dark(self):
        self.until_lamp(lambda end, now: not end.is_ready(now))

    def names_are_those_of_the_document(self, ship):
        rows = monitored.document()
        for name, program in PROGRAMS.items():
            families = ship.until(name, lambda f: True)
            want = {n for n, row in rows.items() if row.of & {"all", program}}
            self.assertEqual(set(families), want, name)
            for family, row in ((families[n], rows[n]) for n in want):
                self.assertEqual((family.type, monitored.labels_of(family)), row[:2], family.name)

    def programs_say_who_they_are(self, ship):
        version = ship.call("--version")[1].split()[1]
        for name, program in PROGRAMS.items():
            families = ship.read(name)
            build = families["trapline_build"].samples[0].labels
            node = families["trapline_node"].samples[0].labels
            self.assertEqual((build["version"], build["schema"]), (version, "1"))
            self.assertEqual(node, {"node": name, "kind": "bus" if program == "broker" else program})
            pid = ship.running[name].process.pid
            files = len(os.listdir("/proc/%d/fd" % pid))
            ship.until(name, lambda f: abs(
                monitored.value(f, "trapline_open_descriptors") - files) <= 4)

    def ready_is_on_the_pages(self, ship):
        since = time.time()
        for name in ("validator-1", "deck"):
            ship.until(name, lambda f: written(f) > since and
                       state_of(f, "trapline_verdict") == "ready")
        families = ship.read("validator-1")
        for station in STATIONS:
            self.assertEqual(monitored.value(families, "trapline_station_live", node=station), 1)
        for validator in ("validator-1", "validator-2"):
            ship.until_value("deck", 1, "trapline_validator_fresh", node=validator)

    def deck_rows(self, ship):
        with sqlite3.connect("file:%s?mode=ro" % (ship.dir / "record" / "recorder-1.db"),
                             uri=True) as file:
            return file.execute("SELECT count(*), max(sequence) FROM change WHERE node='deck'"
                                ).fetchone()

    def what_is_said_is_counted(self, ship):
        """Words of the deck: each is one change, in the record, at the validator, on the bus."""
        before = ship.fresh(*PROGRAMS)
        count = monitored.value
        for n in range(WORDS):
            ship.say("deck", "foul person" if n % 2 == 0 else "clear")
        through = count(before["recorder-1"], "trapline_record_watermark", node="deck") + WORDS
        now = ship.until_value("recorder-1", through, "trapline_record_watermark", node="deck")
        self.assertEqual(count(now, "trapline_record_lag", node="deck"), 0)
        self.assertEqual(self.deck_rows(ship), (through, through))
        self.assertEqual(count(now, "trapline_record_rows", table="change") - count(
            before["recorder-1"], "trapline_record_rows", table="change"), WORDS)
        self.assertGreater(count(now, "trapline_record_commits"),
                           count(before["recorder-1"], "trapline_record_commits"))
        for name, family in (("validator-1", "trapline_messages_received"),
                             ("deck", "trapline_messages_sent"),
                             ("bus-a", "trapline_messages_forwarded")):
            more = count(before[name], family, topic="change") + WORDS
            ship.until(name, lambda f: count(f, family, topic="change") >= more)
        ship.until_value("deck", 0, "trapline_outbox_unsettled")
        ship.until_value("deck", 0, "trapline_outbox_unrecorded")
        families = ship.read("validator-1")
        taken = sum(s.value for s in families["trapline_messages_received"].samples)
        self.assertGreaterEqual(count(families, "trapline_signatures_verified"), taken)

    def refusals_are_counted_by_reason(self, ship):
        """A viewer publishes what is the deck's: the broker refuses it and says so in a number."""
        why = {"reason": "not-your-topic"}
        before = monitored.value(ship.fresh("bus-a")["bus-a"], "trapline_frames_refused", **why)
        viewer = Client(Folder(ship.dir), "viewer")
        try:
            bus_a = viewer.publish[0]
            self.assertTrue(bus_a.poll(int(PATIENCE_S * 1000)))  # it has subscribed to us
            bus_a.recv()
            for _ in range(5):
                viewer.send_frame(viewer.frame("change/deck/", viewer.envelope("change")))
            ship.until_value("bus-a", before + 5, "trapline_frames_refused", **why)
        finally:
            viewer.close()

    def a_lost_bus_is_on_the_pages_and_on_the_lamp(self, ship):
        raised = ("RAISED", "caution", "bus-degraded", "bus-b")
        self.until_lamp(lambda end, now: raised in [edge[:4] for edge in end.edges])
        for name in ("validator-1", "recorder-1", "deck"):
            ship.until(name, lambda f: state_of(f, "trapline_bus", bus="bus-b") == "down")
            self.assertEqual(state_of(ship.read(name), "trapline_bus", bus="bus-a"), "up")
        old = ship.read("bus-b")  # killed: its page stays, and is known by its age
        ship.fresh("bus-a")
        self.assertEqual(written(ship.read("bus-b")), written(old))

    def a_folder_that_goes_changes_nothing(self, ship):
        marks = {name: ship.running[name].mark() for name in PROGRAMS}
        gone = ship.dir / "gone"  # at once: a page that is being written must not keep the folder
        os.rename(ship.dir / "metrics", gone)
        for name, mark in marks.items():
            ship.running[name].wait_text("MET-001", mark)
        ship.until_show(0)
        (ship.dir / "metrics").mkdir()
        for name, mark in marks.items():
            ship.running[name].wait_text("MET-002", mark)
            ship.until(name, lambda f: monitored.value(f, "trapline_pages_failed") >= 1)

    @contextlib.contextmanager
    def no_room_for_the_record(self, ship):
        """A page still fits."""
        pid, limit = ship.running["recorder-1"].process.pid, resource.RLIMIT_FSIZE
        before = resource.prlimit(pid, limit)
        resource.prlimit(pid, limit, (16384, before[1]))
        yield
        resource.prlimit(pid, limit, before)

    def test_a_recovery_as_the_monitoring_and_a_lamp_see_it(self):
        with Watched(edit=add_recorder) as ship:
            ship.brokers()
            start_recorder(ship)
            lamp = self.lamp(ship)
            ship.validators()
            ship.stations()
            ship.heard()
            ship.until_show(1)
            self.assertNotIn("READY", [word for _, word, *_ in self.end.states])
            ship.open_recovery()
            ship.order(204, "plover", 34000)
            ship.until_show(0)
            self.until_lamp(lambda end, now: end.is_ready(now))
            self.names_are_those_of_the_document(ship)
            self.programs_say_who_they_are(ship)
            self.ready_is_on_the_pages(ship)
            ship.running.pop("bus-b").kill()  # nothing of what follows needs it
            self.what_is_said_is_counted(ship)
            self.refusals_are_counted_by_reason(ship)
            self.a_lost_bus_is_on_the_pages_and_on_the_lamp(ship)
            self.a_folder_that_goes_changes_nothing(ship)
            with self.no_room_for_the_record(ship):
                ship.say("deck", "foul person")
                ship.until_value("recorder-1", 0, "trapline_recording")
                ship.until_value("recorder-1", 1, "trapline_record_lag", node="deck")
                ship.until_value("deck", 1, "trapline_outbox_unrecorded")
            families = ship.until_value("recorder-1", 1, "trapline_recording")
            self.assertEqual(monitored.value(families, "trapline_record_failures"), 1)
            ship.until_value("recorder-1", 0, "trapline_record_lag", node="deck")
            foul = [("NOT-READY", rule) for rule in ("line-crossed", "wave-off-advised")]
            self.until_lamp(lambda end, now: end.states[-1][1:3] in foul)
            ship.until("deck", lambda f: state_of(f, "trapline_verdict") == "not-ready")
            ship.say("deck", "clear")
            self.until_lamp(lambda end, now: end.is_ready(now))
            lamp.kill()
            ship.running.pop("lamp")
            self.until_dark()
            came = self.end.came
            self.assertFalse(self.end.is_ready(came + lamp_end.DROP_S))
            self.assertEqual(self.end.bad, 0)
            ship.running.pop("deck").end()
            self.assertFalse(ship.page("deck").exists())  # a regular end

    def test_a_wrong_name_is_refused_and_overwrites_nothing(self):
        with Ship() as ship:
            path = ship.dir / "gear.yaml"
            text = path.read_text()
            for words in ((BROKER, "-C", ship.dir, "--bus", "bus-a"),
                          (VALIDATOR, "-C", ship.dir, "--node", "validator-1"),
                          (TRAPLINE, "deck", "-C", ship.dir)):
                process = ship.start("wrong", *words, "--metrics", path)
                process.wait_text("is there and no page of metrics")
                self.assertEqual(process.process.wait(PATIENCE_S), 64)
                process.close()
                ship.running.pop("wrong")
            code, out = ship.call("watch", "--lamp", path)
            self.assertEqual(code, 64, out)
            self.assertIn("neither a terminal line nor a FIFO", out)
            self.assertEqual(path.read_text(), text)


if __name__ == "__main__":
    unittest.main(verbosity=2)
