# SPDX-License-Identifier: Apache-2.0
"""test_refusals - each refusal of docs/protocol.md, provoked from outside and read where it is said.

One ship for all of them; every test leaves what it needs to none of the others.
"""

import pathlib
import re
import signal
import sys
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "system"))

import reader  # noqa: E402
from busclient import Client, Folder, datum, pb, unknown  # noqa: E402
from crew import Crew  # noqa: E402
from refusals import PROVOKED, change_of, raw_field, spoilt  # noqa: E402
from ship import SMALL_OFF, Ship, switch_off  # noqa: E402

TEXTS = dict(re.findall(r"(?m)^\| \d+ \| ([a-z0-9-]+) \| ([^|]+) \|", reader.TEXT))
OTHER_BODY, TWO_WRITERS, STOP, REFUSED_PUBLISHER = 27, 21, 16, 26  # docs/rules.md
ROTATED = ("engine-3", "engine-4")
WEIGHT = 34000


def setUpModule():
    """Keys of two epochs for two nodes, then the programs, then the crew."""
    global SHIP, CREW, PROVEN
    PROVEN = set()
    # Without them there are more causes than a picture can list.
    SHIP = Ship(full=True, edit=lambda ship: switch_off(ship.dir / "ship.yaml", SMALL_OFF,
                                                        "not under test"))
    try:
        for node in ROTATED:
            code, out = SHIP.call("keys", "rotate", "-C", SHIP.dir, node)
            assert code == 0, out
        SHIP.brokers()
        SHIP.validators()
        CREW = Crew(Folder(SHIP.dir), "primary", "platform", "deck", "engine-1", "engine-2", "aid",
                    "gear-officer", "safety")
        CREW.hear()
        open_recovery()
    except BaseException:
        SHIP.close()
        raise


def tearDownModule():
    CREW.close()
    SHIP.close()
    lacking = {(n, place) for n, places in PROVOKED.items() for place in places} - PROVEN
    if sys.argv[1:] in ([], ["-v"]):
        assert not lacking, "not provoked: %s" % sorted(lacking)


def open_recovery():
    """Pass 1 has ended, 2 is the current one, 3 is queued."""
    global RECOVERY_MS
    RECOVERY_MS = int(time.time() * 1000)
    CREW.say(("primary", recovery(RECOVERY_MS)))
    for number in (1, 2, 3):
        CREW.say(("primary", order(number)))
    CREW.say(("platform", datum("result", event(1), 1, outcome=pb.PASS_OUTCOME_BOLTER)))
    assert CREW.until(lambda: all(e.event == event(2) for e in CREW.viewer.verdicts.values()))


def recovery(recovery_ms):
    return datum("recovery", None, recovery_ms=recovery_ms, state=pb.RECOVERY_STATE_OPEN)


def event(number, recovery_ms=None):
    made = pb.Event(recovery_ms=recovery_ms or RECOVERY_MS)
    setattr(made, "pass", number)
    return made


def order(number, **more):
    return datum("order", event(number), number, side=200 + number, type="plover", weight_lb=WEIGHT,
                 place=number, state=pb.ORDER_STATE_ORDERED, **more)


def text_of(station, limit_s=10):
    """Why a screen says that this publisher was refused; a screen may not have the alerts yet."""
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        for alert in SHIP.show()[1]["alerts"]:
            if alert["rule"] == "refused-publisher" and alert["station"] == station:
                return alert["text"].split("refused: ")[1]
    return None


def battery(number):
    return datum("battery", event(number), state=pb.BATTERY_STATE_IN)


