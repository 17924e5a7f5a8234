# SPDX-License-Identifier: Apache-2.0
"""test_asked - commands from a shell: who is answered, and what a word that is not said leaves alone."""

import signal
import unittest

from ship import Asker, Ship

VALIDATORS = ("validator-1", "validator-2")
UNHEARD = "validator not heard: validator-1, validator-2"


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

    def test_who_comes_after_a_shell_that_was_given_up_hears_only_of_its_own_words(self):
        engine = self.ship.running["engine-1"]
        self.stand_still()
        mark = engine.mark()
        gone = Asker(self.ship, "engine-1").ask("battery out")
        engine.wait_text("validator not heard here", mark)  # so it was read, and is not answered
        gone.hang_up()
        code, told = Asker(self.ship, "engine-1").ask("fault 17").answer()
        self.assertEqual(code, 3)  # nobody answers, and that is its own
        self.assertTrue(told)
        self.assertNotIn("battery", told)
        engine.wait_text("battery", mark)  # of the first one its own terminal is told
        self.go_on()
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
        self.ship.until_show(0, [])
        self.assertIn("order 204", self.ship.ask("primary", "mine")[1])

    def test_eight_shells_at_once_are_all_heard(self):
        """Those that say nothing keep nobody else from being read."""
        idle = [Asker(self.ship, "deck") for _ in range(7)]
        code, told = Asker(self.ship, "deck").ask("foul person").answer()
        self.assertEqual(code, 0, told)
        for asker in idle:
            asker.hang_up()
        self.ship.say("deck", "clear")
        self.ship.until_show(0, [])


if __name__ == "__main__":
    unittest.main()
