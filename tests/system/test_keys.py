# SPDX-License-Identifier: Apache-2.0
"""test_keys - real programs while keys change: as docs/keys.md has it, and as it must not be done

The ship runs with READY; keys are made, read again on SIGHUP and revoked; every program says what has
changed, terminals too, and nothing else moves.
"""

import pathlib
import re
import shutil
import signal
import sys
import time
import unittest

TESTS = pathlib.Path(__file__).resolve().parent.parent
sys.path[:0] = [str(TESTS / "screens"), str(TESTS / "faults")]

from ship import (BROKER, PATIENCE_S, STATIONS, TRAPLINE, VALIDATOR, Process,  # noqa: E402
                  Ship, causes, without_advice)
from table import STALL_S, Pulse  # noqa: E402
from terminals import Terminal  # noqa: E402
from test_record import add_recorder, rows, start_recorder  # noqa: E402


def with_recorder(ship):
    add_recorder(ship)
    without_advice(ship)


def until_rows(ship, node, test):
    """Wait until the record has a number of that node's reports for which test(number) holds."""
    until = time.monotonic() + PATIENCE_S
    while True:
        count = rows(ship, "SELECT count(*) FROM change WHERE node = '%s'" % node)[0][0]
        if test(count):
            return count
        assert time.monotonic() < until, "%s: %d reports" % (node, count)
        time.sleep(0.05)


def read_again(ship, names, words):
    """SIGHUP to each, and its line that has those words; those lines."""
    marks = {name: ship.running[name].mark() for name in names}
    for name in names:
        ship.running[name].signal(signal.SIGHUP)
    return {name: ship.running[name].wait_text(words, marks[name])[1] for name in names}


def keys(ship, *words):
    code, out = ship.call("keys", words[0], "-C", ship.dir, *words[1:])
    assert code == 0, out
    return out


def not_ready_since(ship, name, mark):
    """Lines of that program since the mark that are a verdict, or the end of one, and not READY."""
    with ship.running[name].changed:
        lines = [line for _, line in ship.running[name].lines[mark:]]
    return [line for line in lines if line.startswith("NOT READY") or
            (causes(line) or {}).get("verdict") == "NOT READY"]


def restart_broker(ship, name):
    """End it and start it; the others come back to it."""
    ship.running.pop(name).end()
    mark = ship.running["deck"].mark()
    ship.brokers(name)
    return mark


