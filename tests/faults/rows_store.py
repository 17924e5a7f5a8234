# SPDX-License-Identifier: Apache-2.0
"""rows_store - the disk of the record: full, not synced, torn, read-only (57 to 60).

Recording never decides READY: in each row READY stays, and a FOUL acts, while nothing can be
recorded. Memory and tables are in rows_store2, configuration and keys in rows_store3, the file of
the record in rows_store4, clocks in rows_store5.
"""

import ctypes
import errno
import os
import shutil
import sqlite3
import subprocess
import tempfile
import time

import cycle
import faults
import history
import rig as rigs
from ship import STATIONS
from table import Result, row

CLONE_NEWNS = 0x20000
NOBODY = 65534
DISK_KB = 4096
LOST_S = 3.0 + 1.0  # no beat of a recorder for 3 s, and the alert on the screen
SAYS_S = 3.0        # in which a recorder must have noticed, or be back
EATER = """import sys, time
file = open(sys.argv[1], "wb", buffering=0)
while True:
    try:
        file.write(bytes(4096))
    except OSError:
        time.sleep(0.01)
"""
NO_OVERRIDE_OF_MODES = ["setpriv", "--bounding-set", "-dac_override,-dac_read_search"]


# ---- a disk of its own ----

def own_mounts():
    """What is mounted from here on is seen by this run and by what it starts, and goes with it."""
    if ctypes.CDLL(None, use_errno=True).unshare(CLONE_NEWNS) != 0:
        raise OSError(ctypes.get_errno(), "unshare")
    subprocess.run(["mount", "--make-rprivate", "/"], check=True)


class Disk:
    """A small file system as the record folder of one ship."""

    def __init__(self):
        self.path, self.eater = None, None

    def put(self, ship):
        own_mounts()
        self.path = ship.dir / "record"
        self.path.mkdir()
        subprocess.run(["mount", "-t", "tmpfs", "-o", "size=%dk,mode=700" % DISK_KB, "trapline",
                        str(self.path)], check=True)

    def remount(self, how):
        subprocess.run(["mount", "-o", "remount," + how, str(self.path)], check=True)

    def fill(self):
        """Another program takes every byte that is or becomes free."""
        self.eater = subprocess.Popen(["/usr/bin/python3", "-c", EATER, self.path / "filler"])
        until(lambda: os.statvfs(self.path).f_bavail == 0, 5, "the disk is not full")

    def free(self):
        self.eater.kill()
        self.eater.wait()
        self.eater = None
        (self.path / "filler").unlink()

    def close(self):
        if self.eater is not None:
            self.eater.kill()
            self.eater.wait()
        if self.path is not None:
            subprocess.run(["umount", "--lazy", str(self.path)], check=False)


# ---- what is in the record ----

def record_of(rig):
    return rig.dir / "record" / "recorder-1.db"


def read_record(rig):
    """(changes, gaps, what the file says of itself), from a copy, with its log folded in. While a
    recorder writes, ask only when it has nothing to write or is stopped."""
    with tempfile.TemporaryDirectory(prefix="trapline-") as copy:
        for path in record_of(rig).parent.glob("recorder-1.db*"):
            if not path.name.endswith("-shm"):
                shutil.copy(path, copy)
        file = sqlite3.connect(os.path.join(copy, "recorder-1.db"))
        try:
            whole = file.execute("PRAGMA integrity_check").fetchone()[0]
            changes = set(file.execute("SELECT node, incarnation, sequence FROM change"))
            gaps = file.execute("SELECT node, incarnation, first, last FROM gap").fetchall()
        finally:
            file.close()
    return changes, gaps, whole


def uncovered(rig, marks, file=None):
    """What a mark has covered and is neither in `change` nor inside a row of `gap`."""
    changes, gaps, _ = file or read_record(rig)
    held = set(changes)
    for node, incarnation, first, last in gaps:
        held |= {(node, incarnation, s) for s in range(first, last + 1)}
    return sorted(key + (s,) for key, through in marks.items() for s in range(1, through + 1)
                  if key + (s,) not in held)


def until(test, limit_s, words):
    end = time.monotonic() + limit_s
    while not test():
        assert time.monotonic() < end, words
        time.sleep(0.02)


def settled(rig):
    """All that the running stations have said is covered."""
    until(lambda: rig.listener.settled(history.lives(rig)), 15, "the marks stay behind")


# ---- what must hold while nothing is recorded ----

class Calm:
    """READY from its making on, on every screen."""

    def __init__(self, rig, result):
        self.screens = rig.screens()
        self.marks = cycle.marks_of(self.screens)
        self.result = result

    def look(self):
        for name, screen in self.screens.items():
            gone = cycle.first_not_ready(screen, self.marks[name])
            self.result.must(gone is None, "%s: %s showed NOT READY: %s" % (
                self.result.what, name, gone and gone[2]))


