# SPDX-License-Identifier: Apache-2.0
"""test_stations - every word that any station may say, said from Python in a recovery of its own.

Brokers, validators and a recorder are the real programs; the stations are all of busclient, so that
what they say is what docs/protocol.md tells an outsider to say. What the programs answer is read by
reader.py when the play is over.
"""

import pathlib
import sys
import time
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "system"))

from busclient import Folder, datum, is_toward_safe, pb, unknown  # noqa: E402
from crew import Crew, instance_of  # noqa: E402
from ship import ALL_STATIONS, Ship  # noqa: E402

ENGINES = ["engine-%d" % n for n in (1, 2, 3, 4)]
SIDE, TYPE, WEIGHT = 204, "plover", 34000
EVENT_WORDS = ("battery", "deck", "call", "hook", "free", "retract", "track")
STOP, TOO_FEW_WIRES, VALIDATOR_LOST = 16, 71, 23  # docs/rules.md: the one that two may override without a station


def values(enum, but=()):
    return [v.number for v in getattr(pb, enum).DESCRIPTOR.values
            if v.number != 0 and v.number not in but]


def plain(kind, slot=0, **value):
    return datum(kind, None, slot, **value)


def rounds():
    """[(station, datum)] a round: every state that the schema has of a word that stands until it is
    changed, each with what belongs to it."""
    out = []

    def put(i, *words):
        while len(out) <= i:
            out.append([])
        out[i].extend(words)

    for i, state in enumerate(values("RigState")):
        put(i, *[("wires", plain("rig", w, state=state)) for w in (1, 2, 3, 4)])
    for i, state in enumerate(values("SheaveState")):
        put(i, ("wires", plain("sheave", 2, state=state)),
            ("wires", plain("sheave", 3, state=state, bypassed=True)))
    for i, state in enumerate(values("PendantState")):
        put(i, ("wires", plain("pendant", 1, state=state, low_in_x100=275, high_in_x100=490)))
    for i, state in enumerate(values("StanchionState")):
        put(i, ("wires", plain("stanchions", state=state)))
    for i, state in enumerate(values("BarricadeState")):
        put(i, ("barricade", plain("barricade", state=state, webbing_used=i == 1)),
            ("barricade", plain("barricade_power", pressure_psi=1500, cycles=i)))
    for i, state in enumerate(values("ServiceState")):
        put(i, ("engine-2", plain("service", state=state, job=1200 + i)))
    for i, state in enumerate(values("FluidState")):
        put(i, ("engine-2", plain("fluid", state=state)))
    for i, state in enumerate(values("FaultState")):
        put(i, ("engine-2", plain("fault", state=state,
                                  code=7 if state == pb.FAULT_STATE_ACTIVE else 0)))
    for i, state in enumerate(values("InspectionState")):
        put(i, ("gear-officer", plain("inspected", 2, state=state, name="Rowan")))
    for i, trouble in enumerate([0] + values("InboundTrouble")):
        put(i, ("approach", plain("inbound", SIDE, side=SIDE, type=TYPE, weight_lb=33500,
                                  fuel_lb=2000 * i, fuel_low=i == 1, trouble=trouble,
                                  diverted=i == 2)))
    for i, reason in enumerate(values("FoulReason")):
        for station in ("deck", "platform", "gear-officer", "safety", "primary"):
            put(i, (station, plain("deck", state=pb.DECK_STATE_FOUL, reason=reason, expect_s=30)))
    put(5, ("safety", plain("deck", state=pb.DECK_STATE_STOP)),
        ("primary", plain("deck", state=pb.DECK_STATE_STOP)))
    for i in range(2):
        put(i, *[(e, plain("accumulator", pressure_psi=400 + i)) for e in ENGINES],
            *[(e, plain("crosshead", gap_in_x100=600 + i)) for e in ENGINES],
            *[(s, plain("watch", name="Ash-%d" % i)) for s in ALL_STATIONS])
        put(i, *[("gear-officer", plain("cable", n, traps=20 + i, detorqued_at=10, serial="C-%d" % n))
                 for n in (1, 2, 3, 4)],
            *[("gear-officer", plain("pendant_life", n, traps=20 + i, serial="P-%d" % n))
              for n in (1, 2, 3, 4)],
            ("gear-officer", plain("signed_off", 2, job=1200 + i, name="Rowan")))
    return out


