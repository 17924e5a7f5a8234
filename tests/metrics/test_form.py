#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""test_form - every metric against an independent parser, and against docs/monitoring.md

The form is OpenMetrics 1.0; the parser that judges is the one of Debian's python3-prometheus-client
(prometheus_client.openmetrics.parser), which is not ours. What it lets pass and the specification does
not is looked at here, by the section of the specification that is named.
"""
import os
import pathlib
import re
import subprocess
import sys
import unittest

sys.path.insert(0, os.path.dirname(__file__))
import monitored  # noqa: E402

EMIT = sys.argv.pop(1)
HOSTILE = 'a\\b"c\nd\x1b[2J\u202e'


def emit(label, value):
    done = subprocess.run([EMIT, label, str(value)], stdout=subprocess.PIPE, check=True)
    return done.stdout.decode("utf-8")


class Form(unittest.TestCase):
    def test_the_parser_takes_the_page_and_gives_back_what_was_put(self):
        text = emit("deck", 7)
        families = monitored.parse(text)
        self.assertGreater(len(families), 40)
        for family in families.values():
            for sample in family.samples:
                want = {"info": 1.0, "stateset": None}.get(family.type, 7.0)
                if want is not None:
                    self.assertEqual(sample.value, want, sample)
                for name, value in sample.labels.items():
                    self.assertEqual(value, "deck" if name != family.name else value, sample)
            if family.type == "stateset":
                states = {s.labels[family.name]: s.value for s in family.samples}
                self.assertEqual(states, {"off": 0.0, "on": 1.0})

    def test_the_greatest_number_is_said_digit_by_digit(self):
        # Section "Numbers": 64-bit integers; a reader that has only doubles rounds them itself.
        self.assertEqual(len(re.findall(r" 18446744073709551615$", emit("deck", 2**64 - 1), re.M)),
                         len(re.findall(r" 7$", emit("deck", 7), re.M)))

    def test_a_hostile_label_is_one_label_and_reaches_no_terminal_raw(self):
        text = emit(HOSTILE, 7)
        self.assertEqual(re.findall(r"[^\n\x20-\x7e]", text), [])
        for family in monitored.parse(text).values():
            for sample in family.samples:
                for name, value in sample.labels.items():
                    if name != family.name:
                        self.assertEqual(value, 'a\\b"c?d?[2J?', sample)

    def test_the_lines_are_as_the_specification_has_them(self):
        text = emit("deck", 7)
        # Section "Overall structure": line feeds alone, no blank line, "# EOF" last.
        self.assertTrue(text.endswith("\n# EOF\n"))
        self.assertEqual(text.count("# EOF"), 1)
        self.assertNotIn("\r", text)
        self.assertNotIn("\n\n", text)
        seen = []
        for name, rest in re.findall(r"^# TYPE (\S+) (\S+)$", text, re.M):
            self.assertNotIn(name, seen)  # "MetricFamily names ... MUST be unique"
            self.assertRegex(name, r"^trapline_[a-z_]+$")
            self.assertNotRegex(name, r"_(total|info|created)$")
            seen.append(name)
        for name, unit in re.findall(r"^# UNIT (\S+) (\S+)$", text, re.M):
            self.assertTrue(name.endswith("_" + unit), name)  # section "Unit"
        self.assertEqual(len(seen), text.count("# HELP "))

    def test_the_document_and_the_program_have_the_same_metrics(self):
        program = {name: (family.type, monitored.labels_of(family))
                   for name, family in monitored.parse(emit("deck", 7)).items()}
        document = {name: (row.type, row.labels) for name, row in monitored.document().items()}
        self.assertEqual(program, document)

    def test_the_alerts_of_the_document_name_metrics_that_are_there(self):
        names = set(monitored.document())
        text = pathlib.Path(monitored.PAGE).read_text().split("## What to be told of")[1]
        named = {re.sub(r"_total$", "", name) for name in re.findall(r"`(trapline_[a-z_]+)", text)}
        self.assertGreater(len(named), 8)
        self.assertEqual(named - names, set())
        self.assertIn("common practice, no source", text)


if __name__ == "__main__":
    unittest.main(verbosity=2)