def take(result, other):
    """Put what came of a fault within a fault to the outer one."""
    for key in ("times", "reported", "problems"):
        getattr(result, key).extend(getattr(other, key))
    result.named = [a + b for a, b in zip(result.named, other.named)]
    result.unsafe += other.unsafe


def still_judges(rig, rng, result):
    """A FOUL is NOT READY on every screen, and READY is back after it."""
    take(result, cycle.run(rig, faults.foul(rig, rng.choice(["deck", "platform", "primary"])), 0.0))


def talk(rig, rng, count=1):
    """Words that no rule judges on this ship: something to record."""
    for _ in range(count):
        rig.say(rng.choice(STATIONS), "watch Ash%d" % rng.randint(1, 999))


def told_lost(rig, result, since):
    """Primary's screen names the recorder that is lost, and so does who asks."""
    def stands():
        return any(alert["rule"] == "recorder-lost" and alert["state"] != "returned"
                   for alert in rig.show()[1]["alerts"])

    for name, test in (("show", lambda: until(stands, LOST_S + 1, "no")), (
            "primary", lambda: rig.running["primary"].wait_text("recorder lost", since["primary"],
                                                                1.0))):
        try:
            test()
            result.named[0] += 1
        except AssertionError:
            result.must(False, "%s: %s does not name the recorder" % (result.what, name))
        result.named[1] += 1


def line_marks(rig):
    return {name: rig.running[name].mark() for name in ("primary", "recorder-1")}


def unrecorded(rig, rng, result, since):
    """The recorder has said that it cannot: no mark of what is said now, the bus goes on."""
    rig.running["recorder-1"].wait_text("REC-001", since["recorder-1"], SAYS_S)
    calm = Calm(rig, result)
    marks = dict(rig.listener.marks)
    talk(rig, rng, 2)
    told_lost(rig, result, since)
    calm.look()
    still_judges(rig, rng, result)
    result.must(dict(rig.listener.marks) == marks, "%s: covered while it cannot write: %s" % (
        result.what, set(rig.listener.marks.items()) - set(marks.items())))


def recorded_again(rig, result, since):
    rig.running["recorder-1"].wait_text("REC-002", since["recorder-1"], SAYS_S)
    settled(rig)
    rig.until_ready()


def sum_up(context, rig, result, record=True):
    """The whole life of a ship that one row had for itself; without what was lost with its file."""
    if record:
        figures, problems = rig.reckon()
        context.figures.update(figures)
    else:
        timelines = {name: history.timeline(rig, name) for name in STATIONS + ["watch"]}
        problems = history.stale(rig, timelines) + history.split(rig, timelines, time.monotonic())
    context.figures["ships"] += 1
    result.problems += problems


# ---- the rows ----

@row(57, "disk full for the recorder", "silent marks, READY stays, all caught up", seconds=16,
     root=True)
def disk_full(context, rng):
    disk = Disk()
    try:
        with rigs.Rig(rng.randint(1, 9999), edit=disk.put) as rig:
            rig.start_all()
            result = Result("the disk of the record is full")
            since = line_marks(rig)
            disk.fill()
            cannot_write(rig, rng, since)
            unrecorded(rig, rng, result, since)
            disk.free()
            recorded_again(rig, result, since)
            result.counts["named gaps"] = len(read_record(rig)[1])
            sum_up(context, rig, result)
            yield result
    finally:
        disk.close()


def in_file(rig, result, marks):
    """After its end, before it starts again: the file is whole and has what was covered."""
    file = read_record(rig)
    gone = uncovered(rig, marks, file)
    result.lost += len(gone)
    result.must(not gone, "%s: covered and not in the file: %s" % (result.what, gone))
    result.must(file[2] == "ok", "%s: %s" % (result.what, file[2]))


def cannot_write(rig, rng, since):
    """Say something until the recorder says that it cannot, or has ended."""
    recorder = rig.running["recorder-1"]

    def told():
        return recorder.process.poll() is not None or any(
            "REC-001" in line for _, line in recorder.lines[since["recorder-1"]:])

    until(lambda: told() or talk(rig, rng), 10, "a write that fails is not noticed")


def start_without_syncs(rig, result, machine):
    """Each sync of a start fails in turn: it is refused; then the first one after it."""
    rig.running["recorder-1"].end()  # in order: its log is empty, and the next one is new
    for count in range(1, 17):
        machine.set(sync_errno=errno.EIO, sync_in=count)
        process = rig.recorder(ready=None)
        until(lambda: process.process.poll() is not None or process.mark() > 0, SAYS_S, "hangs")
        if process.process.poll() is None and "ready" in process.lines[0][1]:
            return
        process.process.wait(SAYS_S)
        process.close()
        result.counts["starts refused"] += 1
        result.must(process.process.returncode == 1, "exit %d" % process.process.returncode)


