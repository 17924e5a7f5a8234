# SPDX-License-Identifier: Apache-2.0
"""rows_glass2 - keys and entries: bounce, paste, a confirm ahead of its time (70), slips in a
weight, the wrong station (68, 69), an aircraft that changes during an entry (76)."""

import pathlib
import time

import cycle
import history
import rig as rigs
from rows_glass import (ANSWER_S, OUTCOMES, TYPISTS, ask, changes, count_of, has_glass, none_ready,
                        quick_foul, say, settle)
from table import Result, row

REFUSALS = ("out of range", "between two steps", "is not a number", "is not a word", "usage:",
            "has no", "there is no", "nothing was said")
WEIGHT = 34000
TYPE_MAX = 34000  # aircraft.yaml, plover
NEAR = 500        # one step of the selector: inside it a weight is the same weight


# ---- keys ----

@row(70, "bounce, repeat, paste, a confirm ahead of its time", "one action a press", seconds=14)
def keys(context, rng):
    rig = context.rig()
    glass = has_glass(rig, "deck")
    for trial in (bounce, paste, odd_bytes, ahead):
        result = Result("deck: " + trial.__name__)
        rig.until_ready()
        trial(rig, glass, rng, result)
        result.must(not glass.odd, "sent to the terminal: %r" % bytes(glass.odd[:40]))
        if rig.screens()["deck"].ready() is False:
            say(glass, "clear")
        rig.until_ready()
        yield result


def bounce(rig, glass, rng, result):
    """Each line several times: said once."""
    ask(glass, "foul person", *OUTCOMES)
    before = changes(rig, "deck")
    for _ in range(rng.randint(2, 5)):
        ask(glass, "clear", "read back:")
    ask(glass, "confirm", *OUTCOMES)
    for _ in range(rng.randint(2, 5)):
        ask(glass, "confirm", "nothing waits for a confirm")
    glass.put(b"\n" * rng.randint(20, 200))  # a key that hangs
    made = count_of(rig, "deck", before, 1)
    result.counts["actions"] = made
    result.must(made == 1, "one CLEAR was meant, %d were said" % made)
    glass.type("f" * rng.randint(2, 9) + "oul person")  # and one that repeats: no word
    glass.wait_text("not a word of this station")


def paste(rig, glass, rng, result):
    """10 kB on one line, and 10 kB of lines: nothing is said by it; FOUL comes through after."""
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    before = changes(rig, "deck")
    mark = glass.mark()
    glass.put(b"clear " + bytes(rng.choice(b"abc xyz") for _ in range(10000)) + b"\n")
    words = ["lorem", "clear-ed", "confirm", "unclear", "confirm clear", "clear now", "set 44000"]
    lines = [rng.choice(words) for _ in range(1000)]
    glass.put("".join(line + "\n" for line in lines).encode() + b"end-of-paste\n")
    glass.wait_text("end-of-paste", mark)
    result.counts["lines pasted"] = len(lines) + 1
    result.must(any("nothing was said" in line for _, line in glass.lines[mark:]),
                "10 kB on one line were not refused")
    made = count_of(rig, "deck", before, 0)
    result.must(made == 0, "%d words were said by a paste" % made)
    for name, screen in screens.items():
        gone = cycle.first_not_ready(screen, marks[name])
        result.must(gone is None, "%s left READY: %s" % (name, gone and gone[2]))
    quick_foul(result, rig, "deck", "after a paste")


def odd_bytes(rig, glass, rng, result):
    """A confirm with a byte in it that no key gives is no confirm."""
    ask(glass, "foul person", *OUTCOMES)
    before = changes(rig, "deck")
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    forms = [b"con\x1bfirm", b"confirm\x1b[2J", b"\x1b[Aconfirm", b"confirm\x00", b"confirm\x00x",
             b"confirm\xc3\xa9", b"\xffconfirm", b"confirm x", b"CONFIRM", b"confirm\x07",
             b"\x9bconfirm"]
    for form in rng.sample(forms, len(forms)):
        ask(glass, "clear", "read back:")
        mark = glass.mark()
        glass.put(form + b"\n")
        glass.wait_for(lambda line: any(w in line for w in OUTCOMES + (
            "nothing was said", "not a word", "takes nothing")), mark, ANSWER_S)
        made = count_of(rig, "deck", before, 0)
        result.counts["tried"] += 1
        result.must(made == 0, "%r counted as a confirm" % form)
        if made:
            ask(glass, "foul person", *OUTCOMES)
            before = changes(rig, "deck")
            marks = cycle.marks_of(screens)
    none_ready(result, screens, marks, "odd bytes")


