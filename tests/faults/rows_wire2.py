# SPDX-License-Identifier: Apache-2.0
"""rows_wire2 - the rest of the seven threats of EN 50159 (105 to 114); see rows_wire.py."""

import time

import nacl.signing

import cycle
import faults
import rig as rigs
from rogue import pb, sign
from rows_wire import (BOTH, DOWN, NOT_YOURS, SIGNATURE, UNLISTED, UP, clear, down_of, foul,
                       now, opened, ready_or, recorded, refusal, run_from_first, say_all,
                       still_ready, untouched, up_of)
from ship import STATIONS
from table import Result, row
from witness import ship_with

SPEAKERS = ["engine-1", "engine-2", "engine-3", "engine-4", "deck", "platform"]


def stranger(rng):
    return nacl.signing.SigningKey(bytes(rng.randrange(256) for _ in range(32)))


def bus_key(ship, bus="bus-a"):
    return nacl.signing.SigningKey(ship.witness.folder.seed(bus, 1))


def flips_of(frame):
    """Every frame that differs from it by one bit, its topic left so that it reaches whom it is
    for."""
    start = 8 * (frame.index(b"\0") + 1)
    for bit in range(start, 8 * len(frame)):
        spoilt = bytearray(frame)
        spoilt[bit // 8] ^= 1 << bit % 8
        yield bytes(spoilt)


# ---- insertion ----

def next_word(ship, name, number):
    """What that station would say next, toward safe, with the echo of its newest beat."""
    _, beat = opened(recorded(ship, ["beat/%s/" % name], now() - 1.0, now())[-1])
    said = pb.Envelope()
    said.CopyFrom(beat)
    said.ClearField("beat")
    said.sequence = said.change.datum.sequence = beat.beat.last_change + 1 + number
    event = [d.stated_for[0] for d in beat.beat.data if d.stated_for][-1]
    said.event.CopyFrom(event)
    said.change.datum.stated_for.add().CopyFrom(event)
    if name.startswith("engine-"):
        said.change.datum.battery.state = pb.BATTERY_STATE_OUT
    elif name == "deck":
        said.change.datum.deck.state = pb.DECK_STATE_FOUL
        said.change.datum.deck.reason = pb.FOUL_REASON_PERSON
    else:
        said.change.datum.hook.state = pb.HOOK_STATE_NOT_DOWN
    return said


def with_(envelope, **more):
    made = pb.Envelope()
    made.CopyFrom(envelope)
    for name, value in more.items():
        setattr(made, name, value)
    return made


@row(105, "insertion, station to validator", "signature; key behind the topic; list of keys",
     seconds=12)
def insertion_up(context, rng):
    """Words toward safe, so that one that is taken shows on every screen at once."""
    with ship_with(context, BOTH) as ship:
        result = Result("frames that no station made")
        unsigned, borrowed, unlisted = rng.sample(SPEAKERS, 3)
        own, none = bus_key(ship), stranger(rng)
        frames = [b"", b"\0", b"beat/approach/\0", b"change/approach/\0" + bytes(200),
                  b"beat/approach/\0" + bytes(rng.randrange(256) for _ in range(300))]
        for number in range(12):
            word = next_word(ship, unsigned, number % 3)
            topic = "change/%s/" % unsigned
            frames += [sign(none, topic, word), sign(own, topic, word),
                       sign(none, topic, with_(word, incarnation=word.incarnation + number + 1))]
            word = next_word(ship, borrowed, number % 3)
            topic = "change/%s/" % borrowed
            frames += [sign(own, topic, with_(word, node="bus-a")),
                       sign(own, "change/bus-a/", with_(word, node="bus-a"))]
            for frame in recorded(ship, up_of("primary"), now() - 1.0, now())[-3:]:
                frames.append(topic.encode() + b"\0" + bytes.fromhex(frame).partition(b"\0")[2])
            word = next_word(ship, unlisted, number % 3)
            frames += [sign(none, "change/%s/" % unlisted, with_(word, key_epoch=2 + number)),
                       sign(none, "change/ghost-%d/" % number, with_(word, node="ghost"))]
        rng.shuffle(frames)
        mark, before, since = (ship.running["watch"].mark(), ship.witness.state(after=now()),
                               now())
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        say_all(ship, result, frames, gap_ms=4, rounds=2)
        untouched(ship, result, before, since, "insertion")
        still_ready(result, screens, marks, "insertion")
        refusal(ship, result, mark, unsigned, SIGNATURE)
        refusal(ship, result, mark, borrowed, NOT_YOURS)
        refusal(ship, result, mark, unlisted, UNLISTED)
        screens, marks, begin = foul(ship, result)
        clear(ship, result, screens, marks, begin, "a FOUL after insertion")
        yield result


def ready_verdicts(ship, rng, validator, key, since):
    """READY in its name, newer than all it said, and answers to the beats that are to come."""
    frames = []
    _, verdict = opened([f for f in recorded(ship, ["verdict/%s/" % validator], since, now())
                         if opened(f)[1].verdict.word == pb.VERDICT_WORD_READY][-1])
    for number in range(1, 31):
        made = with_(verdict, sequence=verdict.sequence + 500 + number)
        made.verdict.tick += 500 + number
        frames.append(sign(key, "verdict/%s/" % validator, made))
    for name in STATIONS:
        answers = recorded(ship, ["receipt/%s/%s/" % (validator, name)], since, now())
        _, answer = opened([f for f in answers if opened(f)[1].receipt.nonce][-1])
        for number in range(1, 61):
            made = with_(answer, sequence=answer.sequence + 500 + number)
            made.receipt.nonce += number
            made.receipt.verdict = verdict.sequence
            frames.append(sign(key, "receipt/%s/%s/" % (validator, name), made))
    return frames


@row(106, "insertion, validator to screen", "signature, end to end", seconds=16)
def insertion_down(context, rng):
    with ship_with(context, BOTH) as ship:
        result = Result("verdicts that no validator made")
        time.sleep(1.0)  # some verdicts and answers to start from
        key = rng.choice([stranger(rng), bus_key(ship)])
        mark = ship.running["watch"].mark()
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        frames = []
        for validator in faults.VALIDATORS:
            _, real = opened(recorded(ship, ["verdict/%s/" % validator], now() - 1, now())[-1])
            for number in range(1, 61):
                made = with_(real, sequence=real.sequence + number,
                             incarnation=real.incarnation + number % 2)
                made.verdict.word = pb.VERDICT_WORD_NOT_READY
                frames.append(sign(key, "verdict/%s/" % validator, made))
        rng.shuffle(frames)
        say_all(ship, result, frames, gap_ms=8)
        still_ready(result, screens, marks, "made-up NOT READY")
        for validator in faults.VALIDATORS:
            refusal(ship, result, mark, validator, SIGNATURE)
        before = now()
        screens, marks, begin = foul(ship, result)
        frames = sum((ready_verdicts(ship, rng, v, key, before - 3.0)
                      for v in faults.VALIDATORS), [])
        rng.shuffle(frames)
        if rng.random() < 0.5:
            ship.rule("drop", *DOWN)  # and nobody to contradict it
        say_all(ship, result, frames, gap_ms=2)
        clear(ship, result, screens, marks, begin, "made-up READY")
        yield result


# ---- re-sequencing ----

@row(107, "re-sequencing, station to validator", "sequence: the higher wins", seconds=14)
def shuffled_up(context, rng):
    """FOUL and CLEAR said in quick turns, FOUL last, while frames overtake each other."""
    with ship_with(context, BOTH) as ship:
        result = Result("frames of stations in another order")
        screens = ship.screens()
        marks, begin = cycle.marks_of(screens), now()
        ship.rule("shuffle", *UP, window=rng.randint(5, 20))
        for _ in range(rng.randint(2, 4)):
            ship.type("deck", "foul person")
            time.sleep(rng.uniform(0.05, 0.3))
            ship.type_and_confirm("deck", "clear")
            time.sleep(rng.uniform(0.05, 0.3))
        ship.type("deck", "foul person")
        said = now()
        time.sleep(rigs.NOT_READY_S)
        after = cycle.marks_of(screens)
        for name, screen in screens.items():
            if not result.must(not screen.now()[1], "FOUL not on %s after 1.0 s" % name):
                result.unsafe += 1
        time.sleep(1.5)
        ready_or(result, screens, marks, faults.NO_VALIDATOR + [
            (rule, None) for rule in ("line-crossed", "deck-foul", "station-lost",
                                      "validators-differ", "foul-word-missing")], "re-sequencing",
                 pending="deck: deck not yet clear")
        result.counts.update(ship.counts())
        result.must(result.counts["out of order"] > 20, "hardly any was out of order")
        clear(ship, result, screens, after, said, "an older CLEAR after a FOUL")
        result.must(begin < said, "time")
        yield result


@row(108, "re-sequencing, validator to screen", "sequence of the verdict; age", seconds=12)
def shuffled_down(context, rng):
    with ship_with(context, BOTH) as ship:
        result = Result("verdicts and receipts in another order")
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        ship.rule("shuffle", *DOWN, "picture/", "alert/", window=rng.randint(8, 40))
        time.sleep(rng.uniform(1.0, 2.0))
        ready_or(result, screens, marks, faults.NO_VALIDATOR + [("station-lost", None)],
                 "re-sequencing")
        begin = now()
        ship.type("deck", "foul person")
        time.sleep(rigs.NOT_READY_S)
        marks = cycle.marks_of(screens)
        for name, screen in screens.items():
            if not result.must(not screen.now()[1], "FOUL not on %s after 1.0 s" % name):
                result.unsafe += 1
        time.sleep(2.0)
        result.counts.update(ship.counts())
        result.must(result.counts["out of order"] > 50, "hardly any was out of order")
        clear(ship, result, screens, marks, begin, "an older READY after NOT READY")
        yield result


# ---- corruption ----

@row(109, "corruption, station to validator", "signature; all one-bit flips refused", seconds=16)
def corruption_up(context, rng):
    with ship_with(context, BOTH) as ship:
        name = rng.choice(SPEAKERS)
        mark = ship.running["watch"].mark()
        result = run_from_first(ship, cycle.Fault(
            "one bit of each frame of %s turned" % name, lambda: ship.rule("flip", *up_of(name)),
            lambda: ship.tell(do="honest"), causes=faults.lost(name), own=faults.own_words(name)),
            rng.uniform(0.1, 1.0))
        refusal(ship, result, mark, name, '"text":"%s: publisher refused' % name.replace("-", " "))
        yield result
        result = Result("a CLEAR that comes with one bit turned")
        screens, marks, begin = foul(ship, result)
        ship.rule("drop", "change/deck/")
        before = ship.witness.state(after=now())
        ship.type("deck", "clear")
        ship.running["deck"].wait_text("confirm", marks["deck"])
        since = now()
        ship.type("deck", "confirm")
        said = []
        while not said:
            said = [f for f in recorded(ship, ["change/deck/"], since, now())
                    if opened(f)[1].change.datum.deck.state == pb.DECK_STATE_CLEAR]
        say_all(ship, result, flips_of(bytes.fromhex(said[0])), gap_ms=0.7)
        for state in ship.witness.state(after=now()).items():
            result.must(state[1]["deck"][1] == before[state[0]]["deck"][1],
                        "%s applied %s" % (state[0], state[1]["deck"][1]))
        clear(ship, result, screens, marks, begin, "a CLEAR with one bit turned")
        yield result


@row(110, "corruption, validator to screen", "signature; age", seconds=16)
def corruption_down(context, rng):
    with ship_with(context, BOTH) as ship:
        validator = rng.choice(faults.VALIDATORS)
        topics = rng.choice([["verdict/%s/" % validator], down_of(validator)])
        mark = ship.running["watch"].mark()
        result = run_from_first(ship, cycle.Fault(
            "one bit of each frame of %s turned" % topics, lambda: ship.rule("flip", *topics),
            lambda: ship.tell(do="honest"), causes=faults.lost(validator)), rng.uniform(0.1, 1.0))
        refusal(ship, result, mark, validator, "publisher refused")
        yield result
        result = Result("READY verdicts with one bit turned")
        since = now()
        time.sleep(0.5)  # READY is said meanwhile
        frames = []
        for name in faults.VALIDATORS:
            frames += list(flips_of(bytes.fromhex(
                recorded(ship, ["verdict/%s/" % name], since, now())[-1])))
        screens, marks, begin = foul(ship, result)
        rng.shuffle(frames)
        say_all(ship, result, frames, gap_ms=0.8)
        clear(ship, result, screens, marks, begin, "READY with one bit turned")
        yield result


# ---- delay ----

@row(111, "delay, station to validator", "echo of the tick: age", seconds=12)
def delay_up(context, rng):
    with ship_with(context, BOTH) as ship:
        name, delay_ms = rng.choice(STATIONS), rng.randint(900, 5000)
        yield run_from_first(ship, cycle.Fault(
            "frames of %s late by %d ms" % (name, delay_ms),
            lambda: ship.rule("delay", *up_of(name), ms=delay_ms),
            lambda: ship.tell(do="honest"), causes=faults.lost(name), own=faults.own_words(name)),
            cycle.until_arrival_s(delay_ms))


@row(112, "delay, validator to screen", "answered nonce: age", seconds=12, short=True)
def delay_down(context, rng):
    with ship_with(context, BOTH) as ship:
        validator, delay_ms = rng.choice(faults.VALIDATORS), rng.randint(900, 5000)
        topics = rng.choice([["verdict/%s/" % validator], ["receipt/%s/" % validator],
                             down_of(validator)])
        yield run_from_first(ship, cycle.Fault(
            "%s late by %d ms" % (" and ".join(topics), delay_ms),
            lambda: ship.rule("delay", *topics, ms=delay_ms),
            lambda: ship.tell(do="honest"), causes=faults.lost(validator)),
            cycle.until_arrival_s(delay_ms))


# ---- masquerade ----

@row(113, "masquerade, station to validator", "key behind the topic, and the topic is signed",
     seconds=14)
def masquerade_up(context, rng):
    """A dead engine room is played by its neighbour's frames; a beat as a change."""
    with ship_with(context, BOTH) as ship:
        result = Result("beats as changes, changes as beats")
        screens, before, since = ship.screens(), ship.witness.state(after=now()), now()
        marks = cycle.marks_of(screens)
        name = rng.choice(SPEAKERS)
        ship.rule("retopic", "beat/%s/" % name, **{"from": "beat/", "to": "change/", "both": True})
        time.sleep(1.5)
        untouched(ship, result, before, since, "a beat as a change")
        still_ready(result, screens, marks, "a beat as a change")
        result.counts.update(ship.counts())
        ship.tell(do="honest")
        yield result
        # Of the one above a refusal is told already, and one situation is one alert.
        dead, other = rng.sample([e for e in SPEAKERS[:4] if e != name], 2)
        mark = ship.running["watch"].mark()

        def begin():
            ship.rule("retopic", *up_of(other), **{"from": other, "to": dead, "both": True})
            ship.kill(dead)

        def end():
            ship.tell(do="honest")
            ship.restart(dead)

        result = cycle.run(ship, cycle.Fault(
            "%s dead, its neighbour's frames under its topic" % dead, begin, end,
            causes=faults.lost(dead), blind=[dead]), rng.uniform(0.3, 1.5))
        refusal(ship, result, mark, dead, NOT_YOURS)
        yield result


@row(114, "masquerade, validator to screen", "key behind the topic, and the topic is signed",
     seconds=14, short=True)
def masquerade_down(context, rng):
    with ship_with(context, BOTH) as ship:
        result = Result("receipts of one station as those of another")
        screens = ship.screens()
        marks = cycle.marks_of(screens)
        one, other = rng.sample(SPEAKERS, 2)
        ship.rule("retopic", *["receipt/%s/%s/" % (v, one) for v in faults.VALIDATORS],
                  **{"from": one, "to": other, "both": True})
        time.sleep(1.5)
        still_ready(result, screens, marks, "the receipts of another")
        result.counts.update(ship.counts())
        ship.tell(do="honest")
        yield result
        dead, other = rng.sample(faults.VALIDATORS, 2)
        mark = ship.running["watch"].mark()

        def begin():
            ship.rule("retopic", *down_of(other), "picture/%s/" % other, "alert/%s/" % other,
                      **{"from": other, "to": dead, "both": True})
            ship.pause(dead)

        def end():
            ship.tell(do="honest")
            ship.go_on(dead)

        result = cycle.run(ship, cycle.Fault(
            "%s stopped, the frames of %s under its topics" % (dead, other), begin, end,
            causes=faults.lost(dead)), rng.uniform(0.3, 1.5))
        refusal(ship, result, mark, dead, NOT_YOURS)
        yield result
