"""Mathematics as a reader of a page takes it in: chains of sides, and what each side says.

The readers of the formats turn what they find into tokens; one grammar makes trees of them. A tree
keeps all that is said (digits, units, signs, names) and nothing of how it is set: a fraction with a
bar and one on the line, in the parentheses it needs there, are the same tree. What cannot be read
is refused. Nothing of the package is used.

Tokens: ``("number", "3.70")``, ``("name", "R_1")``, ``("unit", "mA")``, ``("word", text)`` for
upright letters that may be a unit or the name of a point, ``("sign", "+")`` for every operator and
relation by its Unicode character, ``("(",)``, ``(")",)``, ``("fraction", above, below)`` with
tokens in it, ``("power", 2)``, ``("e", tokens)``.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

Token = tuple[Any, ...]
Tree = tuple[Any, ...]
"""``("number", digits)``, ``("name", name)``, ``("unit", symbol)``, ``("-", tree)``,
``("+", tree)`` for a sign that is written in front, ``("sum", (sign, tree), …)``,
``("product", tree, …)``, ``("quotient", tree, tree)``, ``("power", tree, n)``,
``("parallel", tree, …)``, ``("e", tree)``."""

RELATIONS = frozenset("=≈><≠→≤")
UNITS = frozenset(["V", "Ω", "A", "W", "S", "C", "F", "J", "s", "%", "Wh", "Ah", "min", "h", "d"])
PREFIXES = {"p": -12, "n": -9, "µ": -6, "m": -3, "": 0, "k": 3, "M": 6, "G": 9}
_PLAIN = frozenset(["%", "min", "h", "d"])
"""Units without prefixes."""
SYMBOLS = {
    prefix + unit: (prefix, unit)
    for unit in UNITS
    for prefix in PREFIXES
    if not prefix or unit not in _PLAIN
}
"""Unit symbols as they are printed, and what they are made of."""


class Misread(Exception):  # noqa: N818  (a finding about a page)
    """What stands there cannot be read."""


@dataclass(frozen=True, slots=True)
class Chain:
    """Sides with relations between them; a single side is a chain too."""

    sides: tuple[Tree, ...]
    relations: tuple[str, ...] = ()


def name(base: str, below: str = "", primes: int = 0) -> str:
    """Return how a name is spelled in trees: base, subscript, primes, without white space.

    >>> name("P", "R1"), name("I", "3", 1)
    ('P_R1', 'I_3′')
    """
    below = re.sub(r"(?<=\d),(?=\d)", ".", re.sub(r"\s+", "", below))
    return (base + (f"_{below}" if below else "") + "′" * primes).replace("µ", "μ")


def read(tokens: Sequence[Token]) -> Chain:
    """Make a chain of tokens."""
    reader = _Reader(tokens)
    sides, relations = [reader.side()], []
    while reader.sign() in RELATIONS:
        relations.append(reader.next()[1])
        sides.append(reader.side())
    reader.end()
    return Chain(tuple(sides), tuple(relations))


class _Reader:
    """Recursive descent: parallel, then sum, then product, then power."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = [*tokens, ("end",)]
        self.place = 0

    def peek(self) -> str:
        kind = self.tokens[self.place][0]
        assert isinstance(kind, str)
        return kind

    def sign(self) -> str:
        return self.tokens[self.place][1] if self.peek() == "sign" else ""

    def next(self) -> Token:
        self.place += 1
        return self.tokens[self.place - 1]

    def end(self) -> None:
        if self.peek() != "end":
            raise Misread(f"{self.tokens[self.place]} in {self.tokens}")

    def side(self) -> Tree:
        terms = [self.sum()]
        while self.sign() == "∥":
            self.next()
            terms.append(self.sum())
        return terms[0] if len(terms) == 1 else ("parallel", *terms)

    def sum(self) -> Tree:
        first = self.next()[1] if self.sign() in ("+", "−") else ""
        terms = [(first or "+", self.product())]
        while self.sign() in ("+", "−"):
            sign = self.next()[1]
            terms.append((sign, self.product()))
        if len(terms) > 1:
            return ("sum", *terms)
        ((_, term),) = terms
        return {"": term, "−": ("-", term), "+": ("+", term)}[first]

    def product(self) -> Tree:
        factors = [self.factor()]
        while True:
            sign = self.sign()
            if sign == "/":
                self.next()
                factors = [("quotient", _product(factors), self.factor())]
            elif sign in ("·", "×"):
                self.next()
                factors.append(self.factor())
            elif self.peek() in ("name", "unit", "word", "fraction", "(", "e"):
                factors.append(self.factor(_ends_value(factors[-1])))
            elif self.peek() == "number":
                raise Misread(f"two numbers side by side: {self.tokens}")
            else:
                return _product(factors)

    def factor(self, after_value: bool = False) -> Tree:
        atom = self.atom(after_value)
        if self.peek() == "power":
            return ("power", atom, self.next()[1])
        return atom

    def atom(self, after_value: bool) -> Tree:
        token = self.next()
        match token:
            case ("number", _) | ("unit", _):
                return token
            case ("name", said):
                if self.tokens[self.place : self.place + 3] == [("(",), ("name", "t"), (")",)]:
                    self.place += 3
                    return ("name", f"{said}(t)")
                return token
            case ("word", text):
                is_unit = after_value and text in SYMBOLS
                return ("unit" if is_unit else "name", text.replace(" ", ""))
            case ("fraction", above, below):
                return ("quotient", _whole(above), _whole(below))
            case ("e", power):
                return ("e", _whole(power))
            case ("(",):
                inner = self.side()
                if self.next() != (")",):
                    raise Misread(f"a parenthesis that is not closed: {self.tokens}")
                return inner
        raise Misread(f"{token} in {self.tokens}")


def _whole(tokens: Sequence[Token]) -> Tree:
    reader = _Reader(tokens)
    found = reader.side()
    reader.end()
    return found


def _ends_value(tree: Tree) -> bool:
    """Tell whether a unit may come after a factor: a number, a unit, a fraction, a sum."""
    return tree[0] in ("number", "unit", "quotient", "sum", "product", "-") or (
        tree[0] == "power" and tree[1][0] in ("unit", "number")
    )


def _product(factors: Sequence[Tree]) -> Tree:
    flat: list[Tree] = []
    for factor in factors:
        flat.extend(factor[1:] if factor[0] == "product" else (factor,))
    return flat[0] if len(flat) == 1 else ("product", *flat)
