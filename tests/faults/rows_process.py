# SPDX-License-Identifier: Apache-2.0
"""rows_process - programs that die, stand still, hang, starve or start again (1 to 9, 45, 50, 55,
56, 78)."""

import time

import cycle
import faults
from ship import STATIONS
from table import Result, row


@row(1, "validator killed", "each screen's own timer", seconds=8, short=True)
def validator_killed(context, rng):
    rig = context.rig()
    time.sleep(rng.uniform(0, 0.2))  # at any point between two ticks
    yield cycle.run(rig, faults.kill(rig, rng.choice(faults.VALIDATORS)), cycle.a_moment_s(rng))


@row(2, "station killed", "echoed beat too old", seconds=8, short=True)
def station_killed(context, rng):
    rig = context.rig()
    time.sleep(rng.uniform(0, 0.2))
    yield cycle.run(rig, faults.kill(rig, rng.choice(STATIONS)), cycle.a_moment_s(rng))


@row(3, "validator stopped 1 to 4 s, goes on", "nonce of each screen's beat", seconds=8)
def validator_paused(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.pause(rig, rng.choice(faults.VALIDATORS)), rng.uniform(0.1, 3.0))


@row(4, "station stopped, goes on with a backlog", "echo of an old tick", seconds=8, short=True)
def station_paused(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.pause(rig, rng.choice(STATIONS)), rng.uniform(0.1, 3.0))


@row(5, "loop hangs, the library's threads live", "beats come from the loop", seconds=8, short=True)
def loop_hangs(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.hang(rig, rng.choice(faults.SPEAKERS), rng.uniform(1.8, 3.0)), cycle.a_moment_s(rng))


@row(6, "2 % of the processor", "own age, echoed age", seconds=10)
def starved(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.starve(rig, rng.choice(faults.SPEAKERS)), rng.uniform(0.5, 2.0))


@row(55, "both validators dead or stopped", "each screen's own timer", seconds=9, short=True)
def both_validators(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.both_validators(rig, rng.choice(["killed", "stopped"])),
                    cycle.a_moment_s(rng))


@row(9, "a station that dies again and again", "one alert, and no READY in between", seconds=20)
def crash_loop(context, rng):
    """Six starts without a word; READY never in between; the alerts are counted."""
    rig = context.rig()
    rig.until_ready()
    name = rng.choice([s for s in STATIONS if s != "primary"])
    result = Result("%s starts and dies six times" % name)
    screens = rig.screens(but=[name])
    begin = time.monotonic()
    bells = rig.running["primary"].mark()
    marks = cycle.marks_of(screens)
    rig.kill(name)
    cycle.wait_not_ready(screens, marks, begin + 2.0)
    marks = cycle.marks_of(screens)
    for _ in range(6):
        rig.station(name).wait_text("NOT READY")  # it is heard, so its end is a loss anew
        rig.kill(name)
    over = time.monotonic()
    for screen_name, screen in screens.items():
        ready = [v for v in screen.shown(marks[screen_name]) if v[1]]
        result.unsafe += len(ready)
        result.must(not ready, "READY on %s between two starts" % screen_name)
    lines = [line for _, line in rig.running["primary"].lines[bells:] if line.startswith("ALERT")]
    result.counts["starts"] = 6
    result.counts["alerts at primary"] = len(lines)
    result.must(len(lines) <= 6 * 5, "%d alerts at primary" % len(lines))
    rig.faults.append((begin, over, 1.0, {name}, result.what))
    rig.restart(name)
    result.back = rig.until_ready() - over
    yield result


@row(45, "station rebooted", "a new life knows nothing", seconds=10, short=True)
def rebooted(context, rng):
    """Its new life has said nothing: no READY until its words are said again."""
    rig = context.rig()
    rig.until_ready()
    name = rng.choice(["engine-1", "engine-2", "engine-3", "engine-4", "deck", "platform"])
    result = Result("%s rebooted" % name)
    screens = rig.screens(but=[name])
    marks = cycle.marks_of(screens)
    begin = time.monotonic()
    rig.kill(name)
    rig.station(name)
    cycle.wait_not_ready(screens, marks, begin + 2.0)
    fault = cycle.Fault(result.what, None, None, causes=faults.lost(name) + [
        (rule, None) for rule in ("setting-not-ordered", "not-in-battery", "line-crossed",
                                  "deck-foul", "type-called-differs", "hook-not-down",
                                  "foul-word-missing", "repeater-differs")])
    cycle.judge_screens(result, fault, screens, marks, begin)
    time.sleep(3.5)  # longer than the hold: what keeps READY away is that nothing was said
    before = time.monotonic()
    cycle.no_ready_meanwhile(result, fault, dict(screens, **{name: rig.screens()[name]}),
                             dict(marks, **{name: 0}), begin, before)
    rig.faults.append((begin, before, 1.0, {name}, result.what))
    rig.words_again(name)
    result.back = rig.until_ready() - before
    yield result


@row(56, "validator restarts while alerts are open", "alerts come from the state", seconds=14)
def validator_restarts_with_alerts(context, rng):
    """An acknowledged and an unacknowledged alert stand again after it."""
    rig = context.rig()
    rig.until_ready()
    engine = rng.choice(["engine-1", "engine-3"])
    result = Result("a validator restarts, %s lost and the deck foul" % engine)
    rig.pause(engine)
    rig.type("deck", "foul person")
    wanted = ["line-crossed:deck", "station-lost:" + engine]  # and others, by the time of the call

    def open_now():
        return [a for a in rig.show()[1]["alerts"] if a["state"] != "returned"]

    until = time.monotonic() + 4
    while not set(wanted) <= {"%s:%s" % (a["rule"], a["station"]) for a in open_now()}:
        if not result.must(time.monotonic() < until, "alerts before: %s" % open_now()):
            break
    begin = time.monotonic()
    name = rng.choice(faults.VALIDATORS)
    rig.kill(name)
    rig.restart(name)
    while True:
        again = sorted("%s:%s" % (a["rule"], a["station"]) for a in open_now())
        if set(wanted) <= set(again):
            break
        if not result.must(time.monotonic() < begin + 5, "alerts after: %s" % again):
            break
    result.counts["alerts again"] = len(set(wanted) & set(again))
    rig.faults.append((begin, time.monotonic(), 1.0, {engine}, result.what))
    rig.go_on(engine)
    rig.say_until("deck", "clear")
    result.back = rig.until_ready() - begin
    yield result


@row(78, "a screen that stands still", "others: station lost; its mark stops", seconds=8)
def frozen_glass(context, rng):
    """The frozen screen still shows what it showed; every other one says who does not see."""
    rig = context.rig()
    yield cycle.run(rig, faults.pause(rig, rng.choice(["deck", "platform", "primary"])), 1.0)
