# SPDX-License-Identifier: Apache-2.0
"""rows_wire4 - keys that are refused, revoked, changed over or mistyped, and sockets that die in
silence (115 to 118, 139)."""

import re
import signal
import time

import cycle
import faults
import rig as rigs
from busclient import Folder
from rows_wire import ORDINARY, no_ready, now, refusal, still_ready
from ship import STATIONS
from table import Result, row

BROKERS = ("bus-a", "bus-b")
JUDGES = BROKERS + faults.VALIDATORS
READERS = JUDGES + ("recorder-1",)  # else what is said with a new key is not recorded
BACK_S = 9.0  # sockets are built anew at least each 2 s, and READY is held for 3.0 s


def keys(rig, *words):
    code, out = rig.call("keys", *words[:1], "-C", rig.dir, *words[1:])
    assert code == 0, out
    rig.listener.client.folder.keys.update(Folder(rig.dir).keys)
    return out


def read_again(rig, names=READERS):
    for name in names:
        rig.running[name].signal(signal.SIGHUP)


def reloaded(rig, marks):
    for name in BROKERS:
        rig.running[name].wait_text("keys.yaml read again", marks[name])


def marks_of(rig, names=BROKERS):
    return {name: rig.running[name].mark() for name in names}


def own_words(name):
    """Verdicts still reach it, answers to its beats do not: it says one or the other."""
    return {name: faults.NO_VALIDATOR + faults.lost(name)} if name in STATIONS else {}


class OwnRig:
    """A ship of the row's own that is given up at its end: its keys are no longer as before."""

    def __init__(self, context, terminals=rigs.ON_TERMINALS):
        self.context, self.terminals = context, terminals

    def __enter__(self):
        self.context.drop()
        return self.context.rig(lambda seed: rigs.Rig(seed, terminals=self.terminals))

    def __exit__(self, kind, error, trace):
        if kind is None:
            self.context.drop()


@row(115, "a key that is not in the list of the buses", "refused and told; heals by itself",
     seconds=16)
def refused_key(context, rng):
    """A station comes with the next key before the buses have the list; then they read it."""
    with OwnRig(context) as rig:
        name = rng.choice(ORDINARY)
        result = Result("%s with a key that the buses do not know" % name)
        screens = rig.screens(but=[name])
        marks, logs = cycle.marks_of(screens), marks_of(rig)
        keys(rig, "rotate", name)
        begin = now()
        rig.kill(name)
        station = rig.station(name)
        cycle.wait_not_ready(screens, marks, begin + 2.0)
        cycle.judge_screens(result, cycle.Fault(result.what, None, None, causes=faults.lost(name)),
                            screens, marks, begin)
        station.wait_text("our key is not known there")
        for bus, mark in logs.items():
            rig.running[bus].wait_text("joins refused, key not in keys.yaml", mark)
            result.counts["refused"] += 1
        time.sleep(rng.uniform(1.0, 4.0))  # it tries again and again
        result.must(station.process.poll() is None, "it has ended")
        marks = cycle.marks_of(dict(screens, **rig.screens()))
        over = now()
        rig.faults.append((begin, over, rigs.NOT_READY_S, {name}, result.what))
        read_again(rig)
        station.wait_for(lambda line: "NOT READY" in line and "no validator" not in line,
                         marks[name], BACK_S)
        result.counts["ms until in"] = int(1000 * (now() - over))
        rig.words_again(name)
        result.back = rig.until_ready() - over
        yield result


@row(116, "a key revoked while it is connected", "cut at its next frame, and told", seconds=20)
def revoked(context, rng):
    with OwnRig(context) as rig:
        name = rng.choice(ORDINARY + list(faults.VALIDATORS))
        mark, logs = rig.running["watch"].mark(), marks_of(rig)
        causes = faults.lost(name)

        def begin():
            keys(rig, "revoke", name, "1")
            read_again(rig)

        def end():
            keys(rig, "rotate", name)
            again = READERS if name in STATIONS else list(rig.running)
            read_again(rig, [n for n in again if n != name])
            rig.kill(name)
            rig.restart(name)

        result = Result("the key of %s revoked" % name)
        rig.until_ready()
        screens = rig.screens()
        marks, start = cycle.marks_of(screens), now()
        begin()
        cycle.wait_not_ready(screens, marks, start + 2.0)
        fault = cycle.Fault(result.what, None, None, causes=causes, own=own_words(name))
        cycle.judge_screens(result, fault, screens, marks, start)
        reloaded(rig, logs)
        if name in STATIONS:
            refusal(rig, result, mark, name, "key is revoked")
        for bus in BROKERS:
            rig.running[bus].wait_for(lambda line: name in line and "key is revoked" in line,
                                      logs[bus], 3)
            result.counts["buses refuse"] += 1
        time.sleep(rng.uniform(0.5, 2.0))
        over = now()
        cycle.no_ready_meanwhile(result, fault, screens, marks, start, over)
        rig.faults.append((start, over, rigs.NOT_READY_S, {name}, result.what))
        end()
        result.back = rig.until_ready() - over
        yield result


