# SPDX-License-Identifier: Apache-2.0
"""test_wear - traps of pendants and cables with real programs: counted once, through every restart

The counts are kept by the gear officer's station, added to by the validators, and counted again by
the recorders from their records; trapline log wires reads the records. They must be equal, and equal
to what this test itself counts.
"""

import csv
import io
import json
import time
import unittest

from ship import PATIENCE_S, Ship

STATIONS = ("primary", "platform", "gear-officer")
RECORDERS = ("recorder-1", "recorder-2")


def two_recorders(ship):
    path = ship.dir / "stations.yaml"
    line = "  - {id: recorder-1, kind: recorder}\n"
    text = path.read_text()
    assert line in text
    path.write_text(text.replace(line, line + line.replace("-1", "-2")))


class Deck:
    """A ship of which only those are manned whose words are counted."""

    def __init__(self, edit=None):
        self.ship = Ship(edit=edit, full=True)
        self.traps = {}     # ("pendant" or "cable", number) -> (serial, traps), as counted here
        self.passes = 0
        self.recorders = ()

    def __enter__(self):
        self.ship.__enter__()
        return self

    def __exit__(self, *args):
        self.ship.__exit__(*args)

    # ---- programs ----

    def station(self, name):
        process = self.ship.station(name)
        process.wait_text("NOT READY")
        return process

    def up(self, recorders=("recorder-1",)):
        self.recorders = recorders
        self.ship.brokers()
        self.ship.validators()
        self.ship.recorders(*recorders)
        for name in STATIONS:
            self.station(name)
        # a count is up to the last pass that the picture shows: there must be one
        self.ship.until_show(1)

    def again(self, *names):
        """Killed at once, then started again."""
        for name in names:
            self.ship.running.pop(name).kill()
        for name in names:
            if name.startswith("bus"):
                self.ship.brokers(name)
            elif name.startswith("validator"):
                self.ship.validators(name)
            elif name.startswith("recorder"):
                self.ship.recorders(name)
        for name in names:
            if name in STATIONS:
                self.station(name)

    # ---- what people do ----

    def officer(self, words):
        return self.ship.say("gear-officer", words)

    def key_all(self):
        for n in (1, 2, 3, 4):
            self.officer("pendant-life %d %d P-041%d" % (n, 80 + n, n))
            self.officer("cable %d %d C-2%d" % (n, 30 + n, n))
            self.traps[("pendant", n)] = ("P-041%d" % n, 80 + n)
            self.traps[("cable", n)] = ("C-2%d" % n, 30 + n)

    def open(self, words="open"):
        self.ship.say("primary", words)
        self.passes = 0

    def count(self, wire, more):
        for what in ("pendant", "cable"):
            serial, traps = self.traps[(what, wire)]
            self.traps[(what, wire)] = (serial, traps + more)

    def pass_ends(self, result):
        self.passes += 1
        self.ship.say("primary", "order %d plover 34000" % (200 + self.passes))
        # wave-off does not wait for an event that is not shown yet, unless it is named
        named = " for %d" % self.passes if result == "wave-off" else ""
        self.ship.say("platform", result + named)

    def trap(self, wire):
        self.pass_ends("trap %d" % wire)
        self.count(wire, 1)

    # ---- the figures ----

    def shown(self):
        """What the gear officer's words in the validators' picture say."""
        picture = self.ship.show()[1]
        found = {}
        for word in picture["cables"] if picture else []:
            text = word["text"]
            for what in ("pendant", "cable"):
                if text.startswith(what + " ") and "traps" in text:
                    name, rest = text.split(": ", 1)
                    serial = name.split("(")[1].rstrip(")") if "(" in name else ""
                    found[(what, int(name.split()[1]))] = (serial, int(rest.split()[0]))
        return found

    def log(self, *words):
        code, out = self.ship.call("log", "wires", "-C", self.ship.dir, *words)
        assert code == 0, out
        return out

    def rows(self):
        return json.loads(self.log("--json"))["wires"]

    def fitted(self):
        return {(r["what"], r["number"]): r for r in self.rows() if r["removed"] is None}

    def recorded(self):
        return {key: (r["serial"] or "", r["traps"]) for key, r in self.fitted().items()}

    def differences(self):
        return [r for r in self.rows()
                if r["removed"] is None and
                (r["stated_traps"] is not None or
                 any(r.get(name + "_traps") not in (None, r["traps"]) for name in self.recorders))]

    def until_equal(self):
        """The picture, every record and this test have the same."""
        until = time.monotonic() + PATIENCE_S
        while True:
            shown, recorded = self.shown(), self.recorded()
            differ = self.differences() if shown == recorded else None
            if shown == self.traps and recorded == self.traps and differ == []:
                return
            assert time.monotonic() < until, "picture %s\nrecord %s\nhere %s\ndiffer %s" % (
                shown, recorded, self.traps, differ)


