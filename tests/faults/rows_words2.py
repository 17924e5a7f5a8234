# SPDX-License-Identifier: Apache-2.0
"""rows_words2 - words at the wrong time or from the wrong mouth: late joiners, replays, others'
topics and fields (27, 40, 41)."""

import json
import threading
import time

import cycle
import rig as rigs
from busclient import Folder, pb
from faults import VALIDATORS
from liar import (ENGINES, Liar, Scene, WEIGHT, datum_bytes, ear_of, field, no_ready, say_and_back,
                  until_not_ready)
from player import Player
from ship import STATIONS, TRAPLINE, Process
from table import Result, row


# ---- 27: somebody joins while much is said ----

@row(27, "late joiner during traffic", "a beat carries the whole state", seconds=18)
def late_joiner(context, rng):
    """Screens and a validator that start while a hundred words a second are said: what each shows
    first is true, and in the end the newcomer holds what all hold."""
    rig = context.rig()
    rig.until_ready()
    ear = ear_of(rig)
    result = Result("joined under traffic")
    stop, said = threading.Event(), {}
    seeds = [rng.random() for _ in range(97)]

    def traffic():
        turn = 0
        while not stop.wait(0.01):
            station = STATIONS[turn % len(STATIONS)]
            said[station] = "Ash%d" % turn
            rig.type(station, "watch " + said[station])
            turn += 1
        result.counts["words"] += turn

    talk = threading.Thread(target=traffic, daemon=True)
    talk.start()
    try:
        for turn in range(3):
            bad, good, cause = say_and_back(rng.choice(["deck", "platform", "primary"] + ENGINES))
            station = cause[1]
            begin = time.monotonic()
            rig.type(station, bad)
            until_not_ready(rig.screens())
            for i in range(2):
                time.sleep(seeds[turn * 2 + i] * 0.1)
                late = Process("late", [TRAPLINE, "watch", "--json", "-C", rig.folder("watch")],
                               rig.env)
                _, line = late.wait_text('"verdict"')
                time.sleep(0.6)
                shown = [json.loads(l) for _, l in late.lines if '"kind":"verdict"' in l]
                ready = [v for v in shown if v["verdict"] == "READY"]
                result.unsafe += len(ready)
                result.counts["joined"] += 1
                result.counts["wrong views"] += len(ready)
                result.must(not ready, "a new screen shows READY, %s says %s" % (station, bad))
                result.must(shown and cycle.names(shown[-1]["causes"][0]["text"], [cause]),
                            "a new screen names %s" % shown[-1:])
                late.end()
            rig.faults.append((begin, time.monotonic(), 1.0, set(), station + ": " + bad))
            rig.say_until(station, good)
            rig.until_ready()
        # A validator that joins now is complete within a beat, and agrees.
        name = rng.choice(VALIDATORS)
        begin = time.monotonic()
        rig.kill(name)
        rig.validators(name)
        rig.faults.append((begin, time.monotonic() + 1.0, 1.0, set(), name + " anew"))
        result.back = rig.until_ready() - begin
    finally:
        stop.set()
        talk.join()
    end = time.monotonic() + 5
    while True:
        held = ear.held()
        apart = [n for n in STATIONS if held[(VALIDATORS[0], n)] != held[(VALIDATORS[1], n)]]
        if not apart or not result.must(time.monotonic() < end, "held apart: %s" % apart):
            break
    yield result


# ---- 40: what was said before ----

