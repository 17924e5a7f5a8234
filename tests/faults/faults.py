# SPDX-License-Identifier: Apache-2.0
"""faults - the faults that rows, and pairs of rows, are made of: how each begins and ends on a rig,
and which causes are then right.

Right means: the first cause on a live screen. Where a node is cut off the others say that it is
lost, and it says itself whom it does not hear.
"""

import threading
import time

from cycle import Fault
from ship import STATIONS

VALIDATORS = ("validator-1", "validator-2")
SPEAKERS = STATIONS + list(VALIDATORS)
NO_VALIDATOR = [("no-validator", None)]
LOST_S = 1.2  # without a beat for that long a node is lost everywhere


def lost(node):
    """What the others say when nothing fresh comes from it."""
    if node in VALIDATORS:
        return [("no-validator", node)]
    return [("station-lost", node)]


def own_words(node):
    """What its own screen says when it hears nobody, if it is a screen."""
    return {node: NO_VALIDATOR} if node in STATIONS or node == "watch" else {}


# ---- processes ----

def kill(rig, node):
    return Fault("%s killed" % node, lambda: rig.kill(node), lambda: rig.start_again(node),
                 mend=lambda: rig.words_again(node), causes=lost(node), blind=[node])


def pause(rig, node):
    return Fault("%s stopped by a signal" % node, lambda: rig.pause(node),
                 lambda: rig.go_on(node), causes=lost(node), blind=[node])


def hang(rig, node, hang_s):
    """The loop of the program stands, its library's threads go on."""
    def end():
        time.sleep(max(0.0, until[0] - time.monotonic()))  # the fault ends by itself

    def begin():
        until[0] = time.monotonic() + hang_s
        rig.machines[node].set(hang_ms=int(1000 * hang_s))

    until = [0.0]
    return Fault("the loop of %s hangs" % node, begin, end, causes=lost(node), blind=[node])


def starve(rig, node, share=0.02):
    """It gets that share of the processor, in slices."""
    def slices():
        while not stop.is_set():
            rig.pause(node)
            paused = time.monotonic()
            stop.wait(1.5 * (1 - share))
            if stop.is_set():  # its last slice made it live: the fault ends when it is lost again
                time.sleep(max(0.0, paused + LOST_S - time.monotonic()))
            rig.go_on(node)
            stop.wait(1.5 * share)

    def begin():
        stop.clear()
        thread[0] = threading.Thread(target=slices, daemon=True)
        thread[0].start()

    def end():
        stop.set()
        thread[0].join()
        rig.go_on(node)

    stop, thread = threading.Event(), [None]
    return Fault("%s starved" % node, begin, end, causes=lost(node), blind=[node])


def both_validators(rig, how):
    def begin():
        for node in VALIDATORS:
            (rig.kill if how == "killed" else rig.pause)(node)

    def end():
        for node in VALIDATORS:
            (rig.start_again if how == "killed" else rig.go_on)(node)

    return Fault("both validators " + how, begin, end, causes=NO_VALIDATOR)


# ---- the network of one node ----

def weather(rig, node, way, key, value, what, causes=None, own=None, blind=(), **more):
    return Fault(what, lambda: rig.strait.weather(node + "/*", way, key, value),
                 lambda: rig.strait.calm(node + "/*"),
                 causes=lost(node) if causes is None else causes,
                 own=own_words(node) if own is None else own, blind=blind, **more)


def deaf(node):
    """What is right of a node that hears nobody: a validator then says of all of them that they
    are lost, and who still hears it shows that."""
    return lost(node) + ([("station-lost", None)] if node in VALIDATORS else [])


def cut_up(rig, node):
    """What it says does not arrive; what others say arrives there, but for what names its beats: a
    station dates verdicts by answers to them, so it hears nobody either."""
    return weather(rig, node, "up", "swallow", 1, "uplink of %s cut" % node)


def cut_down(rig, node):
    return weather(rig, node, "down", "swallow", 1, "downlink of %s cut" % node,
                   causes=deaf(node))


def half_open(rig, node):
    return weather(rig, node, "both", "swallow", 1, "%s half open: no bytes, no end" % node)


