#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""schema_gate.py - what was once on the wire keeps its number, name and type

    schema_gate.py check PROTOC ROOT        compare the schema with the frozen list
    schema_gate.py list PROTOC ROOT         print the list of the schema as it is
    schema_gate.py seal PROTOC ROOT         print the seals of each version
    schema_gate.py self-test PROTOC ROOT    each forbidden change is found

ROOT is the source tree: proto/schema/trapline.proto, TL_SCHEMA_VERSION of proto/vocab/message.h,
tests/codec/schema.lock and tests/codec/golden/vN.

schema.lock lists what each version of the schema has brought, under a line `version N`; the seals at
its end are a digest of those lines and one of the golden vectors of that version, so that neither
is edited. A new field or value goes under a new version, in the same change as into the schema. One
that is gone from the schema stays in the list, with "removed " before it, and its number and name
are `reserved` in the schema. Exit 0 nothing wrong, 1 something, said line by line.
"""
import hashlib
import pathlib
import re
import subprocess
import sys
import tempfile

from google.protobuf import descriptor_pb2

FIELD = descriptor_pb2.FieldDescriptorProto
REMOVED = "removed "


# ---- the schema as it is ----

def read_schema(protoc, text):
    """The one FileDescriptorProto of the text of a .proto file."""
    with tempfile.TemporaryDirectory() as folder:
        path, out = pathlib.Path(folder, "trapline.proto"), pathlib.Path(folder, "set")
        path.write_text(text, encoding="utf-8")
        subprocess.run([protoc, f"-I{folder}", f"--descriptor_set_out={out}", str(path)],
                       check=True)
        files = descriptor_pb2.FileDescriptorSet.FromString(out.read_bytes()).file
    assert len(files) == 1, "the schema is one file"
    return files[0]


def type_of(field, package):
    if field.type_name:
        return field.type_name.removeprefix(f".{package}.")
    return FIELD.Type.Name(field.type).removeprefix("TYPE_").lower()


def list_message(message, package):
    assert not message.nested_type and not message.enum_type, "no nested types"
    yield f"message {message.name}"
    for field in sorted(message.field, key=lambda f: f.number):
        line = f"field {message.name} {field.number} {field.name} {type_of(field, package)}"
        if field.label == FIELD.LABEL_REPEATED:
            line += " repeated"
        if field.HasField("oneof_index"):
            line += f" oneof {message.oneof_decl[field.oneof_index].name}"
        yield line


def list_enum(enum):
    yield f"enum {enum.name}"
    for value in enum.value:
        yield f"value {enum.name} {value.number} {value.name}"


def list_schema(file):
    yield f"package {file.package} {file.syntax}"
    for message in file.message_type:
        yield from list_message(message, file.package)
    for enum in file.enum_type:
        yield from list_enum(enum)


def is_reserved(file, line):
    """True when the number and the name of a removed field or value are both reserved."""
    kind, owner, number, name = line.split()[:4]
    owners = file.message_type if kind == "field" else file.enum_type
    for entry in owners:
        if entry.name == owner:
            # Ranges of messages end before their last number, those of enums with it.
            more = 0 if kind == "field" else 1
            return name in entry.reserved_name and any(
                r.start <= int(number) < r.end + more for r in entry.reserved_range)
    return False


# ---- the frozen list ----

def sealed(text):
    return hashlib.sha256(text.encode()).hexdigest()[:32]


class Lock:
    """The lines of each version, and the seals."""

    def __init__(self, text):
        self.versions, self.seals, self.golden = [], {}, {}
        for line in text.splitlines():
            word = line.split()
            if not word or line.startswith("#"):
                continue
            if word[0] == "version":
                self.versions.append([])
                assert int(word[1]) == len(self.versions), "versions count up from 1"
            elif word[0] == "seal":
                self.seals[int(word[1])] = word[2]
            elif word[0] == "golden":
                self.golden[int(word[1])] = word[2]
            else:
                self.versions[-1].append(line)

    def lines(self):
        return [line for version in self.versions for line in version]

    def seal(self, version):
        """Over the lines of that version, whether they were removed later or not."""
        return sealed("".join(line.removeprefix(REMOVED) + "\n"
                              for line in self.versions[version - 1]))


def seal_of_golden(root, version):
    """Over names and content of the vectors of a version; None when there is none."""
    paths = sorted((root / "tests" / "codec" / "golden" / f"v{version}").glob("*"))
    text = "".join(f"{path.name}\n{path.read_text(encoding='utf-8')}" for path in paths)
    return sealed(text) if paths else None


# ---- what is wrong ----

def say_change(line, listed):
    """One sentence on a frozen line that the schema has no more as it was."""
    kind, owner, *rest = line.split()
    if kind == "package":
        return f"package changed: it was '{owner}', and nobody of before reads another"
    if not rest:
        return f"{kind} {owner} is gone: what was on the wire stays in the schema"
    number, name, *shape = rest
    same = [l.split() for l in listed if l.startswith(f"{kind} {owner} ")]
    by_name = [word for word in same if word[3] == name]
    by_number = [word for word in same if word[2] == number]
    if by_name and by_name[0][2] != number:
        return f"renumbered: {owner}.{name} was {number} and is {by_name[0][2]}"
    if by_name:
        return (f"retyped: {owner}.{name} ({number}) was '{' '.join(shape)}' and is "
                f"'{' '.join(by_name[0][4:])}'")
    if by_number:
        return f"number used again: {number} of {owner} was {name} and is {by_number[0][3]}"
    return (f"removed: {owner}.{name} ({number}); reserve its number and name, and write "
            f"'{REMOVED.strip()}' before its line in schema.lock")


def say_addition(line, frozen, version):
    kind, owner, *rest = line.split()
    if rest and kind != "package":
        number, name = rest[:2]
        for old in frozen:
            word = old.removeprefix(REMOVED).split()
            if word[:2] == [kind, owner] and len(word) > 3 and number in word[2:3]:
                return None  # said as what it was
            if word[:2] == [kind, owner] and len(word) > 3 and name == word[3]:
                return None
    return (f"added: '{line}' is not in schema.lock; put it under 'version {version + 1}' there and "
            f"raise TL_SCHEMA_VERSION to {version + 1}")


def compare(file, lock):
    found = []
    listed, frozen = list(list_schema(file)), lock.lines()
    for line in frozen:
        if line.startswith(REMOVED):
            if not is_reserved(file, line.removeprefix(REMOVED)):
                found.append(f"not reserved, number and name: {line.removeprefix(REMOVED)}")
        elif line not in listed:
            found.append(say_change(line, listed))
    for line in listed:
        if line not in frozen and not line.startswith("package "):
            said = say_addition(line, frozen, len(lock.versions))
            found += [said] if said else []
    return found


def check_versions(lock, version, goldens):
    """`goldens`: the seal of each version's folder of golden vectors, or None."""
    found = []
    if version != len(lock.versions):
        found.append(f"TL_SCHEMA_VERSION is {version}, schema.lock ends with version "
                     f"{len(lock.versions)}: they rise together")
    for number in range(1, len(lock.versions) + 1):
        if lock.seals.get(number) != lock.seal(number):
            found.append(f"the lines of version {number} in schema.lock are not as they were sealed: "
                         f"what a version has brought is never edited")
        if goldens.get(number) is None:
            found.append(f"no golden vectors of version {number}: tests/codec/golden/v{number}")
        elif lock.golden.get(number) != goldens[number]:
            found.append(f"the golden vectors of version {number} are not as they were sealed: they "
                         f"are what a program of that version sends")
    return found


