# SPDX-License-Identifier: Apache-2.0
"""rows_words4 - numbers: gaps and jumps, counters and clocks near their ends (42, 43, 132)."""

import os
import sqlite3
import time
import types

import nacl.encoding
import nacl.hash

import cycle
import faults
import rig as rigs
from busclient import datum, pb
from faults import VALIDATORS
from liar import (ENGINES, Liar, WEIGHT, datum_bytes, ear_of, field, no_ready, pick, say_and_back,
                  until_not_ready)
from player import Player
from ship import STATIONS, TRAPLINE
from table import Result, row


# ---- 42, 43: numbers ----

@row(42, "a gap in the numbers; a jump over 1,024", "in order, once; resent till it is filled",
     seconds=16)
def gap(context, rng):
    rig = context.rig()
    ear = ear_of(rig)
    station = pick(rng, ear, ENGINES, "JUMP")
    result = Result("%s leaves out a number" % station)
    inside, outside = pb.BATTERY_STATE_IN, pb.BATTERY_STATE_OUT
    with Player(rig, station) as player:
        def battery(state):
            return datum("battery", player.event(), state=state)

        def aside():
            return datum("watch", name="Rowan")

        player.settle(player.say(datum("set", player.event(), weight_lb=WEIGHT)))
        rig.say_until("primary", "repeaters %d" % WEIGHT)
        player.settle(player.say(battery(inside)))
        assert player.run(10, player.all_ready), player.first_causes()

        # Toward safe it acts through a gap, at once.
        left_out = player.skip()
        begin = time.monotonic()
        out = player.say(battery(outside))
        result.must(player.run(1.0, player.none_ready), "READY with what came after a gap")
        result.times.append(time.monotonic() - begin)
        result.counts["ms through the gap"] = round(1000 * (time.monotonic() - begin))
        for v in VALIDATORS:
            result.must(player.through[v] < left_out, "%s has receipted past the gap" % v)
        player.fill(left_out, aside())
        player.settle(out)

        # Toward READY it waits for what was left out, however long.
        left_out = player.skip()
        marks = cycle.marks_of(player.screens)
        again = player.say(battery(inside))
        player.run(rng.uniform(1.0, 1.6))
        no_ready(result, player.screens, marks, "past a gap")
        for v in VALIDATORS:
            result.must(player.through[v] < left_out, "%s has receipted past the gap" % v)
        result.must(all(w.startswith(station.replace("-", " ") + ": battery not yet reported")
                        for w in player.first_causes()), "named: %s" % player.first_causes())
        player.fill(left_out, aside())
        player.settle(again)
        result.must(not player.refused, "refused: %s" % player.refused)
        result.must(player.run(5, player.all_ready), "filled, and not READY: %s" %
                    player.first_causes())
        result.counts["gaps held"] += 2

        # A jump is named and not taken; one of 1,024 is a gap like any other.
        held = player.ear.held()
        for step in (1024, 1025, 1026, rng.randrange(1026, 1 << 40), (1 << 63) - 1):
            number = player.sequences["change"] + step
            made = datum("set", player.event(), weight_lb=WEIGHT)
            made.sequence = number
            envelope = player.envelope("change", number)
            envelope.change.datum.CopyFrom(made)
            player.send_frame(player.frame("change/%s/" % station, envelope))
            player.run(0.05)
            if step == 1024:
                result.must(all((station, "JUMP") not in n for n in player.ear.notes()), "1,024")
        player.run(0.3)
        result.must(player.ear.noted(station, "JUMP"), "a jump is not named")
        result.must(player.run(1.5) and player.ear.held() == held, "a jump was taken")
        result.must(player.all_ready(), "READY is gone by a jump")
    yield result


def state_line(node, number):
    """The line in the file of a node's last incarnation; see proto/link/incarnation.c."""
    head = "trapline-incarnation 1 %s %d " % (node, number)
    check = nacl.hash.generichash(head.encode(), digest_size=16, encoder=nacl.encoding.RawEncoder)
    return head + check[:8].hex() + "\n"


NO_MORE_LIVES = "no higher incarnation left"


@row(43, "counters near their ends", "no wrap; recorded, or refused by name", seconds=24)
def ends(context, rng):
    """A real station in the last lives that there are, and numbers about 2^63 in its words. A life
    is recorded, or it does not begin."""
    with rigs.Rig(rng.randrange(1 << 20)) as rig:
        rig.start_all()
        station = rng.choice(ENGINES)
        result = Result("%s in its last lives" % station)
        last = (1 << 64) - 1
        for saved in ((1 << 63) - 3, rng.choice([(1 << 63) - 1, 1 << 63, last - 1]), last):
            rig.kill(station)
            (rig.dir / "state" / (station + ".incarnation")).write_text(state_line(station, saved))
            process = rig.launch(station, [TRAPLINE, "engine", "--unit", station[7:], "-C",
                                           rig.folder(station), "--stay"], ready=None)
            process.wait_for(lambda line: "ready, incarnation" in line or NO_MORE_LIVES in line)
            if any(NO_MORE_LIVES in line for _, line in process.lines):
                result.counts["lives refused"] += 1
                result.must(process.process.wait(5) == 1, "it went on")
                result.must(saved + 1 >= 1 << 63, "refused too early")
                named_lost(rig, result, station)
            else:
                result.counts["lives"] += 1
                one_life(rig, result, station, saved + 1)
        result.must(result.counts["lives refused"], "after the last number it began again")
        yield result
        yield high_numbers(rig, [e for e in ENGINES if e != station][0], station)


