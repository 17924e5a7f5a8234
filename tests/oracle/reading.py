# SPDX-License-Identifier: Apache-2.0
"""reading - what the description of the pictures says: ship, words, order, wind, motion"""
import re

# Order of the rules in the table (the "first such" of rules 82 and 83), by id; kind of each.
TABLE = ("82 21 20 22 25 24 30 31 1 2 49 3 11 58 4 5 57 6 7 8 61 60 59 62 63 66 67 68 69 15 86 88 89 85 87 51 17 18 "
         "19 32 64 38 71 34 33 39 44 45 16 10 9 35 47 48 78 79 80 13 37 36 72 73 90 12 14 74 77 75 76 81 26 27 23 83 "
         "28 29 50 70 65 91 92 46 54 53 55 56 52 84 40 41 42 43")
ORDER = {int(r): i for i, r in enumerate(TABLE.split())}
PICTURE = {21, 20, 22, 25, 24, 30, 31, 26, 27, 23, 83, 28, 29, 54, 53, 55, 56, 52, 84, 40, 41, 42, 43}
# Rules that speak while no aircraft waits on the list; the document does not say 
WITHOUT_EVENT = PICTURE | {1, 9, 10, 13, 15, 16, 37}
# What is set by hand in a picture was said with the pilot's call
BY_HAND_SAID_MS = 5000
# What is about several stations goes by primary's order
ORDER_SAID_MS = 5000
AGAINST = ("wrong", "pending", "overdue", "holding")


class Cause:
    """A cause; ages = ages in ms of the words by which it is wrong (for rule 82)."""
    __slots__ = ("rule", "station", "state", "ages")

    def __init__(self, rule, station, state, ages=()):
        self.rule, self.station, self.state, self.ages = rule, station, state, ages


class Ship:
    def __init__(self, describe):
        s = self.s = describe["ship"]
        self.types = {t["id"]: t for t in s["types"]}
        self.engines = [e["unit"] for e in s["engines"]]
        self.wire_of = {e["unit"]: e["wire"] for e in s["engines"]}
        self.engine_of = {e["wire"]: e["unit"] for e in s["engines"]}
        self.wires = sorted(self.wire_of.values())
        self.limits = s["limits"]
        self.agree = s["agree_tolerance_lb"]
        self.strip = s["barricade"]["strip"]
        self.barricade_unit = s["barricade"]["unit"]
        due = s["due_of_every_rule"]
        self.after_order = due["after_order_s"] * 1000
        self.before_ramp = due["before_ramp_s"] * 1000
        self.valid = {k: v * 1000 for k, v in s["valid_s"].items()}
        self.fields = describe["fields"]
        self.index = {}
        for f in self.fields:
            self.index[(f["of"], f["station"], f["slot"])] = f["field"]
        self.values = [[self.word(f["of"], v) for v in f["values"]] for f in self.fields]

    def at(self, of, station="", slot=0):
        return self.index[(of, station, slot)]

    # A word as it counts for the current event: None when missing, else the dictionary of its values.
    EVENT_WORDS = {"set", "repeater", "aid", "battery", "free", "retract", "track", "hook", "call"}

    def word(self, of, v):
        if v["how"] == "by hand":
            return v["text"]
        if v["how"] in ("unsaid", "unknown"):
            return None
        if v["how"] != "said":
            raise SystemExit("how %r" % v["how"])
        if v["for"] != "current event":
            if of in self.EVENT_WORDS or (of == "deck" and v["state"] == "clear"):
                return None
        if of in self.valid and v["age_ms"] > self.valid[of]:
            return None
        return v


LIVE = {  # text: (rule 20 in an open recovery, otherwise, rule 21)
    "fresh: newest tick that it echoes was sent 100 ms ago, back long ago": (None, None, None),
    "newest tick echoed was sent 800 ms ago": (None, None, None),
    "newest tick echoed was sent 801 ms ago, still counted as live": ("wrong", "wrong", None),
    "lost, was heard before": ("wrong", "wrong", None),
    "never heard, this validator began 60 s ago": ("wrong", "pending", None),
    "never heard, this validator began 1,000 ms ago": ("pending", "pending", None),
    "never heard, this validator began 1,001 ms ago": ("wrong", "pending", None),
    "fresh, back since 2,999 ms": ("holding", "holding", None),
    "fresh, back since 3,000 ms": (None, None, None),
    "fresh, but no whole state of this life heard yet": ("wrong", "wrong", None),
    "fresh, and two programs claim it": (None, None, "wrong"),
}

OTHER = {  # the other validator: causes
    "agrees": (),
    "holds other reports": ((22, "wrong"),),
    "agrees since 2,999 ms": ((22, "holding"),),
    "agrees since 3,000 ms": (),
    "is lost": ((23, "note"),),
    "has other keys": ((29, "note"),),
}

