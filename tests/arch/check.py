#!/usr/bin/env python3
# SPDX-License-Identifier: Apache-2.0
"""check - hold the architecture: who includes whom, what is where, what the core may touch

    check.py sources ROOT [--may-be-missing NAME...]    the source tree
    check.py core [ARCHIVE [--may-use ARCHIVE]...]      the objects of broker/core
    check.py self-test [--cc COMPILER]                  each check fails on a seeded violation

Prints one line for each violation. Exit 0 none, 1 some, 64 usage, 77 skipped (said on the output).
The rules are the tables in rules.py; the seeded trees are in seeds.py.
"""
import argparse
import os
import re
import subprocess
import sys

import rules
import seeds

EXIT_SKIPPED = 77
INCLUDE = re.compile(r'^[ \t]*#[ \t]*include[ \t]*([<"])([^>"]+)[>"]', re.MULTILINE)
C_COMMENT = re.compile(r"/\*.*?\*/|//[^\n]*", re.DOTALL)


class Tree:
    """The files of a source tree: those git knows or would take, else all that are not hidden.

    A folder that CMake builds in is not part of it, whatever its name.
    """

    def __init__(self, root):
        self.root = root
        paths = self._list_git() or self._walk()
        builds = {top for top in {path.split("/")[0] for path in paths}
                  if os.path.exists(os.path.join(root, top, "CMakeCache.txt"))}
        self.paths = sorted(path for path in paths if path.split("/")[0] not in builds)

    def _list_git(self):
        if not os.path.exists(os.path.join(self.root, ".git")):
            return []
        done = subprocess.run(
            ["git", "-C", self.root, "ls-files", "-z", "-co", "--exclude-standard"],
            stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=False)
        names = done.stdout.decode().split("\0") if done.returncode == 0 else []
        return {name for name in names if os.path.isfile(os.path.join(self.root, name))}

    def _walk(self):
        found = []
        for folder, folders, files in os.walk(self.root):
            folders[:] = [f for f in folders if not f.startswith((".", "__pycache__"))]
            for name in files:
                found.append(os.path.relpath(os.path.join(folder, name), self.root))
        return found

    def read(self, path):
        with open(os.path.join(self.root, path), encoding="utf-8", errors="replace") as file:
            return file.read()

    def c_paths(self):
        return [path for path in self.paths if path.endswith((".c", ".h"))]

    def source_paths(self):
        """Files people write as code: by suffix, by name, or scripts by their first bytes."""
        for path in self.paths:
            if path.endswith(rules.SOURCE_SUFFIXES) or os.path.basename(path) == "CMakeLists.txt":
                yield path
            elif "." not in os.path.basename(path) and self.read(path)[:2] == "#!":
                yield path


def line_of(text, position):
    return text.count("\n", 0, position) + 1


def find_room(path):
    """The longest prefix of path that has an include rule, or None."""
    rooms = [room for room in rules.MAY_INCLUDE if path.startswith(room)]
    return max(rooms, key=len) if rooms else None


def judge_include(path, room, quote, name):
    """What is wrong with one include line, or None."""
    if name.endswith(".pb-c.h"):
        if not path.startswith(rules.GENERATED_ROOM):
            return f"generated header {name} outside {rules.GENERATED_ROOM}"
        return None
    if not name.startswith(rules.ROOTS):
        return f'"{name}" is not named from the root' if quote == '"' else None
    if not name.startswith(rules.MAY_INCLUDE[room]):
        return f"{room} may not include {name}"
    return None


def check_includes(tree):
    found = []
    for path in tree.c_paths():
        room = find_room(path)
        if room is None:
            found.append(f"{path}: no include rule for this room")
            continue
        text = tree.read(path)
        for match in INCLUDE.finditer(text):
            wrong = judge_include(path, room, match[1], match[2])
            if wrong:
                found.append(f"{path}:{line_of(text, match.start())}: {wrong}")
    return found


def check_lengths(tree):
    found = []
    for path in tree.source_paths():
        lines = tree.read(path).count("\n")
        if lines > rules.LINES_MAX:
            found.append(f"{path}: {lines} lines, at most {rules.LINES_MAX}")
    return found


def blank_comments(text):
    """The C text without its comments, lines kept."""
    return C_COMMENT.sub(lambda match: "\n" * match[0].count("\n"), text)


