# SPDX-License-Identifier: Apache-2.0
"""test_why - a cause in full, by real programs: reported, needed, who said it, how old, who acts."""

import json
import time
import unittest

from ship import TRAPLINE, Ship, without_advice


def paragraphs(out):
    """{label: text} of the first cause that show --why prints, lines joined."""
    fields = {}
    label = None
    for line in out.splitlines()[2:]:
        if not line.startswith("  "):
            break
        label = line[2:14].strip() or label
        fields[label] = (fields.get(label, "") + " " + line[14:]).strip()
    return fields


class Why(unittest.TestCase):
    def why(self, ship, code):
        got, text = ship.call("show", "--why", "-C", ship.dir)
        self.assertEqual(got, code, text)
        got, out = ship.call("show", "--why", "--json", "-C", ship.dir)
        self.assertEqual(got, code, out)
        causes = json.loads(out)["why"]
        # No recorder runs here; that it is lost is a note, listed last, and holds nothing.
        for cause in causes:
            self.assertEqual(cause["state"] == "note", cause["rule"] == "recorder-lost", cause)
        return text, [cause for cause in causes if cause["state"] != "note"]

    def expect_ready(self, ship):
        ship.until_show(0, [])
        text, why = self.why(ship, 0)
        self.assertEqual((text.splitlines()[0], why), ("READY (advisory) event 1", []))

    def test_a_wrong_weight_is_told_in_full(self):
        with Ship(full=True, edit=without_advice) as ship:
            ship.make_ready()
            self.expect_ready(ship)
            watch = ship.start("watch-why", TRAPLINE, "watch", "--why", "-C", ship.dir)
            watch.wait_text("READY (advisory) event 1")

            before = time.monotonic()
            ship.say("engine-3", "set 40000")
            ship.until_show(1, ["setting-other-aircraft:engine-3"])
            text, why = self.why(ship, 1)
            since_ms = (time.monotonic() - before) * 1000
            fields = paragraphs(text)
            self.assertRegex(text.splitlines()[1],
                             r"^ 1 WRONG engine 3 set for another aircraft: 40,000 lb for "
                             r"34,000 lb: stops in \d+ ft, hook load to [0-9,]+ lbf$")
            self.assertEqual(fields["reported"], "set 40,000 lb")
            self.assertEqual(fields["needed"], "34,000 lb for plover")
            self.assertEqual(fields["said by"], "engine 3, keyed")
            self.assertRegex(fields["said"], r"^\d+\.\d s ago$")
            self.assertRegex(fields["heard"], r"^its station \d+\.\d s ago; this word for the "
                                              r"first time: not told$")
            self.assertEqual(fields["acts"], "engine 3, primary")
            self.assertEqual(fields["rule"], "setting-other-aircraft")

            self.assertEqual(len(why), 1, why)
            one = why[0]
            self.assertEqual(
                {key: one[key] for key in (
                    "rule", "severity", "state", "station", "reported_text", "last_word",
                    "needed_text", "said_by", "confirmed_by", "how", "first_heard_age_ms")},
                {"rule": "setting-other-aircraft", "severity": "alarm", "state": "wrong",
                 "station": "engine-3", "reported_text": "set 40,000 lb", "last_word": False,
                 "needed_text": "34,000 lb for plover", "said_by": "engine-3",
                 "confirmed_by": None, "how": "keyed", "first_heard_age_ms": None})
            self.assertEqual(sorted(one["acts"]), ["engine-3", "primary"])
            self.assertEqual(sorted(one["owes"]), ["engine-3", "primary"])
            self.assertTrue(0 <= one["said_age_ms"] <= since_ms, (one, since_ms))
            self.assertTrue(0 <= one["heard_age_ms"] <= 2000, one)
            self.assertEqual(ship.call("explain", one["rule"], "-C", ship.dir)[0], 0)
            watch.wait_text("said by     engine 3, keyed")

            # A second on, the word is a second older and the station as fresh as before.
            first = one["said_age_ms"]
            while one["said_age_ms"] < first + 1000:
                self.assertLess(time.monotonic() - before, 60)
                one = self.why(ship, 1)[1][0]
            self.assertTrue(one["heard_age_ms"] <= 2000, one)

            ship.say("engine-3", "set 34000")
            ship.say("primary", "repeaters 34000")
            self.expect_ready(ship)

    def test_what_is_not_said_is_told_with_who_owes_it(self):
        with Ship(full=True, edit=without_advice) as ship:
            ship.make_ready()
            self.expect_ready(ship)
            ship.say("deck", "foul equipment")
            ship.until_show(1, ["deck-foul:deck"])
            one = self.why(ship, 1)[1][0]
            self.assertEqual((one["said_by"], one["reported_text"], one["acts"]),
                             ("deck", "foul: equipment in the landing area", ["deck"]))
            ship.say("deck", "clear")
            self.expect_ready(ship)

            ship.say("wires", "withdraw rig 2")
            ship.until_show(1, ["rig-unknown:wires"])
            text, why = self.why(ship, 1)
            fields = paragraphs(text)
            self.assertEqual(fields["reported"], "nothing that counts for this event")
            self.assertIn("'rig' or 'strip' of each wire, from wires", fields["needed"])
            self.assertEqual((fields["said by"], fields["said"], fields["heard"]),
                             ("not told", "not told", "not told"))
            self.assertEqual(fields["acts"], "wires")
            self.assertEqual((why[0]["said_by"], why[0]["said_age_ms"], why[0]["last_word"]),
                             (None, None, True))
            ship.say("wires", "rig 2")
            self.expect_ready(ship)


if __name__ == "__main__":
    unittest.main(verbosity=2)