def standing():
    """What READY needs of the words that stand until they are changed."""
    words = [("wires", plain("rig", w, state=pb.RIG_STATE_RIGGED)) for w in (1, 2, 3, 4)]
    words += [("wires", plain("sheave", w, state=pb.SHEAVE_STATE_UP)) for w in (1, 2, 3, 4)]
    words += [("wires", plain("pendant", w, state=pb.PENDANT_STATE_GOOD, low_in_x100=275,
                              high_in_x100=490)) for w in (1, 2, 3, 4)]
    words += [("wires", plain("stanchions", state=pb.STANCHION_STATE_LOWERED)),
              ("barricade", plain("barricade", state=pb.BARRICADE_STATE_READY)),
              ("barricade", plain("barricade_power", pressure_psi=1500))]
    for n, engine in enumerate(ENGINES, 1):
        words += [(engine, plain("accumulator", pressure_psi=405)),
                  (engine, plain("crosshead", gap_in_x100=650)),
                  (engine, plain("service", state=pb.SERVICE_STATE_IN, job=1200 if n == 2 else 0)),
                  (engine, plain("fluid", state=pb.FLUID_STATE_BATTERY)),
                  (engine, plain("fault", state=pb.FAULT_STATE_NONE)),
                  ("gear-officer", plain("inspected", n, state=pb.INSPECTION_STATE_GOOD,
                                         name="Rowan"))]
    words.append(("gear-officer", plain("signed_off", 2, job=1200, name="Rowan")))
    words.append(("approach", plain("inbound", SIDE, side=SIDE, type=TYPE, weight_lb=33500)))
    words += [(s, plain("deck", state=pb.DECK_STATE_NO_FOUL))
              for s in ("platform", "gear-officer", "safety", "primary")]
    return words


def for_event(event):
    words = [(e, datum("set", event, weight_lb=WEIGHT)) for e in ENGINES]
    words += [(e, datum("battery", event, state=pb.BATTERY_STATE_IN)) for e in ENGINES]
    words += [("wires", datum("free", event, state=pb.FREE_STATE_FREE)),
              ("wires", datum("retract", event, state=pb.RETRACT_STATE_RETRACTED)),
              ("tracks", datum("track", event, 1, state=pb.TRACK_STATE_SECURED)),
              ("tracks", datum("track", event, 2, state=pb.TRACK_STATE_SECURED)),
              ("aid", datum("aid", event, state=pb.AID_STATE_WORKING, type=TYPE, angle_deg_x100=350,
                            target_wire=3)),
              ("deck", datum("deck", event, state=pb.DECK_STATE_CLEAR)),
              ("platform", datum("call", event, side=SIDE, type=TYPE, fuel_lb=4000)),
              ("platform", datum("hook", event, state=pb.HOOK_STATE_DOWN))]
    return words


def event_rounds(event):
    """The other states of the words of an event."""
    out = [[("tracks", datum("track", event, 1, state=state)),
            ("wires", datum("free", event, state=pb.FREE_STATE_HELD, wire=2)),
            ("wires", datum("retract", event, state=pb.RETRACT_STATE_RUNNING, wire=3))]
           for state in values("TrackState", [pb.TRACK_STATE_SECURED])]
    out[0] += [(e, datum("battery", event, state=pb.BATTERY_STATE_OUT)) for e in ENGINES]
    out[0] += [("platform", datum("hook", event, state=pb.HOOK_STATE_NOT_DOWN)),
               ("aid", datum("aid", event, state=pb.AID_STATE_FAULT)),
               ("deck", datum("deck", event, state=pb.DECK_STATE_FOUL, was_clear=True,
                              reason=pb.FOUL_REASON_AIRCRAFT))]
    return out


def sea():
    """What the bridge reads of wind and motion."""
    wind = pb.Sample(age_ms=120)
    wind.wind.state = pb.WIND_STATE_KNOWN
    wind.wind.headwind_kt_x10, wind.wind.crosswind_kt_x10 = 268, -12
    wind.wind.deck_speed_kt_x10, wind.wind.deck_from_deg_x10 = 270, 3520
    wind.wind.true_wind.speed_kt_x10 = 150
    wind.wind.reading.add(source="port mast", age_ms=120, speed_kt_x10=270, from_deg_x10=3520)
    motion = pb.Sample(age_ms=120)
    for name, value in (("pitch_deg_x10", 4), ("roll_deg_x10", -11), ("heave_m_x100", 20),
                        ("turn_deg_min_x10", 0), ("heading_deg_x10", 0), ("course_deg_x10", 0),
                        ("speed_kt_x10", 120)):
        getattr(motion.motion, name).value = value
        getattr(motion.motion, name).SetInParent()
    return [wind, motion]


