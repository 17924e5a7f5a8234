# SPDX-License-Identifier: Apache-2.0
"""test_rights - all that is allowed, and nothing else, is what the documentation gives

usage: test_rights.py RIGHTS

The program `rights` lists everything that the broker's table, the station and the validator allow. Here
the same set is made a second time from the tables of docs/protocol.md (who publishes a topic, section 2;
who states a datum, section 6) and from stations.yaml, gear.yaml and ship.yaml as text; nothing of ours
takes part. Ships: the demo, and two whose rights are dealt out otherwise.
"""

import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import unittest

SOURCE = pathlib.Path(__file__).resolve().parents[2]
DEMO = SOURCE / "configs" / "demo"
RIGHTS = sys.argv.pop(1)
SLOTS = [0, 1, 2, 3, 4, 5, 9, 204, 4294967295]
EPOCHS = [("1", True), ("2", True), ("3", False)]  # the third is revoked
NOT_A_STATION = ("validator", "recorder", "broker", "viewer")
TOPIC_WORDS = {"stations": "station", "viewers": "viewer", "recorders": "recorder",
               "validators": "validator", "brokers": "broker"}
DECK = ("CLEAR", "FOUL", "NO_FOUL", "STOP")
SCHEMA = (SOURCE / "proto" / "schema" / "trapline.proto").read_text()
KINDS = {number: name.lower()
         for name, number in re.findall(r"DATUM_KIND_([A-Z_]+) = ([1-9]\d*);", SCHEMA)}


def section(text, number):
    return re.search(r"^## %d\. .*?(?=^## |\Z)" % number, text, re.M | re.S).group()


def rows(text, cells):
    """Cells of the lines of tables with so many columns."""
    found = [[c.strip() for c in line.strip("|").split("|")]
             for line in text.splitlines() if line.startswith("|")]
    return [row for row in found if len(row) == cells and set(row[0]) - set("-")]


class Documentation:
    """The two tables, and what is said of words by voice."""

    def __init__(self, text):
        self.publishers = {}
        for topic, who, *_ in rows(section(text, 2), 4):
            if topic.startswith("`"):
                words = re.findall(r"[a-z]+", who.split(", to one node")[0])
                self.publishers[topic.strip("`").split("/")[0]] = {TOPIC_WORDS[w] for w in words}
        self.states = {}  # datum or "deck VALUE" -> (who, slot)
        for names, who, slot, _ in rows(section(text, 6), 4):
            value = re.search(r"` ([A-Z_]+)$", names)
            for name in re.findall(r"`([a-z_]+)`", names):
                key = "deck " + value.group(1) if value else name
                assert key not in self.states, key
                self.states[key] = (who, slot)
        silent = re.search(r"Not by voice: (.*?)\.\s", section(text, 6), re.S).group(1)
        self.not_by_voice = set(re.findall(r"`([a-z_]+)`", silent))


class Ship:
    """What the three files say, read as text."""

    def __init__(self, folder):
        text = (folder / "stations.yaml").read_text()
        self.nodes = {}
        for row in re.findall(r"^ *- *\{(id: .*)\}", text, re.M):
            voice = re.search(r"voice_by: \[(.*?)\]", row)
            self.nodes[re.search(r"id: ([a-z0-9-]+)", row).group(1)] = {
                "kind": re.search(r"kind: ([a-z-]+)", row).group(1),
                "may_foul": "may_foul: true" in row, "may_stop": "may_stop: true" in row,
                "voice_by": re.findall(r"[a-z0-9-]+", voice.group(1)) if voice else []}
        self.owner = re.search(r"^clear_owner: (\S+)", text, re.M).group(1)
        self.reader = re.search(r"^repeater_reader: (\S+)", text, re.M).group(1)
        signers = re.search(r"^override_by: \[(.*)\]", text, re.M)
        self.signers = re.findall(r"[a-z0-9-]+", signers.group(1)) if signers else []
        gear = (folder / "gear.yaml").read_text()
        engines = re.findall(r"\{unit: (\d+), wire: (\d+)", gear)
        self.units = {int(unit) for unit, _ in engines}
        self.wires = {int(wire) for _, wire in engines}
        tracks = re.search(r"^tracks: (\d+)", (folder / "ship.yaml").read_text(), re.M)
        self.tracks = set(range(1, int(tracks.group(1)) + 1))

    def group(self, node):
        kind = self.nodes[node]["kind"]
        return kind if kind in NOT_A_STATION else "station"

    def is_who(self, node, who):
        """Whether that station is whom a cell of the column "who" names."""
        row = self.nodes[node]
        people = {
            "any station": True,
            "the owner of CLEAR": node == self.owner,
            "the repeater reader of `stations.yaml`": node == self.reader,
            "whoever has `may_foul`, and the owner": row["may_foul"] or node == self.owner,
            "whoever has `may_foul` or `may_stop`, but not the owner":
                (row["may_foul"] or row["may_stop"]) and node != self.owner,
            "whoever has `may_stop`; NO_FOUL lifts it": row["may_stop"],
            "whoever is in `override_by`": node in self.signers,
        }
        if who in people:
            return people[who]
        assert re.fullmatch("[a-z-]+", who), who
        return row["kind"] == who

    def fits(self, cell, slot):
        numbers = {"0": {0}, "engine unit": self.units, "wire": self.wires, "track": self.tracks}
        if cell in numbers:
            return slot in numbers[cell]
        assert cell in ("pass number", "side number", "see the schema") or \
            cell.startswith("low 31 bits"), cell
        return slot != 0


