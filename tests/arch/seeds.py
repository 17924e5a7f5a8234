# SPDX-License-Identifier: Apache-2.0
"""seeds - small trees and objects with one known violation each, to show that check.py sees it

Each row: a name, what is added to a clean tree, the check that must speak, and a part of its words.
A row without words must pass: it lies just inside the rule.
"""
import os
import subprocess
import tempfile

CLEAN = {
    "README.md": "", "DEVELOPERS.md": "", "LICENSE": "", "CMakeLists.txt": "",
    "docs/rules.md": "", "configs/packages.txt": "", "tests/run": "#!/bin/bash\n",
    "proto/base/err.h": "", "broker/core/rules/rules.c": '#include "proto/vocab/limits.h"\n',
    "clients/ui/view.c": '#include "clients/ui/view.h"\n#include <zmq.h>\n',
}


def include(name):
    return f'#include "{name}"\n'


# name, path, text, check, words
TREES = (
    ("proto takes from broker", "proto/link/a.c", include("broker/core/a.h"),
     "check_includes", "proto/link/a.c:1: proto/ may not include broker/core/a.h"),
    ("proto takes from clients", "proto/codec/a.c", include("clients/ui/a.h"),
     "check_includes", "proto/ may not include clients/ui/a.h"),
    ("base takes from vocab", "proto/base/a.c", include("proto/vocab/a.h"),
     "check_includes", "proto/base/ may not include"),
    ("vocab takes from codec", "proto/vocab/a.h", include("proto/codec/a.h"),
     "check_includes", "proto/vocab/ may not include"),
    ("core takes a clock", "broker/core/a.c", "\n" + include("proto/base/clock.h"),
     "check_includes", "broker/core/a.c:2: broker/core/ may not include proto/base/clock.h"),
    ("core takes the codec", "broker/core/a.c", include("proto/codec/codec.h"),
     "check_includes", "broker/core/ may not include"),
    ("core takes from access", "broker/core/a.c", include("broker/access/a.h"),
     "check_includes", "broker/core/ may not include"),
    ("core in brackets", "broker/core/a.c", "#  include <proto/base/log.h>\n",
     "check_includes", "broker/core/ may not include proto/base/log.h"),
    ("access takes from relay", "broker/access/a.c", include("broker/relay/a.h"),
     "check_includes", "broker/access/ may not include"),
    ("relay takes from validator", "broker/relay/a.c", include("broker/validator/a.h"),
     "check_includes", "broker/relay/ may not include"),
    ("validator takes from recorder", "broker/validator/a.c", include("broker/recorder/a.h"),
     "check_includes", "broker/validator/ may not include"),
    ("recorder takes from clients", "broker/recorder/a.c", include("clients/ui/a.h"),
     "check_includes", "broker/recorder/ may not include"),
    ("station takes from core", "clients/station/a.c", include("broker/core/rules/rules.h"),
     "check_includes", "clients/ may not include"),
    ("engine takes the wind", "clients/station/engine/a.c",
     include("broker/core/mechanics/wind.h"), "check_includes", "clients/ may not include"),
    ("bridge takes the arrest", "clients/station/bridge/a.c",
     include("broker/core/mechanics/arrest.h"),
     "check_includes", "clients/station/bridge/ may not include"),
    ("board takes from core", "clients/board/a.c", include("broker/core/picture/picture.h"),
     "check_includes", "clients/ may not include"),
    ("ui takes from core", "clients/ui/a.h", include("broker/core/a.h"),
     "check_includes", "clients/ may not include"),
    ("plan takes the rules", "clients/plan/a.c", include("broker/core/rules/rules.h"),
     "check_includes", "clients/plan/ may not include"),
    ("logbook takes from access", "clients/logbook/a.c", include("broker/access/a.h"),
     "check_includes", "clients/logbook/ may not include"),
    ("tools take from relay", "clients/tools/a.c", include("broker/relay/a.h"),
     "check_includes", "clients/tools/ may not include"),
    ("product takes from tests", "clients/tools/a.c", include("tests/support/a.h"),
     "check_includes", "clients/tools/ may not include"),
    ("a neighbour by its short name", "broker/relay/a.c", include("relay.h"),
     "check_includes", '"relay.h" is not named from the root'),
    ("a room without a rule", "broker/extra/a.c", "",
     "check_includes", "broker/extra/a.c: no include rule"),
    ("generated code in link", "proto/link/a.c", include("proto/schema/trapline.pb-c.h"),
     "check_includes", "generated header"),
    ("generated code in brackets", "broker/relay/a.c", "#include <trapline.pb-c.h>\n",
     "check_includes", "generated header"),
    ("generated code in a test", "tests/codec/a.c", include("trapline.pb-c.h"),
     "check_includes", "generated header"),
    ("601 lines", "broker/relay/a.c", "\n" * 601, "check_lengths", "601 lines"),
    ("601 lines of script", "clients/demo", "#!/bin/bash\n" + "\n" * 600,
     "check_lengths", "clients/demo: 601 lines"),
    ("zmq_proxy", "broker/relay/a.c", "\n\nzmq_proxy(a, b, 0);\n",
     "check_words", "broker/relay/a.c:3: banned word zmq_proxy"),
    ("zmq_proxy_steerable", "broker/relay/a.c", "zmq_proxy_steerable(a, b, 0, 0);\n",
     "check_words", "banned word zmq_proxy_steerable"),
    ("ZMQ_CONFLATE", "clients/ui/a.c", "ZMQ_CONFLATE", "check_words", "ZMQ_CONFLATE"),
    ("ZMQ_XPUB_NODROP", "proto/link/a.c", "/* a\n*/ ZMQ_XPUB_NODROP",
     "check_words", "proto/link/a.c:2: banned word ZMQ_XPUB_NODROP"),
    ("ZMQ_XPUB_MANUAL", "tests/relay/a.c", "ZMQ_XPUB_MANUAL", "check_words", "ZMQ_XPUB_MANUAL"),
    ("ZMQ_HEARTBEAT_IVL", "proto/link/a.h", "ZMQ_HEARTBEAT_IVL",
     "check_words", "ZMQ_HEARTBEAT_IVL"),
    ("a mark in a comment", "proto/link/a.c", "/* TODO later */", "check_words", "TODO"),
    ("a mark in a script", "clients/demo", "#!/bin/bash\n# FIXME\n",
     "check_words", "clients/demo:2: banned word FIXME"),
    ("a mark in CMake", "broker/CMakeLists.txt", "# TODO", "check_words", "TODO"),
    ("a file more at the top", "NEWS.md", "", "check_layout", "NEWS.md: not one of"),
    ("a folder more at the top", "src/a.txt", "", "check_layout", "src: not one of"),
    ("a hidden file at the top", ".editorconfig", "", "check_layout", None),
    ("a build folder at the top", "out/CMakeCache.txt", "", "check_layout", None),
    ("600 lines", "broker/relay/a.c", "\n" * 600, "check_lengths", None),
    ("601 lines of prose", "docs/a.md", "\n" * 601, "check_lengths", None),
    ("core takes vocab, err, require, core", "broker/core/a.c",
     include("proto/vocab/a.h") + include("proto/base/err.h") + include("proto/base/require.h")
     + include("broker/core/a.h") + "#include <string.h>\n", "check_includes", None),
    ("access takes core and proto", "broker/access/a.c",
     include("broker/core/a.h") + include("proto/link/a.h"), "check_includes", None),
    ("bridge takes the wind", "clients/station/bridge/a.c",
     include("broker/core/mechanics/wind.h"), "check_includes", None),
    ("plan takes mechanics", "clients/plan/a.c",
     include("broker/core/mechanics/arrest.h"), "check_includes", None),
    ("logbook takes core", "clients/logbook/a.c",
     include("broker/core/rules/rules.h"), "check_includes", None),
    ("codec takes generated code", "proto/codec/a.c",
     include("proto/schema/trapline.pb-c.h"), "check_includes", None),
    ("a test takes all", "tests/system/a.c",
     include("broker/relay/a.h") + include("clients/ui/a.h"), "check_includes", None),
    ("a comment says why not", "proto/link/a.c", "/* not\n ZMQ_CONFLATE: it drops */\n",
     "check_words", None),
)

