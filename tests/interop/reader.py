# SPDX-License-Identifier: Apache-2.0
"""reader - what a receiver owes each envelope, a second time: docs/protocol.md, section 11.

The ranges are read from the table of that section, so that what is checked is what an outsider
would check who has the document and the schema. The rules that no field shows alone are RULES
below. The wire is decoded by hand ("Protocol Buffers Encoding", protobuf.dev): a library hides what
has to be refused.

    judge(topic, envelope bytes) -> "accepted", or the name of the first fault ("range")
"""

import pathlib
import re

from busclient import SOURCE, pb

DOCUMENT = SOURCE / "docs" / "protocol.md"
KNOWN = 1                  # version of the schema
VARINT, FIXED64, LENGTH, FIXED32 = 0, 1, 2, 5
WIDTH = {"uint32": 32, "uint64": 64, "sint32": 32, "sint64": 64, "bool": 1, "enum": 32}
FIELD = pb.Datum.DESCRIPTOR.fields[0]
TYPE = {getattr(FIELD, n): n[5:].lower() for n in dir(FIELD) if n.startswith("TYPE_")}


class Fault(Exception):
    """The name of a refusal."""


# ---- the document ----

class Limit:
    """What the table says of one field."""

    def __init__(self, words):
        self.required = words[0].endswith("!")
        self.kind, self.least, self.most, self.count = None, None, None, 1
        for word in words[1:]:
            if re.fullmatch(r"\.\.\d+", word):
                self.most = int(word[2:])
            elif re.fullmatch(r"-?\d+\.\.-?\d+", word):
                self.least, self.most = (int(n) for n in word.split(".."))
            elif re.fullmatch(r"x\d+", word):
                self.count = int(word[1:])
            elif word.isdigit():
                self.least = self.most = int(word)
            else:
                self.kind = word


def read_limits(text):
    """{message: {field: Limit}}, and the messages that may be empty."""
    limits, may_be_empty = {}, set()
    section = text.split("## 11. ")[1].split("\n## ")[0]
    for name, empty, fields in re.findall(r"(?m)^\| `(\w+)`( may be empty)? \| ([^|]*) \|", section):
        limits[name] = {}
        may_be_empty |= {name} if empty else set()
        for part in fields.strip().split(", ") if fields.strip() else []:
            words = part.split()
            limits[name][words[0].rstrip("!")] = Limit(words)
    return limits, may_be_empty


def read_sizes(text):
    """{level 1 of a topic: bytes of the largest frame}"""
    rows = re.findall(r"(?m)^\| `(\w+)/<.*\| ([0-9,]+) \|$", text.split("## 2. ")[1])
    return {kind: int(size.replace(",", "")) for kind, size in rows}


TEXT = DOCUMENT.read_text(encoding="utf-8")
LIMITS, MAY_BE_EMPTY = read_limits(TEXT)
SIZES = read_sizes(TEXT)
NO_LIMIT = Limit(["-"])


# ---- the encoding ----

def read_varint(data, at, most=10):
    value = 0
    for i in range(most):
        if at + i >= len(data):
            raise Fault("truncated")
        value |= (data[at + i] & 0x7F) << (7 * i)
        if not data[at + i] & 0x80:
            return value, at + i + 1
    raise Fault("truncated")


def write_varint(value):
    out = bytearray()
    while value > 0x7F:
        out.append(value & 0x7F | 0x80)
        value >>= 7
    return bytes(out + bytes([value]))


def read_fields(data):
    """[(number, wire type, value)] as they stand."""
    at, out = 0, []
    while at < len(data):
        tag, at = read_varint(data, at, 5)
        number, wire = tag >> 3, tag & 7
        if number == 0:
            raise Fault("truncated")
        if wire == VARINT:
            value, at = read_varint(data, at)
        elif wire in (LENGTH, FIXED32, FIXED64):
            size = {FIXED32: 4, FIXED64: 8}.get(wire)
            if wire == LENGTH:
                size, at = read_varint(data, at)
            if size > len(data) - at:
                raise Fault("truncated")
            value, at = bytes(data[at:at + size]), at + size
        else:
            raise Fault("truncated")
        out.append((number, wire, value))
    return out


SEEN = {}  # (message, bytes): what a picture holds is mostly what the one before held


def message_of(descriptor, data):
    key = descriptor.name, data
    if key not in SEEN:
        if len(SEEN) > 20000:
            SEEN.clear()
        SEEN[key] = Message(descriptor, data)
    return SEEN[key]


