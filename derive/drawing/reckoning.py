"""How much room a label takes when it is set: reckoned, a little on the large side."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from derive.algebra.dimension import unit_of
from derive.algebra.name import split_name
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
from derive.drawing.model import LabelContent, LoopName, PlusSign, PointNames, TextSize

_POINT = 25.4 / 72.27
_NARROW = frozenset("IJijlrt()'.,1 ")
_HEIGHT, _FRACTION_HEIGHT = 1.02, 2.3
_SUBSCRIPT = 0.72


def label_size(content: LabelContent, size: TextSize) -> tuple[float, float]:
    """Return width and height of a label in millimetres."""
    em = size.value * _POINT
    match content:
        case PlusSign():
            return 0.62 * em, 0.62 * em
        case PointNames(names):
            return (sum(_name(n) for n in names) + 0.45 * (len(names) - 1)) * em, 0.85 * em
        case LoopName(name):
            return _text(name) * em, 0.8 * em
        case _:
            tall = _FRACTION_HEIGHT if _has_fraction(content) else _HEIGHT
            return _term(content) * em, tall * em


def _text(text: str) -> float:
    return sum(0.5 if c in _NARROW else 0.56 if c.isdecimal() else 0.82 for c in text)


def _name(text: str) -> float:
    name = split_name(text)
    base = 0.92 if name.base in "MWmw" else 0.56 if name.base in _NARROW else 0.8
    return base + _SUBSCRIPT * _text(name.subscript) + 0.28 * name.primes + 0.06


def _number(value: Fraction) -> float:
    digits = _terminating(value)
    if digits is None:
        return 0.56 * max(len(str(value.numerator)), len(str(value.denominator))) + 0.3
    return sum(0.3 if c == "." else 0.52 for c in digits) + 0.17 * (len(digits) // 4)


def _terminating(value: Fraction) -> str | None:
    """Return the decimal digits of a value; None when they never end."""
    places, rest = 0, value.denominator
    while rest % 10 == 0:
        rest, places = rest // 10, places + 1
    for factor in (2, 5):
        while rest % factor == 0:
            rest, places = rest // factor, places + 1
    if rest != 1:
        return None
    digits = str(abs(value.numerator) * 10**places // value.denominator).rjust(places + 1, "0")
    return f"{digits[:-places]}.{digits[-places:]}" if places else digits


def _has_fraction(term: Term) -> bool:
    match term:
        case Number(value) | Quantity(value, _):
            return _terminating(value) is None
        case Quotient():
            return True
        case Negative(inner) | Power(inner, _):
            return _has_fraction(inner)
        case Sum(terms) | Parallel(terms) | Product(terms):
            return any(_has_fraction(item) for item in terms)
        case Symbol():
            return False
        case _:
            assert_never(term)


def _term(term: Term) -> float:
    match term:
        case Number(value):
            return _number(value)
        case Quantity(value, dimension):
            unit = sum(0.85 + (0.35 if power != 1 else 0.0) for _, power in unit_of(dimension))
            # Room for an SI prefix, which the writer may choose.
            return _number(value) + unit + (0.5 if value >= 1000 or value < 1 else 0.0) + 0.2
        case Symbol(name=name):
            if "(" not in name:
                return _name(name)
            # V(B,A) and P(R1): a letter with the inner names as its subscript.
            return 0.8 + _SUBSCRIPT * sum(_name(n) for n in name[2:-1].split(","))
        case Negative(inner):
            return _term(inner) + 0.8
        case Sum(terms) | Parallel(terms):
            return sum(_term(item) for item in terms) + 1.25 * (len(terms) - 1)
        case Product(factors):
            return sum(_term(item) + (0.8 if isinstance(item, Sum) else 0.15) for item in factors)
        case Quotient(numerator, denominator):
            return max(_term(numerator), _term(denominator)) + 0.3
        case Power(base, _):
            return _term(base) + 0.4
        case _:
            assert_never(term)
