# SPDX-License-Identifier: Apache-2.0
"""test_buses - one of two brokers dies under traffic: nothing lost, nothing resent, no waiting."""

import collections
import pathlib
import sys
import threading
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "interop"))

from busclient import Client, Folder  # noqa: E402
from ship import PATIENCE_S, TRAPLINE, Ship  # noqa: E402

WORDS = 60
TICK_GAP_S = 0.4


class Buses(unittest.TestCase):
    def kill_under_traffic(self, broker, other):
        with Ship() as ship:
            ship.make_ready()
            viewer = Client(Folder(ship.dir), "viewer", listen=("verdict/", "picture/", "change/"))
            viewer.keep = True
            failed = []

            def talk():
                for n in range(WORDS):
                    words = "inbound %d plover %d" % (500 + n % 10, 30000 + 10 * n)
                    code, out = ship.do("approach", words)
                    if code != 0:
                        failed.append(out)

            try:
                self.assertTrue(viewer.run(10, viewer.ready))
                begin = len(viewer.frames)
                talker = threading.Thread(target=talk)
                talker.start()
                viewer.run(1.0)
                ship.running.pop(broker).kill()
                viewer.run(30, lambda: not talker.is_alive())
                talker.join()
                viewer.run(0.5)
                self.assertEqual(failed, [])
                ticks = collections.defaultdict(list)
                envelopes = collections.defaultdict(set)
                for at, bus, topic, envelope in viewer.frames[begin:]:
                    if envelope.WhichOneof("body") == "verdict" and envelope.verdict.is_tick:
                        ticks[envelope.node].append(at)
                    elif topic == "change/approach/":
                        envelopes[envelope.sequence].add(envelope.SerializeToString())
                self.assertEqual(sorted(ticks), ["validator-1", "validator-2"])
                for node, times in ticks.items():
                    gaps = [b - a for a, b in zip(times, times[1:])]
                    self.assertLessEqual(max(gaps), TICK_GAP_S, node)
                # Each word left its station once, and every one was applied in both validators.
                self.assertEqual(sorted(envelopes), list(range(1, WORDS + 1)))
                self.assertEqual([s for s, e in envelopes.items() if len(e) > 1], [])
                for validator in viewer.folder.validators():
                    applied = {s.node: s.applied for s in viewer.pictures[validator].station}
                    self.assertEqual(applied["approach"], WORDS, validator)
                self.assertTrue(viewer.ready())
            finally:
                viewer.close()
            ship.until_alerts(["bus-degraded:" + broker])
            self.assertEqual(ship.show()[0], 0)  # a caution: it does not hold the recovery
            ship.brokers(broker)
            ship.until_alerts([])
            ship.until_show(0, [])

    def test_broker_a_dies(self):
        self.kill_under_traffic("bus-a", "bus-b")

    def test_broker_b_dies(self):
        self.kill_under_traffic("bus-b", "bus-a")

    def test_mine_names_the_buses_that_carried_each_word(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            deck = ship.station("deck")
            deck.wait_text("NOT READY")

            def until_mine(text):
                until = time.monotonic() + PATIENCE_S
                while text not in ship.do("deck", "mine")[1]:
                    self.assertLess(time.monotonic(), until, ship.do("deck", "mine")[1])

            ship.say("deck", "foul person")
            until_mine("foul: person over the line - sent, bus-a, bus-b, accepted")
            ship.running.pop("bus-b").kill()
            ship.say("deck", "foul wire")
            until_mine(" - sent, bus-a, accepted")
            self.assertNotIn("bus-b", ship.do("deck", "mine")[1])

    def test_watch_runs_a_command_when_an_alert_is_raised_and_when_it_is_gone(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            script = ship.dir / "sound it"
            script.write_text("#!/bin/sh\necho \"sounder: $1, $2, $3, $4, $5\" >&2\n")
            script.chmod(0o700)
            code, out = ship.call("watch", "--on-alert", ship.dir / "missing")
            self.assertEqual(code, 64, out)
            watch = ship.start("watch", TRAPLINE, "watch", "--on-alert", script)
            watch.wait_text("NOT READY")
            ship.running.pop("bus-b").kill()
            watch.wait_text("sounder: raised, caution, bus-degraded, bus-b, ")
            ship.brokers("bus-b")
            watch.wait_text("sounder: gone, caution, bus-degraded, bus-b, ")

    def test_both_brokers_die_and_come_back(self):
        with Ship() as ship:
            ship.make_ready()
            names = ["deck", "engine-1", "primary", "platform"]
            marks = {name: ship.running[name].mark() for name in names}
            for broker in ("bus-a", "bus-b"):
                ship.running.pop(broker).kill()
            for name in names:
                ship.running[name].wait_text("validator not heard here", marks[name])
            ship.brokers()
            ship.until_show(0, [])


if __name__ == "__main__":
    unittest.main(verbosity=2)
