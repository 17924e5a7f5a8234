# SPDX-License-Identifier: Apache-2.0
"""rows_store5 - wall clocks that jump, that differ, that come to dates of note (49, 51, 52), and a
machine that is suspended (50).

libfaketime moves CLOCK_REALTIME of one program and leaves CLOCK_BOOTTIME, as a step of a host's
clock does. Both are looked at, and that what a station says carries the moved time.
"""

import datetime
import json
import os
import pathlib
import signal
import sqlite3
import subprocess
import time

import cycle
import faults
import rig as rigs
from injectors import PRELOAD
from rows_store import Calm, record_of, settled, still_judges, sum_up, take, talk
from ship import STATIONS
from table import Result, row

FAKETIME = "/usr/lib/x86_64-linux-gnu/faketime/libfaketimeMT.so.1"
DAY_S = 86400
OLD_AT_ONCE_S = 0.5  # from its going on; one turn of its loop, and the load of the machine


def clock_file(rig, node):
    return rig.dir / ("clock-" + node)


def set_clock(rig, node, offset_s):
    """Move the wall clock of that node, now. A file is replaced as a whole."""
    path = clock_file(rig, node)
    fresh = path.with_suffix(".new")
    fresh.write_text("%+.3f" % offset_s)
    fresh.rename(path)


def clock_env(rig, node, more=""):
    return {"LD_PRELOAD": (FAKETIME + " " + more).strip(), "DONT_FAKE_MONOTONIC": "1",
            "FAKETIME_TIMESTAMP_FILE": str(clock_file(rig, node)), "FAKETIME_NO_CACHE": "1",
            "NO_FAKE_STAT": "1"}


def give_clocks(rig, offsets):
    """A clock of its own for each node: {node: s}."""
    for node, offset_s in offsets.items():
        set_clock(rig, node, offset_s)
        rig.env_of[node] = clock_env(rig, node, str(PRELOAD))


def clocks_are_off(result, env, offset_s):
    """The wall clock of a program is off by that, and the clock that ages come from is not."""
    done = subprocess.run(
        ["/usr/bin/python3", "-c", "import time; print(time.time(), time.clock_gettime(7))"],
        env=dict(os.environ, **env), stdout=subprocess.PIPE, text=True, check=True)
    wall, boot = [float(word) for word in done.stdout.split()]
    result.must(abs(wall - time.time() - offset_s) < 1.0, "the wall clock is not moved")
    result.must(abs(boot - time.clock_gettime(7)) < 1.0, "the other clock is moved")


def forget_clocks(rig):
    """The library leaves two files for each process that was killed."""
    for process in list(rig.running.values()) + rig.ended:
        for form in ("faketime_shm_%d", "sem.faketime_sem_%d"):
            pathlib.Path("/dev/shm", form % process.process.pid).unlink(missing_ok=True)


def says_at(rig, result, node, offset_s):
    """A word of that station carries its own wall clock: it really has moved."""
    rig.say(node, "watch Ash")
    settled(rig)
    file = sqlite3.connect("file:%s?mode=ro" % record_of(rig), uri=True)
    try:
        wall_ms = file.execute("SELECT wall_ms FROM change WHERE node = ? ORDER BY id DESC LIMIT 1",
                               (node,)).fetchone()[0]
    finally:
        file.close()
    result.must(abs(wall_ms / 1000 - time.time() - offset_s) < 3.0,
                "%s says it at %.1f s off, not %.1f" % (
                    node, wall_ms / 1000 - time.time(), offset_s))


NODES = STATIONS + list(faults.VALIDATORS) + ["recorder-1", "watch"]


