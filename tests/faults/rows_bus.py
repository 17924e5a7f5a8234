# SPDX-License-Identifier: Apache-2.0
"""rows_bus - what happens between programs: links that are cut, late, thin or partial, and buses
that die (13 to 22, 26); what people say by one key (74) stands here too, as the quick case."""

import time

import cycle
import faults
from ship import STATIONS
from table import Result, row


@row(13, "uplink of a station cut", "echo ages out", seconds=8, short=True)
def uplink(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.cut_up(rig, rng.choice(faults.SPEAKERS)), cycle.a_moment_s(rng))


@row(14, "downlink of a station cut", "own timer; echo ages out", seconds=8, short=True)
def downlink(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.cut_down(rig, rng.choice(faults.SPEAKERS)), cycle.a_moment_s(rng))


@row(15, "half-open: the peer vanished", "no timer of TCP is asked", seconds=8, short=True)
def half_open(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.half_open(rig, rng.choice(faults.SPEAKERS)), cycle.a_moment_s(rng))


@row(16, "a station hears one validator of two", "all validators that are listed", seconds=8,
     short=True)
def partial(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.partly(rig, rng.choice([s for s in STATIONS]),
                                       rng.choice(faults.VALIDATORS)), cycle.a_moment_s(rng))


@row(17, "late by 0.9 to 5 s, in order, no gap", "echoed beats, both ways", seconds=12, short=True)
def delayed(context, rng):
    rig = context.rig()
    node, way = rng.choice(faults.SPEAKERS), rng.choice(["up", "down", "both"])
    delay_ms = rng.randint(900, 5000)
    fault, last_s = rng.choice([
        (faults.late(rig, node, way, delay_ms), cycle.until_arrival_s(delay_ms)),
        (faults.held(rig, node, way), rng.uniform(0.3, 3.0))])
    yield cycle.run(rig, fault, last_s)


@row(20, "link of 64 kbit/s", "either held or NOT READY", seconds=10)
def thin_link(context, rng):
    """All that a station hears and says must go through 8,000 bytes a second, or READY goes."""
    rig = context.rig()
    rig.until_ready()
    node = rng.choice(STATIONS)
    result = Result("%s: link of 8,000 bytes a second" % node)
    begin = time.monotonic()
    rig.strait.weather(node + "/*", "both", "rate", 8000)
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    time.sleep(3.0)
    rig.type("deck", "foul person")
    said = time.monotonic()
    others = {n: s for n, s in screens.items() if n != node}
    # If the link does not bear it the station is lost: NOT READY came earlier. Either is right.
    cycle.wait_not_ready(screens, marks, said + 1.0)
    for name, screen in screens.items():
        first = cycle.first_not_ready(screen, marks[name])
        if result.must(first is not None and first[0] <= said + (0.15 if name in others else 1.0),
                       "%s shows READY %s" % (name, first and first[0] - said)):
            result.times.append(max(0.0, first[0] - said))
        else:
            result.unsafe += 1
    result.counts["lost by it"] = sum(
        1 for n in others for v in screens[n].shown(marks[n])
        if v[0] < said and not v[1]) and 1
    over = time.monotonic()
    rig.faults.append((begin, over, None, {node}, result.what))
    rig.strait.calm(node + "/*")
    rig.say_until("deck", "clear")
    result.back = rig.until_ready() - over
    yield result


@row(21, "link up and down ten times a second", "READY only after 3.0 s steady", seconds=10)
def flapping(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.flapping(rig, rng.choice(faults.SPEAKERS)), rng.uniform(1.0, 3.0))


@row(22, "connections reset every 100 ms", "reconnects; others unaffected", seconds=10)
def reset_storm(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.resets(rig, rng.choice(faults.SPEAKERS)), rng.uniform(1.0, 3.0))


@row(26, "a subscriber that does not read", "an old number, a gap: not fresh", seconds=10)
def slow_subscriber(context, rng):
    """What a screen is sent is held back and comes all at once: not one READY of it counts."""
    rig = context.rig()
    node = rng.choice(STATIONS + ["watch"])
    fault = faults.held(rig, node, "down")
    if node == "watch":
        fault.causes, fault.blind = [], set(STATIONS)
    yield cycle.run(rig, fault, rng.uniform(1.0, 3.0))


@row(74, "FOUL or another word toward safe by one key", "acts at once, never waits", seconds=4,
     short=True)
def said_by_a_key(context, rng):
    rig = context.rig()
    fault = rng.choice([
        lambda: faults.foul(rig, "deck", rng.choice(["person", "wire", "other"])),
        lambda: faults.foul(rig, "platform"), lambda: faults.foul(rig, "primary"),
        lambda: faults.out_of_battery(rig, "engine-%d" % rng.randint(1, 4)),
        lambda: faults.hook(rig)])()
    yield cycle.run(rig, fault, 0.0)
