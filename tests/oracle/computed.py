# SPDX-License-Identifier: Apache-2.0
"""computed - the rules on what is computed for a pass (85 to 92), from the rows of docs/rules.md"""
import math

from reading import ORDER_SAID_MS, Cause, read_motion, read_wind

SEA_LATE_MS = 500
BY_ORDER = (ORDER_SAID_MS,)


def figure(text):
    """the number that a text begins with; None when it is said not to be known or computed"""
    first, _, rest = text.partition(":")
    return None if rest else float(first)


def outcome(text):
    """-> (bottoms or parts, ram in, hook lbf), None when not computed; what is not told is at its bound"""
    if text == "not computed":
        return None
    ends, ram, hook = False, 190.0, 90000
    for part in text.split(", "):
        words = part.split()
        if part in ("bottoms", "parts"):
            ends = True
        elif words[0] == "ram":
            ram = float(words[1])
        elif words[0] == "hook":
            hook = int(words[1])
        elif part != "stops":
            raise SystemExit("outcome %r" % text)
    return ends, ram, hook


def travel(text):
    """-> (pass [recovery, number], ram in), None"""
    if text == "none":
        return None
    which, ram = text.split(", ")
    words = which.split()
    return [int(words[4]), int(words[1])], float(ram)


def last_trap(text):
    """-> ms since the pass that ended last, when it was a trap"""
    words = text.split()
    return int(words[1]) if words[0] == "trap" else None