@row(58, "a sync fails; crash right after", "no mark before its sync", seconds=24)
def sync_fails(context, rng):
    rig = context.rig()
    for how in ("crash right after", "for a time", "from its start"):
        rig.until_ready()
        settled(rig)
        result = Result("a sync fails, " + how)
        machine, since, calm = rig.machines["recorder-1"], line_marks(rig), Calm(rig, result)
        if how == "from its start":
            start_without_syncs(rig, result, machine)
            since = dict(line_marks(rig), **{"recorder-1": 0})
        else:
            machine.set(sync_errno=rng.choice([errno.EIO, errno.ENOSPC]), sync_in=rng.randint(1, 6))
        cannot_write(rig, rng, since)
        if how == "crash right after":
            time.sleep(rng.uniform(0, 1.2))  # also while it opens the file again
            rig.kill("recorder-1")
            in_file(rig, result, dict(rig.listener.marks))
            machine.clear()
            rig.restart("recorder-1")
            settled(rig)
            calm.look()
        else:
            unrecorded(rig, rng, result, since)
            machine.clear()
            recorded_again(rig, result, since)
        in_file(rig, result, dict(rig.listener.marks))
        yield result


@row(59, "half a page written, power cut", "the file's own log; no mark before", seconds=12,
     short=True)
def torn(context, rng):
    """The recorder dies in the middle of one write, wherever that falls: log, index or file."""
    rig = context.rig()
    rig.until_ready()
    result = Result("a write is torn and the recorder dies of it")
    calm = Calm(rig, result)
    for _ in range(4):
        machine = rig.machines["recorder-1"]
        machine.set(torn=1, write_in=rng.randint(1, 30))
        process = rig.running["recorder-1"].process
        until(lambda: talk(rig, rng) or process.poll() is not None, 10, "no write came")
        rig.running["recorder-1"].close()
        in_file(rig, result, dict(rig.listener.marks))
        machine.clear()
        rig.restart("recorder-1")
        settled(rig)
        in_file(rig, result, dict(rig.listener.marks))
        result.counts["torn"] += 1
    calm.look()
    yield result


def refused_start(rig, result, words, before=()):
    """The recorder does not start, in a sentence with its file, and nothing else minds."""
    calm = Calm(rig, result)
    process = rig.launch("recorder-1", list(before) + [
        rigs.RECORDER, "-C", rig.folder("recorder-1"), "--node", "recorder-1"], ready=None)
    try:
        code = process.process.wait(SAYS_S)
    except subprocess.TimeoutExpired:
        code = None
        process.kill()
    process.reader.join()
    said = " ".join(line for _, line in process.lines)
    result.must(code == 1 and words in said and "record" in said and "ready" not in said,
                "%s: exit %s, said: %s" % (result.what, code, said))
    result.counts["refused"] += 1
    calm.look()


@row(60, "store read-only or of another owner", "refuses at start; mid-run as 57", seconds=25,
     root=True)
def read_only(context, rng):
    disk = Disk()
    try:
        with rigs.Rig(rng.randint(1, 9999), edit=disk.put) as rig:
            rig.start_all()
            settled(rig)
            result = Result("the record is read-only at start")
            rig.kill("recorder-1")
            disk.remount("ro")
            refused_start(rig, result, "read")
            disk.remount("rw")
            rig.restart("recorder-1")
            settled(rig)
            yield result
            result = Result("the record is of another owner at start")
            rig.kill("recorder-1")
            places = [disk.path] + list(disk.path.iterdir())
            for path in rng.choice([places[:1], places[1:], places]):
                os.chown(path, NOBODY, NOBODY)
                path.chmod(0o500 if path == disk.path else 0o400)
            refused_start(rig, result, "permission", NO_OVERRIDE_OF_MODES)
            for path in places:
                os.chown(path, 0, 0)
                path.chmod(0o700 if path == disk.path else 0o600)
            rig.restart("recorder-1")
            settled(rig)
            yield result
            # Mid-run the kernel refuses to remount under an open file: writes fail first, then
            # the recorder has closed the file, and the disk is read-only for its tries to open.
            result = Result("the record becomes read-only")
            since, machine = line_marks(rig), rig.machines["recorder-1"]
            machine.set(write_errno=errno.EROFS, write_in=rng.randint(1, 20))
            cannot_write(rig, rng, since)
            disk.remount("ro")
            machine.clear()
            unrecorded(rig, rng, result, since)
            disk.remount("rw")
            recorded_again(rig, result, since)
            sum_up(context, rig, result)
            yield result
    finally:
        disk.close()
