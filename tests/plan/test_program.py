# SPDX-License-Identifier: Apache-2.0
"""test_program - trapline plan says what is published, in text and in JSON."""

import json
import os
import unittest
import xml.dom.minidom

from planner import PLANS, Planner

# S. R. Smith, M. A. Bourassa, R. J. Sharp, "Establishing More Truth in True Winds", J. Atmos.
# Oceanic Technol. 16 (1999), 939; rows as carried in a public test file of that method: course,
# speed, heading, wind felt from and speed; true wind from and speed, felt from (true).
WINDS = [
    (0, 0, 0, 90, 5, 90, 5, 90),
    (0, 0, 90, 90, 5, 180, 5, 180),
    (0, 5, 0, 0, 5, 0, 0, 0),
    (0, 5, 0, 0, 0, 180, 5, 0),
    (180, 5, 180, 180, 5, 360, 10, 0),
    (90, 5, 90, 90, 5, 225, 7.0710678, 180),
    (90, 5, 45, 135, 5, 225, 7.0710678, 180),
    (225, 5, 225, 270, 5, 90, 7.0710678, 135),
    (270, 3, 270, 90, 4, 36.8698976, 5, 0),
    (0, 0, 0, 0, 0, 0, 0, 0),
]
# One good line of each plan, with what it has to print.
GOOD = {
    "wind": "wind --course-deg 240 --speed-kt 18 --rel-dir-deg 40 --rel-kt 30 --gust-kt 35 "
            "--want-kt 27 --ship-max-kt 30 --table 0:30:5",
    "arrest": "arrest --type plover --headwind-kt 25 --set-lb 28000 --off-centre-ft 5",
    "aid": "aid --type curlew --set-for dunlin --wind-kt 30 --pitch-deg 1",
    "wave-off": "wave-off --type plover --headwind-kt 25 --range-nmi 0.2",
    "interval": "interval --aircraft 12",
    "bulletin": "bulletin",
}
ARREST_KEYS = {
    "weight_lb", "set_lb", "engaging_kt", "runout_ft", "stroke_in", "stroke_margin_in", "bottomed",
    "end_speed_kt", "peak_hook_lbf", "mean_hook_lbf", "peak_g", "peak_tension_lbf",
    "tension_fraction", "time_s", "energy_ftlbf", "energy_margin", "balance_error", "parts",
    "parts_kt", "off_centre_ft", "off_centre_end_ft", "off_centre_over", "caution"}
WIND_KEYS = {"true_dir_deg", "true_kt", "apparent_dir_deg", "apparent_kt", "headwind_kt",
             "crosswind_kt", "caution"}


