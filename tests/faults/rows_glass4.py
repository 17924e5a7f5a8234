# SPDX-License-Identifier: Apache-2.0
"""rows_glass4 - commands from a shell, at a station that hangs or dies, or many at once (119)."""

import subprocess
import threading
import time

import cycle
import faults
from rows_glass import changes, count_of, none_ready, settle
from ship import TRAPLINE
from table import Result, row

WEIGHT = 34000


def run_do(ship, station, command, out, i):
    begin = time.monotonic()
    code, text = ship.do(station, command)
    out[i] = (code, text, time.monotonic() - begin)


def at_once(ship, jobs):
    """Commands in shells of their own, all at the same time; [(code, text, seconds)]."""
    out = [None] * len(jobs)
    threads = [threading.Thread(target=run_do, args=(ship, s, c, out, i))
               for i, (s, c) in enumerate(jobs)]
    for thread in threads:
        thread.start()
    return out, threads


@row(119, "--do at a station that hangs or dies, or twice", "its exit code; nothing said twice",
     seconds=60)
def from_a_shell(context, rng):
    rig = context.rig()
    for trial in rng.sample([two_at_once, stopped, hanging, killed, nobody_answers], 5):
        result = Result("--do: " + trial.__name__.replace("_", " "))
        rig.until_ready()
        trial(rig, rng, result)
        rig.until_ready()
        yield result


def two_at_once(rig, rng, result):
    """Up to eight places; each command that exits 0 was said once, no other was said."""
    count = rng.choice([2, 5, 8, 12])
    before = changes(rig, "engine-2")
    # Each another weight: the same one again while it is on its way would be one word, rightly.
    out, threads = at_once(rig, [("engine-2", "set %d" % (WEIGHT - 500 * i)) for i in range(count)])
    for thread in threads:
        thread.join()
    good = sum(1 for code, _, _ in out if code == 0)
    result.must(all(code in (0, 3) for code, _, _ in out), "exit codes %s" % [o[0] for o in out])
    result.must(good >= min(count, 8), "%d of %d were taken: %s" % (good, count, out))
    said = count_of(rig, "engine-2", before, good)
    result.must(said == good, "%d commands exit 0, %d were said" % (good, said))
    result.counts.update({"commands": count, "said": said})
    rig.words_again("engine-2")


def foul_deck(rig):
    rig.say("deck", "foul person")
    settle(rig.screens(), False)


def late_clear(rig, result, before, marks, what):
    """After a 3 nothing toward READY may come later."""
    time.sleep(4.0)  # longer than the hold
    screens = rig.screens()
    none_ready(result, screens, marks, what)
    said = changes(rig, "deck") - before
    result.counts["said"] += said
    result.must(said in (0, 2), "%s: %d were said after exit 3" % (what, said))
    rig.say_until("deck", "clear")


def stopped(rig, rng, result):
    """Stopped for longer than the shell waits: 3, and it does not take effect when it goes on."""
    foul_deck(rig)
    marks = cycle.marks_of(rig.screens())
    before = changes(rig, "deck")
    rig.pause("deck")
    out = [None]
    run_do(rig, "deck", "clear", out, 0)
    rig.go_on("deck")
    code, text, took = out[0]
    result.counts["commands"] += 1
    result.must(code == 3 and "did not answer" in text, "a stopped station: %s" % (out[0],))
    result.must(took <= 9.0, "after %.1f s" % took)
    late_clear(rig, result, before, marks, "stopped")
    for _ in range(3):
        given_up(rig, rng, result)


def given_up(rig, rng, result):
    """The shell is ended before it has an answer: whoever did that goes by voice."""
    foul_deck(rig)
    marks = cycle.marks_of(rig.screens())
    before = changes(rig, "deck")
    rig.pause("deck")
    shell = subprocess.Popen([str(TRAPLINE), "deck", "--do", "clear", "--confirm", "-C",
                              str(rig.dir)], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    time.sleep(rng.uniform(2.1, 2.6))  # more than a word toward READY may be old
    shell.kill()
    shell.wait()
    rig.go_on("deck")
    result.counts["commands"] += 1
    late_clear(rig, result, before, marks, "given up")


def hanging(rig, rng, result):
    """Its loop hangs for less than the shell waits: the exit code says what came of it."""
    foul_deck(rig)
    screens = rig.screens()
    before = changes(rig, "deck")
    rig.machines["deck"].set(hang_ms=int(1000 * rng.uniform(1.2, 4.0)))
    time.sleep(0.2)
    out, threads = at_once(rig, [("deck", "clear")])
    threads[0].join()
    code, text, took = out[0]
    result.counts["commands"] += 1
    said = count_of(rig, "deck", before, 1 if code == 0 else 0)
    result.counts["said"] += said
    result.must((code, said) in ((0, 1), (3, 0), (3, 2)), "exit %d, and %d were said: %s" % (
        code, said, text))
    if code != 0:
        result.must(not screens["watch"].ready(), "READY after exit %d" % code)
    rig.say_until("deck", "clear")


def killed(rig, rng, result):
    """Killed while it has the command: 3, and its next life has not said it."""
    foul_deck(rig)
    screens = rig.screens(but=["deck"])
    marks = cycle.marks_of(screens)
    for node in faults.VALIDATORS:
        rig.pause(node)  # so that the answer cannot come before the end
    out, threads = at_once(rig, [("deck", "clear")])
    time.sleep(rng.uniform(0.1, 0.6))
    rig.kill("deck")
    died = time.monotonic()
    threads[0].join()
    for node in faults.VALIDATORS:
        rig.go_on(node)
    code, text, took = out[0]
    result.counts["commands"] += 1
    result.must(code == 3 and took < 3.0, "killed in mid-command: %s" % (out[0],))
    code, text = rig.do("deck", "clear")
    result.must(code == 3 and "no station deck runs" in text, "no station: %d %s" % (code, text))
    rig.station("deck").wait_text("NOT READY")
    time.sleep(3.5)  # longer than the hold
    # Its CLEAR was said, and may have counted until the loss was seen; never later.
    for name, screen in screens.items():
        late = [v[0] - died for v in screen.shown(marks[name]) if v[1] and v[0] > died + 1.0]
        result.unsafe += len(late)
        result.must(not late, "killed in mid-command: READY on %s after %s s" % (name, late))
    result.must(not screens["watch"].ready(), "killed in mid-command: READY stands")
    rig.words_again("deck")


def nobody_answers(rig, rng, result):
    """Both validators stand: 3 after 2 s, withdrawn, and not in effect when they go on."""
    foul_deck(rig)
    marks = cycle.marks_of(rig.screens())
    before = changes(rig, "deck")
    for node in faults.VALIDATORS:
        rig.pause(node)
    out = [None]
    run_do(rig, "deck", "clear", out, 0)
    for node in faults.VALIDATORS:
        rig.go_on(node)
    code, text, took = out[0]
    result.counts["commands"] += 1
    result.must(code == 3, "nobody answers: %s" % (out[0],))
    result.must(took <= 4.0, "after %.1f s" % took)
    late_clear(rig, result, before, marks, "nobody answers")
