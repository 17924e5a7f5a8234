# SPDX-License-Identifier: Apache-2.0
"""rows_wire - the seven threats of EN 50159 (101 to 114), each on both ways: from a station to the
validators, and from a validator to the screens.

Both buses are rogue (rogue.py), since one honest bus would simply deliver. A bus holds its own key
and no other. READY on any screen that the words of the stations do not bear is unsafe; what a row
asserts besides is which defence it was: the sequence (no receipt answers), the signature and the
topic (an alert names the refusal), the age (NOT READY within 1.0 s).
"""

import signal
import time

import cycle
import faults
import rig as rigs
from rogue import pb
from ship import STATIONS
from table import Result, row
from witness import ship_with

BOTH = ("bus-a", "bus-b")
UP = ("beat/", "change/")
DOWN = ("verdict/", "receipt/")
SIGNATURE = "signature does not fit"
NOT_YOURS = "this key may not publish on that topic"
UNLISTED = "key not in the key list"
ORDINARY = [s for s in STATIONS if s not in ("primary", "bridge", "deck")]


def up_of(node):
    return ["beat/%s/" % node, "change/%s/" % node]


def down_of(validator):
    return ["verdict/%s/" % validator, "receipt/%s/" % validator]


def now():
    return time.monotonic()


# ---- steps that rows share ----

def foul(ship, result, limit_s=rigs.NOT_READY_S):
    """FOUL by a key at deck; the screens, their marks after it, and when."""
    screens = ship.screens()
    marks, begin = cycle.marks_of(screens), now()
    ship.type("deck", "foul person")
    cycle.wait_not_ready(screens, marks, begin + limit_s + 1.0)
    cycle.judge_screens(result, cycle.Fault(
        "FOUL at deck", None, None, causes=[("line-crossed", "deck")], deadline_s=limit_s,
        reported=True), screens, marks, begin)
    return screens, cycle.marks_of(screens), begin


def no_ready(result, screens, marks, words):
    """None of them may have shown READY since."""
    for name, screen in screens.items():
        if [v for v in screen.shown(marks[name]) if v[1]]:
            result.unsafe += 1
            result.must(False, "%s: READY on %s" % (words, name))


def still_ready(result, screens, marks, words):
    for name, screen in screens.items():
        gone = cycle.first_not_ready(screen, marks[name])
        result.must(gone is None, "%s: NOT READY on %s: %s" % (words, name, gone and gone[2][:1]))


def ready_or(result, screens, marks, causes, words, pending="-"):
    """READY is kept or lost, and then for one of those causes, or for one that is said so."""
    for name, screen in screens.items():
        lost = [v for v in screen.shown(marks[name]) if not v[1]]
        result.counts["lost READY"] += bool(lost)
        for verdict in [v for v in lost if v[2]]:  # a watch tells some before their picture comes
            result.must(any(cycle.names(t, causes) or pending in t for t in verdict[2][:1]),
                        "%s: %s named %s" % (words, name, verdict[2][:1]))


def clear(ship, result, screens, marks, begin, words):
    """The end of a FOUL: it stood the whole time; honest again, CLEAR, READY."""
    no_ready(result, screens, marks, words)
    over = now()
    ship.faults.append((begin, over, rigs.NOT_READY_S, set(), words))
    ship.tell(do="hush")
    ship.tell(do="honest")
    ship.say_until("deck", "clear")
    result.back = ship.until_ready() - over


def alert_lines(ship, mark):
    return [line for _, line in ship.running["watch"].lines[mark:]
            if line.startswith('{"kind":"alert"')]


def refusal(ship, result, mark, node, reason, limit_s=3.0):
    """An alert on the watch says that a frame said to be of that node was refused, and why."""
    try:
        ship.running["watch"].wait_for(
            lambda line: line.startswith('{"kind":"alert"') and reason in line and
            '"refused-publisher"' in line and '"station":"%s"' % node in line, mark, limit_s)
        result.counts["refusals told"] += 1
    except AssertionError:
        result.must(False, "no alert says of %s: %s: %s" % (node, reason, [
            line[-200:] for line in alert_lines(ship, mark)][:4]))


def recorded(ship, topics, since, until):
    return ship.tell(do="recorded", topics=topics, since=since, until=until)["frames"]


def opened(frame):
    """(topic, envelope) of a frame in hex."""
    topic, _, rest = bytes.fromhex(frame).partition(b"\0")
    return topic.decode(), pb.Envelope.FromString(rest[64:])


def forget_copies(ship):
    """Keys read again: nodes then forget which frames they had, and only numbers tell a copy."""
    for name, process in ship.running.items():
        if name.startswith("validator-") or name in STATIONS:
            process.signal(signal.SIGHUP)
    time.sleep(0.15)  # nothing tells when it is done


