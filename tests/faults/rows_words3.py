# SPDX-License-Identifier: Apache-2.0
"""rows_words3 - weights of another unit, and the forms of a message: newer schemas, other
encodings, texts, parts (36 to 39, 44)."""

import os
import re
import time

import cycle
from busclient import datum
from liar import Scene, VALUE, WEIGHT, datum_bytes, ear_of, field, good_word, pick, varint
from player import Player
from ship import STATIONS
from table import Result, row

KEYED = [s for s in STATIONS if s != "bridge"]


@row(36, "weight of another unit or outside the table", "two ways to each setting; ranges",
     seconds=20)
def wrong_weight(context, rng):
    """Kilograms for pounds and the other way: by the keys of engines and of who reads the
    repeaters, where the figure is refused or named, and by the wire, where no key looks first."""
    rig = context.rig()
    exact = [round(WEIGHT / 2.2046), round(WEIGHT * 2.2046)]
    engine = "engine-%d" % rng.randint(1, 4)
    setting = [("setting-other-aircraft", None), ("setting-not-ordered", None)]
    every = ["engine-%d" % n for n in (1, 2, 3, 4)]
    for stations, verb, causes in [([engine], "set", setting), (every, "set", setting),
                                   (["primary"], "repeaters", [("repeater-differs", None)])]:
        wrong = rng.choice([15500, WEIGHT + 1000, 10000, 52000, WEIGHT - 1000])
        result = Result("%s: %d lb for %d" % (stations[0], wrong, WEIGHT))
        rig.until_ready()
        for figure in exact + [WEIGHT * 10, WEIGHT // 10, 9500, 52500, 0]:
            code, out = rig.do(stations[0], "%s %d" % (verb, figure))
            result.counts["refused at the key"] += code != 0
            result.must(code != 0, "%s %d: %s" % (verb, figure, out))
        screens = rig.screens()
        marks, begin = cycle.marks_of(screens), time.monotonic()
        for station in stations:
            rig.say_until(station, "%s %d" % (verb, wrong))
        cycle.wait_not_ready(screens, marks, time.monotonic() + 1.0)
        named_on(result, screens, causes)
        rig.faults.append((begin, time.monotonic(), None, set(), result.what))
        for station in stations if verb == "set" else []:
            rig.say_until(station, "set %d" % WEIGHT)
        rig.say_until("primary", "repeaters %d" % WEIGHT)
        result.back = rig.until_ready() - begin
        yield result
    yield wrong_by_wire(rig, rng, exact, engine, setting)


def named_on(result, screens, causes):
    """Each of them is NOT READY and names one of those first."""
    for name, screen in screens.items():
        _, ready, words, _ = screen.now()
        result.unsafe += ready
        result.named[1] += 1
        right = not ready and cycle.names(words[0], causes)
        result.named[0] += right
        result.must(right, "%s shows %s %s" % (name, ready and "READY", words[:1]))


def wrong_by_wire(rig, rng, exact, engine, causes):
    result = Result("%s: another unit, by the wire" % engine)
    with Player(rig, engine) as player:
        def say(weight):
            player.settle(player.say(datum("set", player.event(), weight_lb=weight)))

        player.settle(player.say(datum("battery", player.event(), state=53)))
        for weight in rng.sample(exact, 2) + [rng.choice([1, WEIGHT + 501, 200000])]:
            say(WEIGHT)
            player.run(0.2)
            rig.say_until("primary", "repeaters %d" % WEIGHT)
            if not result.must(player.run(10, player.all_ready), str(player.first_causes())):
                break
            begin = time.monotonic()
            say(weight)
            result.must(player.run(1.0, player.none_ready), "READY with %d" % weight)
            result.times.append(time.monotonic() - begin)
            named_on(result, player.screens, causes)
    return result


# ---- 37, 38, 39, 44: forms ----

@row(37, "fields of a newer schema", "not read past what is not known", seconds=12)
def newer_schema(context, rng):
    rig = context.rig()
    station = pick(rng, ear_of(rig), KEYED, "NEWER_SCHEMA")
    result = Result("%s: a newer schema" % station)
    kind, value, slot, event = good_word(station, rng)
    with Scene(rig, result, station) as scene:
        liar, head = scene.liar, scene.liar.head(scene.next, scene.applied)
        good = field(1, datum_bytes(scene.next, kind, value, scene.event if event else None, slot))
        for number in [15, 31, 99, 1000, (1 << 29) - 1] + rng.sample(range(100, 1 << 20), 3):
            for extra in [field(number, 1), field(number, b"new"), varint(number << 3 | 1) +
                          bytes(8), varint(number << 3 | 5) + bytes(4)]:
                scene.tell([scene.change(kind, value + extra, slot, event=event),
                            scene.change(kind, value, slot, tail=extra, event=event),
                            liar.frame("change/%s/" % station, head + field(17, good + extra)),
                            liar.a_beat(1 << 40, scene.applied, tail=extra)])
        scene.tell([liar.a_beat(1 << 40, scene.applied, schema=n) for n in (2, 3, 1 << 31)],
                   "NEWER_SCHEMA")
        scene.nothing_taken()
        # A program that knows only the newer one is not a station: it is lost, and named.
        rig.kill(station)
        begin = time.monotonic()
        while time.monotonic() < begin + 1.5:
            liar.send_all([liar.a_beat((1 << 40) + int(1000 * time.monotonic()), schema=2)])
            time.sleep(0.1)
        for name, screen in scene.screens.items():
            if name != station:
                now = screen.now()
                result.unsafe += now[1]
                result.named[1] += 1
                result.named[0] += not now[1] and cycle.names(now[2][0],
                                                              [("station-lost", station)])
        result.must(result.named[0] == result.named[1], "not named as lost")
        scene.a_good_one_is_taken(kind, value, slot, event)
    yield result


@row(38, "a field twice, another order, a longer form", "packed again it is the same, or refused",
     seconds=12)
def not_canonical(context, rng):
    rig = context.rig()
    station = pick(rng, ear_of(rig), KEYED, "NOT_CANONICAL")
    result = Result("%s: other forms of one message" % station)
    kind, value, slot, event = good_word(station, rng)
    with Scene(rig, result, station) as scene:
        liar, next_ = scene.liar, scene.next
        good = datum_bytes(next_, kind, value, scene.event if event else None, slot)
        head, topic = liar.head(next_, scene.applied), "change/%s/" % station
        body = field(17, field(1, good))

        def long_form(number):
            short = varint(number)
            return short[:-1] + bytes([short[-1] | 0x80, 0x80, 0])

        datums = [good + field(1, next_), good + field(2, 0), field(1, 7) + good, good + field(
            VALUE[kind], value), good + field(VALUE["unknown"], field(1, 3)), good[2:] + good[:2],
            varint(8) + long_form(next_) + good[len(field(1, next_)):],
            datum_bytes(next_, kind, value + value, None, slot), good + field(6, 0),
            datum_bytes(next_, VALUE["unknown"], field(1, 3)) + field(VALUE[kind], value),
            datum_bytes(next_, kind, varint(1 << 3) + long_form(53), None, slot)]
        scene.tell([liar.change(next_, d) for d in datums], "NOT_CANONICAL")
        envelopes = [head + body + body, head + body + field(16, field(1, next_)),
                     head + field(16, field(1, next_)) + body, head + head + body,
                     head[2:] + head[:2] + body, field(1, 1) + head + body, head + body +
                     field(10, 0), body + head, head + field(10, 0) + body,
                     head + varint(17 << 3 | 2) + long_form(len(field(1, good))) + field(1, good)]
        scene.tell([liar.frame(topic, e) for e in envelopes])
        scene.nothing_taken()
        scene.a_good_one_is_taken(kind, value, slot, event)
    yield result


BAD_TEXT = [b"\0", b"a\0b", b"\x1b[2Jqz", b"\x1b]0;qz\x07", b"\x9b31mqz", b"\xff\xfeqz",
            b"\xc0\xafqz", b"\xed\xa0\x80qz", b"\xf4\x90\x80\x80qz", b"qz\r\n", b"qz\x7f",
            b"qz\xc2\x85", b"qz\xc2\x9b",
            b"qz\xe2\x80\xae", b"qz\xe2\x80\xa8", b"qz\xe2\x82", b"qz\x08\x08", b"qz\x0e"]
RAW_OUT = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069\ufffd]")


