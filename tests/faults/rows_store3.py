# SPDX-License-Identifier: Apache-2.0
"""rows_store3 - configuration and keys (64 to 67): what is wrong is refused before anything is
started, in a sentence with file and line, and what runs does not mind what becomes of the files."""

import os
import re
import shutil
import signal
import subprocess

import cycle
import faults
import rig as rigs
from rows_store import NO_OVERRIDE_OF_MODES, Calm
from rows_store2 import gone_and_back, no_ready
from ship import BROKER, TRAPLINE, VALIDATOR, Ship
from table import Result, row

REFUSED = 78
START_S = 3.0
JUDGED = ("ship.yaml", "gear.yaml", "aircraft.yaml", "stations.yaml")
FILES = JUDGED + ("bus.yaml", "keys.yaml")
NUMBER = re.compile(r"(?<=[a-z_]: )[0-9]+(\.[0-9]+)?(?=[,}\s]|$)")
TOP = re.compile(r"^[a-z_]+: [^\[{].*$")  # a key with one value


def programs(folder):
    """Each kind of program, started for good and not only to check."""
    return {"check": [TRAPLINE, "check", "-C", folder],
            "validator-1": [VALIDATOR, "-C", folder, "--node", "validator-1"],
            "bus-a": [BROKER, "-C", folder, "--bus", "bus-a"],
            "recorder-1": [rigs.RECORDER, "-C", folder, "--node", "recorder-1"],
            "deck": [TRAPLINE, "deck", "-C", folder, "--stay"],
            "show": [TRAPLINE, "show", "-C", folder]}


def ask(command, before=()):
    """(exit code or None when it had to be killed, what it said)."""
    words = list(before) + [str(word) for word in command]
    process = subprocess.Popen(words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                               stderr=subprocess.STDOUT, text=True, errors="replace")
    try:
        out, _ = process.communicate(timeout=START_S)
    except subprocess.TimeoutExpired:
        process.kill()
        out, _ = process.communicate()
        return None, out
    return process.returncode, out


# ---- bad files, by chance ----

class Bad:
    """One way to spoil a file: its new bytes, and the line that must be blamed if one must."""

    def __init__(self, what, data, line=None):
        self.what, self.data, self.line = what, data, line


def plain(lines, test):
    """Numbers of lines for which it holds, of those that are no comment and no text in quotes."""
    return [i for i, line in enumerate(lines)
            if not line.lstrip().startswith("#") and test(line.split(" #")[0])]


def with_line(lines, at, text):
    return "\n".join(lines[:at] + [text] + lines[at + 1:]).encode()


def bad_number(rng, lines):
    at = rng.choice(plain(lines, lambda line: NUMBER.search(line)))
    # After the last quote a line has no more figures of ours, before the first it has them all.
    found = [m for m in NUMBER.finditer(lines[at]) if lines[at][:m.start()].count('"') % 2 == 0]
    if not found:
        return None
    match = rng.choice(found)
    how = rng.choice(["%s lb", "-%s", "0x%s", "%se3", "+%s", "9999999999%s", "%s.%s.1", "few%s"])
    text = how.replace("%s", match.group())
    return Bad("number " + text, with_line(
        lines, at, lines[at][:match.start()] + text + lines[at][match.end():]), at + 1)


def twice(rng, lines):
    at = rng.choice(plain(lines, TOP.match))
    return Bad("key twice", with_line(lines, at, lines[at] + "\n" + lines[at]), at + 2)


def unknown_key(rng, lines):
    items = plain(lines, lambda line: "- {" in line)
    tops = plain(lines, TOP.match)
    at = rng.choice(items + tops)
    name = "extra_%d" % rng.randrange(100)
    if at in items:
        text = lines[at].replace("- {", "- {%s: 1, " % name, 1)
        return Bad("unknown key " + name, with_line(lines, at, text), at + 1)
    return Bad("unknown key " + name, with_line(lines, at, name + ": 1\n" + lines[at]), at + 1)


def missing_key(rng, lines):
    at = rng.choice(plain(lines, lambda line: re.match(r"^  - \{[a-z]+: [^,]+, ", line)))
    text = re.sub(r"- \{[a-z]+: [^,]+, ", "- {", lines[at], count=1)
    return Bad("first key of an item missing", with_line(lines, at, text), at + 1)


