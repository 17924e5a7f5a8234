# SPDX-License-Identifier: Apache-2.0
"""rows_glass3 - alerts that nobody acknowledges, that come again, that are many (73, 75, 77), and
every short sequence of lines at the deck (120)."""

import itertools
import subprocess
import time

import cycle
import faults
import rig as rigs
from rows_glass import ANSWER_S, OUTCOMES, ask, has_glass, say, settle
from screens import Screen
from ship import Ship, without_advice
from table import Result, row


def number_in(line):
    return int(line.split("[ack ")[1].split("]")[0])


def alert_of(rig, test):
    return [a for a in rig.show()[1]["alerts"] if test(a)]


@row(73, "nobody acknowledges", "again at 30 s; graver, and at others, at 60 s", seconds=75)
def unacknowledged(context, rng):
    rig = context.rig()
    rig.until_ready()
    result = Result("an alarm and a warning, nobody acknowledges")
    names = ("platform", "primary", "deck", "approach", "engine-2")
    rig.say_until("approach", "inbound 204 plover 33500")
    marks = {name: rig.running[name].mark() for name in names}
    rig.type("platform", "foul person")
    rig.type("approach", "divert 204")
    foul, gone = "platform: person or aircraft", "approach"
    raised = {name: rig.running[name].wait_text("ALERT alarm: " + foul, marks[name])[0]
              for name in names}
    warned = rig.running["primary"].wait_text("ALERT warning: approach", marks["primary"])[0]
    for times in (1, 2):
        for name in ("platform", "primary"):  # who owe it
            at = [t for t, line in wait_lines(rig.running[name], marks[name], times, 66,
                                              "STILL ALERT alarm: " + foul)][times - 1]
            took = at - raised[name] - 30.0 * (times - 1)
            result.counts["sounded again"] += 1
            result.must(30.0 <= took + 0.05 and took <= 31.5, "%s: sounds again after %.2f s" % (
                name, took + 30.0 * (times - 1)))
    for name in ("deck", "engine-2"):  # who do not: once, a minute later, with names
        lines = wait_lines(rig.running[name], marks[name], 1, 10, "STILL ALERT alarm: " + foul)
        took = lines[0][0] - raised[name]
        result.must(59.9 <= took <= 61.5 and len(lines) == 1, "%s: told after %.2f s" % (
            name, took))
        result.must("not acknowledged by platform, primary" in lines[0][1],
                    "%s does not say who: %s" % (name, lines[0][1]))
        result.counts["told at others"] += 1
    at, line = rig.running["primary"].wait_text("ALERT NOW alarm: " + gone, marks["primary"], 10)
    result.must(59.9 <= at - warned <= 61.5, "a warning is raised after %.2f s" % (at - warned))
    result.must("not acknowledged by" in line, "not said by whom: " + line)
    result.counts["raised to alarm"] += 1
    still = alert_of(rig, lambda a: a["rule"] == "line-crossed" and a["state"] == "unacknowledged")
    result.must(len(still) == 1 and sorted(still[0]["owed"]) == ["platform", "primary"],
                "the list: %s" % still)
    rig.say("platform", "no foul")
    rig.say("approach", "inbound 204 plover 33500")
    rig.until_ready()
    yield result


def wait_lines(process, mark, count, limit_s, text):
    """The lines with that text, once there are so many."""
    until = time.monotonic() + limit_s
    while True:
        found = [(at, line) for at, line in process.lines[mark:] if text in line]
        if len(found) >= count or time.monotonic() > until:
            assert len(found) >= count, "%s: %d times '%s'" % (process.name, len(found), text)
            return found
        time.sleep(0.05)


@row(75, "acknowledge races with a re-raised alert", "for its instance only", seconds=14,
     short=True)