@row(49, "wall clock jumps by an hour or a day", "no age by it; a life's number grows", seconds=25)
def clock_jumps(context, rng):
    """The record does not mark the step today: its rows are in the order of arrival."""
    with rigs.Rig(rng.randint(1, 9999)) as rig:
        try:
            give_clocks(rig, {node: 0 for node in NODES})
            rig.start_all()
            for jump_s in rng.sample([3600, -3600, -DAY_S], 2):
                who = rng.choice([[rng.choice(STATIONS)], list(faults.VALIDATORS),
                                  [rng.choice(faults.VALIDATORS)], ["primary"], NODES])
                result = Result("wall clock of %s jumps by %d s" % (
                    who[0] if len(who) == 1 else "%d nodes" % len(who), jump_s))
                clocks_are_off(result, clock_env(rig, who[0]), 0)
                calm = Calm(rig, result)
                for node in who:
                    set_clock(rig, node, jump_s)
                clocks_are_off(result, clock_env(rig, who[0]), jump_s)
                time.sleep(1.5)
                calm.look()
                for node in [n for n in who if n in STATIONS][:1]:
                    says_at(rig, result, node, jump_s)
                still_judges(rig, rng, result)
                yield result
                # A new life under that clock is a newer one, whatever the clock says.
                node = rng.choice([n for n in who if n != "watch"])
                set_clock(rig, node, jump_s)
                take(result, cycle.run(rig, faults.kill(rig, node) if node != "recorder-1"
                                       else faults.Fault("recorder-1 killed",
                                                         lambda: rig.kill("recorder-1"),
                                                         lambda: rig.restart("recorder-1"),
                                                         deadline_s=None), 0.3))
                for node in who:
                    set_clock(rig, node, 0)
            sum_up(context, rig, result)
        finally:
            forget_clocks(rig)


@row(51, "clocks of hosts differ by 5 s and by a day", "no clock is compared", seconds=18)
def clocks_differ(context, rng):
    with rigs.Rig(rng.randint(1, 9999)) as rig:
        try:
            offsets = {node: rng.choice([0, 5, -5, DAY_S, -DAY_S]) for node in NODES}
            give_clocks(rig, offsets)
            result = Result("clocks differ: " + ", ".join(
                "%s %+d" % item for item in sorted(offsets.items()) if item[1]))
            rig.start_all()
            calm = Calm(rig, result)
            node = rng.choice(STATIONS)
            clocks_are_off(result, clock_env(rig, node), offsets[node])
            says_at(rig, result, node, offsets[node])
            calm.look()
            still_judges(rig, rng, result)
            take(result, cycle.run(rig, faults.kill(rig, rng.choice(
                STATIONS + list(faults.VALIDATORS))), 0.2))
            code, out = rig.call("log", "passes", "-C", rig.folder("recorder-1"))
            result.must(code == 0 and "204 plover" in out, "log passes: %d %s" % (code, out))
            sum_up(context, rig, result)
            yield result
        finally:
            forget_clocks(rig)


# (what comes, seconds before it, step at it): a leap second is a second of POSIX time twice.
DATES = [("2016-12-31 23:59:59", 6.0, -1.0, "2016-12-31"),
         ("2028-02-29 00:00:00", 1.0, 0, "2028-02-29"),
         ("2028-03-01 00:00:00", 1.0, 0, "2028-03-01"),
         ("2038-01-19 03:14:08", 1.0, 0, "2038-01-19"),
         ("2100-03-01 00:00:00", 1.0, 0, "2100-03-01")]


def epoch(text):
    return datetime.datetime.fromisoformat(text + "+00:00").timestamp()


def rows_in_order(rig, result):
    """Each life's rows stand in its own order; its clock goes back by the leap second alone."""
    file = sqlite3.connect("file:%s?mode=ro" % record_of(rig), uri=True)
    try:
        rows = file.execute("SELECT node, incarnation, sequence, wall_ms FROM change ORDER BY "
                            "id").fetchall()
    finally:
        file.close()
    last = {}
    for node, incarnation, sequence, wall_ms in rows:
        before = last.get(node, (0, 0, 0))
        result.must((incarnation, sequence) > before[:2] and wall_ms >= before[2] - 1000,
                    "%s %d/%d at %d after %s" % (node, incarnation, sequence, wall_ms, before))
        last[node] = (incarnation, sequence, wall_ms)
    result.counts["rows in order"] += len(rows)


