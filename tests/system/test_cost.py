# SPDX-License-Identifier: Apache-2.0
"""test_cost - what a message costs in programs that run: nothing of the heap; and a trace tells the time

Counted by who asks (heap_count.c): the program itself and the codec must not. libzmq does, for each
frame that does not fit into its own message: that is how the test knows that messages came.
"""

import mmap
import pathlib
import re
import struct
import unittest

from ship import BUILD, VALIDATOR, Ship

WHO = ("program", "codec", "libzmq", "other")
COUNTER = BUILD / "tests" / "system" / "libheap_count.so"
WATCHED = ("bus-a", "bus-b", "validator-1", "validator-2")
WORDS = 40
STAGE = re.compile(r"trace: (\w+): (\d+) calls, ([\d.]+) us on average, half in ([\d.]+), "
                   r"99 of 100 in ([\d.]+), worst ([\d.]+) us$")


class Counts:
    def __init__(self, path):
        path.write_bytes(bytes(8 * len(WHO)))
        with path.open("r+b") as file:
            self.map = mmap.mmap(file.fileno(), 8 * len(WHO))

    def now(self):
        return dict(zip(WHO, struct.unpack("<4Q", self.map[:])))


def start_counted(ship):
    """Brokers and validators, each with a page of counts; {name: Counts}."""
    counts = {}
    plain = ship.env
    for name in WATCHED:
        path = pathlib.Path(ship.dir) / ("heap-" + name)
        counts[name] = Counts(path)
        ship.env = dict(plain, LD_PRELOAD=str(COUNTER), TL_HEAP=str(path))
        (ship.brokers if name.startswith("bus") else ship.validators)(name)
    ship.env = plain
    return counts


class Cost(unittest.TestCase):
    def test_nothing_of_the_heap_for_a_message(self):
        with Ship() as ship:
            counts = start_counted(ship)
            ship.stations()
            ship.until_show(1)
            ship.open_recovery()
            ship.order(204, "plover", 34000)
            ship.until_show(0)
            before = {name: page.now() for name, page in counts.items()}
            for name, page in before.items():
                self.assertGreater(page["program"], 0, "%s was not counted" % name)
            for i in range(WORDS):
                ship.say("engine-3", "set %d" % (40000 if i % 2 == 0 else 34000))
            after = {name: page.now() for name, page in counts.items()}
            for name in WATCHED:
                more = {who: after[name][who] - before[name][who] for who in WHO}
                self.assertGreater(more["libzmq"], WORDS, "%s: %s" % (name, more))
                self.assertEqual((more["program"], more["codec"]), (0, 0), "%s: %s" % (name, more))

    def test_a_trace_names_each_stage_and_its_calls(self):
        with Ship() as ship:
            ship.brokers()
            ship.validators("validator-2")
            traced = ship.start("validator-1", VALIDATOR, "-C", ship.dir, "--node", "validator-1",
                                "--trace")
            traced.wait_text("ready")
            ship.stations()
            ship.until_show(1)
            ship.open_recovery()
            traced.process.terminate()
            self.assertEqual(traced.process.wait(), 0)
            traced.wait_text("trace: pass:")
            told = {}
            for _, line in traced.lines:
                found = STAGE.search(line)
                if found:
                    told.setdefault(found[1], []).append(line)
                    calls, mean, half, most, worst = (float(word) for word in found.groups()[1:])
                    self.assertGreater(calls, 0, line)
                    self.assertLessEqual(mean, worst, line)
                    self.assertLessEqual(half, most, line)
            self.assertEqual(list(told), ["take", "verify", "decode", "judge", "tend", "write", "pass"])
            untraced = ship.running["validator-2"].process
            untraced.terminate()
            untraced.wait()
            self.assertEqual([line for _, line in ship.running["validator-2"].lines
                              if "trace" in line], [])


if __name__ == "__main__":
    unittest.main()
