"""Branch currents put together from the weights of the loops."""

from __future__ import annotations

from collections.abc import Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass

from derive.algebra.dimension import OHM, Dimension
from derive.algebra.name import natural_key
from derive.algebra.polynomial import Poly, Ring, common_divisor, whole_divisor
from derive.algebra.term import Symbol, SymbolKind
from derive.algebra.trees import add
from derive.circuit.expansion import Block, LookUp
from derive.circuit.model import Circuit
from derive.circuit.solvability import letters_of

_LARGEST_CANCELLED = 2000
"""A denominator with more terms is left as it is: nobody reads it, and the search takes long."""

Emfs = Sequence[tuple[tuple[Symbol, bool], ...]]
"""For each branch its emfs, and whether each raises the potential along it."""
_Parts = dict[Symbol | None, Poly]
"""Coefficients by emf letter; under None, what the emfs that are numbers amount to."""


@dataclass(frozen=True, slots=True)
class BranchCurrent:
    """One branch current: (Σ emf · coefficient + constant) / denominator.

    The polynomials are in the letters of the resistances and have whole coefficients. All terms of
    the denominator are positive, unless a tie makes some resistance a difference.
    """

    current: Symbol
    coefficients: tuple[tuple[Symbol, Poly], ...]
    """What each emf that is a letter is multiplied by; emfs without effect are left out."""
    constant: Poly
    """What the emfs that are numbers contribute."""
    denominator: Poly

    @property
    def is_zero(self) -> bool:
        """Whether no current flows whatever the letters are."""
        return not self.coefficients and self.constant.is_zero

    @property
    def denominator_dimension(self) -> Dimension:
        """The dimension to write the denominator in, so that numbers get units a reader expects.

        Where numbers were put in, numerator and denominator are fixed only up to a common unit.
        """
        degrees = [poly.total_degree + 1 for _, poly in self.coefficients]
        if not self.constant.is_constant:
            degrees.append(self.constant.total_degree + 1)
        return OHM ** max([self.denominator.total_degree, *degrees])


def assemble(
    circuit: Circuit,
    ring: Ring,
    blocks: Sequence[Block],
    emfs: Emfs,
    look_up: LookUp,
    left_open: AbstractSet[int],
) -> tuple[BranchCurrent | None, ...]:
    """Return every branch current; None for the branches left open."""
    sources, emf_denominator = _sources(ring, emfs, look_up)
    responses: list[list[tuple[_Parts, Poly]]] = [[] for _ in circuit.branches]
    for block in blocks:
        for place, parts in _block_numerators(ring, block, sources).items():
            if parts:
                responses[place].append((parts, block.determinant))
    plain = emf_denominator == 1 and _letters_once(circuit, look_up)
    found: list[BranchCurrent | None] = []
    for number, branch in enumerate(circuit.branches):
        if number in left_open:
            found.append(None)
            continue
        parts, denominator = _joined(ring, responses[number])
        if not parts:
            denominator = ring.one
        elif not (plain and parts.keys().isdisjoint({None})):
            parts, denominator = _tidied(parts, denominator * emf_denominator)
        constant = parts.pop(None, ring.zero)
        letters = sorted(parts.items(), key=_letter_key)
        found.append(
            BranchCurrent(
                branch.current,
                tuple((symbol, poly) for symbol, poly in letters if symbol is not None),
                constant,
                denominator,
            )
        )
    return tuple(found)


def _letter_key(item: tuple[Symbol | None, Poly]) -> tuple[tuple[int, int, str], ...]:
    return natural_key(item[0].name) if item[0] else ()


def _block_numerators(ring: Ring, block: Block, sources: Sequence[_Parts]) -> dict[int, _Parts]:
    """Return the numerators over the block's Δ, by branch."""
    numerators: dict[int, _Parts] = {}
    for (branch, source), coefficient in _transfers(ring, block, sources).items():
        if coefficient.is_zero:
            continue
        parts = numerators.setdefault(branch, {})
        for letter, factor in sources[source].items():
            share = coefficient if factor is ring.one else coefficient * factor
            parts[letter] = parts[letter] + share if letter in parts else share
    for parts in numerators.values():
        for letter in [letter for letter, poly in parts.items() if poly.is_zero]:
            del parts[letter]
    return numerators


