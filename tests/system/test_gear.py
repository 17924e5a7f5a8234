# SPDX-License-Identifier: Apache-2.0
"""test_gear - an engine goes out and comes back, a pass into the barricade, advice to wave off."""

import unittest

from ship import Ship


class Gear(unittest.TestCase):
    def test_after_an_arrest_beyond_limits_a_named_person_frees_the_engine(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            code, out = ship.do("platform", "trap 5")
            self.assertEqual((code, "there is no wire 5" in out), (64, True), out)
            ship.until_show(0, [])
            ship.say("platform", "trap 2")
            ship.order(117, "curlew", 44000)
            ship.until_show(1, ["arrest-unread:engine-2"])
            code, out = ship.do("gear-officer", "freed 2 Rowan")
            self.assertEqual((code, "no arrest read" in out), (64, True), out)
            ship.say("engine-2", "arrest 193.4 3.5")
            ship.until_show(1, ["ram-travel:engine-2"])
            ship.say("gear-officer", "freed 2 Rowan")
            picture = ship.until_show(0, [])
            words = [w["text"] for w in picture["engines"][1]["words"]]
            self.assertIn("pass 1: ram 193.4 in, off centre 3.5 ft, sides apart 0.0 in, "
                          "ran back 0.0 ft", words)
            self.assertIn("engine 2 freed after pass 1 by Rowan", ship.call("show")[1])

    def test_an_engine_out_of_service_leaves_the_rest_and_comes_back_signed_for(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("engine-3", "service out 1207")
            ship.until_show(1, ["inactive-rigged:wires", "aid-not-on-target:aid"])
            ship.say("wires", "strip 3")
            ship.until_show(1, ["aid-not-on-target:aid"])
            self.assertIn("aid: aid not on the target wire: wire 3, needed wire 2",
                          ship.call("show")[1])
            ship.say("aid", "target 2")
            picture = ship.until_show(0, [])
            self.assertEqual([e["takes_part"] for e in picture["engines"]],
                             [True, True, False, True])
            self.assertEqual(picture["engines"][2]["service"], "out")
            ship.running["platform"].wait_text("groove: engines set 34,000 lb - aid plover")
            ship.say("engine-2", "service out")
            ship.say("wires", "strip 2")
            ship.say("aid", "target 4")
            ship.until_show(1, ["too-few-wires:"])
            ship.say("primary", "override too-few-wires 5 last aircraft")
            ship.say("safety", "agree override")
            ship.until_show(0, [])
            ship.say("engine-3", "service in 1207")
            ship.say("wires", "rig 3")
            ship.say("wires", "pendant 3 good 2.75 4.90")
            ship.say("aid", "target 3")
            ship.until_show(1, ["not-signed-off:engine-3"])
            ship.say("gear-officer", "signed 3 1207 Rowan")
            ship.until_show(0, [])

    def test_a_pass_into_the_barricade(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("primary", "order 117 curlew 44000 barricade")
            ship.say("platform", "bolter")
            ship.words_for(117, "curlew", 44000)
            ship.until_show(1, ["barricade-not-rigged:barricade", "barricade-not-rigged:wires",
                                "barricade-wires:wires", "barricade-wires:wires"])
            ship.say("wires", "strip 3")
            ship.say("wires", "strip 4")
            ship.say("wires", "stanchions raised")
            ship.say("barricade", "barricade partial")
            ship.until_show(1, ["barricade-not-rigged:barricade"])
            ship.say("barricade", "barricade rigged used")
            ship.until_show(1, ["webbing-used:barricade"])
            ship.say("barricade", "barricade rigged")
            ship.until_show(0, [])
            ship.running["platform"].wait_text("groove: BARRICADE, its engine set 44,000 lb")
            ship.say("platform", "hook not down")
            ship.until_show(0, [])
            # the next one is on the wires again: what the barricade needed is now in its way
            ship.say("platform", "trap 4")
            ship.say("engine-4", "arrest 150.0")
            ship.say("primary", "order 204 plover 34000")
            code, out = ship.do("deck", "clear")
            self.assertEqual((code, "a rule forces foul" in out), (2, True), out)
            picture = ship.until_show(1)
            causes = {"%s:%s" % (c["rule"], c["station"] or "") for c in picture["causes"]}
            self.assertLessEqual({"barricade-not-stowed:barricade", "barricade-not-stowed:wires",
                                  "too-few-wires:"}, causes)

    def test_a_fact_that_turns_bad_on_final_advises_a_wave_off_everywhere(self):
        with Ship(full=True) as ship:
            ship.make_ready()
            ship.say("platform", "withdraw call")
            ship.until_show(1, ["type-called-differs:platform"])
            ship.say("platform", "call 204 plover")
            ship.until_show(0, [])
            marks = {name: ship.running[name].mark() for name in ship.names}
            ship.say("wires", "sheave 2 down")
            ship.until_show(1, ["wave-off-advised:wires", "sheave-down:wires"])
            for name in ship.names:
                ship.running[name].wait_text("ALERT emergency alarm: wires: WAVE-OFF ADVISED: "
                                             "sheave not up", marks[name])
            ship.say("platform", "wave-off")
            ship.until_show(1)


if __name__ == "__main__":
    unittest.main(verbosity=2)