class WhileReady(unittest.TestCase):
    """One ship with READY on every screen, and what happens to it one after the other."""

    def test_keys_change_while_ready_stands(self):
        with Ship(edit=with_recorder) as ship:
            ship.brokers()
            start_recorder(ship)
            ship.validators()
            ship.stations()
            ship.heard()
            self.watch = ship.watch()
            ship.open_recovery()
            ship.order(204, "plover", 34000)
            ship.until_show(0)
            self.watch.wait_for(lambda line: (causes(line) or {}).get("verdict") == "READY")
            self.screens = STATIONS + ["watch"]
            marks = {name: ship.running[name].mark() for name in self.screens}
            pulse = Pulse()
            self.a_list_that_does_not_load(ship)
            self.the_keys_of_both_brokers(ship)
            went = {name: not_ready_since(ship, name, marks[name]) for name in self.screens}
            stood_s = pulse.take()
            if any(went.values()) and stood_s > STALL_S:
                print("void: the machine stood still for %.0f ms" % (1000 * stood_s))
            else:
                self.assertEqual([name for name, lines in went.items() if lines], [], went)
            ship.until_show(0)
            self.a_screen_alone(ship)
            self.the_validators_alone(ship)
            self.the_recorder_alone(ship)
            self.everybody(ship)

    def a_list_that_does_not_load(self, ship):
        """It changes nothing, and each says so, with the line."""
        path = ship.dir / "keys.yaml"
        good = path.read_text()
        path.write_text(re.sub("identity: [0-9a-f]", "identity: g", good, count=1))
        line = 1 + good[:good.index("identity")].count("\n")
        said = read_again(ship, list(ship.running), "keys stay as they were: ")
        for name, text in said.items():
            self.assertIn("keys.yaml:%d: identity" % line, text, name)
        path.write_text(good)
        read_again(ship, list(ship.running), "keys.yaml read again: 15 keys, 0 revoked; as before")

    def the_keys_of_both_brokers(self, ship):
        """docs/keys.md, "The next key of a broker". While the second one is started again, the first
        with its new key carries everything alone."""
        for bus in ("bus-a", "bus-b"):
            keys(ship, "rotate", bus)
            read_again(ship, list(ship.running), "; %s 2 new" % bus)
            mark = self.watch.mark()
            restart_broker(ship, bus)
            self.watch.wait_for(lambda line: '"id":"%s","text":"up"' % bus in line, mark)
            self.until_whole(ship)
            keys(ship, "revoke", bus, "1")
            said = read_again(ship, list(ship.running), "; %s 1 revoked" % bus)
            self.assertFalse([s for s in said.values() if "NOT BELIEVED" in s])

    def a_screen_alone(self, ship):
        """Only the deck reads that a validator is revoked: its screen does not believe it, though the
        brokers pass it on. Nor does it echo it, so that this validator calls the deck lost."""
        path = ship.dir / "keys.yaml"
        before = path.read_text()
        deck, mark, other = ship.running["deck"], ship.running["deck"].mark(), self.watch.mark()
        keys(ship, "revoke", "validator-2", "1")
        read_again(ship, ["deck"], "validator-2 1 revoked")
        deck.wait_for(lambda line: line.startswith("NOT READY") and
                      "validator 2: validator not heard here" in line, mark)
        self.until_lost("deck", other)
        path.write_text(before)
        read_again(ship, ["deck"], "validator-2 1 no longer revoked")
        ship.until_show(0)

    def the_validators_alone(self, ship):
        """They refuse a revoked station end to end, before any broker has the list."""
        mark = self.watch.mark()
        keys(ship, "revoke", "engine-4", "1")
        read_again(ship, ["validator-1", "validator-2"], "engine-4 1 revoked")
        self.until_lost("engine-4", mark)
        self.watch.wait_for(lambda line: '"kind":"alert"' in line and "engine-4" in line and
                            '"rule":"refused-publisher"' in line, mark)

    def until_whole(self, ship):
        """Until no validator tells of a bus or of other keys; what a slow machine raises may stand."""
        until = time.monotonic() + PATIENCE_S
        rules = {"bus-degraded"}
        while rules & {"bus-degraded", "keys-differ"}:
            self.assertLess(time.monotonic(), until, rules)
            picture = ship.show()[1]
            rules = {a["rule"] for a in picture["alerts"] if a["state"] != "returned"} \
                if picture else rules

    def until_lost(self, station, mark):
        """As the watch is told, which has its list as it was read last."""
        def is_lost(line):
            told = (causes(line) or {}).get("causes", [])
            return ("station-lost", station) in [(c["rule"], c["station"]) for c in told]

        self.watch.wait_for(is_lost, mark)

    def the_recorder_alone(self, ship):
        """What it is told with a revoked key is not recorded; what came after it from another is."""
        before = until_rows(ship, "engine-4", lambda count: count > 0)
        read_again(ship, ["recorder-1"], "engine-4 1 revoked")
        self.assertEqual(ship.ask("engine-4", "battery out")[0], 3)  # the brokers pass it on still
        others = until_rows(ship, "approach", lambda count: True)
        ship.say("approach", "inbound 502 plover 30000")
        until_rows(ship, "approach", lambda count: count > others)
        self.assertEqual(until_rows(ship, "engine-4", lambda count: True), before)

    def everybody(self, ship):
        """Then brokers and stations; the station itself says it. Its next key is in."""
        rest = [name for name in ship.running
                if not name.startswith(("validator-", "recorder-"))]
        marks = {bus: ship.running[bus].mark() for bus in ("bus-a", "bus-b")}
        said = read_again(ship, rest, "engine-4 1 revoked")
        self.assertIn("THE KEY OF THIS PROGRAM, engine-4 1, IS NOT BELIEVED ANY MORE",
                      said.pop("engine-4"))
        self.assertFalse([s for s in said.values() if "NOT BELIEVED" in s])
        for bus, mark in marks.items():
            ship.running[bus].wait_for(
                lambda line: "engine-4" in line and "key is revoked" in line, mark)
        keys(ship, "rotate", "engine-4")
        ship.running.pop("engine-4").end()
        read_again(ship, list(ship.running), "engine-4 2 new")
        ship.station("engine-4").wait_text("NOT READY")
        ship.say("engine-4", "set 34000")
        ship.say("engine-4", "battery in")
        ship.say("primary", "repeaters 34000")
        ship.until_show(0)


