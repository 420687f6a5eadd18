"""Whether an equation follows from those that are cited beside it.

What is cited is made true at a place drawn at random modulo a prime: names that it gives get the
worth that it gives them, and one more name is chosen so that the last equation cited holds, in which
it is linear. The equation must be true there. A combination, ``R1 (5) − R2 (6)``, must be the
equation itself. What a source depends on is not cited everywhere, so that equations which hold a
dependent source are left out here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import product

from derive.algebra.term import Symbol, SymbolKind, Term
from derive.derivation.algebra import Define
from derive.derivation.laws import (
    ChooseUnknowns,
    GivenValue,
    KnownCurrent,
    PathRule,
    SameCurrent,
)
from derive.derivation.step import Derivation
from tests.page import names
from tests.page.items import Page, Row, Run
from tests.page.known import Known, everything
from tests.page.mathematics import Chain, Tree
from tests.page.worth import PRIME, Place

Pair = tuple[Tree, Tree]
"""Both sides of an equation."""


def faults(page: Page, derivations: list[Derivation], known: Known) -> Iterator[str]:
    """Yield equations that do not follow from what is cited beside them."""
    numbered = {row.number: row.chain for row in page.rows() if row.number is not None}
    for row in page.rows():
        if not any(isinstance(p, str) and re.search(r"\(\d+\)", p) for p in row.source):
            continue
        sources = {n for d in derivations for n in _dependent(d, known)}
        if sources & set(_names(_pair(row.chain))):
            continue
        if not _follows(row, numbered, derivations, known):
            yield f"{row.chain} does not follow from {row.source}"


def _pair(chain: Chain) -> Pair:
    return chain.sides[0], chain.sides[1]


def _found(chain: Chain) -> Pair:
    """Return what a chain comes to: its last side that is equal to the first."""
    last = next((k for k, r in enumerate(chain.relations) if r != "="), len(chain.relations))
    return chain.sides[0], chain.sides[max(last, 1)]


class _Ground(Place):
    """A place where given values and names of sub-expressions are worth what they are."""

    def __init__(
        self, derivation: Derivation, known: Known, seed: int, *, dependent: bool = True
    ) -> None:
        """Settle what is given; with `dependent` also sources that depend on what flows."""
        super().__init__(seed)
        self.emf = known.emf
        settled = (GivenValue, Define, KnownCurrent, SameCurrent)
        self.steps = [s.conclusion for s in derivation.steps if isinstance(s, settled)]
        unknown = _unknowns(derivation, known)
        ties = [e for e in self.steps if unknown & _letters(e.right, known)]
        if not dependent:
            self.steps = [e for e in self.steps if e not in ties]
        given = {e.left for e in self.steps}
        controls = {s for tie in ties for s in everything(tie.right, Symbol)} - given
        self.steps += [
            s.conclusion
            for s in derivation.steps
            if isinstance(s, PathRule) and s.conclusion.left in controls
        ]
        for _ in range(3):  # a tie may lead to one further down
            self.follow()

    def follow(self) -> None:
        """Give every name again what its equation says."""
        for equation in self.steps:
            assert isinstance(equation.left, Symbol)
            self.known[names.symbol(equation.left, self.emf)] = self.term(equation.right, self.emf)


def _follows(
    row: Row, numbered: dict[int | None, Chain], derivations: list[Derivation], known: Known
) -> bool:
    parts = list(_parts(row.source))
    if any(part.pair is None and part.number not in numbered for part in parts):
        return False
    if any(part.scaled for part in parts):
        return _is_combination(row, parts, numbered, derivations, known)
    told = "".join(piece for piece in row.source if isinstance(piece, str))
    if len(parts) > 1 and " in " not in told:
        return True  # they are put into a law that has no number
    for derivation in derivations:
        unknown = _unknowns(derivation, known)
        for meant, dependent in product((_pair, _found), (True, False)):
            cited = [p.pair or meant(numbered[p.number]) for p in parts]
            place = _Ground(derivation, known, 11, dependent=dependent)
            if _implied(_pair(row.chain), cited, place, unknown):
                return True
    return False


def _dependent(derivation: Derivation, known: Known) -> Iterator[str]:
    """Yield the sources that depend on what flows."""
    unknown = _unknowns(derivation, known)
    for step in derivation.steps:
        if isinstance(step, GivenValue) and unknown & _letters(step.conclusion.right, known):
            yield names.symbol(step.symbol, known.emf)


def _letters(term: Term, known: Known) -> set[str]:
    return {names.symbol(symbol, known.emf) for symbol in everything(term, Symbol)}


def _unknowns(derivation: Derivation, known: Known) -> frozenset[str]:
    """Return the names that no one has given: currents, voltages and what is sought."""
    found: set[Symbol] = set()
    given = {
        s.conclusion.left
        for s in derivation.steps
        if isinstance(s, GivenValue | Define | KnownCurrent)
    }
    for step in derivation.steps:
        if isinstance(step, ChooseUnknowns):
            found |= set(step.unknowns)
        for symbol in everything(getattr(step, "conclusion", None), Symbol):
            if symbol.kind in (SymbolKind.CURRENT, SymbolKind.VOLTAGE, SymbolKind.POTENTIAL):
                found.add(symbol)
    return frozenset(names.symbol(symbol, known.emf) for symbol in found if symbol not in given)


class _Part:
    """One thing cited: an equation by its number, or one that is written out."""

    def __init__(self, number: int | None, pair: Pair | None, scale: Tree, scaled: bool) -> None:
        self.number, self.pair, self.scale, self.scaled = number, pair, scale, scaled


def _parts(source: Run) -> Iterator[_Part]:
    one: Tree = ("number", "1")
    scale, sign, scaled = one, "+", False
    for piece in source:
        if isinstance(piece, Chain):
            if piece.relations:
                yield _Part(None, _pair(piece), one, False)
            else:
                scale, scaled = piece.sides[0], True
            continue
        for token in re.findall(r"\(\d+\)|[+−÷]|[a-z]+", piece):
            if token in ("+", "−"):
                sign, scaled = token, True
            elif token == "÷":
                return  # the whole equation is divided
            elif token[0] == "(":
                whole: Tree = ("-", scale) if sign == "−" else scale
                yield _Part(int(token[1:-1]), None, whole, scaled)
                scale, sign = one, "+"


def _is_combination(
    row: Row,
    parts: Sequence[_Part],
    numbered: dict[int | None, Chain],
    derivations: list[Derivation],
    known: Known,
) -> bool:
    """Tell whether the cited equations, multiplied and added, are the equation or a multiple."""
    for derivation in derivations:
        ratios = set()
        for seed in (12, 13):
            place = _Ground(derivation, known, seed)
            total = 0
            for part in parts:
                pair = part.pair or _pair(numbered[part.number])
                total += place.tree(part.scale) * _gap(pair, place)
            own = _gap(_pair(row.chain), place)
            ratios.add(total * pow(own, -1, PRIME) % PRIME if own else None)
        if len(ratios) == 1 and None not in ratios:
            return True
    return False


def _gap(pair: Pair, place: Place) -> int:
    left, right = pair
    return (place.tree(left) - place.tree(right)) % PRIME


def _implied(row: Pair, cited: Sequence[Pair], place: _Ground, unknown: frozenset[str]) -> bool:
    *first, last = cited
    given = [(left[1], right) for left, right in first if left[0] == "name"]
    if len(given) != len(first):
        given = [(left[1], right) for left, right in cited if left[0] == "name"]
        others = [pair for pair in cited if pair[0][0] != "name"]
        if len(others) != 1:
            return False
        last = others[0]
    fixed = {name for name, _ in given}

    def settle(name: str, value: int) -> None:
        for _ in (*given, None):  # one may lead to another
            place.known[name] = value
            place.follow()
            place.known[name] = value
            for own, right in given:
                place.known[own] = place.tree(right)

    held = dict.fromkeys(name for pair in (last, *cited) for name in _names(pair))
    free = [name for name in held if name in unknown and name not in fixed]
    if last[0][0] == "name" and last[0][1] in free:
        free = [last[0][1]]
    if row[0][0] == "name" and row[0][1] in set(held) - fixed:
        free = [row[0][1]]
    return any(_solved(name, last, place, settle) and not _gap(row, place) for name in free)


def _solved(name: str, pair: Pair, place: Place, settle: Callable[[str, int], None]) -> bool:
    """Choose a name so that an equation holds; False where it is not linear in it."""
    at = []
    for value in (0, 1, 2):
        try:
            settle(name, value)
            at.append(_gap(pair, place))
        except ValueError:  # it stands below a line
            return False
    slope = (at[1] - at[0]) % PRIME
    if not slope or (at[2] - at[1] - slope) % PRIME:
        settle(name, place.drawn(f"other {name}"))
        return False
    settle(name, -at[0] * pow(slope, -1, PRIME) % PRIME)
    return True


def _names(tree: Tree | Pair) -> Iterator[str]:
    if tree and tree[0] == "name":
        yield tree[1]
        return
    for part in tree:
        if isinstance(part, tuple):
            yield from _names(part)
