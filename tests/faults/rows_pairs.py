# SPDX-License-Identifier: Apache-2.0
"""rows_pairs - two buses, one of which fails under load (121 to 126), hosts that lose packets (19,
127 to 129), and two faults at once by chance (79)."""

import contextlib
import threading
import time

import cycle
import faults
import rig as rigs
from injectors import Host
from ship import STATIONS
from table import Result, row



class Load:
    """Approach tells of one aircraft after another, each word timed until it is accepted."""

    def __init__(self, rig):
        self.rig = rig
        self.took = []
        self.failed = []
        self.stopping = threading.Event()
        self.thread = threading.Thread(target=self.talk, daemon=True)
        self.thread.start()

    def talk(self):
        number = 0
        while not self.stopping.is_set():
            number += 1
            begin = time.monotonic()
            code, out = self.rig.do("approach", "inbound %d plover %d" % (
                500 + number % 8, 30000 + 10 * (number % 300)))
            self.took.append(time.monotonic() - begin)
            if code != 0:
                self.failed.append(out)

    def stop(self):
        self.stopping.set()
        self.thread.join()


def under_load(rig, fault, result, last_s, alert):
    """The fault while approach talks: READY stays, nothing is refused, resent or lost."""
    with contextlib.ExitStack() as stack:
        load = Load(rig)
        stack.callback(load.stop)
        until = time.monotonic() + 1.0
        while time.monotonic() < until and len(load.took) < 5:
            time.sleep(0.01)
        before = {key for key in list(rig.listener.sent)}
        screens = rig.screens()
        marks = cycle.marks_of(screens)
        begin = time.monotonic()
        fault.begin()
        cycle.stay_ready(result, fault, screens, marks, begin + last_s)
        if alert is not None:
            rig.running["watch"].wait_for(
                lambda line: '"rule":"bus-degraded"' in line and '"station":"%s"' % alert in line
                and line.startswith('{"kind":"alert"'), marks["watch"], 12)
            result.counts["caution named"] += 1
        fault.end()
        cycle.stay_ready(result, fault, screens, marks, time.monotonic() + 1.5)
    result.must(not load.failed, "words were not accepted: %s" % load.failed[:3])
    new = [k for k in list(rig.listener.sent) if k not in before and k[0] == "approach"]
    resent = [k for k in new if rig.listener.resent_for_a_bus(k)]
    result.counts["words"] += len(load.took)
    result.counts["resent"] += len(resent)
    result.must(not resent, "%d of %d words were sent again" % (len(resent), len(new)))
    result.must(len(new) > 3, "only %d words were said" % len(new))
    rig.faults.append((begin, time.monotonic(), None, set(), fault.what))


@row(121, "one bus dies under load and comes back", "all on both buses, the second copy dropped",
     seconds=14, short=True)
def bus_dies(context, rng):
    rig = context.rig()
    rig.until_ready()
    name, how = rng.choice(["bus-a", "bus-b"]), rng.choice(["killed", "stopped"])
    fault = faults.bus(rig, name, how)
    result = Result(fault.what + " under load")
    under_load(rig, fault, result, 2.0, name)
    rig.until_ready()
    yield result


@row(122, "one bus cut, late or held for every node, under load", "the same", seconds=14)
def bus_weather(context, rng):
    rig = context.rig()
    rig.until_ready()
    name = rng.choice(["bus-a", "bus-b"])
    key, value, what = rng.choice([("swallow", 1, "cut for everybody"),
                                   ("delay", rng.randint(700, 4000), "late for everybody"),
                                   ("hold", 1, "held, then its backlog")])
    fault = faults.bus_weather(rig, name, key, value, what)
    result = Result(fault.what)
    under_load(rig, fault, result, 3.0, name)
    rig.until_ready()
    yield result


@row(123, "a bus goes on with a backlog from before a FOUL", "old sequences, old echoes",
     seconds=8, short=True)
def stale_backlog(context, rng):
    """One bus stands still while the deck is fouled; what it delivers afterwards says CLEAR."""
    rig = context.rig()
    rig.until_ready()
    name = rng.choice(["bus-a", "bus-b"])
    result = Result("%s stopped, FOUL, then its backlog" % name)
    screens = rig.screens()
    rig.pause(name)
    time.sleep(rng.uniform(0.5, 2.5))
    fault = faults.foul(rig, "deck")
    marks = cycle.marks_of(screens)
    begin = time.monotonic()
    fault.begin()
    cycle.wait_not_ready(screens, marks, begin + 2.0)
    rig.go_on(name)
    time.sleep(1.5)
    cycle.judge_screens(result, fault, screens, marks, begin)
    over = time.monotonic()
    cycle.no_ready_meanwhile(result, fault, screens, marks, begin, over)
    rig.faults.append((begin, over, 1.0, set(), result.what))
    fault.mend()
    result.back = rig.until_ready() - over
    yield result


