# SPDX-License-Identifier: Apache-2.0
"""refusals - which refusal is provoked where, and the frames that provoke those of the encoding.

The names are those of docs/protocol.md, section 12; test_reader.py holds the two together, and
test_refusals.py provokes each of them against real programs, in each of its places.
"""

import reader
from busclient import datum, pb

# name: the places where it is said. "picture": as a note of every validator.
PROVOKED = {
    "frames": ("bus",), "no-topic": ("bus",), "oversize": ("bus",),
    "not-your-topic": ("bus", "picture"), "unknown-user": ("bus", "picture"),
    "revoked": ("bus", "picture"), "signature": ("picture",), "truncated": ("bus", "picture"),
    "newer-schema": ("picture",), "enum": ("picture",), "not-canonical": ("picture",),
    "utf8": ("picture",), "control-bytes": ("picture",), "range": ("picture",),
    "missing": ("picture",), "empty": ("bus", "picture"), "too-many": ("picture",),
    "not-your-kind": ("receipt", "picture"), "too-old": ("receipt",), "late": ("receipt",),
    "not-listed": ("receipt",), "not-current": ("receipt",), "other-body": ("picture",),
    "jump": ("picture",), "old-incarnation": ("receipt",), "rule-forces-foul": ("receipt",),
    "event-left": ("receipt",), "full": ("receipt",), "recovery-old": ("receipt",),
    "twin": ("picture",), "not-owner": ("receipt", "picture"), "not-lost": ("receipt",),
    "own-word": ("receipt",), "not-overridable": ("receipt",), "lower-count": ("receipt",),
}

NOT_FROM_OUTSIDE = {
    "unknown": "no refusal is told without its reason: it is what a zeroed field reads as",
}


def raw_field(number, value):
    if isinstance(value, bytes):
        return reader.write_varint(number << 3 | 2) + reader.write_varint(len(value)) + value
    return reader.write_varint(number << 3) + reader.write_varint(value)


def change_of(client, made):
    """An envelope with that word under a number far from any that counts."""
    envelope = client.envelope("change", 900)
    envelope.change.datum.CopyFrom(made)
    envelope.change.datum.sequence = 900
    return envelope.SerializeToString(deterministic=True)


def spoilt(client, event):
    """{name: envelope}: a change of that client, of an engine, whose bytes are at fault and nothing
    else."""
    name = datum("watch", name="QQ")
    whole = change_of(client, name)
    many = datum("set", event, weight_lb=34000)
    for _ in range(3):
        many.stated_for.add().CopyFrom(event)
    return {
        "truncated": whole[:-1],
        "newer-schema": whole + raw_field(99, 1),
        "enum": change_of(client, datum("battery", event, state=75)),
        "not-canonical": whole + raw_field(10, 0),
        "utf8": whole.replace(b"QQ", b"\xc3\x28"),
        "control-bytes": whole.replace(b"QQ", b"Q\x1b"),
        "range": change_of(client, datum("set", event, weight_lb=200001)),
        "missing": change_of(client, datum("deck", None, state=pb.DECK_STATE_FOUL)),
        "empty": change_of(client, datum("battery", event)),
        "too-many": change_of(client, many),
    }
