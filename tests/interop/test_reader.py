# SPDX-License-Identifier: Apache-2.0
"""test_reader - the document against the sources, and its reader against the one in C.

Nothing runs here but the codec, asked by build/tests/interop/interop_judge: what one of the two
readers takes and the other refuses, or refuses for another reason, is a defect of the document.
"""

import os
import pathlib
import random
import re
import subprocess
import unittest

import reader
from busclient import SOURCE, pb

BUILD = pathlib.Path(os.environ.get("TL_BUILD_DIR", SOURCE / "build"))
DOCUMENT = reader.DOCUMENT.read_text(encoding="utf-8")
GOLDEN = reader.read_golden()
SPOILS = 2000  # about
EITHER = {"newer-schema", "not-canonical"}  # of what stands twice, and is not known in one of them


def topic_of(data):
    envelope = pb.Envelope.FromString(data)
    kind = reader.HOMES[envelope.WhichOneof("body")]
    last = "engine-1/" if kind in ("receipt", "recorded") else ""
    return "%s/%s/%s" % (kind, envelope.node, last)


def ask_codec(cases):
    """What the codec says of each (topic, bytes)."""
    lines = "".join("%s %s\n" % (topic, data.hex()) for topic, data in cases)
    done = subprocess.run([str(BUILD / "tests" / "interop" / "interop_judge")], input=lines,
                          capture_output=True, text=True, check=True)
    return done.stdout.splitlines()


# ---- ways to spoil a message ----

def repack(fields):
    out = b""
    for number, wire, value in fields:
        out += reader.write_varint(number << 3 | wire)
        if wire == reader.VARINT:
            out += reader.write_varint(value)
        else:
            out += (reader.write_varint(len(value)) if wire == reader.LENGTH else b"") + value
    return out


def spots(descriptor, data, path=()):
    """Every message in it, as the places of the fields that lead there, with its descriptor."""
    found = [(path, descriptor)]
    for i, (number, wire, value) in enumerate(reader.read_fields(data)):
        field = descriptor.fields_by_number.get(number)
        if field is not None and field.message_type is not None:
            found += spots(field.message_type, value, path + (i,))
    return found


def change(data, path, edit):
    """The bytes with `edit` (a function of a list of fields) done to the message at that path."""
    fields = reader.read_fields(data)
    if path:
        number, wire, value = fields[path[0]]
        fields[path[0]] = (number, wire, change(value, path[1:], edit))
    else:
        fields = edit(fields)
    return repack(fields)


NUMBERS = [0, 1, 2, 7, 8, 9, 15, 16, 53, 74, 75, 108, 127, 128, 900, 901, 3599, 3600, 9999, 10000,
           20000, 20001, 200000, 200001, 1000000, 1000001, 2 ** 31, 2 ** 32 - 1, 2 ** 32, 2 ** 63,
           2 ** 64 - 1]
TEXTS = [b"", b"deck", b"-", b"a" * 15, b"a" * 16, b"a" * 23, b"a" * 24, b"A-1", b"\xc3\x28", b"\x1b[2J",
         "Åsa".encode(), "\u202e".encode(), b"x" * 47, b"x" * 48, b"a\0b", b"\xed\xa0\x80", b"1" * 8,
         b"1" * 17]


def legal_limits(descriptor, field, rng):
    """A number at a bound of the document, or one beyond it."""
    limit = reader.LIMITS[descriptor.name].get(field.name, reader.NO_LIMIT)
    kind = reader.TYPE[field.type]
    if kind == "enum":
        return rng.choice([v.number for v in field.enum_type.values] + NUMBERS)
    if limit.most is None or kind not in reader.WIDTH:
        return rng.choice(NUMBERS)
    value = rng.choice([limit.most, limit.most + 1, (limit.least or 0) - 1, limit.least or 0])
    if kind in ("sint32", "sint64"):
        return (value << 1 ^ value >> 63) & 2 ** 64 - 1
    return value & 2 ** 64 - 1


