"""What each exchange makes, by what it is made of."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations
from math import prod

from derive.algebra.term import (
    Negative,
    Parallel,
    Product,
    Quotient,
    Sum,
    Symbol,
    Term,
    number,
    total,
)
from derive.analysis.exchange.net import Exchanged, is_emf
from derive.derivation.exchanges import Exchange


def definitions(move: Exchanged) -> Iterator[tuple[Symbol, Term]]:
    """Yield what a move makes, in the order in which it can be reckoned out."""
    taken, made = move.step.taken, move.step.made
    emfs = [s for s in taken if is_emf(s)]
    resistances = [s for s in taken if not is_emf(s)]
    match move.step.exchange:
        case Exchange.SERIES:
            yield made[0], Sum(taken)
        case Exchange.PARALLEL:
            yield made[0], Parallel(taken)
        case Exchange.EMFS | Exchange.CURRENTS:
            signed: list[Term] = [s if move.along[s] else Negative(s) for s in taken]
            yield made[0], total(tuple(signed))
        case Exchange.ALIKE:
            yield made[0], emfs[0]
            yield made[1], Quotient(resistances[0], number(len(resistances)))
        case Exchange.CURRENT_SOURCE:
            yield made[0], Quotient(*taken)
        case Exchange.BATTERY:
            yield made[0], Product((taken[1], taken[0]))
        case Exchange.DELTA:
            others = [tuple(s for s in taken if s != own) for own in taken]
            for symbol, pair in zip(made, others, strict=True):
                yield symbol, Quotient(Product(pair), Sum(taken))
        case Exchange.STAR if len(taken) == 3:
            pairs = list(combinations(taken, 2))
            products = Sum(tuple(map(Product, pairs)))
            opposite = [next(s for s in taken if s not in pair) for pair in pairs]
            for symbol, own in zip(made, opposite, strict=True):
                yield symbol, Quotient(products, own)
        case Exchange.STAR:
            for symbol, pair in zip(made, combinations(taken, 2), strict=True):
                yield symbol, Quotient(Product(pair), Parallel(taken))
        case Exchange.IDLE | Exchange.LEVEL | Exchange.ACROSS | Exchange.WIRE:
            return


def flat(term: Term) -> Term:
    """Write sums within sums, and parallels within parallels, as one."""
    match term:
        case Sum(terms) | Parallel(terms):
            kind = type(term)
            found: list[Term] = []
            for item in map(flat, terms):
                found += item.terms if isinstance(item, kind) else (item,)
            return kind(tuple(found))
        case Negative(inner):
            return Negative(flat(inner))
        case Product(factors):
            return Product(tuple(map(flat, factors)))
        case Quotient(numerator, denominator):
            return Quotient(flat(numerator), flat(denominator))
        case _:
            return term


def products_of(term: Term) -> tuple[int, int]:
    """Return how many products multiplying out would give above and below the line, at most."""
    match term:
        case Sum(terms):
            return _added([products_of(item) for item in terms])
        case Parallel(terms):
            above, below = _added([products_of(item)[::-1] for item in terms])
            return below, above
        case Negative(inner):
            return products_of(inner)
        case Product(factors):
            pairs = [products_of(factor) for factor in factors]
            return prod(a for a, _ in pairs), prod(b for _, b in pairs)
        case Quotient(numerator, denominator):
            (a, b), (c, d) = products_of(numerator), products_of(denominator)
            return a * d, b * c
        case _:
            return 1, 1


def _added(pairs: Sequence[tuple[int, int]]) -> tuple[int, int]:
    """Return the counts of a sum of fractions over a common denominator."""
    below = prod(b for _, b in pairs)
    return sum(a * below // b for a, b in pairs), below
