# SPDX-License-Identifier: Apache-2.0
"""maker - records of known content, and what trapline log says of them

A Record takes rows in the order of arrival and is written by scribe through the recorder's own
store. Times are seconds after RECOVERY. `evening` is one invented recovery that most tests ask;
what it holds is told there, and every expected number follows from it by hand.
"""
import json
import os
import pathlib
import subprocess
import tempfile

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
BUILD = pathlib.Path(os.environ["TL_BUILD_DIR"])
TRAPLINE = BUILD / "clients" / "trapline"
SCRIBE = BUILD / "tests" / "logbook" / "logbook_scribe"

RECOVERY = 1700000000000  # 2023-11-14T22:13:20Z
LIFE = 7
VALIDATORS = ("validator-1", "validator-2")


def ms(seconds):
    return RECOVERY + round(seconds * 1000)


def event(number, recovery=RECOVERY):
    return "%d:%d" % (recovery, number) if number else "-"


class Record:
    def __init__(self, frames=False):
        self.folder = tempfile.TemporaryDirectory(prefix="trapline-log-")
        self.path = os.path.join(self.folder.name, "record.db")
        self.frames = frames
        self.lines = []
        self.sequences = {}

    def next(self, name):
        self.sequences[name] = self.sequences.get(name, 0) + 1
        return self.sequences[name]

    def add(self, *words):
        self.lines.append(" ".join(str(word) for word in words))

    def say(self, at, node, kind, *value, slot=0, passes=(), speaks_of=None, voice="-", life=LIFE,
            sequence=None, recovery=RECOVERY):
        """A change; returns its sequence."""
        sequence = sequence or self.next((node, life))
        of = passes[0] if passes and speaks_of is None else speaks_of
        self.add("change", ms(at), node, life, sequence, event(of, recovery), kind, slot, voice,
                 ",".join(event(one, recovery) for one in passes) or "-", *value)
        return sequence

    def refuse(self, node, sequence, validator="validator-1", reason=33, life=LIFE):
        self.add("judged", ms(0), validator, 1, self.next(validator), 1, node, life, sequence,
                 "refused", reason)

    def judged(self, at, validator, now_ms, node, sequence, what):
        self.add("judged", ms(at), validator, 1, self.next(validator), now_ms, node, LIFE, sequence,
                 what)

    def verdict(self, at, validator, number, word, rule="-", station="-", drill=False, life=1):
        self.add("verdict", ms(at), validator, life, self.next(validator), event(number), word,
                 rule, station, "drill" if drill else "")

    def ready(self, at, number, apart=0.01, drill=False):
        """Both validators, the second a little later."""
        self.verdict(at, "validator-1", number, "ready", drill=drill)
        self.verdict(at + apart, "validator-2", number, "ready", drill=drill)

    def not_ready(self, at, number, rule, station, apart=0.02):
        self.verdict(at, "validator-1", number, "not", rule, station)
        self.verdict(at + apart, "validator-2", number, "not", rule, station)

    def alert(self, at, validator, step, rule, station, number=0, subject=("-", 0, 0), set_=None,
              life=1):
        self.add("alert", ms(at), validator, life, set_ or self.next(validator), step, rule,
                 station, event(number), *subject)

    def acknowledge(self, at, node, rule, station, number=0, subject=("-", 0, 0)):
        self.say(at, node, "acknowledged", rule, station, event(number), *subject)

    def write(self):
        done = subprocess.run([SCRIBE, self.path] + (["frames"] if self.frames else []),
                              input="\n".join(self.lines) + "\n", text=True, capture_output=True)
        if done.returncode != 0:
            raise AssertionError("scribe: " + done.stderr)
        return self

    def log(self, *words, env=None):
        """(exit code, standard output, standard error) of trapline log WORDS --record ..."""
        whole = dict(os.environ, LC_ALL="C")
        whole.pop("TRAPLINE_CONFIG", None)
        whole.update(env or {})
        done = subprocess.run([TRAPLINE, "log", *words, "--record", self.path], env=whole,
                              stdin=subprocess.DEVNULL, capture_output=True)
        return done.returncode, done.stdout.decode(), done.stderr.decode()

    def json(self, *words):
        code, out, err = self.log(*words, "--json")
        if code != 0:
            raise AssertionError("exit %d: %s" % (code, err))
        return json.loads(out)


def order(record, at, number, side, kind, weight, state="ordered"):
    return record.say(at, "primary", "order", side, kind, weight, state, slot=number,
                      passes=(number,))


def sets(record, weight, number, *times):
    for unit, at in enumerate(times, 1):
        record.say(at, "engine-%d" % unit, "set", weight, passes=(number,))


def clear(record, at, number):
    return record.say(at, "deck", "deck", "clear", passes=(number,))


def result(record, at, number, *value):
    return record.say(at, "platform", "result", *value, slot=number, passes=(number,))