def check(protoc, root, lock):
    text = (root / "proto" / "schema" / "trapline.proto").read_text(encoding="utf-8")
    header = (root / "proto" / "vocab" / "message.h").read_text(encoding="utf-8")
    version = int(re.search(r"#define TL_SCHEMA_VERSION (\d+)u", header).group(1))
    goldens = {n + 1: seal_of_golden(root, n + 1) for n in range(len(lock.versions))}
    return compare(read_schema(protoc, text), lock) + check_versions(lock, version, goldens)


# ---- each forbidden change is found ----

WALL = "uint64 wall_ms = 8;"
# name, text to replace, text in its place, beginnings of the only sentences
SEEDS = (
    ("renumbered", WALL, "uint64 wall_ms = 11;", ["renumbered: Envelope.wall_ms was 8 and is 11"]),
    ("renamed", WALL, "uint64 wall = 8;", ["number used again: 8 of Envelope was wall_ms"]),
    ("number to another", "uint64 settled = 9;", "reserved 9; reserved \"settled\"; uint64 other = 12;",
     ["removed: Envelope.settled (9)", "added: 'field Envelope 12 other uint64'"]),
    ("another type", WALL, "uint32 wall_ms = 8;",
     ["retyped: Envelope.wall_ms (8) was 'uint64' and is 'uint32'"]),
    ("removed", WALL, "", ["removed: Envelope.wall_ms (8); reserve"]),
    ("removed and reserved, the lock not", WALL, "reserved 8; reserved \"wall_ms\";",
     ["removed: Envelope.wall_ms (8)"]),
    ("made repeated", WALL, "repeated uint64 wall_ms = 8;",
     ["retyped: Envelope.wall_ms (8) was 'uint64' and is 'uint64 repeated'"]),
    ("out of its oneof", "{ oneof what { Datum datum = 1; } }", "{ Datum datum = 1; }",
     ["retyped: Change.datum (1) was 'Datum oneof what' and is 'Datum'"]),
    ("added", WALL, WALL + " uint64 extra = 11;",
     ["added: 'field Envelope 11 extra uint64' is not in schema.lock; put it under 'version 2'"]),
    ("value renumbered", "DECK_STATE_FOUL = 74;", "DECK_STATE_FOUL = 75;",
     ["renumbered: DeckState.DECK_STATE_FOUL was 74 and is 75"]),
    ("value renamed", "DECK_STATE_FOUL = 74;", "DECK_STATE_FOULED = 74;",
     ["number used again: 74 of DeckState was DECK_STATE_FOUL and is DECK_STATE_FOULED"]),
    ("value removed", "DECK_STATE_NO_FOUL = 108;", "", ["removed: DeckState.DECK_STATE_NO_FOUL"]),
    ("value added", "DECK_STATE_FOUL = 74;", "DECK_STATE_FOUL = 74; DECK_STATE_WET = 86;",
     ["added: 'value DeckState 86 DECK_STATE_WET'"]),
    ("another package", "package trapline.v1;", "package trapline.v2;", ["package changed"]),
)


