# SPDX-License-Identifier: Apache-2.0
"""rows - the second judgement, rule by rule, from the rows of docs/rules.md"""
import re

from computed import Computed
from reading import BY_HAND_SAID_MS, LIVE, ORDER_SAID_MS, OTHER, OVERRIDE, Cause, read_motion, read_wind


class Rows(Computed):
    """Every rule as a function of the words that it looks at."""

    def add(self, fields, function, asks_off=False):
        if asks_off:
            self.asks_off.add(len(self.units))
        self.units.append((tuple(fields), function))

    def in_service(self, svc):
        return not (svc and svc["state"] == "out")

    def takes_part(self, c, unit, svc):
        if not self.in_service(svc):
            return False
        if c.barricade and unit != self.ship.barricade_unit and self.ship.wire_of[unit] in self.ship.strip:
            return False
        return True

    def to_be_set(self, c, unit):
        if not c.type:
            return None
        if c.barricade and unit == self.ship.barricade_unit:
            return c.type.get("barricade_setting_lb")
        return c.type["setting_lb"]

    def setting_state(self, c, unit, word):
        """-> 'other' (rule 4), 'off' (rule 5 wrong), 'missing' (rule 5 pending), 'right'"""
        if word is None or not c.known:
            return "missing"
        want = self.to_be_set(c, unit)
        # of a type that is not known, only rule 5 is judged 
        if want is not None and abs(word["weight_lb"] - want) > c.type["setting_tolerance_lb"]:
            return "other"
        if abs(word["weight_lb"] - c.order["weight"]) > self.ship.agree:
            if not c.barricade or unit == self.ship.barricade_unit:
                return "off"
        return "right"

    def build(self):
        S, at, L = self.ship, self.ship.at, self.ship.limits
        OVER, WIND, AID = at("override"), at("wind of the bridge"), at("aid", "aid")
        INB = [f for f in S.index.items() if f[0][0] == "inbound"]
        assert len(INB) == 1
        self.inbound_side = INB[0][0][2]
        INB = INB[0][1]
        rooms = {u: "engine-%d" % u for u in S.engines}
        svc = {u: at("service", rooms[u]) for u in S.engines}
        sets = {u: at("set", rooms[u]) for u in S.engines}
        rig = {w: at("rig", "wires", w) for w in S.wires}
        reader, officer = S.s["repeater_reader"], "gear-officer"

        self.add((), self.of_context)
        self.add((INB,), self.of_inbound)

        def per_engine(u):
            room, wire = rooms[u], S.wire_of[u]

            def settings(c, w, inbound, service, repeater):       # 4, 5, 57, 7
                if not c.event or not self.takes_part(c, u, service):
                    return []
                state, out = self.setting_state(c, u, w), []
                if state == "missing":
                    return [Cause(5, room, c.missing)]
                if state == "other":
                    return [Cause(4, room, "wrong", (w["age_ms"],))]
                if state == "off":
                    out.append(Cause(5, room, "wrong", (w["age_ms"],)))
                if c.type and self.inbound_counts(c, inbound) and inbound["weight_lb"] <= c.type["max_trap_lb"]:
                    if w["weight_lb"] + S.agree < inbound["weight_lb"]:
                        out.append(Cause(57, room, "wrong", (w["age_ms"],)))
                if state == "right":
                    if repeater is None:
                        out.append(Cause(7, room, c.missing))
                    elif repeater["weight_lb"] != w["weight_lb"]:
                        out.append(Cause(7, room, "wrong", (w["age_ms"],)))
                return out
            self.add((sets[u], INB, svc[u], at("repeater", reader, u)), settings)

            def battery(c, w, service):                           # 8
                if not c.event or not self.takes_part(c, u, service):
                    return []
                if w is None:
                    return [Cause(8, room, c.missing)]
                if w["state"] == "out":
                    return [Cause(8, room, c.notyet, (w["age_ms"],))]
                return []
            self.add((at("battery", room), svc[u]), battery)

            def service_job(c, service, signed):                  # 61, 62
                if service is None:
                    return [Cause(61, room, c.missing)]
                if service["job"] and self.takes_part(c, u, service):
                    if not signed or signed["job"] != service["job"]:
                        return [Cause(62, room, "wrong", (service["age_ms"],))]
                return []
            self.add((svc[u], at("signed-off", officer, u)), service_job)

            def simple(rule, station, bad):
                def judge(c, w, service):
                    if not self.takes_part(c, u, service):
                        return []
                    if w is None:
                        return [Cause(rule, station, c.missing)]
                    if bad(w):
                        return [Cause(rule, station, "wrong", (w["age_ms"],))]
                    return []
                return judge
            self.add((at("fault", room), svc[u]), simple(60, room, lambda w: w["state"] != "none"))
            self.add((at("fluid", room), svc[u]), simple(59, room, lambda w: w["state"] in ("low", "high")))
            self.add((at("accumulator", room), svc[u]), simple(39, room, lambda w: not (
                L["accumulator_min_psi"] <= w["psi"] <= L["accumulator_max_psi"])))
            self.add((at("crosshead", room), svc[u]), simple(44, room, lambda w: w["gap_in"] < L["crosshead_min_in"]))
            self.add((at("inspected", officer, u), svc[u]), simple(63, officer, lambda w: w["state"] == "found"))

            def arrest(c, w, last, freed, service):               # 66 to 70
                out = []
                if not self.takes_part(c, u, service):
                    return out
                if last != "none":
                    m = re.match(r"pass (\d+) of recovery (\d+)$", last)
                    if w is None or w["pass"] != [int(m[2]), int(m[1])]:
                        out.append(Cause(66, room, c.missing))
                if w:
                    ages = (w["age_ms"],)
                    if not freed or freed["pass"] != w["pass"]:
                        if w["ram_in"] > L["ram_travel_max_in"]:
                            out.append(Cause(67, room, "wrong", ages))
                        if w["off_centre_ft"] > L["off_centre_max_ft"]:
                            out.append(Cause(68, room, "wrong", ages))
                        if w["sides_apart_in"] > L["sides_apart_max_in"]:
                            out.append(Cause(69, room, "wrong", ages))
                    if w["walk_back_ft"] > L["walk_back_max_ft"]:
                        out.append(Cause(70, room, "note"))
                return out
            self.add((at("arrest", room), at("last trap on the wire of the engine", room, u),
                      at("freed", officer, u), svc[u]), arrest)

            def cable(c, w, over, service):                       # 45, 46
                if not self.takes_part(c, u, service):
                    return []
                if w is None:
                    return [Cause(45, officer, c.missing)]
                if w["detorqued_at"]:
                    first = last = w["detorqued_at"] + L["detorque_every"]
                else:
                    first, last = L["detorque_first"], L["detorque_first_limit"]
                if w["traps"] > last:
                    return [Cause(45, officer, self.overridden(over, 45, officer), (w["age_ms"],))]
                if w["traps"] >= first:
                    return [Cause(46, officer, "note")]
                return []
            self.add((at("cable", officer, u), OVER, svc[u]), cable)

            def inactive(c, service, r):                          # 38
                if not self.in_service(service) and r and r["state"] == "rigged":
                    return [Cause(38, "wires", "wrong", (r["age_ms"],))]
                return []
            self.add((svc[u], rig[wire]), inactive)

        for u in S.engines:
            per_engine(u)
        self.computed_at()
        self.build_computed(rooms, svc, sets, INB, WIND, AID)

        def per_wire(w):
            def rigged(c, r):                                     # 79
                out = []
                if c.barricade and w in S.strip and (r is None or r["state"] != "stripped"):
                    if r is None:
                        out.append(Cause(79, "wires", c.missing))
                    else:
                        out.append(Cause(79, "wires", c.notyet, (r["age_ms"],)))
                return out
            self.add((rig[w],), rigged)

            def sheave(c, s, r):                                  # 17, 18
                if s is None:
                    return []                                     # of_wires
                if s["bypassed"]:
                    if not r or r["state"] != "stripped":
                        return [Cause(18, "wires", "wrong", (s["age_ms"],))]
                elif s["state"] != "up":
                    return [Cause(17, "wires", "wrong", (s["age_ms"],))]
                return []
            self.add((at("sheave", "wires", w), rig[w]), sheave)

            def pendant(c, p, r):                                 # 19, 32
                if r and r["state"] != "rigged":
                    return []
                if p is None:
                    return []                                     # of_wires
                out, ages = [], (p["age_ms"],)
                if not p["low_in"] and not p["high_in"]:
                    pass                                          # no heights said: of_wires
                elif p["low_in"] < L["pendant_low_in"] or p["high_in"] > L["pendant_high_in"]:
                    out.append(Cause(19, "wires", "wrong", ages))
                if p["state"] != "good":
                    out.append(Cause(32, "wires", "wrong", ages))
                return out
            self.add((at("pendant", "wires", w), rig[w]), pendant)

            def life(c, n, r):                                    # 64, 65
                if r and r["state"] == "stripped":
                    return []
                if n is None:
                    return [Cause(64, officer, c.missing)]
                if n["traps"] >= L["pendant_life"]:
                    return [Cause(64, officer, "wrong", (n["age_ms"],))]
                # No pass has ended here since the count, and 15 near covers a list of at most 16.
                if n["traps"] >= L["pendant_life"] - L["pendant_life_near"]:
                    return [Cause(65, officer, "note")]
                return []
            self.add((at("pendant-life", officer, w), rig[w]), life)

        for w in S.wires:
            per_wire(w)

        # What is missing of wires, sheaves, pendants and tracks is one cause for all of them 
        def one(rule, station):
            return lambda c, *words: [Cause(rule, station, c.missing)] if None in words else []
        self.add([rig[w] for w in S.wires], one(51, "wires"))
        self.add([at("sheave", "wires", w) for w in S.wires], one(17, "wires"))
        self.add([at("track", "tracks", t) for t in range(1, S.s["tracks"] + 1)], one(35, "tracks"))

        def heights(c, *words):                                   # 19
            half = len(words) // 2
            for p, r in zip(words[:half], words[half:]):
                said = p and (p["state"] != "good" or (p["low_in"] and p["high_in"]))
                if not said and not (r and r["state"] == "stripped"):
                    return [Cause(19, "wires", c.missing)]
            return []
        self.add([at("pendant", "wires", w) for w in S.wires] + [rig[w] for w in S.wires], heights)

        # all engines, all wires
        svcs, rigs = [svc[u] for u in S.engines], [rig[w] for w in S.wires]
        n = len(S.engines)

        def alike(c, *words):                                     # 6
            if not c.event or c.barricade:
                return []
            weights = set()
            for u, w, s in zip(S.engines, words[:n], words[n:]):
                if not self.in_service(s):
                    continue
                if self.setting_state(c, u, w) != "right":
                    return []
                weights.add(w["weight_lb"])
            return [Cause(6, "", "wrong", (ORDER_SAID_MS,))] if len(weights) > 1 else []
        self.add([sets[u] for u in S.engines] + svcs, alike)

        def none(c, *services):                                   # 15
            if any(self.in_service(s) for s in services):
                return []
            return [Cause(15, "", "wrong", (ORDER_SAID_MS,))]
        self.add(svcs, none)

        def usable(words):
            """-> list of usable wires from the ramp, or None while the rigging of a wire is not known"""
            by_unit = dict(zip(S.engines, words[:n]))
            by_wire = dict(zip(S.wires, words[n:]))
            if any(r is None for r in by_wire.values()):
                return None
            return [w for w in S.wires if by_wire[w]["state"] == "rigged" and self.in_service(by_unit[S.engine_of[w]])]

        def few(c, over, *words):                                 # 71
            use = usable(words)
            if c.barricade or use is None or len(use) >= S.s["wires_min"]:
                return []
            return [Cause(71, "", self.overridden(over, 71, ""), (ORDER_SAID_MS,))]
        self.add([OVER] + svcs + rigs, few)

        def target(c, a, *words):                                 # 72
            use = usable(words)
            if not c.event or c.barricade or not use or not a or a["state"] != "working":
                return []
            if not a["target_wire"]:
                return [Cause(72, "aid", c.missing)]
            if a["target_wire"] != use[S.s["target_of_usable"][len(use) - 1] - 1]:
                return [Cause(72, "aid", "wrong", (a["age_ms"],))]
            return []
        self.add([AID] + svcs + rigs, target)

        def aid(c, a, wind):                                      # 37, 36, 73
            if a is None:
                return [Cause(36, "aid", c.missing)]
            if a["state"] != "working":
                return [Cause(37, "aid", "wrong", (a["age_ms"],))]
            out = []
            if c.type:
                t = S.types.get(a["type"])
                if t is None or t["hook_to_eye_ft"] != c.type["hook_to_eye_ft"]:
                    out.append(Cause(36, "aid", "wrong", (a["age_ms"],)))
            w = self.wind(wind)
            if w:
                if not a["angle_deg"]:
                    out.append(Cause(73, "aid", c.missing))
                else:
                    slack = S.s["aid_angle_slack_kt"]
                    if a["angle_deg"] not in {self.angle(max(0.0, w["deck"] + d)) for d in (-slack, 0.0, slack)}:
                        out.append(Cause(73, "aid", "wrong", (a["age_ms"],)))
            return out
        self.add((AID, WIND), aid)

        def wind(c, text):                                        # 14, 74, 75
            w = self.wind(text)
            if not w:
                raw = read_wind(text)
                if raw["state"] == "disagree":
                    return [Cause(14, "bridge", "wrong", (BY_HAND_SAID_MS,))]
                return [Cause(14, "bridge", c.missing)]
            out = []
            if c.type and w["down"] < c.type["min_headwind_kt"]:
                out.append(Cause(74, "bridge", "wrong"))
            if abs(w["across"]) > S.s["crosswind_max_kt"]:
                out.append(Cause(75, "bridge", "wrong"))
            return out
        self.add((WIND,), wind)

        def motion(c, text):                                      # 77, 76
            m, age = read_motion(text)
            lim, out = S.s["motion"], []
            if age > lim["valid_ms"]:
                m = dict.fromkeys(m)
            for rule, parts in ((77, (("pitch", "pitch_max_deg"), ("heave", "heave_max_m"))),
                                (76, (("turn", "turn_max_deg_min"), ("roll", "roll_max_deg")))):
                for what, limit in parts:
                    if m[what] is not None and abs(m[what]) > lim[limit]:
                        out.append(Cause(rule, "bridge", "wrong"))
                if any(m[what] is None for what, _ in parts):
                    out.append(Cause(rule, "bridge", c.missing))
            return out
        self.add((at("motion of the ship"),), motion)

        # deck edge, tracks, hook
        def edge(rule, station, good, late):
            def judge(c, w):
                if not c.event:
                    return []
                if w is None:
                    return [Cause(rule, station, c.missing)] if rule != 35 else []
                if w["state"] != good:
                    return [Cause(rule, station, c.notyet if late else "wrong", (w["age_ms"],))]
                return []
            return judge
        self.add((at("free", "wires"),), edge(34, "wires", "free", True))
        self.add((at("retract", "wires"),), edge(33, "wires", "retracted", True))
        for t in range(1, S.s["tracks"] + 1):
            self.add((at("track", "tracks", t),), edge(35, "tracks", "secured", False))
        hook = edge(12, "platform", "down", False)
        self.add((at("hook", "platform"),), lambda c, w: [] if c.barricade else hook(c, w))

        # barricade
        def barricade(c, b, power, over):                         # 47, 48, 78, 80
            out = []
            if c.barricade:
                if b is None:
                    out.append(Cause(78, "barricade", c.missing))
                elif b["state"] != "rigged":
                    out.append(Cause(78, "barricade", c.notyet, (b["age_ms"],)))
                if b and b["webbing_used"]:
                    out.append(Cause(80, "barricade", "wrong", (b["age_ms"],)))
                return out
            if b is None:
                out.append(Cause(47, "barricade", c.missing))
            elif b["state"] in ("partial", "rigged"):
                out.append(Cause(47, "barricade", "wrong", (b["age_ms"],)))
            elif b["state"] == "ready":
                if power is None:
                    out.append(Cause(48, "barricade", c.missing))
                elif power["psi"] < L["barricade_psi"] or power["cycles"] > L["barricade_cycles_max"]:
                    out.append(Cause(48, "barricade", self.overridden(over, 48, "barricade"),
                                     (b["age_ms"], power["age_ms"])))
            return out
        self.add((at("barricade", "barricade"), at("power", "barricade"), OVER), barricade)

        def stanchions(c, w):                                     # 47, 78
            rule = 78 if c.barricade else 47
            if w is None:
                return [Cause(rule, "wires", c.missing)]
            if w["state"] != ("raised" if c.barricade else "lowered"):
                return [Cause(rule, "wires", c.notyet if c.barricade else "wrong", (w["age_ms"],))]
            return []
        self.add((at("stanchions", "wires"),), stanchions)

        # words on the deck
        owner = S.s["clear_owner"]

        def deck(station):
            def judge(c, w):                                      # 16, 10, 9, 13
                if w and w["state"] == "stop":
                    return [Cause(16, station, "wrong", (w["age_ms"],))] if station in S.s["may_stop"] else []
                if w and w["state"] == "foul":
                    rule = 10 if w["reason"] in ("person", "aircraft") else 9
                    # the owner's own FOUL before he has said CLEAR is "not yet"
                    state = c.notyet if station == owner and not w["said_after_clear"] else "wrong"
                    return [Cause(rule, station, state, (w["age_ms"],))]
                if station == owner:
                    if c.event and (w is None or w["state"] != "clear"):
                        return [Cause(9, station, c.missing)]
                elif w is None and station in S.s["may_foul"]:
                    return [Cause(13, station, c.missing)]
                return []
            return judge
        for station in S.s["stations"]:
            if ("deck", station, 0) in S.index:
                self.add((at("deck", station),), deck(station))

        # watches, life
        def manned(station):
            return lambda c, w: [] if w else [Cause(81, station, c.missing)]

        def life_of(station):                                     # 20, 21
            def judge(c, text):
                here, else_, two = LIVE[text]
                out = []
                state = here if c.open else else_
                if two:
                    out.append(Cause(21, station, two))
                if state:
                    out.append(Cause(20, station, state))
                return out
            return judge
        for station in S.s["stations"]:
            self.add((at("watch", station),), manned(station))
            self.add((at("liveness of the station", station),), life_of(station))

        self.add((at("the other validator"),), lambda c, t: [Cause(r, "validator-2", s) for r, s in OTHER[t]])

        def shown(rule, station, texts):
            quiet, loud = texts

            def judge(c, t):
                assert t in texts
                return [Cause(rule, station, "note")] if t == loud else []
            return judge
        self.add((at("bus-a"),), shown(28, "bus-a", ("carries", "is degraded")))
        self.add((at("the recorder"),), shown(52, "", ("is heard", "is lost")))
        self.add((at("alerts at wires"),), shown(84, "wires", ("few", "more than 10 to acknowledge in 10 minutes")))
        self.add((OVER,), lambda c, t: [Cause(55, "primary", "note")] if OVERRIDE[t][1] else [])

    def overridden(self, over, rule, station):
        return "overridden" if OVERRIDE[over][0] == (rule, station) else "wrong"

    def angle(self, knots):
        best = None
        for band in self.ship.s["aid_angles"]:
            if knots >= band["from_kt"]:
                best = band["angle_deg"]
        return best

    def wind(self, text):
        """the wind, or None while it is not known"""
        w = read_wind(text)
        limit = self.ship.s["keyed_wind_valid_s"] * 1000 if w.get("keyed") else self.ship.s["wind_valid_ms"]
        return w if w["state"] == "ok" and w["age"] <= limit else None

    def inbound_counts(self, c, w):
        """approach's word is of the aircraft ordered"""
        return w is not None and c.known and c.order["side"] == self.inbound_side
