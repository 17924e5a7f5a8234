# SPDX-License-Identifier: Apache-2.0
"""test_words - each word of the gear, said at real terminals: what it makes NOT READY, and back."""

import unittest

from ship import Ship, switch_off

# station, what is wrong, exactly what is then said, what puts it right
ROWS = [
    ("wires", "sheave 1 down", ["sheave-down:wires"], ["sheave 1 up"]),
    ("wires", "bypass 4 on", ["bypass-with-pendant:wires"], ["bypass 4 off"]),
    ("wires", "withdraw rig 2", ["rig-unknown:wires"], ["rig 2"]),
    ("wires", "pendant 1 good 1.99 4.90", ["pendant-height:wires"], ["pendant 1 good 2.00 4.90"]),
    ("wires", "pendant 3 good 2.75 5.51", ["pendant-height:wires"], ["pendant 3 good 2.75 5.50"]),
    ("wires", "pendant 2 support", ["pendant-worn:wires"], ["pendant 2 good 2.75 4.90"]),
    ("wires", "held 3", ["wire-not-free:wires"], ["free"]),
    ("wires", "retracting 3", ["retract-running:wires"], ["retracted"]),
    ("wires", "stanchions moving", ["barricade-not-stowed:wires"], ["stanchions lowered"]),
    ("tracks", "track 2 open", ["track-open:tracks"], ["track 2 secured"]),
    ("tracks", "track 1 deflector", ["track-open:tracks"], ["secured"]),
    ("aid", "fault", ["aid-fault:aid"], ["aid plover 3.50 3"]),
    ("aid", "aid curlew 3.50 3", ["aid-not-for-type:aid"], ["aid sandpiper 3.50 3"]),
    ("aid", "aid plover 3.75 3", ["aid-angle:aid"], ["aid plover 3.50 3"]),
    ("aid", "target 2", ["aid-not-on-target:aid"], ["target 3"]),
    ("engine-2", "accumulator 379", ["accumulator-pressure:engine-2"], ["accumulator 380"]),
    ("engine-2", "gap 0.99", ["crosshead-gap:engine-2"], ["gap 1.00"]),
    ("engine-2", "fluid low", ["fluid-level:engine-2"], ["fluid battery"]),
    ("engine-2", "fault 31", ["engine-fault:engine-2"], ["fault none"]),
    ("engine-2", "service in 12", ["not-signed-off:engine-2"], ["service in"]),
    ("engine-2", "service out", ["inactive-rigged:wires"], ["service in"]),
    ("engine-2", "withdraw service", ["service-unknown:engine-2"], ["service in"]),
    ("engine-2", "arrest 190.1 for 1", ["ram-travel:engine-2"], ["arrest 190.0 for 1"]),
    ("engine-2", "arrest 180 20.1 for 1", ["off-centre:engine-2"], ["arrest 180 20 for 1"]),
    ("engine-2", "arrest 180 0 4.1 for 1", ["sides-unequal:engine-2"], ["arrest 180 0 4 for 1"]),
    ("gear-officer", "inspected 2 found Rowan", ["inspection-overdue:gear-officer"],
     ["inspected 2 good Rowan"]),
    ("gear-officer", "pendant-life 2 125", ["pendant-life:gear-officer"],
     ["pendant-new 2 P-2 124"]),
    ("approach", "inbound 204 plover 34500", ["over-trap-weight:approach"],
     ["inbound 204 plover 33500"]),
    ("tracks", "withdraw watch", ["not-manned:tracks"], ["watch Ash"]),
    ("gear-officer", "cable 3 61", ["detorque-overdue:gear-officer"],
     ["cable-new 3 C-3 60"]),
    ("gear-officer", "foul wire 20", ["deck-foul:gear-officer"], ["no foul"]),
    ("barricade", "barricade partial", ["barricade-not-stowed:barricade"], ["barricade secure"]),
    ("barricade", "power 1499 0", ["barricade-power:barricade"], ["power 1500 3"]),
    ("safety", "stop", ["stop:safety"], ["no foul"]),
    ("safety", "foul person", ["line-crossed:safety"], ["no foul"]),
    ("primary", "stop", ["stop:primary"], ["no foul"]),
]


class Words(unittest.TestCase):
    @staticmethod
    def without_computed_travel(ship):
        """No trap was computed here that an arrest could be held against."""
        switch_off(ship.dir / "ship.yaml", ["travel-disagrees"], "not under test")

    def test_each_word_is_judged_by_real_programs(self):
        with Ship(full=True, edit=self.without_computed_travel) as ship:
            ship.make_ready()
            for station, wrong, causes, right in ROWS:
                if station == "barricade" and "power" in wrong:
                    ship.say("barricade", "barricade ready")
                ship.until_show(0, [])
                ship.say(station, wrong)
                ship.until_show(1, causes)
                for words in right:
                    ship.say(station, words)
                ship.until_show(0, [])

    def test_clear_is_refused_while_the_interlock_forces_foul(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            for station, wrong, right in (("wires", "sheave 1 down", "sheave 1 up"),
                                          ("tracks", "track 1 open", "track 1 secured"),
                                          ("wires", "retracting 2", "retracted")):
                ship.say("deck", "foul equipment")
                ship.say(station, wrong)
                code, out = ship.do("deck", "clear")
                self.assertEqual((code, "a rule forces foul" in out), (2, True), out)
                ship.say(station, right)
                ship.say("deck", "clear")
                ship.until_show(0, [])


if __name__ == "__main__":
    unittest.main(verbosity=2)