@row(117, "a key changed over by the book", "two epochs at once", seconds=24)
def rotated(context, rng):
    """Of a bus: READY stays on every screen. Of the recorder: too. Of a station or a validator:
    only its own start costs READY, named."""
    with OwnRig(context, terminals=()) as rig:
        rig.until_ready()
        everyone = list(rig.running)
        name = rng.choice(BROKERS + ("recorder-1",))
        result = Result("the key of %s changed over" % name)
        screens = rig.screens()
        marks, logs = cycle.marks_of(screens), marks_of(rig)
        keys(rig, "rotate", name)
        read_again(rig, everyone)
        reloaded(rig, logs)
        rig.kill(name)
        rig.restart(name)
        others = [n for n in everyone if n != name]
        logs = {n: rig.running[n].mark() for n in BROKERS}
        keys(rig, "revoke", name, "1")
        read_again(rig, others + [name])
        reloaded(rig, logs)
        time.sleep(2.5)  # longer than a silent bus is borne
        still_ready(result, screens, marks, result.what)
        if name in BROKERS:
            other = BROKERS[1 - BROKERS.index(name)]
            rig.kill(other)  # what is left is the one with the new key
            time.sleep(2.0)
            still_ready(result, screens, marks, "only %s, with its new key" % name)
            rig.restart(other)
            time.sleep(0.5)
        yield result
        name = rng.choice(ORDINARY)
        keys(rig, "rotate", name)
        logs = marks_of(rig)
        read_again(rig)
        reloaded(rig, logs)
        fault = faults.kill(rig, name)
        fault.what = "%s starts with its next key" % name
        result = cycle.run(rig, fault, 0.1)
        keys(rig, "revoke", name, "1")
        read_again(rig)
        time.sleep(1.5)
        screens = rig.screens()
        result.must(all(s.ready() for s in screens.values()), "not READY after the old key's end")
        yield result


def mistype(row, rng, how):
    """One row of keys.yaml with a slip."""
    key = re.search(r"identity: ([0-9a-f]{64})", row).group(1)
    at = rng.randrange(64)
    if how == "no digit":
        wrong = key[:at] + rng.choice("ghijlo") + key[at + 1:]
    elif how == "too short":
        wrong = key[:at] + key[at + 1:]
    else:
        other = rng.choice([c for c in "0123456789abcdef" if c != key[at]])
        wrong = key[:at] + other + key[at + 1:]
    return row.replace(key, wrong)


@row(118, "a mistyped key in the list", "the list is refused whole, or that epoch is", seconds=20)
def mistyped(context, rng):
    with OwnRig(context) as rig:
        path = rig.dir / "keys.yaml"
        good = path.read_text()
        lines = good.splitlines()
        name = rng.choice(ORDINARY)
        row_of = [line for line in lines if "node: %s," % name in line][0]
        twin = [line for line in lines if "node: deck," in line][0]
        slips = [mistype(row_of, rng, "no digit"), mistype(row_of, rng, "too short"),
                 row_of.replace(re.search("[0-9a-f]{64}", row_of).group(),
                                re.search("[0-9a-f]{64}", twin).group()),
                 row_of.replace(name, name + "x"), row_of.replace("epoch: 1", "epoch: 0")]
        result = Result("a slip in the row of %s that can be found" % name)
        screens = rig.screens()
        marks = cycle.marks_of(screens)
        for slip in slips:
            logs = marks_of(rig, JUDGES)
            path.write_text(good.replace(row_of, slip))
            read_again(rig)
            for judge in JUDGES:
                rig.running[judge].wait_text("keys.yaml", logs[judge], 5)
            for bus in BROKERS:
                rig.running[bus].wait_text("keys stay as they were", logs[bus], 5)
            result.counts["refused"] += 1
        still_ready(result, screens, marks, result.what)
        yield result
        result = Result("a slip in the row of %s that can not" % name)
        for _ in range(64):  # a half of all numbers is a key
            path.write_text(good.replace(row_of, mistype(row_of, rng, "another digit")))
            if rig.call("keys", "list", "-C", rig.dir)[0] == 0:
                break
        screens = rig.screens()
        marks, logs, begin = cycle.marks_of(screens), marks_of(rig), now()
        read_again(rig)
        cycle.wait_not_ready(screens, marks, begin + 2.0)
        fault = cycle.Fault(result.what, None, None, causes=faults.lost(name),
                            own=own_words(name))
        cycle.judge_screens(result, fault, screens, marks, begin)
        for bus in BROKERS:
            rig.running[bus].wait_text("now have another key and are refused", logs[bus], 3)
            rig.running[bus].wait_for(lambda line: name in line and "refused on" in line,
                                      logs[bus], 3)
        marks = cycle.marks_of(screens)
        path.write_text(good)
        read_again(rig)  # that number stood for two keys: it is of no use any more
        time.sleep(1.5)
        no_ready(result, screens, marks, "the slip undone")
        over = now()
        rig.faults.append((begin, over, rigs.NOT_READY_S, {name}, result.what))
        keys(rig, "revoke", name, "1")
        keys(rig, "rotate", name)
        logs = marks_of(rig)
        read_again(rig)
        reloaded(rig, logs)
        rig.kill(name)
        rig.restart(name)
        result.back = rig.until_ready() - over
        yield result