def evening(frames=False, write=True):
    """Six passes, in seconds after RECOVERY:

    1  204 plover, order 5,  trap wire 3 at 45; READY 14.21; ram 95.0 in, 2.0 ft off centre
    2  311 stilt,  order 6,  bolter at 95;      READY 70.31, the deck last at 70, engine-3 at 66
    3  207 plover, order 71, wave-off at 120;   READY 103.21, foul since 118.1
    4  311 stilt,  order 121, wave-off at 150 while READY since 130.41
    5  204 plover, order 151, trap wire 2 at 180, corrected to wire 3 at 200; engine-2 by voice;
       an override live from 152 to 190; READY 164.01
    6  207 plover, order 205, no result
    """
    r = Record(frames)
    r.say(0, "primary", "recovery", RECOVERY, "open")
    r.say(1, "primary", "watch", "Ruff")
    r.say(2, "platform", "watch", "Knot")
    r.say(3, "deck", "watch", "Dunlin")
    r.say(4, "approach", "inbound", 204, "plover", 31500, slot=204)
    ordered = order(r, 5, 1, 204, "plover", 34000)
    r.judged(5.005, "validator-1", 505005, "primary", ordered, "applied")
    order(r, 6, 2, 311, "stilt", 40000)
    sets(r, 34000, 1, 8, 9, 12)
    r.say(10, "engine-3", "accumulator", 405)
    for unit in (1, 2, 3):
        r.say(12.5 + unit / 10, "primary", "repeater", 34000, slot=unit, passes=(1,))
    clear(r, 14, 1)
    r.not_ready(6, 1, "setting-not-ordered", "engine-3")
    r.ready(14.2, 1)
    r.add("predicted", "validator-1", 1, r.next("validator-1"), 515000, event(1), 275, 1029, 14000,
          40, "34000:3120:952", "40000:2890:880")
    r.say(20, "platform", "call", 204, "plover", passes=(1,))
    result(r, 45, 1, "trap", 3)

    r.not_ready(45.1, 2, "setting-not-ordered", "engine-1")
    sets(r, 40000, 2, 50, 52, 66)
    battery = r.say(59, "engine-1", "battery", "out", passes=(2,))
    for validator in VALIDATORS:
        r.alert(60, validator, "raised", "not-in-battery", "engine-1", 2,
                ("engine-1", LIFE, battery))
    r.say(58, "engine-3", "accumulator", 398)
    r.say(60, "engine-3", "arrest", event(1), 950, 20, 5, 0, speaks_of=2)
    for validator in VALIDATORS:
        r.alert(63, validator, "gone", "not-in-battery", "engine-1", 2,
                ("engine-1", LIFE, battery))
    clear(r, 70, 2)
    r.ready(70.3, 2)
    order(r, 71, 3, 207, "plover", 34000)
    result(r, 95, 2, "bolter")

    r.not_ready(95.1, 3, "setting-not-ordered", "engine-1")
    sets(r, 34000, 3, 100, 101, 102)
    clear(r, 103, 3)
    r.ready(103.2, 3)
    foul = r.say(118, "deck", "deck", "foul", speaks_of=3)
    r.not_ready(118.1, 3, "deck-foul", "deck")
    r.alert(118.1, "validator-1", "raised", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    r.alert(118.112, "validator-2", "raised", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    result(r, 120, 3, "wave-off")

    order(r, 121, 4, 311, "stilt", 40000)
    r.acknowledge(121.1, "primary", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    r.acknowledge(122.1, "deck", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    r.alert(125, "validator-1", "gone", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    r.alert(125.02, "validator-2", "gone", "deck-foul", "deck", 3, ("deck", LIFE, foul))
    r.not_ready(121.1, 4, "setting-not-ordered", "engine-1")
    sets(r, 40000, 4, 126, 127, 128)
    clear(r, 130, 4)
    r.ready(130.4, 4)
    r.say(140, "primary", "override", "detorque-overdue", "gear-officer", 300, "last pass",
          slot=2900)
    result(r, 150, 4, "wave-off")

    order(r, 151, 5, 204, "plover", 34000)
    r.say(152, "gear-officer", "override", "detorque-overdue", "gear-officer", 300, "last pass",
          slot=2900)
    r.not_ready(151.1, 5, "setting-not-ordered", "engine-1")
    r.say(155, "engine-1", "set", 34000, passes=(5,))
    r.say(156, "engine-3", "set", 34000, passes=(5,))
    r.alert(157.8, "validator-1", "raised", "station-lost", "engine-2", 0, ("engine-2", LIFE, 0))
    r.alert(157.85, "validator-2", "raised", "station-lost", "engine-2", 0, ("engine-2", LIFE, 0))
    r.judged(157.795, "validator-1", 657800, "engine-2", 5, "lost")
    r.not_ready(157.8, 5, "station-lost", "engine-2")
    r.acknowledge(159.8, "primary", "station-lost", "engine-2", 0, ("engine-2", LIFE, 0))
    r.say(160, "primary", "set", 34000, passes=(5,), voice="engine-2")
    clear(r, 161, 5)
    r.say(163, "platform", "set", 34000, passes=(5,), voice="engine-2")
    r.ready(164, 5)
    r.say(170, "primary", "watch", "Snipe")
    r.judged(174.495, "validator-1", 674500, "engine-2", 6, "heard")
    for validator in VALIDATORS:
        r.alert(175, validator, "gone", "station-lost", "engine-2", 0, ("engine-2", LIFE, 0))
    result(r, 180, 5, "trap", 2)
    r.say(190, "gear-officer", "override", "unknown", slot=2900)
    result(r, 200, 5, "trap", 3)
    late = r.say(201, "engine-1", "set", 40000, passes=(5,))
    r.refuse("engine-1", late)
    order(r, 205, 6, 207, "plover", 34000)
    r.say(240, "engine-2", "set", 34000, passes=(6,), sequence=9)
    r.add("gap", ms(241), "engine-2", LIFE, 6, 8)
    r.say(260, "primary", "recovery", RECOVERY, "closed")
    r.alert(300, "validator-1", "raised", "bus-degraded", "bus-b")
    return r.write() if write else r