def published(ship, docs):
    """All that a broker passes on: from a key in use, under the own name, by the kind of node."""
    return {(node + "/" + epoch, topic, node)
            for node in ship.nodes for epoch, in_use in EPOCHS if in_use
            for topic, who in docs.publishers.items() if ship.group(node) in who}


def own(ship, docs, node):
    """(kind, slot, value) that a station may state of its own."""
    found = set()
    for name, (who, cell) in docs.states.items():
        kind, _, value = name.partition(" ")
        for slot in SLOTS:
            if ship.group(node) == "station" and ship.is_who(node, who) and ship.fits(cell, slot):
                found |= {(kind, slot, value or "known"), (kind, slot, "unknown")}
    return found


def stated(ship, docs):
    """(node, kind, slot, value, for whom): what is its own, and by voice what is another's."""
    mine = {node: own(ship, docs, node) for node in ship.nodes}
    found = {(node, *word, "-") for node, words in mine.items() for word in words}
    for other, row in ship.nodes.items():
        for speaker in row["voice_by"]:
            found |= {(speaker, *word, other) for word in mine[other]
                      if word[0] not in docs.not_by_voice}
    return found


def moved(folder):
    """Other people have the rights, some both and some neither."""
    path = folder / "stations.yaml"
    text = path.read_text().replace("clear_owner: deck", "clear_owner: safety")
    text = text.replace("repeater_reader: primary", "repeater_reader: gear-officer")
    text = text.replace("override_by: [primary, gear-officer, safety]",
                        "override_by: [deck, approach]")
    text = text.replace("kind: platform, may_foul: true, voice_by: [primary, deck, aid]",
                        "kind: platform, may_stop: true, voice_by: [bridge]")
    text = text.replace("kind: tracks, voice_by: [gear-officer, deck]",
                        "kind: tracks, may_foul: true")
    text = text.replace("unit: 2, voice_by: [primary, gear-officer, deck]",
                        "unit: 2, voice_by: [engine-1, engine-3]")
    path.write_text(text)


def smaller(folder):
    """Three engines, other wires, one track; a viewer and a validator less."""
    path = folder / "ship.yaml"
    path.write_text(path.read_text().replace("\ntracks: 2", "\ntracks: 1"))
    path = folder / "stations.yaml"
    path.write_text(path.read_text().replace("  - {id: validator-2, kind: validator}\n", ""))


class Rights(unittest.TestCase):
    docs = Documentation((SOURCE / "docs" / "protocol.md").read_text())

    def compare(self, edit):
        with tempfile.TemporaryDirectory(prefix="trapline-rights-") as name:
            folder = pathlib.Path(name)
            for path in DEMO.glob("*.yaml"):
                shutil.copy(path, folder)
            edit(folder)
            done = subprocess.run([RIGHTS, name] + [str(s) for s in SLOTS], stdout=subprocess.PIPE,
                                  text=True, check=True)
            ship = Ship(folder)
        lines = [line.split() for line in done.stdout.splitlines()]
        got = {tuple(words[1:]) for words in lines if words[0] == "publish"}
        self.same(got, published(ship, self.docs), "publish")
        want = stated(ship, self.docs)
        for channel in ("station", "change", "beat"):
            got = {(w[2], KINDS[w[3]], int(w[4]), w[5], w[6]) for w in lines
                   if w[0] == "state" and w[1] == channel}
            self.same(got, want, channel)
        return ship, lines[-1], len(want)

    def same(self, got, want, what):
        wrong = ["allowed, and is not to be: %s" % (w,) for w in sorted(got - want)]
        wrong += ["not allowed, and is to be: %s" % (w,) for w in sorted(want - got)]
        if wrong:
            self.fail("%s: %d\n%s" % (what, len(wrong), "\n".join(wrong[:20])))

    def test_the_documentation_names_every_kind(self):
        self.assertEqual(set(KINDS.values()), {key.split()[0] for key in self.docs.states})
        self.assertEqual({k for k in self.docs.states if k.startswith("deck")},
                         {"deck " + value for value in DECK})
        self.assertEqual(len(self.docs.publishers), 9)

    def test_the_demo_ship(self):
        ship, asked, allowed = self.compare(lambda folder: None)
        nodes, kinds = len(ship.nodes), len(KINDS)
        self.assertEqual(int(asked[1]), nodes * len(EPOCHS) * 9 * nodes)
        self.assertEqual(int(asked[2]), nodes * len(SLOTS) * (nodes + 2) * (2 * (kinds - 1) + 5))
        self.assertGreater(allowed, 1000)

    def test_a_ship_whose_rights_are_dealt_out_otherwise(self):
        self.compare(moved)

    def test_a_smaller_ship(self):
        self.compare(smaller)


if __name__ == "__main__":
    unittest.main(verbosity=2)
