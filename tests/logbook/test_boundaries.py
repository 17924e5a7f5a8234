#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_boundaries - one pass, slow buses, two clocks, restarts, and records of older schemas"""
import sqlite3
import unittest

import maker
from maker import LIFE, Record, clear, order, result, sets


def utc(at):
    minute, second = divmod(20 + at, 60)
    return "2023-11-14T22:%02d:%06.3fZ" % (13 + minute, second)


def one_pass(record):
    record.say(0, "primary", "recovery", maker.RECOVERY, "open")
    order(record, 1, 1, 204, "plover", 34000)
    return record


class Passes(unittest.TestCase):
    def test_one_pass_has_no_interval_and_no_reset(self):
        record = one_pass(Record())
        result(record, 30, 1, "trap", 1)
        record.write()
        one, = record.json("passes")["passes"]
        self.assertEqual((one["result"], one["interval_s"], one["set"]), ("trap", None, {}))
        self.assertEqual([r["ready_s"] for r in record.json("seconds")["resets"]], [None])
        self.assertEqual(record.json("seconds")["without_ready"], 0)

    def test_a_clock_that_went_back_gives_no_interval(self):
        record = one_pass(Record())
        order(record, 2, 2, 311, "stilt", 40000)
        order(record, 3, 3, 207, "plover", 34000)
        result(record, 100, 1, "bolter")
        result(record, 60, 2, "bolter")  # the platform's clock was set back by 80 s or so
        result(record, 90, 3, "trap", 2)
        intervals = [p["interval_s"] for p in record.write().json("passes")["passes"]]
        self.assertEqual(intervals, [None, None, 30])

    def test_an_earlier_word_that_came_later_does_not_win(self):
        record = one_pass(Record())
        late = record.next(("platform", LIFE))
        result(record, 31, 1, "trap", 2)
        record.say(30, "platform", "result", "bolter", slot=1, passes=(1,), sequence=late)
        one, = record.write().json("passes")["passes"]
        self.assertEqual((one["result"], one["wire"], one["corrected"]), ("trap", 2, True))
        self.assertEqual(one["time"], "2023-11-14T22:13:50.000Z")  # when it was said first

    def test_it_ended_where_its_first_word_came(self):
        record = one_pass(Record())
        late = record.next(("platform", LIFE))
        record.say(2, "approach", "inbound", 204, "plover", 31000, slot=204)
        result(record, 31, 1, "trap", 2)
        record.say(32, "approach", "inbound", 204, "plover", 30000, slot=204)
        record.say(30, "platform", "result", "bolter", slot=1, passes=(1,), sequence=late)
        one, = record.write().json("passes")["passes"]
        self.assertEqual(one["weight_lb"], 31000)

    def test_a_new_life_of_the_platform_may_correct(self):
        record = one_pass(Record())
        record.say(30, "platform", "result", "trap", 2, slot=1, passes=(1,), sequence=50)
        record.say(40, "platform", "result", "bolter", slot=1, passes=(1,), life=LIFE + 1,
                   sequence=1)
        one, = record.write().json("passes")["passes"]
        self.assertEqual((one["result"], one["corrected"]), ("bolter", True))

    def test_a_setting_taken_back_before_the_end_was_not_there(self):
        record = one_pass(Record())
        sets(record, 34000, 1, 5, 6)
        record.say(20, "engine-2", "set", "unknown")
        result(record, 30, 1, "trap", 1)
        record.say(40, "engine-1", "set", "unknown")  # after it: it had been set
        one, = record.write().json("passes")["passes"]
        self.assertEqual(one["set"], {"engine-1": 34000})

    def test_a_cancelled_order_and_a_barricade_are_marked(self):
        record = one_pass(Record())
        order(record, 2, 1, 204, "plover", 34000, "cancelled")
        order(record, 3, 2, 311, "stilt", 40000, "barricade")
        first, second = record.write().json("passes")["passes"]
        self.assertEqual([first["cancelled"], first["barricade"]], [True, False])
        self.assertEqual([second["cancelled"], second["barricade"]], [False, True])

    def test_a_drill_is_marked_by_the_word_or_by_the_verdict(self):
        for word, verdict in ((["drill"], False), ([], True)):
            record = Record()
            record.say(0, "primary", "recovery", maker.RECOVERY, "open", *word)
            order(record, 1, 1, 204, "plover", 34000)
            record.ready(10, 1, drill=verdict)
            one, = record.write().json("passes")["passes"]
            self.assertTrue(one["drill"], word)

    def test_one_validator_that_says_not_ready_is_enough(self):
        record = one_pass(Record())
        record.ready(10, 1)
        record.verdict(20, "validator-2", 1, "not", "hook-not-down", "platform")
        result(record, 30, 1, "wave-off")
        one, = record.write().json("passes")["passes"]
        self.assertEqual((one["wave_off_while"], one["cause"]["rule"], one["cause"]["acts"]),
                         ("NOT READY", "hook-not-down", "platform"))

    def test_an_arrest_is_of_its_own_recovery(self):
        other = maker.RECOVERY - 86400000
        for frames in (False, True):
            record = Record(frames)
            record.say(-86400, "platform", "result", "trap", 1, slot=1, passes=(1,),
                       recovery=other)
            record.say(0, "platform", "result", "trap", 2, slot=1, passes=(1,))
            record.say(5, "engine-2", "arrest", maker.event(1), 900, 0, 0, 0, speaks_of=2)
            record.say(6, "engine-1", "arrest", maker.event(1, other), 800, 0, 0, 0)
            old, new = record.write().json("passes")["passes"]
            self.assertEqual([new["engine"], new["ram_in"]],
                             # without the frame the words name pass 1 alone: the newest such trap
                             ["engine-2", 90.0] if frames else ["engine-1", 80.0])
            self.assertEqual(old["ram_in"], 80.0 if frames else None)

    def test_the_gross_weight_is_of_a_word_that_stands(self):
        record = one_pass(Record())
        record.say(2, "approach", "inbound", 204, "plover", 31000, slot=204)
        record.say(3, "approach", "inbound", 311, "stilt", 39000, slot=311, life=LIFE + 1)
        result(record, 30, 1, "bolter")  # approach restarted: nothing is known of 204 any more
        one, = record.write().json("passes")["passes"]
        self.assertIsNone(one["weight_lb"])


