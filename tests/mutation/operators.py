# SPDX-License-Identifier: Apache-2.0
"""operators - the faults that are seeded, each a small change of one place of C text"""
import re

from tokens import KEYWORDS

SWAPS = {
    "relation": {"<": ("<=", ">="), "<=": ("<", ">"), ">": (">=", "<="), ">=": (">", "<")},
    "equality": {"==": ("!=",), "!=": ("==",)},
    "logic": {"&&": ("||",), "||": ("&&",)},
    "arithmetic": {"+": ("-",), "-": ("+",), "*": ("+",), "++": ("--",), "--": ("++",),
                   "+=": ("-=",), "-=": ("+=",)},
    "bits": {"&": ("|",), "|": ("&",), "|=": ("&=",), "&=": ("|=",), "~": ("",)},
    "boolean": {"true": ("false",), "false": ("true",)},
}
# These take two operands, or are something else altogether: a pointer, a sign of a number.
TWO_SIDED = frozenset("+ - * & |".split())
# Lengths of fields: one more or less is a fault of memory, which the sanitizers' builds look for.
LENGTH = re.compile(r"TL_\w*(?:_CAP|_LEN)$")
LIMIT = re.compile(r"TL_[A-Z0-9_]+$")
ENUM = re.compile(r"\benum(\s+\w+)?\s*\{(.*?)\}", re.DOTALL)
COMMENT = re.compile(r"/\*.*?\*/|//[^\n]*", re.DOTALL)
OPERAND_END = frozenset("&& || ? : ; , ( ) = { } [ ] return".split())
# The fields of ROW(...) in the table of rules, in order.
ROW_FIELDS = ("rule", "name", "severity", "effect", "kind", "acts", "owes", "from", "subject",
              "refuses-clear", "overridable", "transport", "text", "basis")
ROW_VALUES = {
    "severity": "EMERGENCY ALARM WARNING CAUTION".split(),
    "effect": "FORCE HOLD NOTE".split(),
    "kind": "SHIP PICTURE".split(),
}


class Mutant:
    """One change: the text from start to end gives way to another."""

    __slots__ = ("path", "function", "operator", "start", "end", "new", "source")

    def __init__(self, path, function, operator, start, end, new, source):
        self.path = path
        self.function = function  # "" outside
        self.operator = operator
        self.start = start
        self.end = end
        self.source = source
        # The number of lines stays, so that places in messages do.
        lost = source.count("\n", start, end) - new.count("\n")
        self.new = new + "\n" * max(lost, 0)

    @property
    def text(self):
        """The whole mutated source."""
        return self.source[:self.start] + self.new + self.source[self.end:]

    @property
    def line(self):
        """Number of the line where the change starts."""
        return self.source.count("\n", 0, self.start) + 1

    @property
    def line_text(self):
        """That line, in single spaces."""
        first = self.source.rfind("\n", 0, self.start) + 1
        last = self.source.find("\n", self.start)
        return " ".join(self.source[first:last].split())

    @property
    def change(self):
        """What becomes what, on one line."""
        old = " ".join(self.source[self.start:self.end].split())
        return f"{old} => {' '.join(self.new.split())}".strip()


class Enums:
    """Which constants belong together, and which are plain limits."""

    def __init__(self, headers):
        self.of = {}
        self.limits = set()
        for text in headers:
            for name, body in ENUM.findall(COMMENT.sub("", text)):
                members = [part.split("=")[0].strip() for part in body.split(",") if part.strip()]
                if not name.strip() and not all("_ACTS_" in member for member in members):
                    self.limits.update(members)
                    continue
                for member in members:
                    self.of[member] = members

    def next(self, name):
        """The constant after that one, in a ring; None when there is no other."""
        members = [m for m in self.of.get(name, []) if not m.endswith(("_KINDS", "_MAX"))]
        if name not in members or len(members) < 2:
            return None
        return members[(members.index(name) + 1) % len(members)]


