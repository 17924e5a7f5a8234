# SPDX-License-Identifier: Apache-2.0
"""rows_words5 - two programs that are one station, and a life that comes back (46 to 48, 131)."""

import time

import cycle
import rig as rigs
from faults import NO_VALIDATOR
from liar import ENGINES, WEIGHT, ear_of, no_ready, say_and_back, until_not_ready
from ship import STATIONS, TRAPLINE
from table import Result, row


# ---- 46, 47, 48, 131: two of one ----

def second_folder(rig):
    """As on another host: the same key, another state folder, so no lock of the first is seen."""
    folder = rig.folder("second")
    if not folder.exists():
        rig.make_folder("second")
        path = folder / "bus.yaml"
        text = path.read_text()
        for key in ("state", "run"):
            (rig.dir / (key + "-2")).mkdir(mode=0o700)
            text = text.replace("%s_dir: %s" % (key, rig.dir / key),
                                "%s_dir: %s" % (key, rig.dir / (key + "-2")))
        path.write_text(text)
    return folder


def second(rig, name, folder, extra=(), ready="ready, incarnation"):
    words = [TRAPLINE] + (["engine", "--unit", name[7:]] if name.startswith("engine-") else [name])
    return rig.launch("second", words + ["-C", folder, "--stay"] + list(extra), ready=ready)


def end_second(rig):
    process = rig.running.pop("second", None)
    if process is not None:
        process.kill()


@row(46, "same station twice on one host", "a lock; the second does not start", seconds=6,
     short=True)
def twice(context, rng):
    rig = context.rig()
    rig.until_ready()
    name = rng.choice([s for s in STATIONS if s != "bridge"])
    result = Result("%s started twice" % name)
    screens = rig.screens()
    marks = cycle.marks_of(screens)
    for _ in range(3):
        process = second(rig, name, rig.folder(name), ready=None)
        code = process.process.wait(10)
        process.reader.join()
        said = " ".join(line for _, line in process.lines)
        result.counts["starts refused"] += code == 1
        result.must(code == 1 and "runs on this host already" in said and
                    str(rig.running[name].process.pid) in said, "%d %s" % (code, said))
    end_second(rig)
    for screen_name, screen in screens.items():
        gone = cycle.first_not_ready(screen, marks[screen_name])
        result.must(gone is None, "%s left READY: %s" % (screen_name, gone))
    yield result


@row(47, "same key on two hosts", "both named; never READY with two", seconds=16)
def two_hosts(context, rng):
    """Each of them on both buses, or each on one of its own; the older or the newer one ends."""
    rig = context.rig()
    rig.until_ready()
    name = rng.choice([s for s in STATIONS if s != "bridge"])
    folder = second_folder(rig)
    apart = rng.random() < 0.5
    kept_one = rng.choice(["older", "newer"])
    result_lines = []

    def begin():
        if apart:  # each on a bus of its own
            rig.strait.tell("refuse second/a/* 1")
            rig.strait.tell("refuse %s/b/* 1" % name)
            rig.strait.tell("cut %s/b/*" % name)
        result_lines.append(rig.running[name].mark())
        second(rig, name, folder)
        begun[0] = time.monotonic()

    def end():
        rig.running[name].wait_text("a newer one", result_lines[0], 5)
        if kept_one == "newer":
            rig.kill(name)
            time.sleep(4.0)  # the newer life has said nothing: it makes nothing READY
            ready = [n for n, s in rig.screens(but=[name]).items() if s.ready()]
            assert not ready, "READY by a life that said nothing: %s" % ready
            end_second(rig)
        else:
            end_second(rig)
            rig.kill(name)
        rig.strait.calm("second/*")
        rig.strait.tell("refuse second/a/* 0")
        rig.strait.tell("refuse %s/b/* 0" % name)
        rig.restart(name)

    begun = [0.0]
    fault = cycle.Fault("%s on two hosts%s, the %s stays" % (
        name, ", each on a bus of its own" if apart else "", kept_one), begin, end,
        causes=[("two-writers", name)], own={name: NO_VALIDATOR + [("two-writers", name)]},
        deadline_s=1.5)  # of which the second's start is a part
    result = cycle.run(rig, fault, rng.uniform(1.0, 3.0))
    result.must(any("a newer one" in line for _, line in rig.ended[-1].lines)
                or any("a newer one" in line for p in rig.ended for _, line in p.lines),
                "the older one does not say that a newer one is known")
    yield result