def say_all(ship, result, frames, gap_ms=3, rounds=1):
    """Both buses say them; nothing else is waited for than that they have."""
    frames = [f if isinstance(f, str) else f.hex() for f in frames]
    result.counts["tried"] += len(frames) * rounds
    ship.tell(do="say", frames=frames, gap_ms=gap_ms, rounds=rounds)
    ship.until_said()


def untouched(ship, result, before, since, words, but=()):
    """No picture of a validator since then tells anything else of a station than before."""
    ship.witness.state(after=now())
    moved = ship.witness.moved(before, since, but)
    result.counts["accepted"] += len(moved)
    result.must(not moved, "%s: taken: %s" % (words, moved[:3]))


def unanswered(ship, result, frames, since, words):
    """No receipt since then answers a beat that is among these frames."""
    nonces = {}
    for topic, envelope in map(opened, frames):
        if topic.startswith("beat/") and envelope.node in STATIONS:  # viewers share a name
            nonces.setdefault(envelope.node, set()).add(envelope.sequence)
    answers = sum(ship.witness.answered(node, numbers, since) for node, numbers in nonces.items())
    result.must(answers == 0, "%s: %d receipts for old beats" % (words, answers))


def run_from_first(ship, fault, last_s):
    """cycle.run of a rule, its times counted from the first frame that it was applied to: what is
    sent every 200 ms may not have been due for so long."""
    begun = [0.0]
    begin = fault.begin

    def start():
        begun[0] = now()
        ship.tell(do="first")
        begin()

    end = fault.end
    first = [0.0]

    def stop():
        first[0] = ship.tell(do="first")["first"]
        end()

    fault.begin, fault.end = start, stop
    fault.deadline_s = rigs.NOT_READY_S + 0.2
    result = cycle.run(ship, fault, last_s)
    waited = max(0.0, first[0] - begun[0])
    result.must(0 < first[0] and waited < 0.3, "the first frame came %.3f s later" % waited)
    result.times = [took - waited for took in result.times]
    if not result.must(max(result.times) <= rigs.NOT_READY_S,
                       "%s: %.3f s" % (fault.what, max(result.times))):
        result.unsafe += 1
    return result


# ---- repetition ----

@row(101, "repetition, station to validator", "sequence: no receipt, no change", seconds=18)
def repetition_up(context, rng):
    """What stations said is said again when the truth is another, and from an earlier life."""
    with ship_with(context, BOTH) as ship:
        result = Result("frames of stations said again")
        ship.say("deck", "foul person")
        ship.say_until("deck", "clear")
        ship.until_ready()
        frames = recorded(ship, UP, 0, now() - 0.3)
        changes = [f for f in frames if bytes.fromhex(f).startswith(b"change/")]
        chosen = changes + rng.sample(frames, min(200, len(frames)))
        rng.shuffle(chosen)
        forget_copies(ship)
        before, since, mark = ship.witness.state(after=now()), now(), ship.running["watch"].mark()
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        say_all(ship, result, chosen, rounds=2)
        untouched(ship, result, before, since, "repetition")
        unanswered(ship, result, chosen, since, "repetition")
        still_ready(result, screens, marks, "repetition")
        others = [line for line in alert_lines(ship, mark) if "bus-degraded" not in line]
        result.must(not others, "alerts: %s" % others[:2])
        screens, marks, begin = foul(ship, result)
        cleared = recorded(ship, up_of("deck"), 0, begin - 0.1)
        forget_copies(ship)
        before, since = ship.witness.state(after=now()), now()
        say_all(ship, result, cleared[-150:] + [f for f in changes if "deck" in opened(f)[0]],
                rounds=2)
        untouched(ship, result, before, since, "an old CLEAR")
        clear(ship, result, screens, marks, begin, "an old CLEAR after a FOUL")
        yield result
        yield earlier_life(ship, rng.choice(["deck", "engine-2", "engine-4"]), cleared)


def earlier_life(ship, name, frames):
    """It starts anew and has said nothing; what its last life said is no word of it."""
    result = Result("frames of an earlier life of " + name)
    frames = recorded(ship, up_of(name), 0, now() - 0.3)[-300:]
    screens = ship.screens(but=[name])
    marks, begin = cycle.marks_of(screens), now()
    ship.kill(name)
    ship.station(name)
    ship.running[name].wait_text("NOT READY")
    cycle.wait_not_ready(screens, marks, begin + 2.0)
    marks = cycle.marks_of(screens)
    since = now()
    say_all(ship, result, frames, rounds=2)
    time.sleep(3.3)  # longer than the hold: what keeps READY away is that nothing was said
    no_ready(result, screens, marks, "an earlier life")
    told = sum(1 for (_, to), rows in list(ship.witness.receipts.items()) if to == name
               for at, receipt in list(rows) if at > since and receipt.higher_incarnation)
    result.counts["old lives told"] = told
    result.must(told > 0, "no receipt tells the earlier life that there is a newer one")
    over = now()
    ship.faults.append((begin, over, rigs.NOT_READY_S, {name}, result.what))
    ship.words_again(name)
    result.back = ship.until_ready() - over
    return result