def acknowledge_races(context, rng):
    """The alert is gone and has come again before, or while, its old number is acknowledged."""
    rig = context.rig()
    rig.until_ready()
    where, acker = rng.choice([("platform", "primary"), ("platform", "platform"),
                               ("primary", "primary")])
    late_ms = rng.choice([0, 0, 200, 350]) if acker != where else 0
    result = Result("%s acknowledges an old FOUL of %s, %d ms late" % (acker, where, late_ms))
    process = rig.running[acker]

    def is_active(alert):
        return alert["rule"] == "line-crossed" and alert["state"] != "returned"

    for _ in range(4):
        mark = process.mark()
        rig.type(where, "foul person")
        old = number_in(process.wait_text("ALERT alarm: %s: person" % where, mark)[1])
        if late_ms:
            rig.strait.weather(acker + "/*", "down", "delay", late_ms)
        say(rig.running[where], "no foul")
        mark = process.mark()
        rig.type(where, "foul person")
        if not late_ms and rng.random() < 0.5:
            process.wait_text("ALERT alarm: %s: person" % where, mark)
        answer = ask(process, "ack %d" % old, ": acknowledged ", "no alert has that number",
                     "is not owed")
        result.must(": acknowledged" not in answer or ": acknowledged %d:" % old in answer,
                    "ack %d took another one: %s" % (old, answer))
        new = number_in(process.wait_text("ALERT alarm: %s: person" % where, mark)[1])
        rig.strait.calm(acker + "/*")
        result.must(new != old, "the old number names the new alert")
        time.sleep(0.6 + 2 * late_ms / 1000)
        active = alert_of(rig, is_active)
        result.counts["raced"] += 1
        result.counts["old number taken"] += 1 if "acknowledged" in answer else 0
        wrong = len(active) != 1 or acker in active[0]["acknowledged"]
        result.counts["wrong acknowledgements"] += 1 if wrong else 0
        result.must(not wrong, "the alert that came again: %s" % active)
        ask(process, "ack %d" % new, "acknowledged %d" % new)
        until = time.monotonic() + 3
        while acker not in alert_of(rig, is_active)[0]["acknowledged"]:
            if not result.must(time.monotonic() < until, "its own number does not acknowledge"):
                break
        result.must(not rig.screens()["watch"].ready(), "READY by an acknowledgement")
        say(rig.running[where], "no foul")
        rig.until_ready()
    yield result


# ---- many at once ----

class FullShip(Ship):
    """Everyone on the ship, each with a line to type into."""

    def station(self, name, folder=None, extra=(), stdin=subprocess.PIPE):
        return super().station(name, folder, extra, stdin)


FLOOD = [("wires", "sheave %d down"), ("wires", "held %d"), ("engine-%d", "battery out"),
         ("engine-%d", "fault 17"), ("engine-%d", "fluid low"), ("wires", "pendant %d worn")]
ALONE = [("deck", "foul equipment"), ("platform", "foul person"), ("platform", "hook not down"),
         ("primary", "stop"), ("safety", "stop"), ("gear-officer", "foul wire"), ("aid", "fault"),
         ("tracks", "track 1 crew"), ("tracks", "track 2 open")]


