# SPDX-License-Identifier: Apache-2.0
"""rows_store2 - memory that is refused or spoilt, validators that hold other things or tables
(7, 8, 53, 54)."""

import pathlib
import signal
import time

import cycle
import faults
import rig as rigs
from rows_store import settled, sum_up, talk
from ship import BROKER, STATIONS, TRAPLINE, VALIDATOR
from table import Result, row

ABORTED = -signal.SIGABRT
STARTS_S = 5.0


def no_ready(rig, result, marks, names=None):
    """Not one READY on any screen since the marks."""
    for name, screen in rig.screens().items():
        if names is None or name in names:
            ready = [v for v in screen.shown(marks.get(name, 0)) if v[1]]
            result.unsafe += len(ready)
            result.must(not ready, "%s: READY on %s" % (result.what, name))


def all_not_ready(rig, fault, result):
    """Make a fault that somebody says by a key; each screen has gone NOT READY, with its cause."""
    screens = rig.screens()
    marks, begin = cycle.marks_of(screens), time.monotonic()
    fault.begin()
    cycle.wait_not_ready(screens, marks, begin + 2.0)
    time.sleep(max(0.0, begin + 0.3 - time.monotonic()))  # what each names settles
    cycle.judge_screens(result, fault, screens, marks, begin)
    return cycle.marks_of(screens)


# ---- memory that is refused ----

def command_of(rig, node):
    if node.startswith("bus-"):
        return [BROKER, "-C", rig.dir, "--bus", node]
    if node == "recorder-1":
        return [rigs.RECORDER, "-C", rig.folder(node), "--node", node]
    if node.startswith("validator-"):
        return [VALIDATOR, "-C", rig.folder(node), "--node", node]
    return [TRAPLINE, node, "-C", rig.folder(node), "--stay"]


def ended_well(rig, node, result, when):
    """Its end was a clean one or the library's own abort; True when it has ended."""
    process = rig.running[node]
    code = process.process.poll()
    if code is None:
        return False
    process.close()
    result.counts["aborted" if code == ABORTED else "refused"] += 1
    return result.must(code in (1, 78, ABORTED), "%s: %s ended with %s: %s" % (
        when, node, code, [line for _, line in process.lines[-2:]])) or True