class Words(unittest.TestCase):
    def setUp(self):
        self.ship = Ship(full=True)
        self.addCleanup(self.ship.close)
        self.ship.brokers()
        self.ship.recorders()
        self.ship.validators()
        self.crew = Crew(Folder(self.ship.dir), *ALL_STATIONS)
        self.addCleanup(self.crew.close)
        self.crew.at["bridge"].samples = sea()
        self.crew.hear()
        self.kinds = set()

    def say(self, *words):
        self.kinds |= {w.WhichOneof("value") for _, w in words}
        self.crew.say(*words)

    def check_held(self, words):
        self.assertTrue(self.crew.until(lambda: all(self.crew.held(s, w) for s, w in words), 5), [
            (s, w) for s, w in words if not self.crew.held(s, w)][:3])

    def order(self, number, state=pb.ORDER_STATE_ORDERED, **more):
        event = pb.Event(recovery_ms=self.recovery_ms)
        setattr(event, "pass", number)
        self.say(("primary", datum("order", event, number, side=SIDE, type=TYPE, weight_lb=WEIGHT,
                                   place=number, state=state, **more)))
        return event

    def open(self):
        heard = max(p.highest_recovery_ms for p in self.crew.viewer.pictures.values())
        self.recovery_ms = max(int(time.time() * 1000), heard + 1)
        self.say(("primary", plain("recovery", recovery_ms=self.recovery_ms,
                                   state=pb.RECOVERY_STATE_OPEN)))

    def end_pass(self, event, outcome, wire=0):
        """Its result; what was said for it toward READY is void, and is said UNKNOWN."""
        number, clients = getattr(event, "pass"), self.crew.at
        self.say(("platform", datum("result", event, number, outcome=outcome, wire=wire)))
        left = [(s, name, said.sequence) for s, c in clients.items()
                for name, said in c.data.items() if name[0] in EVENT_WORDS and
                event in said.stated_for and not is_toward_safe(said)]
        self.assertTrue(self.crew.until(lambda: all(
            n in clients[s].refused for s, _, n in left) and all(
                p.last.event == event for p in self.crew.viewer.pictures.values())))
        self.assertEqual({self.crew.reason(s, n) for s, _, n in left} - {"event-left"}, set())
        if left:
            self.say(*[(s, unknown(*name)) for s, name, _ in left])
        return len(left)

    def test_a_recovery_with_every_word_of_every_station(self):
        crew = self.crew
        self.open()
        for words in rounds():
            self.say(*words)
            self.check_held(words)
        words = standing()
        self.say(*words)
        self.check_held(words)
        first = self.order(1)
        self.assertTrue(crew.until(lambda: crew.event() == first))
        words = for_event(first)
        self.say(*words)
        repeaters = [("primary", datum("repeater", first, n, weight_lb=WEIGHT)) for n in (1, 2, 3, 4)]
        self.say(*repeaters)
        self.check_held(words + repeaters)
        self.assertTrue(crew.until(crew.viewer.ready, 10), [
            (c.rule, c.station, c.state) for p in crew.viewer.pictures.values() for c in p.cause])
        self.acknowledge()
        self.assertEqual(self.end_pass(first, pb.PASS_OUTCOME_TRAP, 3), 11)
        self.say(("engine-3", plain("arrest", ram_in_x10=1800, off_centre_ft_x10=20, apart_in_x10=5,
                                    walk_back_ft_x10=30, event=first)),
                 ("gear-officer", plain("freed", 3, name="Rowan", event=first)))
        second = self.order(2)
        self.assertTrue(crew.until(lambda: crew.event() == second))
        for words in event_rounds(second):
            self.say(*words)
            self.check_held([w for w in words if w[0] != "deck"])
        self.end_pass(second, pb.PASS_OUTCOME_BOLTER)
        third = self.order(3)
        self.end_pass(third, pb.PASS_OUTCOME_WAVE_OFF)
        self.order(4, barricade=True)
        self.order(4, pb.ORDER_STATE_CANCELLED)
        self.sign()
        self.by_voice()
        self.say(("primary", plain("recovery", recovery_ms=self.recovery_ms,
                                   state=pb.RECOVERY_STATE_CLOSED)))
        kinds = {f.name for f in pb.Datum.DESCRIPTOR.oneofs_by_name["value"].fields}
        self.assertEqual(kinds - self.kinds, set(), "never said")
        self.read()

    def acknowledge(self):
        """An alert that primary owes: acknowledged under its own number, and in no beat when gone."""
        crew, place = self.crew, self.place("primary")

        def owed():
            return [a for alerts in crew.viewer.alerts.values() for a in alerts.alert
                    if a.cause.rule == STOP and a.state == pb.ALERT_STATE_UNACKNOWLEDGED and
                    a.owed >> place & 1]
        self.say(("safety", plain("deck", state=pb.DECK_STATE_STOP)))
        self.assertTrue(crew.until(lambda: owed()))
        instance = instance_of(owed()[0])
        self.say(("primary", plain("acknowledged", instance & 0x7FFFFFFF or 1, instance=instance)))
        self.assertTrue(crew.until(lambda: all(
            any(instance_of(a) == instance and a.acknowledged >> place & 1 for a in alerts.alert)
            for alerts in crew.viewer.alerts.values())))
        self.say(("safety", plain("deck", state=pb.DECK_STATE_NO_FOUL)))

    def place(self, node):
        return [n["id"] for n in self.crew.folder.nodes if n["id"] in ALL_STATIONS].index(node)

    def sign(self):
        """Two sign an override, and put a lost validator out of service."""
        crew = self.crew
        signers = ("primary", "safety")
        self.say(*[(s, plain("override", TOO_FEW_WIRES * 64, rule=TOO_FEW_WIRES, valid_s=600,
                             reason="last aircraft")) for s in signers])
        self.assertTrue(crew.until(lambda: all(
            any(o.override.rule == TOO_FEW_WIRES and {o.said_by, o.confirmed_by} == set(signers)
                for o in p.overrides) for p in crew.viewer.pictures.values())))
        self.say(*[(s, unknown("override", TOO_FEW_WIRES * 64)) for s in signers])
        self.ship.running["validator-2"].kill()
        first = crew.viewer.pictures
        self.assertTrue(crew.until(lambda: any(
            c.rule == VALIDATOR_LOST for c in first["validator-1"].cause)))
        slot = [n["id"] for n in crew.folder.nodes].index("validator-2") + 1
        self.say(*[(s, plain("out_of_service", slot, validator="validator-2")) for s in signers])
        self.assertTrue(crew.until(lambda: list(
            crew.viewer.verdicts["validator-1"].verdict.out_of_service) == ["validator-2"]))
        self.say(*[(s, unknown("out_of_service", slot)) for s in signers])
        self.ship.validators("validator-2")
        crew.hear()

    def by_voice(self):
        """What may be said by voice, by the two who may, of stations that are lost."""
        crew = self.crew
        event = self.order(5)
        self.assertTrue(crew.until(lambda: crew.event() == event))
        gone = {"engine-4": ("primary", "gear-officer"), "wires": ("gear-officer", "deck"),
                "tracks": ("gear-officer", "deck"), "aid": ("platform", "primary"),
                "approach": ("platform", "primary"), "barricade": ("gear-officer", "deck")}
        crew.pause(*gone)
        self.assertTrue(crew.until(lambda: all(
            s is not None and s.live == pb.LIVENESS_LOST for g in gone
            for s in crew.viewer.states(g))))
        words = [(s, w) for s, w in standing() + for_event(event) if s in gone]
        words.append(("engine-4", plain("arrest", ram_in_x10=1790, event=event)))
        said = []
        for station, word in words:
            if station == "wires" and word.slot > 1:
                continue  # one wire: a picture lists at most 32
            for speaker in gone[station]:
                made = pb.Datum()
                made.CopyFrom(word)
                made.voice_for = station
                said.append((speaker, made))
        self.say(*said)
        want = {(m.voice_for, m.WhichOneof("value")) for _, m in said}
        self.assertEqual(len(want), 19)
        self.assertTrue(crew.until(lambda: all(
            {(v.station, v.datum.WhichOneof("value")) for v in p.voiced if v.confirmed_by} == want
            for p in crew.viewer.pictures.values())), [
                want - {(v.station, v.datum.WhichOneof("value")) for v in p.voiced if v.confirmed_by}
                for p in crew.viewer.pictures.values()])
        crew.resume(*gone)

    def read(self):
        """Everything that was heard is as section 11 has it, and nothing was left unread."""
        wrong, counted = self.crew.viewer.read_all()
        print(dict(counted))
        self.assertEqual(wrong[:3], [])
        bodies = {f.name for f in pb.Envelope.DESCRIPTOR.oneofs_by_name["body"].fields}
        self.assertEqual(bodies - set(counted) - {"refusals"}, set())
        self.assertEqual(dict(self.crew.viewer.dropped), {})


if __name__ == "__main__":
    unittest.main(verbosity=2)