def _transfers(ring: Ring, block: Block, sources: Sequence[_Parts]) -> dict[tuple[int, int], Poly]:
    """Return by (branch, branch with emf) the numerator for an emf of 1 along the second.

    It is the same both ways (reciprocity), so that a pair is added up once.
    """
    weights: dict[tuple[int, int], list[Poly]] = {}
    for hops, weight in block.loops:
        opposite = -weight
        for position, hop in enumerate(hops):
            for other in hops[position:]:
                if sources[hop.branch] or sources[other.branch]:
                    a, b = hop.branch, other.branch
                    pair = (a, b) if a <= b else (b, a)
                    share = weight if hop.along == other.along else opposite
                    weights.setdefault(pair, []).append(share)
    found: dict[tuple[int, int], Poly] = {}
    for (a, b), shares in weights.items():
        summed = add(ring, shares)
        if sources[b]:
            found[a, b] = summed
        if sources[a]:
            found[b, a] = summed
    return found


def _joined(ring: Ring, responses: Sequence[tuple[_Parts, Poly]]) -> tuple[_Parts, Poly]:
    """Return the sum of fractions; several blocks meet only in a branch without resistance."""
    parts, denominator = responses[0] if responses else ({}, ring.one)
    for more, other in responses[1:]:
        joined = {letter: poly * other for letter, poly in parts.items()}
        for letter, poly in more.items():
            share = poly * denominator
            joined[letter] = joined[letter] + share if letter in joined else share
        parts, denominator = joined, denominator * other
    return dict(parts), denominator


def _tidied(parts: _Parts, denominator: Poly) -> tuple[_Parts, Poly]:
    """Cancel what all parts share with the denominator, if that leaves no minus sign in it."""
    if not denominator.is_constant and len(denominator) <= _LARGEST_CANCELLED:
        shared = denominator
        for poly in sorted(parts.values(), key=len):
            shared = common_divisor(shared, poly)
            if shared.is_constant:
                break
        if not shared.is_constant:
            reduced = denominator / shared
            if all(c > 0 for c in reduced.coefficients()):
                parts = {letter: poly / shared for letter, poly in parts.items()}
                denominator = reduced
    divisor = whole_divisor((denominator, *parts.values()))
    if denominator.leading < 0:
        divisor = -divisor
    if divisor != 1:
        parts = {letter: poly / divisor for letter, poly in parts.items()}
        denominator = denominator / divisor
    return parts, denominator


def _letters_once(circuit: Circuit, look_up: LookUp) -> bool:
    """Tell whether every resistance is a letter of its own.

    Then Δ of a block is irreducible and of higher degree than any numerator over it, so that there
    is nothing to cancel.
    """
    terms = [look_up(r) for branch in circuit.branches for r in branch.resistances]
    return all(isinstance(term, Symbol) for term in terms) and len({*terms}) == len(terms)


def _sources(ring: Ring, emfs: Emfs, look_up: LookUp) -> tuple[list[_Parts], Poly]:
    """Return the emf along each branch by letters, over one common denominator, all whole."""
    used = {symbol: look_up(symbol) for row in emfs for symbol, _ in row}
    letters = [s for s in letters_of(list(used.values())) if s.kind is SymbolKind.EMF]
    full = Ring((*letters, *ring.symbols))
    split: dict[Symbol, tuple[_Parts, Poly]] = {}
    common = ring.one
    for symbol, term in used.items():
        if isinstance(term, Symbol):
            split[symbol] = ({term: ring.one}, ring.one)
            continue
        above, below = full.fraction(term)
        coefficients, rest = above.linear(letters)
        pairs = [*zip(letters, coefficients, strict=True), (None, rest)]
        parts = {s: poly.compose({}, ring) for s, poly in pairs if not poly.is_zero}
        split[symbol] = (parts, below.compose({}, ring))
        common = common * (split[symbol][1] / common_divisor(common, split[symbol][1]))
    minus = -ring.one
    found: list[_Parts] = []
    for row in emfs:
        along: _Parts = {}
        for symbol, rises in row:
            parts, below = split[symbol]
            scale = (common / below) * (ring.one if rises else minus)
            for letter, poly in parts.items():
                share = poly * scale
                along[letter] = along[letter] + share if letter in along else share
        found.append({k: ring.one if p == 1 else p for k, p in along.items() if not p.is_zero})
    return found, common
