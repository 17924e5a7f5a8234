# SPDX-License-Identifier: Apache-2.0
"""tokens - C text as tokens with their places, and what a mutation must know about them

No preprocessor is run: directives, comments and texts are one token each.
"""
import re

TOKEN = re.compile(
    r"(?P<space>\s+)"
    r"|(?P<comment>/\*.*?\*/|//[^\n]*)"
    r"|(?P<directive>(?m:^)[ \t]*\#(?:[^\n\\]|\\.|\\\n)*)"
    r'|(?P<text>"(?:[^"\\]|\\.)*")'
    r"|(?P<char>'(?:[^'\\]|\\.)*')"
    r"|(?P<number>\d[\w.]*)"
    r"|(?P<name>[A-Za-z_]\w*)"
    r"|(?P<sign>->|\+\+|--|<<=|>>=|<=|>=|==|!=|&&|\|\||\+=|-=|\*=|/=|\|=|&=|<<|>>|\.\.\.|.)",
    re.DOTALL)

KEYWORDS = frozenset(
    "break case const continue default do else enum extern for goto if inline return sizeof static"
    " struct switch typedef union void volatile while".split())
OPENING = {"(": ")", "[": "]", "{": "}"}


class Token:
    """One token: its kind, text, and place in the source."""

    __slots__ = ("kind", "text", "start", "end")

    def __init__(self, kind, text, start):
        self.kind = kind
        self.text = text
        self.start = start
        self.end = start + len(text)


def split(source):
    """Tokens that mean something, in order."""
    found = []
    for match in TOKEN.finditer(source):
        if match.lastgroup not in ("space", "comment", "directive"):
            found.append(Token(match.lastgroup, match.group(), match.start()))
    return found


class Function:
    """A function body: its tokens are first .. last, both braces included."""

    def __init__(self, name, returns, first, last):
        self.name = name
        self.returns = returns  # "void", "bool", "pointer" or "number"
        self.first = first
        self.last = last


class Unit:
    """The tokens of one source file, with partners of brackets and the functions."""

    def __init__(self, source):
        self.source = source
        self.tokens = split(source)
        self.partner = self._pair()
        self.functions = self._find_functions()

    def _pair(self):
        partner = {}
        open_at = []
        for i, token in enumerate(self.tokens):
            if token.kind == "sign" and token.text in OPENING:
                open_at.append(i)
            elif token.kind == "sign" and token.text in OPENING.values() and open_at:
                partner[open_at[-1]] = i
                partner[i] = open_at.pop()
        return partner

    def text(self, i):
        """Text of that token; "" outside."""
        return self.tokens[i].text if 0 <= i < len(self.tokens) else ""

    def between(self, first, last):
        """Source of the tokens first .. last, both included."""
        return self.source[self.tokens[first].start:self.tokens[last].end]

    def _find_functions(self):
        found = []
        start = 0
        i = 0
        while i < len(self.tokens):
            text = self.text(i)
            if text == "{" and self.text(i - 1) == ")" and i in self.partner:
                name = self.partner[i - 1] - 1
                found.append(Function(self.text(name), self._returned(start, name), i,
                                      self.partner[i]))
            if text in ("{", "(") and i in self.partner:
                i = self.partner[i]
            if self.text(i) in (";", "}"):
                start = i + 1
            i += 1
        return found

    def _returned(self, start, name):
        words = [self.text(k) for k in range(start, name)]
        if words and words[-1] == "*":
            return "pointer"
        return next((word for word in ("void", "bool") if word in words), "number")

    def is_value_end(self, i):
        """Does a value end with that token, so that a sign after it takes two operands?"""
        if i < 0:
            return False
        token = self.tokens[i]
        if token.kind == "name":
            return token.text not in KEYWORDS and not self._is_type(i)
        return token.kind in ("number", "text", "char") or token.text in (")", "]")

    def _is_type(self, i):
        """Does the name of a type end there?"""
        return (self.text(i - 1) in ("struct", "enum") or self.text(i) in ("char", "bool")
                or self.text(i).endswith(("_t", "_fn")))
