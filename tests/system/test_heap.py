# SPDX-License-Identifier: Apache-2.0
"""test_heap - a broker and a validator ask nothing of the heap for a message, once they have begun

Counted by who asks (heap_count.c): the program itself and the codec must not. libzmq does, for each
frame that does not fit into its own message; it gives that back, and the last claim holds it to it.
"""

import mmap
import pathlib
import struct
import unittest

from ship import BUILD, Ship

WHO = ("program", "codec", "libzmq", "other")
COUNTER = BUILD / "tests" / "system" / "libheap_count.so"
WATCHED = ("bus-a", "bus-b", "validator-1", "validator-2")
WORDS = 40


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


class Heap(unittest.TestCase):
    def test_nothing_for_a_message(self):
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


if __name__ == "__main__":
    unittest.main()