def texts_of(scene, bad):
    """Each text of the wire that a station can reach, with that in it."""
    liar, next_, applied = scene.liar, scene.next, scene.applied
    yield scene.change("watch", field(1, bad), event=False)
    yield scene.change("call", field(1, 204) + field(2, bad))
    yield scene.change("order", field(1, 204) + field(2, bad) + field(3, WEIGHT) + field(5, 53), 1)
    yield scene.change("inbound", field(1, 204) + field(2, bad) + field(3, 33000), 204, event=False)
    yield scene.change("override", field(1, 10) + field(2, bad) + field(3, b"no") + field(4, 9),
                       650, event=False)
    yield scene.change("override", field(1, 10) + field(3, bad) + field(4, 9), 650, event=False)
    yield scene.change("signed_off", field(1, 1) + field(2, bad), 1, event=False)
    yield scene.change("out_of_service", field(1, bad), 1, event=False)
    yield liar.change(next_, datum_bytes(next_, "battery", field(1, 53), voice_for=bad))
    yield liar.frame("change/%s/" % scene.station, field(1, 1) + field(2, bad) + field(3, 1))
    yield liar.frame("beat/%s/" % scene.station, liar.head(1 << 40, applied) + field(
        7, field(1, bad) + field(2, 1) + field(3, 1)) + field(16, field(1, applied)))
    yield liar.a_beat(1 << 40, applied, tail=field(4, field(16, field(1, 53) + field(
        7, field(1, bad) + field(2, 1)))))