@row(102, "repetition, validator to screen", "sequence of the verdict, age", seconds=16)
def repetition_down(context, rng):
    """READY verdicts said again after the truth has become NOT READY, and in place of it."""
    with ship_with(context, BOTH) as ship:
        result = Result("READY verdicts said again")
        since = now()
        time.sleep(rng.uniform(1.5, 2.5))  # READY is said meanwhile
        frames = recorded(ship, DOWN + ("picture/", "alert/"), since, now() - 0.1)
        rng.shuffle(frames)
        screens, marks, begin = foul(ship, result)
        forget_copies(ship)
        say_all(ship, result, frames[:400], gap_ms=4, rounds=2)
        clear(ship, result, screens, marks, begin, "old READY verdicts after a FOUL")
        yield result
        verdicts = [f for f in frames if bytes.fromhex(f).startswith(b"verdict/")]
        verdicts.sort(key=lambda f: opened(f)[1].sequence)
        more = rng.choice([(), ("receipt/",), ("picture/", "alert/")])

        def start():
            ship.rule("drop", "verdict/", *more)
            ship.tell(do="say", frames=verdicts, gap_ms=10, rounds=200)
            ship.type("deck", "foul person")

        def end():
            ship.tell(do="hush")
            ship.tell(do="honest")
            ship.say_until("deck", "clear")

        forget_copies(ship)
        second = run_from_first(ship, cycle.Fault(
            "old READY verdicts in place of new ones", start, end, causes=faults.NO_VALIDATOR +
            [("line-crossed", "deck")]), rng.uniform(0.5, 2.5))
        second.counts["tried"] += len(verdicts)
        yield second


# ---- deletion ----

@row(103, "deletion, station to validator", "age; a beat carries the whole state", seconds=16)
def deletion_up(context, rng):
    """All of a station; only its changes, of which the beats tell; a CLEAR whose change is gone."""
    with ship_with(context, BOTH) as ship:
        name = rng.choice(STATIONS)
        yield run_from_first(ship, cycle.Fault(
            "all frames of %s deleted" % name, lambda: ship.rule("drop", *up_of(name)),
            lambda: ship.tell(do="honest"), causes=faults.lost(name), own=faults.own_words(name)),
            rng.uniform(0.1, 1.0))
        result = Result("changes of deck deleted")
        ship.rule("drop", "change/deck/")
        # The next beat has it: one may have gone 100 ms ago at most, and a bus of ours is slow.
        screens, marks, begin = foul(ship, result, limit_s=0.3)
        ship.type_and_confirm("deck", "clear")
        time.sleep(3.0)  # longer than a word toward READY may wait: it is withdrawn
        clear(ship, result, screens, marks, begin, "a CLEAR whose change was deleted")
        yield result


@row(104, "deletion, validator to screen", "age: each screen's own timer", seconds=16)
def deletion_down(context, rng):
    with ship_with(context, BOTH) as ship:
        validator = rng.choice(faults.VALIDATORS)
        topics = rng.choice([["verdict/%s/" % validator], ["receipt/%s/" % validator],
                             down_of(validator)])
        yield run_from_first(ship, cycle.Fault(
            "%s deleted" % " and ".join(topics), lambda: ship.rule("drop", *topics),
            lambda: ship.tell(do="honest"), causes=faults.lost(validator)), rng.uniform(0.1, 1.0))
        result = Result("some verdicts and receipts deleted")
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        ship.rule("drop", *DOWN, share=rng.uniform(0.2, 0.5))
        time.sleep(2.0)
        ready_or(result, screens, marks, faults.NO_VALIDATOR + [("station-lost", None)], "deletion")
        marks, begin = cycle.marks_of(screens), now()
        ship.type("deck", "foul person")
        time.sleep(rigs.NOT_READY_S)
        for name, screen in screens.items():
            verdict = screen.now()
            if not result.must(not verdict[1], "FOUL not on %s in 1.0 s" % name):
                result.unsafe += 1
        marks = cycle.marks_of(screens)
        time.sleep(1.0)
        clear(ship, result, screens, marks, begin, "a FOUL of which half is deleted")
        yield result
