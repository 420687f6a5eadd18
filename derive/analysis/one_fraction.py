"""Products and quotients of terms as one fraction."""

from __future__ import annotations

from derive.algebra.term import Negative, Product, Quotient, Sum, Term, negate, product, quotient


def one_fraction(term: Term) -> Term:
    """Return products and quotients inside each other as one fraction, equal factors cancelled.

    >>> from derive.algebra.term import ONE, capacitance
    >>> a, b = capacitance("C1"), capacitance("C2")
    >>> one_fraction(Product((a, Quotient(Quotient(b, a), b)))) == ONE
    True
    """
    if isinstance(term, Negative):
        return negate(one_fraction(term.term))
    above, below, minus = _factors(term)
    for factor in tuple(below):
        if factor in above:
            above.remove(factor)
            below.remove(factor)
    found = quotient(product(*above), product(*below)) if below else product(*above)
    return negate(found) if minus else found


def _factors(term: Term) -> tuple[list[Term], list[Term], bool]:
    """Return what stands above and below in a product of fractions, and whether it is negative."""
    match term:
        case Negative(inner):
            above, below, minus = _factors(inner)
            return above, below, not minus
        case Product(factors):
            parts = [_factors(factor) for factor in factors]
            return (
                [f for above, _, _ in parts for f in above],
                [f for _, below, _ in parts for f in below],
                sum(minus for _, _, minus in parts) % 2 == 1,
            )
        case Quotient(numerator, denominator):
            above, below, minus = _factors(numerator)
            under, over, other = _factors(denominator)
            return above + over, below + under, minus != other
        case _:
            return [term], [], False


def _begins_with_minus(term: Term) -> bool:
    return isinstance(term, Sum) and isinstance(term.terms[0], Negative)


def _negated(term: Term) -> Term:
    if isinstance(term, Sum):
        return Sum(tuple(negate(item) for item in term.terms))
    return negate(term)