def ahead(rig, glass, rng, result):
    """A confirm that was typed before the read-back could be read does not count: together with
    the command, or while the station stood still."""
    ask(glass, "foul person", *OUTCOMES)
    for still in rng.sample([False, True], 2):
        cycle.wait_not_ready(rig.screens(), {n: 0 for n in rig.screens()}, time.monotonic() + 1)
        screens = rig.screens()
        marks = cycle.marks_of(screens)
        before = changes(rig, "deck")
        if still:
            rig.pause("deck")
            until_stopped(glass.process.pid)
            glass.put(b"clear\n")
            time.sleep(rng.uniform(0.05, 0.4))
            glass.put(b"confirm\n")
            rig.go_on("deck")
        else:
            glass.put(b"clear\nconfirm\n")
        glass.wait_text("read back:", 0)
        made = count_of(rig, "deck", before, 0)
        result.counts["confirms ahead"] += 1
        result.counts["counted"] += made
        result.must(made == 0, "a confirm ahead of its read-back counted%s" % (
            ", typed while the station stood still" if still else ""))
        none_ready(result, screens, marks, "confirm ahead of its read-back")
        ask(glass, "foul person", *OUTCOMES)
        ask(glass, "xyzzy", "not a word")


def until_stopped(pid):
    """A stop is not there yet when kill(2) returns."""
    while any(text.split(") ")[-1][0] not in "Tt" for text in [
            path.read_text() for path in pathlib.Path("/proc/%d/task" % pid).glob("*/stat")]):
        time.sleep(0.001)


# ---- weights, stations, aircraft ----

def slips(text):
    """What one wrong digit or two exchanged ones make of a number."""
    made = {text[:i] + d + text[i + 1:] for i in range(len(text)) for d in "0123456789"}
    made |= {text[:i] + text[i + 1] + text[i] + text[i + 2:] for i in range(len(text) - 1)}
    return sorted(made - {text})


def pounds(number):
    return "{:,} lb".format(number)


def judging_approach(ship):
    """The small ship, with the two rules that judge approach's weight."""
    path = ship.dir / "ship.yaml"
    text = path.read_text()
    for rule in ("over-trap-weight", "setting-light"):
        line = "\n  - {rule: %s, reason: not fitted}" % rule
        assert line in text
        text = text.replace(line, "")
    path.write_text(text)


def start_with_approach(rig):
    rig.brokers()
    rig.recorder()
    rig.listener = history.Listener(rig)
    rig.validators()
    rig.stations()
    rig.heard()
    rig.watch()
    rig.open_recovery()
    rig.say("approach", "inbound 204 plover 33500")
    rig.order(204, "plover", WEIGHT)
    rig.until_ready()


def enter(result, process, line, value):
    """Type an entry; None when it was refused at once, else its read-back, after the confirm."""
    read_back = ask(process, line, "read back:", *REFUSALS)
    result.counts["tried"] += 1
    if "read back:" not in read_back:
        result.counts["refused"] += 1
        return None
    result.must(pounds(value) in read_back, "not read back in words: %s" % read_back)
    outcome = ask(process, "confirm", *OUTCOMES)
    result.must("accepted by" in outcome, "%s: %s" % (line, outcome))
    return read_back


def caught(result, screens, marks, begin, causes, what):
    """NOT READY on every screen in 1.0 s, for one of those causes."""
    fault = cycle.Fault(what, None, None, causes=causes, reported=True)
    cycle.wait_not_ready(screens, marks, begin + 1.0)
    cycle.judge_screens(result, fault, screens, marks, begin)
    result.counts["caught"] += 1


