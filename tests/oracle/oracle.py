#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""oracle.py [--list] [--classes] DESCRIBE.json < lines

A second judgement of the pictures, written from docs/rules.md and the description alone.
Reads lines "FIELD=VALUE ...<tab>READY|NOT<tab>RULE:STATION:STATE ...", judges each picture anew and
compares the verdict and the multiset of causes. Exit 1 on any disagreement.

  --list      also print, for each rule id, in how many pictures this judgement raised it
  --classes   also print the differing causes, counted by rule, station and state
"""
import json
import re
import sys
import time
from collections import Counter

from reading import AGAINST, ORDER, PICTURE, WITHOUT_EVENT, Cause, Context, Ship, read_off, read_order
from rows import Rows


class Judge(Rows):
    def __init__(self, describe):
        self.ship = Ship(describe)
        self.units = []            # (fields, function of (context, words...) -> list of Cause)
        self.asks_off = set()      # units that ask which rules are off
        self.build()
        self.ctx_fields = (self.ship.at("order of the current event"), self.ship.at("primary's recovery"),
                           self.ship.at("age of the current event"), self.ship.at("call", "platform"))
        self.off_fields = (self.ship.at("rules on computed figures switched off"), self.ship.at("other rules switched off"))
        self.ramp_fields = self.ctx_fields[:1] + self.for_fields + self.time_fields
        self.all_ctx = frozenset(self.ctx_fields + self.off_fields + self.ramp_fields)
        self.ramps = {}
        n = len(self.ship.fields)
        self.of_field = [()] * n
        for f in range(n):
            self.of_field[f] = tuple(u for u, (fields, _) in enumerate(self.units) if f in fields)
        used = {f for fields, _ in self.units for f in fields} | self.all_ctx
        unused = [f for f in range(n) if f not in used]
        if unused:
            raise SystemExit("fields that no rule looks at: %s" % unused)
        self.key_fields = self.ctx_fields + self.off_fields
        self.contexts, self.alike = {}, {}
        self.good = self.context((0,) * len(self.key_fields) + (self.seconds({}.get),))

    # ---- the rules -------------------------------------------------------------------------

    def of_context(self, c):                                      # 25, 24, 1, 2, 3, 11 (the call)
        out = []
        if c.recovery == 1:
            out.append(Cause(25, "", "pending"))
        if c.recovery == 2:
            out.append(Cause(24, "primary", "wrong"))
        if not c.event:
            out.append(Cause(1, "", "pending"))
            return out
        if not c.known:
            out.append(Cause(2, "primary", c.missing))
        elif c.type is None or (c.barricade and "barricade_setting_lb" not in c.type):
            out.append(Cause(3, "", "wrong"))
        if c.call is None:
            out.append(Cause(11, "platform", c.missing))
        elif c.known and (c.call["side"] != c.order["side"] or c.call["type"] != c.order["type"]):
            out.append(Cause(11, "platform", "wrong", (c.call["age_ms"],)))
        return out

    def of_inbound(self, c, w):                                   # 49, 11 (inbound), 58, 50
        if not c.known:
            return []
        if not self.inbound_counts(c, w):
            return [Cause(58, "approach", c.missing)]
        out, ages = [], (w["age_ms"],)
        if w["diverted"]:
            out.append(Cause(49, "approach", "wrong", ages))
        if w["type"] != c.order["type"]:
            out.append(Cause(11, "approach", "wrong", ages))
        if c.type and w["weight_lb"] > c.type["max_trap_lb"]:
            out.append(Cause(58, "approach", "wrong", ages))
        if w["trouble"]:
            out.append(Cause(50, "approach", "note"))
        return out

    # ---- a picture -------------------------------------------------------------------------

    def evaluate(self, ctx, u, key):
        """-> (strings, against, candidate of 82, candidate of 83, rules) of one unit; a candidate is (place, station)"""
        fields, function = self.units[u]
        values = self.ship.values
        of = dict(key)
        causes = function(ctx, *[values[f][of.get(f, 0)] for f in fields])
        strings, rules, against, c82, c83 = [], [], False, None, None
        for i, x in enumerate(causes):
            if x.rule in ctx.off or (not ctx.event and x.rule not in WITHOUT_EVENT):
                continue
            strings.append("%d:%s:%s" % (x.rule, x.station, x.state))
            rules.append(x.rule)
            if x.state in AGAINST:
                against = True
            place = (ORDER[x.rule], u, i)
            if ctx.window is not None:
                if x.rule in PICTURE:
                    if x.state == "wrong" or x.rule == 23:
                        if c83 is None or place < c83[0]:
                            c83 = (place, x.station)
                elif x.state == "wrong" and any(a < ctx.window for a in x.ages):
                    if c82 is None or place < c82[0]:
                        c82 = (place, x.station)
        return tuple(strings), against, c82, c83, tuple(rules)

    def result(self, ctx, u, key):
        """the same, from memory where it can; a rule that is off changes little, so little is judged again"""
        known = ctx.cache[u]
        r = known.get(key)
        if r is None:
            if ctx.plain is not None and u not in self.asks_off:
                r = self.result(ctx.plain, u, key)
                if not ctx.off.isdisjoint(r[4]):
                    r = self.evaluate(ctx, u, key)
            else:
                r = self.evaluate(ctx, u, key)
            if len(known) > 100000:
                known.clear()
            known[key] = r
        return r

    def context(self, key):
        values = self.ship.values
        words = [values[f][v] for f, v in zip(self.ctx_fields, key)]
        off = frozenset().union(*[read_off(values[f][v]) for f, v in zip(self.off_fields, key[4:])])
        ctx = Context(self.ship, *words, off, key[6])
        same = (key[0], key[1], key[3], ctx.due, ctx.window, off)    # nothing else of it is asked for
        if same in self.alike:
            return self.alike[same]
        self.alike[same] = ctx
        ctx.plain = self.context(key[:4] + (0, 0) + key[6:]) if off else None
        ctx.cache = [{} for _ in self.units]
        ctx.base = {}              # unit: result, of the units that are not silent when all else is good
        for u in range(len(self.units)) if ctx.plain is None else self.asks_off | set(ctx.plain.base):
            r = self.result(ctx, u, ())
            if r[0]:
                ctx.base[u] = r
        return ctx

    def seconds(self, get):
        """computed from the call to the ramp, ms, or None"""
        key = tuple([get(f, 0) for f in self.ramp_fields])
        if key not in self.ramps:
            order, *words = [self.ship.values[f][v] for f, v in zip(self.ramp_fields, key)]
            self.ramps[key] = self.ramp_ms(read_order(order), *words)
        return self.ramps[key]

    def judge(self, dev):
        """dev: {field: value} of what is not good -> (ready, sorted list of causes, rules)"""
        ctx = self.good
        if not self.all_ctx.isdisjoint(dev):
            get = dev.get
            ckey = tuple([get(f, 0) for f in self.key_fields]) + (self.seconds(get),)
            ctx = self.contexts.get(ckey)
            if ctx is None:
                ctx = self.contexts[ckey] = self.context(ckey)
        of_field, cache = self.of_field, ctx.cache
        touched = {}               # unit: (field, value) of what is not good, by which it is remembered
        for item in dev.items():
            one = (item,)
            for u in of_field[item[0]]:
                if u in touched:
                    touched[u] += one
                else:
                    touched[u] = one
        results = [r for u, r in ctx.base.items() if u not in touched] if ctx.base else []
        for u, key in touched.items():
            r = cache[u].get(key)
            if r is None:
                r = self.result(ctx, u, key)
            if r[0]:
                results.append(r)
        if not results:
            return True, [], ()
        causes, rules, ready, c82, c83 = [], [], True, None, None
        for strings, against, a, b, ids in results:
            causes += strings
            rules += ids
            if against:
                ready = False
            if a and (c82 is None or a[0] < c82[0]):
                c82 = a
            if b and (c83 is None or b[0] < c83[0]):
                c83 = b
        if c82 and 82 not in ctx.off:
            causes.append("82:%s:wrong" % c82[1])
            rules.append(82)
            ready = False
        if c83:
            causes.append("83:%s:note" % c83[1])
            rules.append(83)
        causes.sort()
        return ready, causes, rules

    def words(self, dev):
        out = []
        for f, v in sorted(dev.items()):
            d = self.ship.fields[f]
            w = d["values"][v]
            if "text" in w:
                t = w["text"]
            else:
                good = d["values"][0]
                t = w["how"] + " " + ", ".join("%s %s" % (k, x) for k, x in w.items()
                                               if k != "how" and (k not in good or good[k] != x))
            out.append("%s%s%s: %s" % (d["of"], " of " + d["station"] if d["station"] else "",
                                       " %d" % d["slot"] if d["slot"] else "", t.strip()))
        return "; ".join(out) or "all good"


def main():
    args = sys.argv[1:]
    options = {a for a in args if a.startswith("--")}
    files = [a for a in args if not a.startswith("--")]
    if len(files) != 1 or options - {"--list", "--classes"}:
        raise SystemExit(__doc__)
    with open(files[0]) as f:
        judge = Judge(json.load(f))
    pairs = {"%d=%d" % (f, v): (f, v) for f, values in enumerate(judge.ship.values) for v in range(1, len(values))}
    lines = agreed = bad_verdict = bad_causes = ready_count = 0
    raised, classes, example = Counter(), Counter(), {}
    started, cpu = time.time(), time.process_time()
    for line in sys.stdin:
        lines += 1
        picture, said, told = line.rstrip("\n").split("\t")
        dev = dict([pairs[part] for part in picture.split()])
        ready, causes, rules = judge.judge(dev)
        ready_count += ready
        if rules:
            raised.update(set(rules))
        theirs = sorted(told.split())
        verdict_ok = said == ("READY" if ready else "NOT")
        causes_ok = theirs == causes
        if verdict_ok and causes_ok:
            agreed += 1
            continue
        bad_verdict += not verdict_ok
        bad_causes += not causes_ok
        mine, yours = Counter(causes), Counter(theirs)
        only_mine, only_theirs = sorted((mine - yours).elements()), sorted((yours - mine).elements())
        if "--classes" in options:
            k = ("oracle only: " + " ".join(re.sub(r"engine-\d", "engine-N", x) for x in only_mine),
                 "program only: " + " ".join(re.sub(r"engine-\d", "engine-N", x) for x in only_theirs))
            classes[k] += 1
            if k not in example or len(picture) < len(example[k]):
                example[k] = picture
        if lines - agreed <= 20:
            print("picture %s\n  not good: %s\n  program says %s, oracle %s\n  only the program: %s\n  only the oracle: %s" % (
                picture or "(good)", judge.words(dev), said, "READY" if ready else "NOT",
                " ".join(only_theirs) or "-", " ".join(only_mine) or "-"))
    took, cpu = time.time() - started, time.process_time() - cpu
    if "--classes" in options:
        for k, n in classes.most_common(60):
            print("%8d  %s | %s\n          e.g. %s" % (n, k[0], k[1], example[k]))
    if "--list" in options:
        for rule in sorted(ORDER):
            print("rule %2d: %d" % (rule, raised[rule]))
    print("%d lines, %d agreed, %d disagree in the verdict, %d in the causes; %d READY; "
          "%.0f a second by the clock, %.0f by processor time" % (
              lines, agreed, bad_verdict, bad_causes, ready_count, lines / max(took, 1e-9), lines / max(cpu, 1e-9)))
    if not lines:
        print("nothing was judged")
    return 0 if lines and agreed == lines else 1


if __name__ == "__main__":
    sys.exit(main())