@row(77, "30 faults at once, and a station dies", "verdict first, root cause first", seconds=50)
def flood(context, rng):
    with FullShip(edit=without_advice, full=True) as ship:
        ship.start("recorder-1", rigs.RECORDER, "-C", ship.dir, "--node", "recorder-1")
        ship.make_ready()
        watch = ship.watch()
        watch.wait_text('"READY"')
        lost = "engine-%d" % rng.randint(1, 4)
        result = Result("many faults at once, and %s dies" % lost)
        screens = {n: Screen(ship.running[n]) for n in ship.names + ["watch"] if n != lost}
        marks = cycle.marks_of(screens)
        lines = [(s % n if "%" in s else s, w % n if "%" in w else w)
                 for n in (1, 2, 3, 4) for s, w in FLOOD] + ALONE
        begin = time.monotonic()
        ship.running[lost].kill()
        for station, line in rng.sample(lines, len(lines)):
            if station != lost:
                ship.running[station].type(line)
        cycle.wait_not_ready(screens, marks, begin + 2.0)
        for name, screen in screens.items():
            first = cycle.first_not_ready(screen, marks[name])
            took = first[0] - begin if first else 9.9
            result.times.append(took)
            result.unsafe += 1 if took > 1.0 else 0
            result.must(took <= 1.0, "%s NOT READY after %.3f s" % (name, took))
            block = [line for at, line in ship.running[name].lines[marks[name]:]]
            verdict = next((i for i, line in enumerate(block) if "NOT READY" in line), 999)
            alert = next((i for i, line in enumerate(block) if "caution" not in line and (
                '"alert"' in line or line.startswith("ALERT"))), 1000)
            result.must(verdict < alert, "%s: an alert before the verdict" % name)
        time.sleep(max(0.0, begin + 1.2 - time.monotonic()))
        for name, screen in screens.items():
            result.named[1] += 1
            right = cycle.names((screen.now()[2] or [""])[0], faults.lost(lost))
            result.named[0] += 1 if right else 0
            result.must(right, "%s names first %s" % (name, screen.now()[2][:1]))
        picture = ship.show()[1]
        causes = ["%s:%s" % (c["rule"], c["station"]) for c in picture["causes"]]
        result.counts["causes"] = len(causes)
        result.counts["alerts"] = len(picture["alerts"])
        result.must(len(causes) >= 20, "only %d causes: %s" % (len(causes), causes))
        result.must(causes[0] == "station-lost:" + lost, "first of the list: %s" % causes[0])
        beside = [c for c in causes if c.endswith(":" + lost) and not c.startswith("station-lost")]
        result.must(not beside, "consequences of a lost station beside it: %s" % beside)
        flooded = [a for a in picture["alerts"] if a["rule"] == "alarm-flood"]
        result.must(flooded, "more than ten to acknowledge, and it is not said")
        yield result


# ---- every short sequence ----

LINES = ("clear", "confirm", "foul person", "status", "", "xyzzy")


def answer_to(glass, line):
    if line == "":
        glass.type(line)
    elif line == "status":
        mark = glass.mark()
        glass.type(line)
        glass.wait_for(lambda text: "READY" in text, mark, ANSWER_S)
    else:
        ask(glass, line, *{"clear": ("read back:",), "xyzzy": ("not a word",),
                           "foul person": OUTCOMES,
                           "confirm": OUTCOMES + ("nothing waits for a confirm",)}[line])


@row(120, "every sequence of up to three lines at the deck", "READY only by a confirmed CLEAR",
     seconds=25)
def sequences(context, rng):
    """Each begins foul. An empty line is no word: it says nothing and takes nothing back."""
    rig = context.rig()
    glass = has_glass(rig, "deck")
    result = Result("deck: all sequences of %d lines" % len(LINES))
    result.counts["violations"] = 0
    rig.until_ready()
    screens = rig.screens()
    every = [s for n in (1, 2, 3) for s in itertools.product(LINES, repeat=n)]
    for sequence in rng.sample(every, len(every)):
        answer_to(glass, "foul person")
        answer_to(glass, "xyzzy")
        settle(screens, False)
        marks = cycle.marks_of(screens)
        pending, clear, ever = False, False, False
        for line in sequence:
            answer_to(glass, line)
            clear = line == "confirm" and (pending or clear) or clear and line != "foul person"
            ever = ever or clear
            pending = line == "clear" or pending and line == ""
        right = settle(screens, clear)
        mine = ask(glass, "mine", "deck clear", "foul: ")
        result.counts["sequences"] += 1
        fits = ("deck clear" in mine) == clear and right and (ever or not any(
            v[1] for n, s in screens.items() for v in s.shown(marks[n])))
        if not fits:
            result.counts["violations"] += 1
            result.unsafe += 0 if clear else 1
        result.must(fits, "after %s it should be %s: %s, READY on %s" % (
            list(sequence), "clear" if clear else "foul", mine,
            [n for n, s in screens.items() if s.ready()]))
    say(glass, "clear")
    rig.until_ready()
    yield result