def syntax(rng, lines):
    at = rng.choice(plain(lines, lambda line: "{" in line or "[" in line or ": " in line))
    how = rng.choice(["open", "tab", "quote", "colon"])
    text = {"open": lines[at].replace(": ", ": [", 1), "tab": "\t" + lines[at],
            "quote": lines[at].replace(": ", ': "', 1).replace('""', '"'),
            "colon": lines[at].replace(": ", ": : ", 1)}[how]
    return Bad("syntax: " + how, with_line(lines, at, text), at + 1 if how == "tab" else None)


def bad_bytes(rng, lines):
    data = bytearray("\n".join(lines).encode())
    at = rng.randrange(len(data))
    data[at:at] = rng.choice([b"\x00", b"\x07", b"\x1b[2J", b"\xff", b"\xc0\xaf"])
    return Bad("bytes that are no text", bytes(data))


def cut(rng, lines):
    data = "\n".join(lines)
    opened = [m.end() for m in re.finditer(r"- \{[a-z]+: ", data)]
    return Bad("cut off", data[:rng.choice(opened)].encode()) if opened else None


def too_large(rng, lines):
    return Bad("too large", ("# padding\n" * 14000 + "\n".join(lines)).encode())


def empty(rng, lines):
    return Bad("empty", rng.choice([b"", b"\n", b"# nothing\n", b"---\n"]))


WAYS = [bad_number] * 6 + [twice, unknown_key, unknown_key, missing_key, syntax, syntax, bad_bytes,
                           cut, empty, too_large]


def one_bad(rng, text):
    """A bad version of a file; not each way goes with each file."""
    lines = text.split("\n")
    while True:
        try:
            bad = rng.choice(WAYS)(rng, lines)
        except IndexError:  # nothing of that kind is in it
            continue
        if bad is not None and bad.data != text.encode():
            return bad


def must_refuse(result, what, file, line, done):
    code, out = done
    said = re.match(r"%s(:\d+)?: \S.*" % re.escape(file), out)
    result.counts["tried"] += 1
    result.counts["refused"] += 1 if code == REFUSED else 0
    result.counts["with the line"] += 1 if said and said.group(1) else 0
    result.must(code == REFUSED and said and "ready" not in out and out.count("\n") == 1,
                "%s of %s: exit %s, said: %s" % (what, file, code, out[:200]))
    if line is not None and said:
        result.must(said.group(1) == ":%d" % line, "%s of %s, line %d: said %s" % (
            what, file, line, out[:200]))


@row(64, "200 bad configuration files", "all or nothing; file and line; exit 78", seconds=12,
     short=True)
def bad_files(context, rng):
    full = rng.random() < 0.5
    with Ship(edit=None if full else rigs.with_recorder, full=full) as ship:
        result = Result("bad configuration files")
        command = programs(ship.dir)
        for number in range(220):
            file = rng.choice(FILES)
            path = ship.dir / file
            whole = path.read_bytes()
            bad = one_bad(rng, whole.decode())
            path.write_bytes(bad.data)
            name = rng.choice(["check", "check", "check"] + list(command))
            must_refuse(result, bad.what, file, bad.line, ask(command[name]))
            path.write_bytes(whole)
        for file in FILES:
            path = ship.dir / file
            path.rename(ship.dir / "kept")
            must_refuse(result, "missing", file, None, ask(command[rng.choice(list(command))]))
            path.mkdir()
            must_refuse(result, "a folder", file, None, ask(command[rng.choice(list(command))]))
            path.rmdir()
            (ship.dir / "kept").rename(path)
        left = [name for name in ("state", "run", "record") if (ship.dir / name).exists()]
        result.must(not left, "left behind by programs that were refused: %s" % left)
        code, out = ask(command["check"])
        result.must(code == 0, "the folder itself: %d %s" % (code, out))
        yield result


# ---- files that change while programs run ----

@row(65, "configuration changed while programs run", "read once; the new one is refused",
     seconds=12)