class Message:
    """One decoded message: `has` holds {field name: list of values} of those that are set."""

    def __init__(self, descriptor, data):
        self.packed, self.fault = None, None
        self.name, self.descriptor, self.has = descriptor.name, descriptor, {}
        self.unknown, self.below, self.sent = False, [], []
        fields = descriptor.fields_by_number
        for number, wire, value in read_fields(data):
            field = fields.get(number)
            if field is None:
                self.unknown = True
                continue
            kind = TYPE[field.type]
            if kind == "bool" and wire != VARINT:
                value = 1  # it decodes; no encoding has it so
            elif wire != (VARINT if kind in WIDTH else LENGTH):
                raise Fault("truncated")
            if kind == "message":
                value = message_of(field.message_type, value)
                self.below.append(value)
            self.sent.append((field, value))
            if kind in ("sint32", "sint64"):
                bits = value & (1 << WIDTH[kind]) - 1
                value = bits >> 1 ^ -(bits & 1)
            if kind == "message" or value not in (0, b""):
                self.has.setdefault(field.name, []).append(value)

    def pack(self):
        """The one encoding: ascending, what is default left out, numbers in their width."""
        if self.packed is None:
            self.packed = self.pack_anew()
        return self.packed

    def pack_anew(self):
        out = b""
        for field, value in sorted(self.sent, key=lambda pair: pair[0].number):
            kind = TYPE[field.type]
            if kind in WIDTH:
                value = int(value != 0) if kind == "bool" else value & (1 << WIDTH[kind]) - 1
                if kind == "enum" and value >> 31:  # below 0: as wide as any number below 0
                    value |= ~0 << 32 & (1 << 64) - 1
                if value != 0:
                    out += write_varint(field.number << 3) + write_varint(value)
                continue
            raw = value.pack() if kind == "message" else value
            if kind == "string" and b"\0" in raw:
                raise Fault("not-canonical")
            if raw or kind == "message" or field.label == field.LABEL_REPEATED:
                out += write_varint(field.number << 3 | LENGTH) + write_varint(len(raw)) + raw
        return out

    def repeats(self):
        """A field twice that is there once, or two of a choice; here or below."""
        once = [field.containing_oneof or field for field, _ in self.sent
                if field.label != field.LABEL_REPEATED]
        return len(once) != len(set(o.full_name for o in once)) or any(
            m.repeats() for m in self.below)

    def newer(self):
        return self.unknown or any(m.newer() for m in self.below)

    def get(self, name, default=0):
        return self.has.get(name, [default])[-1]


# ---- the meaning ----

def check_text(raw):
    try:
        text = raw.decode("utf-8")
    except UnicodeDecodeError:
        raise Fault("utf8") from None
    for c in map(ord, text):
        if c < 0x20 or 0x7F <= c <= 0x9F or 0x2028 <= c <= 0x202E or 0x2066 <= c <= 0x2069:
            raise Fault("control-bytes")


ID = re.compile(rb"[a-z0-9]([a-z0-9-]{0,21}[a-z0-9])?")
AIRCRAFT = re.compile(rb"[a-z0-9-]{1,15}")
SERIAL = re.compile(rb"[A-Z][A-Z0-9-]{0,14}")


def check_value(field, limit, value):
    kind = TYPE[field.type]
    if kind == "message":
        check_message(value)
        if limit.most is not None and not limit.least <= value.get("value") <= limit.most:
            raise Fault("range")
    elif kind == "enum":
        if value not in field.enum_type.values_by_number:
            raise Fault("enum")
    elif kind == "string":
        check_text(value)
        fits = {"id": ID.fullmatch(value), "type": AIRCRAFT.fullmatch(value),
                "text": value and len(value) <= (limit.most or 0)}[limit.kind]
        if not fits:
            raise Fault("range")
    elif kind == "bytes":
        if not limit.least <= len(value) <= limit.most:
            raise Fault("range")
    elif limit.most is not None:
        if not (limit.least or 0) <= value <= limit.most:
            raise Fault("range")


def fields_of(descriptor):
    if descriptor.name not in FIELDS:
        limits = LIMITS[descriptor.name]
        FIELDS[descriptor.name] = [(f, limits.get(f.name, NO_LIMIT)) for f in sorted(
            descriptor.fields, key=lambda f: f.number)]
    return FIELDS[descriptor.name]


FIELDS = {}


def check_message(message):
    if message.fault is None:
        try:
            check_anew(message)
            message.fault = ""
        except Fault as fault:
            message.fault = str(fault)
    must(not message.fault, message.fault)


def check_anew(message):
    if not message.has and message.name not in MAY_BE_EMPTY:
        raise Fault("empty")
    for field, limit in fields_of(message.descriptor):
        values = message.has.get(field.name, [])
        if field.label == field.LABEL_REPEATED:
            values = [value for sent, value in message.sent if sent is field]
            if len(values) > limit.count:
                raise Fault("too-many")
        if not values and limit.required:
            raise Fault("missing")
        for value in values:
            check_value(field, limit, value)
    if message.name in RULES:
        RULES[message.name](message)