@row(68, "one wrong digit, two exchanged, in a weight", "read back; others' own words", seconds=40)
def typo(context, rng):
    with rigs.Rig(rng.randint(1, 10 ** 6), edit=judging_approach) as rig:
        start_with_approach(rig)
        engine = "engine-%d" % rng.randint(1, 4)
        yield weight_slips(rig, engine, "set %s", str(WEIGHT), [
            ("setting-other-aircraft", engine), ("engines-disagree", None),
            ("repeater-differs", engine)], near_is_caught=True)
        yield weight_slips(rig, "primary", "order 204 plover %s", str(WEIGHT), [
            ("setting-not-ordered", None)])
        yield weight_slips(rig, "approach", "inbound 204 plover %s", "33500", [
            ("over-trap-weight", "approach")], limit=TYPE_MAX)
        figures, problems = rig.reckon()
        last = Result("the ship's record")
        last.lost = figures["lost"]
        last.problems += problems
        yield last


def weight_slips(rig, station, line, right, causes, near_is_caught=False, limit=None):
    """Every slip on the running station, with its confirm; the right value after each."""
    result = Result("%s: slips in '%s'" % (station, line % right))
    process = rig.running[station]
    screens = rig.screens()
    for text in slips(right):
        value = int(text)
        rig.until_ready()
        marks = cycle.marks_of(screens)
        begin = time.monotonic()
        read_back = enter(result, process, line % text, value)
        if read_back is None:
            stays(result, screens, marks, text)
            continue
        if limit is None:
            result.must(("was: " in read_back and pounds(int(right)) in read_back) or
                        abs(value - int(right)) <= NEAR or pounds(WEIGHT) in read_back,
                        "the value before is not in: %s" % read_back)
        if limit is not None and value <= limit:
            result.counts["lighter, judged by nobody"] += 1
            time.sleep(0.05)
        elif not near_is_caught and abs(value - int(right)) <= NEAR and limit is None:
            result.counts["inside the tolerance"] += 1
        else:
            caught(result, screens, marks, begin, causes, "%s %s" % (station, line % text))
        say(process, line % right)
        if station.startswith("engine-"):
            rig.say_until("primary", "repeaters %d" % WEIGHT)
    result.must(result.counts["caught"] >= 10, "only %d caught" % result.counts["caught"])
    return result


def stays(result, screens, marks, what):
    for name, screen in screens.items():
        gone = cycle.first_not_ready(screen, marks[name])
        result.must(gone is None, "%s: %s left READY: %s" % (what, name, gone and gone[2]))


WORDS_OF = {"engine": ["set 34000", "battery in", "same"], "deck": ["clear"],
            "platform": ["call 204 plover", "hook down", "trap 2", "bolter", "wave-off"],
            "primary": ["order 204 plover 34000", "repeaters 34000", "take 204", "open", "close"],
            "approach": ["inbound 204 plover 33500"]}


@row(69, "right value, wrong engine or station", "named beside the entry; no such word there",
     seconds=14)
def wrong_place(context, rng):
    """Every word of the others, at one station: refused. At another engine: read back by name."""
    rig = context.rig()
    rig.until_ready()
    result = Result("words of other stations")
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    for name in TYPISTS:
        kind = name.split("-")[0]
        before = changes(rig, name)
        for line in [w for k, words in WORDS_OF.items() if k != kind for w in words]:
            answer = ask(rig.running[name], line, "read back:", *REFUSALS + OUTCOMES)
            result.counts["tried"] += 1
            result.counts["refused"] += 1 if "not a word" in answer else 0
            result.must("not a word" in answer, "%s took '%s': %s" % (name, line, answer))
        result.must(changes(rig, name) == before, "%s said something" % name)
    stays(result, screens, marks, "words of other stations")
    result.must(result.counts["tried"] == result.counts["refused"], "not all were refused")
    code, out = rig.call("engine", "--unit", 7, "--do", "set 34000", "--confirm", "-C", rig.dir)
    result.must(code not in (0, 3), "engine 7, which the ship has not: %d %s" % (code, out))
    yield result
    yield wrong_engine(rig, rng)


