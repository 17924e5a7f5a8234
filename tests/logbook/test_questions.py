#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_questions - what trapline log says of one evening, number by number

What the evening holds is told in maker.py; every number here follows from it by hand.
"""
import unittest

import maker
from maker import RECOVERY


def utc(at):
    minute, second = divmod(20 + at, 60)
    return "2023-11-14T22:%02d:%06.3fZ" % (13 + minute, second)


class Evening(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.evening = maker.evening()
        cls.passes = cls.evening.json("passes")["passes"]


class Passes(Evening):
    def test_each_ends_as_the_platform_said_last(self):
        self.assertEqual([(p["pass"], p["side"], p["type"], p["result"], p["wire"])
                          for p in self.passes],
                         [(1, 204, "plover", "trap", 3), (2, 311, "stilt", "bolter", None),
                          (3, 207, "plover", "wave-off", None), (4, 311, "stilt", "wave-off", None),
                          (5, 204, "plover", "trap", 3), (6, 207, "plover", None, None)])

    def test_a_pass_is_of_the_time_of_its_first_result(self):
        self.assertEqual([p["time"] for p in self.passes],
                         [utc(45), utc(95), utc(120), utc(150), utc(180), utc(205)])
        self.assertEqual(self.passes[0]["ordered_at"], utc(5))
        self.assertEqual(self.passes[0]["called_at"], utc(20))
        self.assertIsNone(self.passes[1]["called_at"])

    def test_an_interval_is_from_the_end_before(self):
        self.assertEqual([p["interval_s"] for p in self.passes], [None, 50, 25, 30, 30, None])

    def test_weights_are_ordered_set_repeated_and_gross(self):
        first = self.passes[0]
        self.assertEqual(first["ordered_lb"], 34000)
        self.assertEqual(first["set"], {"engine-1": 34000, "engine-2": 34000, "engine-3": 34000})
        self.assertEqual(first["repeater"], {"1": 34000, "2": 34000, "3": 34000})
        self.assertEqual(first["weight_lb"], 31500)
        self.assertEqual(self.passes[4]["weight_lb"], 31500)  # the same aircraft, said once
        self.assertIsNone(self.passes[1]["weight_lb"])
        self.assertEqual(self.passes[1]["repeater"], {})

    def test_the_arrest_is_the_one_that_was_read(self):
        first = self.passes[0]
        self.assertEqual([first[key] for key in ("engine", "ram_in", "off_centre_ft",
                                                 "sides_apart_in", "walk_back_ft")],
                         ["engine-3", 95.0, 2.0, 0.5, 0.0])
        self.assertEqual([first["accumulator_before_psi"], first["accumulator_after_psi"]],
                         [405, 398])
        self.assertEqual([self.passes[4][key] for key in ("engine", "ram_in", "walk_back_ft")],
                         [None, None, None])  # nobody read it

    def test_of_an_arrest_that_nobody_read_the_engine_is_that_of_the_wire(self):
        demo = str(maker.SOURCE / "configs" / "demo")
        passes = self.evening.json("passes", "-C", demo)["passes"]
        self.assertEqual([p["engine"] for p in passes],
                         ["engine-3", None, None, None, "engine-3", None])
        self.assertEqual([passes[4]["accumulator_before_psi"], passes[4]["accumulator_after_psi"],
                          passes[4]["ram_in"]], [398, None, None])

    def test_what_is_computed_is_called_predicted(self):
        self.assertEqual(self.passes[0]["predicted"],
                         {"engaging_kt": 102.9, "headwind_kt": 27.5, "energy_kftlb": 14000,
                          "energy_margin_percent": 40, "set_lb": 34000, "ram_in": 95.2,
                          "runout_ft": 312.0})
        self.assertIsNone(self.passes[1]["predicted"])

    def test_a_wave_off_has_the_cause_that_stood(self):
        self.assertEqual(self.passes[2]["cause"],
                         {"rule": "deck-foul", "station": "deck", "acts": "deck",
                          "text": "deck: deck foul (event 3)"})
        self.assertEqual([p["wave_off_while"] for p in self.passes],
                         [None, None, "NOT READY", "READY", None, None])
        self.assertIsNone(self.passes[3]["cause"])

    def test_corrected_by_voice_and_overridden_are_marked(self):
        self.assertEqual([p["corrected"] for p in self.passes],
                         [False, False, False, False, True, False])
        self.assertEqual([p["by_voice"] for p in self.passes], [[], [], [], [], ["engine-2"], []])
        self.assertEqual([p["overrides"] for p in self.passes], [0, 0, 0, 0, 1, None])
        self.assertEqual({p["drill"] for p in self.passes}, {False})

    def test_a_refused_word_does_not_count(self):
        self.assertEqual(self.passes[4]["set"]["engine-1"], 34000)  # 40,000 at 201 was refused

    def test_history_has_every_word_on_a_result(self):
        rows = self.evening.json("passes", "--history", "--event", "5")["results"]
        self.assertEqual([(r["time"], r["result"], r["wire"], r["said_by"], r["stands"])
                          for r in rows],
                         [(utc(180), "trap", 2, "platform", False),
                          (utc(200), "trap", 3, "platform", True)])

    def test_narrow_text_fits_and_says_what_must_not_be_overlooked(self):
        code, out, err = self.evening.log("passes")
        self.assertEqual((code, err), (0, ""))
        self.assertLessEqual(max(map(len, out.splitlines())), 80)
        self.assertIn("1 OVERRIDDEN; BY VOICE: engine-2", out)
        self.assertIn("22:16:20    5  204 plover           34,000 set 34,000 all trap wire 3 "
                      "corrected", out)

    def test_the_wind_is_that_of_a_beat_just_before(self):
        record = maker.evening(frames=True, write=False)
        record.add("wind", maker.ms(34.9), "bridge", 7, 1, 300, 0)  # too old for pass 1
        record.add("wind", maker.ms(36), "bridge", 7, 2, 281, -35)
        record.add("wind", maker.ms(46), "bridge", 7, 3, 200, 10)  # after it
        first, second = record.write().json("passes")["passes"][:2]
        self.assertEqual([first["wind_along_kt"], first["wind_across_kt"]], [28.1, -3.5])
        self.assertIsNone(second["wind_across_kt"])
        self.assertEqual(first["ram_in"], 95.0)  # out of the frame now


class Alerts(Evening):
    def test_each_is_there_once_with_both_validators(self):
        rows = self.evening.json("alerts")["alerts"]
        self.assertEqual([(r["rule"], r["station"], r["raised"], r["gone"], r["lasted_s"], r["pass"],
                           r["told_by"]) for r in rows],
                         [("not-in-battery", "engine-1", utc(60), utc(63), 3, 2,
                           "validator-1, validator-2"),
                          ("deck-foul", "deck", utc(118.1), utc(125.02), 6.92, 3,
                           "validator-1, validator-2"),
                          ("station-lost", "engine-2", utc(157.8), utc(175), 17.2, None,
                           "validator-1, validator-2"),
                          ("bus-degraded", "bus-b", utc(300), None, None, None, "validator-1")])

    def test_who_acknowledged_and_after_how_long(self):
        rows = self.evening.json("alerts")["alerts"]
        self.assertEqual([(r["acknowledged_by"], r["acknowledged_after_s"]) for r in rows],
                         [(None, None), ("primary", 3), ("primary", 2), (None, None)])
        self.assertEqual(rows[1]["acknowledgements"],
                         "primary (Ruff) 3.000 s; deck (Dunlin) 4.000 s")

    def test_of_an_aircraft_only_those_of_its_passes(self):
        rows = self.evening.json("alerts", "--aircraft", "207")["alerts"]
        self.assertEqual([r["rule"] for r in rows], ["deck-foul"])


class People(Evening):
    def test_who_sat_where_when(self):
        rows = self.evening.json("who", "--station", "primary")["who"]
        self.assertEqual([(r["name"], r["from"], r["to"], r["ended"], r["words"]) for r in rows],
                         [(None, utc(0), utc(1), "relieved", 1),
                          ("Ruff", utc(1), utc(170), "relieved", 13),
                          ("Snipe", utc(170), utc(260), None, 3)])
        self.assertEqual([rows[1][key] for key in ("acknowledged", "overrides_said",
                                                   "overrides_confirmed", "by_voice_said",
                                                   "by_voice_confirmed", "results")],
                         [2, 1, 0, 1, 0, 0])

    def test_second_signatures_and_corrections_are_counted_where_they_were_said(self):
        platform, = self.evening.json("who", "--station", "platform")["who"]
        officer, = self.evening.json("who", "--station", "gear-officer")["who"]
        engine, = self.evening.json("who", "--station", "engine-1")["who"]
        self.assertEqual([platform[key] for key in ("results", "corrections", "by_voice_said",
                                                    "by_voice_confirmed")], [6, 1, 0, 1])
        self.assertEqual([officer["overrides_said"], officer["overrides_confirmed"]], [0, 1])
        self.assertEqual([engine["words"], engine["refused"]], [7, 1])

    def test_an_override_has_two_names_and_an_end(self):
        one, _ = self.evening.json("overrides")["overrides"]
        self.assertEqual([one[key] for key in ("kind", "rule", "station", "said_by", "said",
                                               "confirmed_by", "confirmed", "until", "reason",
                                               "ended", "ended_how", "ended_by", "took_effect")],
                         ["override", "detorque-overdue", "gear-officer", "primary", utc(140),
                          "gear-officer", utc(152), utc(440), "last pass", utc(190), "taken back",
                          "gear-officer", True])

    def test_a_word_by_voice_ends_with_the_own_word(self):
        _, one = self.evening.json("overrides")["overrides"]
        self.assertEqual([one[key] for key in ("kind", "station", "said_by", "confirmed_by",
                                               "took_effect", "ended", "ended_how", "pass")],
                         ["by voice", "engine-2", "primary", "platform", True, utc(240), "own word",
                          5])


class Faults(Evening):
    def test_losses_refusals_and_gaps(self):
        rows = self.evening.json("faults")["faults"]
        self.assertEqual([(r["kind"], r["station"], r["from"], r["lasted_s"], r["count"])
                          for r in rows],
                         # as the validator dated it, by the clock that dates its alerts
                         [("station lost", "engine-2", utc(157.795), 16.7, 1),
                          ("NOT READY", "engine-2", utc(157.8), 6.21, 1),
                          ("refused word", "engine-1", utc(201), None, 1),
                          ("gap", "engine-2", utc(241), None, 3),
                          ("bus", "bus-b", utc(300), None, 1)])
        self.assertEqual(rows[2]["reason"], "late")


class Seconds(Evening):
    def test_who_was_waited_for(self):
        rows = [r for r in self.evening.json("seconds")["resets"] if r["rank"] == 1]
        self.assertEqual([(r["pass"], r["after"], r["next_pass"], r["ready_s"], r["station"],
                           r["word_s"], r["margin_s"]) for r in rows],
                         [(1, "trap", 2, 25.31, "deck", 25, 4),
                          (2, "bolter", 3, 8.21, "deck", 8, 1),
                          (3, "wave-off", 4, 10.41, "deck", 10, 2),
                          (4, "wave-off", 5, 14.01, "engine-2", 13, 2)])

    def test_each_station_has_its_last_word(self):
        rows = [r for r in self.evening.json("seconds", "--event", "1")["resets"]]
        self.assertEqual([(r["rank"], r["station"], r["word_s"]) for r in rows],
                         [(1, "deck", 25), (2, "engine-3", 21), (3, "engine-2", 7),
                          (4, "engine-1", 5)])

    def test_stations_over_all(self):
        whole = self.evening.json("seconds")
        deck = whole["stations"][0]
        self.assertEqual([deck[key] for key in ("station", "resets", "last", "margin_s", "least_s",
                                                "quartile_1_s", "median_s", "quartile_3_s",
                                                "most_s")],
                         # last words at 8, 10, 11, 25
                         ["deck", 4, 3, 7, 8, 9.5, 10.5, 14.5, 25])
        self.assertEqual(whole["without_ready"], 0)

    def test_after_traps_alone(self):
        rows = self.evening.json("seconds", "--traps")["resets"]
        self.assertEqual({(r["pass"], r["after"]) for r in rows}, {(1, "trap"), (5, "trap")})


if __name__ == "__main__":
    assert RECOVERY == 1700000000000
    unittest.main()