class FromTheBus(unittest.TestCase):
    """Said by the brokers: in `refusals` on bus/, in their logs, and by every validator."""

    def proven(self, publisher, name, send, topic=None):
        marks = {bus: SHIP.running[bus].mark() for bus in ("bus-a", "bus-b")}
        send()
        lines = CREW.viewer.lines
        begin = len(lines)

        def said():
            return {bus for bus, line in lines[begin:] if line.publisher == publisher and
                    line.reason == getattr(pb, "REFUSAL_REASON_" + name.upper().replace("-", "_")) and
                    (topic is None or line.topic == topic)}
        self.assertTrue(CREW.until(lambda: said() == {"bus-a", "bus-b"}), (name, lines[begin:]))
        self.assertTrue(CREW.until(lambda: CREW.viewer.noted(publisher, name)), CREW.viewer.notes())
        for bus, mark in marks.items():
            SHIP.running[bus].wait_for(lambda line: (publisher or "no listed key") in line and
                                       line.endswith(": " + TEXTS[name]), mark)
        PROVEN.add((name, "bus"))

    def test_what_is_no_frame(self):
        deck, engine, aid = (CREW.at[s] for s in ("deck", "engine-1", "aid"))
        beat = deck.frame("beat/deck/", deck.envelope("beat"))
        self.proven("deck", "frames", lambda: deck.send_frame(beat, b"more"), "beat/deck/")
        self.proven("engine-1", "no-topic", lambda: engine.send_frame(b"\0" + b"x" * 80), "")
        self.proven("engine-2", "no-topic", lambda: CREW.at["engine-2"].send_frame(b"x" * 80))
        self.proven("aid", "oversize", lambda: aid.send_frame(b"beat/aid/\0" + b"x" * 4096),
                    "beat/aid/")
        self.proven("safety", "truncated",
                    lambda: CREW.at["safety"].send_frame(b"beat/safety/\0" + b"x" * 63))
        self.proven("primary", "empty",
                    lambda: CREW.at["primary"].send_frame(b"beat/primary/\0" + b"x" * 64))

    def test_what_is_the_topic_of_another(self):
        for station, topic in (("safety", "change/deck/"), ("aid", "verdict/aid/"),
                               ("engine-1", "beat/../"), ("gear-officer", "no/such/")):
            client = CREW.at[station]
            frame = client.frame(topic, client.envelope("beat"))
            self.proven(station, "not-your-topic", lambda: client.send_frame(frame), topic)

    def test_whose_key_is_gone(self):
        """The connection was there before the list was read again."""
        old = {node: Client(CREW.folder, node, listen=(), epoch=1) for node in ROTATED}
        try:
            for client in old.values():
                for socket in client.publish:
                    self.assertTrue(socket.poll(5000), "no bus")
            code, out = SHIP.call("keys", "revoke", "-C", SHIP.dir, "engine-3", "1")
            self.assertEqual(code, 0, out)
            path = SHIP.dir / "keys.yaml"
            kept = [line for line in path.read_text().splitlines()
                    if "node: engine-4, epoch: 1," not in line]
            path.write_text("\n".join(kept) + "\n")
            for name in ("bus-a", "bus-b", "validator-1", "validator-2"):
                SHIP.running[name].signal(signal.SIGHUP)
            self.from_end_to_end()
            for node, publisher, name in (("engine-3", "engine-3", "revoked"),
                                          ("engine-4", "", "unknown-user")):
                client = old[node]
                frame = client.frame("beat/%s/" % node, client.envelope("beat"))
                self.proven(publisher, name, lambda: client.send_frame(frame), "beat/%s/" % node)
        finally:
            for client in old.values():
                client.close()

    def from_end_to_end(self):
        """The connection has a good key; who signed has not."""
        new = Client(CREW.folder, "engine-3", listen=())
        old = Client(CREW.folder, "engine-3", listen=(), epoch=1)
        before = len(CREW.viewer.lines)
        try:
            for socket in new.publish:
                self.assertTrue(socket.poll(5000), "no bus")
            # A validator may still be reading the list.
            self.assertTrue(CREW.until(lambda: new.send_frame(
                old.frame("beat/engine-3/", old.envelope("beat"))) or
                CREW.viewer.noted("engine-3", "revoked")))
            PROVEN.add(("revoked", "picture"))
            envelope = new.envelope("beat")
            envelope.key_epoch = 9
            new.send_frame(new.frame("beat/engine-3/", envelope))
            self.assertTrue(CREW.until(lambda: CREW.viewer.noted("engine-3", "unknown-user")))
            PROVEN.add(("unknown-user", "picture"))
            self.assertEqual(CREW.viewer.lines[before:], [])
        finally:
            new.close()
            old.close()


