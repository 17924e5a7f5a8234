# SPDX-License-Identifier: Apache-2.0
"""test_bad_input - wrong words, files, keys and networks: said in words, in time, nothing lost."""

import time
import unittest

from ship import BROKER, STATIONS, TRAPLINE, VALIDATOR, Ship, subprocess


def run(ship, *words, limit_s=10):
    done = subprocess.run([str(w) for w in words], env=ship.env, stdin=subprocess.DEVNULL,
                          stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          timeout=limit_s)
    return done.returncode, done.stdout


class BadInput(unittest.TestCase):
    def test_usage_is_64_and_says_what_was_meant(self):
        with Ship() as ship:
            for words in ([TRAPLINE, "shwo"], [TRAPLINE, "engine"], [TRAPLINE, "deck", "--unit", "1"],
                          [TRAPLINE, "show", "--nonsense"], [BROKER], [VALIDATOR, "--node"],
                          [TRAPLINE, "deck", "--confirm"], [TRAPLINE]):
                code, out = run(ship, *words)
                self.assertEqual(code, 64, "%s: %s" % (words, out))
                self.assertTrue(out.strip(), words)
            _, out = run(ship, TRAPLINE, "shwo")
            self.assertIn("show", out)

    def test_a_broken_configuration_is_78_with_file_and_line_and_starts_nothing(self):
        with Ship() as ship:
            path = ship.dir / "stations.yaml"
            lines = path.read_text().splitlines()
            at = next(i for i, line in enumerate(lines) if "engine-2" in line)
            lines.insert(at, lines[at])
            path.write_text("\n".join(lines) + "\n")
            for words in ([BROKER, "-C", ship.dir, "--bus", "bus-a"],
                          [VALIDATOR, "-C", ship.dir, "--node", "validator-1"],
                          [TRAPLINE, "deck", "-C", ship.dir],
                          [TRAPLINE, "show", "-C", ship.dir],
                          [TRAPLINE, "check", "-C", ship.dir]):
                code, out = run(ship, *words)
                self.assertEqual(code, 78, "%s: %s" % (words, out))
                self.assertRegex(out, r"stations\.yaml:\d+: ")
            self.assertFalse((ship.dir / "state").exists())

    def test_nobody_there_is_3_within_two_seconds(self):
        with Ship() as ship:
            begin = time.monotonic()
            code, out = run(ship, TRAPLINE, "show")
            self.assertEqual(code, 3, out)
            self.assertLessEqual(time.monotonic() - begin, 2.5)
            self.assertIn("no bus", out)
            code, out = ship.do("deck", "clear")
            self.assertEqual(code, 3, out)
            self.assertIn("no station deck runs", out)
            ship.brokers()
            begin = time.monotonic()
            code, out = run(ship, TRAPLINE, "show")
            self.assertEqual(code, 3, out)
            self.assertLessEqual(time.monotonic() - begin, 2.5)
            self.assertIn("validator", out)

    def test_toward_ready_is_not_said_when_nobody_hears(self):
        with Ship() as ship:
            ship.brokers()
            ship.station("deck")
            ship.station("engine-1")
            code, out = ship.do("engine-1", "set 34000 for 1")
            self.assertNotEqual(code, 0, out)
            code, out = ship.do("deck", "foul person", confirm=False)
            self.assertEqual(code, 3, out)
            self.assertIn("stays said", out)
            # It was kept: the validators hear it as soon as they are there.
            ship.validators()
            ship.stations(*[s for s in STATIONS if s not in ("deck", "engine-1")])
            ship.until_show(1)
            picture = ship.show()[1]
            self.assertIn("line-crossed:deck",
                          ["%s:%s" % (c["rule"], c["station"]) for c in picture["causes"]])

    def test_a_taken_port_is_said(self):
        with Ship() as ship:
            ship.brokers("bus-a")
            code, out = run(ship, BROKER, "-C", ship.dir, "--bus", "bus-a")
            self.assertEqual(code, 1, out)
            self.assertRegex(out, r"127\.0\.0\.1:\d+")

    def test_a_second_program_of_one_station_on_this_host_is_refused_in_words(self):
        with Ship() as ship:
            ship.brokers()
            ship.station("deck")
            code, out = run(ship, TRAPLINE, "deck", "-C", ship.dir)
            self.assertEqual(code, 1, out)
            self.assertIn("deck", out)

    def test_a_secret_that_others_may_read_is_refused(self):
        with Ship() as ship:
            path = ship.dir / "identity" / "deck.1.key"
            path.chmod(0o644)
            code, out = run(ship, TRAPLINE, "deck", "-C", ship.dir)
            self.assertEqual(code, 78, out)
            self.assertIn("deck.1.key", out)

    def test_wrong_words_at_a_station_say_nothing_and_lose_nothing(self):
        with Ship() as ship:
            ship.make_ready()
            rows = [("engine-3", "set", 64), ("engine-3", "set forty", 64),
                    ("engine-3", "set 40001", 64), ("engine-3", "set 999999", 64),
                    ("engine-3", "set -1", 64), ("engine-3", "set 40000 for 99", 64),
                    ("engine-3", "battery", 64), ("deck", "clear now", 64), ("deck", "claer", 64),
                    ("primary", "order 204 PLOVER 34000", 64), ("primary", "order 0 plover 34000", 64),
                    ("primary", "take 999", 64), ("platform", "trap 0", 64), ("platform", "trap", 64),
                    ("platform", "hook", 64), ("approach", "inbound 204 plover", 64)]
            for station, words, want in rows:
                code, out = ship.do(station, words)
                self.assertEqual(code, want, "%s: %s: %s" % (station, words, out))
                self.assertTrue(out.strip())
            self.assertEqual(ship.show()[0], 0)
            # A mistyped reason must not keep a foul off the bus.
            code, _ = ship.do("deck", "foul persn", confirm=False)
            self.assertEqual(code, 0)
            ship.until_show(1, ["deck-foul:deck"])

    def test_join_says_one_command_and_ends_with_its_outcome(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            here = [s for s in STATIONS if s != "engine-3"]
            ship.stations(*here)
            ship.heard(*here)
            ship.open_recovery()
            ship.say("primary", "order 204 plover 34000")
            words = ["engine", "--unit", "3", "--join", "-C", ship.dir]
            code, out = ship.call(*words, "--do", "set 40000")
            self.assertEqual(code, 2, out)
            self.assertIn("read back: engine 3: set 40,000 lb for event 1", out)
            code, out = ship.call(*words, "--do", "set 40000", "--confirm")
            self.assertEqual(code, 0, out)
            self.assertIn("set 40,000 lb for event 1 - accepted by validator-1", out)
            code, out = ship.call(*words, "--do", "set nonsense", "--confirm")
            self.assertEqual(code, 64, out)

    def test_typed_lines_need_the_confirm_word(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            ship.stations(*[s for s in STATIONS if s != "primary"])
            primary = ship.station("primary", stdin=subprocess.PIPE)
            primary.wait_text("NOT READY")
            primary.type("open")
            primary.wait_text("type 'confirm' within 5 s")
            primary.type("status")
            primary.type("confirm")
            primary.wait_text("nothing waits for a confirm")
            primary.type("open")
            primary.wait_for(lambda line: "type 'confirm'" in line, primary.mark() - 1)
            primary.type("confirm")
            primary.wait_text("recovery open - accepted by validator-1, validator-2")
            primary.type("x" * 600)
            primary.wait_text("nothing was said")
            primary.type("order 204 \x1b[2J 34000")
            primary.wait_text("not plain text")


if __name__ == "__main__":
    unittest.main(verbosity=2)