def changed_while_running(context, rng):
    rig = context.rig()
    rig.until_ready()
    file = rng.choice(JUDGED)
    path, result = rig.dir / file, Result("%s is changed while all run" % file)
    whole = path.read_text()
    calm = Calm(rig, result)
    validator = rng.choice(faults.VALIDATORS)
    bad = one_bad(rng, whole)
    try:
        path.write_text(whole + "# one more\n")
        for name in list(faults.VALIDATORS) + ["recorder-1", "bus-a"]:
            rig.running[name].signal(signal.SIGHUP)
        code, out = rig.call("show", "-C", rig.folder("watch"))
        result.must(code == 1 and cycle.words_of("other-configuration") in out,
                    "a new screen: exit %d, %s" % (code, out))
        path.write_bytes(bad.data)
        for name in list(faults.VALIDATORS) + ["recorder-1", "bus-b"]:
            rig.running[name].signal(signal.SIGHUP)
        rig.type("engine-%d" % rng.randint(1, 4), "watch Ash")
        code, out = rig.call("show", "-C", rig.folder("watch"))
        result.must(code == REFUSED and out.startswith(file), "a new screen: exit %d, %s" % (
            code, out))
        calm.look()
        # A validator that starts anew finds it, and the others say who is not heard.
        marks = cycle.marks_of(rig.screens())
        rig.kill(validator)
        must_refuse(result, bad.what, file, None, ask(
            [VALIDATOR, "-C", rig.folder(validator), "--node", validator]))
    finally:
        path.write_text(whole)
    rig.restart(validator)
    result.back = gone_and_back(rig, marks) - newest_start(rig)
    yield result


def newest_start(rig):
    """When the newest program of the ship said its first line."""
    return max(p.lines[0][0] for p in rig.running.values() if p.lines)


# ---- who may say what ----

AUTHORITY = [
    ("no nodes", r"(?ms)^nodes:\n.*?\n\n", "nodes: []\n\n"),
    ("no node list", r"(?ms)^nodes:\n.*?\n\n", "\n"),
    ("no validator", r"  - \{id: validator-\d, kind: validator\}\n", ""),
    ("no broker", r"  - \{id: bus-[ab], kind: broker\}\n", ""),
    ("clear_owner is nobody", r"clear_owner: deck", "clear_owner: nobody"),
    ("clear_owner is a validator", r"clear_owner: deck", "clear_owner: validator-1"),
    ("clear_owner is a viewer", r"clear_owner: deck", "clear_owner: viewer"),
    ("clear_owner empty", r"clear_owner: deck", "clear_owner:"),
    ("clear_owner missing", r"clear_owner: deck\n", ""),
    ("repeaters read by an engine", r"repeater_reader: primary", "repeater_reader: engine-2"),
    ("repeaters read by nobody", r"repeater_reader: primary\n", ""),
    ("repeaters read by a recorder", r"repeater_reader: primary", "repeater_reader: recorder-1"),
    ("two decks", r"(  - \{id: deck, kind: deck.*\n)", r"\1  - {id: deck-2, kind: deck}\n"),
    ("two primaries", r"(  - \{id: primary, .*\n)", r"\1  - {id: second, kind: primary}\n"),
    ("one id twice", r"(  - \{id: bridge, .*\n)", r"\1\1"),
    ("one engine twice", r"(  - \{id: engine-2, .*\n)",
     r"\1  - {id: room, kind: engine, unit: 2}\n"),
    ("an engine without a unit", r"kind: engine, unit: 3", "kind: engine"),
    ("an engine of another number", r"id: engine-3, kind: engine, unit: 3",
     "id: engine-3, kind: engine, unit: 2"),
    ("a unit at the deck", r"kind: deck", "kind: deck, unit: 1"),
    ("an unknown kind", r"kind: bridge", "kind: tower"),
    ("a validator that may foul", r"kind: validator\}", "kind: validator, may_foul: true}"),
    ("a viewer that may stop", r"kind: viewer\}", "kind: viewer, may_stop: true}"),
    ("may_foul is no yes or no", r"may_foul: true", "may_foul: perhaps"),
    ("speaks for itself", r"kind: platform", "kind: platform, voice_by: [platform, primary]"),
    ("spoken for by nobody", r"kind: platform", "kind: platform, voice_by: [nobody]"),
    ("overridden by nobody", r"\Z", "override_by: [nobody, primary]\n"),
    ("overridden by a viewer", r"\Z", "override_by: [primary, viewer]\n"),
    ("an id of no form", r"id: bridge", "id: Bridge One"),
    ("too long an id", r"id: bridge", "id: " + "b" * 24),
]


@row(66, "authority empty or contradictory", "refused with file and line; exit 78", seconds=5,
     short=True)