class Maker:
    """Makes every mutant of one file."""

    def __init__(self, path, unit, enums):
        self.path = path
        self.unit = unit
        self.enums = enums
        self.made = []
        self.rows = self._find_rows()

    def _find_rows(self):
        """Tokens of a row of a table, where its own operators apply."""
        inside = set()
        for i, token in enumerate(self.unit.tokens):
            if token.text == "ROW" and self.unit.text(i + 1) == "(":
                inside.update(range(i, self.unit.partner[i + 1] + 1))
        return inside

    def add(self, operator, first, last, new):
        """Replace the tokens first .. last."""
        tokens = self.unit.tokens
        function = next((f.name for f in self.unit.functions if f.first <= first <= f.last), "")
        self.made.append(Mutant(self.path, function, operator, tokens[first].start,
                                tokens[last].end, new, self.unit.source))

    def make(self):
        """All mutants, in the order of the text."""
        for i, token in enumerate(self.unit.tokens):
            if i not in self.rows:
                self._swap(i, token)
                self._constant(i, token)
                self._drop_not(i, token)
                self._choice(i, token)
                self._operands(i, token)
                self._condition(i, token)
                self._jump(i, token)
                self._entry(i, token)
            elif token.text == "ROW":
                self._row(i)
        for function in self.unit.functions:
            self._function(function)
        return sorted(self.made, key=lambda m: (m.start, m.operator, m.new))

    def _swap(self, i, token):
        if token.kind not in ("sign", "name"):
            return
        if token.text in TWO_SIDED and not self.unit.is_value_end(i - 1):
            return
        if token.text in ("++", "--") and self._in_for_header(i):
            return  # a loop without end tells nothing
        for operator, swaps in SWAPS.items():
            for new in swaps.get(token.text, ()):
                self.add(operator, i, i, new)

    def _in_for_header(self, i):
        while i >= 0 and self.unit.text(i) not in ("{", "}"):
            if self.unit.text(i) == "for" and self.unit.partner.get(i + 1, 0) > i:
                return self.unit.text(i + 1) == "("
            if self.unit.text(i) == ")":
                i = self.unit.partner[i]
            i -= 1
        return False

    def _constant(self, i, token):
        if token.kind == "number":
            whole = re.fullmatch(r"(\d+)([uUlL]*)", token.text)
            bare = self.unit.text(i - 1) == "{" and self.unit.text(i + 1) == "}"
            if whole and not bare:
                value, suffix = int(whole.group(1)), whole.group(2)
                for new in (value + 1, value - 1):
                    if new >= 0:
                        self.add("number", i, i, f"{new}{suffix}")
        elif token.kind == "name" and token.text in self.enums.of:
            other = self.enums.next(token.text)
            if other is not None:
                self.add("enum", i, i, other)
        elif token.text in self.enums.limits and not LENGTH.match(token.text) \
                and LIMIT.match(token.text):
            self.add("limit", i, i, f"({token.text} + 1)")
            self.add("limit", i, i, f"({token.text} - 1)")

    def _drop_not(self, i, token):
        if token.text == "!":
            self.add("not", i, i, "")

    def _choice(self, i, token):
        if token.kind == "sign" and token.text == "?":
            self.add("choice", i, i, "== 0 ?")

    def _operands(self, i, token):
        if token.text not in ("&&", "||"):
            return
        neutral = "1" if token.text == "&&" else "0"
        first = self._operand_start(i - 1)
        if self.unit.text(first - 1) not in ("&&", "||"):
            self.add("operand", first, i - 1, neutral)
        self.add("operand", i + 1, self._operand_end(i + 1), neutral)

    def _operand_start(self, i):
        while True:
            if self.unit.text(i) in (")", "]"):
                i = self.unit.partner[i]
            if self.unit.text(i - 1) in OPERAND_END - {")", "]"}:
                return i
            i -= 1

    def _operand_end(self, i):
        while True:
            if self.unit.text(i) in ("(", "["):
                i = self.unit.partner[i]
            if self.unit.text(i + 1) in OPERAND_END - {"(", "["}:
                return i
            i += 1

    def _condition(self, i, token):
        if token.text not in ("if", "while") or self.unit.text(i + 1) != "(":
            return
        last = self.unit.partner[i + 1]
        inner = self.unit.between(i + 2, last - 1)
        self.add("negate", i + 2, last - 1, f"!({inner})")
        self.add("always", i + 2, last - 1, f"1 || ({inner})")
        self.add("never", i + 2, last - 1, f"0 && ({inner})")

    def _jump(self, i, token):
        if token.text in ("break", "continue"):
            self.add("jump", i, i, "")

    def _entry(self, i, token):
        """An element of a table: {TL_..., name}."""
        if token.text == "{" and self.unit.text(i - 1) in ("{", ",") \
                and self.unit.text(i + 1).startswith("TL_"):
            last = self.unit.partner[i]
            last += 1 if self.unit.text(last + 1) == "," else 0
            self.add("entry", i, last, "")

    def _row(self, i):
        last = self.unit.partner[i + 1]
        end = last + (1 if self.unit.text(last + 1) == "," else 0)
        self.add("row", i, end, "")
        fields = []
        start = i + 2
        for k in range(i + 2, last + 1):
            if self.unit.text(k) == "," or k == last:
                fields.append((start, k - 1))
                start = k + 1
        if len(fields) != len(ROW_FIELDS):
            raise ValueError(f"{self.path}: a ROW of {len(fields)} fields")
        for name, (first, final) in zip(ROW_FIELDS, fields):
            for new in self._field(name, self.unit.between(first, final)):
                self.add("row-" + name, first, final, new)

    def _field(self, name, old):
        if name in ROW_VALUES:
            return [value for value in ROW_VALUES[name] if value != old]
        if name in ("acts", "owes"):
            return [f"({old}) ^ {bit}" for bit in ("TL_ACTS_NAMED", "TL_ACTS_PRIMARY",
                                                   "TL_ACTS_PLATFORM", "TL_ACTS_ENGINES")]
        if name == "from":
            return [value for value in ("UNKNOWN", "ENGINE", "WIRES") if value != old]
        if name == "subject":
            return [value for value in ("UNKNOWN", "SET", "DECK") if value != old]
        if old in ("true", "false"):
            return ["false" if old == "true" else "true"]
        return [old + ' "x"'] if old.startswith('"') else []

    def _function(self, function):
        if function.returns == "void":
            self.add("early", function.first, function.first, "{ return;")
        i = function.first + 1
        while i < function.last:
            text = self.unit.text(i)
            if text == "return":
                self._return(function, i)
            if self._starts_statement(i):
                i = self._statement(i)
            i += 1

    def _return(self, function, i):
        last = self._find_end(i)
        if last <= i + 1:
            return
        value = self.unit.between(i + 1, last - 1)
        if function.returns == "bool" and value not in ("true", "false"):
            self.add("return", i + 1, last - 1, f"!({value})")
        elif function.returns == "pointer" and value != "NULL":
            self.add("return", i + 1, last - 1, "NULL")
        elif function.returns == "number" and value != "0":
            self.add("return", i + 1, last - 1, "0")

    def _find_end(self, i):
        while self.unit.text(i) != ";":
            if self.unit.text(i) in ("(", "[", "{"):
                i = self.unit.partner[i]
            i += 1
        return i

    def _starts_statement(self, i):
        if self._in_for_header(i):
            return False
        before = self.unit.text(i - 1)
        after_head = before == ")" and self.unit.text(self.unit.partner[i - 1] - 1) in (
            "if", "for", "while")
        if before not in (";", "{", "}", "else", ":") and not after_head:
            return False
        token = self.unit.tokens[i]
        if token.text in ("*", "(", "++", "--"):
            return True
        if token.kind != "name" or token.text in KEYWORDS:
            return False
        one, two = self.unit.tokens[i + 1], self.unit.tokens[i + 2]
        pointer = one.text == "*" and two.kind == "name"
        return one.kind != "name" and not pointer and one.text != ":"

    def _statement(self, i):
        start = i
        while self.unit.text(i) != ";":
            if self.unit.text(i) in ("{", "}"):
                return start
            if self.unit.text(i) in ("(", "["):
                i = self.unit.partner[i]
            elif self.unit.text(i) == "=" and self.unit.text(i + 1) == "{":
                i = self.unit.partner[i + 1]
            elif self.unit.text(i) == ")":
                return start
            i += 1
        call = all(self.unit.text(k) not in ("=", "+=", "|=", "++", "--")
                   for k in range(start, i) if self._outer(start, k))
        self.add("call" if call else "assignment", start, i - 1, "")
        return start

    def _outer(self, start, k):
        """Not inside brackets of that statement."""
        return not any(self.unit.text(j) in ("(", "[") and j < k < self.unit.partner.get(j, 0)
                       for j in range(start, k))


def make_mutants(path, unit, enums):
    """Every mutant of that file."""
    return Maker(path, unit, enums).make()
