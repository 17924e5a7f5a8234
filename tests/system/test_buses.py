# SPDX-License-Identifier: Apache-2.0
"""test_buses - one of two brokers dies under traffic: nothing lost, nothing resent, no waiting."""

import collections
import pathlib
import sys
import threading
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "interop"))

from busclient import Client, Folder  # noqa: E402
from ship import Ship  # noqa: E402

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
