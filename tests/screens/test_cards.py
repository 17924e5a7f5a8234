# SPDX-License-Identifier: Apache-2.0
"""test_cards - the printed cards of docs/stations.md have the keys of clients/station/keys.c."""

import os
import pathlib
import re
import unittest

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])


def rooms():
    """{room: (safe label, safe line, [(key, label, line)])} as the source has them."""
    text = (SOURCE / "clients" / "station" / "keys.c").read_text()
    keys = {name: re.findall(r"\{'(.)',\s*\"([^\"]*)\",\s*\"([^\"]*)\"", body)
            for name, body in re.findall(r"tl_key_row (\w+)_keys\[\] = \{(.*?)\n\};", text, re.S)}
    safe = {name.lower(): (label.strip('"'), line.strip('"')) for name, label, line in re.findall(
        r"\[TL_STATION_(\w+)\] =\s*\{(NULL|\"[^\"]*\"), (NULL|\"[^\"]*\")", text)}
    return {name: (*safe[name], keys[name]) for name in keys}


def cards():
    """{room: its card}."""
    text = (SOURCE / "docs" / "stations.md").read_text()
    return {re.search(r"`trapline ([a-z-]+)", card).group(1).replace("-", "_"): card
            for card in text.split("\n---\n")[1:]}


class Cards(unittest.TestCase):
    def test_every_room_has_its_card(self):
        self.assertEqual(len(rooms()), 12)
        self.assertEqual(set(rooms()), set(cards()))

    def test_every_key_stands_on_the_card_and_no_other(self):
        for room, (label, line, keys) in rooms().items():
            card = cards()[room]
            rows = re.findall(r"^\| (.) \| (.*?) \| `(.*?)`", card, re.M)
            want = [(key, label_, said.strip() + (" ..." if said.endswith(" ") else ""))
                    for key, label_, said in keys]
            self.assertEqual(rows, want, room)
            self.assertEqual("| **TAB** | %s | `%s`" % (label, line) in card, label != "NULL", room)

    def test_a_card_fits_a_page(self):
        for room, card in cards().items():
            self.assertLess(len(card.splitlines()), 40, room)


if __name__ == "__main__":
    unittest.main(verbosity=2)
