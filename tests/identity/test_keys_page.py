# SPDX-License-Identifier: Apache-2.0
"""test_keys_page - docs/keys.md can be followed: each block of commands is run, in the order of the page

A folder stands for the machine where keys are made and one for the host of the deck station. What the
page says that programs say is looked for in the programs.
"""

import os
import pathlib
import re
import shutil
import subprocess
import tempfile
import unittest

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
CLIENTS = pathlib.Path(os.environ["TL_BUILD_DIR"]) / "clients"
PAGE = (SOURCE / "docs" / "keys.md").read_text()


def blocks(text):
    """(heading of its section, commands) of each block."""
    found, heading, block = [], "", None
    for line in text.splitlines():
        if line.startswith("```"):
            if block is not None:
                found.append((heading, "\n".join(block)))
            block = [] if block is None else None
        elif block is not None:
            block.append(line)
        elif line.startswith("## "):
            heading = line[3:]
    assert block is None
    return found


def source_text():
    """All C text of the programs, with the pieces of a literal put together."""
    text = "\n".join(path.read_text() for folder in ("proto", "broker", "clients")
                     for path in (SOURCE / folder).rglob("*.c"))
    return re.sub(r'"\s*\n\s*"', "", text)


class Page(unittest.TestCase):
    def setUp(self):
        self.dir = pathlib.Path(tempfile.mkdtemp(prefix="trapline-page-"))
        self.ship, self.host = self.dir / "ship", self.dir / "host"
        self.ship.mkdir()
        for path in (SOURCE / "configs" / "demo").glob("*.yaml"):
            shutil.copy(path, self.ship)

    def tearDown(self):
        shutil.rmtree(self.dir)

    def run_block(self, commands):
        env = dict(os.environ, SHIP=str(self.ship), HOST=str(self.host),
                   PATH="%s:%s" % (CLIENTS, os.environ["PATH"]))
        done = subprocess.run(["bash", "-eu", "-c", commands], env=env, stdout=subprocess.PIPE,
                              stderr=subprocess.STDOUT, text=True, timeout=60)
        self.assertEqual(done.returncode, 0, "%s\n%s" % (commands, done.stdout))
        return done.stdout

    def test_each_block_can_be_run_in_order(self):
        said = {}
        for heading, commands in blocks(PAGE):
            said[heading] = said.get(heading, "") + self.run_block(commands)
        self.assertEqual(len(blocks(PAGE)), 12)
        self.assertEqual(said["First keys"].count("keys OK"), 2)
        self.assertIn("configuration OK", said["First keys"])
        lines = said["Checking by telephone"].splitlines()
        digests = [line for line in lines if line.startswith("key digest")]
        self.assertEqual(len(digests), 3)
        self.assertEqual(len(set(digests)), 1, "both ends read out the same")
        prints = [line for line in lines if "fingerprint" in line]
        self.assertEqual(len(prints), 2)
        self.assertEqual(len(set(prints)), 1)
        # What is left of it: only the newest key of the deck is believed, and only its own host has it.
        keys = (self.host / "keys.yaml").read_text()
        self.assertEqual(keys, (self.ship / "keys.yaml").read_text())
        self.assertEqual(re.findall(r"node: deck, epoch: (\d), .* revoked: (\w+)", keys),
                         [("1", "true"), ("2", "true"), ("3", "false")])
        self.assertEqual([p.name for p in (self.host / "identity").iterdir()], ["deck.3.key"])
        self.assertFalse([p for p in (self.ship / "identity").iterdir()
                          if p.name.startswith("deck")])
        self.assertEqual(re.findall(r"node: bus-a, epoch: (\d), .* revoked: (\w+)", keys),
                         [("1", "true"), ("2", "false")])

    def test_what_is_said_is_said_by_the_programs(self):
        table = PAGE[PAGE.index("## What is said"):]
        quoted = re.findall(r"^\| `(.*?)` \|", table, re.M)
        self.assertGreater(len(quoted), 10)
        quoted += ["keys.yaml read again", "it runs as incarnation", "this program runs with "]
        text = source_text()
        for words in quoted:
            self.assertIn(words, text)

    def test_every_verb_of_the_tool_is_on_the_page(self):
        done = subprocess.run([str(CLIENTS / "trapline"), "keys", "--help"],
                              stdout=subprocess.PIPE, text=True, check=True)
        verbs = set(re.findall(r"trapline keys ([a-z]+)", done.stdout)) - {"list"}
        self.assertEqual(verbs, set(re.findall(r"trapline keys ([a-z]+)", PAGE)))


if __name__ == "__main__":
    unittest.main(verbosity=2)