class Alerts(unittest.TestCase):
    KEY = ("not-in-battery", "engine-1", 1, ("engine-1", LIFE, 3))

    def alerts(self, *steps):
        """[(raised, gone, told by)] in seconds, of steps (at, validator number, step, set)."""
        record = one_pass(Record())
        for at, number, step, *rest in steps:
            key = rest[1] if len(rest) > 1 else self.KEY
            record.alert(at, "validator-%d" % number, step, *key, set_=rest[0] if rest else None)
        rows = record.write().json("alerts")["alerts"]
        def at(text):
            return None if text is None else 60 * (int(text[14:16]) - 13) + float(text[17:23]) - 20
        return [(at(r["raised"]), r["lasted_s"], r["told_by"]) for r in rows]

    def test_two_validators_some_ms_apart_tell_one(self):
        self.assertEqual(self.alerts((10.012, 1, "raised"), (10, 2, "raised"), (20, 1, "gone"),
                                     (20.03, 2, "gone")),
                         [(10, 10.03, "validator-1, validator-2")])

    def test_one_that_is_slower_tells_the_same(self):
        self.assertEqual(self.alerts((10, 1, "raised"), (10.1, 1, "gone"), (10.2, 2, "raised"),
                                     (10.3, 2, "gone")),
                         [(10, 0.3, "validator-1, validator-2")])
        self.assertEqual(self.alerts((10, 1, "raised"), (10.1, 1, "gone"), (10.701, 2, "raised"),
                                     (10.8, 2, "gone")),  # more than 600 ms behind the end
                         [(10, 0.1, "validator-1"), (10.701, 0.099, "validator-2")])

    def test_the_same_again_is_another(self):
        self.assertEqual(self.alerts((10, 1, "raised"), (11, 1, "gone"), (11.2, 1, "raised"),
                                     (13, 1, "gone")),
                         [(10, 1, "validator-1"), (11.2, 1.8, "validator-1")])

    def test_alerts_that_overlap_are_apart_by_what_they_hang_on(self):
        other = ("not-in-battery", "engine-1", 1, ("engine-1", LIFE, 4))
        self.assertEqual(self.alerts((10, 1, "raised"), (12, 1, "raised", None, other),
                                     (14, 1, "gone"), (18, 1, "gone", None, other)),
                         [(10, 4, "validator-1"), (12, 6, "validator-1")])

    def test_after_a_new_start_of_the_recorder_what_is_not_told_again_has_ended(self):
        other = ("deck-foul", "deck", 1, ("deck", LIFE, 9))
        self.assertEqual(self.alerts((10, 1, "raised"), (11, 1, "raised", None, other),
                                     (30, 1, "raised", 500), (35, 1, "raised", 501, other),
                                     (38, 1, "gone", 502, other), (40, 1, "gone", 503)),
                         [(10, 30, "validator-1"), (11, None, "validator-1"),
                          (35, 3, "validator-1")])

    def test_an_acknowledgement_before_the_alert_is_of_another_clock(self):
        record = one_pass(Record())
        record.alert(10, "validator-1", "raised", *self.KEY)
        record.acknowledge(9, "primary", *self.KEY)
        one, = record.write().json("alerts")["alerts"]
        self.assertEqual((one["acknowledged_by"], one["acknowledged_after_s"],
                          one["acknowledgements"]), ("primary", None, "primary"))


