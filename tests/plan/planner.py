# SPDX-License-Identifier: Apache-2.0
"""planner - run trapline plan on a copy of configs/demo. It joins no bus, so there is none."""

import json
import os
import pathlib
import re
import shutil
import subprocess
import tempfile

SOURCE = pathlib.Path(os.environ.get("TL_SOURCE_DIR", pathlib.Path(__file__).resolve().parents[2]))
BUILD = pathlib.Path(os.environ.get("TL_BUILD_DIR", SOURCE / "build"))
TRAPLINE = BUILD / "clients" / "trapline"
PLANS = ("wind", "arrest", "aid", "wave-off", "interval", "bulletin")


class Planner:
    """A folder of its own with the demo's configuration in it."""

    def __enter__(self):
        self.home = tempfile.TemporaryDirectory()
        self.dir = pathlib.Path(self.home.name) / "ship"
        shutil.copytree(SOURCE / "configs" / "demo", self.dir)
        # Without the computed rules, a figure that a plan needs is missed by the plan alone.
        self.edit("ship.yaml", r"rules_off: \[\]",
                  "rules_off:\n  - {rule: all-of-mechanics, reason: not under test}")
        return self

    def __exit__(self, *_):
        self.home.cleanup()

    def call(self, *words, config=True, env=None, stdout=subprocess.PIPE):
        """Exit code, standard output, standard error. A list of words, or one line of them."""
        words = words[0].split() if len(words) == 1 else list(words)
        command = [str(TRAPLINE), "plan"] + words + (["-C", str(self.dir)] if config else [])
        clean = {name: os.environ[name] for name in os.environ if name != "TRAPLINE_CONFIG"}
        done = subprocess.run(command, stdout=stdout, stderr=subprocess.PIPE, text=True,
                              stdin=subprocess.DEVNULL, env={**clean, **(env or {})}, timeout=60)
        return done.returncode, done.stdout, done.stderr

    def text(self, line, **more):
        code, out, err = self.call(line, **more)
        assert (code, err) == (0, ""), (line, code, err)
        return out

    def json(self, line, **more):
        return json.loads(self.text(line + " --json", **more))

    def edit(self, name, find, put):
        """Change one file; call the result to undo it."""
        path = self.dir / name
        before = path.read_text()
        after = re.sub(find, put, before)
        assert after != before, find
        path.write_text(after)
        return lambda: path.write_text(before)