def judge_seed(name, found, words):
    if len(found) != len(words) or any(not f.startswith(w) for w, f in zip(words, found)):
        return [f"'{name}' should give {words}, gave {found}"]
    return []


def test_removal(protoc, text, lock_text):
    """The one way to take a field or a value out."""
    wrong = []
    rows = (("a field", "field Envelope 8 wall_ms uint64", WALL,
             "reserved 8; reserved \"wall_ms\";", []),
            ("only its number", "field Envelope 8 wall_ms uint64", WALL, "reserved 8;",
             ["not reserved"]),
            ("its number for another", "field Envelope 8 wall_ms uint64", WALL,
             "reserved \"wall_ms\"; uint64 other = 8;", ["not reserved"]),
            ("a value", "value DeckState 108 DECK_STATE_NO_FOUL", "DECK_STATE_NO_FOUL = 108;",
             "reserved 108; reserved \"DECK_STATE_NO_FOUL\";", []))
    for name, line, old, new, words in rows:
        lock = Lock(lock_text.replace(line + "\n", REMOVED + line + "\n"))
        found = compare(read_schema(protoc, text.replace(old, new)), lock)
        wrong += judge_seed("removed: " + name, found, words)
        wrong += judge_seed("sealed: " + name,
                            [] if lock.seal(1) == lock.seals[1] else ["other seal"], [])
    return wrong


def test_versions(protoc, text, lock_text):
    """A second version, made as it should be, and each thing forgotten."""
    line = "field Envelope 11 extra uint64"
    second = lock_text + f"version 2\n{line}\nseal 2 {sealed(line + chr(10))}\ngolden 2 g2\n"
    schema = read_schema(protoc, text.replace(WALL, WALL + " uint64 extra = 11;"))
    lock, old = Lock(second), Lock(lock_text)
    goldens = {1: old.golden[1], 2: "g2"}
    rows = (("as it should be", compare(schema, lock) + check_versions(lock, 2, goldens), []),
            ("the number not raised", check_versions(lock, 1, goldens), ["TL_SCHEMA_VERSION is 1"]),
            ("no vectors", check_versions(lock, 2, {1: old.golden[1]}), ["no golden vectors"]),
            ("vectors edited", check_versions(old, 1, {1: "x"}), ["the golden vectors of version 1"]),
            ("a line put into version 1",
             check_versions(Lock(lock_text.replace("message Event\n", line + "\nmessage Event\n")), 1,
                            goldens), ["the lines of version 1"]))
    return [w for name, found, words in rows for w in judge_seed("version: " + name, found, words)]


def self_test(protoc, root, lock_text):
    wrong = []
    text = (root / "proto" / "schema" / "trapline.proto").read_text(encoding="utf-8")
    for name, old, new, words in SEEDS:
        assert text.count(old) == 1, f"'{name}': {old} is not once in the schema"
        found = compare(read_schema(protoc, text.replace(old, new)), Lock(lock_text))
        wrong += judge_seed(name, found, words)
    return wrong + test_removal(protoc, text, lock_text) + test_versions(protoc, text, lock_text)


def main():
    command, protoc, root = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
    text = (root / "proto" / "schema" / "trapline.proto").read_text(encoding="utf-8")
    lock_text = (root / "tests" / "codec" / "schema.lock").read_text(encoding="utf-8")
    lock = Lock(lock_text)
    if command == "list":
        print("\n".join(list_schema(read_schema(protoc, text))))
        return 0
    if command == "seal":
        for number in range(1, len(lock.versions) + 1):
            print(f"seal {number} {lock.seal(number)}")
            print(f"golden {number} {seal_of_golden(root, number)}")
        return 0
    found = check(protoc, root, lock) if command == "check" else self_test(protoc, root, lock_text)
    for line in found:
        print(line)
    print(f"{command}: {len(found)} violations")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
