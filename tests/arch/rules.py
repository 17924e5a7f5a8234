# SPDX-License-Identifier: Apache-2.0
"""rules - the architecture as tables, for check.py"""
import re

# All that is visible at the top of the tree.
TOP = {
    "README.md", "DEVELOPERS.md", "LICENSE", "CMakeLists.txt",
    "broker", "clients", "proto", "tests", "configs", "docs",
}

# First parts of an include of ours; anything else is a library's.
ROOTS = ("proto/", "broker/", "clients/", "tests/")

# Room (the longest matching prefix counts) -> prefixes of ours that it may include. The arrows:
#   proto <- broker/core <- broker/access <- broker/{relay,validator,recorder};  proto <- clients
MAY_INCLUDE = {
    "proto/base/": ("proto/base/",),
    # The loader fills the plain configuration of the vocabulary; it is a library of its own.
    "proto/base/conf": ("proto/base/", "proto/vocab/"),
    "proto/vocab/": ("proto/base/", "proto/vocab/"),
    "proto/": ("proto/",),
    "broker/core/": (
        "proto/vocab/", "proto/base/err.h", "proto/base/require.h", "broker/core/"),
    # What a record counts: its recorder begins with it, and trapline log shows it.
    "broker/ledger/": ("proto/", "broker/core/", "broker/ledger/"),
    "broker/access/": ("proto/", "broker/core/", "broker/access/"),
    "broker/relay/": ("proto/", "broker/core/", "broker/access/", "broker/relay/"),
    "broker/validator/": ("proto/", "broker/core/", "broker/access/", "broker/validator/"),
    "broker/recorder/": (
        "proto/", "broker/core/", "broker/ledger/", "broker/access/", "broker/recorder/"),
    "clients/": ("proto/", "clients/"),
    # The bridge shows wind over the deck while a value is being keyed.
    "clients/station/bridge/": ("proto/", "clients/", "broker/core/mechanics/wind.h"),
    "clients/plan/": ("proto/", "clients/", "broker/core/mechanics/"),
    # Replay and explain run the judgement itself.
    "clients/logbook/": ("proto/", "clients/", "broker/core/", "broker/ledger/"),
    "clients/tools/": ("proto/", "clients/", "broker/core/"),
    "tests/": ROOTS,
}

# Only here is generated code seen (*.pb-c.h).
GENERATED_ROOM = "proto/codec/"

LINES_MAX = 600
SOURCE_SUFFIXES = (".c", ".h", ".py", ".sh", ".proto", ".cmake")

# These lose or alter messages behind the receivers' back, or hide that a peer is gone; comments may
# say so. A whole word each: ZMQ_XPUB_MANUAL_LAST_VALUE is ZMQ_XPUB_MANUAL too.
BANNED_CALLS = re.compile(
    r"\b(?:zmq_proxy\w*|ZMQ_CONFLATE|ZMQ_XPUB_NODROP|ZMQ_XPUB_MANUAL\w*|ZMQ_HEARTBEAT_IVL)\b")
BANNED_MARKS = re.compile(r"\b(?:TODO|FIXME)\b")
# The first names them to ban them; the others are what the broker is measured against.
WORDS_EXEMPT = ("tests/arch/", "tests/bench/wire_load.c", "tests/bench/relay.py")

# What broker/core may leave to the linker: plain memory and text, the names of errors, the end of
# a program with a bug, and what compilers call by themselves (stack protector, the checked forms of
# FORTIFY, wide arithmetic of libgcc).
CORE_MAY_CALL = re.compile(
    r"(?:memcpy|memset|memcmp|memmove|strlen|strcmp|strncmp|strnlen|strncpy"
    r"|__(?:memcpy|memset|memmove|strncpy)_chk"
    r"|tl_require_failed|tl_err_text"
    r"|__stack_chk_fail|_GLOBAL_OFFSET_TABLE_|__[a-z]+[sdt]i[234])")

# Sections that can change while the program runs; tables of pointers in a position-independent
# program are in .data.rel.ro, which is read-only before main.
MUTABLE_SECTIONS = (".data", ".bss", ".tdata", ".tbss", "COMMON", "*COM*")
CONST_SECTIONS = (".data.rel.ro",)