class Computed:
    """What counts of it, and the rules; mixed into the rows."""

    def computed_at(self):
        at = self.ship.at
        self.for_fields = (at("computed for the pass"), at("computed for the type"), at("computed for a recovery"))
        self.time_fields = (at("times"), at("time computed from the call to the ramp, s"))

    def is_for(self, order, which, kind, into):
        """it was computed for this event, this type, and for the wires or the barricade as ordered"""
        return (which == "the current one" and kind == order["type"]
                and (into == "into the barricade") == order["barricade"])

    def ramp_ms(self, order, which, kind, into, times, ramp):
        """computed from the call to the ramp, ms, or None"""
        if not order["known"] or not self.is_for(order, which, kind, into) or times != "computed":
            return None
        seconds = figure(ramp)
        return None if seconds is None else round(seconds * 1000)

    def late_counts(self, text):
        """a sea that is worse than counted on, or not known, still counts"""
        return text != "no time kept" and int(text.split()[0]) <= SEA_LATE_MS

    def wind_counts(self, text, counted, late):
        w = self.wind(text)
        if w and counted <= math.floor(w["down"]):
            return True
        return self.late_counts(late)

    def pitch(self, text):
        m, age = read_motion(text)
        return m["pitch"] if age <= self.ship.s["motion"]["valid_ms"] else None

    def pitch_counts(self, text, counted, late):
        p = self.pitch(text)
        if p is not None and counted >= abs(p):
            return True
        return self.late_counts(late)

    def nothing_computed(self, c):
        """the order is not known, or rule 3 speaks"""
        return not c.event or not c.known or c.type is None

    def build_computed(self, rooms, svc, sets, inb, wind_field, aid_field):
        S, at = self.ship, self.ship.at
        limits, engines = S.s, S.engines
        late = at("since when wind or motion is worse than counted on")
        n = len(engines)
        own = (34000, 33500, 32000)

        def told_by_another(c, inbound, wind):
            """the weight or the wind is missing, and a rule that is on tells of it"""
            if inbound is None:
                if 58 not in c.off:
                    return True
            elif inbound["type"] != c.order["type"] and 11 not in c.off:
                return True
            return self.wind(wind) is None and 14 not in c.off

        def light(c, w, inbound):                                 # 57
            return (inbound is not None and inbound["weight_lb"] <= c.type["max_trap_lb"]
                    and w["weight_lb"] + S.agree < inbound["weight_lb"])

        def told_of_setting(c, unit, w, inbound):
            """rule 4, 5 or 57 tells of that engine"""
            state = self.setting_state(c, unit, w)
            if state == "other":
                return 4 not in c.off
            return (state == "off" and 5 not in c.off) or (light(c, w, inbound) and 57 not in c.off)

        def arrest(c, *words):                                    # 85 to 88
            which, kind, into, weight, known, headwind, energy, margin = words[:8]
            outcomes = dict(zip(own, words[8:11]))
            others, late_text, wind, inb_word = words[11:15]
            if self.nothing_computed(c):
                return []
            inbound = inb_word if self.inbound_counts(c, inb_word) else None
            said_lb = inbound["weight_lb"] if inbound and inbound["type"] == c.order["type"] else None
            counts = (self.is_for(c.order, which, kind, into) and known == "computed" and said_lb is not None
                      and figure(weight) == said_lb and self.wind_counts(wind, figure(headwind), late_text))
            out = []
            if counts:
                if figure(energy) > limits["capacity_kftlb"]:
                    out.append(Cause(86, "", "wrong", BY_ORDER))
                if figure(margin) < limits["energy_margin_least_percent"]:
                    out.append(Cause(87, "", "wrong", BY_ORDER))
            lacking = False
            for u, w, service in zip(engines, words[15:15 + n], words[15 + n:]):
                if not self.takes_part(c, u, service):
                    continue
                if w is None:
                    lacking = lacking or 5 in c.off
                    continue
                end = outcome(outcomes.get(w["weight_lb"], others)) if counts else None
                if end is None:
                    lacking = True
                    continue
                if told_of_setting(c, u, w, inbound):
                    continue
                if end[0] or end[1] > S.limits["ram_travel_max_in"]:
                    out.append(Cause(88, rooms[u], "wrong", BY_ORDER))
                if end[2] > c.type["hook_load_max_lbf"]:
                    out.append(Cause(85, rooms[u], "wrong", BY_ORDER))
            if not told_by_another(c, inbound, wind):
                for rule, misses in ((86, not counts), (88, lacking), (85, lacking), (87, not counts)):
                    if misses and rule not in c.off:
                        out.append(Cause(rule, "", c.missing))
                        break
            return out
        self.add(self.for_fields + (
            at("computed for the weight, lb"), at("arrest"), at("headwind counted on, kn"),
            at("energy computed, thousand ft-lbf"), at("energy margin computed, percent"))
            + tuple(at("outcome computed for a setting, lb", "", lb) for lb in own)
            + (at("outcome computed for every other setting"), late, wind_field, inb)
            + tuple(sets[u] for u in engines) + tuple(svc[u] for u in engines), arrest, True)

        def ramp(c, which, kind, into, known, aid_type, angle, wire, pitch, clearance, touchdown,
                 late_text, aid, motion):                         # 90, 91
            if self.nothing_computed(c):
                return []
            works = aid is not None and aid["state"] == "working"
            counts = (self.is_for(c.order, which, kind, into) and known == "computed" and works
                      and aid["angle_deg"] and aid["target_wire"]
                      and aid_type == aid["type"] and figure(angle) == aid["angle_deg"]
                      and figure(wire) == aid["target_wire"]
                      and self.pitch_counts(motion, figure(pitch), late_text))
            if counts:
                out = []
                if figure(clearance) < limits["ramp_clearance_least_ft"]:
                    out.append(Cause(90, "", "wrong", BY_ORDER))
                if abs(figure(touchdown)) > limits["touchdown_band_ft"]:
                    out.append(Cause(91, "", "note"))
                return out
            if not works and not c.off & {36, 37}:
                return []
            if works and not aid["angle_deg"] and 73 not in c.off:
                return []
            if self.pitch(motion) is None and 77 not in c.off:
                return []
            return [Cause(90, "", c.missing)]
        self.add(self.for_fields + (
            at("ramp"), at("ramp: aid set for"), at("ramp: angle, deg"), at("ramp: target wire"),
            at("ramp: pitch counted on, deg"), at("ramp clearance computed, ft"),
            at("touchdown computed off the aim, ft"), late, aid_field, at("motion of the ship")), ramp, True)

        def interval(c, which, kind, into, times, ramp_text, reset, wave_off, last):     # 92
            if self.nothing_computed(c) or c.call is None:
                return []
            to_ramp = self.ramp_ms(c.order, which, kind, into, times, ramp_text)
            since, parts = last_trap(last), (figure(reset), figure(wave_off))
            if to_ramp is None or since is None or None in parts:
                return []
            between = math.floor((since - c.call["age_ms"] + to_ramp) / 1000)
            needed = math.ceil(round(sum(parts) * 10) / 10)
            return [Cause(92, "", "note")] if between < needed else []
        self.add(self.for_fields + self.time_fields + (
            at("reset computed, s"), at("wave-off with people computed, s"), at("the pass that ended last")), interval)

        def travels(u):
            room = rooms[u]

            def judge(c, w, computed, freed, service):            # 89
                if w is None or w["pass"][0] != S.s["current_event"][0] or not self.takes_part(c, u, service):
                    return []
                if freed and freed["pass"] == w["pass"]:
                    return []
                of_pass = travel(computed)
                if of_pass is None or of_pass[0] != w["pass"]:
                    return [Cause(89, room, c.missing)]
                apart, allowed = abs(w["ram_in"] - of_pass[1]), of_pass[1] * limits["travel_apart_percent"] / 100
                return [Cause(89, room, "wrong", (w["age_ms"],))] if apart > allowed + 1e-9 else []
            return judge
        for u in engines:
            self.add((at("arrest", rooms[u]), at("ram travel computed for the last trap, in", rooms[u], u),
                      at("freed", "gear-officer", u), svc[u]), travels(u))