class FromTheValidators(unittest.TestCase):
    """A frame that no broker has a word against."""

    def proven(self, station, name, frame, rule=REFUSED_PUBLISHER):
        client = CREW.at[station]
        before = len(CREW.viewer.lines)
        client.send_frame(frame)
        self.assertTrue(CREW.until(lambda: CREW.viewer.noted(station, name, rule)), (
            name, CREW.viewer.notes(rule)))
        self.assertTrue(CREW.until(lambda: (station, name) in CREW.viewer.seen_reasons), name)
        self.assertEqual([l for _, l in CREW.viewer.lines[before:] if l.publisher == station], [])
        PROVEN.add((name, "picture"))

    def test_bytes_that_are_no_good_message(self):
        engine = CREW.at["engine-2"]
        for name, envelope in spoilt(engine, event(2)).items():
            self.assertEqual(reader.judge("change/engine-2/", envelope), name)
            self.proven("engine-2", name, engine.frame("change/engine-2/", envelope))
        # One alert a station: the first of its reasons, as people read it.
        self.assertEqual(CREW.beside(lambda: text_of("engine-2")), TEXTS["truncated"])

    def test_newer_by_its_number_or_by_a_field(self):
        """Both versions are told: what was said, and what is known. An unknown value that is said to
        be of the known version is none."""
        name = datum("watch", None, name="Ash")
        no_such = datum("fluid", None, state=86)
        for station, schema, made, tail, want in (
                ("primary", 2, name, b"", ("newer-schema", 2, 1)),
                ("platform", 2, name, raw_field(99, 1), ("newer-schema", 2, 1)),
                ("engine-1", 2, no_such, b"", ("newer-schema", 2, 1)),
                ("safety", 1, name, raw_field(99, 1), ("newer-schema", 1, 1)),
                ("gear-officer", 1, no_such, b"", ("enum", 0, 0))):
            client = CREW.at[station]
            envelope = pb.Envelope.FromString(change_of(client, made))
            envelope.schema = schema
            data = envelope.SerializeToString(deterministic=True) + tail
            client.send_frame(client.frame("change/%s/" % station, data))
            self.assertTrue(CREW.until(lambda: all(
                (station,) + want in notes for notes in CREW.viewer.notes().values())), (
                    station, CREW.viewer.notes()))

    def test_not_what_the_topic_says(self):
        deck = CREW.at["deck"]
        beat = deck.envelope("beat")
        beat.beat.last_change = deck.sequences["change"]
        self.proven("deck", "not-your-topic", deck.frame("change/deck/", beat))

    def test_a_signature_that_does_not_fit(self):
        aid = CREW.at["aid"]
        frame = bytearray(aid.frame("beat/aid/", aid.envelope("beat", 100000)))
        frame[len("beat/aid/") + 1] ^= 1
        self.proven("aid", "signature", bytes(frame))

    def test_a_number_with_two_contents_and_one_too_far_ahead(self):
        gear = CREW.at["gear-officer"]
        CREW.say(("gear-officer", datum("watch", None, name="Ash")))
        other = gear.envelope("change", gear.sequences["change"])
        other.change.datum.CopyFrom(datum("watch", None, name="Birch"))
        other.change.datum.sequence = other.sequence
        self.proven("gear-officer", "other-body", gear.frame("change/gear-officer/", other),
                    OTHER_BODY)
        far = pb.Envelope.FromString(change_of(gear, datum("watch", None, name="Ash")))
        far.sequence = far.change.datum.sequence = gear.sequences["change"] + 1500
        self.proven("gear-officer", "jump", gear.frame("change/gear-officer/", far))

    def test_a_second_program_with_the_key(self):
        """An old life is told so; that it runs beside the newer one is an alarm."""
        old = CREW.join("old", CREW.at["safety"].incarnation - 1, "safety")
        try:
            self.assertTrue(CREW.until(
                lambda: old.higher == CREW.at["safety"].incarnation), old.higher)
            PROVEN.add(("old-incarnation", "receipt"))
            self.assertTrue(CREW.until(lambda: all(
                any(c.rule == TWO_WRITERS and c.station == "safety" for c in p.cause)
                for p in CREW.viewer.pictures.values())))
            PROVEN.add(("twin", "picture"))
        finally:
            CREW.leave("old")