class Signed(unittest.TestCase):
    def overrides(self, *words):
        record = one_pass(Record())
        for at, node, *value in words:
            record.say(at, node, "override", *(value or ("unknown",)), slot=2900)
        record.say(1000, "deck", "deck", "no-foul")
        return [(r["said_by"], r["confirmed_by"], r["took_effect"], r["ended_how"])
                for r in record.write().json("overrides")["overrides"]]

    ONE = ("detorque-overdue", "gear-officer", 300, "why")

    def test_the_second_signature_is_due_in_a_minute(self):
        self.assertEqual(self.overrides((10, "primary", *self.ONE), (70, "deck", *self.ONE)),
                         [("primary", "deck", True, "expired")])
        self.assertEqual(self.overrides((10, "primary", *self.ONE), (70.001, "deck", *self.ONE)),
                         [("primary", None, False, None), ("deck", None, False, None)])

    def test_nobody_confirms_himself(self):
        self.assertEqual(self.overrides((10, "primary", *self.ONE), (20, "primary", *self.ONE)),
                         [("primary", None, False, None), ("primary", None, False, None)])

    def test_either_takes_it_back(self):
        for node in ("primary", "deck"):
            self.assertEqual(self.overrides((10, "primary", *self.ONE), (20, "deck", *self.ONE),
                                            (30, node)), [("primary", "deck", True, "taken back")])

    def test_a_signer_that_restarts_has_signed_nothing(self):
        record = one_pass(Record())
        record.say(10, "primary", "override", *self.ONE, slot=2900)
        record.say(20, "deck", "override", *self.ONE, slot=2900)
        record.say(30, "deck", "deck", "no-foul", life=LIFE + 1)
        one, = record.write().json("overrides")["overrides"]
        self.assertEqual((one["ended_how"], one["ended_by"]), ("restart", "deck"))

    def test_a_foul_by_voice_needs_one(self):
        record = one_pass(Record())
        record.say(10, "primary", "deck", "foul", voice="platform")
        record.say(11, "primary", "set", 34000, passes=(1,), voice="engine-1")
        rows = record.write().json("overrides")["overrides"]
        self.assertEqual([(r["station"], r["took_effect"]) for r in rows],
                         [("platform", True), ("engine-1", False)])


class People(unittest.TestCase):
    def test_a_new_life_has_to_say_who_sits_there(self):
        record = Record()
        record.say(1, "deck", "watch", "Dunlin")
        record.say(5, "deck", "deck", "no-foul")
        record.say(20, "deck", "deck", "no-foul", life=LIFE + 1)
        record.say(22, "deck", "watch", "Dunlin", life=LIFE + 1)
        record.say(30, "deck", "watch", "unknown", life=LIFE + 1)
        rows = record.write().json("who")["who"]
        self.assertEqual([(r["name"], r["ended"], r["words"]) for r in rows],
                         [("Dunlin", "restart", 2), (None, "relieved", 1), ("Dunlin", "left", 1),
                          (None, None, 1)])


def older(record, schema):
    """The same record as an older recorder wrote it."""
    file = sqlite3.connect(record.path)
    for view in ("accepted", "pass_result", "verdict_edge", "alert_edge"):
        file.execute("DROP VIEW IF EXISTS " + view)
    for table in ("change", "judged", "verdict", "alert", "gap", "predicted", "predicted_setting",
                  "expected"):
        file.execute("ALTER TABLE %s DROP COLUMN hash" % table)
    file.execute("ALTER TABLE change DROP COLUMN frame")
    file.execute("DROP TABLE beat")
    file.execute("DROP TABLE seal")
    if schema == 1:
        for table in ("predicted", "predicted_setting", "expected"):
            file.execute("DROP TABLE " + table)
    file.execute("PRAGMA user_version = %d" % schema)
    file.commit()
    file.close()


class Schemas(unittest.TestCase):
    def test_a_loss_is_dated_by_the_wall_clock_and_before_schema_3_by_the_words(self):
        record = maker.Record()
        said = record.say(10, "primary", "watch", "Ruff")
        record.judged(10.5, "validator-1", 1000, "primary", said, "applied")
        record.judged(20, "validator-1", 11000, "engine-1", 1, "lost")
        record.judged(30, "validator-1", 21250, "engine-1", 2, "heard")
        record.judged(40, "validator-2", 7, "engine-2", 1, "lost")

        def losses():
            return [(r["station"], r["from"], r["to"])
                    for r in record.json("faults")["faults"] if r["kind"] == "station lost"]

        record.write()
        self.assertEqual(losses(), [("engine-1", utc(20), utc(30)), ("engine-2", utc(40), None)])
        file = sqlite3.connect(record.path)
        file.execute("UPDATE judged SET wall_ms = NULL WHERE id <= 2")
        file.commit()
        self.assertEqual(losses(), [("engine-1", utc(20), utc(30)), ("engine-2", utc(40), None)])
        # Nothing ties the clock of a validator that took no word to any other.
        file.execute("UPDATE judged SET wall_ms = NULL")
        file.commit()
        file.close()
        self.assertEqual(losses(), [("engine-1", utc(20), utc(30.25))])

    def test_older_records_say_the_same(self):
        new = maker.evening(frames=True)
        for schema in (2, 1):
            old = maker.evening(frames=True)
            older(old, schema)
            for verb in ("alerts", "who", "overrides", "faults", "seconds", "figures"):
                self.assertEqual(old.json(verb), new.json(verb), (schema, verb))
            said, expected = old.json("passes")["passes"], new.json("passes")["passes"]
            if schema == 1:
                for one in expected:
                    one["predicted"] = None
            self.assertEqual(said, expected)


if __name__ == "__main__":
    unittest.main()