@row(40, "replay, in session and of an earlier life", "number, life, echo", seconds=20)
def replay(context, rng):
    rig = context.rig()
    ear = ear_of(rig)
    station = rng.choice(["deck", "platform"] + ENGINES)
    bad, good, cause = say_and_back(station)
    result = Result("%s: what it said before, again" % station)
    rig.until_ready()
    ear.keep = []
    for name in STATIONS:  # the validators too say all that they say of a READY ship
        rig.type(name, "watch Rowan")
    rig.say_until(station, good)
    rig.until_ready()
    ear.until(lambda: False, 1.0)
    kept, ear.keep = ear.keep, None
    mine = [raw for _, _, e, raw in kept if e.node == station]
    theirs = {v: [raw for _, _, e, raw in kept if e.node == v] for v in VALIDATORS}
    result.counts["recorded"] = len(mine) + sum(map(len, theirs.values()))
    begin = time.monotonic()
    rig.type(station, bad)
    screens = rig.screens()
    until_not_ready(screens)
    marks = cycle.marks_of(screens)
    before = {k: v for k, v in ear.held().items() if k[1] == station}

    def again(rounds, nodes):
        for node in nodes:
            with Liar(rig, node, 1) as liar:
                for _ in range(rounds):
                    liar.send_all(mine if node == station else theirs[node])
                    result.counts["replayed"] += liar.sent
                    liar.sent = 0
                    ear.until(lambda: False, 0.3)

    again(3, [station, *VALIDATORS])
    no_ready(result, screens, marks, "replayed in session")
    after = {k: v for k, v in ear.held().items() if k[1] == station}
    result.counts["accepted"] += before != after
    result.must(before == after, "in session: %s -> %s" % (before, after))
    rig.faults.append((begin, time.monotonic(), 1.0, set(), result.what))
    rig.say_until(station, good)
    rig.until_ready()

    # Yesterday: its next life has said nothing yet.
    begin = time.monotonic()
    rig.kill(station)
    rig.station(station)
    until_not_ready(rig.screens())
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    life = rigs.history.lives(rig)
    told = ear.told_old[station]
    until = time.monotonic() + 3.5
    while time.monotonic() < until:
        again(1, [station])
    result.must(ear.told_old[station] > told, "nobody was told that its life is over")
    held = ear.held()
    for v in VALIDATORS:
        result.must((station, held[(v, station)][0]) in life, "%s holds another life" % v)
    no_ready(result, screens, marks, "replayed from the life before")

    # And to validators that have never heard this station: it is dead, they are new.
    rig.kill(station)
    for v in VALIDATORS:
        rig.kill(v)
    rig.validators()
    screens = rig.screens(but=[station])
    marks = cycle.marks_of(screens)
    with Liar(rig, station, 1) as liar:
        for _ in range(8):
            liar.send_all(mine)
            ear.until(lambda: False, 0.2)
        result.counts["replayed"] += liar.sent
    no_ready(result, screens, marks, "replayed to new validators")
    for name, screen in screens.items():
        result.named[1] += 1
        words = (screen.now()[2] or [""])[0]
        result.named[0] += cycle.names(words, [("station-lost", None), ("no-validator", None),
                                               ("primary-restarted", None)])
    rig.faults.append((begin, time.monotonic(), 1.0, {station}, result.what))
    rig.restart(station)
    result.back = rig.until_ready() - begin
    yield result


# ---- 41: another's field, another's topic ----

GOOD = {  # kind -> (bytes of a value that is right, slot)
    "recovery": (field(1, 1 << 42) + field(2, 53), 0), "order": (
        field(1, 205) + field(2, b"plover") + field(3, WEIGHT) + field(5, 53), 9),
    "set": (field(1, WEIGHT), 0), "repeater": (field(1, WEIGHT), 1), "battery": (field(1, 53), 0),
    "deck": (field(1, 53), 0), "call": (field(1, 204) + field(2, b"plover"), 0),
    "hook": (field(1, 53), 0), "result": (field(1, 74), 1),
    "inbound": (field(1, 204) + field(2, b"plover") + field(3, 33000), 204),
    "rig": (field(1, 53), 1), "sheave": (field(1, 53), 1), "pendant": (
        field(1, 53) + field(2, 300) + field(3, 400), 1), "free": (field(1, 53), 0),
    "retract": (field(1, 53), 0), "stanchions": (field(1, 53), 0), "track": (field(1, 53), 1),
    "aid": (field(1, 53) + field(2, b"plover"), 0), "accumulator": (field(1, 405), 0),
    "crosshead": (field(1, 650), 0), "cable": (field(1, 20), 1), "barricade": (field(1, 53), 0),
    "barricade_power": (field(1, 1500), 0), "service": (field(1, 53), 0),
    "fluid": (field(1, 53), 0), "fault": (field(1, 53), 0),
    "signed_off": (field(1, 7) + field(2, b"Rowan"), 1),
    "inspected": (field(1, 53) + field(2, b"Rowan"), 1), "pendant_life": (field(1, 20), 1),
    "override": (field(1, 20) + field(3, b"no reason") + field(4, 60), 20 * 64),
    "out_of_service": (field(1, b"validator-1"), 16)}
MAY = {"engine": {"set", "battery", "accumulator", "crosshead", "service", "fluid", "fault"},
       "deck": {"deck"}, "approach": {"inbound"}, "platform": {"call", "hook", "result", "deck"},
       "primary": {"recovery", "order", "repeater", "deck"}, "bridge": set()}
TOPICS = ("beat", "change", "verdict", "picture", "alert", "receipt", "judged", "recorded", "bus")


def others_kinds(station):
    return sorted(set(GOOD) - MAY[station.split("-")[0]])