class Program(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.planner = Planner().__enter__()

    @classmethod
    def tearDownClass(cls):
        cls.planner.__exit__()

    def expect(self, found, key, value, tolerance):
        self.assertIn(key, found)
        self.assertAlmostEqual(found[key], value, delta=tolerance, msg=key)

    def test_true_wind_has_the_published_rows(self):
        for course, speed, heading, rel, felt, true, true_kt, apparent in WINDS:
            line = ("wind --course-deg %s --speed-kt %s --heading-deg %s --rel-dir-deg %s "
                    "--rel-kt %s" % (course, speed, heading, rel, felt))
            found = self.planner.json(line)
            with self.subTest(line=line):
                self.assertLessEqual(WIND_KEYS, set(found))
                self.expect(found, "true_dir_deg", true, 1e-4)
                self.expect(found, "true_kt", true_kt, 1e-4)
                self.expect(found, "apparent_dir_deg", apparent, 1e-4)
                self.expect(found, "apparent_kt", felt, 1e-4)

    def test_maneuvering_board_example(self):
        # Pub. 1310, Radar Navigation and Maneuvering Board Manual, as quoted: true wind from 315 deg
        # at 20 kn; the ship's 18 kn from memory.
        found = self.planner.json("wind --course-deg 240 --speed-kt 18 --rel-dir-deg 40 --rel-kt 30")
        self.expect(found, "true_dir_deg", 315, 1.0)
        self.expect(found, "true_kt", 20, 0.5)

    def test_runway_components(self):
        # FAA knowledge test, figure 36: runway 18, wind 220 at 30: headwind 23 kn, crosswind 19 kn.
        line = ("wind --course-deg 180 --speed-kt 0 --true-dir-deg 220 --true-kt 30 --axis-deg 0")
        found = self.planner.json(line, config=False)
        self.expect(found, "headwind_kt", 23, 0.5)
        self.expect(found, "crosswind_kt", 19, 0.5)
        self.assertIn("23.0 kn", self.planner.text(line, config=False))

    def test_what_to_steer(self):
        # Own derivation: true wind from 000 at 10 kn, 27 kn wanted 9 deg to port of the bow.
        line = "wind --true-dir-deg 0 --true-kt 10 --want-kt 27 --axis-deg 9"
        found = self.planner.json(line)
        self.assertEqual(found["answer"], "there")
        self.expect(found["solutions"][0], "course_deg", 24.98, 0.01)
        self.expect(found["solutions"][0], "speed_kt", 17.60, 0.01)
        self.assertEqual(len(found["solutions"]), 2)
        self.assertIsNone(found["solutions"][0]["within_ship_max"])
        self.assertNotIn("headwind_kt", found)
        found = self.planner.json(line + " --ship-max-kt 15")
        self.assertEqual(found["answer"], "ship-slow")
        self.assertIs(found["solutions"][0]["within_ship_max"], False)
        light = self.planner.json("wind --true-dir-deg 0 --true-kt 4 --want-kt 27 --axis-deg 9")
        self.assertEqual((light["answer"], light.get("solutions")), ("wind-light", None))
        self.expect(light, "least_true_kt", 4.22, 0.01)
        self.assertIn("too light", light["notes"][0])

    def test_tables_of_wind(self):
        rows = self.planner.json("wind --true-dir-deg 0 --want-kt 27 --course-deg 0 --speed-kt 0 "
                                 "--table 5:20:5")["table"]
        self.assertEqual([row["true_kt"] for row in rows], [5, 10, 15, 20])
        for row, course, speed in zip(rows, (57.6, 24.98, 16.35, 12.19), (23.99, 17.60, 12.27, 7.12)):
            self.expect(row, "course_deg", course, 0.05)
            self.expect(row, "speed_kt", speed, 0.01)
        rows = self.planner.json("wind --true-dir-deg 0 --true-kt 10 --table 20:27:3.5")["table"]
        self.assertEqual([row["want_kt"] for row in rows], [20, 23.5, 27])
        rows = self.planner.json("wind --true-dir-deg 0 --course-deg 0 --speed-kt 20 "
                                 "--table 10:10:1")["table"]
        self.expect(rows[0], "headwind_kt", 29.631, 0.001)
        self.expect(rows[0], "crosswind_kt", 4.693, 0.001)

    def test_gusts(self):
        # Own derivation: bow wind 30 kn, gusts 40, so a lull of 20; axis 0.
        felt = ("wind --course-deg 0 --speed-kt 0 --rel-dir-deg 0 --rel-kt 30 --gust-kt 40 "
                "--axis-deg 0")
        true = ("wind --course-deg 0 --speed-kt 0 --true-dir-deg 0 --true-kt 30 --gust-kt 40 "
                "--axis-deg 0")
        for line in (felt, true):
            found = self.planner.json(line)
            self.expect(found, "headwind_lull_kt", 20, 1e-6)
            self.expect(found, "headwind_gust_kt", 40, 1e-6)
            self.expect(found, "headwind_least_kt", 20, 1e-6)

    def test_energy_of_the_rated_example(self):
        # 50,000 lb at 130 kn: an encyclopaedia text that cites the training course; energy computed.
        found = self.planner.json("arrest --weight-lb 50000 --set-lb 50000 --engaging-kt 130")
        self.expect(found, "energy_ftlbf", 37.408e6, 0.001e6)
        self.assertLessEqual(ARREST_KEYS, set(found))
        self.assertIs(found["bottomed"], False)
        self.assertIsNone(found["parts_kt"])
        self.assertLess(found["balance_error"], 1e-5)
        self.assertNotIn("beside", found)

    def test_a_type_brings_its_figures(self):
        found = self.planner.json("arrest --type plover --headwind-kt 25")
        self.assertEqual((found["weight_lb"], found["set_lb"]), (34000, 34000))
        self.expect(found, "engaging_kt", found["true_airspeed_kt"] - 25, 1e-6)
        cold = self.planner.json("arrest --type plover --headwind-kt 25 --temp-c 15 "
                                 "--pressure-hpa 1013.25")
        self.expect(cold, "true_airspeed_kt", cold["approach_kt"], 1e-6)
        half = self.planner.json("arrest --type plover --headwind-kt 25 --weight-lb 17000")
        self.expect(half, "approach_kt", found["approach_kt"] / 2 ** 0.5, 1e-6)

    def test_a_wrong_setting_stands_beside_the_right_one(self):
        found = self.planner.json("arrest --weight-lb 50000 --set-lb 60000 --engaging-kt 130")
        self.assertEqual([row["set_lb"] for row in found["beside"]], [50000, 60000])
        self.assertGreater(found["beside"][1]["peak_g"], found["beside"][0]["peak_g"])
        self.expect(found["beside"][1], "peak_g", found["peak_g"], 1e-9)

    def test_plots_fit_and_say_their_units(self):
        out = self.planner.text("arrest --type plover --headwind-kt 25 --set-lb 20000 --plot")
        for word in ("Deceleration (g)", "Cable tension (lbf)", "run-out (ft)", "xxx", "ooo",
                     "off the scale", "set 34,000 lb, right", "set 20,000 lb, given"):
            self.assertIn(word, out)
        found = self.planner.json("arrest --type plover --headwind-kt 25 --set-lb 20000")
        self.assertRegex(out, r"\n  x set 20,000 lb, given: peak [0-9.]+, \^")
        self.assertRegex(out, r"\n  x set 20,000 lb, given: peak %s, \^"
                         % format(round(found["peak_tension_lbf"]), ","))

    def test_a_picture_is_one_good_file(self):
        path = os.path.join(self.planner.home.name, "a.svg")
        line = "arrest --type plover --headwind-kt 25 --set-lb 28000 --svg " + path
        self.planner.text(line)
        root = xml.dom.minidom.parse(path).documentElement
        words = " ".join(node.firstChild.data for node in root.getElementsByTagName("text"))
        for word in ("run-out (ft)", "Deceleration (g)", "Cable tension (lbf)", "set 28,000 lb",
                     "advice", "invented"):
            self.assertIn(word, words)
        self.assertEqual(root.tagName, "svg")
        self.assertEqual(len(root.getElementsByTagName("polyline")), 4)
        os.remove(path)
        self.planner.json(line)
        self.assertTrue(os.path.exists(path))

    def test_a_picture_that_cannot_be_written_is_no_plan(self):
        line = "arrest --type plover --headwind-kt 25 --svg "
        pipe = os.path.join(self.planner.home.name, "pipe")
        os.mkfifo(pipe)
        for path in ("/nowhere/a.svg", self.planner.home.name, pipe):
            code, out, err = self.planner.call(line + path)
            self.assertEqual((code, out, err.count("\n")), (1, "", 1), path)
            self.assertIn("--svg", err)

    def test_landing_aid(self):
        # Printed sensitivity 16.4 ft a foot at 3.5 deg, hook over the ramp 14 ft at 230 ft: NAVAIR
        # 00-80T-104, as quoted; the figures computed.
        found = self.planner.json("aid --type curlew --set-for plover --angle-deg 3.5")
        self.expect(found, "aim_ft", 230, 1e-9)
        self.expect(found, "shift_ft", -1.80 * 16.350, 0.01)
        self.expect(found, "ramp_clearance_ft", 14.07 - 1.80, 0.01)
        pitched = self.planner.json("aid --type plover --pitch-deg 1.5")
        self.assertIs(pitched["ramp_clearance_low"], True)
        for wind, angle in ((31, 3.5), (32, 3.75), (37, 3.75), (38, 4.0)):
            self.expect(self.planner.json("aid --type plover --wind-kt %d" % wind), "angle_deg",
                        angle, 1e-9)
        rows = self.planner.json("aid")["types"]
        self.assertEqual([row["type"] for row in rows][:2], ["dunlin", "plover"])
        self.assertTrue(all(abs(row["shift_ft"]) < 1e-9 for row in rows))
        self.assertIsNone(rows[0]["effective_slope_deg"])

    def test_effective_slope(self):
        # 130 kn: 3.2 deg at 4.0 deg and 35 kn, 2.8 deg at 3.5 deg and 30 kn: NAVAIR 00-80T-104
        # fig. 4-7, as quoted. sandpiper comes in at 130 kn.
        for angle, wind, slope in ((4.0, 35, 3.2), (3.5, 30, 2.8)):
            found = self.planner.json("aid --type sandpiper --angle-deg %s --wind-kt %d"
                                      % (angle, wind))
            self.expect(found, "effective_slope_deg", slope, 0.05)

    def test_wave_off_windows(self):
        # Own derivation from the project's own defaults: reaction 1.4 s, 4 ft/s2, 10 and 100 ft.
        found = self.planner.json("wave-off --closure-kt 105 --angle-deg 3.5")
        self.expect(found, "gear_range_ft", 651.7, 0.05)
        self.expect(found, "gear_before_s", 3.68, 0.005)
        self.expect(found, "people_range_ft", 2123, 0.5)
        self.expect(found, "people_before_s", 11.98, 0.005)
        self.expect(found, "to_ramp_s", 25.71, 0.005)
        slow = self.planner.json("wave-off --closure-kt 105 --angle-deg 3.5 --reaction-s 2.0")
        self.expect(slow, "gear_before_s", 4.28, 0.005)
        self.expect(slow, "people_before_s", 12.58, 0.005)

    def test_intervals(self):
        # Own derivation, a table of the normal distribution.
        for interval, wave_off, chance in ((45, 6, 0.04006), (45, 12, 0.40129), (60, 12, 3.167e-5)):
            found = self.planner.json("interval --reset-s 32 --spread-s 4 --wave-off-s %d "
                                      "--interval-s %d" % (wave_off, interval))
            self.expect(found, "foul_chance", chance, chance * 1e-3)
        found = self.planner.json("interval --reset-s 32 --spread-s 4 --wave-off-s 6 --interval-s 30 "
                                  "--aircraft 12 --boarding-percent 90")
        self.assertEqual(found["trap_every"], 2)
        self.expect(found, "suggested_s", 46, 1e-9)
        found = self.planner.json("interval --aircraft 12 --boarding-percent 90 --interval-s 45")
        self.expect(found, "passes", 13.333, 0.001)
        self.expect(found, "recovery_s", 600, 1e-6)
        text = self.planner.text("interval --aircraft 12 --boarding-percent 90 --interval-s 45")
        self.assertIn("13.33", text)
        self.assertIn("600 s", text)

    def test_the_longest_window_of_any_type_is_the_default(self):
        types = {"dunlin": 15, "plover": 20, "sandpiper": 20, "curlew": 24, "godwit": 18,
                 "whimbrel": 18}  # with the least headwind of aircraft.yaml
        longest = max(self.planner.json("wave-off --type %s --headwind-kt %d" % item)
                      ["people_before_s"] for item in types.items())
        found = self.planner.json("interval")
        self.expect(found, "wave_off_s", longest, 1e-6)
        self.assertIn(found["wave_off_of"], types)

    def test_bulletin_names_what_rules(self):
        rows = self.planner.json("bulletin --type curlew")["rows"]
        self.assertEqual([row["weight_lb"] for row in rows[:2]], [44000, 42000])
        self.assertGreaterEqual(rows[-1]["weight_lb"], 0.7 * 44000)
        for row in rows:
            most = max(row[key] for key in row if key.startswith("need_"))
            self.assertGreaterEqual(row["headwind_kt"], most - 1e-6)
            self.assertLess(row["headwind_kt"], most + 0.1)
            self.expect(row, "approach_kt", 140 * (row["weight_lb"] / 44000) ** 0.5, 1e-6)

    def test_bulletin_keeps_each_limit_and_no_more(self):
        changes = {
            "hook load": ("aircraft.yaml", r"(id: curlew.*hook_load_max_lbf: )\d+", r"\g<1>70000"),
            "energy": ("gear.yaml", r"value: 43500000", "value: 25000000"),
            "stroke": ("gear.yaml", r"ram_travel_max_in: [0-9.]+", "ram_travel_max_in: 179.0"),
        }
        for ruling, change in changes.items():
            undo = self.planner.edit(*change)
            rows = self.planner.json("bulletin --type curlew --step-lb 20000")["rows"]
            undo()
            row = rows[0]
            self.assertEqual(row["ruled_by"], ruling)
            self.assertGreater(row["headwind_kt"], row["need_type_kt"])
            if ruling == "hook load":
                self.assertLessEqual(row["peak_hook_lbf"], 70000)
                self.assertGreater(row["peak_hook_lbf"], 69000)
            if ruling == "energy":
                self.assertGreaterEqual(row["energy_margin_percent"], 10)
                self.assertLess(row["energy_margin_percent"], 10.5)
            if ruling == "stroke":
                self.assertLessEqual(row["stroke_in"], 179.0)
                self.assertGreater(row["stroke_in"], 178.9)

    def test_bulletin_says_that_no_wind_is_enough(self):
        undo = self.planner.edit("gear.yaml", r"ram_travel_max_in: [0-9.]+",
                                 "ram_travel_max_in: 20.0")
        text = self.planner.text("bulletin --type plover")
        row = self.planner.json("bulletin --type plover")["rows"][0]
        undo()
        self.assertIn("plover at 34,000 lb: no wind is enough for the ram travel", text)
        self.assertEqual((row["enough"], row["ruled_by"]), (False, "stroke"))
        self.assertIsNone(row["headwind_kt"])
        self.assertIsNone(row["need_stroke_kt"])

    def test_everything_fits_a_plain_terminal_and_carries_the_caution(self):
        envs = ({"LANG": "C", "LC_ALL": "C", "TERM": "dumb"},
                {"NO_COLOR": "1", "LC_ALL": "de_DE.UTF-8"})
        lines = list(GOOD.values()) + [GOOD["arrest"] + " --plot", "aid", "--help"]
        lines += ["%s --help" % plan for plan in PLANS]
        for line in lines:
            outs = [self.planner.text(line, env=env, config="--help" not in line) for env in envs]
            self.assertEqual(outs[0], outs[1])
            self.assertTrue(outs[0].isascii(), line)
            self.assertNotIn("\x1b", outs[0])
            self.assertNotIn("nan", outs[0].split())
            self.assertLessEqual(max(len(row) for row in outs[0].splitlines()), 80, line)
            flat = " ".join(outs[0].split())
            self.assertIn("these figures are advice. The ship's own bulletins and licensed "
                          "practice rule.", flat, line)
            if "--help" not in line:
                self.assertIn("figures are invented", flat)

    def test_json_says_what_the_text_says(self):
        for plan, line in GOOD.items():
            found = self.planner.json(line)
            text = self.planner.text(line)
            self.assertIn("advice", found["caution"])
            self.assertIn("invented", found["caution"])
            for note in found.get("notes", []):
                self.assertIn(note, " ".join(text.split()))
            for key, value in found.items():
                if isinstance(value, str) and key != "caution":
                    self.assertIn(value, text, (plan, key))

    def test_a_ship_that_is_not_invented_is_not_said_to_be(self):
        undo = self.planner.edit("ship.yaml", r"invented: true", "invented: false")
        found = self.planner.json("aid")
        undo()
        self.assertNotIn("invented", found["caution"])
        self.assertIn("advice", found["caution"])

    def test_the_folder_may_come_from_the_environment(self):
        code, out, _ = self.planner.call("aid --json", config=False,
                                         env={"TRAPLINE_CONFIG": str(self.planner.dir)})
        self.assertEqual(code, 0)
        self.assertEqual(json.loads(out), self.planner.json("aid"))


if __name__ == "__main__":
    unittest.main(verbosity=2)