def named_lost(rig, result, station):
    screens = rig.screens(but=[station])
    until_not_ready(screens)
    for name, screen in screens.items():
        result.named[1] += 1
        right = cycle.names(screen.now()[2][0], [("station-lost", station)])
        result.named[0] += right
        result.must(right, "%s names %s" % (name, screen.now()[2][:1]))


def one_life(rig, result, station, number):
    """READY with it, its FOUL or OUT acts, its words are in the record."""
    rig.words_again(station)
    rig.until_ready()
    held = ear_of(rig).held()
    result.must(all(held[(v, station)][0] == number for v in VALIDATORS),
                "not in life %d: %s" % (number, held[(VALIDATORS[0], station)]))
    bad, good, _ = say_and_back(station)
    screens = rig.screens()
    rig.type(station, bad)
    until_not_ready(screens)
    rig.say_until(station, good)
    rig.until_ready()
    result.must(ear_wait(rig, (station, number)) and kept(rig, station, number),
                "life %d (2^63%+d) has begun and is not recorded" % (number, number - (1 << 63)))


def ear_wait(rig, key, limit_s=5.0):
    end = time.monotonic() + limit_s
    while rig.listener.marks.get(key, 0) == 0 and time.monotonic() < end:
        time.sleep(0.05)
    return rig.listener.marks.get(key, 0)


def kept(rig, node, number):
    """Whether the recorder's file has changes of that life, as whatever number it keeps it."""
    file = sqlite3.connect("file:%s?mode=ro" % (rig.dir / "record" / "recorder-1.db"), uri=True)
    try:
        signed = number - (1 << 64) if number >= 1 << 63 else number
        return file.execute("SELECT count(*) FROM change WHERE node = ? AND incarnation IN (?, ?)",
                            (node, signed, str(number))).fetchone()[0]
    finally:
        file.close()


def high_numbers(rig, engine, dead):
    """Changes with numbers that cross 2^63 and come to the end: toward safe each acts."""
    result = Result("%s: numbers of changes about 2^63 and 2^64" % engine)
    rig.kill(engine)
    ear = ear_of(rig)
    for base in ((1 << 63) - 3, (1 << 64) - 4):
        with Liar(rig, engine, ear.held()[(VALIDATORS[0], engine)][0] + 1) as liar:
            event = ear.event()
            number = base
            liar.send_all([liar.a_beat(1, base, settled=base)])
            ear.until(lambda: False, 0.2)
            for turn, state in enumerate((74, 74, 74)):
                number += 1
                word = datum_bytes(number, "battery", field(1, state), event)
                liar.send_all([liar.change(number, word, settled=base),
                               liar.a_beat(2 + turn, number, [word], settled=base)])
                result.counts["tried"] += 1

                def held():
                    return [d.battery.state for v in VALIDATORS
                            for s in ear.pictures[v][0].station if s.node == engine
                            for d in s.data if d.WhichOneof("value") == "battery"]

                result.must(ear.until(lambda: held() == [state, state], 3),
                            "OUT as number %d is not held: %s" % (number, held()))
    for name, process in rig.running.items():
        if name not in (engine, dead):
            result.must(process.process.poll() is None, name + " has ended")
    return result


WRAP_S = (1 << 32) / 1000


@row(132, "milliseconds past 2^32 (49.7 days up)", "64 bits; no jump, nothing false fresh",
     seconds=26, root=True)
def past_49_days(context, rng):
    """Every node lives in a time namespace whose clock comes to 2^32 ms while the ship is READY."""
    up_s = time.clock_gettime(time.CLOCK_BOOTTIME)
    ahead = str(int(WRAP_S - up_s - 9))
    at = time.monotonic() + WRAP_S - up_s - int(ahead)
    seed = rng.randrange(1 << 20)
    nodes = STATIONS + list(VALIDATORS) + ["recorder-1", "watch"]
    host = types.SimpleNamespace(hub="127.0.0.1", enter=[
        "unshare", "--time", "--boottime", ahead, "--monotonic", ahead, "--fork", "--kill-child"])
    with rigs.Rig(seed, hosts={node: host for node in nodes}) as rig:
        rig.shell = host.enter  # a command is dated by the clock of its station's host
        try:
            rig.start_all()
            before_s = at - time.monotonic()
            for node in nodes:
                inside = "/proc/%d/ns/time_for_children" % rig.running[node].process.pid
                assert os.readlink(inside) != os.readlink("/proc/self/ns/time"), node
            rest = at - time.monotonic() + 1.5
            result = cycle.run(rig, cycle.Fault("2^32 ms are over", lambda: None, lambda: None,
                                                deadline_s=None), max(rest, 0.5))
            result.must(before_s > 0, "READY only %.1f s after the turn" % -before_s)
            yield result
            yield cycle.run(rig, faults.foul(rig, "deck"), 0.2)
            yield cycle.run(rig, faults.cut_up(rig, rng.choice(STATIONS)), 0.3)
        finally:
            for node in nodes:
                if node in rig.running:
                    rig.running[node].kill()  # a namespace's first process hears no SIGTERM
