# SPDX-License-Identifier: Apache-2.0
"""test_client - a client in another language joins, reports, reads the verdict, and is refused
when it should be."""

import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "system"))

from busclient import Client, Folder, datum, pb  # noqa: E402
from crew import Crew  # noqa: E402
from ship import STATIONS, Ship  # noqa: E402

CLEAR, FOUL = pb.DECK_STATE_CLEAR, pb.DECK_STATE_FOUL
LINE_CROSSED, WAVE_OFF_ADVISED = 10, 82  # docs/rules.md


def event_of(client):
    envelope = next(iter(client.verdicts.values()))
    return envelope.event


class Interop(unittest.TestCase):
    def ready_but_for(self, ship, missing):
        """Everything up and said but the stations in `missing`, which a Client will be."""
        ship.brokers()
        ship.validators()
        here = [s for s in STATIONS if s not in missing]
        ship.stations(*here)
        ship.heard(*here)

    def settle(self, client, sequence, limit_s=5):
        self.assertTrue(client.run(limit_s, lambda: client.settled >= sequence),
                        "not settled: %s" % dict(client.through))

    def hear(self, client):
        self.assertTrue(client.run(10, lambda: all(
            client.hears(v) for v in client.folder.validators())))

    def test_a_deck_station_in_python_makes_ready_and_takes_it_away(self):
        """All others are the real stations, and what they say is read too."""
        with Ship() as ship:
            self.ready_but_for(ship, ["deck"])
            crew = Crew(Folder(ship.dir), "deck")
            deck, viewer = crew.at["deck"], crew.viewer
            try:
                crew.hear()
                for words in (("primary", "open"), ("primary", "no foul"), ("platform", "no foul"),
                              ("primary", "order 204 plover 34000")):
                    crew.beside(lambda: ship.say(*words))
                self.assertTrue(crew.until(lambda: getattr(event_of(deck), "pass") == 1))
                for n in (1, 2, 3, 4):
                    crew.beside(lambda: ship.say("engine-%d" % n, "set 34000"))
                    crew.beside(lambda: ship.say("engine-%d" % n, "battery in"))
                for words in (("primary", "repeaters 34000"), ("platform", "call 204 plover"),
                              ("platform", "hook down")):
                    crew.beside(lambda: ship.say(*words))
                self.assertFalse(viewer.ready())
                crew.say(("deck", datum("deck", event_of(deck), state=CLEAR)))
                self.assertTrue(crew.until(viewer.ready), [
                    [(c.rule, c.station, c.state) for c in viewer.causes(v)]
                    for v in deck.folder.validators()])
                crew.say(("deck", datum("deck", event_of(deck), state=FOUL,
                                        reason=pb.FOUL_REASON_PERSON, was_clear=True)))
                self.assertTrue(crew.until(lambda: not viewer.ready(), 1))
                # The call was made: beside the line that is crossed stands the advice to wave off.
                self.assertTrue(crew.until(lambda: all(
                    sorted((c.rule, c.station) for c in viewer.causes(v)) ==
                    [(LINE_CROSSED, "deck"), (WAVE_OFF_ADVISED, "deck")]
                    for v in deck.folder.validators()), 2))
                wrong, counted = viewer.read_all()
                self.assertEqual(wrong[:3], [])
                self.assertGreater(counted["change"], 15)
                said = {envelope.node for _, raw in viewer.heard
                        for envelope in [viewer.verify_anew(raw)[1]]
                        if envelope.WhichOneof("body") == "beat"}
                self.assertEqual(said, set(STATIONS) | {"viewer"})
            finally:
                crew.close()

    def test_words_that_may_not_be_said_are_refused_by_name(self):
        with Ship() as ship:
            self.ready_but_for(ship, ["engine-1"])
            engine = Client(Folder(ship.dir), "engine-1")
            try:
                self.hear(engine)
                ship.open_recovery()
                ship.say("primary", "order 204 plover 34000")
                engine.run(1)
                event = event_of(engine)
                past = pb.Event(recovery_ms=event.recovery_ms - 5)
                setattr(past, "pass", 1)
                rows = [
                    ("REFUSAL_REASON_NOT_LISTED", datum("set", past, weight_lb=34000)),
                    ("REFUSAL_REASON_NOT_YOUR_KIND", datum("deck", event, state=CLEAR)),
                    ("REFUSAL_REASON_NOT_YOUR_KIND", datum("hook", event,
                                                           state=pb.HOOK_STATE_DOWN)),
                ]
                for reason, wrong in rows:
                    sequence = engine.say(wrong)
                    self.assertTrue(engine.run(3, lambda: sequence in engine.refused),
                                    "%s: through %s" % (reason, dict(engine.through)))
                    self.assertEqual(engine.refused[sequence][0], reason)
                # And what it may say is accepted after all that.
                engine.data.clear()
                self.settle(engine, engine.say(datum("set", event, weight_lb=34000)))
                self.assertNotIn(engine.sequences["change"], engine.refused)
                # Refused, and an alert that names it at every screen.
                picture = ship.show()[1]
                self.assertIn("refused-publisher:engine-1",
                              ["%s:%s" % (a["rule"], a["station"]) for a in picture["alerts"]])
            finally:
                engine.close()

    def test_a_key_cannot_publish_on_the_topic_of_another_station(self):
        with Ship() as ship:
            ship.make_ready()
            # The same identity as engine-4's station, used by a stranger for another's words.
            ship.running["engine-4"].end()
            rogue = Client(Folder(ship.dir), "engine-4")
            try:
                self.hear(rogue)
                envelope = rogue.envelope("change", 1)
                envelope.node = "deck"
                envelope.change.datum.CopyFrom(datum("deck", event_of(rogue), state=FOUL,
                                                     reason=pb.FOUL_REASON_WIRE))
                envelope.change.datum.sequence = 1
                for _ in range(3):
                    rogue.send_frame(rogue.frame("change/deck/", envelope))
                rogue.run(1.5)
                picture = ship.show()[1]
                self.assertIn("refused-publisher:engine-4",
                              ["%s:%s" % (a["rule"], a["station"]) for a in picture["alerts"]])
                self.assertNotIn("deck-foul:deck", [
                    "%s:%s" % (c["rule"], c["station"]) for c in picture["causes"]])
            finally:
                rogue.close()

    def test_garbage_forged_and_replayed_frames_change_nothing(self):
        with Ship() as ship:
            ship.make_ready()
            code, _ = ship.show()
            self.assertEqual(code, 0)
            viewer = Client(Folder(ship.dir), "viewer",
                            listen=("verdict/", "picture/", "change/", "beat/"))
            viewer.keep = True
            try:
                self.hear(viewer)
                ship.say("deck", "foul wire")
                viewer.run(0.5)
                ship.say("deck", "clear")
                self.assertTrue(viewer.run(5, viewer.ready))
                recorded = [raw for raw in viewer.seen if raw.startswith(b"change/deck/")]
                self.assertTrue(recorded)
                beat = viewer.frame("beat/viewer/", viewer.envelope("beat"))
                flipped = bytearray(beat)
                flipped[-1] ^= 1
                for raw in (b"", b"\0", b"beat/viewer/", b"beat/viewer/\0", b"x" * 70000,
                            b"beat/viewer/\0" + b"\0" * 64, bytes(flipped), beat[:-3],
                            b"beat/../\0" + beat[13:], *recorded):
                    viewer.send_frame(raw)
                viewer.send_frame(beat, b"second frame")
                for _ in range(300):
                    viewer.send_frame(b"change/deck/\0" + b"\x55" * 300)
                viewer.run(1.0)
            finally:
                viewer.close()
            ship.until_show(0, [], limit_s=10)
            for name, process in ship.running.items():
                self.assertIsNone(process.process.poll(), name)

    def test_an_old_incarnation_is_told_the_higher_number(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators()
            ship.stations("deck")
            deck = Client(Folder(ship.dir), "deck", incarnation=5)
            try:
                self.assertTrue(deck.run(5, lambda: deck.higher > 5))
            finally:
                deck.close()


if __name__ == "__main__":
    unittest.main(verbosity=2)
