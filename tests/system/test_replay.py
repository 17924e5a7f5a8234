# SPDX-License-Identifier: Apache-2.0
"""test_replay - what two real validators judged in a recovery is judged again from the record

One recovery, recorded once for all: a station lost, one restarted, a refusal, an override, a foul, an
aircraft waved off, a validator restarted. What the replay says is held against the verdicts that the
validators published, which the recorder keeps in another table.
"""
import json
import os
import shutil
import sqlite3
import sys
import time
import unittest

from ship import ENGINE_STATE, SOURCE, TRAPLINE, Ship

sys.path.insert(0, str(SOURCE / "tests" / "screens"))
from terminals import Terminal  # noqa: E402

VALIDATORS = ("validator-1", "validator-2")
PLOVER_LB, OTHER_LB = 34000, 36000


def varint(number):
    """As protobuf writes it: seven bits a byte, lowest first."""
    out = b""
    while number > 0x7F:
        out += bytes([number & 0x7F | 0x80])
        number >>= 7
    return out + bytes([number])


def ask(path, sql, *values):
    """What the file says, asked as any reader would."""
    file = sqlite3.connect("file:%s?mode=ro" % path, uri=True)
    try:
        return file.execute(sql, values).fetchall()
    finally:
        file.close()


class Replay(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.ship = Ship(full=True)
        try:
            cls.fly(cls.ship)
            cls.record = cls.path(cls.ship)
        except BaseException:
            cls.ship.close()
            raise

    @classmethod
    def tearDownClass(cls):
        cls.ship.close()

    @staticmethod
    def path(ship):
        return ship.dir / "record" / "recorder-1.db"

    @classmethod
    def fly(cls, ship):
        ship.brokers()
        ship.recorders()
        ship.validators()
        ship.stations()
        ship.heard()
        # judged again from a base on: both must have told one before anything happens
        until = time.monotonic() + 20
        bases = "SELECT count(DISTINCT validator) FROM judged WHERE kind = 'base'"
        while ask(cls.path(ship), bases)[0][0] < 2:
            assert time.monotonic() < until, "no base is recorded"
            time.sleep(0.05)
        ship.open_recovery()
        ship.order(204, "plover", PLOVER_LB)
        ship.until_show(0)
        ship.say("deck", "foul person")  # and CLEAR is refused while a sheave is down
        ship.say("wires", "sheave 1 down")
        assert ship.do("deck", "clear")[0] == 2
        ship.say("wires", "sheave 1 up")
        ship.say("deck", "clear")
        ship.until_show(0)
        ship.say("gear-officer", "cable 1 61")
        ship.until_show(1, ["detorque-overdue:gear-officer"])
        ship.say("primary", "override detorque-overdue gear-officer 5 one pass")
        ship.say("safety", "agree override")
        ship.until_show(0)
        ship.running.pop("engine-2").kill()
        ship.until_show(1, ["station-lost:engine-2"])
        ship.station("engine-2")
        for words in ("set %d" % PLOVER_LB, "battery in", "accumulator 405", "gap 6.50",
                      *ENGINE_STATE, "watch Ash"):
            ship.say("engine-2", words)
        ship.say("primary", "repeater 2 %d" % PLOVER_LB)
        ship.until_show(0)
        ship.say("platform", "wave-off")
        ship.order(117, "curlew", 44000)
        ship.until_show(0)
        ship.say("platform", "trap 3")
        ship.until_show(1)
        assert ship.running.pop("validator-2").end() == 0
        ship.validators("validator-2")  # takes from the other what was computed for the trap
        ship.say("engine-3", "arrest 181.2 3.5")
        newest = ("SELECT count(*) FROM judged WHERE validator = 'validator-2' AND kind = ? AND"
                  " validator_incarnation = (SELECT max(validator_incarnation) FROM judged"
                  " WHERE validator = 'validator-2')")
        until = time.monotonic() + 20
        while not all(ask(cls.path(ship), newest, kind)[0][0] for kind in ("base", "expected")):
            assert time.monotonic() < until
        ship.say("deck", "foul wire")
        ship.say("platform", "no foul")
        assert ship.running.pop("recorder-1").end() == 0

    def replay(self, *words, record=None, folder=None):
        code, out = self.ship.call("log", "replay", "-C", folder or self.ship.dir, "--record",
                                   record or self.record, "--json", *words)
        try:
            return code, json.loads(next(l for l in out.splitlines() if l.startswith("{")))
        except (StopIteration, ValueError):
            self.fail("exit %d: %s" % (code, out))

    def copy(self, name="copy.db"):
        path = self.ship.dir / name
        for tail in ("", "-wal", "-shm"):
            if os.path.exists(str(path) + tail):
                os.remove(str(path) + tail)
        shutil.copy(self.record, path)
        return path

    def altered(self, *statements):
        path = self.copy()
        with sqlite3.connect(str(path)) as file:
            for sql, values in statements:
                self.assertEqual(file.execute(sql, values).rowcount, 1, sql)
        file.close()
        return path

    def ask(self, sql, *values):
        return ask(self.record, sql, *values)

    def life(self, found, validator="validator-1"):
        return next(l for l in found["lives"] if l["validator"] == validator)

    # ---- the same ----

    def test_every_judgement_of_both_validators_is_the_same(self):
        code, found = self.replay()
        self.assertEqual((code, found["same"]), (0, True), found)
        self.assertEqual([l["validator"] for l in found["lives"]],
                         ["validator-1", "validator-2", "validator-2"])
        told = dict(self.ask("SELECT validator, count(*) FROM judged WHERE word IS NOT NULL"
                             " GROUP BY validator"))
        for life in found["lives"]:
            self.assertIsNone(life["first_difference"])
            self.assertEqual(life["compared"], life["equal"])
            self.assertGreaterEqual(life["bases"], 1)
            # what is not compared lies before the first base, one second after the recorder came
            self.assertEqual([w["why"] for w in life["not_checked_why"]],
                             ["the record has no base of it yet"])
        for validator in VALIDATORS:
            lives = [l for l in found["lives"] if l["validator"] == validator]
            compared = sum(l["compared"] for l in lives)
            unchecked = sum(l["not_checked"] for l in lives)
            print("%s: %d judgements compared, the same; %d before a base" % (
                validator, compared, unchecked))
            # one base a life is taken and not compared
            self.assertEqual(compared + unchecked + len(lives), told[validator])
            self.assertGreater(compared, 100)
            self.assertGreater(lives[-1]["compared"], 0)

    def test_its_edges_are_those_of_the_verdicts_that_were_published(self):
        found = self.replay()[1]
        seen = set()
        for life in found["lives"]:
            steps = [(s["event"]["pass"] if s["event"] else 0, s["verdict"])
                     for s in life["steps"]]
            edges = [s for i, s in enumerate(steps) if i == 0 or steps[i - 1] != s]
            first = life["steps"][0]["time"]
            rows = self.ask(
                "SELECT event_pass, word FROM verdict WHERE validator = ? AND"
                " validator_incarnation = ? AND strftime('%Y-%m-%dT%H:%M:%f', wall_ms / 1000.0,"
                " 'unixepoch') >= ? ORDER BY sequence", life["validator"], life["life"], first[:-1])
            published = [r for i, r in enumerate(rows) if i == 0 or rows[i - 1] != r]
            if published[:1] != edges[:1]:
                edges.pop(0)  # what stood before the first verdict that was published after it
            self.assertEqual(edges, published, life["validator"])
            seen.update(published)
        self.assertLessEqual({(1, "READY"), (2, "READY"), (1, "NOT READY"), (0, "NOT READY")}, seen)

    def test_the_words_of_people_are_there(self):
        kinds = {kind for kind, in self.ask("SELECT DISTINCT kind FROM judged")}
        self.assertLessEqual({"applied", "refused", "lost", "heard", "beat", "begun", "time", "base",
                              "predicted", "seen", "expected"}, kinds)
        causes = {s["rule"] for l in self.replay()[1]["lives"] for s in l["steps"]}
        self.assertLessEqual({"station-lost", None}, causes)
        text = self.ship.call("log", "overrides", "--record", self.record)[1]
        self.assertIn("detorque-overdue", text)

    def test_it_stops_where_it_is_told_and_shows_the_picture(self):
        step = next(s for s in self.life(self.replay()[1])["steps"] if s["verdict"] == "READY")
        code, out = self.ship.call("log", "replay", "-C", self.ship.dir, "--until", step["time"])
        self.assertEqual(code, 0, out)
        self.assertIn("READY (advisory) event 1", out)
        self.assertIn("204 plover", out)
        self.assertIn("engine 1  wire 1  set 34,000 lb for this event", out)
        self.assertNotIn("117 curlew", out)
        code, found = self.replay("--until", step["time"])
        self.assertEqual((code, found["stands"]["verdict"]), (0, "READY"))
        self.assertEqual([l["validator"] for l in found["lives"]], ["validator-1"])
        code, out = self.ship.call("log", "replay", "-C", self.ship.dir, "--until",
                                   step["time"][11:19])
        self.assertEqual(code, 0, out)
        self.assertIn("event 1", out)

    def test_the_board_goes_through_it(self):
        code, out = self.ship.call("log", "replay", "-C", self.ship.dir, "--board", "--speed", "1000",
                                   "--validator", "validator-2")
        self.assertEqual(code, 0, out)
        self.assertIn("REPLAY ", out)
        self.assertIn("READY (advisory) event 2", out)
        self.assertNotIn("\033", out)  # no terminal
        self.assertNotIn("not shown yet", out)  # who has seen an alert is not in the record

    def board(self, speed, *words):
        terminal = Terminal([TRAPLINE, "log", "replay", "-C", self.ship.dir, "--board", "--speed",
                             str(speed), "--validator", "validator-2", *words], self.ship.env)
        self.addCleanup(terminal.close)
        terminal.wait(" REPLAY VALIDATOR-2")
        return terminal

    def test_on_a_terminal_it_is_a_page_of_then(self):
        steps = [s for l in self.replay("--validator", "validator-2")[1]["lives"] for s in l["steps"]]
        ready = next(s for s in steps if (s["verdict"], (s["event"] or {}).get("pass")) == ("READY", 2))
        terminal = self.board(1000, "--until", ready["time"])  # READY stands there for a moment only
        terminal.wait("THE END of this life")
        terminal.wait("nothing here is now.")
        terminal.wait("WAS READY (advisory) event 2")
        self.assertEqual([row for row in terminal.rows() if row.startswith("READY")], [])
        terminal.press("q")
        self.assertEqual(terminal.end(), "exit 0")

    def test_on_a_terminal_it_goes_through_every_life(self):
        terminal = self.board(50)
        for _ in self.replay("--validator", "validator-2")[1]["lives"]:
            terminal.wait("THE END of this life")
            self.assertEqual(terminal.rows()[1].split(" ")[0], "WAS")
            terminal.press("q")
        self.assertEqual(terminal.end(), "exit 0")
        terminal.wait("the same")  # the summary stands on the terminal that was given back

    def test_on_a_terminal_q_goes_to_the_end(self):
        terminal = self.board(0.1)
        terminal.press("q")
        self.assertEqual(terminal.end(), "exit 0")

    # ---- what if ----

    def test_another_table_of_weights_is_another_judgement_from_the_first_setting_on(self):
        other = self.ship.dir / "other"
        shutil.rmtree(other, ignore_errors=True)
        other.mkdir()
        for path in self.ship.dir.glob("*.yaml"):
            shutil.copy(path, other)
        path = other / "aircraft.yaml"
        text = path.read_text()
        was = "id: plover, setting_lb: %d" % PLOVER_LB
        self.assertIn(was, text)
        text = text.replace(was, "id: plover, setting_lb: %d" % OTHER_LB)
        path.write_text(text.replace("max_trap_lb: %d, final_approach_s: 25" % PLOVER_LB,
                                     "max_trap_lb: %d, final_approach_s: 25" % OTHER_LB))
        code, found = self.replay("--what-if", other)
        self.assertEqual((code, found["same"], found["what_if"]), (1, False, True))
        for life in found["lives"]:
            sets = self.ask(
                "SELECT j.sequence, c.node || ' ' || c.sequence FROM judged AS j JOIN change AS c ON"
                " c.node = j.node AND c.incarnation = j.incarnation AND"
                " c.sequence = j.change_sequence WHERE j.validator = ? AND"
                " j.validator_incarnation = ? AND j.kind = 'applied' AND c.kind = 'set' AND"
                " c.known = 1 AND c.number = ? ORDER BY j.sequence LIMIT 1",
                life["validator"], life["life"], PLOVER_LB)
            first = life["first_difference"]
            if sets:
                self.assertEqual((first["row"], first["input"]),
                                 (sets[0][0], "applied " + sets[0][1]))
                self.assertEqual((first["judged"]["rule"], first["judged"]["station"]),
                                 ("setting-other-aircraft", sets[0][1].split()[0]))
            ready = [s for s in life["steps"] if s["verdict"] == "READY"]
            self.assertEqual({s["event"]["pass"] for s in ready} - {2}, set())
        # the other type is set as before, and judged as before
        self.assertTrue(any(s["verdict"] == "READY" and s["event"]["pass"] == 2
                            for s in self.life(found)["steps"]))
        code, found = self.replay(folder=other)
        self.assertEqual((code, found["compared"]), (78, False))
        self.assertTrue(all(l["other_configuration"] for l in found["lives"]))
        code, found = self.replay("--what-if", self.ship.dir)
        self.assertEqual((code, found["same"]), (0, True))

    # ---- records that were altered, or have holes ----

    def frame_of(self, table, where, *values):
        rows = self.ask("SELECT id, frame FROM %s WHERE %s" % (table, where), *values)
        self.assertTrue(rows, where)
        return rows[0]

    def test_a_digit_that_was_altered_differs_where_it_was_judged(self):
        number, frame = self.frame_of("change", "kind = 'set' AND number = ? ORDER BY id", PLOVER_LB)
        self.assertEqual(frame.count(varint(PLOVER_LB)), 1)
        path = self.altered(("UPDATE change SET frame = ? WHERE id = ?",
                             (frame.replace(varint(PLOVER_LB), varint(PLOVER_LB + 500)), number)))
        code, found = self.replay(record=path)
        self.assertEqual((code, found["same"]), (1, False))
        row = self.ask("SELECT j.sequence FROM judged AS j JOIN change AS c ON c.node = j.node AND"
                       " c.incarnation = j.incarnation AND c.sequence = j.change_sequence WHERE"
                       " c.id = ? AND j.kind = 'applied' AND j.validator = 'validator-1'", number)
        first = self.life(found)["first_difference"]
        self.assertEqual(first["row"], row[0][0])
        self.assertIn("reports", first["differs"])

    def test_a_judgement_that_is_missing_is_named_and_no_more_is_claimed(self):
        row = self.ask("SELECT sequence FROM judged WHERE validator = 'validator-1' AND"
                       " kind = 'applied' AND node = 'engine-3' ORDER BY id")[0][0]
        whole = self.life(self.replay()[1])
        path = self.altered(("DELETE FROM judged WHERE validator = 'validator-1' AND sequence = ?",
                             (row,)))
        code, found = self.replay(record=path)
        life = self.life(found)
        self.assertEqual((code, found["same"]), (0, True))  # what was compared
        self.assertLess(life["compared"], whole["compared"])
        self.assertIn("its rows %d to %d are not in the record" % (row, row),
                      [w["why"] for w in life["not_checked_why"]])

    def test_a_report_or_a_beat_that_is_missing_is_named(self):
        for table, kind in (("change", "applied"), ("beat", "beat")):
            with self.subTest(table):
                row = self.ask(
                    "SELECT node, incarnation, change_sequence FROM judged WHERE kind = ? AND"
                    " validator = 'validator-1' AND event_pass = 1 AND word IS NOT NULL AND"
                    " node <> 'bridge' ORDER BY id", kind)[0]
                path = self.altered(("DELETE FROM %s WHERE node = ? AND incarnation = ? AND"
                                     " sequence = ?" % table, row))
                code, found = self.replay(record=path)
                self.assertIn("%s %d of %s is not in the record" % (table, row[2], row[0]),
                              [w["why"] for w in self.life(found)["not_checked_why"]])
                self.assertEqual(code, 0)

    def test_a_record_without_bases_claims_nothing(self):
        path = self.copy()
        with sqlite3.connect(str(path)) as file:
            file.execute("DELETE FROM judged WHERE kind = 'base'")
        file.close()
        code, found = self.replay(record=path)
        self.assertEqual((code, found["same"], found["compared"]), (1, False, False))
        self.assertEqual(sum(l["compared"] for l in found["lives"]), 0)
        code, out = self.ship.call("log", "replay", "-C", self.ship.dir, "--record", path)
        self.assertEqual(code, 1, out)
        self.assertIn("nothing could be compared", out)

    # ---- what it cannot do ----

    def test_it_says_what_it_cannot_do(self):
        old = self.copy("old.db")
        with sqlite3.connect(str(old)) as file:
            file.execute("PRAGMA user_version = 2")
        file.close()
        here = ("-C", self.ship.dir)
        for code, words, said in (
                (64, ("--record", self.record), "configuration folder that judged is needed"),
                (3, (*here, "--record", self.ship.dir / "none.db"), "no record at"),
                (1, (*here, "--record", old), "keeps no frames"),
                (64, (*here, "--validator", "validator-9"), "no validator 'validator-9'"),
                (64, (*here, "--json", "--board"), "do not go together"),
                (64, (*here, "--until", "yesterday"), "--until"),
                (64, (*here, "--speed", "0"), "--speed"),
                (78, (*here, "--what-if", self.ship.dir / "record"), "ship.yaml")):
            got, out = self.ship.call("log", "replay", *words)
            self.assertEqual(got, code, out)
            self.assertIn(said, out)


if __name__ == "__main__":
    unittest.main(verbosity=2)
