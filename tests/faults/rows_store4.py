# SPDX-License-Identifier: Apache-2.0
"""rows_store4 - the file of the record: locked, spoilt, deleted, renamed (61 to 63)."""

import sqlite3
import time

import history
import rig as rigs
from rows_store import (SAYS_S, Calm, line_marks, read_record, record_of, recorded_again, settled,
                        still_judges, sum_up, talk, uncovered, until)
from table import Result, row


@row(61, "store locked by another program 1 to 3 s", "bounded wait, then silent", seconds=9)
def locked(context, rng):
    """Short: nobody notices. Longer: nothing is covered, nothing waits for it, all is caught up."""
    rig = context.rig()
    rig.until_ready()
    settled(rig)
    result = Result("the record is locked")
    calm, since = Calm(rig, result), line_marks(rig)
    other = sqlite3.connect(record_of(rig), isolation_level=None, timeout=2)
    try:
        other.execute("BEGIN EXCLUSIVE")
        begin = time.monotonic()
        marks = dict(rig.listener.marks)
        talk(rig, rng, 3)
        rig.running["recorder-1"].wait_text("REC-001", since["recorder-1"], SAYS_S)
        calm.look()
        still_judges(rig, rng, result)
        time.sleep(max(0.0, begin + rng.uniform(1, 3) - time.monotonic()))
        result.must(dict(rig.listener.marks) == marks, "covered while it is locked out")
    finally:
        other.close()
    recorded_again(rig, result, since)
    result.must(not uncovered(rig, rig.listener.marks), "covered and not in the file")
    yield result


def damage(rig, rng):
    """Spoil the file in one of the ways in which files are spoilt; what was done."""
    path = record_of(rig)
    file = sqlite3.connect(path)
    file.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    file.close()
    data = bytearray(path.read_bytes())
    kind = rng.choice(["header", "cut", "bits", "other", "pages"])
    if kind == "header":
        for _ in range(4):
            data[rng.randrange(0, 100)] ^= 1 << rng.randrange(8)
    elif kind == "cut":
        del data[rng.randrange(100, len(data)):]
    elif kind == "bits":
        for _ in range(20):
            data[rng.randrange(100, len(data))] ^= 1 << rng.randrange(8)
    elif kind == "pages":
        at = rng.randrange(0, len(data) // 4096) * 4096
        data[at:at + 4096] = rng.randbytes(4096)
    else:
        data = bytearray(b"pass log of the watch\n" * 50)
    path.write_bytes(bytes(data))
    return kind


def move_away(rig):
    for path in record_of(rig).parent.glob("recorder-1.db*"):
        path.unlink()


def claims_no_more_than_it_has(rig, result):
    """Marks since the new start: each change is in the new file or inside a gap that it names."""
    until(lambda: len(rig.listener.marks) >= len(history.lives(rig)) - 2, 10, "no marks")
    settled(rig)
    file = read_record(rig)
    gone = uncovered(rig, dict(rig.listener.marks), file)
    result.must(not gone, "%s: claimed and not in the new file: %s" % (result.what, gone))
    result.counts["named gaps"] += len(file[1])


@row(62, "store corrupt, at start and in mid-run", "refused where noticed; READY stays", seconds=20)
def corrupt(context, rng):
    """A spoilt header or table of pages is refused; spoilt bits in rows that nobody reads are not
    noticed today (no checks in the file yet): counted."""
    with rigs.Rig(rng.randint(1, 9999)) as rig:
        rig.start_all()
        for when in ("at start", "in mid-run", "at start"):
            settled(rig)
            result = Result("the record is spoilt " + when)
            calm, since = Calm(rig, result), line_marks(rig)
            if when == "at start":
                rig.kill("recorder-1")
                since["recorder-1"] = 0
            result.what += ": " + damage(rig, rng)
            rig.listener.marks.clear()
            if when == "at start":
                process = rig.recorder(ready=None)
                until(lambda: process.process.poll() is not None or process.mark() > 0, SAYS_S,
                      "neither started nor refused")
            process = rig.running["recorder-1"]
            end = time.monotonic() + 2.0
            while process.process.poll() is None and time.monotonic() < end and not any(
                    "REC-001" in line for _, line in process.lines[since["recorder-1"]:]):
                talk(rig, rng)
            ended = process.process.poll()
            noticed = ended is not None or any(
                "REC-001" in line for _, line in process.lines[since["recorder-1"]:])
            result.counts["noticed" if noticed else "not noticed"] += 1
            result.must(ended in (None, 1), "%s: exit %s" % (result.what, ended))
            calm.look()
            still_judges(rig, rng, result)
            if ended is None:
                rig.kill("recorder-1")
            else:
                process.close()
            move_away(rig)
            rig.listener.marks.clear()
            rig.restart("recorder-1")
            claims_no_more_than_it_has(rig, result)
            yield result
        sum_up(context, rig, result, record=False)


@row(63, "store deleted or renamed", "each commit looks whether its file is still there",
     seconds=12)
def gone(context, rng):
    """What was committed into a file that nobody will find is not told as covered: the recorder
    says so, begins a new file, and names as gaps what no station can give again."""
    with rigs.Rig(rng.randint(1, 9999)) as rig:
        rig.start_all()
        settled(rig)
        how = rng.choice(["deleted", "renamed"])
        result = Result("the record is %s under the recorder" % how)
        calm, since = Calm(rig, result), line_marks(rig)
        for path in record_of(rig).parent.glob("recorder-1.db*"):
            path.unlink() if how == "deleted" else path.rename(path.with_name("old-" + path.name))
        talk(rig, rng, 4)
        process = rig.running["recorder-1"]
        process.wait_text("was removed or renamed", since["recorder-1"])
        result.counts["noticed"] += 1
        settled(rig)
        claims_no_more_than_it_has(rig, result)
        result.must(process.process.poll() is None, "it has ended")
        calm.look()
        still_judges(rig, rng, result)
        rig.kill("recorder-1")
        rig.listener.marks.clear()
        rig.restart("recorder-1")
        claims_no_more_than_it_has(rig, result)
        calm = Calm(rig, result)
        talk(rig, rng, 2)
        settled(rig)
        calm.look()
        sum_up(context, rig, result, record=False)
        yield result
