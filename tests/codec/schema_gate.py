#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""schema_gate.py - what was once on the wire keeps its number, name and type

    schema_gate.py check PROTOC SCHEMA LOCK      compare the schema with the frozen list
    schema_gate.py list PROTOC SCHEMA            print the list of the schema as it is
    schema_gate.py self-test PROTOC SCHEMA LOCK  each forbidden change is found

A new field or value is added to schema.lock in the same change as to the schema; lines there are
never edited. One that is gone from the schema stays, with "removed " before it, and its number and
name are `reserved` there. Exit 0 nothing wrong, 1 something, said line by line.
"""
import pathlib
import subprocess
import sys
import tempfile

from google.protobuf import descriptor_pb2

FIELD = descriptor_pb2.FieldDescriptorProto
REMOVED = "removed "


def read_schema(protoc, schema):
    """The one FileDescriptorProto of a .proto file."""
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder, "set")
        subprocess.run([protoc, f"-I{schema.parent}", f"--descriptor_set_out={out}", str(schema)],
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


def compare(file, lock_lines):
    found = []
    listed = list(list_schema(file))
    frozen = [line for line in lock_lines if line and not line.startswith("#")]
    for line in frozen:
        if line.startswith(REMOVED):
            if not is_reserved(file, line.removeprefix(REMOVED)):
                found.append(f"not reserved, number and name: {line.removeprefix(REMOVED)}")
        elif line not in listed:
            found.append(f"gone or changed: {line}")
    for line in listed:
        if line not in frozen:
            found.append(f"not in schema.lock: {line}")
    return found


# name, text to replace, text in its place, words of the only new violations
SEEDS = (
    ("renumbered", "uint64 wall_ms = 8;", "uint64 wall_ms = 11;",
     ["gone or changed: field Envelope 8", "not in schema.lock: field Envelope 11"]),
    ("renamed", "uint64 wall_ms = 8;", "uint64 wall = 8;",
     ["gone or changed: field Envelope 8", "not in schema.lock: field Envelope 8 wall"]),
    ("another type", "uint64 wall_ms = 8;", "uint32 wall_ms = 8;",
     ["gone or changed: field Envelope 8", "not in schema.lock: field Envelope 8"]),
    ("removed", "  uint64 wall_ms = 8;", "",
     ["gone or changed: field Envelope 8"]),
    ("removed and reserved, the lock not", "  uint64 wall_ms = 8;",
     "  reserved 8; reserved \"wall_ms\";", ["gone or changed: field Envelope 8"]),
    ("made repeated", "uint64 wall_ms = 8;", "repeated uint64 wall_ms = 8;",
     ["gone or changed: field Envelope 8", "not in schema.lock: field Envelope 8"]),
    ("out of its oneof", "{ oneof what { Datum datum = 1; } }", "{ Datum datum = 1; }",
     ["gone or changed: field Change 1", "not in schema.lock: field Change 1"]),
    ("added", "uint64 wall_ms = 8;", "uint64 wall_ms = 8; uint64 extra = 11;",
     ["not in schema.lock: field Envelope 11 extra"]),
    ("value renumbered", "DECK_STATE_FOUL = 74;", "DECK_STATE_FOUL = 75;",
     ["gone or changed: value DeckState 74", "not in schema.lock: value DeckState 75"]),
    ("another package", "package trapline.v1;", "package trapline.v2;",
     ["gone or changed: package trapline.v1", "not in schema.lock: package trapline.v2"]),
)


def compare_text(protoc, text, lock_lines):
    with tempfile.TemporaryDirectory() as folder:
        path = pathlib.Path(folder, "trapline.proto")
        path.write_text(text, encoding="utf-8")
        return compare(read_schema(protoc, path), lock_lines)


def judge_seed(name, found, words):
    if len(found) != len(words) or any(w not in f for w, f in zip(words, found)):
        return [f"'{name}' should give {words}, gave {found}"]
    return []


def self_test(protoc, schema, lock_lines):
    wrong = []
    text = schema.read_text(encoding="utf-8")
    for name, old, new, words in SEEDS:
        assert text.count(old) == 1, f"'{name}': {old} is not once in the schema"
        wrong += judge_seed(name, compare_text(protoc, text.replace(old, new), lock_lines), words)
    # The one way to take a field out.
    line = "field Envelope 8 wall_ms uint64"
    marked = [REMOVED + line if entry == line else entry for entry in lock_lines]
    reserved = text.replace("uint64 wall_ms = 8;", "reserved 8; reserved \"wall_ms\";")
    wrong += judge_seed("removed as it should be", compare_text(protoc, reserved, marked), [])
    half = text.replace("uint64 wall_ms = 8;", "reserved 8;")
    wrong += judge_seed("only its number", compare_text(protoc, half, marked), ["not reserved"])
    line = "value DeckState 108 DECK_STATE_NO_FOUL"
    marked = [REMOVED + line if entry == line else entry for entry in lock_lines]
    reserved = text.replace("DECK_STATE_NO_FOUL = 108;",
                            "reserved 108; reserved \"DECK_STATE_NO_FOUL\";")
    wrong += judge_seed("a value, as it should be", compare_text(protoc, reserved, marked), [])
    return wrong


def main():
    command, protoc, schema = sys.argv[1], sys.argv[2], pathlib.Path(sys.argv[3])
    if command == "list":
        print("\n".join(list_schema(read_schema(protoc, schema))))
        return 0
    lock_lines = pathlib.Path(sys.argv[4]).read_text(encoding="utf-8").splitlines()
    if command == "check":
        found = compare(read_schema(protoc, schema), lock_lines)
    else:
        found = self_test(protoc, schema, lock_lines)
    for line in found:
        print(line)
    print(f"{command}: {len(found)} violations")
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
