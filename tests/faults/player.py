# SPDX-License-Identifier: Apache-2.0
"""player - a station whose program was killed, played by this one, so that it can leave out a
number or say in its turn what is not its own."""

import time

from busclient import Client, Folder
from liar import ear_of


class Player(Client):
    """A station whose program was killed, played by this one: says, beats, resends as it should."""

    def __init__(self, rig, node):
        self.rig, self.began = rig, time.monotonic()
        rig.until_ready()
        self.ear = ear_of(rig)
        rig.kill(node)
        super().__init__(Folder(rig.dir), node)
        self.screens = rig.screens(but=[node])
        assert self.run(10, lambda: all(self.hears(v) for v in self.folder.validators()))

    def __enter__(self):
        return self

    def __exit__(self, kind, *_):
        """Its own program again; nobody is asked for this life's words."""
        self.close()
        if kind is None:
            self.rig.faults.append((self.began, time.monotonic() + 1.0, None, {self.node},
                                    "played: " + self.node))
            self.rig.restart(self.node)
            self.rig.until_ready()

    def event(self):
        return next(iter(self.verdicts.values())).event

    def settle(self, sequence, limit_s=5.0):
        assert self.run(limit_s, lambda: self.settled >= sequence), dict(self.through)

    def all_ready(self):
        return all(s.ready() for s in self.screens.values())

    def none_ready(self):
        return not any(s.ready() for s in self.screens.values())

    def first_causes(self):
        return {s.now()[2][0] for s in self.screens.values() if not s.ready()}

    def skip(self):
        """A number that is not sent for now."""
        self.sequences["change"] += 1
        return self.sequences["change"]

    def fill(self, number, datum_):
        datum_.sequence = number
        self.changes[number] = (datum_, time.monotonic())
        self.send_change(number)
