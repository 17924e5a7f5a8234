#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_forms - every form of every answer is read by a reader that is not ours

JSON by Python's json, CSV by its csv (RFC 4180), the page by its html.parser and the plots in it by
its XML parser, WebVTT by the grammar of the standard (vtt.py), the file itself by the sqlite3
program. Once of an ordinary evening, once of one whose texts are hostile.
"""
import csv
import html.parser
import io
import json
import pathlib
import re
import shutil
import sqlite3
import subprocess
import unittest
import xml.etree.ElementTree

import maker
import vtt

TABLES = ("passes", "alerts", "who", "overrides", "faults", "seconds", "figures")
VOID = {"meta", "br", "hr", "link", "img", "input"}

# Terminal commands, markup, formulas, arrows, bad UTF-8, and far too much.
HOSTILE = ["=cmd|' /C calc'!A0", "+1+1", "-2+3", "@SUM(A1)", "\x1b]0;owned\x07\x1b[2J",
           "<script>alert(1)</script>", "a --> b & <i>c</i>", "\"quoted\", and more\r\nline",
           "\u202eright to left", "\x9b31m", "x" * 5000, "</title><img src=x onerror=alert(1)>"]


def hostile():
    """The evening with every text of the file replaced, row by row."""
    record = maker.evening()
    file = sqlite3.connect(record.path)
    turn = 0
    columns = [("change", "word"), ("change", "type"), ("verdict", "text"), ("verdict", "rule"),
               ("verdict", "station"), ("alert", "rule"), ("alert", "station"),
               ("alert", "severity"), ("judged", "reason"), ("judged", "validator"),
               ("gap", "node")]
    for table, column in columns:
        for row, in file.execute("SELECT id FROM %s WHERE %s IS NOT NULL" %
                                 (table, column)).fetchall():
            text = HOSTILE[turn % len(HOSTILE)]
            turn += 1
            if table == "change" and column == "word":
                kind, = file.execute("SELECT kind FROM change WHERE id = ?", (row,)).fetchone()
                text = ("watch: " if kind == "watch" else "") + text
            file.execute("UPDATE %s SET %s = ? WHERE id = ?" % (table, column),
                         (text if turn % 5 else text.encode() + b"\xff\xfe", row))
    for number, (row,) in enumerate(file.execute(
            "SELECT id FROM change WHERE node NOT IN ('platform', 'primary')").fetchall()):
        if number % 3 == 0:
            file.execute("UPDATE change SET node = ?, sequence = ? WHERE id = ?",
                         (HOSTILE[number % len(HOSTILE)], 1000 + number, row))
    file.commit()
    file.close()
    return record


class Page(html.parser.HTMLParser):
    """What is open, what is forbidden, and the plots as text."""

    def __init__(self, page):
        super().__init__(convert_charrefs=True)
        self.open, self.wrong, self.tags, self.text = [], [], [], []
        self.feed(page)
        self.close()
        self.plots = re.findall(r"<svg xmlns.*?</svg>", page, re.DOTALL)

    def handle_starttag(self, tag, attributes):
        self.tags.append(tag)
        if tag in ("script", "link", "img", "iframe", "object", "embed", "a", "base", "form"):
            self.wrong.append(tag)
        for name, value in attributes:
            if name.startswith("on") or name in ("src", "href", "xlink:href", "style"):
                self.wrong.append("%s %s=%s" % (tag, name, value))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attributes):
        self.handle_starttag(tag, attributes)
        self.handle_endtag(tag)

    def handle_endtag(self, tag):
        if not self.open or self.open.pop() != tag:
            self.wrong.append("/" + tag)

    def handle_data(self, data):
        self.text.append(data)


class Forms:
    """Of self.record, made once."""

    def printed(self, *words):
        code, out, err = self.record.log(*words)
        self.assertEqual(code, 0, err)
        return out

    def test_json_is_json(self):
        for verb in TABLES:
            whole = json.loads(self.printed(verb, "--json"))
            self.assertIsInstance(whole, dict, verb)
            self.assertTrue(next(iter(whole.values())), verb)

    def test_csv_is_rfc_4180(self):
        for verb in TABLES:
            out = self.printed(verb, "--csv")
            self.assertTrue(out.endswith("\r\n"), verb)
            self.assertNotRegex(out.replace("\r\n", ""), "[\r\n]", verb)
            rows = list(csv.reader(io.StringIO(out, newline=""), strict=True))
            self.assertGreater(len(rows), 1, verb)
            self.assertEqual({len(row) for row in rows}, {len(rows[0])}, verb)
            for row in rows[1:]:
                for cell in row:
                    self.assertNotRegex(cell, r"^(?:[=+@\t\r]|-(?!\d+(\.\d+)?$))", verb)

    def test_csv_and_json_say_the_same(self):
        for verb, key in (("alerts", "alerts"), ("who", "who"), ("faults", "faults"),
                          ("overrides", "overrides"), ("figures", "figures")):
            rows = csv.DictReader(io.StringIO(self.printed(verb, "--csv"), newline=""))
            objects = json.loads(self.printed(verb, "--json"))[key]
            for row, whole in zip(rows, objects, strict=True):
                for name, value in whole.items():
                    said = row[name]
                    if value is None:
                        self.assertEqual(said, "", (verb, name))
                    elif isinstance(value, bool):
                        self.assertEqual(said, str(value).lower(), (verb, name))
                    elif isinstance(value, (int, float)):
                        self.assertEqual(float(said), value, (verb, name))
                    else:
                        self.assertEqual(said.removeprefix("'"), value.removeprefix("'"))

    def test_text_is_plain_and_narrow(self):
        for verb in TABLES:
            for words in ((verb,), (verb, "--wide")):
                out = self.printed(*words)
                self.assertNotRegex(out, "[\x00-\x09\x0b-\x1f\x7f-\x9f\u2028-\u202e]", words)
            narrow = self.printed(verb)
            self.assertLessEqual(max(len(line) for line in narrow.splitlines()), 80, narrow)

    def test_the_page_is_whole_and_fetches_nothing(self):
        path = pathlib.Path(self.record.folder.name) / "report.html"
        code, out, err = self.record.log("report", "-o", str(path))
        self.assertEqual((code, out), (0, ""), err)
        text = path.read_text(encoding="utf-8")
        page = Page(text)
        self.assertEqual((page.wrong, page.open), ([], []))
        self.assertNotRegex(text, "[\x00-\x09\x0b-\x1f\x7f-\x9f]")
        style = re.search("<style>(.*?)</style>", text, re.DOTALL)[1]
        self.assertEqual(set(re.findall(r"url\((.*?)\)", style)), {"#hatch"})
        self.assertNotIn("@import", style)
        self.assertIn("@media print", style)
        self.assertIn("default-src 'none'", text)
        self.assertIn("Advisory record", "".join(page.text))
        self.assertGreaterEqual(len(page.plots), 3)
        for plot in page.plots:
            root = xml.etree.ElementTree.fromstring(plot)
            self.assertEqual(root.tag, "{http://www.w3.org/2000/svg}svg")

    def test_chapters_follow_the_grammar(self):
        chapters = vtt.parse(self.printed("chapters"))
        self.assertEqual(len(chapters), 5)
        self.assertTrue(vtt.nested(chapters))
        vtt.parse(self.printed("chapters", "--alerts"))
        vtt.parse(self.printed("chapters", "--alerts", "--offset", "-100"))


class Ordinary(Forms, unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.record = maker.evening()

    def test_the_file_is_sound_to_the_sqlite3_program(self):
        program = shutil.which("sqlite3")
        if program is None:
            self.skipTest("no sqlite3 program; .ci/packages --ci installs it")
        done = subprocess.run([program, "-readonly", self.record.path, "PRAGMA integrity_check;"],
                              capture_output=True, text=True)
        self.assertEqual((done.returncode, done.stdout), (0, "ok\n"), done.stderr)

    def test_every_key_is_in_the_documentation(self):
        text = (maker.SOURCE / "docs" / "json.md").read_text()
        part = text[text.index("\n## log\n"):text.index("\n## watch\n")]
        named = set(re.findall(r"[a-z_0-9]+", " ".join(re.findall(r"`([^`]*)`", part))))
        for words in [(verb,) for verb in TABLES] + [("passes", "--history")]:
            whole = json.loads(self.printed(*words, "--json"))
            keys = set(whole) | {key for value in whole.values() if isinstance(value, list)
                                 for row in value for key in row}
            for row in whole.get("passes", []):
                keys |= set(row["predicted"] or {}) | set(row["cause"] or {})
            self.assertLessEqual(keys, named, words)

    def test_the_page_has_its_plots(self):
        _, text, _ = self.record.log("report")
        titles = [xml.etree.ElementTree.fromstring(plot)[0].text for plot in Page(text).plots]
        self.assertEqual([title.split(",")[0].split(":")[0] for title in titles],
                         ["READY (filled) and NOT READY (hatched) of each pass",
                          "Intervals between ends of passes",
                          "From a trap to each station's last word", "Traps by wire",
                          "Alerts to acknowledge"])
        ready = Page(text).plots[0]
        # 1 READY 8.21 of 39 s; 3 READY 8.11 and foul again at 23.0 of 24.9 s; scale 49.9 s = 400
        rows = re.findall(r'class="(ready|not)" x="(\d+)" y="(\d+)" width="(\d+)"', ready)
        self.assertEqual([(kind, int(x), int(y), int(width)) for kind, x, y, width in rows],
                         [("not", 190, 26, 65), ("ready", 255, 26, 247),
                          ("not", 190, 46, 202), ("ready", 392, 46, 198),
                          ("not", 190, 66, 65), ("ready", 255, 66, 119), ("not", 374, 66, 15),
                          ("not", 190, 86, 74), ("ready", 264, 86, 157),
                          ("not", 190, 106, 103), ("ready", 293, 106, 128)])

    def test_ready_is_when_all_say_so(self):
        record = maker.Record()
        record.say(0, "primary", "recovery", maker.RECOVERY, "open")
        maker.order(record, 1, 1, 204, "plover", 34000)
        record.not_ready(10, 1, "deck-foul", "deck", apart=0)
        record.verdict(20, "validator-1", 1, "ready")
        record.verdict(30, "validator-2", 1, "ready")
        record.verdict(40, "validator-1", 1, "not", "deck-foul", "deck")
        record.verdict(45, "validator-2", 1, "not", "deck-foul", "deck")
        maker.result(record, 50, 1, "wave-off")
        _, text, _ = record.write().log("report")
        rows = re.findall(r'class="(ready|not)" x="(\d+)" y="26" width="(\d+)"',
                          Page(text).plots[0])
        # 40 s are 400 wide: NOT READY to 30, READY to 40, NOT READY to the end
        self.assertEqual([(kind, int(x), int(width)) for kind, x, width in rows],
                         [("not", 190, 200), ("ready", 390, 100), ("not", 490, 100)])

    def test_without_a_time_it_is_of_the_newest_recovery(self):
        record = maker.evening(write=False)
        record.say(-86400, "platform", "result", "trap", 1, slot=9, passes=(9,),
                   recovery=maker.RECOVERY - 86400000)
        code, text, err = record.write().log("report")
        self.assertEqual((code, err), (0, "trapline log report: of the newest recovery, "
                                       "2023-11-14T22:13:20.000Z to 2023-11-14T22:17:40.000Z\n"))
        rows = re.search("<h2>Passes</h2>.*?</table>", text, re.DOTALL)[0]
        self.assertEqual(rows.count("<tr>"), 1 + 6)
        self.assertNotIn("bus-degraded", text)  # raised after it was closed
        code, text, err = record.log("report", "--from", "2023-11-13T00:00:00Z")
        rows = re.search("<h2>Passes</h2>.*?</table>", text, re.DOTALL)[0]
        self.assertEqual((rows.count("<tr>"), err), (1 + 7, ""))
        self.assertIn("bus-degraded", text)

    def test_a_report_goes_where_it_can_or_says_so(self):
        code, out, err = self.record.log("report", "-o", "/nonexistent/report.html")
        self.assertEqual((code, out), (1, ""))
        self.assertIn("/nonexistent/report.html could not be written: not found", err)


class Hostile(Forms, unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.record = hostile()

    def test_the_hostile_words_did_come_through_made_harmless(self):
        self.assertIn("'=cmd|' /C calc'!A0", self.printed("faults", "--csv") +
                      self.printed("who", "--csv") + self.printed("alerts", "--csv"))
        page = self.printed("report")
        self.assertIn("&lt;script&gt;alert(1)&lt;/script&gt;", page)
        self.assertIn("a --&gt; b &amp; &lt;i&gt;c", page)
        captions = vtt.parse(self.printed("chapters", "--alerts"))
        self.assertTrue(any("<script>" in text for _, _, _, text in captions))


class Foreign(unittest.TestCase):
    """A file that somebody has made who wants more than to be read."""

    LAWLESS = {
        "a view that never ends": (
            "ALTER TABLE change RENAME TO was; CREATE VIEW change AS WITH RECURSIVE n(x) AS (SELECT 1"
            " UNION ALL SELECT x + 1 FROM n) SELECT was.* FROM was, n WHERE n.x < 0"),
        "a view of what has a name for terminals": (
            "DROP TABLE alert; CREATE VIEW alert AS SELECT * FROM \"\x1b]0;owned\x07\""),
        "a name for terminals": (
            "PRAGMA writable_schema = 1; UPDATE sqlite_schema SET sql = 'CREATE TABLE \x1b[2J('"
            " WHERE name = 'gap'"),
        "a virtual table": (
            "DROP TABLE verdict; CREATE VIRTUAL TABLE verdict USING fts5(validator, station, text)"),
        "a text above a megabyte": (
            "UPDATE change SET word = CAST(zeroblob(1100000) AS TEXT) WHERE id = 1"),
    }

    def test_is_refused_in_plain_words_and_soon(self):
        for name, sql in self.LAWLESS.items():
            record = maker.evening()
            file = sqlite3.connect(record.path)
            file.executescript(sql)
            file.close()
            code, out, err = record.log("passes")
            with self.subTest(name):
                self.assertEqual((code, out), (1, ""))
                self.assertRegex(err, r"\Atrapline log passes: record \S+ cannot be read: [ -~]+\n\Z")


if __name__ == "__main__":
    unittest.main()
