# SPDX-License-Identifier: Apache-2.0
"""test_config - what trapline check says of figures that are missing, wrong or not usable."""

import re
import unittest

from ship import Ship, switch_off

# file, what is taken out or changed (a regular expression), what takes its place, what is said
ROWS = [
    ("gear.yaml", r"  pendant_life: 125\n", "", "rule pendant-life needs figures: add limits.pendant_life"),
    ("gear.yaml", r"  pendant_life_near: 15\n", "", "rule pendant-life-near needs figures"),
    ("gear.yaml", r"  ram_travel_max_in: .*\n", "", "rule ram-travel needs figures"),
    ("gear.yaml", r"  off_centre_max_ft: .*\n", "", "rule off-centre needs figures"),
    ("gear.yaml", r"  sides_apart_max_in: .*\n", "", "rule sides-unequal needs figures"),
    ("gear.yaml", r"  walk_back_max_ft: .*\n", "", "rule walk-back needs figures"),
    ("gear.yaml", r"wires_min: 3\n", "", "rule too-few-wires needs figures: add wires_min"),
    ("gear.yaml", r"target_of_usable: .*\n", "", "rule aid-not-on-target needs figures"),
    ("gear.yaml", r"barricade: \{.*\n", "", "rule barricade-not-rigged needs figures"),
    ("gear.yaml", r"190\.0", "190.05", "not a number; write 0.1 to 1000.0 in, such as 2.5"),
    ("gear.yaml", r"190\.0", "0", "out of range"),
    ("gear.yaml", r"wires_min: 3", "wires_min: 5", "wires_min 5 is out of range"),
    ("gear.yaml", r"\[1, 2, 2, 3\]", "[1, 2, 2]", "target_of_usable has 3 entries for 4 wires"),
    ("gear.yaml", r"\[1, 2, 2, 3\]", "[1, 3, 2, 3]", "target_of_usable 3 is out of range; write 1 to 2"),
    ("gear.yaml", r"unit: 4, strip", "unit: 5, strip", "there is no engine 5"),
    ("gear.yaml", r"strip: \[3, 4\]", "strip: [3, 5]", "there is no wire 5"),
    ("gear.yaml", r"strip: \[3, 4\]", "strip: [3]", "strip leaves out wire 4"),
    ("gear.yaml", r"strip: \[3, 4\]", "strip: []", "strip"),
    ("aircraft.yaml", r", min_headwind_kt: 20.0", "", "has no min_headwind_kt, and rule wind-low needs it"),
    ("aircraft.yaml", r"min_headwind_kt: 24.0", "min_headwind_kt: 101", "out of range"),
    ("aircraft.yaml", r"barricade_setting_lb: 44000", "barricade_setting_lb: 52001", "out of range"),
    ("ship.yaml", r"crosswind_max_kt: .*\n", "", "rule crosswind-over needs figures"),
    ("ship.yaml", r"aid_angles:\n(  - .*\n)+", "", "rule aid-angle needs figures"),
    ("ship.yaml", r"motion: \{.*\n", "", "needs figures: add motion"),
    ("ship.yaml", r"from_kt: 0,", "from_kt: 1,", "from_kt must begin at 0 and rise"),
    ("ship.yaml", r"from_kt: 38.0", "from_kt: 32.0", "from_kt must begin at 0 and rise"),
    ("ship.yaml", r"angle_deg: 4.00", "angle_deg: 9.5", "out of range"),
    ("ship.yaml", r", turn_max_deg_min: 10.0", "", "\"turn_max_deg_min\" is missing in motion"),
    ("ship.yaml", r"heave_max_m: 1.50", "heave_max_m: 1.505", "not a number"),
    ("ship.yaml", r"rules_off: \[\]", "rules_off:\n  - {rule: wind-unknown, reason: none}",
     "rule wind-low judges the wind, and wind-unknown is off"),
    ("gear.yaml", r"half_span_ft", "half_spam_ft", "figure \"half_spam_ft\" is not known"),
    ("gear.yaml", r"figure: reeve_ratio", "figure: pitch_arm_ft", "pitch_arm_ft is of ship.yaml; move it there"),
    ("gear.yaml", r"value: 650", "value: 400", "accumulator_full_psi 400 is not above accumulator_battery_psi"),
    ("gear.yaml", r"  - \{figure: ram_mass_lb, .*\n", "", "cable_stiffness_lbf and no ram_mass_lb"),
    ("aircraft.yaml", r"approach_kt: 140.0", "approach_kt: 1400", "out of range"),
    ("ship.yaml", r"rules_off: \[\]", "rules_off:\n  - {rule: all-of-mechanic, reason: no}",
     "\"all-of-mechanic\" is not known"),
    ("ship.yaml", r"rules_off: \[\]",
     "rules_off:\n  - {rule: all-of-mechanics, reason: no}\n  - {rule: hook-load, reason: twice}",
     "rule hook-load is off twice"),
    ("ship.yaml", r"rules_off: \[\]", "rules_off:\n  - {rule: picture-lost, reason: no}",
     "is of the picture itself"),
]
# What is taken out of a ship on which the computed rules are on, and what is said.
COMPUTED = [
    ("gear.yaml", r"  - \{figure: half_span_ft, .*\n", "rule hook-load needs half_span_ft"),
    ("gear.yaml", r"  - \{figure: travel_apart_percent, .*\n", "rule travel-disagrees needs travel_apart_percent"),
    ("ship.yaml", r"  - \{figure: wind_lull_kt, .*\n", "rule hook-load needs wind_lull_kt"),
    ("ship.yaml", r"  - \{figure: call_range_nmi, .*\n", "rule interval-short needs call_range_nmi"),
    ("aircraft.yaml", r", approach_kt: 118.0", "type dunlin has no approach_kt, and rule hook-load needs it"),
]
# What may be left out once the rules that need it are off.
OPTIONAL = [
    ("gear.yaml", r"barricade: \{.*\n", ["barricade-not-rigged", "barricade-wires"]),
    ("gear.yaml", r"wires_min: 3\n", ["too-few-wires"]),
    ("ship.yaml", r"motion: \{.*\n", ["ship-not-steady", "deck-motion"]),
    ("aircraft.yaml", r", min_headwind_kt: [0-9.]+", ["wind-low"]),
]


