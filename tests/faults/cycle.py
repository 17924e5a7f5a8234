# SPDX-License-Identifier: Apache-2.0
"""cycle - one fault on a ship that is READY: how long until no live screen shows READY, what each
names as the cause, whether READY comes back while the fault lasts, and when it is back after it.
"""

import time

import rig as rigs
from table import Result

TEXTS = {}
# A word that was taken back, or said otherwise before it is due, is pending (docs/rules.md).
PENDING = {"not-in-battery": "battery not yet reported", "hook-not-down": "hook not yet reported",
           "deck-foul": "deck not yet clear",
           "setting-not-ordered": "weight not yet set for this event"}


def words_of(rule):
    """The words of a rule, as a screen has them."""
    if not TEXTS:
        TEXTS.update(rigs.rule_texts())
    return TEXTS[rule]


def names(text, causes):
    """Whether the words of a cause are those of one of `causes`, pairs of rule and station; station
    None: whatever it concerns."""
    for rule, station in causes:
        words = [words_of(rule), PENDING.get(rule, words_of(rule))]
        if rule == "no-validator":  # what comes and goes is held when it comes
            words.append(words_of("holding"))
        if not any(word in text for word in words):
            continue
        if station is None or station.replace("-", " ") in text:
            return True
    return False


class Fault:
    """A fault that can be made and ended.

    begin, end   make it and end it; `mend`, then: what people say so that READY may come back
    causes       pairs (rule, station): one of them must be the first cause on each live screen
    own          the same on the screens of the nodes that are cut off, {screen: pairs}
    blind        screens that are dead or frozen while it lasts
    deadline_s   in which READY is gone from every live screen; None: READY may stay
    transport    READY must stay away for 3.0 s after its end
    reported     somebody says it by a key: the figure of its own
    """

    def __init__(self, what, begin, end, mend=None, causes=(), own=None, blind=(), transport=True,
                 deadline_s=rigs.NOT_READY_S, reported=False):
        self.what = what
        self.begin = begin
        self.end = end
        self.mend = mend or (lambda: None)
        self.causes = list(causes)
        self.own = own or {}
        self.blind = set(blind)
        self.transport = transport
        self.deadline_s = deadline_s
        self.reported = reported


def marks_of(screens):
    return {name: screen.process.mark() for name, screen in screens.items()}


def first_not_ready(screen, mark):
    for verdict in screen.shown(mark):
        if not verdict[1]:
            return verdict
    return None


def wait_not_ready(screens, marks, until):
    """Wait until each screen has shown NOT READY since its mark, or the time is over."""
    left = dict(screens)
    while left and time.monotonic() < until:
        for name in list(left):
            if first_not_ready(left[name], marks[name]) is not None:
                del left[name]
        if left:
            process = next(iter(left.values())).process
            with process.changed:
                process.changed.wait(0.02)
    return left


def judge_screens(result, fault, screens, marks, begin):
    """Dates and causes of what the screens came to within the deadline."""
    for name, screen in screens.items():
        first = first_not_ready(screen, marks[name])
        if first is None:
            result.unsafe += 1
            result.must(False, "%s: READY stayed on %s" % (fault.what, name))
            continue
        took = first[0] - begin
        result.times.append(took)
        if fault.reported:
            result.reported.append(took)
        result.must(took <= fault.deadline_s,
                    "%s: %s NOT READY after %.3f s" % (fault.what, name, took))
        result.unsafe += 1 if took > fault.deadline_s else 0
        right = fault.own.get(name, fault.causes)
        shown = [v for v in screen.shown(marks[name]) if v[0] - begin <= fault.deadline_s + 0.05]
        result.named[1] += 1
        last = [v for v in shown if not v[1]][-1:]
        if last and any(names(text, right) for text in last[0][2][:1]):
            result.named[0] += 1
        else:
            result.must(False, "%s: %s named %s" % (
                fault.what, name, [v[2][:1] for v in shown]))


def no_ready_meanwhile(result, fault, screens, marks, begin, end):
    for name, screen in screens.items():
        for at, ready, _, _ in screen.shown(marks[name]):
            if ready and begin + fault.deadline_s < at < end:
                result.unsafe += 1
                result.must(False, "%s: READY on %s %.3f s after the fault" % (
                    fault.what, name, at - begin))


def a_moment_s(rng):
    """How long a fault lasts past its deadline where nothing depends on it."""
    return rng.uniform(0.1, 0.6)


def until_arrival_s(delay_ms):
    """How long a delay must last to be one: until what is late has come, in order and without a
    gap, and who dated it by its arrival would have held it for 3.0 s and shown READY."""
    return delay_ms / 1000 + rigs.HOLD_S + 0.5


def run(rig, fault, last_s):
    """Make the fault, let it last `last_s` past its deadline, end it, wait for READY."""
    result = Result(fault.what)
    rig.until_ready()
    screens = rig.screens(but=fault.blind)
    marks = marks_of(screens)
    begin = time.monotonic()
    since = fault.begin()  # one that is long in the making says when it began to be there
    begin = since if isinstance(since, float) else begin
    if fault.deadline_s is None:
        stay_ready(result, fault, screens, marks, begin + last_s)
    else:
        wait_not_ready(screens, marks, begin + fault.deadline_s + 1.0)
        rest = begin + fault.deadline_s + last_s - time.monotonic()
        time.sleep(max(rest, 0))  # the fault lasts: nothing else is waited for
        judge_screens(result, fault, screens, marks, begin)
        no_ready_meanwhile(result, fault, screens, marks, begin, time.monotonic())
    over = time.monotonic()
    rig.faults.append((begin, over, fault.deadline_s, fault.blind, fault.what))
    after = marks_of(screens)
    fault.end()
    fault.mend()
    back = rig.until_ready()
    result.back = back - over
    if fault.deadline_s is not None and fault.transport:
        for name, screen in screens.items():
            early = [v[0] - over for v in screen.shown(after[name]) if v[1]]
            if early and early[0] < rigs.HOLD_S - 0.05:
                result.must(False, "%s: READY on %s %.3f s after its end" % (
                    fault.what, name, early[0]))
                result.unsafe += 1
    return result


def stay_ready(result, fault, screens, marks, until):
    """A fault that the bus bears: no screen leaves READY while it lasts."""
    while time.monotonic() < until:
        time.sleep(0.02)
        for name, screen in screens.items():
            gone = first_not_ready(screen, marks[name])
            if gone is not None:
                result.must(False, "%s: %s showed NOT READY: %s" % (fault.what, name, gone[2]))
                return