def must(holds, reason):
    if not holds:
        raise Fault(reason)


def part(has, owes):
    """Has it, exactly when it owes it."""
    must(has or not owes, "missing")
    must(owes or not has, "range")


def choice(message, oneof):
    """(name, value) of the one that is set, else (None, None)."""
    for field in message.descriptor.oneofs_by_name[oneof].fields:
        if field.name in message.has:
            return field.name, message.get(field.name)
    return None, None


def differ(entries, reason="too-many"):
    must(len(entries) == len(set(entries)), reason)


SLOTTED = {"order", "result", "repeater", "inbound", "rig", "sheave", "pendant", "track", "cable",
           "acknowledged", "override", "out_of_service", "freed", "signed_off", "inspected",
           "pendant_life"}


def kind_of(datum):
    name, value = choice(datum, "value")
    if name == "unknown":
        return pb.DatumKind.Name(value.get("kind"))[11:].lower()
    return name


def names_differ(data):
    differ([(kind_of(d), d.get("slot"), d.get("voice_for", b"")) for d in data])


def rule_datum(m):
    name, value = choice(m, "value")
    must(name, "missing")
    part(m.get("slot") != 0, kind_of(m) in SLOTTED)
    must(name != "inbound" or value.get("side") == m.get("slot"), "range")


def rule_deck(m):
    if m.get("state") == pb.DECK_STATE_FOUL:
        must(m.get("reason"), "missing")
    else:
        must(not (m.get("reason") or m.get("expect_s") or m.get("was_clear")), "range")


def rule_pendant(m):
    both = m.get("low_in_x100") and m.get("high_in_x100")
    must(m.get("state") != pb.PENDANT_STATE_GOOD or both, "missing")
    must(not both or m.get("low_in_x100") <= m.get("high_in_x100"), "range")


def serial_and_count(m):
    must(SERIAL.fullmatch(m.get("serial", b"A")), "range")
    if m.get("without"):
        last = m.get("last", None)
        must(last, "missing")
        must(last.get("pass") >= 32 or m.get("without") >> last.get("pass") == 0, "range")


def rule_cable(m):
    serial_and_count(m)
    must(m.get("detorqued_at") <= m.get("traps"), "range")


def rule_worn(m):
    must(m.get("wire") or m.get("engine"), "missing")
    must(not (m.get("wire") and (m.get("engine") or m.get("detorqued_at"))), "range")
    must(max(m.get("detorqued_at"), m.get("not_weighed")) <= m.get("traps"), "range")
    serial_and_count(m)


def rule_beat(m):
    must(m.get("oldest_held") <= m.get("last_change"), "range")
    must(all(d.get("sequence") <= m.get("last_change") for d in m.has.get("data", [])), "range")
    names_differ(m.has.get("data", []))


def rule_would(m):
    part(m.get("end_kt_x10") != 0, bool(m.get("bottoms") or m.get("parts")))


def rule_arrest(m):
    settings = [w.get("set_lb") for w in m.has.get("would", [])]
    for before, after in zip(settings, settings[1:]):
        must(before != after, "too-many")
        must(before < after, "range")


def rule_predicted(m):
    must("arrest" not in m.has or (m.get("type") and m.get("weight_lb")), "missing")
    must("ramp" not in m.has or m.get("type"), "missing")


def rule_verdict(m):
    must(not m.get("is_tick") or m.get("tick"), "missing")
    if m.get("word") == pb.VERDICT_WORD_READY:
        must("first" not in m.has and not m.get("cause_count") and not m.get("kind"), "range")
    else:
        must("first" not in m.has or "would" not in m.get("first").has, "range")
        must("first" in m.has and m.get("cause_count") and m.get("kind"), "missing")


def event_of(m):
    return m.get("event").get("recovery_ms"), m.get("event").get("pass")


def rule_picture(m):
    differ([s.get("node") for s in m.has.get("station", [])])
    differ([e.get("unit") for e in m.has.get("expected", [])])
    ended = [event_of(e) for e in m.has.get("ended", [])]
    must(all(a < b for a, b in zip(ended, ended[1:])), "range")


def rule_seen(m):
    refused = m.get("rule") in (26, 27)  # refused-publisher, other-body: docs/rules.md
    must(refused or m.get("node"), "missing")
    part(m.get("reason") != 0, refused)