def starve_starts(rig, rng, node, result, times):
    """Refuse the Nth allocation of a start, for N over all that a start needs."""
    rig.node_env(node)
    machine = rig.machines[node]
    rig.kill(node)
    machine.set(alloc_in=10 ** 9)
    rig.launch(node, command_of(rig, node))
    needed = 10 ** 9 - machine.get("alloc_in")
    result.counts["needed by starts"] += needed
    rig.kill(node)
    for i in range(times):
        count = rng.randint(1 + needed * i // times, max(1, needed * (i + 1) // times))
        machine.set(alloc_in=count)
        result.counts["tried"] += 1
        process = rig.launch(node, command_of(rig, node), ready=None)
        end = time.monotonic() + STARTS_S
        while process.process.poll() is None and time.monotonic() < end and not any(
                "ready" in line for _, line in process.lines):
            time.sleep(0.005)
        result.must(time.monotonic() < end, "%s hangs at allocation %d of its start" % (
            node, count))
        if not ended_well(rig, node, result, "allocation %d of a start" % count):
            result.counts["went on"] += 1
            rig.kill(node)
    machine.clear()
    rig.launch(node, command_of(rig, node))


def starve_running(rig, rng, node, result, times):
    machine = rig.machines[node]
    for _ in range(times):
        count = rng.choice([1, rng.randint(1, 30), rng.randint(1, 400)])
        machine.set(alloc_in=count)
        result.counts["tried"] += 1
        end = time.monotonic() + 1.5
        while machine.get("alloc_in") > 0 and time.monotonic() < end and \
                rig.running[node].process.poll() is None:
            talk(rig, rng)
        time.sleep(0.1)  # it ends a moment after its refusal, if it does
        machine.set(alloc_in=0)
        if ended_well(rig, node, result, "allocation %d while it runs" % count):
            rig.launch(node, command_of(rig, node))
        else:
            result.counts["went on"] += 1


@row(7, "out of memory, at start and running", "ends or goes on; nothing partial", seconds=30)
def out_of_memory(context, rng):
    """The deck is FOUL all the while: a picture that lacks something must not say READY."""
    rig = context.rig()
    rig.until_ready()
    result = Result("out of memory")
    begin = time.monotonic()
    fault = faults.foul(rig, "deck")
    marks = all_not_ready(rig, fault, result)
    bus = rng.choice(["bus-a", "bus-b"])
    for node in (rng.choice(faults.VALIDATORS), bus, "recorder-1", "approach"):
        starve_starts(rig, rng, node, result, 4)
        starve_running(rig, rng, node, result, 3)
        no_ready(rig, result, marks, [name for name in marks if name != "approach"])
    time.sleep(rigs.HOLD_S)
    rig.until_show(1, ["line-crossed:deck"])
    rig.faults.append((begin, time.monotonic(), 1.0, set(STATIONS), result.what))
    rig.say_until("deck", "clear")
    result.back = rig.until_ready() - time.monotonic()
    yield result


# ---- memory that is spoilt ----

class Memory:
    """What a program holds for itself: its own data and heap, no stack, no code, no library."""

    def __init__(self, pid):
        self.file = open("/proc/%d/mem" % pid, "r+b", buffering=0)
        self.areas = []
        self.maybe_stacks = []  # behind a guard page; the kernel may have joined a heap to it
        before = None
        for line in open("/proc/%d/maps" % pid):
            words = line.split(None, 5)
            low, high = [int(word, 16) for word in words[0].split("-")]
            name = words[5].strip() if len(words) > 5 else ""
            own = name in ("", "[heap]") or "trapline" in pathlib.Path(name).name
            if words[1] == "rw-p" and own:
                guarded = before == (low, "---p")
                (self.maybe_stacks if guarded else self.areas).append((low, high - low))
            before = (high, words[1])

    def read(self, area):
        self.file.seek(area[0])
        return self.file.read(area[1])

    def write(self, at, data):
        self.file.seek(at)
        self.file.write(data)

    def find(self, wanted):
        """Where it stands."""
        places = []
        for area in self.areas + self.maybe_stacks:
            data = self.read(area)
            at = data.find(wanted)
            while at >= 0:
                places.append(area[0] + at)
                at = data.find(wanted, at + 1)
        return places

    def flip(self, rng, count):
        """Turn single bits round, in bytes that hold something."""
        area = rng.choices(self.areas, weights=[a[1] for a in self.areas])[0]
        data = self.read(area)
        held = [i for i in range(len(data)) if data[i]]
        for at in rng.choices(held, k=count) if held else []:
            self.write(area[0] + at, bytes([data[at] ^ 1 << rng.randrange(8)]))
        return count if held else 0

    def close(self):
        self.file.close()


def number_bytes(number):
    return number.to_bytes(4, "little")


def believe(rig, node, old, new):
    """One validator holds the number `new` wherever it has heard `old`; no beat mends that, since
    the change with that sequence is applied. Returns when it began to."""
    memory = Memory(rig.running[node].process.pid)
    try:
        places = [at for at in memory.find(number_bytes(old)) if at % 4 == 0]
        since = time.monotonic()
        for at in places:
            memory.write(at, number_bytes(new))
    finally:
        memory.close()
    assert places, "%s holds no %d" % (node, old)
    return since


def gone_and_back(rig, marks):
    """READY has gone from every screen since the marks, and is back."""
    left = cycle.wait_not_ready(rig.screens(), marks, time.monotonic() + 2.0)
    assert not left, "READY stayed on %s" % list(left)
    return rig.until_ready()


def restarted(rig, node):
    """Its next life; the marks of the screens before it."""
    marks = cycle.marks_of(rig.screens())
    if rig.running[node].process.poll() is None:
        rig.kill(node)
    else:
        rig.running[node].close()
    rig.restart(node)
    return marks


@row(8, "bits flip in what a validator holds", "READY needs both; they differ", seconds=16)
def bits_flip(context, rng):
    """Flips by chance while the deck is FOUL, then one that hides a wrong repeater from it."""
    with rigs.Rig(rng.randint(1, 9999)) as rig:  # of its own: what is spoilt is in its alerts too
        rig.start_all()
        node = rng.choice(faults.VALIDATORS)
        yield by_chance(rig, rng, node)
        result = wrong_answer(rig, node)
        sum_up(context, rig, result, record=False)
        yield result


def by_chance(rig, rng, node):
    result = Result("bits flip in %s" % node)
    begin = time.monotonic()
    process = rig.running[node].process
    memory = Memory(process.pid)
    try:
        result.counts["bits"] += memory.flip(rng, 20)  # before the word, and more of them after it
        marks = all_not_ready(rig, faults.Fault(
            result.what, lambda: rig.type("deck", "foul person"), None, reported=True,
            causes=[("line-crossed", "deck"), ("no-validator", None), ("validators-differ", None),
                    ("station-lost", None), ("other-configuration", None)]), result)
        for _ in range(15):
            if process.poll() is not None:
                break
            try:
                result.counts["bits"] += memory.flip(rng, 40)
            except OSError:
                break  # it is gone between two flips
            time.sleep(0.1)
    finally:
        memory.close()
    result.counts["died" if process.poll() is not None else "lived"] += 1
    no_ready(rig, result, marks)
    restarted(rig, node)
    no_ready(rig, result, marks)
    rig.faults.append((begin, time.monotonic(), 1.0, set(), result.what))
    rig.say_until("deck", "clear")
    rig.until_ready()
    return result


def wrong_answer(rig, node):
    """One validator holds the repeaters right that are said wrong: its own word is READY."""
    result = Result("%s holds 34,000 where 38,500 was said" % node)
    begin = time.monotonic()
    marks = all_not_ready(rig, faults.Fault(
        result.what, lambda: rig.type_and_confirm("primary", "repeaters 38500"), None,
        causes=[("repeater-differs", None)]), result)
    believe(rig, node, 38500, rig.WEIGHT)
    time.sleep(1.0)
    differs = cycle.words_of("validators-differ")
    for name, screen in rig.screens().items():
        result.named[1] += 1
        result.named[0] += 1 if differs in screen.now()[2][0] else 0
        result.must(differs in screen.now()[2][0], "%s: %s shows %s" % (
            result.what, name, screen.now()[2][:1]))
    no_ready(rig, result, marks)
    restarted(rig, node)
    no_ready(rig, result, marks)
    rig.faults.append((begin, time.monotonic(), 1.0, set(), result.what))
    rig.say_until("primary", "repeaters %d" % rig.WEIGHT)
    result.back = rig.until_ready() - begin
    return result


@row(53, "validators hold other things", "both are named; NOT READY, held", seconds=10)
def validators_differ(context, rng):
    """A gauge that no rule judges on this ship: each validator by itself says READY, and only that
    they hold other things keeps it from the screens."""
    rig = context.rig()
    rig.until_ready()
    node, engine = rng.choice(faults.VALIDATORS), "engine-%d" % rng.randint(1, 4)
    psi = rng.randint(3001, 3999)
    rig.say(engine, "accumulator %d" % psi)
    settled(rig)
    since = rig.running["watch"].mark()
    end = rng.choice([lambda: restarted(rig, node),
                      lambda: rig.say_until(engine, "accumulator %d" % (psi + 9))])
    fault = faults.Fault("%s holds another gauge of %s" % (node, engine),
                         lambda: believe(rig, node, psi, psi + 1), end,
                         causes=[("validators-differ", None)])
    result = cycle.run(rig, fault, 0.5)
    said = "\n".join(line for _, line in rig.running["watch"].lines[since:])
    for validator in faults.VALIDATORS:
        result.must('"text":"%s: validators differ' % validator.replace("-", " ") in said,
                    "%s is not named" % validator)
    yield result


# ---- other tables ----

def other_folder(rig, node, file, rng):
    """The folder of a node, with one file of it changed: a value of it, or only a comment."""
    folder = rig.dir / "nodes" / ("other-%d" % rng.randrange(10 ** 6))
    folder.mkdir()
    for path in rig.folder(node).iterdir():
        (folder / path.name).write_bytes(path.read_bytes())
    text = (folder / file).read_text()
    values = {"aircraft.yaml": ("max_trap_lb: 38000", "max_trap_lb: 37500"),
              "gear.yaml": ("crosshead_min_in: 1.00", "crosshead_min_in: 1.05"),
              "ship.yaml": ("ramp_margin_s: 5", "ramp_margin_s: 6")}
    old, new = values.get(file, ("", "")) if rng.random() < 0.5 else ("", "")
    changed = text.replace(old, new) if old else text + "# one more\n"
    assert changed != text, file
    (folder / file).write_text(changed)
    return folder


@row(54, "validators or screens hold other tables", "digest of each file; named", seconds=16)
def other_tables(context, rng):
    rig = context.rig()
    files = ["ship.yaml", "gear.yaml", "aircraft.yaml", "stations.yaml"]
    node, file = rng.choice(faults.VALIDATORS), rng.choice(files)
    folder = other_folder(rig, node, file, rng)

    def begin():
        rig.kill(node)
        rig.launch(node, [VALIDATOR, "-C", folder, "--node", node])

    fault = faults.Fault("%s holds another %s" % (node, file), begin,
                         lambda: restarted(rig, node), deadline_s=rigs.NOT_READY_S,
                         causes=[("other-configuration", node)])
    yield cycle.run(rig, fault, rigs.HOLD_S + 1.0)
    # A screen: its own word is what it cannot trust, the others do not mind.
    file = rng.choice(files)
    result = Result("a screen holds another " + file)
    rig.kill("approach")
    rig.station("approach", folder=other_folder(rig, "approach", file, rng))
    begun = time.monotonic()
    time.sleep(rigs.HOLD_S + 1.0)
    rig.until_ready(but=["approach"])
    screen = rig.screens()["approach"]
    no_ready(rig, result, {}, ["approach"])
    result.named[1] += 1
    if result.must(cycle.words_of("other-configuration") in screen.now()[2][0],
                   "approach shows %s" % (screen.now(),)):
        result.named[0] += 1
    rig.faults.append((begun, time.monotonic(), None, {"approach"}, result.what))
    rig.kill("approach")
    rig.station("approach")
    rig.until_ready()
    yield result
    # The keys: a caution, and READY.
    result = Result("%s holds another keys.yaml" % node)
    folder = other_folder(rig, node, "keys.yaml", rng)
    marks = cycle.marks_of(rig.screens())
    rig.kill(node)
    rig.launch(node, [VALIDATOR, "-C", folder, "--node", node])
    gone_and_back(rig, marks)
    named = [a for a in rig.until_show(0)["alerts"] if a["rule"] == "keys-differ"]
    result.must(named, "no keys-differ")
    gone_and_back(rig, restarted(rig, node))
    yield result
