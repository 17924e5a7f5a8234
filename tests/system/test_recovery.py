# SPDX-License-Identifier: Apache-2.0
"""test_recovery - the main job with real programs: a weight for another aircraft is caught."""

import json
import time
import unittest

from ship import PATIENCE_S, STATIONS, Ship


def alert_rows(process, since=0):
    for at, line in process.lines[since:]:
        try:
            row = json.loads(line)
        except json.JSONDecodeError:
            continue
        if row.get("kind") == "alert":
            yield at, row


class Recovery(unittest.TestCase):
    def test_a_weight_for_another_aircraft_is_caught_at_ten_clients_within_a_second(self):
        with Ship() as ship:
            ship.make_ready()
            watches = [ship.watch("watch-%d" % n) for n in range(10)]
            for watch in watches:
                watch.wait_for(lambda line: '"READY"' in line)
            marks = {name: ship.running[name].mark() for name in STATIONS}
            begin = time.monotonic()
            ship.say("engine-3", "set 40000")
            seen = []
            for watch in watches:
                at, line = watch.wait_text('"setting-other-aircraft"')
                self.assertLessEqual(at - begin, 1.0, watch.name)
                watch.wait_for(lambda text: '"kind":"alert"' in text.replace(" ", "") and
                               '"setting-other-aircraft"' in text)
                rows = [(at, row) for at, row in alert_rows(watch)
                        if row["rule"] == "setting-other-aircraft"]
                self.assertEqual(len(rows), 1, watch.name)
                self.assertLessEqual(rows[0][0] - begin, 1.0, watch.name)
                self.assertEqual(rows[0][1]["station"], "engine-3")
                seen.append(json.dumps(rows[0][1]["instance"], sort_keys=True))
            self.assertEqual(len(set(seen)), 1, seen)
            for name in STATIONS:
                at, _ = ship.running[name].wait_text("ALERT alarm: engine 3: weight set for",
                                                     marks[name])
                self.assertLessEqual(at - begin, 1.0, name)
            ship.until_show(1, ["setting-other-aircraft:engine-3"], limit_s=0.0)
            ship.say("engine-3", "set 34000")
            # The repeater was read before the setting changed back: it has to be read again.
            ship.until_show(1, ["repeater-differs:engine-3"])
            ship.say("primary", "repeater 3 34000")
            ship.until_show(0, [])

    def test_fifty_words_and_three_passes_leave_no_alert(self):
        with Ship() as ship:
            ship.make_ready()
            watch = ship.watch()
            watch.wait_for(lambda line: '"READY"' in line)
            ship.say("platform", "trap 3")
            for side, type_, weight in ((117, "curlew", 44000), (331, "dunlin", 14500)):
                ship.say("primary", "order %d %s %d" % (side, type_, weight))
                ship.until_show(1)
                ship.words_for(side, type_, weight)
                ship.until_show(0, [])
                ship.say("platform", "trap 2")
            ship.until_show(1, ["no-event:"])
            self.assertEqual(list(alert_rows(watch)), [])

    def test_a_bolter_changes_the_order_and_the_aircraft_waits_for_a_new_one(self):
        with Ship() as ship:
            ship.make_ready()
            ship.say("primary", "order 117 curlew 44000")
            ship.until_show(0, [])
            mark = ship.running["primary"].mark()
            ship.say("platform", "bolter")
            ship.running["primary"].wait_text("again 204", mark)
            picture = ship.until_show(1)
            self.assertEqual(picture["aircraft"]["side"], 117)
            ship.say("primary", "again 204")
            ship.words_for(117, "curlew", 44000)
            ship.until_show(0, [])
            ship.say("platform", "trap 1")
            picture = ship.until_show(1)
            self.assertEqual(picture["aircraft"]["side"], 204)

    def test_foul_acts_at_once_and_clear_is_read_back(self):
        with Ship() as ship:
            ship.make_ready()
            watch = ship.watch()
            watch.wait_for(lambda line: '"READY"' in line)
            code, out = ship.do("deck", "foul person 12", confirm=False)
            self.assertEqual(code, 0, out)
            ship.until_show(1, ["line-crossed:deck"], limit_s=0.5)
            code, out = ship.do("deck", "clear", confirm=False)
            self.assertEqual(code, 2, out)
            self.assertIn("deck clear for event 1", out)
            ship.until_show(1, ["line-crossed:deck"], limit_s=0.0)
            ship.say("deck", "clear")
            ship.until_show(0, [])

    def test_platform_and_primary_hold_their_own_foul(self):
        with Ship() as ship:
            ship.make_ready()
            ship.do("platform", "foul equipment", confirm=False)
            ship.until_show(1, ["deck-foul:platform"])
            ship.say("deck", "clear")
            ship.until_show(1, ["deck-foul:platform"], limit_s=0.5)
            ship.say("platform", "no foul")
            ship.until_show(0, [])

    def test_an_order_that_was_taken_back_is_completed_and_holds_up_nothing(self):
        with Ship() as ship:
            ship.make_ready()
            ship.say("primary", "order 117 curlew 44000")
            ship.until_show(0, [])
            ship.say("primary", "withdraw order 1")
            picture = ship.until_show(1)
            self.assertIn("order-unknown", [c["rule"] for c in picture["causes"]])
            out = ship.say("primary", "order 204 plover 34000")
            self.assertIn("as event 1", out)
            picture = ship.until_show(0, [])
            self.assertEqual(picture["aircraft"]["side"], 204)

    def test_a_restarted_primary_resumes_its_list(self):
        with Ship() as ship:
            ship.make_ready()
            ship.running["primary"].kill()
            ship.station("primary")
            ship.until_show(1)
            deadline = time.monotonic() + PATIENCE_S
            while True:  # the picture must have reached it
                code, out = ship.do("primary", "resume")
                if code == 0:
                    break
                self.assertLess(time.monotonic(), deadline, out)
            ship.say("primary", "no foul")
            ship.say("primary", "repeaters 34000")
            picture = ship.until_show(0, [])
            self.assertEqual(picture["aircraft"]["side"], 204)


if __name__ == "__main__":
    unittest.main(verbosity=2)
