# SPDX-License-Identifier: Apache-2.0
"""test_completion - what bash offers is what the program takes."""

import os
import pathlib
import re
import subprocess
import unittest

SOURCE = pathlib.Path(os.environ["TL_SOURCE_DIR"])
TRAPLINE = pathlib.Path(os.environ["TL_BUILD_DIR"]) / "clients" / "trapline"
ASK = """
source "$1"; shift
COMP_WORDS=(trapline "$@"); COMP_CWORD=$#
_trapline; printf '%s\\n' "${COMPREPLY[@]}"
"""


def offered(*words, env=None):
    done = subprocess.run(["bash", "-c", ASK, "-", str(SOURCE / "clients" / "trapline.bash"),
                           *words], stdout=subprocess.PIPE, text=True, check=True,
                          env=dict(os.environ, **(env or {})))
    return set(done.stdout.split())


def help_of(*words):
    return subprocess.run([str(TRAPLINE), *words, "--help"], stdout=subprocess.PIPE, text=True,
                          check=True).stdout


def commands():
    return [line.split()[0] for line in help_of().splitlines()
            if re.match(r"  [a-z][a-z-]* ", line)]


class Completion(unittest.TestCase):
    def test_every_command_is_offered(self):
        self.assertGreater(len(commands()), 15)
        self.assertEqual(offered(""), set(commands()) | {"--help", "--version"})
        self.assertEqual(offered("bo"), {"board"})
        self.assertEqual(offered("zz"), set())

    def test_every_option_is_offered_and_taken(self):
        for command in commands():
            named = set(re.findall(r"(?<![\w-])--[a-z][a-z-]*|(?<![\w-])-C\b", help_of(command)))
            got = {word for word in offered(command, "") if word.startswith("-")}
            if command in ("plan", "log", "keys", "explain", "check"):
                self.assertTrue(got <= named | {"-C", "--json", "--csv", "--record", "--help"},
                                (command, got - named))
            else:
                self.assertEqual(got, named | {"--help"}, command)

    def test_verbs_are_those_of_the_help(self):
        for command in ("log", "plan", "keys"):
            text = help_of(command)
            verbs = {word for word in offered(command, "") if not word.startswith("-")}
            self.assertGreater(len(verbs), 3)
            for verb in verbs:
                self.assertIn(verb, text, command)

    def test_nodes_come_from_the_configuration(self):
        demo = str(SOURCE / "configs" / "demo")
        self.assertEqual(offered("board", "-C", demo, "--as", ""), {"viewer"})
        self.assertEqual(offered("keys", "show", "bus", env={"TRAPLINE_CONFIG": demo}),
                         {"bus-a", "bus-b"})
        self.assertEqual(offered("keys", "rotate", "val", env={"TRAPLINE_CONFIG": demo}),
                         {"validator-1", "validator-2"})
        self.assertEqual(offered("keys", "check", "--", env={"TRAPLINE_CONFIG": demo}),
                         {"--against", "--json", "--help"})
        self.assertEqual(offered("engine", "--unit", "", env={"TRAPLINE_CONFIG": demo}),
                         {"1", "2", "3", "4"})


if __name__ == "__main__":
    unittest.main(verbosity=2)
