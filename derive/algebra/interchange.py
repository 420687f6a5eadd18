"""Terms for sympy, for the user's own algebra. The only module that imports sympy."""

from __future__ import annotations

from typing import TYPE_CHECKING, assert_never

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
    SymbolKind,
    Term,
)

if TYPE_CHECKING:
    import sympy


def to_sympy(term: Term) -> sympy.Expr:
    """Return a term as an expression of sympy, in SI base units.

    Every letter becomes a symbol of its own name; resistances are positive, all else real.
    Nothing is parsed, so that names such as ``E1``, which sympy takes for a function, are safe.
    """
    import sympy

    match term:
        case Symbol(name, kind, _):
            if kind is SymbolKind.RESISTANCE:
                return sympy.Symbol(name, positive=True)
            return sympy.Symbol(name, real=True)
        case Number(value) | Quantity(value, _):
            return sympy.Rational(value.numerator, value.denominator)
        case Negative(inner):
            return -to_sympy(inner)
        case Sum(terms):
            return sympy.Add(*map(to_sympy, terms))
        case Product(factors):
            return sympy.Mul(*map(to_sympy, factors))
        case Quotient(numerator, denominator):
            return to_sympy(numerator) / to_sympy(denominator)
        case Power(base, exponent):
            return to_sympy(base) ** exponent
        case Exponential(exponent):
            return sympy.exp(to_sympy(exponent))
        case Parallel(terms):
            return 1 / sympy.Add(*(1 / to_sympy(item) for item in terms))
        case _:
            assert_never(term)