@row(39, "NUL, bad UTF-8, escape sequences in texts", "refused; nothing raw on any screen",
     seconds=12)
def bad_texts(context, rng):
    rig = context.rig()
    ear = ear_of(rig)
    station = pick(rng, ear, KEYED, "UTF8", "CONTROL_BYTES")
    result = Result("%s: texts that no screen may have" % station)
    marks = {name: process.mark() for name, process in rig.running.items()}
    with Scene(rig, result, station) as scene:
        for bad in BAD_TEXT:
            scene.tell(texts_of(scene, bad))
        for reason in ("UTF8", "CONTROL_BYTES", "NOT_CANONICAL"):
            result.must(ear.noted(station, reason), "%s not named: %s" % (reason, ear.notes()))
        beat = scene.liar.a_beat(1 << 40, scene.applied).partition(b"\0")[2]
        scene.broker_refuses([t + b"\0" + beat for bad in BAD_TEXT if b"\0" not in bad for t in (
            b"beat/" + bad + b"/", bad + b"/" + station.encode() + b"/",
            b"beat/%s/%s/" % (station.encode(), bad), b"beat/%s/" % station.encode() + bad)],
            "NOT_YOUR_TOPIC")
        scene.nothing_taken()
    for bad in BAD_TEXT:
        if b"\0" not in bad and b"\n" not in bad:  # and at the keys
            rig.running[station].mark()
            text = bad.decode("utf-8", "surrogateescape")
            try:
                code, _ = rig.do(station, os.fsdecode(b"watch " + bad))
                result.must(code != 0, "watch %r was taken" % text)
            except UnicodeError:
                pass
            result.counts["keyed"] += 1
    rig.call("show", "-C", rig.dir)
    for name, process in rig.running.items():
        for _, line in process.lines[marks[name]:]:
            raw = RAW_OUT.search(line)
            result.counts["raw bytes out"] += raw is not None
            result.must(raw is None, "%s printed %r" % (name, line[:120]))
    yield result


@row(44, "more or fewer parts than one", "one message is one frame", seconds=6, short=True)
def parts(context, rng):
    """The first part is a change that would be right, and next."""
    rig = context.rig()
    station = rng.choice(KEYED)
    result = Result("%s: messages of many parts" % station)
    kind, value, slot, event = good_word(station, rng)
    with Scene(rig, result, station) as scene:
        good = scene.change(kind, value, slot, event=event)
        beat = scene.liar.a_beat(1 << 40, scene.applied)
        messages = [[good, b""], [good, good], [b"", good], [good] * 3, [good] * 9, [beat, good],
                    [good[:20], good[20:]], [b"x"] * 200, [good.partition(b"\0")[0], good]]
        rng.shuffle(messages)
        scene.broker_refuses(messages, "FRAMES")
        scene.nothing_taken()
    yield result
