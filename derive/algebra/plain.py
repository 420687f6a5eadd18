"""Terms and polynomials as plain text that Python can read: ``E1*R3/(R1 + R2)``."""

from __future__ import annotations

from fractions import Fraction
from typing import assert_never

from derive.algebra.name import identifier
from derive.algebra.polynomial import Poly
from derive.algebra.term import (
    Exponential,
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
    children,
)

_SUM, _PRODUCT, _SIGN, _POWER, _ATOM = range(5)
"""How tightly a piece of text holds together, as Python binds it."""


def plain(term: Term) -> str:
    """Return a term in plain text, with no parentheses beyond need; units are left out.

    >>> from derive.algebra.term import current, emf, number, resistance
    >>> r1, r2 = resistance("R1"), resistance("R2'")
    >>> plain(Quotient(Product((emf("E1"), Sum((r1, Negative(r2))))), Product((number(2), r1))))
    'E1*(R1 - R2_prime)/(2*R1)'
    >>> plain(Quotient(r1, Quotient(r1, r2))), plain(Power(Negative(r1), 2))
    ('R1/(R1/R2_prime)', '(-R1)**2')
    >>> plain(Parallel((r1, r2, number(3))))
    'R1*R2_prime*3/(R2_prime*3 + R1*3 + R1*R2_prime)'
    """
    return _write(term)[0]


def plain_polynomial(poly: Poly) -> str:
    """Return a polynomial in plain text, straight from its terms.

    >>> from derive.algebra.polynomial import Ring
    >>> from derive.algebra.term import resistance
    >>> a, b = Ring((resistance("R1"), resistance("R2"))).generators
    >>> plain_polynomial(a * a * 2 - a * b + Fraction(1, 2))
    '2*R1**2 - R1*R2 + 1/2'
    """
    return poly.text([identifier(symbol.name) for symbol in poly.ring.symbols])


def _write(term: Term) -> tuple[str, int]:
    """Return the text and how tightly it holds together."""
    match term:
        case Symbol(name):
            return identifier(name), _ATOM
        case Number(value) | Quantity(value, _):
            return _number(value)
        case Negative(inner):
            return "-" + _held(inner, _PRODUCT), _PRODUCT
        case Sum(terms):
            return _sum(terms)
        case Product(factors):
            return _product(factors)
        case Quotient(numerator, denominator):
            return f"{_held(numerator, _PRODUCT)}/{_held(denominator, _SIGN)}", _PRODUCT
        case Power(base, exponent):
            return f"{_held(base, _ATOM)}**{exponent}", _POWER
        case Exponential(exponent):
            return f"exp({_write(exponent)[0]})", _ATOM
        case Parallel(terms):
            return _parallel(terms), _PRODUCT
        case _:
            assert_never(term)


def _product(factors: tuple[Term, ...]) -> tuple[str, int]:
    # Without its unit, a factor of 1 Ω says nothing.
    kept = [f for f in factors if not (isinstance(f, Number | Quantity) and f.value == 1)]
    if not kept:
        return "1", _ATOM
    if len(kept) == 1:
        return _write(kept[0])
    first = _held(kept[0], _PRODUCT)
    return "*".join([first, *(_held(f, _SIGN) for f in kept[1:])]), _PRODUCT


def _parallel(terms: tuple[Term, ...]) -> str:
    """Return R1*R2/(R1 + R2) and the like, which holds when one of them is zero, too.

    Where parallels hold parallels each would stand there several times over; then the reciprocals
    are added instead.
    """
    if len(terms) > 1 and any(map(_holds_parallel, terms)):
        return f"1/({' + '.join(f'1/{_held(item, _ATOM)}' for item in terms)})"
    factors = [_held(item, _SIGN) for item in terms]
    if len(factors) == 1:
        return factors[0]
    rests = (factors[:k] + factors[k + 1 :] for k in range(len(factors)))
    return f"{'*'.join(factors)}/({' + '.join(map('*'.join, rests))})"


def _holds_parallel(term: Term) -> bool:
    return isinstance(term, Parallel) or any(map(_holds_parallel, children(term)))


def _number(value: Fraction) -> tuple[str, int]:
    return str(value), _ATOM if value.denominator == 1 and value >= 0 else _PRODUCT


def _sum(terms: tuple[Term, ...]) -> tuple[str, int]:
    text = ""
    for item in terms:
        minus = isinstance(item, Negative)
        body = _held(item.term, _PRODUCT) if isinstance(item, Negative) else _held(item, _PRODUCT)
        if text:
            text += f" - {body}" if minus else f" + {body}"
        else:
            text = f"-{body}" if minus else body
    return text or "0", _SUM


def _held(term: Term, needed: int) -> str:
    text, strength = _write(term)
    return text if strength >= needed else f"({text})"