def held(rig, node, way):
    """Nothing comes out for a time and then all of it: a backlog in order and without gaps."""
    return weather(rig, node, way, "hold", 1, "%s: %s held back" % (node, way),
                   causes=deaf(node))


def late(rig, node, way, delay_ms):
    return weather(rig, node, way, "delay", delay_ms,
                   "%s: %s late by %d ms" % (node, way, delay_ms), causes=deaf(node))


def repeated(rig, node, what, act, gap_s):
    """Something again and again while the fault lasts."""
    def loop():
        while not stop.wait(gap_s):
            act()

    def begin():
        stop.clear()
        act()
        thread[0] = threading.Thread(target=loop, daemon=True)
        thread[0].start()

    def end():
        stop.set()
        thread[0].join()
        rig.strait.calm(node + "/*")

    stop, thread = threading.Event(), [None]
    own = {name: causes + lost(node) for name, causes in own_words(node).items()}
    return Fault(what, begin, end, causes=deaf(node), own=own)


def resets(rig, node):
    return repeated(rig, node, "connections of %s reset every 100 ms" % node,
                    lambda: rig.strait.tell("reset %s/*" % node), 0.1)


def flapping(rig, node):
    """On and off ten times a second: what gets through is late, and comes in bursts."""
    up = [True]

    def turn():
        up[0] = not up[0]
        rig.strait.tell("refuse %s/* %d" % (node, 0 if up[0] else 1))
        rig.strait.tell("cut %s/*" % node)

    return repeated(rig, node, "link of %s up and down" % node, turn, 0.05)


def partly(rig, station, validator):
    """The station has one bus, the validator the other: both hear all the rest."""
    def begin():
        rig.strait.weather(station + "/b/*", "both", "swallow", 1)
        rig.strait.weather(validator + "/a/*", "both", "swallow", 1)

    def end():
        rig.strait.calm(station + "/*")
        rig.strait.calm(validator + "/*")

    return Fault("%s and %s do not hear each other" % (station, validator), begin, end,
                 causes=[("station-lost", station), ("no-validator", validator)],
                 own={station: [("no-validator", validator)]})


# ---- the buses ----

def bus(rig, name, how):
    """One of two buses: nobody loses READY, nothing waits."""
    def begin():
        {"killed": rig.kill, "stopped": rig.pause}[how](name)

    def end():
        {"killed": rig.start_again, "stopped": rig.go_on}[how](name)

    return Fault("%s %s" % (name, how), begin, end, deadline_s=None)


def bus_weather(rig, name, key, value, what):
    side = name[-1]
    return Fault("%s %s" % (name, what),
                 lambda: rig.strait.weather("*/%s/*" % side, "both", key, value),
                 lambda: rig.strait.calm("*/%s/*" % side), deadline_s=None)


def both_buses(rig, how):
    def begin():
        for name in ("bus-a", "bus-b"):
            (rig.kill if how == "killed" else rig.pause)(name)

    def end():
        for name in ("bus-a", "bus-b"):
            (rig.start_again if how == "killed" else rig.go_on)(name)

    return Fault("both buses " + how, begin, end,
                 causes=NO_VALIDATOR + [("station-lost", None)])


# ---- what people and sensors say ----

def foul(rig, station, reason="person"):
    """Said by one key at that station; taken back by its owner's word."""
    def mend():
        rig.say_until(station, "clear" if station == "deck" else "no foul")

    rule = "line-crossed" if reason == "person" else "deck-foul"
    return Fault("FOUL at " + station, lambda: rig.type(station, "foul " + reason), lambda: None,
                 mend, causes=[(rule, station)], transport=False, reported=True)


def out_of_battery(rig, engine):
    return Fault("%s out of battery" % engine, lambda: rig.type(engine, "battery out"),
                 lambda: None, lambda: rig.say_until(engine, "battery in"),
                 causes=[("not-in-battery", engine)], transport=False, reported=True)


def hook(rig):
    return Fault("hook not down", lambda: rig.type("platform", "hook not down"),
                 lambda: None, lambda: rig.say_until("platform", "hook down"),
                 causes=[("hook-not-down", "platform")], transport=False, reported=True)