def new_value(descriptor, field, rng):
    kind = reader.TYPE[field.type]
    if kind in reader.WIDTH:
        return (field.number, reader.VARINT, legal_limits(descriptor, field, rng))
    if kind == "message":
        return (field.number, reader.LENGTH, rng.choice([b"", repack([(1, 0, 1)])]))
    return (field.number, reader.LENGTH, rng.choice(TEXTS))


def spoil(data, rng):
    """The vector with one thing other than it was, at a random depth."""
    path, descriptor = rng.choice(spots(pb.Envelope.DESCRIPTOR, data))

    def edit(fields):
        at = rng.randrange(len(fields)) if fields else 0
        how = rng.randrange(10)
        if how == 0 and fields:
            del fields[at]
        elif how == 1 and fields:
            fields.insert(at, fields[at])
        elif how == 2 and len(fields) > 1:
            fields[at - 1], fields[at] = fields[at], fields[at - 1]
        elif how == 3:
            fields.append((rng.choice([99, 300, 60]), 0, 5))
        elif how == 4 and fields:
            fields *= rng.choice([2, 5, 20])
            fields.sort(key=lambda f: f[0])
        elif how == 5:
            return []
        else:  # a field of the schema gets another value, in its place
            field = rng.choice(descriptor.fields)
            made = new_value(descriptor, field, rng)
            fields = [f for f in fields if f[0] != field.number] + [made]
            fields.sort(key=lambda f: f[0])
        return fields

    out = change(data, path, edit)
    if out and rng.random() < 0.05:
        out = out[:rng.randrange(1, len(out) + 1)]
    if out and rng.random() < 0.05:
        at = rng.randrange(len(out))
        out = out[:at] + bytes([rng.randrange(256)]) + out[at + 1:]
    return out


