# SPDX-License-Identifier: Apache-2.0
"""test_mechanics - what is computed reaches the verdict, the alert and the screens."""

import json
import re
import unittest

from ship import Ship, switch_off


class Mechanics(unittest.TestCase):
    @staticmethod
    def cause(picture, rule):
        return [c for c in picture["causes"] if c["rule"] == rule][0]

    def test_the_picture_tells_what_is_computed_for_this_pass(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            predicted = ship.until_show(0, [])["predicted"]
            self.assertEqual((predicted["type"], predicted["weight_lb"]), ("plover", 33500))
            self.assertGreater(predicted["engaging_kt"], 100)
            setting = {s["set_lb"]: s for s in predicted["settings"]}[34000]
            self.assertEqual((setting["bottoms"], setting["parts"]), (False, False))
            self.assertLessEqual(setting["stroke_in"], 190.0)
            self.assertGreaterEqual(predicted["ramp"]["clearance_ft"], 10.0)
            # The same figures by the tool that people plan with: one place computes them.
            code, out = ship.call("plan", "arrest", "-C", ship.dir, "--weight-lb", 33500,
                                  "--set-lb", 34000, "--engaging-kt", predicted["engaging_kt"],
                                  "--json")
            self.assertEqual(code, 0, out)
            plan = json.loads(out)
            self.assertAlmostEqual(plan["stroke_in"], setting["stroke_in"], delta=0.1)
            self.assertAlmostEqual(plan["peak_hook_lbf"], setting["hook_lbf"], delta=1.0)

    def test_a_setting_for_another_aircraft_tells_what_it_would_do(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("platform", "wave-off")
            ship.order(117, "curlew", 44000)
            ship.until_show(0, [])
            ship.say("engine-3", "set 34000")
            picture = ship.until_show(1, ["setting-other-aircraft:engine-3"])
            cause = self.cause(picture, "setting-other-aircraft")
            self.assertRegex(cause["consequence"], r"ram bottoms with [1-9][0-9]* kn left")
            self.assertIn(cause["consequence"], cause["text"])
            load = int(re.search(r"([0-9,]+) lbf", cause["consequence"]).group(1).replace(",", ""))
            self.assertGreater(load, 150000)
            for name in ("engine-3", "primary", "platform", "deck"):
                ship.running[name].wait_text("ram bottoms with")
            ship.say("engine-3", "set 44000")
            ship.say("primary", "repeater 3 44000")
            ship.until_show(0, [])

    def test_the_travel_read_is_held_against_the_one_computed(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("platform", "trap 2")
            ship.order(117, "curlew", 44000)
            ship.until_show(1, ["arrest-unread:engine-2"])
            ship.say("engine-2", "arrest 187.0 3.5")
            ship.until_show(0, [])
            ship.say("engine-2", "arrest 170.0 3.5 for 1")
            picture = ship.until_show(1, ["travel-disagrees:engine-2"])
            self.assertIn("170.0 in", self.cause(picture, "travel-disagrees")["text"])
            ship.say("gear-officer", "freed 2 Rowan")
            ship.until_show(0, [])

    def test_a_validator_that_was_not_there_takes_the_travel_from_the_other(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("platform", "trap 2")
            ship.order(117, "curlew", 44000)
            ship.say("engine-2", "arrest 187.0 3.5")
            ship.until_show(0, [])
            ship.running["validator-1"].kill()
            ship.until_show(1)
            ship.validators("validator-1")
            ship.until_show(0, [])
            # Both at once: nobody knows what was computed, and a named person frees the engine.
            for name in ("validator-1", "validator-2"):
                ship.running[name].kill()
            ship.validators()
            ship.until_show(1, ["travel-disagrees:engine-2"])
            ship.say("gear-officer", "freed 2 Rowan")
            ship.until_show(0, [])

    def test_less_wind_is_computed_anew_and_too_little_is_a_cause(self):
        # The rule on the type's own least wind is off: the energy must tell of it.
        def edit(ship):
            switch_off(ship.dir / "ship.yaml", ["wind-low", "crosswind-over", "aid-angle"],
                       "not under test")
            gear = ship.dir / "gear.yaml"
            gear.write_text(gear.read_text().replace("capacity_ftlb, value: 43500000",
                                                     "capacity_ftlb, value: 23500000"))
        with Ship(full=True, edit=edit) as ship:
            ship.make_ready()
            before = ship.until_show(0, [])["predicted"]
            ship.sensors.wind = ["WIMWV,355.0,R,10.0,N,A"]
            picture = ship.until_show(1, ["energy-thin:", "energy-over:"])
            after = picture["predicted"]
            self.assertGreater(after["engaging_kt"], before["engaging_kt"] + 10)
            self.assertGreater(after["energy_kftlb"], 23500)
            self.assertLess(after["energy_margin_percent"], 0)
            ship.sensors.wind = ["WIMWV,355.0,R,28.0,N,A"]
            ship.until_show(0, [])

    def test_without_its_figures_a_validator_does_not_start(self):
        with Ship(full=True) as ship:
            path = ship.dir / "gear.yaml"
            path.write_text(re.sub(r"  - \{figure: half_span_ft.*\n", "", path.read_text()))
            code, out = ship.call("check", "-C", ship.dir)
            self.assertEqual((code, "half_span_ft" in out), (78, True), out)


if __name__ == "__main__":
    unittest.main(verbosity=2)
