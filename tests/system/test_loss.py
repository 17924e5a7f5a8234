# SPDX-License-Identifier: Apache-2.0
"""test_loss - killed, stopped and delayed programs: NOT READY with the cause, READY afterwards."""

import signal
import time
import unittest

from relay import Strait
from ship import PATIENCE_S, STATIONS, Ship, free_port


class Loss(unittest.TestCase):
    def assert_not_ready_within(self, process, mark, begin, text, limit_s=1.0):
        at, line = process.wait_for(lambda l: "NOT READY" in l and text in l, mark)
        self.assertLessEqual(at - begin, limit_s, "%s: %s" % (process.name, line))

    def test_every_screen_says_within_a_second_that_the_validators_are_dead(self):
        with Ship() as ship:
            ship.make_ready()
            watch = ship.watch()
            watch.wait_for(lambda line: '"READY"' in line)
            marks = {name: ship.running[name].mark() for name in STATIONS}
            watch_mark = watch.mark()
            begin = time.monotonic()
            ship.running["validator-1"].kill()
            ship.running["validator-2"].kill()
            for name in STATIONS:
                self.assert_not_ready_within(ship.running[name], marks[name], begin,
                                             "validator not heard here")
            self.assert_not_ready_within(watch, watch_mark, begin, "no-validator")
            code, _ = ship.show()
            self.assertEqual(code, 3)
            for name in ("validator-1", "validator-2"):
                del ship.running[name]
            ship.validators()
            ship.until_show(0, [])

    def test_one_dead_validator_of_two_blanks_every_screen(self):
        with Ship() as ship:
            ship.make_ready()
            watch = ship.watch()
            watch.wait_for(lambda line: '"READY"' in line)
            marks = {name: ship.running[name].mark() for name in STATIONS}
            begin = time.monotonic()
            ship.running["validator-2"].kill()
            for name in STATIONS:
                self.assert_not_ready_within(ship.running[name], marks[name], begin,
                                             "validator 2: validator not heard here")
            back = time.monotonic()
            ship.running.pop("validator-2")
            ship.validators("validator-2")
            ship.until_show(0, [])
            # `show` itself is new; the stations hold the return for 3.0 s.
            for name in STATIONS:
                at, _ = ship.running[name].wait_for(
                    lambda line: line.startswith("READY"), marks[name])
                self.assertGreaterEqual(at - back, 3.0, name)

    def test_a_frozen_station_is_lost_within_a_second_and_held_three(self):
        with Ship() as ship:
            ship.make_ready()
            watch = ship.watch()
            watch.wait_for(lambda line: '"READY"' in line)
            mark = watch.mark()
            begin = time.monotonic()
            ship.running["engine-2"].signal(signal.SIGSTOP)
            self.assert_not_ready_within(watch, mark, begin, "station-lost")
            ship.until_show(1, ["station-lost:engine-2"])
            back = time.monotonic()
            ship.running["engine-2"].signal(signal.SIGCONT)
            at, _ = watch.wait_for(lambda line: '"READY"' in line, mark)
            self.assertGreaterEqual(at - back, 3.0)
            ship.until_show(0, [])

    def delayed(self, to_broker_s, to_node_s):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            strait = Strait(ship, free_port)
            try:
                for name in STATIONS:
                    ship.station(name, strait.dir if name == "engine-2" else None)
                ship.heard()
                far = {"engine-2": strait.dir}
                ship.open_recovery()
                ship.say("primary", "order 204 plover 34000")
                for n in (1, 2, 3, 4):
                    name = "engine-%d" % n
                    for words in ("set 34000", "battery in"):
                        code, out = ship.do(name, words, folder=far.get(name))
                        self.assertEqual(code, 0, out)
                ship.say("primary", "repeaters 34000")
                ship.say("deck", "clear")
                ship.say("platform", "call 204 plover")
                ship.say("platform", "hook down")
                ship.until_show(0, [])
                watch = ship.watch()
                watch.wait_for(lambda line: '"READY"' in line)
                mark = watch.mark()
                own = ship.running["engine-2"].mark()
                begin = time.monotonic()
                strait.delay(to_broker_s, to_node_s)
                self.assert_not_ready_within(watch, mark, begin, "station-lost")
                if to_node_s > 0:
                    self.assert_not_ready_within(ship.running["engine-2"], own, begin,
                                                 "validator not heard here")
                ship.until_show(1, ["station-lost:engine-2"])
                # It stays so although every frame arrives, in order and without a gap.
                quiet = time.monotonic() + 2.5
                while time.monotonic() < quiet:
                    code, _ = ship.show()
                    self.assertEqual(code, 1)
                strait.delay()
                ship.until_show(0, [])
            finally:
                strait.stop()

    def test_words_delayed_by_1_s_on_the_way_up_are_not_fresh(self):
        self.delayed(1.0, 0.0)

    def test_words_delayed_by_5_s_on_the_way_up_are_not_fresh(self):
        self.delayed(5.0, 0.0)

    def test_verdicts_delayed_by_1_s_on_the_way_down_are_not_fresh(self):
        self.delayed(0.0, 1.0)

    def test_verdicts_delayed_by_5_s_on_the_way_down_are_not_fresh(self):
        self.delayed(0.0, 5.0)

    def test_a_silent_wind_sensor_makes_the_wind_unknown(self):
        with Ship() as ship:
            ship.make_ready()
            ship.sensors.stop()
            ship.until_show(1, ["wind-unknown:bridge"])
            from ship import Sensors
            ship.sensors = Sensors(ship.sensors.port)
            ship.until_show(0, [])

    def test_two_wind_sensors_that_disagree_are_not_averaged(self):
        with Ship() as ship:
            ship.make_ready()
            ship.sensors.wind.append("WIMWV,312.0,R,12.0,N,A".replace("WI", "II", 1))
            picture = ship.until_show(1, ["wind-unknown:bridge"])
            self.assertEqual(len(picture["wind"]["readings"]), 2)
            self.assertIsNone(picture["wind"]["headwind_kt"])


if __name__ == "__main__":
    unittest.main(verbosity=2)