class InReceipts(unittest.TestCase):
    """A change that is whole, in its turn, and may not count."""

    def proven(self, name, station, made, then=None):
        before = CREW.viewer.judged[(station, name)]
        self.assertEqual(CREW.refused(station, made, then), name)
        self.assertTrue(CREW.until(
            lambda: CREW.viewer.judged[(station, name)] >= before + 2), "not told for the record")
        PROVEN.add((name, "receipt"))

    def void(self, name, words):
        """What was accepted is refused now: every one of them."""
        self.assertTrue(CREW.until(lambda: all(
            w.sequence in CREW.at[s].refused for s, w in words)), name)
        self.assertEqual({CREW.reason(s, w.sequence) for s, w in words}, {name})
        CREW.say(*[(s, unknown(w.WhichOneof("value"), w.slot, w.voice_for)) for s, w in words])
        PROVEN.add((name, "receipt"))

    def test_who_may_not_say_it(self):
        self.proven("not-your-kind", "engine-1", datum("hook", event(2), state=pb.HOOK_STATE_DOWN))
        self.proven("not-owner", "platform", datum("deck", event(2), state=pb.DECK_STATE_CLEAR))
        for station, name in (("engine-1", "not-your-kind"), ("platform", "not-owner")):
            self.assertTrue(CREW.until(lambda: CREW.viewer.noted(station, name)))
            PROVEN.add((name, "picture"))

    def test_events(self):
        self.proven("late", "engine-1", battery(1))
        self.proven("not-listed", "engine-1", datum("set", event(1, RECOVERY_MS - 5),
                                                    weight_lb=WEIGHT))
        self.proven("not-current", "engine-1", battery(3))
        self.proven("recovery-old", "primary", recovery(RECOVERY_MS - 1), recovery(RECOVERY_MS))

    def test_too_old(self):
        engine = CREW.at["engine-2"]
        made = datum("set", event(2), weight_lb=WEIGHT)
        number = engine.sequences["change"] + 1
        made.sequence = engine.sequences["change"] = number
        engine.changes[number] = made, time.monotonic() - 3
        engine.data[("set", 0, "")] = made
        engine.send_change(number)
        self.assertTrue(CREW.until(lambda: number in engine.refused))
        self.assertEqual(CREW.reason("engine-2", number), "too-old")
        engine.say(unknown("set"))
        PROVEN.add(("too-old", "receipt"))

    def test_clear_while_a_rule_forces_foul(self):
        CREW.say(("safety", datum("deck", None, state=pb.DECK_STATE_STOP)))
        self.proven("rule-forces-foul", "deck", datum("deck", event(2), state=pb.DECK_STATE_CLEAR))
        self.assertEqual({rule for (to, _), (name, rule) in CREW.viewer.rows.items()
                          if (to, name) == ("deck", "rule-forces-foul")}, {STOP})
        CREW.say(("safety", datum("deck", None, state=pb.DECK_STATE_NO_FOUL)))

    def test_by_voice_and_signed(self):
        voice = [(s, datum("aid", event(2), state=pb.AID_STATE_WORKING, type="plover",
                           angle_deg_x100=350, target_wire=3)) for s in ("platform", "primary")]
        for _, made in voice:
            made.voice_for = "aid"
        heard = pb.Datum()
        heard.CopyFrom(voice[0][1])
        self.proven("not-lost", "platform", heard)
        slot = [n["id"] for n in CREW.folder.nodes].index("validator-2") + 1
        self.proven("not-lost", "primary", datum("out_of_service", None, slot,
                                                 validator="validator-2"))
        self.proven("not-overridable", "primary", datum(
            "override", None, STOP * 64, rule=STOP, reason="no", valid_s=60))
        CREW.pause("aid")
        self.assertTrue(CREW.until(lambda: all(
            s.live == pb.LIVENESS_LOST for s in CREW.viewer.states("aid"))))
        CREW.say(*voice)
        CREW.resume("aid")
        self.assertTrue(CREW.until(lambda: all(
            CREW.at["aid"].hears(v) for v in CREW.folder.validators())))
        CREW.say(("aid", datum("aid", event(2), state=pb.AID_STATE_WORKING, type="plover")))
        self.void("own-word", voice)

    def test_fewer_traps_than_were_known(self):
        CREW.say(("gear-officer", datum("cable", None, 1, traps=20, serial="C-1")))
        self.proven("lower-count", "gear-officer", datum("cable", None, 1, traps=19, serial="C-1"))

    def test_z_the_list_is_full_and_the_event_is_left(self):
        CREW.say(("engine-1", datum("set", event(2), weight_lb=WEIGHT)), ("engine-1", battery(2)))
        word = CREW.at["engine-1"].data[("battery", 0, "")]
        CREW.say(("platform", datum("result", event(2), 2, outcome=pb.PASS_OUTCOME_WAVE_OFF)))
        self.void("event-left", [("engine-1", word)])
        for number in range(4, 40):
            refused = CREW.say_all([("primary", order(number))])
            if refused:
                break
        self.assertEqual(list(refused.values()), ["full"])
        self.assertTrue(CREW.until(lambda: {
            len(p.list) for p in CREW.viewer.pictures.values()} == {16}), number)
        PROVEN.add(("full", "receipt"))


class Read(unittest.TestCase):
    def test_zz_what_was_said_of_it_is_as_the_document_has_it(self):
        """All that the programs said meanwhile; what this node forged is left out."""
        programs = {n["id"] for n in CREW.folder.nodes if n["kind"] in ("validator", "broker")}
        CREW.viewer.heard = [(t, r) for t, r in CREW.viewer.heard if t.split("/")[1] in programs]
        wrong, counted = CREW.viewer.read_all()
        self.assertEqual(wrong[:3], [])
        self.assertGreater(counted["refusals"], 10)


if __name__ == "__main__":
    unittest.main(verbosity=2)
