# SPDX-License-Identifier: Apache-2.0
"""test_newer - a program of a newer schema on a ship of older ones, and the other way round.

trapline-newer and trapline-validator-newer are the same sources, built as version 2 of the schema:
all that they say needs it. What people see is read where they look.
"""

import pathlib
import sys
import unittest

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parent.parent / "system"))

from busclient import Folder  # noqa: E402
from crew import Crew  # noqa: E402
from ship import BUILD, RECORDER, Ship, room_of  # noqa: E402

NEWER = BUILD / "tests" / "interop" / "trapline-newer"
VALIDATOR = BUILD / "tests" / "interop" / "trapline-validator-newer"


class Newer(unittest.TestCase):
    def setUp(self):
        self.ship = Ship(full=True)
        self.addCleanup(self.ship.close)
        self.ship.brokers()

    def start(self, name, *command):
        return self.ship.start(name, *command, "-C", self.ship.dir)

    def test_a_newer_station_is_named_by_validators_recorder_alert_and_its_own_screen(self):
        self.ship.validators()
        recorder = self.start("recorder-1", RECORDER, "--node", "recorder-1")
        recorder.wait_text("ready")
        deck = self.ship.start("deck", NEWER, *room_of("deck"), "-C", self.ship.dir, "--stay")
        for name in ("validator-1", "validator-2"):
            self.ship.running[name].wait_text(
                "newer-schema: deck speaks schema 2, known here is 1: nothing that needs it is judged")
        recorder.wait_text(
            "newer-schema: deck speaks schema 2, known here is 1: nothing that needs it is recorded")
        deck.wait_text("validator-1 knows schema 1, this program speaks 2; "
                       "validator-2 knows schema 1, this program speaks 2")
        watch = self.ship.watch()
        watch.wait_for(lambda line: '"refused-publisher"' in line and "deck: publisher refused: has "
                       "fields or values of a newer schema: 2, known is 1" in line)
        viewer = Crew(Folder(self.ship.dir))
        try:
            self.assertTrue(viewer.until(lambda: [
                {n for n in notes if n[0] == "deck"} for notes in viewer.viewer.notes().values()] == [
                    {("deck", "newer-schema", 2, 1)}] * 2), viewer.viewer.notes())
            # It is said once a minute, not with each of five beats a second.
            self.assertTrue(viewer.until(
                lambda: [t for t, _ in viewer.viewer.heard].count("beat/deck/") > 3))
        finally:
            viewer.close()
        for name in ("validator-1", "validator-2", "recorder-1"):
            said = [line for _, line in self.ship.running[name].lines if "newer-schema" in line]
            self.assertEqual(len(said), 1, said)

    def test_a_newer_validator_is_named_on_an_older_screen(self):
        self.ship.validators("validator-1")
        self.ship.start("validator-2", VALIDATOR, "-C", self.ship.dir, "--node", "validator-2"
                        ).wait_text("ready")
        deck = self.ship.station("deck")
        deck.wait_text("validator not heard: validator-2 speaks schema 2, known here is 1")
        self.ship.running["validator-1"].wait_text(
            "newer-schema: validator-2 speaks schema 2, known here is 1")
        # The newer one reads what is older: it hears the station, and says nothing of its schema.
        watch = self.ship.start("watch", NEWER, "watch", "-C", self.ship.dir)
        watch.wait_text("validator-1 knows schema 1, this program speaks 2")
        self.assertFalse([line for _, line in self.ship.running["validator-2"].lines
                          if "newer-schema" in line])


if __name__ == "__main__":
    unittest.main(verbosity=2)
