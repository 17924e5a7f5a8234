# SPDX-License-Identifier: Apache-2.0
"""seeds - the inputs that the targets of this folder begin with

Made anew for each run: from the golden vectors, the files of configs/demo, the command tables of the
stations, a record that tests/logbook writes, and what is kept as found/TARGET/NAME.hex. What the
first bytes of an input mean is said on top of each target_*.c.
"""
import hashlib
import os
import pathlib
import re
import sys

import nacl.signing

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
GOLDEN = ROOT / "tests" / "codec" / "golden"
DEMO = ROOT / "configs" / "demo"

TOPICS = {"beat": "beat", "change": "change", "receipt": "receipt", "verdict": "verdict",
          "picture": "picture", "alerts": "alert", "refusals": "bus", "judged": "judged",
          "recorded": "recorded", "counters": "bus"}
ADDRESSED = ("receipt", "recorded")

STATIONS = 15  # of tests/support/ship.c, and more: they are taken modulo
ROOMS = 12
LINES = """set 34000|set 40,000 for 3|same|battery in|battery out|accumulator 405|gap 2.75
fluid battery|fluid low|fault none|fault 7|service in|service out 1234|arrest 95.0 2.0 0.5 0 for 1
withdraw set|withdraw battery|withdraw deck|foul|foul person 12|foul wire|clear|no foul|stop
inbound 204 plover 33500 4000|low 204|trouble 204 hook|divert 204|gone 204|call 204 plover 4000
hook down|hook not down|wave-off|trap 3|trap 3 for 3|bolter|open|open drill|resume|close
order 207 plover 34000|order 207 plover 34000 barricade|again 204|take 311|cancel 311
repeaters 34000|repeater 3 34000|wind 27.5 -3.0|wind off|reset|free|held 3|retracted|retracting
rig all|strip 4|sheave all up|sheave 2 down|bypass 2 on|pendant all good 2.5 5.0|pendant 1 worn
stanchions lowered|stanchions moving|secured|track 1 open|track 2 secured|aid plover 3.5 3
target 2|fault|barricade rigged|barricade ready used|power 1500 4|cable 1 700 500 C-17
cable-new 2 C-18 0|detorqued 1|pendant-life 1 55 P-3|pendant-new 2 P-9|from-record|wear
inspected 1 good Rowan|signed 1 1234 Hazel|freed 1 Alder|ack|ack 1|watch Rowan|relieve Hazel
voice engine-2 set 34000|voice engine-2 as-before|agree engine-2|agree override|unsign out
override detorque-overdue gear-officer 5 last pass|status|mine|alerts|groove|help|confirm|quit
# a comment||order 204 plover 4294967296|set -1|set 0x10|set 900000|accumulator 900000|fault 99999
foul person 99999|arrest 9999 999 999 999 for 1|power 99999 99999|cable 1 9999999 9999999 C-1
pendant all good 99.99 99.99|gap 99.99|aid plover 99.99 9|wind 999.9 -999.9|foul \x1b[2J|watch """ + "x" * 90

SENTENCES = """$WIMWV,352.0,R,27.0,N,A|$WIMWV,214.8,T,0.1,K,A|$HEHDT,090.0,T|$GPTHS,338.01,A
$GPVTG,220.86,T,,M,2.550,N,4.724,K,A|$VWVHW,090.0,T,,M,12.0,N,22.2,K|$HEROT,-12.5,A
$IIXDR,A,1.0,D,PTCH,A,-2.5,D,ROLL,D,0.8,M,HEAV|$WIMWV,,R,,N,V|$GPGGA,1,2,3|$PXYZ,1|$WIMWV,1,R,1,N,A
!AIVDM,1,1,,A,13u,0|$WIMWV,999.9,R,999.9,N,A"""
DIALS = """repeater-3 34000 lb|accumulator 405 psi|crosshead-gap 6.50 in|battery in -|battery out -
sheave-3 up -|sheave-1 down -|stanchion-pressure 1500 psi|# a comment||two words
repeater-3 99999999999999999999 lb|valve 2.05 -"""