def check_words(tree):
    found = []
    for path in tree.source_paths():
        if path.startswith(rules.WORDS_EXEMPT):
            continue
        text = tree.read(path)
        code = blank_comments(text) if path.endswith((".c", ".h")) else text
        for banned, where in ((rules.BANNED_CALLS, code), (rules.BANNED_MARKS, text)):
            for match in banned.finditer(where):
                found.append(f"{path}:{line_of(where, match.start())}: banned word {match[0]}")
    return found


def check_layout(tree, may_be_missing=()):
    there = {path.split("/")[0] for path in tree.paths if not path.startswith(".")}
    found = [f"{name}: not one of the names at the top" for name in sorted(there - rules.TOP)]
    for name in sorted(rules.TOP - there):
        if name in may_be_missing:
            print(f"not checked: {name} is not there yet")
        else:
            found.append(f"{name}: missing at the top")
    for name in sorted(there & set(may_be_missing)):
        print(f"note: {name} is there; take it off the list of what may be missing")
    return found


def run_tool(*command):
    return subprocess.run(command, stdout=subprocess.PIPE, check=True, text=True).stdout


def list_symbols(archive):
    """(defined, undefined); undefined maps a name to the first object that wants it."""
    defined, undefined, member = set(), {}, archive
    for line in run_tool("nm", "-P", archive).splitlines():
        words = line.split()
        if line.endswith(":"):
            member = line[line.rfind("[") + 1:].rstrip(":]")
        elif len(words) >= 2 and words[1] in "Uwv":
            undefined.setdefault(words[0], member)
        elif len(words) >= 2 and words[1].isupper():
            defined.add(words[0])
    return defined, undefined


def is_mutable_section(name):
    return name.startswith(rules.MUTABLE_SECTIONS) and not name.startswith(rules.CONST_SECTIONS)


def check_core_data(archive):
    found, member = [], archive
    for line in run_tool("size", "-A", archive).splitlines():
        words = line.split()
        if "(ex " in line:
            member = words[0]
        elif len(words) == 3 and words[1].isdigit() and is_mutable_section(words[0]):
            if int(words[1]) > 0:
                found.append(f"{member}: {words[1]} bytes of mutable data in {words[0]}")
    return found


def check_core_symbols(archive, may_use=()):
    defined, undefined = list_symbols(archive)
    if not defined:
        return [f"{archive}: defines nothing"]
    for other in may_use:
        defined |= list_symbols(other)[0]
    return [
        f"{member}: uses {name}"
        for name, member in sorted(undefined.items())
        if name not in defined and not rules.CORE_MAY_CALL.fullmatch(name)
    ]


SOURCE_CHECKS = (check_includes, check_lengths, check_words, check_layout)


def run_sources(args):
    tree = Tree(args.root)
    found = check_includes(tree) + check_lengths(tree) + check_words(tree)
    return report(found + check_layout(tree, args.may_be_missing), f"{len(tree.paths)} files")


def run_core(args):
    if args.archive is None:
        print("skipped: this build has no library tl_core without instrumentation")
        return EXIT_SKIPPED
    found = check_core_symbols(args.archive, args.may_use) + check_core_data(args.archive)
    return report(found, args.archive)


def run_self_test(args):
    found = seeds.try_trees(lambda root: {c.__name__: c(Tree(root)) for c in SOURCE_CHECKS})
    found += seeds.try_objects(
        args.cc, lambda archive: check_core_symbols(archive) + check_core_data(archive))
    return report(found, "self-test")


def report(found, subject):
    for line in found:
        print(line)
    print(f"{subject}: {len(found)} violations")
    return 1 if found else 0


def main():
    parser = argparse.ArgumentParser(description="Hold the architecture.")
    commands = parser.add_subparsers(required=True)
    sources = commands.add_parser("sources")
    sources.add_argument("root")
    sources.add_argument("--may-be-missing", nargs="*", default=[])
    sources.set_defaults(run=run_sources)
    core = commands.add_parser("core")
    core.add_argument("archive", nargs="?")
    core.add_argument("--may-use", action="append", default=[])
    core.set_defaults(run=run_core)
    self_test = commands.add_parser("self-test")
    self_test.add_argument("--cc", default="cc")
    self_test.set_defaults(run=run_self_test)
    args = parser.parse_args()
    return args.run(args)


if __name__ == "__main__":
    sys.exit(main())