class Keys(unittest.TestCase):
    def test_a_forgotten_host_says_what_is_missing_and_is_in_when_it_has_it(self):
        """A station whose folder has the old list, when a broker starts with its next key."""
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            elsewhere = ship.dir / "elsewhere"
            elsewhere.mkdir()
            for path in ship.dir.glob("*.yaml"):
                shutil.copy(path, elsewhere)
            text = (elsewhere / "bus.yaml").read_text()
            for key in ("identity", "state", "run", "record"):
                text = text.replace("%s_dir: %s" % (key, key),
                                    "%s_dir: %s" % (key, ship.dir / key))
            (elsewhere / "bus.yaml").write_text(text)
            deck = ship.station("deck", folder=elsewhere)
            deck.wait_text("NOT READY")
            keys(ship, "rotate", "bus-a")
            read_again(ship, ["bus-b", "validator-1", "validator-2"], "bus-a 2 new")
            mark = restart_broker(ship, "bus-a")
            deck.wait_text("bus-a: handshake failed: its broker has another key", mark)
            shutil.copy(ship.dir / "keys.yaml", elsewhere)
            mark = deck.mark()
            read_again(ship, ["deck"], "bus-a 2 new")
            deck.wait_text("bus-a: up", mark)

    def test_a_key_that_the_brokers_do_not_have_is_told_and_comes_in_by_itself(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            keys(ship, "rotate", "deck")
            deck = ship.station("deck")
            words = "our key is not known there: bring keys.yaml there, SIGHUP"
            line = deck.wait_text(words)[1]
            self.assertIn("no bus: bus-a: " + words, line)
            for bus in ("bus-a", "bus-b"):
                ship.running[bus].wait_text("joins refused, key not in keys.yaml")
            read_again(ship, ["bus-a", "bus-b", "validator-1", "validator-2"], "deck 2 new")
            deck.wait_text("NOT READY")
            self.assertIsNone(deck.process.poll())

    def test_pages_read_their_keys_again_and_only_a_hang_up_ends_them(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            pages = {"deck": Terminal([TRAPLINE, "deck", "-C", ship.dir], ship.env),
                     "board": Terminal([TRAPLINE, "board", "-C", ship.dir], ship.env)}
            try:
                for page in pages.values():
                    page.wait("NOT READY")
                keys(ship, "rotate", "bus-a")
                for page in pages.values():
                    page.signal(signal.SIGHUP)
                    page.wait("keys.yaml read again: 15 keys, 0 revoked; bus-a 2 new")
                    page.wait("bus-a up")
                good = (ship.dir / "keys.yaml").read_text()
                (ship.dir / "keys.yaml").write_text("keys:\n  - {node: deck}\n")
                for page in pages.values():
                    page.signal(signal.SIGHUP)
                    page.wait("keys stay as they were: keys.yaml:2:")
                (ship.dir / "keys.yaml").write_text(good)
                for page in pages.values():
                    self.assertEqual(page.end(0), "runs")
            finally:
                for page in pages.values():
                    page.close()  # its terminal goes with it

    def test_a_lost_identity_is_refused_in_words_that_say_what_to_do(self):
        with Ship() as ship:
            keys(ship, "rotate", "validator-1")
            secret = ship.dir / "identity"
            for node, command in (("deck", [TRAPLINE, "deck", "-C", ship.dir]),
                                  ("validator-1", [VALIDATOR, "-C", ship.dir, "--node",
                                                   "validator-1"]),
                                  ("bus-a", [BROKER, "-C", ship.dir, "--bus", "bus-a"])):
                epoch = 2 if node == "validator-1" else 1
                path = secret / ("%s.%d.key" % (node, epoch))
                if node == "validator-1":
                    (secret / "validator-1.1.key").unlink()
                text = path.read_text()
                path.unlink()
                self.refused(command, node, "%s does not exist; bring the file to this host" % path,
                             "trapline keys rotate -C DIR " + node)
                path.write_text(text)
                path.chmod(0o640)
                self.refused(command, node, "%s is not a private file of this user" % path,
                             "chmod 600")
                path.chmod(0o600)
                path.write_text(text.replace(" %s " % node, " engine-1 "))
                self.refused(command, node, "%s is not the secret key of %s, epoch %d" % (
                    path, node, epoch), "bring the right file")
                path.write_text(text)
                keys(ship, "revoke", node, str(epoch))
                if epoch == 2:
                    keys(ship, "revoke", node, "1")
                self.refused(command, node, "%s has no key in keys.yaml that is not revoked" % node,
                             "trapline keys rotate -C DIR " + node)

    def refused(self, command, name, *words):
        process = Process(name, command, {})
        code = process.process.wait(20)
        process.close()
        out = "\n".join(line for _, line in process.lines)
        self.assertEqual(code, 78, out)
        self.assertEqual(len(process.lines), 1, out)
        for word in words:
            self.assertIn(word, out)

    def test_a_lower_life_is_refused_in_words_with_the_number_to_start_above(self):
        """The state folder is lost, and the clock of the host was set back."""
        with Ship() as ship:
            ship.brokers()
            ship.validators("validator-2")
            far = 10 ** 13  # a clock of the year 2286, which is right again later
            ship.start("validator-1", VALIDATOR, "-C", ship.dir, "--node", "validator-1",
                       "--incarnation-above", far).wait_text("ready")
            deck = ship.start("deck", TRAPLINE, "deck", "-C", ship.dir, "--stay",
                              "--incarnation-above", far)
            deck.wait_text("NOT READY")
            primary = ship.station("primary")
            primary.wait_text("NOT READY")
            for name in ("deck", "validator-1"):
                ship.running.pop(name).end()
                (ship.dir / "state" / (name + ".incarnation")).unlink()
            deck = ship.station("deck")
            line = deck.wait_text("REFUSED: this station runs as incarnation")[1]
            self.assertIn("start with --incarnation-above %d" % (far + 1), line)
            mark = primary.mark()
            ship.validators("validator-1")
            line = primary.wait_text("validator not heard: validator-1 (it runs as incarnation",
                                     mark)[1]
            self.assertIn("start it with --incarnation-above %d" % (far + 1), line)
            ship.running.pop("validator-1").end()
            ship.start("validator-1", VALIDATOR, "-C", ship.dir, "--node", "validator-1",
                       "--incarnation-above", far + 1).wait_text("ready")
            primary.wait_text("every validator is heard", mark)


if __name__ == "__main__":
    unittest.main(verbosity=2)
