# SPDX-License-Identifier: Apache-2.0
"""test_wires - trapline log wires of records of known content; every number follows by hand

The ship is configs/demo: life 125, detorque at 50, not past 60, then every 200, k = 5 of 33 %.
"""
import csv
import io
import json
import os
import pathlib
import shutil
import subprocess
import tempfile
import unittest

import maker
from maker import RECOVERY, Record, event, ms, result

DEMO = maker.SOURCE / "configs" / "demo"


def count(record, at, kind, slot, traps, serial, last=0, without=0, detorqued=0, **more):
    value = (traps, serial, event(last) if last else "%d:1" % (RECOVERY - 1), without)
    return record.say(at, "gear-officer", kind, *value,
                      *((detorqued,) if kind == "cable" else ()), slot=slot, **more)


def foresee(record, number, tension):
    record.add("predicted", "validator-1", 1, record.next("validator-1"), 1, event(number), 200,
               1100, 9000, 40, "34000:3300:1880:%d" % tension)


def morning():
    """Wire 3, engine 3 set to 34,000 lb:

    pass 1  trap on 3, 33 % of the strength: weighs 1
    pass 2  bolter
    pass 3  trap on 3, corrected to 2, where the setting is not known
    pass 4  trap on 3, said twice; 36 %: (36/33)^5 = 1.545019..., 1.545020 rounded up
    then another pendant, new; pass 5 trap on 3, nothing computed; the recovery is closed
    """
    r = Record(frames=True)
    r.say(0, "primary", "recovery", RECOVERY, "open")
    count(r, 1, "pendant-life", 3, 40, "P-0412")
    count(r, 2, "pendant-life", 2, 7, "P-0409")
    count(r, 3, "cable", 3, 212, "C-0077", detorqued=50)
    count(r, 4, "cable", 1, 61, "C-0071")
    r.say(5, "engine-3", "set", 34000, passes=(1, 2, 3))
    foresee(r, 1, 33)
    foresee(r, 3, 33)
    foresee(r, 4, 36)
    result(r, 50, 1, "trap", 3)
    result(r, 100, 2, "bolter")
    result(r, 150, 3, "trap", 3)
    result(r, 160, 3, "trap", 2)
    result(r, 200, 4, "trap", 3)
    result(r, 210, 4, "trap", 3)
    count(r, 300, "pendant-life", 3, 0, "P-0413", last=4)
    result(r, 350, 5, "trap", 3)
    r.say(400, "primary", "recovery", RECOVERY, "closed")
    return r


def ship(folder):
    """configs/demo with two recorders; where their records are."""
    shutil.copytree(DEMO, folder, dirs_exist_ok=True)
    stations = folder / "stations.yaml"
    line = "  - {id: recorder-1, kind: recorder}\n"
    text = stations.read_text()
    assert line in text
    stations.write_text(text.replace(line, line + line.replace("-1", "-2")))
    (folder / "record").mkdir()
    return folder / "record"


