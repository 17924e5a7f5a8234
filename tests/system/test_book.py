# SPDX-License-Identifier: Apache-2.0
"""test_book - a record is whole or says where it is not; two recorders come to hold the same."""
import json
import os
import shutil
import subprocess
import sys
import unittest

from book import TABLES, Book
from ship import BUILD, SOURCE, TRAPLINE, Ship
from test_record import Listener

sys.path.insert(0, str(SOURCE / "tests" / "interop"))
from busclient import Folder  # noqa: E402


def add_two_recorders(ship):
    path = ship.dir / "stations.yaml"
    text = path.read_text()
    line = "  - {id: viewer, kind: viewer}\n"
    assert line in text
    path.write_text(text.replace(line, "  - {id: recorder-1, kind: recorder}\n"
                                 "  - {id: recorder-2, kind: recorder}\n" + line))


def stop(ship, name):
    assert ship.running.pop(name).end() == 0


def path_of(ship, name):
    return ship.dir / "record" / (name + ".db")


class Records(unittest.TestCase):
    """One recovery, recorded once for all: recorder-2 was away for its middle."""

    @classmethod
    def setUpClass(cls):
        cls.ship = Ship(add_two_recorders)
        try:
            cls.fly(cls.ship)
        except BaseException:
            cls.ship.close()
            raise

    @classmethod
    def tearDownClass(cls):
        cls.ship.close()

    @classmethod
    def fly(cls, ship):
        ship.brokers()
        ship.recorders("recorder-1")
        ship.recorders("recorder-2")
        ship.validators()
        ship.stations()
        ship.heard()
        listener = Listener(ship)
        try:
            ship.open_recovery()
            ship.order(204, "plover", 34000)
            ship.until_show(0)
            stop(ship, "recorder-2")
            for weight in (33400, 33300):  # each end of a life is sealed
                listener.until_recorded(ship, "approach", "inbound 204 plover %d" % weight)
                stop(ship, "recorder-1")
                ship.recorders("recorder-1")
            # a recorder that is not covered yet is told again, and recorder-2 would hear it
            listener.until_recorded(ship, "engine-3", "set 40000")
            ship.until_show(1)
            listener.until_recorded(ship, "platform", "wave-off")
        finally:
            listener.close()
        for _ in range(4):
            ship.say("deck", "foul person")
        assert ship.running.pop("validator-2").end() == 0
        ship.validators("validator-2")  # it takes what stands from beats, and names them
        ship.heard()
        ship.recorders("recorder-2")
        ship.say("deck", "foul wire")
        ship.until_show(1)
        for name in ("recorder-1", "recorder-2"):
            stop(ship, name)

    def copy(self):
        """A copy of the first record, to do with as one likes."""
        path = self.ship.dir / "copy.db"
        for tail in ("", "-wal", "-shm"):
            if os.path.exists(str(path) + tail):
                os.remove(str(path) + tail)
        shutil.copy(path_of(self.ship, "recorder-1"), path)
        return path

    def verify(self, path, keys=True):
        words = ["-C", self.ship.dir] if keys else []
        code, out = self.ship.call("log", "verify", "--json", *words, "--record", path)
        try:
            found = json.loads(out)
        except ValueError:
            self.fail("exit %d: %s" % (code, out))
        self.assertEqual(code, 0 if found["whole"] else 1, out)
        bad = {t["table"]: t["first_bad"]["row"] for t in found["tables"] if t["first_bad"]}
        return found, bad

    def whole(self, path):
        found, bad = self.verify(path)
        self.assertEqual((found["whole"], bad, found["seals"]["bad_from"], found["frames"]["bad"]),
                         (True, {}, 0, 0), found)
        return found

    # ---- whole ----

    def test_a_record_is_whole_by_our_reading_and_by_others(self):
        for name in ("recorder-1", "recorder-2"):
            found = self.whole(path_of(self.ship, name))
            with Book(path_of(self.ship, name)) as book:
                self.assertEqual((book.bad_rows(), book.bad_seals(Folder(self.ship.dir).keys)),
                                 ([], []))
                for table in found["tables"]:
                    self.assertEqual((table["chained"], table["unchained"], table["not_sealed"]),
                                     (book.count(table["table"]), 0, 0), table)
                self.assertEqual(found["frames"]["signed"], sum(
                book.count(table) for table in ("change", "judged", "beat")))
                self.assertEqual(found["seals"]["count"], book.count("seal"))
                self.assertGreater(book.count("beat"), 0)
                last = book.file.execute("SELECT hex(signature) FROM seal ORDER BY id DESC")
                self.assertEqual(found["seals"]["last"]["mark"], last.fetchone()[0][:16].lower())
            self.assertEqual([found["frames"][k] for k in ("absent", "unchecked", "bad")], [0, 0, 0])

    def test_the_stock_shell_finds_the_file_sound_and_reads_its_views(self):
        done = subprocess.run(
            ["sqlite3", "-batch", "file:%s?mode=ro" % path_of(self.ship, "recorder-1"),
             "PRAGMA integrity_check; SELECT result, said_by FROM pass_result;"
             " SELECT count(*) > 0 FROM verdict_edge WHERE word = 'READY';"
             " SELECT DISTINCT severity FROM alert_edge WHERE rule = 'setting-other-aircraft';"
             " SELECT count(*) > 0 FROM accepted WHERE kind = 'set';"],
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, check=False)
        self.assertEqual(done.stdout.split("\n"),
                         ["ok", "wave-off|platform", "1", "alarm", "1", ""], done.stdout)

    def test_without_keys_it_is_said_that_no_signature_was_looked_at(self):
        found, _ = self.verify(path_of(self.ship, "recorder-1"), keys=False)
        self.assertTrue(found["whole"])
        self.assertEqual(found["signatures_unchecked"],
                         found["frames"]["signed"] + found["seals"]["count"])
        _, out = self.ship.call("log", "verify", "--record", path_of(self.ship, "recorder-1"))
        self.assertNotIn("whole", out)
        self.assertIn("signatures were not looked at", out)
        self.assertEqual(found["frames"]["unchecked"], found["frames"]["signed"])
        self.assertEqual(found["seals"]["unchecked"], found["seals"]["count"])

    # ---- not whole ----

    def test_the_first_altered_row_of_each_table_is_named(self):
        columns = {"change": "word", "judged": "reason", "verdict": "text", "alert": "rule",
                   "predicted": "type", "predicted_setting": "hook_lbf", "beat": "wall_ms"}
        tried = 0
        for table, column in columns.items():
            path = self.copy()
            with Book(path) as book:
                count = book.count(table)
                if count < 2:
                    continue
                row = (count + 1) // 2
                book.file.execute("UPDATE %s SET %s = '7' WHERE id >= ?" % (table, column), (row,))
            _, bad = self.verify(path)
            self.assertEqual(bad, {table: row})
            tried += 1
        self.assertGreaterEqual(tried, 5)

    def test_every_column_of_a_report_counts(self):
        with Book(self.copy()) as book:
            names = [row[1] for row in book.file.execute("PRAGMA table_info(change)")]
        for name in names:
            if name in ("id", "hash"):
                continue
            path = self.copy()
            with Book(path) as book:
                was = book.file.execute("SELECT %s FROM change WHERE id = 3" % name).fetchone()[0]
                new = 77 if was != 77 else 78
                book.file.execute("UPDATE change SET %s = ? WHERE id = 3" % name, (new,))
            self.assertEqual(self.verify(path)[1], {"change": 3}, name)

    def test_a_row_that_was_taken_out_or_put_in_is_named(self):
        for table in ("change", "judged", "alert"):
            path = self.copy()
            with Book(path) as book:
                book.file.execute("DELETE FROM %s WHERE id = 2" % table)
            self.assertEqual(self.verify(path)[1], {table: 2})
        path = self.copy()
        with Book(path) as book:
            book.file.execute("UPDATE verdict SET id = -id WHERE id > 2")
            book.file.execute("UPDATE verdict SET id = 1 - id WHERE id < 0")
            cells = book.file.execute("SELECT * FROM verdict WHERE id = 2").fetchone()
            marks = ",".join("?" * len(cells))
            cells = list(cells)
            cells[0], cells[3] = 3, 10 ** 9
            book.file.execute("INSERT INTO verdict VALUES (%s)" % marks, cells)
        self.assertEqual(self.verify(path)[1], {"verdict": 3})

    def test_who_writes_the_chain_anew_is_found_by_the_seals(self):
        path = self.copy()
        with Book(path) as book:
            book.file.execute("UPDATE verdict SET word = 'READY', rule = '', text = '' WHERE id = 2")
            book.write_anew("verdict", 2)
            self.assertEqual(book.bad_rows(), [])
        found, bad = self.verify(path)
        self.assertEqual((found["whole"], bad), (False, {}))
        self.assertGreater(found["seals"]["bad_from"], 0)
        self.assertIn("verdict row", found["seals"]["text"])

    def test_seals_that_were_taken_out_or_made_by_another_are_found(self):
        path = self.copy()
        with Book(path) as book:
            self.assertGreater(book.count("seal"), 2)
            book.file.execute("DELETE FROM seal WHERE id = 2")
        self.assertEqual(self.verify(path)[0]["seals"]["bad_from"], 2)
        path = self.copy()
        with Book(path) as book:
            book.file.execute("UPDATE seal SET signature = zeroblob(64) WHERE id = 3")
        self.assertEqual(self.verify(path)[0]["seals"]["bad_from"], 3)
        path = self.copy()
        with Book(path) as book:
            book.file.execute("UPDATE seal SET wall_ms = wall_ms + 1 WHERE id = 2")
        self.assertEqual(self.verify(path)[0]["seals"]["bad_from"], 2)

    def test_a_report_that_its_station_did_not_sign_is_found(self):
        path = self.copy()
        with Book(path) as book:
            frame = bytearray(book.file.execute("SELECT frame FROM change WHERE id = 4").fetchone()[0])
            frame[-1] ^= 1
            book.file.execute("UPDATE change SET frame = ? WHERE id = 4", (bytes(frame),))
            book.write_anew("change", 4)
            book.file.execute("DELETE FROM seal")
        found, bad = self.verify(path)
        self.assertEqual((found["whole"], bad, found["frames"]["bad"]), (False, {}, 1))
        self.assertIn("change row 4:", found["frames"]["first_bad"])

    def test_columns_that_say_something_else_than_the_frame_are_found(self):
        for table, forged in (
                ("change", "word = 'set 34,000 lb' WHERE word LIKE 'set 40,000%'"),
                ("judged", "kind = 'applied' WHERE id = 2"),
                ("judged", "reason = 'late' WHERE id = 3"),
                ("judged", "word = 'READY' WHERE id = 4")):
            path = self.copy()
            with self.subTest(forged), Book(path) as book:
                book.file.execute(f"UPDATE {table} SET {forged}")
                book.write_anew(table)
                book.file.execute("DELETE FROM seal")
            found, bad = self.verify(path)
            self.assertEqual((found["whole"], bad, found["frames"]["bad"]), (False, {}, 1))
            self.assertIn("something else than the frame", found["frames"]["first_bad"])

    def test_a_file_that_is_damaged_or_none_is_said(self):
        path = self.copy()
        with open(path, "r+b") as file:
            file.seek(4096 * 3)
            file.write(b"\xff" * 4096)
        code, out = self.ship.call("log", "verify", "-C", self.ship.dir, "--record", path)
        self.assertEqual(code, 1, out)
        self.assertNotIn("whole: nothing", out)
        path.write_bytes(b"not a record at all, but long enough to be looked at")
        code, out = self.ship.call("log", "verify", "--record", path)
        self.assertEqual(code, 1, out)
        self.assertIn("cannot be read", out)
        code, out = self.ship.call("log", "verify", "--record", self.ship.dir / "none.db")
        self.assertEqual(code, 3, out)

    # ---- two recorders ----

    def compare(self, *paths):
        code, out = self.ship.call("log", "compare", *paths, "--json")
        found = json.loads(out)
        self.assertEqual(code, 0 if found["same"] else 1, out)
        return found

    def merge(self, into, source, env=None):
        words = [str(TRAPLINE), "log", "merge", str(source), "-C", str(self.ship.dir), "--into", into]
        path = "%s:%s" % (BUILD / "broker" / "recorder", os.environ["PATH"])
        done = subprocess.run(words, env=dict(self.ship.env, PATH=path, **(env or {})), text=True,
                              stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, timeout=30, check=False)
        return done.returncode, done.stdout

    def test_what_a_recorder_missed_is_named_then_merged_then_the_same(self):
        first, second = path_of(self.ship, "recorder-1"), path_of(self.ship, "recorder-2")
        kept = second.with_suffix(".kept")
        shutil.copy(second, kept)
        try:
            found = self.compare(first, second)
            rows = {row["station"]: row for row in found["stations"]}
            self.assertFalse(found["same"])
            self.assertEqual((rows["engine-3"]["only_a"] > 0, rows["engine-3"]["only_b"],
                              rows["engine-3"]["differ"]), (True, 0, 0), rows)
            missing = sum(row["only_a"] for row in found["stations"])
            code, out = self.merge("recorder-2", first)
            self.assertEqual(code, 0, out)
            self.whole(second)
            again = self.compare(first, second)
            self.assertTrue(again["same"], again)
            with Book(second) as book, Book(first) as other:
                self.assertEqual(book.count("change"), other.count("change"))
                self.assertEqual(book.bad_rows(), [])
            code, out = self.merge("recorder-2", first)
            self.assertEqual(code, 0, out)
            self.assertIn(": 0 of", out)
            self.assertGreater(missing, 0)
        finally:
            shutil.move(kept, second)

    def test_a_forged_report_is_refused_by_name_and_nothing_else_is_lost(self):
        second = path_of(self.ship, "recorder-2")
        kept = second.with_suffix(".kept")
        shutil.copy(second, kept)
        path = self.copy()
        with Book(second) as book:
            held = book.file.execute("SELECT node, incarnation, sequence FROM change").fetchall()
        with Book(path) as book:
            row = next(r for r in book.file.execute("SELECT id, node, incarnation, sequence, frame"
                                                    " FROM change") if r[1:4] not in held)
            frame = bytearray(row[4])
            frame[-2] ^= 1
            book.file.execute("UPDATE change SET frame = ? WHERE id = ?", (bytes(frame), row[0]))
        try:
            code, out = self.merge("recorder-2", path)
            self.assertEqual(code, 1, out)
            self.assertIn("1 REFUSED, the first change row %d" % row[0], out)
            found = self.compare(path_of(self.ship, "recorder-1"), second)
            self.assertEqual(sum(r["only_a"] for r in found["stations"]), 1, found)
            self.whole(second)
        finally:
            shutil.move(kept, second)

    def test_merge_says_what_it_cannot_do(self):
        first = path_of(self.ship, "recorder-1")
        for source, code, words in ((self.ship.dir / "none.db", 3, "no record at"),
                                    (first, 1, "is the record of this recorder itself"),
                                    (self.ship.dir / "ship.yaml", 1, "cannot be read")):
            got, out = self.merge("recorder-1", source)
            self.assertEqual(got, code, out)
            self.assertIn(words, out)
        got, out = self.merge("recorder-9", first)
        self.assertEqual(got, 78, out)
        self.whole(first)

    def test_merge_beside_the_running_recorder_is_refused(self):
        kept = path_of(self.ship, "recorder-1").with_suffix(".kept")
        shutil.copy(path_of(self.ship, "recorder-1"), kept)
        try:
            self.ship.recorders("recorder-1")
            code, out = self.merge("recorder-1", path_of(self.ship, "recorder-2"))
            self.assertEqual(code, 1, out)
            self.assertIn("recorder-1", out)
        finally:
            stop(self.ship, "recorder-1")
            shutil.move(kept, path_of(self.ship, "recorder-1"))

    def test_a_report_that_differs_is_named(self):
        path = self.copy()
        with Book(path) as book:
            book.file.execute("UPDATE change SET word = 'set 1 lb', frame = NULL WHERE id = 4")
            node = book.file.execute("SELECT node FROM change WHERE id = 4").fetchone()[0]
        rows = {r["station"]: r for r in self.compare(path_of(self.ship, "recorder-1"), path)["stations"]}
        self.assertEqual([name for name, row in rows.items() if row["differ"]], [node])


if __name__ == "__main__":
    assert TABLES
    unittest.main(verbosity=2)
