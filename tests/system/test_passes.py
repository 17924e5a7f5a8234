# SPDX-License-Identifier: Apache-2.0
"""test_passes - a clean recovery of fifty passes, everyone on the bus: not one alert."""

import json
import subprocess
import unittest

from ship import Ship, switch_off

PASSES = 50
CRAFT = [(204, "plover", 34000), (117, "curlew", 44000), (331, "dunlin", 14500)]


class Typist:
    """A person at a terminal: types a line, reads what became of it."""

    def __init__(self, ship, name):
        self.process = ship.station(name, stdin=subprocess.PIPE)
        self.ship = ship

    def say(self, line, safeward=False):
        mark = self.process.mark()
        self.process.type(line)
        if not safeward:
            self.process.wait_text("type 'confirm'", mark)
            self.process.type("confirm")
        answer = self.process.wait_for(
            lambda l: " - accepted by " in l or " - stands as " in l or "REFUSED" in l or
            "NOT SAID" in l or "NOT CONFIRMED" in l, mark)[1]
        assert " - accepted by " in answer or " - stands as " in answer, answer


    def say_soon(self, line):
        """The same for a word that needs a picture which may still be on its way."""
        while True:
            mark = self.process.mark()
            self.process.type(line)
            answer = self.process.wait_for(
                lambda l: "type 'confirm'" in l or "has no trap" in l, mark)[1]
            if "type 'confirm'" in answer:
                break
        self.process.type("confirm")
        self.process.wait_for(lambda l: " - accepted by " in l or " - stands as " in l, mark)


class Passes(unittest.TestCase):
    def clean_pass(self, at, number):
        side, type_, weight = CRAFT[number % len(CRAFT)]
        if number > 0:
            engine = at["engine-%d" % (1 + (number - 1) % 4)]
            engine.process.wait_text("trap on wire")
            engine.say_soon("arrest 181.2 3.5")
        at["primary"].say("order %d %s %d" % (side, type_, weight))
        for n in (1, 2, 3, 4):
            at["engine-%d" % n].say("set %d" % weight)
            at["engine-%d" % n].say("battery in")
        at["wires"].say("reset")
        at["tracks"].say("secured")
        at["aid"].say("aid %s 3.50 3" % type_)
        at["approach"].say("inbound %d %s %d" % (side, type_, weight - 500))
        at["primary"].say("repeaters %d" % weight)
        at["platform"].say("call %d %s" % (side, type_))
        at["platform"].say("hook down")
        mark = at["deck"].process.mark()
        at["deck"].say("clear")
        at["deck"].process.wait_text("READY (advisory) event %d" % (number + 1), mark)
        at["platform"].say("trap %d" % (1 + number % 4), safeward=True)

    def test_fifty_clean_passes_raise_no_alert(self):
        with Ship(full=True, edit=self.with_no_recorder_and_no_interval) as ship:
            ship.brokers()
            ship.validators()
            watch = ship.watch()
            at = {name: Typist(ship, name) for name in ship.names}
            ship.heard()
            ship.open_recovery()
            for number in range(PASSES):
                self.clean_pass(at, number)
            alerts = [json.loads(line) for _, line in watch.lines if '"alert' in line]
            self.assertEqual(alerts, [])
            ready = [l for _, l in watch.lines if '"verdict":"READY"' in l]
            self.assertGreaterEqual(len(ready), PASSES)
            for name in ship.names:
                said = [l for _, l in ship.running[name].lines if "ALERT" in l]
                self.assertEqual((name, said), (name, []))

    @staticmethod
    def with_no_recorder_and_no_interval(ship):
        path = ship.dir / "stations.yaml"
        path.write_text("".join(line for line in path.read_text().splitlines(True)
                                if "kind: recorder" not in line))
        # Here the passes follow one another as fast as a program can type.
        switch_off(ship.dir / "ship.yaml", ["interval-short"], "no pass here takes its time")


if __name__ == "__main__":
    unittest.main(verbosity=2)
