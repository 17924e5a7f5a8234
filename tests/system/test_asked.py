# SPDX-License-Identifier: Apache-2.0
"""test_asked - commands from a shell: who is answered, and what a word that is not said leaves alone."""

import re
import signal
import socket
import time
import unittest

from ship import PATIENCE_S, Ship

VALIDATORS = ("validator-1", "validator-2")
UNHEARD = "validator not heard: validator-1, validator-2"


class Asker:
    """A shell of its own at the socket of a station."""

    def __init__(self, ship, station):
        self.line = socket.socket(socket.AF_UNIX)
        self.line.settimeout(PATIENCE_S)
        self.line.connect(str(ship.dir / "run" / (station + ".sock")))

    def ask(self, command):
        asked_ms = int(time.clock_gettime(time.CLOCK_BOOTTIME) * 1000)
        self.line.sendall(("do confirm %d %s\n" % (asked_ms, command)).encode())
        return self

    def answer(self):
        """(exit code, lines)"""
        with self.line.makefile() as answer:
            told = answer.read().splitlines()
        self.line.close()
        last = re.fullmatch(r"exit (\d+)", told[-1] if told else "")
        assert last, told
        return int(last.group(1)), told[:-1]


class Asked(unittest.TestCase):
    @classmethod
    def setUpClass(cls):
        cls.ship = Ship()
        cls.ship.make_ready()

    @classmethod
    def tearDownClass(cls):
        cls.ship.close()

    def stand_still(self):
        for name in VALIDATORS:
            self.ship.running[name].signal(signal.SIGSTOP)

    def go_on(self):
        for name in VALIDATORS:
            self.ship.running[name].signal(signal.SIGCONT)
        self.ship.until_show(0, [])

    def test_who_comes_after_a_shell_that_was_given_up_hears_only_of_its_own_words(self):
        engine = self.ship.running["engine-1"]
        self.stand_still()
        mark = engine.mark()
        gone = Asker(self.ship, "engine-1").ask("battery out")
        engine.wait_text("validator not heard here", mark)  # so it was read, and is not answered
        gone.line.close()
        code, lines = Asker(self.ship, "engine-1").ask("fault 17").answer()
        self.assertEqual(code, 3)  # nobody answers, and that is its own
        self.assertTrue(lines)
        for line in lines:
            self.assertNotIn("battery", line)
        engine.wait_text("battery", mark)  # of the first one its own terminal is told
        for name in VALIDATORS:
            self.ship.running[name].signal(signal.SIGCONT)
        self.ship.until_show(1)
        for words in ("fault none", "battery in"):
            self.ship.say("engine-1", words)
        self.ship.until_show(0, [])

    def test_an_open_that_was_not_said_leaves_the_list_as_it_was(self):
        primary = self.ship.running["primary"]
        mark = primary.mark()
        self.stand_still()
        primary.wait_text(UNHEARD, mark)
        code, told = self.ship.ask("primary", "open")
        self.assertEqual(code, 3, told)
        self.assertIn("NOT SAID", told)
        self.go_on()
        self.assertIn("order 204", self.ship.ask("primary", "mine")[1])

    def test_eight_shells_at_once_are_all_heard(self):
        """Those that say nothing keep nobody else from being read."""
        idle = [Asker(self.ship, "deck") for _ in range(7)]
        code, lines = Asker(self.ship, "deck").ask("foul person").answer()
        self.assertEqual(code, 0, lines)
        for asker in idle:
            asker.line.close()
        self.ship.say("deck", "clear")
        self.ship.until_show(0, [])


if __name__ == "__main__":
    unittest.main()
