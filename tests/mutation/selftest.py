#!/usr/bin/python3 -B
# SPDX-License-Identifier: Apache-2.0
"""selftest - each operator seeds exactly the faults it is there for, in a small text

Exit 0 as wanted, 1 not.
"""
import os
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))

import operators  # noqa: E402  pylint: disable=wrong-import-position
import tokens  # noqa: E402  pylint: disable=wrong-import-position

HEADER = "enum tl_colour { TL_RED, TL_BLUE }; enum { TL_TOP = 7, TL_NAME_CAP = 9 };"

# (C text, operator, what becomes what)
WANTED = (
    ("int f(void) { return a < b; }", "relation", {"< => <=", "< => >="}),
    ("int f(void) { return a == b; }", "equality", {"== => !="}),
    ("int f(void) { return a && b; }", "logic", {"&& => ||"}),
    ("int f(void) { return a && b || c; }", "operand",
     {"a => 1", "b => 1", "c => 0"}),
    ("int f(void) { return g(a, b)->c && x; }", "operand", {"g(a, b)->c => 1", "x => 1"}),
    ("int f(struct s *p) { return a - b; }", "arithmetic", {"- => +"}),
    ("void f(void) { for (i = 0; i < n; i++) { n++; } }", "arithmetic", {"++ => --"}),
    ("int f(void) { return a & ~b; }", "bits", {"& => |", "~ =>"}),
    ("bool f(void) { return true; }", "boolean", {"true => false"}),
    ("int f(void) { g(3u, 0); }", "number", {"3u => 4u", "3u => 2u", "0 => 1"}),
    ("void f(void) { struct s s = {0}; }", "number", set()),
    ("int f(void) { return TL_RED; }", "enum", {"TL_RED => TL_BLUE"}),
    ("int f(void) { return TL_TOP; }", "limit", {"TL_TOP => (TL_TOP + 1)", "TL_TOP => (TL_TOP - 1)"}),
    ("int f(void) { return TL_NAME_CAP; }", "limit", set()),
    ("int f(void) { return !a; }", "not", {"! =>"}),
    ("int f(void) { return a ? b : c; }", "choice", {"? => == 0 ?"}),
    ("void f(void) { if (a) { g(); } }", "negate", {"a => !(a)"}),
    ("void f(void) { if (a) { g(); } }", "always", {"a => 1 || (a)"}),
    ("void f(void) { if (a) { g(); } }", "never", {"a => 0 && (a)"}),
    ("void f(void) { for (;;) { break; } }", "jump", {"break =>"}),
    ("void f(void) { for (i = 0; i < n; i++) { } }", "call", set()),
    ("void f(void) { g(a = 1); }", "call", {"g(a = 1) =>"}),
    ("void f(void) { struct s x = g(); bool y = h(); s t; *p = 1; }", "assignment", {"*p = 1 =>"}),
    ("void f(void) { g(); }", "early", {"{ => { return;"}),
    ("bool f(void) { return a; }", "return", {"a => !(a)"}),
    ("static struct s * f(void) { return a; }", "return", {"a => NULL"}),
    ("enum tl_colour f(void) { return g(); }", "return", {"g() => 0"}),
    ("t x[] = {{TL_RED, f}, {TL_BLUE, g}};", "entry", {"{TL_RED, f}, =>", "{TL_BLUE, g} =>"}),
    ("/* a < b */ char *t = \"a < b\"; \n#define X a < b\n", "relation", set()),
)


def main():
    """Compare each line of the table."""
    enums = operators.Enums([HEADER])
    failed = 0
    for source, operator, wanted in WANTED:
        made = operators.make_mutants("x.c", tokens.Unit(source), enums)
        got = {mutant.change for mutant in made if mutant.operator == operator}
        if got != wanted:
            failed += 1
            print(f"{operator}: {source}\n    wanted {sorted(wanted)}\n    got    {sorted(got)}")
    print(f"{len(WANTED)} texts, {failed} not as wanted")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