# name, C text, words
OBJECTS = (
    ("prints", "int printf(const char *, ...); void f(void) { printf(\"%d\", 7); }\n",
     "uses printf"),
    ("reads a clock", "long time(long *); long f(void) { return time(0); }\n", "uses time"),
    ("takes heap", "void *malloc(unsigned long); void *f(void) { return malloc(9); }\n",
     "uses malloc"),
    ("calls another room", "int tl_link_send(void); int f(void) { return tl_link_send(); }\n",
     "uses tl_link_send"),
    ("static counter", "int f(void) { static int n; return n++; }\n", "mutable data in .bss"),
    ("static with a value", "int f(void) { static int n = 7; return n++; }\n",
     "mutable data in .data"),
    ("mutable table of pointers", "extern const int a; const int *t[] = {&a}; const int a = 1;\n",
     "mutable data in .data"),
    ("common symbol", "int n;\n", "mutable data in .bss"),
    ("thread local", "int f(void) { static _Thread_local int n; return n++; }\n",
     "mutable data in .tbss"),
    ("defines nothing", "typedef int t;\n", "defines nothing"),
    ("pure",
     "#include <string.h>\nvoid tl_require_failed(const char *, int, const char *);\n"
     "static const char *const words[] = {\"a\", \"b\"};\n"
     "const char *f(char *d, const char *s, size_t n) {\n"
     "  if (strlen(s) < n) { tl_require_failed(s, 1, s); }\n"
     "  memcpy(d, s, n); return words[n % 2]; }\n", None),
)