class Wear(unittest.TestCase):
    def test_a_trap_is_counted_once_through_every_restart(self):
        with Deck(two_recorders) as deck:
            deck.up(RECORDERS)
            deck.key_all()
            deck.open()
            deck.until_equal()
            deck.trap(2)
            deck.ship.running["gear-officer"].wait_text("counted: pendant 2 (P-0412): 83 traps to "
                                                        "pass 1")
            deck.until_equal()
            # the same result again, and passes that nobody trapped
            deck.ship.say("platform", "trap 2 for 1")
            deck.pass_ends("bolter")
            deck.pass_ends("wave-off")
            deck.trap(3)
            deck.until_equal()
            # every program alone, a trap after each
            for name in ("validator-1", "validator-2", "recorder-1", "recorder-2", "bus-a"):
                deck.again(name)
                deck.trap(2)
                deck.until_equal()
            deck.again("platform")
            deck.again("primary")
            deck.ship.say("primary", "resume")
            deck.trap(4)
            deck.until_equal()
            # both validators at once: they add nothing twice to what the station says
            deck.again("validator-1", "validator-2")
            deck.until_equal()
            self.restart_of_the_station(deck)
            self.restart_of_all(deck)

    def restart_of_the_station(self, deck):
        deck.ship.running.pop("gear-officer").kill()
        deck.trap(2)
        deck.trap(1)
        self.take_record(deck)

    def take_record(self, deck):
        officer = deck.station("gear-officer")
        serial, traps = deck.traps[("pendant", 2)]
        officer.wait_text("the record of recorder-")
        officer.wait_for(lambda line: "has pendant 2 (%s): %d traps" % (serial, traps) in line)
        code, out = deck.ship.do("gear-officer", "pendant-life 2 3")
        self.assertEqual((code, "fewer are not taken" in out), (64, True), out)
        code, out = deck.ship.do("gear-officer", "from-record", confirm=False)
        self.assertEqual((code, "NOT SAID: read it back" in out), (2, True), out)
        self.assertIn("pendant 2 %s %d" % (serial, traps), out)
        deck.officer("from-record")
        deck.until_equal()
        deck.trap(3)
        deck.until_equal()

    def restart_of_all(self, deck):
        everything = [n for n in deck.ship.running if n != "gear-officer"]
        deck.ship.running.pop("gear-officer").kill()
        deck.again(*everything)
        deck.ship.until_show(1)
        code, out = deck.ship.do("primary", "open")
        self.assertEqual(code, 0, out)
        deck.passes = 0
        self.take_record(deck)
        deck.trap(2)
        deck.until_equal()

    def test_what_is_corrected_drilled_or_replaced(self):
        with Deck() as deck:
            deck.up()
            deck.key_all()
            deck.open()
            deck.trap(3)
            deck.pass_ends("bolter")
            deck.until_equal()
            self.corrections(deck)
            self.drill(deck)
            self.new_serials(deck)
            self.what_the_log_says(deck)

    def corrections(self, deck):
        deck.ship.say("platform", "trap 2 for 1")
        deck.count(3, -1)
        deck.count(2, +1)
        deck.until_equal()
        deck.ship.say("platform", "bolter for 1")
        deck.count(2, -1)
        deck.until_equal()
        deck.ship.say("platform", "trap 3 for 1")
        deck.count(3, +1)
        deck.until_equal()
        # what is confirmed again from the record is not taken away by a later correction: it is
        # added where it is known to have been
        deck.ship.running.pop("gear-officer").kill()
        deck.station("gear-officer").wait_text("'from-record' takes")
        deck.officer("from-record")
        deck.until_equal()
        deck.ship.say("platform", "trap 2 for 1")
        deck.count(2, +1)
        deck.until_equal()

    def drill(self, deck):
        deck.ship.say("primary", "close")
        deck.open("open drill")
        deck.pass_ends("trap 3")
        deck.until_equal()
        deck.ship.say("primary", "close")
        deck.open()
        deck.trap(1)
        deck.until_equal()

    def new_serials(self, deck):
        serial, traps = deck.traps[("pendant", 3)]
        for words in ("pendant-life 3 0", "pendant-life 3 0 P-0999",
                      "pendant-new 2 " + serial, "cable 3 1"):
            code, out = deck.ship.do("gear-officer", words)
            self.assertEqual((code, "nothing was said" in out), (64, True), out)
        deck.until_equal()
        deck.officer("pendant-new 3 P-0513")
        deck.traps[("pendant", 3)] = ("P-0513", 0)
        deck.until_equal()
        deck.trap(3)
        deck.until_equal()
        # the old one back on the wire has what it had
        code, out = deck.ship.do("gear-officer", "pendant-new 3 %s 1" % serial)
        self.assertEqual((code, "had %d traps when it was taken off" % traps in out), (64, True), out)
        deck.officer("cable-new 4 C-99 60 50")
        deck.traps[("cable", 4)] = ("C-99", 60)
        deck.officer("detorqued 2")
        deck.until_equal()

    def what_the_log_says(self, deck):
        rows = {(r["what"], r["serial"]): r for r in deck.rows()}
        old, new = rows[("pendant", "P-0413")], rows[("pendant", "P-0513")]
        self.assertEqual((old["traps"], new["traps"]), (84, 1))
        self.assertEqual((old["fitted"], old["removed"]), (None, new["fitted"]))
        self.assertIsNotNone(new["fitted"])
        second = rows[("cable", "C-22")]
        self.assertEqual((second["since_detorque"], second["detorque_due_at"]),
                         (0, second["traps"] + 200))
        self.assertEqual(rows[("cable", "C-99")]["since_detorque"], 10)
        out = deck.log("--csv")
        self.assertEqual([(r["what"], r["serial"], int(r["traps"]))
                          for r in csv.DictReader(io.StringIO(out, newline=""))],
                         [(r["what"], r["serial"], r["traps"]) for r in deck.rows()])
        self.assertIn("P-0513", deck.log())

    def test_the_pendant_that_runs_out_is_told_before_and_at_its_last_trap(self):
        with Deck() as deck:
            deck.up()
            deck.key_all()
            deck.officer("pendant-new 4 P-0600 123")
            deck.traps[("pendant", 4)] = ("P-0600", 123)
            deck.open()
            deck.trap(4)
            deck.until_equal()
            self.assertNotIn("pendant-life:wrong", self.causes(deck))
            for side in (301, 302):
                deck.ship.say("primary", "order %d plover 34000" % side)
            deck.passes += 1
            # one left, two to come: the validators count the trap though the station is not there
            deck.ship.running.pop("gear-officer").kill()
            deck.ship.say("platform", "trap 4")
            until = time.monotonic() + PATIENCE_S
            while "pendant-life:wrong" not in self.causes(deck):
                self.assertLess(time.monotonic(), until, self.causes(deck))

    def causes(self, deck):
        picture = deck.ship.show()[1]
        return ["%s:%s" % (c["rule"], c["state"]) for c in picture["causes"]]


if __name__ == "__main__":
    unittest.main(verbosity=2)
