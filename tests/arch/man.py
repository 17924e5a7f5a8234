# SPDX-License-Identifier: Apache-2.0
"""man - every long option that a --help names stands in the manual page of that program.

usage: man.py SOURCE_DIR PAGE=PROGRAM[,SUBCOMMAND]...    a subcommand of a subcommand: one more comma
"""
import pathlib
import re
import subprocess
import sys

source = pathlib.Path(sys.argv[1])
missing = []
for pair in sys.argv[2:]:
    page, _, program = pair.partition("=")
    program, *subcommands = program.split(",")
    command = [program] + subcommands + ["--help"]
    done = subprocess.run(command, stdout=subprocess.PIPE, text=True, stdin=subprocess.DEVNULL)
    options = set(re.findall(r"--[a-z][a-z-]+", done.stdout))
    text = (source / "docs" / "man" / (page + ".1.scd")).read_text()
    missing += ["%s: %s is in --help of %s and not in the page" % (page, option, " ".join(subcommands) or page)
                for option in sorted(options) if option not in text]
    if done.returncode != 0 or not options:
        missing.append("%s --help: exit %d, no option seen" % (" ".join(command), done.returncode))
print("\n".join(missing) or "manual pages name every option")
sys.exit(1 if missing else 0)