def authority(context, rng):
    with Ship(edit=rigs.with_recorder) as ship:
        result = Result("authority empty or contradictory")
        command = programs(ship.dir)
        path = ship.dir / "stations.yaml"
        whole = path.read_text()
        for what, find, put in AUTHORITY:
            text = re.sub(find, put, whole)
            assert text != whole, what
            path.write_text(text)
            for name in ("check", rng.choice(list(command)[1:])):
                must_refuse(result, what, "stations.yaml", None, ask(command[name]))
            path.write_text(whole)
        # A right that two files give to different people: a key of nobody, a node without a key.
        keys = ship.dir / "keys.yaml"
        whole = keys.read_text()
        for what, text in (("a node without a key", re.sub(r"  - \{node: deck, .*\n", "", whole)),
                           ("a key of nobody", whole.replace("node: deck,", "node: nobody,"))):
            keys.write_text(text)
            code, out = ask(command[rng.choice(["validator-1", "deck", "bus-a", "recorder-1"])])
            result.counts["tried"] += 1
            result.counts["refused"] += 1 if code == REFUSED else 0
            result.must(code == REFUSED and re.match(r"(keys|stations)\.yaml", out),
                        "%s: exit %s, %s" % (what, code, out))
            keys.write_text(whole)
        yield result


# ---- key files ----

def spoilt_keys(rng, path, other):
    """{what: how to spoil the secret file}; each leaves something, or nothing, at the path."""
    data = path.read_bytes()
    body = bytearray(data)
    digit = len(data) - 2 - rng.randrange(64)
    body[digit] = b"0123456789abcdef"[(b"0123456789abcdef".index(body[digit]) + 1) % 16]

    def mode(bits):
        return lambda: path.chmod(bits)

    def content(new):
        def write():
            path.write_bytes(new)
            path.chmod(0o600)
        return write

    def instead(make):
        def put():
            path.unlink()
            make()
        return put

    ways = {"mode %o" % bits: mode(bits) for bits in (0o644, 0o640, 0o604, 0o660, 0o620, 0o777)}
    ways.update({
        "cut": content(data[:rng.randrange(1, len(data) - 1)]), "empty": content(b""),
        "too long": content(data + b"0"), "twice": content(data + data),
        "another seed": content(bytes(body)), "of another node": content(other.read_bytes()),
        "no newline": content(data[:-1]), "random": content(rng.randbytes(len(data))),
        "not there": path.unlink, "a folder": instead(path.mkdir),
        "a link": instead(lambda: path.symlink_to(other)),
        "of another owner": lambda: os.chown(path, 65534, 65534)})
    return ways


def put_back(path, data):
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path)
    else:
        path.unlink(missing_ok=True)
    path.write_bytes(data)
    path.chmod(0o600)


@row(67, "key file unreadable, open to others, wrong", "refused with its name; exit 78", seconds=8,
     root=True)
def key_files(context, rng):
    rig = context.rig()
    rig.until_ready()
    result = Result("key files")
    calm = Calm(rig, result)
    nodes = ["validator-1", "deck", "bus-a", "recorder-1"]
    for node in nodes:
        folder = rig.dir if node == "bus-a" else rig.folder(node)
        path = rig.dir / "identity" / (node + ".1.key")
        other = rig.dir / "identity" / "bridge.1.key"
        whole = path.read_bytes()
        for what, spoil in spoilt_keys(rng, path, other).items():
            spoil()
            code, out = ask(programs(folder)[node])
            put_back(path, whole)
            result.counts["tried"] += 1
            result.counts["refused"] += 1 if code == REFUSED else 0
            result.must(code == REFUSED and path.name in out and "ready" not in out,
                        "%s, key %s: exit %s, %s" % (node, what, code, out[:200]))
        path.chmod(0)  # as for anyone who is not root
        code, out = ask(programs(folder)[node], NO_OVERRIDE_OF_MODES)
        path.chmod(0o600)
        result.must(code == REFUSED and path.name in out, "%s, key not to be read: exit %s, %s" % (
            node, code, out[:200]))
    calm.look()  # what runs has its key in memory
    fault = faults.foul(rig, "deck")
    other = cycle.run(rig, fault, 0.0)
    result.times, result.problems = other.times, result.problems + other.problems
    no_ready(rig, result, {}, [])
    yield result