QUESTIONS = 18  # of target_record.c
SQL = [
    "INSERT INTO change SELECT NULL, node || char(27,91,50,74), incarnation, sequence, wall_ms,"
    " event_recovery_ms, event_pass, kind, slot, voice_for, known, stated_for, word, number, side,"
    " type, weight_lb, fuel_lb, state, outcome, wire, frame, hash FROM change",
    "ALTER TABLE change RENAME TO was\nCREATE VIEW change AS SELECT * FROM was",
    "ALTER TABLE change RENAME TO was\nCREATE VIEW change AS WITH RECURSIVE n(x) AS (SELECT 1 UNION"
    " ALL SELECT x + 1 FROM n) SELECT was.* FROM was, n",
    "ALTER TABLE verdict RENAME COLUMN text TO \"\x1b[2Jtext\"",
    "DROP TABLE alert\nCREATE VIEW alert AS SELECT * FROM \"\x1b]0;owned\x07\"",
    "DROP TABLE judged", "PRAGMA user_version = 4", "PRAGMA user_version = 1",
    "PRAGMA user_version = -1", "UPDATE change SET id = -id", "UPDATE change SET word = word || word",
    "UPDATE change SET word = CAST(zeroblob(100000) AS TEXT)",
    "UPDATE verdict SET wall_ms = 9223372036854775807",
    "UPDATE change SET event_recovery_ms = -1, event_pass = 4294967296",
    "CREATE TRIGGER t AFTER INSERT ON change BEGIN DELETE FROM change; END",
    "PRAGMA writable_schema = 1\nUPDATE sqlite_schema SET rootpage = 2\nPRAGMA writable_schema = 0",
    "PRAGMA writable_schema = 1\nUPDATE sqlite_schema SET sql = 'CREATE TABLE \x1b[2J(' WHERE name ="
    " 'gap'",
]


def spread(text):
    """The lines of one of the texts above."""
    return [line for row in text.split("\n") for line in row.split("|")]


def frames():
    """Golden envelopes of every version of the schema on their topics; the signature is not looked at
    by what reads them."""
    made = {}
    for path in sorted(GOLDEN.glob("v*/*.txtpb")):
        text = path.read_text()
        node = re.search(r'^node: "([^"]+)"', text, re.M)[1]
        body = next(word for word in TOPICS if re.search(r"^%s\b" % word, text, re.M))
        topic = "%s/%s/" % (TOPICS[body], node) + ("engine-1/" if body in ADDRESSED else "")
        made["%s-%s" % (path.parent.name, path.stem)] = topic.encode() + bytes(65) + bytes.fromhex(
            path.with_suffix(".hex").read_text())
    assert made, "no golden vectors below %s" % GOLDEN
    return made


# By the type of a field (google/protobuf/descriptor.proto): what it is set to, to see who minds.
UINT64, BOOL, STRING, UINT32, ENUM, SINT32, SINT64 = 4, 8, 9, 13, 14, 17, 18
EDGES = {UINT32: [1, 10000, 0xFFFFFFFF], UINT64: [1, 1 << 63, (1 << 64) - 1], BOOL: [True],
         SINT32: [-1, 4000000, -(1 << 31)], SINT64: [-1, 1 << 62], ENUM: [1, 75],
         STRING: ["x", "\u009b31m", "a" * 300]}


def variants(whole, message):
    """The whole envelope again and again, each time one field below that message otherwise."""
    for field, value in list(message.ListFields()):
        if field.type == field.TYPE_MESSAGE:
            for part in value if field.label == field.LABEL_REPEATED else [value]:
                yield from variants(whole, part)
        elif field.label != field.LABEL_REPEATED:
            for edge in EDGES.get(field.type, []):
                setattr(message, field.name, edge)
                yield whole.SerializeToString(deterministic=True)
                setattr(message, field.name, value)


def frames_and_edges():
    """The golden frames, and each with one field at an edge of its type."""
    sys.path.insert(0, str(ROOT / "tests" / "interop"))
    from busclient import pb
    made = {}
    for name, frame in frames().items():
        made[name] = frame
        head, _, rest = frame.partition(b"\0")
        envelope = pb.Envelope.FromString(rest[64:])
        for number, data in enumerate(variants(envelope, envelope)):
            made["%s-%d" % (name, number)] = head + bytes(65) + data
    return made


