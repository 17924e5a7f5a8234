# SPDX-License-Identifier: Apache-2.0
"""board - the scoreboard of the fault catalogue."""

import collections

import table

BY_SENSOR = {35}  # its sentences count for the seconds that ship.yaml gives them


def quantile(values, share):
    """The value below which that share of them is (nearest rank)."""
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))] if ordered else None


def ms(value):
    return "%d" % round(1000 * value) if value is not None else "-"


def show(outcome):
    """Print it; 0 when all held."""
    rows = collections.defaultdict(list)
    for result in outcome["results"]:
        rows[result["row"]].append(result)
    print()
    print("%3s %-44s %5s %5s %5s %5s %6s %4s %4s  %s" % (
        "row", "fault", "runs", "t50", "t99.9", "max", "cause%", "lost", "uR", "figures"))
    for number in sorted(rows):
        print(line_of(number, rows[number]))
    results = outcome["results"]
    silent = [t for r in results for t in r["times"]
              if not r["reported"] and r["row"] not in BY_SENSOR]
    said = [t for r in results for t in r["reported"]]
    named = [sum(r["named"][i] for r in results) for i in (0, 1)]
    print()
    print("all: %d fault runs of %d rows in %.0f s, %d ships, seed %d, %d at once" % (
        len(results), len(rows), outcome["seconds"], outcome["figures"].get("ships", 0),
        outcome["seed"], outcome["at once"]))
    print("silent loss to NOT READY: %d looks, p50 %s p99.9 %s max %s ms" % (
        len(silent), ms(quantile(silent, .5)), ms(quantile(silent, .999)),
        ms(max(silent, default=None))))
    print("said by a key to NOT READY: %d looks, p50 %s p99.9 %s max %s ms" % (
        len(said), ms(quantile(said, .5)), ms(quantile(said, .999)), ms(max(said, default=None))))
    print("cause right: %d of %d; unsafe READY: %d; lost: %d" % (
        named[0], named[1], sum(r["unsafe"] for r in results),
        sum(r["lost"] for r in results) + outcome["figures"].get("lost", 0)))
    print("history: " + ", ".join("%s %d" % item for item in sorted(outcome["figures"].items())))
    if outcome["skipped"]:
        print("SKIPPED, they need root: rows %s" % sorted(set(outcome["skipped"])))
    for number, (title, why) in sorted(table.ABSENT.items()):
        print("not tried here: %d %s: %s" % (number, title, why))
    problems = [p for r in results for p in r["problems"]] + outcome["problems"]
    print("%s: %d problems" % ("FAILED" if problems else "all held", len(problems)))
    for problem in problems[:40]:
        print("  " + problem)
    return 1 if problems or not results else 0


def line_of(number, results):
    times = [t for r in results for t in r["times"]]
    named = [sum(r["named"][i] for r in results) for i in (0, 1)]
    counts = collections.Counter()
    for result in results:
        counts.update(result["counts"])
    return "%3d %-44s %5d %5s %5s %5s %6s %4d %4d  %s" % (
        number, table.ROWS[number].title[:44], len(results), ms(quantile(times, .5)),
        ms(quantile(times, .999)), ms(max(times, default=None)),
        "%.1f" % (100.0 * named[0] / named[1]) if named[1] else "-",
        sum(r["lost"] for r in results), sum(r["unsafe"] for r in results),
        ", ".join("%s %d" % item for item in sorted(counts.items())))