@row(131, "same key on two hosts, same incarnation", "both named; never READY with two", seconds=18)
def one_life_twice(context, rng):
    """Both take the same number: one N for --incarnation-above at both, or a clock that is behind
    the number in a copied state folder. What either says toward safe acts; two are never READY."""
    with rigs.Rig(rng.randrange(1 << 20)) as rig:
        rig.start_all()
        name = rng.choice(["deck", "platform"] + ENGINES)
        bad, good, cause = say_and_back(name)
        folder = second_folder(rig)
        result = Result("%s twice with one incarnation" % name)
        above = ["--incarnation-above", str(int(time.time() * 1000) + 30000)]
        rig.kill(name)
        rig.station(name, extra=above)
        twin = second(rig, name, folder, above)
        for _ in range(rng.randint(0, 2)):  # the first one's numbers run ahead
            rig.say_until(name, bad)
            rig.say_until(name, good)
        rig.words_again(name)
        screens = rig.screens()
        time.sleep(4.0)  # longer than the hold
        both_ready = [n for n, s in screens.items() if s.ready()]
        result.must(not both_ready, "READY with two programs on %s" % both_ready)
        result.unsafe += len(both_ready)
        marks = cycle.marks_of(screens)
        begin = time.monotonic()
        twin.type(bad)
        left = cycle.wait_not_ready(
            {n: s for n, s in screens.items() if s.ready()}, marks, begin + 2.0)
        result.unsafe += len(left)
        result.must(not left, "the second one says %s: READY stays on %s; it was told %s" % (
            bad, sorted(left), [l for _, l in twin.lines if "accepted" in l]))
        end_second(rig)
        yield result


@row(48, "a paused old life wakes after its successor", "fenced by its number; both named",
     seconds=18)
def wakes(context, rng):
    rig = context.rig()
    rig.until_ready()
    ear = ear_of(rig)
    name = rng.choice(["deck", "platform"] + ENGINES)
    bad, good, cause = say_and_back(name)
    result = Result("%s wakes after its successor" % name)
    folder = second_folder(rig)
    begin = time.monotonic()
    old = rig.running[name]
    if rng.random() < 0.5:
        rig.type(name, bad)  # its last word before it stands still
        until_not_ready(rig.screens())
    rig.pause(name)
    time.sleep(rng.uniform(0.1, 1.0))
    process = second(rig, name, folder)
    number = int([l for _, l in process.lines if "incarnation" in l][0].split()[-1])

    def successor_says(word):
        end = time.monotonic() + 10
        while rig.do(name, word, folder=folder)[0] != 0:
            assert time.monotonic() < end, word
            time.sleep(0.05)

    if name.startswith("engine-"):
        successor_says("set %d" % WEIGHT)
        successor_says("battery in")
        rig.say_until("primary", "repeaters %d" % WEIGHT)
    elif name == "platform":
        for word in ("no foul", "call 204 plover", "hook down"):
            successor_says(word)
    else:
        successor_says(good)
    rig.until_ready(but=[name])
    held = {k: v for k, v in ear.held().items() if k[1] == name}
    result.must(all(v[0] == number for v in held.values()), "not the successor: %s" % held)
    screens = rig.screens(but=[name])
    marks = cycle.marks_of(screens)
    woken = time.monotonic()
    old.signal(rigs.signal.SIGCONT)
    old.type(rng.choice([good, bad]))
    cycle.wait_not_ready(screens, marks, woken + 1.0)
    for screen_name, screen in screens.items():
        first = cycle.first_not_ready(screen, marks[screen_name])
        result.named[1] += 1
        if result.must(first is not None, "READY with both on " + screen_name):
            result.times.append(first[0] - woken)
            result.named[0] += cycle.names(first[2][0], [("two-writers", name)])
            result.must(cycle.names(first[2][0], [("two-writers", name)]),
                        "%s names %s" % (screen_name, first[2][:1]))
    time.sleep(1.0)
    marks = cycle.marks_of(screens)
    time.sleep(rng.uniform(0.5, 2.0))
    no_ready(result, screens, marks, "both run")
    after = {k: v for k, v in ear.held().items() if k[1] == name}
    result.counts["accepted"] += after != held
    result.must(after == held, "of the old one was taken: %s -> %s" % (held, after))
    old.wait_text("a newer one", 0, 5)
    rig.faults.append((begin, time.monotonic(), None, {name}, result.what))
    over = time.monotonic()
    old.kill()
    result.back = rig.until_ready(but=[name]) - over
    early = [n for n, s in screens.items() for v in s.shown(marks[n])
             if v[1] and v[0] < over + rigs.HOLD_S - 0.9]
    result.must(not early, "READY too soon after the old one's end: %s" % early)
    end_second(rig)
    rig.restart(name)
    rig.until_ready()
    yield result