def judge():
    """Golden messages one behind the other: each twice, all, all backwards."""
    def message(after, frame):
        text = frame.replace(bytes(65), b"\0", 1)
        return bytes([after]) + len(text).to_bytes(2, "big") + text

    golden = frames()
    made = {name: message(5, frame) + message(30, frame) for name, frame in golden.items()}
    made["all"] = b"".join(message(7, frame) for frame in golden.values())
    made["back"] = b"".join(message(40, golden[name]) for name in sorted(golden, reverse=True))
    return made


def zap():
    """Requests as RFC 27 has them, and beside it."""
    def of(*parts):
        return b"".join(bytes([len(part)]) + part for part in parts)

    head = (b"1.0", b"id-1", b"bus", b"10.0.0.9", b"", b"CURVE")
    keys = [b"\0" + bytes([n]) + bytes(30) for n in range(24)]
    made = {"key-%d" % n: of(*head, key) for n, key in enumerate(keys)}
    made["stranger"] = of(*head, b"\x07" * 32)
    made.update({"cut-%d" % n: of(*head[:n]) for n in range(1, 7)})
    made["more"] = of(*head, keys[0], b"more")
    made["long"] = of(*head[:3], b"L" * 255, *head[4:], keys[0])
    made["escape"] = of(*head[:3], b"\x1b[2J\x9b", *head[4:], b"\x07" * 32)
    made["plain"] = of(*head[:5], b"PLAIN", b"name", b"word")
    made["other"] = of(b"1.1", *head[1:], keys[0])
    return made


def relay():
    """Frames and subscriptions, of rows of the table and of nobody."""
    made = {}
    for name, frame in frames().items():
        for user in range(0, 64, 5):
            made["%s-%d" % (name, user)] = bytes([user, 1]) + frame[:200]
    made["more"] = b"\0\x07" + b"beat/deck/\0" + bytes(80)
    made["subscribe"] = b"\0\0\x01beat/"
    made["unsubscribe"] = b"\0\0\0beat/"
    made["publish"] = b"\0\0beat/deck/\0" + bytes(80)
    return made


def conf():
    """The demo's files, and keys for its nodes."""
    names = ["ship.yaml", "gear.yaml", "aircraft.yaml", "stations.yaml", "bus.yaml"]
    made = {name: bytes([n]) + (DEMO / name).read_bytes() for n, name in enumerate(names)}
    made.update({"twice-" + name: bytes([132 + n]) + made[name][1:] for n, name in enumerate(names)})
    nodes = re.findall(r"\{id: ([a-z0-9-]+)", (DEMO / "stations.yaml").read_text())
    rows = ["  - {node: %s, epoch: 1, identity: %s, revoked: false}\n" % (
        node, nacl.signing.SigningKey(bytes([n + 1]) * 32).verify_key.encode().hex())
        for n, node in enumerate(nodes)]
    made["keys.yaml"] = b"\x05keys:\n" + "".join(rows).encode()
    made["revoked.yaml"] = made["keys.yaml"].replace(b"false", b"true", 1)
    return made


def secret():
    """A secret key, in both cases, and a saved incarnation; of target_secret.c's node."""
    head = b"\0trapline-secret-key 1 engine-3 2\n"
    line = b"trapline-incarnation 1 engine-3 1785000000123 "
    last = b"trapline-incarnation 1 engine-3 9223372036854775806 "
    made = {"key": head + b"ab" * 32 + b"\n", "capitals": head + b"AB" * 32 + b"\n",
            "other": head + b"cd" * 32 + b"\n"}
    for name, text in (("number", line), ("last", last)):
        check = hashlib.blake2b(text, digest_size=16).digest()[:8].hex().encode()
        made[name] = b"\x01" + text + check + b"\n"
    return made


def line():
    """Each station with every command, ten at a time, knowing nothing and knowing all."""
    lines = spread(LINES)
    made = {}
    for station in range(STATIONS):
        for first in range(0, len(lines), 10):
            words = "\n".join(lines[first:first + 10]).encode()
            made["%d-%d" % (station, first)] = bytes([station, 1]) + words
        made["%d-early" % station] = bytes([station, 0]) + b"foul\nset 34000\nstop\nstatus"
    return made


