#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_filters - what is asked for, and what is said when it cannot be answered"""
import sqlite3
import subprocess
import unittest

import maker

VERBS = ("passes", "alerts", "who", "overrides", "faults", "seconds", "figures", "chapters",
         "report")


class Asked(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.evening = maker.evening()

    def passes(self, *words):
        return [p["pass"] for p in self.evening.json("passes", *words)["passes"]]

    def refused(self, *words):
        code, out, err = self.evening.log(*words)
        self.assertEqual((code, out), (64, ""), err)
        self.assertEqual(len(err.strip().splitlines()), 1)
        return err

    def test_both_ends_of_a_time_are_in(self):
        begin, end = "2023-11-14T22:14:55Z", "2023-11-14T22:15:20Z"  # passes 2 and 3 end there
        self.assertEqual(self.passes("--from", begin), [2, 3, 4, 5, 6])
        self.assertEqual(self.passes("--to", end), [1, 2, 3])
        self.assertEqual(self.passes("--from", begin, "--to", end), [2, 3])
        self.assertEqual(self.passes("--from", "2023-11-14T22:14:55.001Z", "--to",
                                     "2023-11-14T22:15:19.999Z"), [])

    def test_a_time_of_day_is_of_the_newest_recovery_and_is_said(self):
        code, out, err = self.evening.log("passes", "--from", "22:15:50")
        self.assertEqual(err, "trapline log passes: --from is 2023-11-14T22:15:50.000Z\n")
        self.assertEqual(self.passes("--from", "22:15"), [3, 4, 5, 6])
        self.assertEqual((code, "22:15:20" in out, "22:15:50" in out), (0, False, True))

    def test_an_event_is_whole_or_of_the_newest_recovery(self):
        self.assertEqual(self.passes("--event", "3"), [3])
        self.assertEqual(self.passes("--event", "1700000000000:4"), [4])
        self.assertEqual(self.passes("--event", "1600000000000:4"), [])

    def test_aircraft_type_and_station(self):
        self.assertEqual(self.passes("--aircraft", "204"), [1, 5])
        self.assertEqual(self.passes("--type", "stilt"), [2, 4])
        self.assertEqual(self.passes("--station", "deck"), [3])  # its foul was the cause
        self.assertEqual(self.passes("--station", "engine-2"), [5])  # by voice

    def test_whole_times_far_away_read_no_rows(self):
        code, out, err = self.evening.log("passes", "--from", "2024-01-01T00:00:00Z")
        self.assertEqual(code, 0)
        self.assertEqual(err, "trapline log passes: no pass; the record has no words of that time\n")

    def test_nothing_found_says_what_there_is(self):
        code, out, err = self.evening.log("passes", "--aircraft", "999")
        self.assertEqual(code, 0)
        self.assertEqual(len(out.splitlines()), 1)
        self.assertIn("no pass found; the record has words from 2023-11-14T22:13:20.000Z to "
                      "2023-11-14T22:17:40.000Z", err)
        self.assertEqual(self.evening.json("alerts", "--event", "1"), {"alerts": []})

    def test_bad_times_are_refused(self):
        for bad in ("yesterday", "2023-11-14", "2023-11-14T22:14:55", "2023-11-14T22:14:55+02:00",
                    "2023-02-30T00:00:00Z", "2023-13-01T00:00:00Z", "2023-11-14T24:00:00Z",
                    "2023-11-14T22:60:00Z", "24:00", "9:30", "22:14:5", "22:14:55.5", "", "=1",
                    "2023-11-14T22:14:55.Z", "1969-12-31T23:59:59Z", "\x1b[2J"):
            err = self.refused("passes", "--from", bad)
            self.assertRegex(err, "write UTC as 2031-04-05T06:07:08Z|--from is empty")
            self.assertNotIn("\x1b", err)
        self.assertIn("--from is later than --to", self.refused(
            "passes", "--from", "2023-11-14T22:14:56Z", "--to", "2023-11-14T22:14:55Z"))

    def test_a_leap_second_is_a_time(self):
        # RFC 3339 section 5.7 and appendix D: 1990-12-31T23:59:60Z was one
        self.assertEqual(self.passes("--from", "1990-12-31T23:59:60Z")[0], 1)
        self.refused("passes", "--from", "1990-12-31T22:59:60Z")

    def test_bad_events_stations_and_options_are_refused(self):
        for bad in ("x", "0", "3:", ":3", "1700000000000:0", "1:2:3", "-1",
                    "99999999999999999999999"):
            self.assertIn("is not a pass; write RECOVERY:PASS", self.refused("passes", "--event",
                                                                             bad))
        self.assertIn("no station 'nobody' in the record; it has primary, platform, deck, approach",
                      self.refused("alerts", "--station", "nobody"))
        self.assertIn("did you mean --station?", self.refused("alerts", "--staton", "deck"))
        self.assertIn("1 to 9,999", self.refused("passes", "--aircraft", "0"))
        self.assertIn("is given twice", self.refused("passes", "--json", "--json"))
        self.assertIn("--json and --csv do not go together", self.refused("passes", "--json",
                                                                          "--csv"))
        self.assertIn("'more' is not an option", self.refused("passes", "more"))
        for verb in ("who", "faults"):
            self.assertIn("is of no pass", self.refused(verb, "--event", "3"))
        for verb in ("report", "chapters"):
            self.assertIn("not JSON", self.refused(verb, "--json"))

    def test_every_verb_has_help(self):
        done = subprocess.run([maker.TRAPLINE, "log", "--help"], capture_output=True, text=True)
        self.assertLessEqual(max(map(len, done.stdout.splitlines())), 80)
        for verb in VERBS:
            self.assertIn("\n  %-10s " % verb, done.stdout)
        for verb in VERBS:
            code, out, err = self.evening.log(verb, "--help")
            self.assertEqual((code, err), (0, ""))
            self.assertTrue(out.startswith("usage: trapline log %s " % verb))
            self.assertLessEqual(max(map(len, out.splitlines())), 80, verb)


class Unreadable(unittest.TestCase):
    def both(self, record, code, part):
        for verb in VERBS:
            got, out, err = record.log(verb)
            self.assertEqual((got, out), (code, ""), verb)
            self.assertIn(part, err)
            self.assertTrue(err.startswith("trapline log %s: " % verb), err)

    def test_no_record(self):
        self.both(maker.Record(), 3, "no record at ")

    def test_no_database(self):
        record = maker.Record()
        with open(record.path, "w", encoding="ascii") as file:
            file.write("not a database " * 100)
        self.both(record, 1, "cannot be read: file is not a database")

    def test_a_newer_schema(self):
        record = maker.Record().write()
        file = sqlite3.connect(record.path)
        file.execute("PRAGMA user_version = 99")
        file.close()
        self.both(record, 1, "has schema 99, this program knows 3")

    def test_a_table_that_is_not_there(self):
        record = maker.Record().write()
        file = sqlite3.connect(record.path)
        file.execute("DROP TABLE alert")
        file.close()
        self.both(record, 1, "cannot be read: no such table: alert")

    def test_an_empty_record_answers_with_nothing(self):
        record = maker.Record().write()
        for verb in VERBS:
            code, _, err = record.log(verb)
            self.assertEqual(code, 0, err)
        self.assertEqual(record.json("passes"), {"passes": []})
        self.assertIn("there is no recovery in the record", record.log("passes", "--to",
                                                                       "10:00")[2])
        self.assertEqual(record.log("passes", "--to", "10:00")[0], 64)


if __name__ == "__main__":
    unittest.main()
