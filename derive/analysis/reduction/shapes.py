"""Shapes that a reader knows by name, found in merged resistances and in bridges."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from derive.algebra.term import Parallel, Sum, Symbol, Term
from derive.analysis.reduction.network import Arm, nodes_of


def is_flat(term: Term | None, kind: type[Sum] | type[Parallel]) -> bool:
    """Tell whether a resistance is nothing but letters in series, or in parallel."""
    return isinstance(term, kind) and all(isinstance(inner, Symbol) for inner in term.terms)


def first_groups(term: Term | None) -> Iterator[tuple[type[Term], list[Symbol]]]:
    """Yield the resistors that are in series or in parallel before anything is merged."""
    if not isinstance(term, Sum | Parallel):
        return
    for inner in term.terms:
        yield from first_groups(inner)
    plain = [inner for inner in term.terms if isinstance(inner, Symbol)]
    if len(plain) > 1:
        yield type(term), plain


def opposite_arms(
    arms: Sequence[Arm], idle: Sequence[Arm]
) -> tuple[Symbol, Symbol, Symbol, Symbol] | None:
    """Return the arms of a simple bridge, each beside the one opposite to it."""
    source = next(arm for arm in arms if arm.emfs)
    if len(arms) != 6 or len(nodes_of(arms)) != 4 or len(idle) != 1:
        return None
    around = {
        frozenset((arm.tail, arm.head)): arm.resistance
        for arm in arms
        if arm is not source and arm is not idle[0]
    }
    one, other = idle[0].tail, idle[0].head
    pairs = ((source.tail, one), (source.head, other), (source.tail, other), (source.head, one))
    found = [around.get(frozenset(pair)) for pair in pairs]
    letters = tuple(term for term in found if isinstance(term, Symbol))
    return (letters[0], letters[1], letters[2], letters[3]) if len(letters) == 4 else None