def rule_outcome(m):
    ready, any_ = m.get("word") == pb.VERDICT_WORD_READY, m.get("cause_count") != 0
    must(any_ or ready, "missing")
    must(any_ or not m.get("station"), "range")
    part(m.get("rule") != 0, any_)


def rule_judged(m):
    kind = m.get("kind")
    refused = kind == pb.JUDGED_KIND_REFUSED
    predicted = kind == pb.JUDGED_KIND_PREDICTED
    part(m.get("reason") != 0, refused)
    part("predicted" in m.has, predicted)
    part("expected" in m.has, kind == pb.JUDGED_KIND_EXPECTED)
    part("seen" in m.has, kind == pb.JUDGED_KIND_SEEN)
    part("basis" in m.has, kind == pb.JUDGED_KIND_BASE)
    must(not m.get("said_age_ms") or refused or kind == pb.JUDGED_KIND_APPLIED, "range")
    must(not m.get("sea_late_ms") or predicted, "range")
    must(kind != pb.JUDGED_KIND_TIME or "outcome" in m.has, "missing")


def rule_recorded(m):
    differ([(w.get("wire"), w.get("engine")) for w in m.has.get("worn", []) if not w.get("removed")])


def rule_envelope(m):
    name, body = choice(m, "body")
    must(name, "missing")
    must(name in ("beat", "change") or ("echo" not in m.has and not m.get("settled")), "range")
    must(name == "change" or not m.get("said_age_ms"), "range")
    must(name != "beat" or m.get("settled") <= body.get("last_change"), "range")
    differ([e.get("validator") for e in m.has.get("echo", [])])
    if name == "change":
        datum = body.get("datum")
        must(datum.get("sequence") == m.get("sequence") and not datum.get("said_age_ms"), "range")
    if name == "verdict" and body.get("word") == pb.VERDICT_WORD_READY:
        must("event" in m.has, "missing")


def free(state):
    return lambda m: must(m.get("state") != state or not m.get("wire"), "range")


RULES = {
    "Envelope": rule_envelope, "Datum": rule_datum, "Deck": rule_deck, "Pendant": rule_pendant,
    "PassResult": lambda m: part(m.get("wire") != 0, m.get("outcome") == pb.PASS_OUTCOME_TRAP),
    "Free": free(pb.FREE_STATE_FREE), "Retract": free(pb.RETRACT_STATE_RETRACTED),
    "Aid": lambda m: must(m.get("state") != pb.AID_STATE_WORKING or m.get("type"), "missing"),
    "Fault": lambda m: part(m.get("code") != 0, m.get("state") == pb.FAULT_STATE_ACTIVE),
    "Cable": rule_cable, "PendantLife": serial_and_count, "Worn": rule_worn, "Beat": rule_beat,
    "Sample": lambda m: must(choice(m, "value")[0], "missing"),
    "Receipt": lambda m: must(not m.get("higher_incarnation") or
                              m.get("higher_incarnation") >= m.get("for_incarnation"), "range"),
    "Would": rule_would, "PredictedArrest": rule_arrest, "Predicted": rule_predicted,
    "Verdict": rule_verdict, "StationState": lambda m: names_differ(m.has.get("data", [])),
    "Picture": rule_picture, "Seen": rule_seen,
    "Base": lambda m: must(m.get("part") <= m.get("parts"), "range"),
    "Outcome": rule_outcome, "Judged": rule_judged, "Recorded": rule_recorded,
}

HOMES = {"beat": "beat", "change": "change", "receipt": "receipt", "verdict": "verdict",
         "picture": "picture", "alerts": "alert", "refusals": "bus", "judged": "judged",
         "recorded": "recorded", "counters": "bus"}


def decode(data):
    """The envelope; raises Fault with the first thing that is wrong with it."""
    message = Message(pb.Envelope.DESCRIPTOR, data)
    must(not message.newer(), "newer-schema")
    must(message.get("schema") <= KNOWN, "newer-schema")
    must(not message.repeats() and message.pack() == data, "not-canonical")
    check_message(message)
    return message


def judge(topic, data):
    levels = topic.split("/")
    try:
        must(len(topic) + 65 + len(data) <= SIZES[levels[0]], "oversize")
        must(data, "empty")
        message = decode(data)
        must(message.get("node") == levels[1].encode() and
             HOMES[choice(message, "body")[0]] == levels[0], "not-your-topic")
    except Fault as fault:
        return str(fault)
    return "accepted"


def read_golden():
    """{name: bytes} of every golden vector of every version."""
    paths = sorted((SOURCE / "tests" / "codec" / "golden").glob("v*/*.hex"))
    return {str(pathlib.Path(p.parent.name, p.stem)): bytes.fromhex(p.read_text())
            for p in paths if not p.name.endswith(".frame.hex")}