@row(41, "another's topic, another's field", "topic by key; authority by kind", seconds=26)
def others_words(context, rng):
    """Every key at every topic that is not its own; every kind that it has no right to."""
    rig = context.rig()
    ear = ear_of(rig)
    rig.until_ready()
    nodes = [n["id"] for n in Folder(rig.dir).nodes]
    yield others_topics(rig, ear, nodes, rng)
    result = Result("each station, each kind that is not its own")
    for station in STATIONS:
        with Scene(rig, result, station) as scene:
            frames = []
            for kind in others_kinds(station):
                value, slot = GOOD[kind]
                for number in (scene.next + 1, scene.next + 700):  # not its turn: only the alert
                    frames.append(scene.liar.change(number, datum_bytes(
                        number, kind, value, scene.event, slot), settled=scene.applied))
            scene.tell(frames, "NOT_YOUR_KIND")
            scene.nothing_taken()
    result.counts["refused"] = result.counts["tried"] - result.counts["accepted"]
    yield result
    yield others_in_turn(rig, rng)


def others_topics(rig, ear, nodes, rng):
    result = Result("each key, each topic of another")
    keys = STATIONS + ["viewer", "recorder-1"]
    held = ear.held()
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    for key in keys:
        before = ear.refused[(key, "NOT_YOUR_TOPIC")]
        own = "viewer" if key == "viewer" else "recorder" if key == "recorder-1" else "station"
        allowed = {"station": {"beat", "change"}, "viewer": {"beat"},
                   "recorder": {"beat", "recorded"}}[own]
        frames = []
        with Liar(rig, key, 1) as liar:
            for kind in TOPICS:
                for node in nodes:
                    if node == key and kind in allowed:
                        continue
                    topic = "%s/%s/" % (kind, node)
                    topic += rng.choice(STATIONS) + "/" if kind in ("receipt", "recorded") else ""
                    body = liar.head(7, node=rng.choice([key, node])) + field(16, b"")
                    frames.append(liar.frame(topic, body))
                    if (kind, node) in ear.newest and node != key:  # what it truly said
                        frames.append(ear.newest[(kind, node)])
            liar.send_all(frames)
        want = before + 2 * len(frames)
        ear.until(lambda: ear.refused[(key, "NOT_YOUR_TOPIC")] >= want, 10)
        got = ear.refused[(key, "NOT_YOUR_TOPIC")] - before
        result.counts["tried"] += 2 * len(frames)
        result.counts["refused"] += got
        result.must(got == 2 * len(frames), "%s: %d of %d refused" % (key, got, 2 * len(frames)))
        if key in STATIONS:
            result.must(ear.noted(key, "NOT_YOUR_TOPIC"), "no alert names " + key)
    result.must(ear.held() == held, "held is another")
    for name, screen in screens.items():
        result.must(cycle.first_not_ready(screen, marks[name]) is None, name + " left READY")
    return result


def others_in_turn(rig, rng):
    """One station says them each in its turn: each has its receipt that refuses it by name."""
    station = rng.choice([s for s in STATIONS if s != "bridge"])
    result = Result("%s: each kind that is not its own, in its turn" % station)
    with Player(rig, station) as player:
        held = player.ear.held(station)
        for kind in others_kinds(station):
            value, slot = GOOD[kind]
            made = pb.Datum.FromString(datum_bytes(1, kind, value, player.event(), slot))
            number = player.say(made)
            result.counts["tried"] += 1
            named = player.run(3, lambda: number in player.refused)
            reason = player.refused.get(number, ("none",))[0][15:]
            result.counts["refused"] += named
            result.must(reason in ("NOT_YOUR_KIND", "NOT_OWNER"),
                        "%s %s: %s" % (station, kind, reason))
            player.data.clear()  # the next beat does not carry what was refused
        # In beats too: what is not its own is left out of what is held.
        for kind in rng.sample(others_kinds(station), 5):
            value, slot = GOOD[kind]
            made = pb.Datum.FromString(datum_bytes(1, kind, value, player.event(), slot))
            player.data[(kind, slot, "")] = made
            player.changes[1] = (made, time.monotonic())
            player.run(0.1)
            player.data.clear()
        player.run(0.3)
        player.changes.clear()
        result.must(player.ear.held(station) == held, "another station's state moved")
        for v in VALIDATORS:
            with player.ear.changed:
                state = [s for s in player.ear.pictures[v][0].station if s.node == station][0]
            kinds = {d.WhichOneof("value") for d in state.data}
            result.must(not kinds & set(others_kinds(station)), "%s holds %s" % (v, kinds))
    return result