class Reader(unittest.TestCase):
    def agree(self, cases):
        """Both say the same of each; returns {reason: how many}."""
        counted, apart = {}, []
        for (topic, data), want in zip(cases, ask_codec(cases)):
            got = reader.judge(topic, data)
            counted[want] = counted.get(want, 0) + 1
            if got != want and {got, want} != EITHER:
                apart.append("%s: codec %s, document %s: %s" % (topic, want, got, data.hex()[:400]))
        self.assertEqual(len(apart), 0, "%d of %d:\n%s" % (len(apart), len(cases),
                                                           "\n".join(apart[:5])))
        return counted

    def test_golden_vectors_of_every_version_are_accepted_by_both(self):
        self.assertGreaterEqual(len(GOLDEN), 20)
        cases = [(topic_of(data), data) for data in GOLDEN.values()]
        self.assertEqual(self.agree(cases), {"accepted": len(cases)})

    def test_spoilt_vectors_get_the_same_answer_from_both(self):
        seed = int(os.environ.get("TL_SEED", random.randrange(2 ** 32)))
        print("seed %d" % seed, flush=True)
        rng = random.Random(seed)
        cases = []
        for data in GOLDEN.values():
            many = SPOILS // len(GOLDEN)
            # One thing of a large message is rarely met: they get more.
            cases += [(topic_of(data), spoil(data, rng)) for _ in range(many + len(data) // 4)]
        counted = self.agree(cases)
        print(sorted(counted.items()))
        for reason in ("accepted", "truncated", "newer-schema", "enum", "not-canonical", "utf8",
                       "control-bytes", "range", "missing", "empty", "too-many"):
            self.assertIn(reason, counted)

    def test_bounds_of_the_document_are_those_of_the_codec(self):
        """Each number with a bound, in each vector that has its message: at it, and one beyond."""
        cases, met = [], set()
        for data in GOLDEN.values():
            for path, descriptor in spots(pb.Envelope.DESCRIPTOR, data):
                for field in descriptor.fields:
                    limit = reader.LIMITS[descriptor.name].get(field.name)
                    kind = reader.TYPE[field.type]
                    if limit is None or limit.most is None or kind not in reader.WIDTH:
                        continue
                    met.add((descriptor.name, field.name))
                    for value in (limit.most, limit.most + 1, (limit.least or 1) - 1,
                                  limit.least or 0):
                        if kind in ("sint32", "sint64"):
                            value = (value << 1 ^ value >> 63) & 2 ** 64 - 1

                        def edit(fields, number=field.number, value=value):
                            rest = [f for f in fields if f[0] != number]
                            one = [(number, 0, value)] if value else []
                            return sorted(rest + one, key=lambda f: f[0])
                        cases.append((topic_of(data), change(data, path, edit)))
        self.agree(cases)
        bounded = {(m, f) for m, fields in reader.LIMITS.items() for f, limit in fields.items()
                   if limit.most is not None and limit.kind in (None,) and reader.TYPE[
                       pb.DESCRIPTOR.message_types_by_name[m].fields_by_name[f].type]
                   in reader.WIDTH}
        self.assertEqual(bounded - met, set(), "no golden vector has them")

    def test_every_message_of_the_schema_has_its_row_and_every_row_its_field(self):
        messages = pb.DESCRIPTOR.message_types_by_name
        self.assertEqual(set(reader.LIMITS), set(messages))
        for name, fields in reader.LIMITS.items():
            self.assertEqual(set(fields) - set(messages[name].fields_by_name), set(), name)
            for field in messages[name].fields:
                limit = fields.get(field.name, reader.NO_LIMIT)
                if field.label == field.LABEL_REPEATED:
                    self.assertGreater(limit.count, 1, "%s.%s: at most how many?" % (name, field.name))
                if reader.TYPE[field.type] == "string":
                    self.assertIn(limit.kind, ("id", "type", "text"), "%s.%s" % (name, field.name))


class Refusals(unittest.TestCase):
    def setUp(self):
        section = DOCUMENT.split("## 12. ")[1].split("\n## ")[0]
        self.rows = re.findall(r"(?m)^\| (\d+) \| ([a-z0-9-]+) \| ([^|]+) \| ([^|]+) \| ([^|]+) \|$",
                               section)

    def test_the_table_is_the_enum_of_the_schema(self):
        schema = {v.number: v.name[15:].lower().replace("_", "-")
                  for v in pb.RefusalReason.DESCRIPTOR.values}
        self.assertEqual({int(row[0]): row[1] for row in self.rows}, schema)

    def test_names_and_texts_are_those_of_the_programs(self):
        source = (SOURCE / "proto" / "vocab" / "refusal.c").read_text()
        words = re.findall(r'\{TL_REFUSAL_(\w+),\s*"([^"]+)",\s*"([^"]+)"\}', source)
        header = (SOURCE / "proto" / "vocab" / "message.h").read_text()
        numbers = dict(re.findall(r"TL_REFUSAL_(\w+) = (\d+)", header))
        self.assertEqual(sorted((int(numbers[w[0]]), w[1], w[2]) for w in words),
                         sorted((int(n), name, text) for n, name, text, _, _ in self.rows))
        self.assertEqual(len(words), len(numbers))

    def test_each_is_provoked_or_has_a_reason_why_not(self):
        import refusals
        self.assertEqual(set(refusals.PROVOKED) | set(refusals.NOT_FROM_OUTSIDE),
                         {row[1] for row in self.rows})
        self.assertEqual(set(refusals.PROVOKED) & set(refusals.NOT_FROM_OUTSIDE), set())
        for number, name, _, said, _ in self.rows:
            places = {place.split(" (")[0] for place in said.strip().split(", ")}
            self.assertEqual(places - {"-", "log"}, set(refusals.PROVOKED.get(name, ())), name)


if __name__ == "__main__":
    unittest.main(verbosity=2)