@row(139, "a connecting socket that dies in silence", "sockets are built anew", seconds=34)
def silent_socket(context, rng):
    """Its connections end and new ones are refused, swallowed or held in the handshake; the node
    is back by itself, the program the same."""
    rig = context.rig()
    node = rng.choice(STATIONS + list(faults.VALIDATORS))
    how = rng.choice(["refused", "swallowed", "turned", "one way"])

    def begin():
        if how == "refused":
            rig.strait.tell("refuse %s/* 1" % node)
        elif how == "swallowed":
            rig.strait.weather(node + "/*", "both", "swallow", 1)
        elif how == "turned":
            rig.strait.weather(node + "/*", "both", "flip", 40)
        else:
            rig.strait.weather(node + "/*", "down", "swallow", 1)
        rig.strait.tell("reset %s/*" % node)

    yield back_alone(rig, node, how, begin, lambda: rig.strait.calm(node + "/*"), rng)
    text = (rig.dir / "keys.yaml").read_text()
    node = rng.choice(faults.VALIDATORS)

    def list_again():
        (rig.dir / "keys.yaml").write_text(text)
        read_again(rig)

    # A refusal for good (ZAP 400): the library itself never tries again.
    yield back_alone(rig, node, "refused by key, then not", revoke_of(rig, node), list_again, rng)
    node = rng.choice(ORDINARY)
    yield refused_station(rig, node, revoke_of(rig, node), list_again)


def revoke_of(rig, node):
    """The key of that node revoked, and its connections ended so that it must ask again."""
    def revoke():
        logs = marks_of(rig)
        keys(rig, "revoke", node, "1")
        read_again(rig)
        reloaded(rig, logs)
        rig.strait.tell("reset %s/*" % node)
    return revoke


def refused_station(rig, node, revoke, list_again):
    """A station that every bus refuses ends, and says so; its terminal must not end on READY."""
    result = Result("%s refused by every bus" % node)
    rig.until_ready()
    process, begin = rig.running[node], now()
    revoke()
    process.wait_text("every broker refused this station's key", 0, 5)
    result.must(process.process.wait(5) == 3, "it did not end with 3")
    time.sleep(1.0)
    for name, screen in rig.screens().items():
        if not result.must(not screen.now()[1], "%s: READY is what stands on %s" % (
                result.what, name)):
            result.unsafe += 1
    over = now()
    rig.faults.append((begin, over, rigs.NOT_READY_S, {node}, result.what))
    list_again()
    rig.restart(node)
    result.back = rig.until_ready() - over
    return result


def back_alone(rig, node, how, begin, end, rng):
    """It must be READY again in a bounded time, without a new start."""
    process = rig.running[node].process
    result = cycle.run(rig, cycle.Fault(
        "%s cut, new connections %s" % (node, how), begin, end,
        causes=faults.lost(node) + ([("station-lost", None)] if node in faults.VALIDATORS else []),
        own=own_words(node)), rng.uniform(1.0, 6.0))
    result.must(result.back <= BACK_S, "READY %.1f s after it" % result.back)
    result.must(rig.running[node].process is process and process.poll() is None, "started anew")
    result.counts["ms until READY"] = int(1000 * result.back)
    return result