def keys():
    """Reads: after so many times 10 ms, what the page does, how many bytes, the bytes."""
    def read(after, page, text):
        return bytes([after, page, len(text)]) + text

    made = {}
    typed = b"".join(read(20, 3, bytes([key])) for key in b"s34000\r")
    for after in (0, 1, 5, 19, 20, 30, 39, 40, 41):
        made["0-read-%d" % after] = b"\0" + typed + read(1, 1, b"") + read(after, 1, b"y")
    made["0-long"] = b"\0" + read(20, 3, b"s") + read(20, 3, b"1234") * 90 + read(20, 3, b"\r")
    for room in range(ROOMS):
        made["%d-line" % room] = bytes([room]) + typed + read(50, 1, b"") + read(60, 1, b"y")
        made["%d-each" % room] = bytes([room]) + b"".join(
            read(60, 3, bytes([key])) + read(90, 1, b"y") for key in b"smbpgrcfkitldohtu?anq ")
        made["%d-safe" % room] = bytes([room]) + read(9, 3, b"\t") + read(80, 3, b"abc\tdefgh") + \
            read(3, 3, b"\t\t") + read(90, 1, b"\x1b[Z\t") + read(90, 7, b"\x1bOP\x1b[1;5")
    return made


def summed(text):
    check = 0
    for byte in text[1:].encode():
        check ^= byte
    return ("%s*%02X\r\n" % (text, check)).encode()


def nmea():
    """Sentences of every form, in TAG blocks and without."""
    sentences = [summed(text) for text in spread(SENTENCES)]
    tag = "s:mast-1"
    check = 0
    for byte in tag.encode():
        check ^= byte
    block = ("\\%s*%02X\\" % (tag, check)).encode()
    made = {"%02d" % n: text for n, text in enumerate(sentences)}
    made["all"] = b"".join(sentences)
    made["tags"] = b"".join(block + text for text in sentences)
    made["noise"] = b"UdPbC\0rubbish" + b"".join(sentences[:3]) + b"$WIMWV,35"
    return made


def feed():
    """Lines of sensors, for each kind of station."""
    text = "\n".join(spread(DIALS)).encode()
    made = {"%d" % n: bytes([n]) + text + b"\n" for n in range(STATIONS)}
    made["long"] = b"\0" + b"x" * 200 + b"\nbattery in -\r\n"
    return made


def record():
    """Every question of the record as it is, and what a hostile maker of a file may do."""
    made = {"ask-%d" % n: bytes([n, 1]) for n in range(QUESTIONS)}
    for n, sql in enumerate(SQL):
        for question in (n % QUESTIONS, 14, 0):
            made["sql-%d-%d" % (n, question)] = bytes([question, 2]) + sql.encode()
    for n in range(QUESTIONS):
        made["cell-%d" % n] = bytes([n, 1]) + b"".join(
            bytes([table, column, row, kind]) + b"\x05\x1b[2Jx" for table in range(9)
            for column, row, kind in ((1, 2, 3), (7, 3, 1), (11, 0, 4), (21, 5, 0x90)))[:120]
        made["file-%d" % n] = bytes([n, 0, 0, 0, 18, 4]) + b"\2\2\0\xff"
    return made


TARGETS = {"frame": frames_and_edges, "judge": judge, "zap": zap, "relay": relay, "conf": conf, "secret": secret,
           "line": line, "keys": keys, "nmea": nmea, "feed": feed, "record": record}


def make_record(path):
    """What target_record spoils: the evening of tests/logbook/maker.py, by the recorder's own store."""
    sys.path.insert(0, str(ROOT / "tests" / "logbook"))
    import maker
    made = maker.evening(frames=True)
    os.replace(made.path, path)
    return path


def write(target, folder):
    """Write the inputs of that target, the kept findings too; how many."""
    folder.mkdir(parents=True, exist_ok=True)
    made = dict(TARGETS[target]())
    for path in sorted((HERE / "found" / target).glob("*.hex")):
        made["found-" + path.stem] = bytes.fromhex(path.read_text())
    for name, data in made.items():
        (folder / name).write_bytes(data)
    return len(made)
