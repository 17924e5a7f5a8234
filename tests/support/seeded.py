# SPDX-License-Identifier: Apache-2.0
"""seeded - bugs that are put into a copy of the tree, one at a time, and taken out again.

No source of the product knows of them and no build of it can contain one: the copy is a scratch
folder, and a bug is a list of places (file, text, text instead), each of which must fit exactly once.
"""
import os
import subprocess
import sys

EXIT_USAGE = 64
ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")


def run(command, **more):
    return subprocess.run(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
                          check=False, **more)


def copy_tree(scratch):
    files = run(["git", "-C", ROOT, "ls-files", "-co", "--exclude-standard"]).stdout
    subprocess.run(["tar", "-C", ROOT, "-cf", os.path.join(scratch, "tree.tar"), "-T", "-"],
                   input=files, text=True, check=True)
    subprocess.run(["tar", "-C", scratch, "-xf", os.path.join(scratch, "tree.tar")], check=True)


def configure(scratch):
    return run(["cmake", "-S", scratch, "-B", os.path.join(scratch, "build"), "-C",
                os.path.join(scratch, ".ci/presets/dev.cmake"), "-G", "Ninja", "-DTL_WERROR=OFF"])


def build(scratch, targets):
    return run(["cmake", "--build", os.path.join(scratch, "build"), "--target"] + targets)


def check_fit(places):
    """Exit status: 0 when each place is in the tree exactly once, so that no list rots in silence."""
    bad = 0
    for path, old, _ in places:
        with open(os.path.join(ROOT, path), encoding="utf-8") as file:
            count = file.read().count(old)
        if count != 1:
            print(f"{path}: {count} places for: {old.strip()}")
            bad += 1
    print(f"{len(places) - bad} of {len(places)} places fit")
    return EXIT_USAGE if bad else 0


def put_in(scratch, places):
    """The text of the files before; exits when a place is not there exactly once."""
    before = {}
    for path, old, new in places:
        full = os.path.join(scratch, path)
        with open(full, encoding="utf-8") as file:
            text = file.read()
        before.setdefault(full, text)
        if text.count(old) != 1:
            print(f"{path}: {text.count(old)} places for: {old.strip()}")
            sys.exit(EXIT_USAGE)
        with open(full, "w", encoding="utf-8") as file:
            file.write(text.replace(old, new))
    return before


def take_out(before):
    for path, text in before.items():
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
