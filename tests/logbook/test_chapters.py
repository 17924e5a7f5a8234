#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_chapters - trapline log chapters, by the grammar of WebVTT (vtt.py) and by hand"""
import unittest

import maker
import vtt
from maker import Record, order, result


class Grammar(unittest.TestCase):
    """The reader of the standard finds what is wrong: else it proves nothing."""

    def test_what_is_wrong_is_found(self):
        good = "WEBVTT\n\nNOTE x\n\na\n00:01.000 --> 00:02.000\nText &amp; more\n"
        self.assertEqual(vtt.parse(good), [("a", 1, 2, "Text & more")])
        for old, new in (("WEBVTT\n\n", "WEBVTT\n"), ("WEBVTT", "WEBVT"), (" --> ", "-->"),
                         ("00:02.000", "00:01.000"), ("00:02.000", "0:02.000"),
                         ("00:02.000", "00:62.000"), ("00:02.000", "00:02.00"),
                         ("&amp;", "&"), ("more", "<b"), ("more", "a --> b"),
                         ("NOTE x", "NOTE -->")):
            with self.assertRaises(vtt.Wrong, msg=new):
                vtt.parse(good.replace(old, new, 1))
        again = good + "\na\n00:03.000 --> 00:04.000\nx\n"
        with self.assertRaises(vtt.Wrong):
            vtt.parse(again)
        with self.assertRaises(vtt.Wrong):
            vtt.parse(good + "\nb\n00:00.500 --> 00:04.000\nx\n")
        self.assertFalse(vtt.nested([("a", 0, 2, ""), ("b", 1, 3, "")]))
        self.assertTrue(vtt.nested([("a", 0, 3, ""), ("b", 1, 2, ""), ("c", 3, 4, "")]))


class Chapters(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.evening = maker.evening()

    def cues(self, *words, record=None):
        code, out, err = (record or self.evening).log("chapters", *words)
        self.assertEqual(code, 0, err)
        return [(begin, end, text) for _, begin, end, text in vtt.parse(out)]

    def test_a_pass_is_from_call_or_order_to_result_none_over_another(self):
        self.assertEqual(self.cues(), [
            (20, 45, "Pass 1: 204 plover, trap wire 3"),   # called at 20
            (45, 95, "Pass 2: 311 stilt, bolter"),         # ordered at 6, while 1 was flying
            (95, 120, "Pass 3: 207 plover, wave-off, NOT READY: deck: deck foul (event 3)"),
            (121, 150, "Pass 4: 311 stilt, wave-off, READY until then"),
            (151, 180, "Pass 5: 204 plover, trap wire 3 (corrected)")])

    def test_the_beginning_of_the_video_is_a_time(self):
        cues = self.cues("--at", "2023-11-14T22:15:00Z")  # 100 s after the recovery began
        self.assertEqual([cue[:2] for cue in cues], [(0, 20), (21, 50), (51, 80)])
        self.assertIn("2 before the video begins left out",
                      self.evening.log("chapters", "--at", "2023-11-14T22:15:00Z")[2])

    def test_an_offset_is_the_video_time_of_that_moment(self):
        self.assertEqual([cue[:2] for cue in self.cues("--offset", "1.5")][0], (21.5, 46.5))
        self.assertEqual([cue[:2] for cue in self.cues("--offset", "-30")][0], (0, 15))
        self.assertEqual([cue[:2] for cue in self.cues("--at", "22:15:00", "--offset", "60")],
                         [(0, 5), (5, 55), (55, 80), (81, 110), (111, 140)])

    def test_alerts_are_cues_in_their_order(self):
        cues = self.cues("--alerts")
        alerts = [cue for cue in cues if not cue[2].startswith("Pass")]
        self.assertEqual(alerts, [(60, 63, "alarm: engine not in battery, engine-1"),
                                  (118.1, 125.02, "alarm: deck foul, deck"),
                                  (157.8, 175, "alarm: station lost or stale, engine-2"),
                                  (300, 310, "caution: bus down or behind, bus-b")])
        self.assertEqual([cue[0] for cue in cues], sorted(cue[0] for cue in cues))

    def test_more_than_an_hour_and_more_than_99_hours(self):
        record = Record()
        order(record, 3600, 1, 204, "plover", 34000)
        result(record, 3601, 1, "bolter")
        order(record, 400000, 2, 204, "plover", 34000)
        result(record, 400001, 2, "bolter")
        record.write()
        self.assertEqual([cue[:2] for cue in self.cues(record=record)],
                         [(3600, 3601), (400000, 400001)])

    def test_results_at_one_time_are_still_in_order(self):
        record = Record()
        for number in (1, 2, 3):
            order(record, 1, number, 204, "plover", 34000)
        for number in (1, 2, 3):
            result(record, 10, number, "bolter")
        cues = self.cues(record=record.write())
        self.assertEqual([cue[:2] for cue in cues], [(1, 10), (10, 10.001), (10.001, 10.002)])


if __name__ == "__main__":
    unittest.main()