class Wires(unittest.TestCase):
    maxDiff = None

    def setUp(self):
        self.folder = tempfile.TemporaryDirectory(prefix="trapline-wires-")
        self.dir = pathlib.Path(self.folder.name)
        self.addCleanup(self.folder.cleanup)

    def log(self, *words, record=None, config=DEMO):
        """Standard output, standard error."""
        command = [maker.TRAPLINE, "log", "wires", "-C", config, *words]
        command += ["--record", record.path] if record else []
        done = subprocess.run(command, env=dict(os.environ, LC_ALL="C"), text=True,
                              stdin=subprocess.DEVNULL, capture_output=True)
        self.assertEqual(done.returncode, 0, done.stderr)
        return done.stdout, done.stderr

    def rows(self, record):
        record.write()
        self.addCleanup(record.folder.cleanup)
        out, err = self.log("--json", record=record)
        self.assertEqual(err, "")
        return {(row["what"], row["number"], row["serial"]): row
                for row in json.loads(out)["wires"]}

    def expect(self, row, **values):
        for name, value in values.items():
            self.assertEqual(row[name], value, (name, row))

    def test_what_each_has_taken(self):
        rows = self.rows(morning())
        self.assertEqual(list(rows), [("pendant", 2, "P-0409"), ("pendant", 3, "P-0413"),
                                      ("pendant", 3, "P-0412"), ("cable", 1, "C-0071"),
                                      ("cable", 3, "C-0077")])
        fitted = "2023-11-14T22:18:20.000Z"
        self.expect(rows["pendant", 3, "P-0413"], traps=1, left=124, life=0.008, by_load_traps=1,
                    not_weighed=1, inspection_due=True, fitted=fitted, removed=None,
                    stated_traps=None)
        self.expect(rows["pendant", 3, "P-0412"], traps=42, left=83, life=0.336,
                    by_load_traps=42.546, life_by_load=0.341, not_weighed=40, fitted=None,
                    removed=fitted, inspection_due=None)
        self.expect(rows["pendant", 2, "P-0409"], traps=8, left=117, by_load_traps=8, not_weighed=8)
        self.expect(rows["cable", 3, "C-0077"], traps=215, since_detorque=165, detorque_due_at=250,
                    detorque_overdue=False, by_load_traps=215.546, not_weighed=213,
                    inspection_due=True, left=None, life=None)
        self.expect(rows["cable", 1, "C-0071"], traps=61, since_detorque=61, detorque_due_at=50,
                    detorque_overdue=True, inspection_due=None)

    def test_an_inspection_settles_pendant_and_cable(self):
        record = morning()
        record.say(410, "gear-officer", "inspected", "good", "Knot", slot=3)
        rows = self.rows(record)
        for what in (("pendant", 3, "P-0413"), ("cable", 3, "C-0077")):
            self.expect(rows[what], inspection_due=False)
        self.expect(rows["pendant", 2, "P-0409"], inspection_due=True)

    def test_a_drill_counts_nothing(self):
        record = Record(frames=True)
        record.say(0, "primary", "recovery", RECOVERY, "open", "drill")
        count(record, 1, "pendant-life", 3, 40, "P-0412")
        result(record, 50, 1, "trap", 3)
        self.expect(self.rows(record)["pendant", 3, "P-0412"], traps=40, inspection_due=None)

    def test_what_was_refused_does_not_count(self):
        record = morning()
        sequence = count(record, 500, "cable", 3, 400, "C-0077", last=5, detorqued=50)
        record.refuse("gear-officer", sequence)
        sequence = count(record, 510, "pendant-life", 3, 0, "P-0414", last=5)
        record.refuse("gear-officer", sequence)
        rows = self.rows(record)
        self.expect(rows["cable", 3, "C-0077"], traps=215, stated_traps=None)
        self.expect(rows["pendant", 3, "P-0413"], traps=1, removed=None)
        self.assertEqual([key for key in rows if key[:2] == ("pendant", 3)],
                         [("pendant", 3, "P-0413"), ("pendant", 3, "P-0412")])

    def test_what_the_station_says_otherwise_is_told(self):
        record = morning()
        count(record, 500, "cable", 3, 100, "C-0077", last=5, detorqued=50)
        row = self.rows(record)["cable", 3, "C-0077"]
        self.expect(row, traps=215, stated_traps=100)
        out, _ = self.log(record=record)
        self.assertIn("the station has 100 traps on C-0077\n", out)

    def test_as_text_and_as_csv(self):
        record = morning().write()
        self.addCleanup(record.folder.cleanup)
        out, err = self.log(record=record)
        self.assertEqual(err, "")
        self.assertEqual(out.splitlines(), [
            "WHAT    NO SERIAL           TRAPS LEFT  LIFE  BY LOAD SINCE DETORQUE INSPECT",
            "pendant  2 P-0409               8  117 0.064    8.000     -        - yes",
            "pendant  3 P-0413               1  124 0.008    1.000     -        - yes",
            "pendant  3 P-0412              42   83 0.336   42.546     -        - -",
            "cable    1 C-0071              61    -     -   61.000    61       50 -",
            "cable    3 C-0077             215    -     -  215.546   165      250 yes"])
        out, _ = self.log("--csv", record=record)
        told = list(csv.DictReader(io.StringIO(out, newline="")))
        whole = json.loads(self.log("--json", record=record)[0])["wires"]
        self.assertEqual([list(row) for row in told], [list(row) for row in whole])
        for row, values in zip(told, whole, strict=True):
            for name, value in values.items():
                if isinstance(value, (int, float)) and not isinstance(value, bool):
                    self.assertEqual(float(row[name]), value, name)
                else:
                    want = {None: "", True: "true", False: "false"}.get(value, value)
                    self.assertEqual(row[name], want, name)

    def test_two_recorders_are_compared(self):
        config = self.dir / "ship"
        records = ship(config)
        less = morning()
        less.lines = [line for line in less.lines if " result 4 " not in line]
        for name, record in (("recorder-1", morning()), ("recorder-2", less)):
            record.write()
            shutil.copy(record.path, records / (name + ".db"))
            record.folder.cleanup()
        out, err = self.log(config=config)
        self.assertIn("recorder-2 has 214 traps on C-0077\n", out)
        self.assertNotIn("on P-0409", out)
        self.assertNotIn("on P-0413", out)
        rows = json.loads(self.log("--json", config=config)[0])["wires"]
        self.assertEqual([row["recorder-2_traps"] for row in rows], [8, 1, None, 61, 214])

    def test_nothing_counted(self):
        record = Record(frames=True)
        record.say(0, "primary", "recovery", RECOVERY, "open")
        result(record, 50, 1, "trap", 3)
        record.write()
        self.addCleanup(record.folder.cleanup)
        out, err = self.log("--json", record=record)
        self.assertEqual(json.loads(out), {"wires": []})
        self.assertEqual(err, "trapline log wires: the gear officer has stated no count yet\n")

    def test_without_a_configuration_it_is_not_known_which_wire_is_whose(self):
        record = morning().write()
        self.addCleanup(record.folder.cleanup)
        code, out, err = record.log("wires")
        self.assertEqual((code, out), (64, ""))
        self.assertIn("-C DIR", err)
        code, out, err = record.log("wires", "-C", str(DEMO), "--json", "--csv")
        self.assertEqual((code, out), (64, ""))


if __name__ == "__main__":
    unittest.main()