@row(124, "both buses gone", "each screen's own timer", seconds=9, short=True)
def both_gone(context, rng):
    rig = context.rig()
    yield cycle.run(rig, faults.both_buses(rig, rng.choice(["killed", "stopped"])), 0.3)


# ---- hosts of their own ----

@contextlib.contextmanager
def far_ship(seed, nodes):
    hosts = {}
    try:
        for number, node in enumerate(nodes):
            hosts[node] = Host(number + 1)
        with rigs.Rig(seed, hosts=hosts) as rig:
            rig.start_all()
            yield rig, hosts
    finally:
        for host in hosts.values():
            host.stop()


def far_fault(rig, hosts, node, way, percent, what):
    return cycle.Fault(what, lambda: hosts[node].drop(way, percent), lambda: hosts[node].calm(),
                       causes=faults.deaf(node), own=faults.own_words(node))


@row(127, "packets of a host dropped: out, in, both ways", "echo ages out; no timer of TCP",
     seconds=24, short=True, root=True)
def host_cut(context, rng):
    nodes = [rng.choice(STATIONS), rng.choice(faults.VALIDATORS)]
    with far_ship(rng.randint(1, 9999), nodes) as (rig, hosts):
        for way in ("out", "in", "both"):
            node = rng.choice(nodes)
            yield cycle.run(rig, far_fault(rig, hosts, node, way, 100,
                                           "all packets %s of %s dropped" % (way, node)), 0.5)


@row(19, "10, 30, 50 % of the packets lost", "either fresh or NOT READY; FOUL elsewhere in 150 ms",
     seconds=40, root=True)
def packet_loss(context, rng):
    """What TCP makes of it is lateness. The lossy station may be called lost again and again, but
    not more often than its return is held; what others say is not touched."""
    node = rng.choice([s for s in STATIONS if s != "deck"])
    with far_ship(rng.randint(1, 9999), [node]) as (rig, hosts):
        for percent in (10, 30, 50):
            result = Result("%d %% of the packets of %s lost" % (percent, node))
            rig.until_ready()
            screens = rig.screens()
            marks = cycle.marks_of(screens)
            begin = time.monotonic()
            hosts[node].drop("both", percent)
            time.sleep(6.0)
            others = {n: s for n, s in screens.items() if n != node}
            flaps = sum(1 for v in screens["watch"].shown(marks["watch"]) if v[1])
            result.counts["READY again at %d %%" % percent] += flaps
            result.must(flaps <= 3, "%d returns in 6 s" % flaps)
            said = time.monotonic()
            rig.type("deck", "foul person")
            cycle.wait_not_ready(others, {n: 0 for n in others}, said)
            time.sleep(1.2)
            for name, screen in screens.items():
                limit = 0.15 if name != node else 1.0
                late = [v for v in screen.shown(marks[name]) if v[1] and v[0] > said + limit]
                stands = [v for v in screen.shown() if v[0] <= said + limit][-1]
                if not result.must(not late and not stands[1],
                                   "READY on %s %.0f ms after FOUL" % (name, 1000 * limit)):
                    result.unsafe += 1
            over = time.monotonic()
            rig.faults.append((begin, over, None, {node}, result.what))
            hosts[node].calm()
            rig.say_until("deck", "clear")
            result.back = rig.until_ready() - over
            yield result


# ---- two at once ----

def draw(rig, rng, taken):
    """A fault that touches none of the nodes in `taken`; (fault, nodes)."""
    stations = [s for s in STATIONS if s not in taken]
    validators = [v for v in faults.VALIDATORS if v not in taken]
    nodes = stations + validators
    node = rng.choice(nodes)
    station = rng.choice(stations)
    kinds = [
        (lambda: faults.kill(rig, node), {node}),
        (lambda: faults.pause(rig, node), {node}),
        (lambda: faults.hang(rig, node, rng.uniform(2.0, 4.0)), {node}),
        (lambda: faults.cut_up(rig, node), {node}),
        (lambda: faults.cut_down(rig, node), {node}),
        (lambda: faults.half_open(rig, node), {node}),
        (lambda: faults.late(rig, node, rng.choice(["up", "down", "both"]),
                             rng.randint(900, 3000)), {node}),
        (lambda: faults.held(rig, node, rng.choice(["up", "down"])), {node}),
        (lambda: faults.resets(rig, node), {node}),
        (lambda: faults.flapping(rig, node), {node}),
    ]
    if "bus" not in taken:
        kinds += [(lambda: faults.bus(rig, rng.choice(["bus-a", "bus-b"]),
                                      rng.choice(["killed", "stopped"])), {"bus"})] * 2
        kinds += [(lambda: faults.bus_weather(rig, rng.choice(["bus-a", "bus-b"]), "delay",
                                              rng.randint(500, 3000), "late"), {"bus"})]
        kinds += [(lambda: faults.both_buses(rig, "stopped"), {"bus"})]
    if len(validators) == 2:
        kinds += [(lambda: faults.both_validators(rig, rng.choice(["killed", "stopped"])),
                   set(validators))]
        kinds += [(lambda: faults.partly(rig, station, validators[0]),
                   {station, validators[0]})]
    for speaker in ("deck", "platform", "primary"):
        if speaker not in taken:
            kinds += [(lambda s=speaker: faults.foul(rig, s), {speaker})]
    if "platform" not in taken:
        kinds += [(lambda: faults.hook(rig), {"platform"})]
    make, touched = rng.choice(kinds)
    return make(), touched


