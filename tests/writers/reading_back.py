"""Reads set mathematics back and works it out, so that tests can ask what a reader would.

One small grammar serves TeX and Unicode text: sums, products with or without a sign, fractions,
whole powers, parallel resistances, parentheses, numbers, units, quantity symbols.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from fractions import Fraction

from derive.algebra.term import (
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    Term,
)

VOLT, OHM = Fraction(7), Fraction(11)
"""Two values that stand for the units, so that a lost or wrong unit changes the result."""
_UNITS = {
    "V": VOLT, "Ω": OHM, "A": VOLT / OHM, "W": VOLT**2 / OHM, "S": 1 / OHM,
}  # fmt: skip
_PREFIXES = {
    "": 1, "p": Fraction(1, 10**12), "n": Fraction(1, 10**9), "µ": Fraction(1, 10**6),
    "m": Fraction(1, 1000), "k": 1000, "M": 10**6, "G": 10**9,
}  # fmt: skip
_DOWN = str.maketrans("₀₁₂₃₄₅₆₇₈₉", "0123456789")
_UP = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")


def value_of(term: Term, values: Mapping[str, Fraction]) -> Fraction:
    """Work a term out by its definition."""
    match term:
        case Number(value):
            return value
        case Quantity(value, d):
            return value * VOLT**d.volt * OHM**d.ohm
        case Symbol(name):
            return values[name]
        case Negative(inner):
            return -value_of(inner, values)
        case Sum(terms):
            return sum((value_of(t, values) for t in terms), Fraction(0))
        case Product(factors):
            result = Fraction(1)
            for factor in factors:
                result *= value_of(factor, values)
            return result
        case Quotient(over, under):
            return value_of(over, values) / value_of(under, values)
        case Power(base, exponent):
            return value_of(base, values) ** exponent
        case Parallel(terms):
            return 1 / sum(1 / value_of(t, values) for t in terms)


def read_tex(tex: str, values: Mapping[str, Fraction]) -> Fraction:
    """Work out TeX mathematics. `values` is keyed by the plain names."""
    text = tex.replace("{,}", ".").replace(r"\left(", "(").replace(r"\right)", ")")
    text = re.sub(r"(?<=\d)\\,(?=\d)", "", text)  # digits in groups
    text = re.sub(r"\\mathrm\{([^}]*)\}(\\Omega)?", _tex_unit, text)
    text = re.sub(r"\\mu\s*(\\Omega|u\[([A-Z])\])", _micro, text).replace(r"\Omega", "u[Ω]")
    text = re.sub(r"\\mathcal\{E\}|\\varepsilon", "E", text)
    return _Reader(_tex_tokens(text), values).whole()


def read_text(text: str, values: Mapping[str, Fraction]) -> Fraction:
    """Work out a line of Unicode mathematics."""
    text = re.sub(r"(?<=\d)\N{NO-BREAK SPACE}(?=\d)", "", text)
    text = re.sub(r"(?<=\d),(?=\d)", ".", text)
    return _Reader(_text_tokens(text), values).whole()


Token = tuple[str, object]


def _tex_unit(match: re.Match[str]) -> str:
    return f"u[{match[1]}Ω]" if match[2] else f"u[{match[1]}]"


def _micro(match: re.Match[str]) -> str:
    return f"u[µ{match[2] or 'Ω'}]"


def _tex_tokens(text: str) -> Iterator[Token]:
    pattern = re.compile(
        r"(?P<number>\d+(?:\.\d+)?)|u\[(?P<unit>[^\]]+)\]|\\frac(?P<frac>)|(?P<name>[A-Z])_\{(?P<sub>\d+)\}"
        r"|\^\{(?P<power>-?\d+)\}|(?P<dot>\\cdot|\\times)|(?P<parallel>\\parallel)"
        r"|(?P<sign>[-+(){}])|(?P<space>\\,|\s+)"
    )
    yield from _tokens(pattern, text, lambda m: m["name"] + m["sub"])


def _text_tokens(text: str) -> Iterator[Token]:
    pattern = re.compile(
        r"(?P<number>\d+(?:\.\d+)?)|(?P<name>[A-Zℰε])(?P<sub>[₀-₉]+)"
        r"|(?P<unit>[pnµmkMG]?[VΩAWS])|(?P<power>[⁰¹²³⁴-⁹⁻]+)|(?P<dot>[·×])|(?P<parallel>∥)"
        r"|(?P<sign>[-+()/])|(?P<space>\s+)"
    )

    def name(match: re.Match[str]) -> str:
        letter = "E" if match["name"] in "ℰε" else match["name"]
        return letter + match["sub"].translate(_DOWN)

    yield from _tokens(pattern, text.replace("−", "-"), name)


def _tokens(
    pattern: re.Pattern[str], text: str, name: Callable[[re.Match[str]], str]
) -> Iterator[Token]:
    place = 0
    while place < len(text):
        match = pattern.match(text, place)
        assert match, f"cannot read {text[place:]!r} of {text!r}"
        place = match.end()
        kind = match.lastgroup
        if match.groupdict().get("name"):
            yield "name", name(match)
        elif kind == "number":
            yield "value", Fraction(match["number"])
        elif kind == "unit":
            unit = match["unit"]
            yield "unit", _PREFIXES[unit[:-1]] * _UNITS[unit[-1]]
        elif kind == "power":
            yield "power", int(match["power"].translate(_UP))
        elif kind == "dot":
            yield "*", None
        elif kind == "frac":
            yield "frac", None
        elif kind == "parallel":
            yield "parallel", None
        elif kind == "sign":
            yield match["sign"], None
    yield "end", None


class _Reader:
    """Recursive descent: parallel, then sum, then product, then power."""

    def __init__(self, tokens: Iterator[Token], values: Mapping[str, Fraction]) -> None:
        self.tokens = list(tokens)
        self.values = values
        self.place = 0

    def peek(self) -> str:
        return self.tokens[self.place][0]

    def take(self, kind: str) -> object:
        found, value = self.tokens[self.place]
        assert found == kind, f"{found} where {kind} should stand in {self.tokens}"
        self.place += 1
        return value

    def whole(self) -> Fraction:
        value = self.parallel()
        self.take("end")
        return value

    def parallel(self) -> Fraction:
        values = [self.sum()]
        while self.peek() == "parallel":
            self.take("parallel")
            values.append(self.sum())
        return values[0] if len(values) == 1 else 1 / sum(1 / value for value in values)

    def sum(self) -> Fraction:
        total = Fraction(0)
        sign = 1
        if self.peek() in "+-":
            sign = -1 if self.peek() == "-" else 1
            self.take(self.peek())
        while True:
            total += sign * self.product()
            if self.peek() not in ("+", "-"):
                return total
            sign = -1 if self.peek() == "-" else 1
            self.take(self.peek())

    def product(self) -> Fraction:
        value = self.power()
        while True:
            if self.peek() == "*":
                self.take("*")
                value *= self.power()
            elif self.peek() == "/":
                self.take("/")
                value /= self.power()
            elif self.peek() in ("value", "name", "unit", "frac", "("):
                assert self.peek() != "value", "two numbers side by side"
                value *= self.power()
            else:
                return value

    def power(self) -> Fraction:
        value = self.atom()
        if self.peek() == "power":
            exponent = self.take("power")
            assert isinstance(exponent, int)
            value **= exponent
        return value

    def atom(self) -> Fraction:
        kind = self.peek()
        if kind == "name":
            return self.values[str(self.take("name"))]
        if kind in ("value", "unit"):
            value = self.take(kind)
            assert isinstance(value, Fraction | int)
            return Fraction(value)
        if kind == "frac":
            self.take("frac")
            over = self.braced("{", "}")
            return over / self.braced("{", "}")
        return self.braced("(", ")")

    def braced(self, opening: str, closing: str) -> Fraction:
        self.take(opening)
        value = self.parallel()
        self.take(closing)
        return value