def write_tree(root, files):
    for path, text in files.items():
        whole = os.path.join(root, path)
        os.makedirs(os.path.dirname(whole), exist_ok=True)
        with open(whole, "w", encoding="utf-8") as file:
            file.write(text)


def judge_row(name, found, words):
    """found: all violations; the row wants one with words in it, or none at all."""
    if words is None:
        return [f"'{name}' should pass: {line}" for line in found]
    if len(found) != 1 or words not in found[0]:
        return [f"'{name}' should give one violation with '{words}': {found}"]
    return []


def try_tree(name, files, words, run_checks, check=None):
    with tempfile.TemporaryDirectory() as root:
        write_tree(root, files)
        results = run_checks(root)
    others = [line for key, lines in results.items() if key != check for line in lines]
    return (judge_row(name, results.get(check, []), words)
            + [f"'{name}' should not concern another check: {line}" for line in others])


def try_trees(run_checks):
    """run_checks(root) gives {check name: violations}. Returns what is wrong with the checks."""
    found = try_tree("clean tree", CLEAN, None, run_checks)
    for name in CLEAN:
        top = name.split("/")[0]
        if sum(path.split("/")[0] == top for path in CLEAN) == 1:
            less = {path: text for path, text in CLEAN.items() if path != name}
            found += try_tree(f"no {top}", less, f"{top}: missing", run_checks, "check_layout")
    for name, path, text, check, words in TREES:
        found += try_tree(name, {**CLEAN, path: text}, words, run_checks, check)
    return found


def try_objects(compiler, run_checks):
    found = []
    for name, text, words in OBJECTS:
        with tempfile.TemporaryDirectory() as root:
            write_tree(root, {"a.c": text})
            paths = [os.path.join(root, leaf) for leaf in ("a.c", "a.o", "lib.a")]
            subprocess.run([compiler, "-O1", "-fPIE", "-c", paths[0], "-o", paths[1]], check=True)
            subprocess.run(["ar", "rcD", paths[2], paths[1]], check=True)
            found += judge_row(name, run_checks(paths[2]), words)
    return found