def show_of(fault):
    return fault.what if fault.deadline_s is not None else fault.what + " (borne)"


@row(79, "two faults at once", "as each of them", seconds=10, short=True)
def two_faults(context, rng):
    """READY is gone by the deadline of the first that forces, stays away while one of them lasts,
    and is back when both are over and the hold is."""
    rig = context.rig()
    rig.until_ready()
    first, nodes = draw(rig, rng, set())
    second, _ = draw(rig, rng, nodes)
    result = Result("%s; %s" % (show_of(first), show_of(second)))
    pair = [first, second]
    blind = first.blind | second.blind
    screens = rig.screens(but=blind)
    marks = cycle.marks_of(screens)
    begun = {}
    for fault, gap_s in ((first, 0.0), (second, rng.choice([0.0, rng.uniform(0, 1.5)]))):
        time.sleep(gap_s)
        begun[fault] = time.monotonic()
        fault.begin()
    forcing = [f for f in pair if f.deadline_s is not None]
    start = min([begun[f] for f in forcing], default=None)
    limit_s = rigs.NOT_READY_S
    if start is not None:
        cycle.wait_not_ready(screens, marks, start + limit_s + 1.0)
        time.sleep(max(0.0, max(begun.values()) + limit_s + rng.uniform(0.1, 0.8) -
                       time.monotonic()))
        both = cycle.Fault(result.what, None, None, deadline_s=limit_s,
                           causes=first.causes + second.causes,
                           own={n: first.own.get(n, []) + second.own.get(n, []) + first.causes +
                                second.causes for n in set(first.own) | set(second.own)})
        if "bus" in nodes or first.deadline_s is None or second.deadline_s is None:
            both.causes += faults.NO_VALIDATOR + [("station-lost", None)]
        cycle.judge_screens(result, both, screens, marks, start)
    else:
        time.sleep(rng.uniform(1.0, 2.5))
    ends = rng.sample(pair, 2)
    for i, fault in enumerate(ends):
        lasting = [f for f in ends[i:] if f in forcing]
        if lasting and begun[lasting[0]] + limit_s < time.monotonic():
            cycle.no_ready_meanwhile(result, both, screens, marks, start, time.monotonic())
        fault.end()
        rig.faults.append((begun[fault], time.monotonic(), None if fault.deadline_s is None
                           else limit_s, blind, fault.what))
        time.sleep(rng.choice([0.0, rng.uniform(0, 1.0)]))
    over = time.monotonic()
    for fault in pair:
        fault.mend()
    result.back = rig.until_ready() - over
    yield result


@row(140, "a station dies, and the word of it is cut off", "a receipt tells of the oldest beat",
     seconds=8, short=True)
def loss_and_its_word(context, rng):
    """Two faults: the station is silent, and just before it would be told one screen hears nothing
    more. Each age alone may be 800 ms; READY stands on the sum."""
    rig = context.rig()
    rig.until_ready()
    station, screen = rng.sample(STATIONS, 2)
    result = Result("%s killed, then the downlink of %s cut" % (station, screen))
    screens = rig.screens(but=[station])
    marks = cycle.marks_of(screens)
    begin = time.monotonic()
    rig.kill(station)
    time.sleep(rng.uniform(0.40, 0.50))
    rig.strait.weather(screen + "/*", "down", "swallow", 1)
    cycle.wait_not_ready(screens, marks, begin + 2.5)
    both = cycle.Fault(result.what, None, None, causes=faults.lost(station) + faults.lost(screen),
                       own={screen: faults.NO_VALIDATOR + faults.lost(station)})
    cycle.judge_screens(result, both, screens, marks, begin)
    over = time.monotonic()
    rig.faults.append((begin, over, rigs.NOT_READY_S, {station}, result.what))
    rig.strait.calm(screen + "/*")
    rig.start_again(station)
    rig.words_again(station)
    result.back = rig.until_ready() - over
    yield result