OVERRIDE = {  # text: (rule, station) overridden, None; and whether rule 55 is shown
    "none": (None, False),
    "detorque-overdue at gear-officer signed by primary alone": (None, False),
    "detorque-overdue at gear-officer signed by primary and safety": ((45, "gear-officer"), True),
    "barricade-power at barricade signed by primary and safety": ((48, "barricade"), True),
    "too-few-wires signed by primary and safety": ((71, ""), True),
    "detorque-overdue at gear-officer signed by both, run out": (None, False),
    "setting-other-aircraft at engine-2 signed by primary and safety": (None, True),
}


def read_off(text):
    """ids of rules"""
    return frozenset(int(x) for x in text.split()) if text != "none" else frozenset()


RECOVERY = ("heard and open", "not heard since this validator started, and primary has one",
            "primary restarted since: the list is only kept", "heard and closed: no aircraft waits")


def number(text):
    return float(text.replace(",", ""))


def read_order(text):
    """-> dict: event (an aircraft waits), known, side, type, weight, barricade"""
    o = {"event": True, "known": True, "side": None, "type": None, "weight": None, "barricade": False}
    if text == "no aircraft waits on the list":
        o["event"] = o["known"] = False
    elif text == "its words are not known":
        o["known"] = False
    else:
        m = re.match(r"(\d+) (\S+) ([\d,]+) lb( on the wires| into the barricade| \(a type not in the table\))?$", text)
        if not m:
            raise SystemExit("order %r" % text)
        o["side"], o["type"], o["weight"] = int(m[1]), m[2], int(number(m[3]))
        o["barricade"] = m[4] == " into the barricade"
    return o


def read_wind(text):
    """-> dict down, across, deck, age, state (ok, disagree, missing)"""
    w = {"down": 26.0, "across": 2.0, "deck": 26.5, "age": 0, "state": "ok"}
    if text.startswith("known, 26.0 kn down, 2.0 kn from port across, 26.5 kn over deck, by sensors, 0 ms old"):
        return w
    m = re.match(r"(-?[\d,.]+) (kn down|kn across from (?:starboard|port)|kn over deck|ms old)$", text)
    if m:
        n = number(m[1])
        if m[2] == "kn down":
            w["down"] = n
        elif m[2] == "kn over deck":
            w["deck"] = n
        elif m[2] == "ms old":
            w["age"] = int(n)
        else:
            w["across"] = n
    elif text == "sensors disagree":
        w["state"] = "disagree"
    elif text in ("not known", "no wind at all"):
        w["state"] = "missing"
    else:
        m = re.match(r"keyed, ([\d,]+) ms old$", text)
        if not m:
            raise SystemExit("wind %r" % text)
        w["age"], w["keyed"] = int(number(m[1])), True
    return w


def read_motion(text):
    good = {"pitch": 0.5, "roll": -1.0, "heave": 0.30, "turn": 0.0}
    m, age = dict(good), 0
    if text.startswith("pitch 0.5 deg, roll -1.0 deg, heave 0.30 m, turn 0.0 deg/min, 0 ms old"):
        return m, age
    if text == "none at all":
        return dict.fromkeys(good), age
    for part in text.split(" and "):
        a = re.match(r"([\d,]+) ms old$", part)
        b = re.match(r"(pitch|roll|heave|turn) not known$", part)
        c = re.match(r"(pitch|roll|heave|turn) (-?[\d.]+)(?: \S+)?$", part)
        if a:
            age = int(number(a[1]))
        elif b:
            m[b[1]] = None
        elif c:
            m[c[1]] = float(c[2])
        else:
            raise SystemExit("motion %r" % text)
    return m, age


class Context:
    """What of a picture nearly every rule asks for: order, recovery, age of the event, pilot's call."""

    def __init__(self, ship, order, recovery, age, call, off, ramp_ms):
        self.off = off              # rules that are switched off
        self.recovery = RECOVERY.index(recovery)
        o = read_order(order)
        self.open = self.recovery != 3
        self.event = o["event"] and self.open   # with the list not heard (25) the event still stands
        self.known = o["known"] and self.event
        self.order = o
        self.type = ship.types.get(o["type"]) if self.known else None
        self.barricade = o["barricade"] and self.known
        if self.type and self.barricade and not self.type["barricade_setting_lb"]:
            self.type = None        # nothing says what such a pass needs
        self.call = call if self.event else None
        self.age = int(number(re.match(r"([\d,]+) ms$", age)[1]))
        self.due = False
        self.window = None          # age of the call, when between the call and the ramp
        if self.event:
            self.due = self.age >= ship.after_order
            if self.call and self.type:
                crossing = self.type["final_approach_s"] * 1000 if ramp_ms is None else ramp_ms
                if self.call["age_ms"] >= crossing - ship.before_ramp:
                    self.due = True
                if self.call["age_ms"] <= crossing + ship.s["ramp_margin_s"] * 1000:
                    self.window = self.call["age_ms"]
        self.missing = "overdue" if self.due else "pending"
        # wrong once due, pending before: what is known and not there yet
        self.notyet = "wrong" if self.due else "pending"
        self.cache = self.base = self.plain = None
