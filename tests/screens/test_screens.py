# SPDX-License-Identifier: Apache-2.0
"""test_screens - stations and the board on real terminals: what stands in the cells, what keys do."""

import signal
import statistics
import time
import unittest

from terminals import ENTER, ESC, TAB, Terminal, without_recorder
from ship import ALL_STATIONS, PATIENCE_S, TRAPLINE, VALIDATOR, Ship, room_of  # noqa: E402

FACTS = ["aircraft", "setting", "engines", "wires", "aid", "tracks", "deck", "final", "wind",
         "stations"]
RESTORED = {"canonical": 1, "echo": 1, "alternate": 0, "cursor": 1}


class Screens(unittest.TestCase):
    """One ship for all: what each test changes it puts right again, and READY stands after it."""

    @classmethod
    def setUpClass(cls):
        cls.ship = Ship(full=True, edit=without_recorder)
        cls.ship.brokers()
        cls.ship.validators()
        cls.at = {}
        for name in ALL_STATIONS:
            cls.at[name] = cls.open(name)
        for terminal in cls.at.values():
            terminal.wait("validator-1 heard  validator-2 heard")
        cls.ship.open_recovery()
        cls.ship.order(204, "plover", 34000)
        cls.ship.until_show(0)

    @classmethod
    def tearDownClass(cls):
        for terminal in cls.at.values():
            terminal.close()
        cls.ship.close()

    @classmethod
    def open(cls, name, **options):
        env = dict(cls.ship.env, **options.pop("env", {}))
        words = cls.ship.station_words(name, cls.ship.dir)
        return Terminal([w for w in words if w != "--stay"], env, **options)

    def board(self, **options):
        env = dict(self.ship.env, **options.pop("env", {}))
        terminal = Terminal([TRAPLINE, "board", "-C", self.ship.dir], env, **options)
        self.addCleanup(terminal.close)
        terminal.wait("of 15 heard")  # its first picture; the word may come before it
        return terminal

    def setUp(self):
        if self.ship.show()[0] != 0:  # a test before this one has failed
            self.ship.do("engine-3", "set 34000")
            self.ship.do("primary", "repeaters 34000")
            self.ship.do("wires", "sheave all up")
            self.ship.do("deck", "clear")
        self.ship.until_show(0)
        for terminal in self.at.values():
            terminal.wait("READY (advisory) event")

    def test_the_same_rows_stand_in_the_same_places_everywhere(self):
        board = self.board()
        board.wait("READY (advisory) event 1")
        for name, terminal in list(self.at.items()) + [("board", board)]:
            rows = terminal.rows()
            self.assertEqual(len(rows), 24, name)
            self.assertTrue(rows[1].startswith("READY (advisory) event 1"), rows[1])
            self.assertEqual([row[1:11].strip() for row in rows[2:12]], FACTS)
            self.assertEqual({row[55:63].strip() for row in rows[2:12]}, {"ok"}, "\n".join(rows))
            self.assertIn("event 1: 204 plover 34,000 lb", rows[0])
            self.assertTrue(all(len(row) <= 80 for row in rows))
        own = {name: [row[1:11].strip() for row in self.at[name].rows()[2:12] if row[0] == ">"]
               for name in ALL_STATIONS}
        self.assertEqual(own["deck"], ["deck", "stations"])
        self.assertEqual(own["engine-3"], ["setting", "engines", "stations"])
        self.assertEqual(own["primary"], ["aircraft", "setting", "deck", "stations"])
        self.assertTrue(all(len(rows) >= 2 for rows in own.values()), own)

    def test_nothing_is_lost_without_colour_or_by_the_kind_of_terminal(self):
        self.ship.say("wires", "sheave 1 down")
        want = None
        for term, env in (("xterm-256color", {}), ("xterm-256color", {"NO_COLOR": "1"}),
                          ("vt100", {}), ("linux", {}), ("xterm", {"LANG": "C", "LC_ALL": "C"}),
                          ("screen", {"LANG": "C.UTF-8"})):
            board = self.board(term=term, env=env)
            board.wait("sheave not up")
            board.wait("204 plover 34,000 lb")
            board.wait_gone("rows older")
            board.wait_gone("OLD ")
            rows = board.still()[:12]
            want = want or rows
            self.assertEqual(rows, want, (term, env))
            if "NO_COLOR" in env or term == "vt100":
                self.assertFalse(set("".join(board.ink())) & {"c", "C"}, (term, env))
        self.ship.say("wires", "sheave 1 up")

    def test_foul_is_one_key_and_clear_two(self):
        deck = self.at["deck"]
        begin = time.monotonic()
        deck.keys(TAB)
        for terminal in self.at.values():
            terminal.wait("NOT READY", 1.0)
            self.assertLess(time.monotonic() - begin, 1.0)
        deck.wait("foul: other (deck)")
        deck.press("c")
        deck.wait("READ BACK deck: deck clear for event 1 (was: foul: other)?")
        self.ship.until_show(1)
        deck.confirm()
        deck.wait("READY (advisory)")

    def test_only_the_confirm_key_alone_says_it(self):
        deck = self.at["deck"]
        deck.keys(TAB)
        deck.wait("NOT READY")
        for wrong in (ENTER, " ", "c", ESC, "\x1b[A", "\x1bOy", "n", "Y"):
            deck.press("c")
            deck.wait("READ BACK deck: deck clear")
            if wrong == "c":  # held down it is one key; pressed again, later, it is another one
                deck.keys(wrong)
                deck.ask("await 900 \x01")
                self.assertIn("READ BACK", deck.rows()[22])
            deck.keys(wrong)
            deck.wait("nothing was said")
            deck.wait_gone("READ BACK")
            deck.ask("await 110 \x01")
        deck.keys("cy")  # ahead of the read-back
        deck.wait("READ BACK deck: deck clear")
        deck.keys(TAB)  # FOUL inside the window cancels
        deck.wait_gone("READ BACK")
        self.ship.until_show(1)
        self.clear(deck)
        deck.wait("READY (advisory)")

    def test_foul_is_not_lost_behind_another_key(self):
        deck = self.at["deck"]
        for _ in range(5):
            deck.ask("await 700 \x01")  # TAB again before that is the same TAB
            deck.keys("c")
            deck.keys(TAB)  # while the other key is being acted on
            deck.wait("foul: other (deck)")
            deck.wait_gone("READ BACK")
            deck.ask("await 110 \x01")
            self.clear(deck)
            deck.wait("READY (advisory)")

    def test_a_confirm_that_comes_at_once_says_nothing(self):
        deck = self.at["deck"]
        deck.keys(TAB)
        deck.wait("NOT READY")
        for _ in range(3):
            deck.press("c")
            deck.wait("READ BACK deck: deck clear")
            deck.keys("y")
            deck.wait("y came before that could be read: nothing was said")
            deck.wait_gone("READ BACK")
        deck.press("fancy policy busy")  # words for another window, typed as people type
        self.ship.until_show(1)
        deck.press(ESC)
        self.clear(deck)
        deck.wait("READY (advisory)")

    def test_a_refusal_stands_until_it_could_be_read(self):
        deck = self.at["deck"]
        self.ship.say("wires", "sheave 1 down")
        deck.wait("NOT READY")
        self.clear(deck)
        deck.wait("REFUSED by")
        deck.press("c")  # over it
        deck.wait("READ BACK deck: deck clear")
        deck.wait_gone("REFUSED by")
        deck.ask("await 400 \x01")
        deck.press("x")
        deck.wait("nothing was said")
        deck.wait("REFUSED by")
        deck.wait_gone("REFUSED by")
        deck.wait("nothing was said")
        self.ship.say("wires", "sheave 1 up")
        self.clear(deck)
        deck.wait("READY (advisory)")

    def test_a_read_back_ends_by_itself(self):
        deck = self.at["deck"]
        deck.keys(TAB)
        deck.wait("NOT READY")
        deck.press("c")
        deck.wait("READ BACK")
        deck.wait("not confirmed in 5 s: nothing was said", 6.0)
        deck.press("y")
        self.ship.until_show(1)
        self.clear(deck)
        deck.wait("READY (advisory)")

    def test_pastes_and_held_keys_are_not_taken(self):
        engine = self.at["engine-3"]
        engine.keys("set 40000\ry")
        engine.wait("nothing was taken")
        engine.press("3")
        engine.wait("typing: set 3")
        engine.keys("4" * 3)
        engine.wait_gone("typing: set 3")
        engine.wait("nothing was taken")
        self.ship.until_show(0)

    def test_a_weight_is_keyed_and_read_back_in_words(self):
        engine = self.at["engine-3"]
        engine.press("40000")
        engine.wait("typing: set 40000")
        engine.press(ENTER)
        engine.wait("READ BACK engine 3: set 40,000 lb for event 1 (was: set 34,000 lb)?")
        self.ship.until_show(0)
        engine.confirm()
        engine.wait("NOT READY")
        engine.wait("lb      WRONG ")
        self.assertIn("40,000 lb on 3", engine.row(">setting "))
        engine.press("34000" + ENTER)
        engine.wait("READ BACK engine 3: set 34,000 lb")
        engine.confirm()
        engine.wait("accepted by")
        self.ship.say("primary", "repeater 3 34000")
        self.ship.until_show(0)

    def test_what_cannot_be_read_back_whole_is_not_said(self):
        order = "order 117 curlew 43000 barricade"
        primary = self.at["primary"]
        primary.press("o117 curlew 43000 barricade" + ENTER)
        primary.wait("READ BACK primary: order 117 curlew 43,000 lb")
        primary.press("x")
        primary.wait("nothing was said")
        for rows, cols in ((6, 20), (4, 24)):
            primary.size(rows, cols)
            primary.press(ENTER + order + ENTER)
            primary.wait("NOT SAID: this")
            primary.press("y")  # nothing waits for it
        primary.size(9, 40)  # small, and yet it can be read
        primary.press(ENTER + order + ENTER)
        primary.wait("READ BACK primary: order 117 curlew")
        primary.wait("y THAT IS RIGHT")
        primary.size(4, 24)
        primary.wait("NOT SAID: this")
        primary.size(24, 80)
        primary.wait("NOT SAID: this window is too small")
        out = self.ship.say("primary", "status")
        self.assertEqual(("204 plover" in out, "117 curlew" in out), (True, False), out)

    def test_one_alert_is_acknowledged_by_one_key(self):
        deck = self.at["deck"]
        deck.count()
        deck.keys(TAB)
        self.until_waits(deck, "ALARM")  # one from before that has gone may wait too
        deck.wait("a ack")
        deck.ask("await 400 \x01")  # it must have been read
        self.assertGreaterEqual(deck.count()["bells"], 1)
        waits = self.waiting(deck)
        deck.press("a")
        deck.wait("acknowledge")  # what became of it stands under the page
        deck.ask("await 500 \x01")
        self.assertEqual(self.waiting(deck), waits - 1)  # one, and no more
        self.clear(deck)
        deck.wait("READY (advisory)")

    @staticmethod
    def clear(deck):
        """CLEAR by a person: the confirm comes when the read-back has been seen."""
        deck.press("c")
        deck.wait("READ BACK deck: deck clear")
        deck.confirm()

    @staticmethod
    def until_waits(deck, severity):
        """Until both are told there that an alert so grave is shown to them, and waits."""
        until = time.monotonic() + PATIENCE_S
        while not any(severity in row and "waits deck, primary" in row for row in deck.rows()):
            assert time.monotonic() < until, "\n".join(deck.rows())
            deck.ask("await 50 \x01")

    @staticmethod
    def waiting(terminal):
        """How many alerts on that page wait for the deck."""
        return sum("waits deck" in row for row in terminal.rows())

    def test_every_size_shows_the_verdict(self):
        board = self.board()
        board.wait("READY (advisory)")
        for rows, cols in ((24, 80), (10, 40), (5, 30), (3, 20), (1, 20), (2, 8), (60, 200),
                           (24, 79), (23, 80), (100, 250), (24, 80)):
            board.size(rows, cols)
            board.wait_row("READY"[:cols])
            if rows >= 24 and cols >= 120:
                board.wait("wires, ramp below")
                board.wait("o==============o rigged")

    def test_the_terminal_is_given_back(self):
        for number, term in ((signal.SIGTERM, "xterm-256color"), (signal.SIGABRT, "linux"),
                             (signal.SIGSEGV, "vt100"), (signal.SIGINT, "linux"),
                             (signal.SIGUSR1, "xterm-256color"), (signal.SIGALRM, "vt100")):
            board = self.board(term=term)
            board.wait("READY (advisory)")
            self.assertEqual(board.modes()["canonical"], 0)
            board.signal(number)
            self.assertNotEqual(board.end(), "runs")
            self.assertEqual(board.modes(), RESTORED, number)
            left = "\n".join(board.rows())  # no READY stands on a glass that nobody paints
            ended = "NOT READY: this screen" in left or "AddressSanitizer" in left
            self.assertEqual(("READY (advisory)" in left, ended, "$<" in left),
                             (False, True, False), left)
        board = self.board()
        board.wait("READY (advisory)")
        board.press("q")
        self.assertEqual(board.end(), "exit 0")
        self.assertEqual(board.modes(), RESTORED)

    def test_a_terminal_that_hangs_up_or_stands_still_loses_its_station(self):
        for how in ("hangup", "stop"):
            safety = self.at["safety"]
            self.assertEqual(safety.ask(how), "ok")
            if how == "stop":
                safety.press("n\x0c" * 4)  # page after page, and nobody takes them
            self.ship.until_show(1, ["station-lost:safety"])
            safety.close()
            self.at["safety"] = self.open("safety")
            self.at["safety"].wait("NOT READY")
            self.put_safety_right()

    def put_safety_right(self):
        until = time.monotonic() + 20
        while self.ship.ask("safety", "no foul")[0] != 0:
            self.assertLess(time.monotonic(), until)
        self.ship.say("safety", "watch Ash")
        self.ship.until_show(0)

    def test_without_validators_every_screen_says_so_by_itself(self):
        board = self.board()
        board.wait("READY (advisory)")
        for name in ("validator-1", "validator-2"):
            self.ship.running.pop(name).kill()
        for terminal in [board] + list(self.at.values()):
            terminal.wait("validator not heard here", 1.0)
            terminal.wait("[was ")
            terminal.wait("alerts not heard")
            terminal.wait_gone(" ok ")
            self.assertEqual({row[55:63].strip() for row in terminal.rows()[2:12]}, {"OLD"})
            self.assertNotIn(" ok ", "\n".join(terminal.rows()))
        self.ship.validators()
        board.wait("READY (advisory)", 40)

    def test_leaving_asks_and_says_that_the_station_will_be_lost(self):
        deck = self.at["deck"]
        deck.press("q")
        deck.wait("LEAVE this station?")
        deck.press("x")
        deck.wait_gone("LEAVE")
        self.ship.until_show(0)

    def test_help_shows_what_may_be_said_and_keeps_the_verdict(self):
        for name, terminal in self.at.items():
            self.assertRegex(terminal.rows()[23], r"^(TAB [A-Z ]+  )?(a ack  )?\? help  ")
            terminal.press("?")
            terminal.wait("UNKNOWN is never ready")
            rows = terminal.rows()
            self.assertTrue(rows[1].startswith("READY (advisory)"), name)
            terminal.press(" ")
            terminal.wait("aircraft")

    def bytes_of(self, board, window_s, act=None):
        """What is painted in that time, from just before something is said."""
        board.count()
        if act:
            act()
        board.ask("await %d \x01" % (window_s * 1000))
        return board.count()["bytes"]

    def test_few_bytes_are_painted_for_a_change(self):
        """A change should cost 400 bytes at most; a serial line of 9,600 baud gives 960 a second."""
        board = self.board()
        board.wait("READY (advisory)")
        board.ask("await 1500 \x01")
        rest = statistics.median(self.bytes_of(board, 1.0) for _ in range(3))
        plain, alarmed = [], []
        for psi in (404, 405, 404, 405):  # nobody is alarmed by that
            plain.append(self.bytes_of(
                board, 1.0, lambda p=psi: self.ship.say("engine-2", "accumulator %d" % p)) - rest)
        for _ in range(3):
            for word in ("sheave 1 down", "sheave 1 up"):
                alarmed.append(self.bytes_of(
                    board, 1.0, lambda w=word: self.ship.say("wires", w)) - rest)
            self.ship.until_show(0)
        print("bytes: %d a second at rest; more for a change: %d, with verdict and alert %d" % (
            rest, statistics.median(plain), statistics.median(alarmed)))
        self.assertLess(statistics.median(plain), 400)
        self.assertLess(statistics.median(alarmed), 960)


if __name__ == "__main__":
    unittest.main(verbosity=2)
