#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_figures - the numbers of trapline log figures, against Python's statistics and by hand

Quartiles: statistics.quantiles, method "inclusive" (type 7 of Hyndman and Fan, The American
Statistician 50, 1996). Counts and rates: counted here a second way, from the list of what was put
in. Targets: that they are the figures of the sources as restated, not that those are right.
"""
import random
import statistics
import unittest

import maker
from maker import LIFE, Record, clear, order, result

SEED = 20260105


def figures(record, *words):
    return {(r["section"], r["group"], r["figure"]): r["value"]
            for r in record.json("figures", *words)["figures"]}


class Evening(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.evening = maker.evening()
        cls.all = figures(cls.evening)

    def of(self, section, group):
        return {name: value for (s, g, name), value in self.all.items()
                if (s, g) == (section, group)}

    def test_boarding_rates(self):
        self.assertEqual(self.of("passes", "all"), {
            "ended": 5, "traps": 2, "bolters": 1, "wave-offs while READY": 1,
            "wave-offs, foul deck": 1,
            "boarding rate": 50.0,         # 2 of 2 + 1 + 1
            "traps of touchdowns": 66.7,   # 2 of 2 + 1
            "traps of all passes": 40.0})  # 2 of 5
        self.assertEqual(self.of("passes", "type plover")["boarding rate"], 100.0)
        self.assertEqual(self.of("passes", "type stilt")["boarding rate"], 0.0)
        self.assertEqual(self.of("passes", "recovery 2023-11-14T22:13:20Z"),
                         self.of("passes", "all"))

    def test_wires_intervals_and_foul_decks(self):
        self.assertEqual(self.of("wires", "wire 3"), {"traps": 2, "share of traps": 100.0})
        self.assertEqual(self.of("intervals", "all"), {  # 25, 30, 30, 50
            "count": 4, "least": 25, "first quartile": 28.75, "median": 30, "third quartile": 35,
            "most": 50})
        self.assertEqual(self.of("foul decks", "deck-foul deck"), {"wave-offs": 1})
        bins = {g: v for (s, g, _), v in self.all.items() if s == "interval bins"}
        self.assertEqual(bins, {"25 to 30 s": 1, "30 to 35 s": 2, "35 to 40 s": 0, "40 to 45 s": 0,
                                "45 to 50 s": 0, "50 to 55 s": 1})

    def test_trap_to_ready_is_after_traps_alone(self):
        self.assertEqual(self.of("trap to READY", "all stations")["median"], 25.31)
        self.assertEqual(self.of("trap to READY", "deck"),
                         {"times last": 1, "waited for in all": 4, "median of last word": 25})

    def test_alerts_are_those_of_the_open_recovery(self):
        self.assertEqual(self.of("alerts", "recoveries"), {"open time": 260})
        everybody = self.of("alerts", "all, whoever owes them")
        self.assertEqual([everybody[key] for key in (
            "alerts", "most in any 10 min", "gone within 10 s", "acknowledged",
            "median to acknowledgement")], [3, 3, 2, 2, 2.5])
        self.assertNotIn("average in 10 min", everybody)  # of 260 s it would be a guess
        self.assertEqual(self.of("alerts", "primary")["alerts"], 3)  # it owes all three
        self.assertEqual(self.of("alerts", "deck")["alerts"], 1)
        self.assertEqual(self.of("alerts", "no recovery open"), {"alerts not counted": 1})
        self.assertEqual(self.of("alerts", "alarm"), {"share of alerts": 100.0})

    def test_targets_are_named_with_their_sources(self):
        rows = self.evening.json("figures")["figures"]
        said = {(r["figure"], r["target"], r["source"]) for r in rows if r["target"]}
        isa = "ISA-18.2-2016 clause 16.4, tables 5 and 6, as restated"
        self.assertLessEqual({
            ("most in any 10 min", "10 for one operator", "EEMUA 191, as a vendor summarises it"),
            ("10 min with more than 10", "below 1 %", isa), ("gone within 10 s", "0", isa),
            ("share of alerts", "about 80 %", isa)}, said)

    def test_histograms_are_plain_marks(self):
        _, out, _ = self.evening.log("figures")
        self.assertIn("Intervals, passes each\n  25 s             1 #\n  30 s             2 ##\n", out)
        self.assertIn("Wires, traps each\nwire 3             2 ##\n", out)
        self.assertTrue(out.isascii())


class Long(unittest.TestCase):
    """300 passes of chance, counted here by other means."""

    @classmethod
    def setUpClass(cls):
        chance = random.Random(SEED)
        record, at, ended = Record(), 100.0, []
        record.say(0, "primary", "recovery", maker.RECOVERY, "open")
        for number in range(1, 301):
            order(record, at - 5, number, chance.choice((204, 207)), chance.choice(
                ("plover", "stilt")), 34000)
            ready, judged = chance.random() < 0.7, chance.random() < 0.95
            if judged and ready:
                record.ready(at - 2, number)
            elif judged:
                record.not_ready(at - 2, number, *chance.choice(
                    [("deck-foul", "deck"), ("not-in-battery", "engine-1"),
                     ("not-in-battery", "engine-2")]))
            outcome = chance.choices(("trap", "bolter", "wave-off"), (70, 12, 18))[0]
            wire = chance.choices((1, 2, 3, 4), (1, 3, 5, 2))[0]
            result(record, at, number, outcome, *([wire] if outcome == "trap" else []))
            ended.append((at, outcome, wire, judged, ready))
            at = round(at + chance.uniform(25, 95), 3)
        record.say(at, "primary", "recovery", maker.RECOVERY, "closed")
        cls.ended, cls.record = ended, record.write()
        cls.all = figures(cls.record)

    def test_quartiles_are_those_of_statistics(self):
        intervals = [b[0] - a[0] for a, b in zip(self.ended, self.ended[1:])]
        expected = statistics.quantiles(intervals, n=4, method="inclusive")
        said = [self.all[("intervals", "all", name)]
                for name in ("first quartile", "median", "third quartile")]
        for got, wanted in zip(said, expected):
            self.assertAlmostEqual(got, wanted, delta=0.00051, msg="seed %d" % SEED)
        self.assertEqual(self.all[("intervals", "all", "count")], 299)
        self.assertAlmostEqual(self.all[("intervals", "all", "least")], min(intervals), 6)
        self.assertAlmostEqual(self.all[("intervals", "all", "most")], max(intervals), 6)

    def test_rates_are_what_was_counted(self):
        traps = sum(e[1] == "trap" for e in self.ended)
        bolters = sum(e[1] == "bolter" for e in self.ended)
        ready = sum(e[1] == "wave-off" and e[3] and e[4] for e in self.ended)
        foul = sum(e[1] == "wave-off" and e[3] and not e[4] for e in self.ended)
        unknown = sum(e[1] == "wave-off" and not e[3] for e in self.ended)
        self.assertGreater(min(traps, bolters, ready, foul, unknown), 0)
        for name, value in (("traps", traps), ("bolters", bolters), ("wave-offs while READY", ready),
                            ("wave-offs, foul deck", foul), ("wave-offs, not judged", unknown)):
            self.assertEqual(self.all[("passes", "all", name)], value, name)
        for name, whole in (("boarding rate", traps + bolters + ready),
                            ("traps of touchdowns", traps + bolters), ("traps of all passes", 300)):
            self.assertAlmostEqual(self.all[("passes", "all", name)], 100 * traps / whole,
                                   delta=0.0501, msg=name)
        self.assertEqual(sum(v for (s, _, _), v in self.all.items() if s == "foul decks"), foul)

    def test_wires_are_what_was_counted(self):
        for wire in (1, 2, 3, 4):
            self.assertEqual(self.all[("wires", "wire %d" % wire, "traps")],
                             sum(e[1] == "trap" and e[2] == wire for e in self.ended))

    def test_bins_hold_every_interval_once(self):
        self.assertEqual(sum(v for (s, _, _), v in self.all.items() if s == "interval bins"), 299)


class Rates(unittest.TestCase):
    def alerts(self, times, until):
        """figures of alerts on engine-1 and primary, raised at these times and gone 20 s later."""
        record = Record()
        record.say(0, "primary", "recovery", maker.RECOVERY, "open")
        steps = [(at, "raised", i) for i, at in enumerate(times)]
        steps += [(at + 20, "gone", i) for i, at in enumerate(times)]
        for at, step, i in sorted(steps):
            record.alert(at, "validator-1", step, "not-in-battery", "engine-1", 1,
                         ("engine-1", LIFE, i + 1))
        record.say(until, "primary", "recovery", maker.RECOVERY, "closed")
        return figures(record.write())

    def test_an_average_is_of_the_open_time(self):
        said = self.alerts([100, 700, 1300], 1800)
        self.assertEqual(said[("alerts", "engine-1", "average in 10 min")], 1)  # 3 in 30 min
        self.assertEqual(said[("alerts", "engine-1", "most in any 10 min")], 1)  # 600 s apart

    def test_most_is_of_any_ten_minutes(self):
        said = self.alerts([100, 650, 699.999], 1800)
        self.assertEqual(said[("alerts", "engine-1", "most in any 10 min")], 3)

    def test_eleven_in_a_window_are_a_flood_and_ten_are_not(self):
        ten, eleven = list(range(100, 110)), list(range(100, 111))
        for times, percent in ((ten, 0.0), (eleven, 33.3)):
            said = self.alerts(times, 1799)  # windows from 0, 600 and 1200
            self.assertEqual(said[("alerts", "engine-1", "10 min with more than 10")], percent)

    def test_drills_are_left_out_and_counted(self):
        record = Record()
        record.say(0, "primary", "recovery", maker.RECOVERY, "open", "drill")
        order(record, 1, 1, 204, "plover", 34000)
        result(record, 30, 1, "trap", 1)
        record.write()
        self.assertEqual(figures(record)[("passes", "all", "ended")], 0)
        self.assertEqual(figures(record)[("passes", "drills", "passes left out")], 1)
        self.assertEqual(figures(record, "--drills")[("passes", "all", "ended")], 1)


class Resets(unittest.TestCase):
    def resets(self, build):
        record = Record()
        record.say(0, "primary", "recovery", maker.RECOVERY, "open")
        for number in (1, 2, 3):
            order(record, number, number, 200 + number, "plover", 34000)
        result(record, 100, 1, "trap", 1)
        build(record)
        return record.write().json("seconds")

    def test_ready_is_when_the_last_validator_says_so(self):
        def build(record):
            clear(record, 110, 2)
            record.verdict(110.2, "validator-1", 2, "ready")
            record.verdict(110.1, "validator-2", 2, "not", "deck-foul", "deck")
            record.verdict(113, "validator-2", 2, "ready")
        self.assertEqual(self.resets(build)["resets"][0]["ready_s"], 13)

    def test_one_that_judged_it_and_never_says_ready_keeps_it_not_ready(self):
        def build(record):
            record.verdict(110, "validator-1", 2, "ready")
            record.verdict(110.1, "validator-2", 2, "not", "deck-foul", "deck")
        self.assertEqual(self.resets(build)["resets"][0]["ready_s"], None)

    def test_without_ready_before_the_next_end_it_is_counted(self):
        def build(record):
            record.not_ready(101, 2, "deck-foul", "deck")
            result(record, 150, 2, "wave-off")
        said = self.resets(build)
        self.assertEqual([(r["pass"], r["ready_s"]) for r in said["resets"]],
                         [(1, None), (2, None)])
        self.assertEqual(said["without_ready"], 1)  # after the last one nothing was to come

    def test_words_for_other_passes_words_toward_safe_and_refused_ones_do_not_count(self):
        def build(record):
            clear(record, 105, 2)
            record.say(106, "engine-1", "set", 34000, passes=(3,))
            record.say(107, "engine-2", "battery", "out", passes=(2,))
            refused = record.say(108, "engine-3", "battery", "in", passes=(2,))
            record.refuse("engine-3", refused)
            record.ready(109, 2)
            record.say(110, "engine-1", "battery", "in", passes=(2,))  # after READY
        rows = self.resets(build)["resets"]
        self.assertEqual([(r["station"], r["word_s"], r["margin_s"]) for r in rows[:1]],
                         [("deck", 5, 5)])
        self.assertEqual(rows[0]["rank"], 1)
        self.assertEqual(len([r for r in rows if r["pass"] == 1]), 1)


if __name__ == "__main__":
    unittest.main()