@row(52, "leap second, 29 February, 2038, 2100", "64-bit ms; record in order", seconds=25)
def dates(context, rng):
    with rigs.Rig(rng.randint(1, 9999)) as rig:
        try:
            result = Result("dates")
            set_clock(rig, "ship", epoch(DATES[0][0]) - DATES[0][1] - time.time())
            rig.env.update(clock_env(rig, "ship"))
            for node in NODES:
                rig.env_of[node] = clock_env(rig, "ship", str(PRELOAD))
            rig.start_all()
            days = [DATES[0], rng.choice(DATES[1:3]), rng.choice(DATES[3:])]
            for number, (text, before_s, step_s, _) in enumerate(days):
                if number > 0:
                    set_clock(rig, "ship", epoch(text) - before_s - time.time())
                offset_s = float(clock_file(rig, "ship").read_text())
                calm = Calm(rig, result)
                time.sleep(max(0.0, epoch(text) - offset_s - time.time()) + 0.2)
                if step_s:
                    set_clock(rig, "ship", offset_s + step_s)
                talk(rig, rng, 2)
                time.sleep(0.6)
                calm.look()
                if rng.random() < 0.5:
                    node = rng.choice(["engine-2", "approach", "validator-1", "recorder-1"])
                    rig.kill(node)
                    rig.restart(node)
                rig.until_ready()
                rig.say("platform", "wave-off")
                rig.order(204, "plover", rig.WEIGHT)
                rig.until_ready()
                result.counts["dates"] += 1
            still_judges(rig, rng, result)
            settled(rig)
            code, out = rig.call("log", "passes", "--json", "-C", rig.folder("recorder-1"))
            passes = json.loads(out)["passes"] if code == 0 else []
            result.must(code == 0 and len(passes) >= len(days), "log passes: %d %s" % (code, out))
            for _, _, _, day in days:
                result.must(day in out, "no pass of " + day)
            code, out = rig.call("log", "passes", "-C", rig.folder("recorder-1"))
            result.must(code == 0 and "wave-off" in out, "log passes: %d %s" % (code, out))
            rows_in_order(rig, result)
            sum_up(context, rig, result)
            yield result
        finally:
            forget_clocks(rig)


@row(50, "the machine is suspended for 3 to 6 s", "the clock goes on; all is old", seconds=16)
def suspended(context, rng):
    """All programs and the wires between them stop, and go on at once, one by one, or the
    validators last: each screen knows by its own clock that what it shows is old."""
    rig = context.rig()
    rig.until_ready()
    how = rng.choice(["at once", "one by one", "validators last"])
    result = Result("everything suspended, goes on " + how)
    pids = {name: p.process.pid for name, p in rig.running.items()}
    pids["strait"] = rig.strait.process.pid
    order, apart_s = list(pids), 0.02 if how == "one by one" else 0.0
    rng.shuffle(order)
    if how == "validators last":
        order.sort(key=lambda name: (name in faults.VALIDATORS, name != "strait"))
    begin = time.monotonic()
    for pid in pids.values():
        os.kill(pid, signal.SIGSTOP)
    time.sleep(rng.uniform(3.0, 6.0))
    screens = rig.screens()
    marks, awake = cycle.marks_of(screens), {}
    for name in order:
        if how == "validators last" and name == order[-2]:
            time.sleep(1.5)
        os.kill(pids[name], signal.SIGCONT)
        awake[name] = time.monotonic()
        time.sleep(apart_s)
    over = time.monotonic()
    cycle.wait_not_ready(screens, marks, over + 1.0)
    for name, screen in screens.items():
        shown = screen.shown(marks[name])
        took = shown[0][0] - awake[name] if shown else 9.0
        result.must(shown and not shown[0][1] and took <= OLD_AT_ONCE_S,
                    "%s shows first, after %.3f s: %s" % (name, took, shown[:1]))
        result.times.append(max(0.0, took))
    rig.faults.append((begin, over, None, set(STATIONS) | {"watch"}, result.what))
    result.back = rig.until_ready() - over
    for name, screen in screens.items():
        early = [v[0] - over for v in screen.shown(marks[name]) if v[1]][:1]
        held = result.must(early and early[0] >= rigs.HOLD_S - 0.05 - len(order) * apart_s,
                           "READY on %s %s s after it went on" % (name, early))
        result.unsafe += 0 if held else 1
    yield result