def wrong_engine(rig, rng):
    """The weight of the next aircraft is keyed twice in one room, and in another room not."""
    twice, never = rng.sample([1, 2, 3, 4], 2)
    result = Result("keyed at engine %d for engine %d" % (twice, never))
    screens = rig.screens()
    rig.say("primary", "order 311 curlew 44000")
    rig.say("platform", "wave-off")
    result.must(settle(screens, False), "READY after a wave-off")
    marks = cycle.marks_of(screens)
    rig.words_for(311, "curlew", 44000, engines=[n for n in (1, 2, 3, 4) if n != never])
    read_back, outcome = say(rig.running["engine-%d" % twice], "set 44000")
    result.must("engine %d: " % twice in read_back, "the unit is not named: %s" % read_back)
    result.must("accepted" in outcome or "stands" in outcome, outcome)
    rig.say("engine-%d" % never, "battery in")
    time.sleep(0.5)
    none_ready(result, screens, marks, result.what)
    for name, screen in screens.items():
        result.named[1] += 1
        right = "engine %d" % never in (screen.now()[2] or [""])[0]
        result.named[0] += 1 if right else 0
        result.must(right, "%s names %s" % (name, screen.now()[2][:1]))
    say(rig.running["engine-%d" % never], "set 44000")
    rig.say_until("primary", "repeaters 44000")
    result.must(settle(screens, True), "not READY once it is keyed in the right room: %s" %
                screens["watch"].now()[2])
    back_to_the_first(rig, 311)
    yield_count(result)
    return result


def yield_count(result):
    result.counts["tried"] += 1
    result.counts["caught"] += 0 if result.problems else 1


def back_to_the_first(rig, side):
    """204 is the current one again, and READY."""
    rig.say("primary", "cancel %d" % side)
    rig.say("primary", "order 204 plover %d" % WEIGHT)
    rig.words_for(204, "plover", WEIGHT)
    rig.until_ready()


# ---- an aircraft that changes during an entry ----

ENTRIES = [("engine-%d", "set %d"), ("engine-%d", "battery in"), ("deck", "clear"),
           ("platform", "hook down"), ("primary", "repeaters %d")]


@row(76, "another aircraft during an entry", "a word is for its event", seconds=20)
def other_aircraft(context, rng):
    """Read back for one event, confirmed when another is current: for that one it does not count,
    and neither does anything that was said before."""
    rig = context.rig()
    for change in rng.sample(["wave-off", "bolter", "take"], 3):
        station, line = rng.choice(ENTRIES[:2] + ENTRIES)
        station = station % rng.randint(1, 4) if "%" in station else station
        line = line % WEIGHT if "%" in line else line
        side, kind, weight = rng.choice([(117, "plover", WEIGHT), (118, "curlew", 44000)])
        result = Result("%s during '%s' at %s, then %d %s" % (change, line, station, side, kind))
        rig.until_ready()
        screens = rig.screens()
        old = screens["watch"].now()[3]
        say(rig.running["primary"], "order %d %s %d" % (side, kind, weight))
        entry = rig.running[station]
        if change == "take" and station == "primary":
            change = "wave-off"  # one screen holds one read-back
        read_back = ask(entry, line, "read back:")
        result.must("event %d" % old in read_back, "the event is not named: %s" % read_back)
        if change == "take":
            rig.say("primary", "take %d" % side)
        elif station == "platform":
            rig.say("platform", change)  # from a shell: the read-back stays as it is
        else:
            ask(rig.running["platform"], change, *OUTCOMES)
        result.must(settle(screens, False), "READY after it")
        marks = cycle.marks_of(screens)
        outcome = ask(entry, "confirm", *OUTCOMES)
        result.counts["entries"] += 1
        result.counts["refused"] += 1 if "REFUSED" in outcome else 0
        result.must("REFUSED" in outcome or change == "take", "for an ended event: " + outcome)
        time.sleep(0.4)
        none_ready(result, screens, marks, result.what)
        bare(result, rig)
        rig.words_for(side, kind, weight)
        result.must(settle(screens, True, 3.0), "said anew it is READY: %s" %
                    screens["watch"].now()[2][:1])
        result.must(screens["watch"].now()[3] != old, "READY is for the old event")
        back_to_the_first(rig, side)
        yield result


def bare(result, rig):
    """Of the new event nothing has been said: every word that it needs is missing, by name."""
    needed = {("setting-not-ordered", "engine-%d" % n) for n in (1, 2, 3, 4)}
    needed |= {("not-in-battery", "engine-%d" % n) for n in (1, 2, 3, 4)}
    needed |= {("deck-foul", "deck"), ("hook-not-down", "platform"),
               ("type-called-differs", "platform")}
    have = {(c["rule"], c["station"]) for c in rig.show()[1]["causes"]}
    result.must(needed <= have, "carried over: %s" % sorted(needed - have))