class Config(unittest.TestCase):
    def check(self, ship):
        return ship.call("check", "-C", ship.dir)

    def edit(self, ship, name, find, put):
        path = ship.dir / name
        before = path.read_text()
        after = re.sub(find, put, before)
        self.assertNotEqual(after, before, find)
        path.write_text(after)
        return path, before

    def test_a_figure_that_is_missing_or_wrong_is_named(self):
        with Ship(full=True) as ship:
            self.assertEqual(self.check(ship)[0], 0)
            for name, find, put, said in ROWS:
                path, before = self.edit(ship, name, find, put)
                code, out = self.check(ship)
                self.assertEqual((code, said in out, name in out), (78, True, True),
                                 "%s -> %s: %s" % (find, put, out))
                path.write_text(before)
            self.assertEqual(self.check(ship)[0], 0)

    def test_a_computed_rule_is_on_with_its_figures_only(self):
        with Ship(full=True) as ship:
            self.assertEqual(self.check(ship)[0], 0)
            for name, find, said in COMPUTED:
                path, before = self.edit(ship, name, find, "")
                code, out = self.check(ship)
                self.assertEqual((code, said in out, name in out), (78, True, True),
                                 "%s: %s" % (find, out))
                path.write_text(before)

    def test_a_figure_may_be_left_out_with_its_rules(self):
        for name, find, rules in OPTIONAL:
            with Ship(full=True) as ship:
                self.edit(ship, name, find, "")
                self.assertEqual(self.check(ship)[0], 78)
                switch_off(ship.dir / "ship.yaml", rules, "none here")
                code, out = self.check(ship)
                self.assertEqual(code, 0, out)
                for rule in rules:
                    self.assertIn("rule off: %s" % rule, out)


if __name__ == "__main__":
    unittest.main(verbosity=2)
