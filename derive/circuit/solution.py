"""The general solution: every branch current as one fraction of polynomials.

Kirchhoff's theorem (1847): with Δ the sum over spanning trees of the products of the resistances
outside the tree,

    I = (1/Δ) Σ over loops C through the branch of  Δ(C) · (Σ ± E round C),

where Δ(C) is Δ of the circuit with the loop C drawn together to one point. All products are
positive and nothing cancels. Branches without resistance are drawn together first, and every block
(a part that hangs on the rest by single points) has a Δ of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

from derive.algebra.dimension import AMPERE, VOLT, Dimension
from derive.algebra.name import identifier
from derive.algebra.plain import plain_polynomial
from derive.algebra.polynomial import Poly, Ring, whole_divisor
from derive.algebra.term import (
    ZERO,
    Negative,
    Number,
    Product,
    Quantity,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    product,
    quotient,
    total,
)
from derive.circuit.assembly import BranchCurrent, assemble
from derive.circuit.expansion import Block, TooLarge, expand, resistance_terms, weights
from derive.circuit.model import Circuit, Hop, Loop
from derive.circuit.solvability import (
    Contradiction,
    NoUniqueSolution,
    SourceCut,
    Undetermined,
    branch_emfs,
    letters_of,
    solvability,
)
from derive.circuit.topology import graph_of
from derive.circuit.values import Values

__all__ = [
    "BranchCurrent",
    "Contradiction",
    "GeneralSolution",
    "LoopShare",
    "NoUniqueSolution",
    "TooLarge",
    "Undetermined",
    "general_solution",
]

Mode = Literal["letters", "given"]


@dataclass(frozen=True, slots=True)
class LoopShare:
    """What one loop contributes to the current of a branch: weight · emf / denominator."""

    loop: Loop
    """Travelled so that the branch is passed along its arrow."""
    weight: Poly
    emfs: tuple[tuple[Symbol, bool], ...]
    """The emfs met on the loop, and whether each raises the potential."""
    denominator: Poly


@dataclass(frozen=True)
class GeneralSolution:
    """Every branch current of a circuit in letters."""

    ring: Ring
    """Of the letters of the resistances, in natural order."""
    currents: tuple[BranchCurrent | None, ...]
    """One a branch; None where the rules leave it open."""
    undetermined: Undetermined | None
    """Which currents are open, and why; None when none is."""
    blocks: tuple[Block, ...]
    """The parts that share no current, each with its Δ and the weights of its loops."""
    branch_emfs: tuple[tuple[tuple[Symbol, bool], ...], ...]
    """The emfs of each branch, and whether each raises the potential along it."""

    def current(self, branch: int) -> BranchCurrent:
        """Return the current of a branch. Raises NoUniqueSolution when it is open."""
        found = self.currents[branch]
        if found is None:
            assert self.undetermined is not None
            raise NoUniqueSolution(self.undetermined)
        return found

    @cached_property
    def full_ring(self) -> Ring:
        """The ring with the letters of the emfs in front of those of the resistances."""
        emfs = letters_of(
            [symbol for found in self.currents if found for symbol, _ in found.coefficients]
        )
        return Ring((*emfs, *(s for s in self.ring.symbols if s not in emfs)))

    def fraction(self, branch: int, ring: Ring | None = None) -> tuple[Poly, Poly]:
        """Return numerator and denominator in `full_ring`, or in a given ring that holds it."""
        found = self.current(branch)
        ring = self.full_ring if ring is None else ring
        numerator = found.constant.compose({}, ring)
        for symbol, coefficient in found.coefficients:
            numerator = numerator + ring.symbol(symbol) * coefficient.compose({}, ring)
        return numerator, found.denominator.compose({}, ring)

    def denominator(self, branch: int) -> Term:
        """Return the denominator of a current as a sum of products."""
        found = self.current(branch)
        return self.ring.term(found.denominator, found.denominator_dimension)

    def numerator(self, branch: int) -> Term:
        """Return the numerator of a current grouped by battery: ``E1·(R2 + R3) − E2·R3``."""
        found = self.current(branch)
        dimension = AMPERE * found.denominator_dimension
        terms = [
            _grouped(self.ring, symbol, coefficient, dimension / VOLT)
            for symbol, coefficient in found.coefficients
        ]
        if not found.constant.is_zero:
            rest = self.ring.term(found.constant, dimension)
            terms.extend(rest.terms if isinstance(rest, Sum) else (rest,))
        return total(tuple(terms))

    def formula(self, branch: int) -> Term:
        """Return a current as one fraction with its numerator grouped by battery."""
        numerator = self.numerator(branch)
        if numerator == ZERO or self.current(branch).denominator == 1:
            return numerator
        return quotient(numerator, self.denominator(branch))

    def text(self, branch: int) -> str:
        """Return `formula` in plain text, straight from the polynomials: fit for very long ones."""
        found = self.current(branch)
        pieces: list[str] = []
        for symbol, coefficient in found.coefficients:
            minus, body = _grouped_text(identifier(symbol.name), coefficient)
            pieces.append((" - " if minus else " + ") if pieces else "-" if minus else "")
            pieces.append(body)
        if not found.constant.is_zero:
            rest = plain_polynomial(found.constant)
            if pieces:
                pieces.append(f" - {rest[1:]}" if rest[0] == "-" else f" + {rest}")
            else:
                pieces.append(rest)
        numerator = "".join(pieces) or "0"
        if not pieces or found.denominator == 1:
            return numerator
        count = len(found.coefficients) + len(found.constant)
        below = plain_polynomial(found.denominator)
        if len(found.denominator) > 1 or "*" in below:
            below = f"({below})"
        return f"({numerator})/{below}" if count > 1 else f"{numerator}/{below}"

    def loop_shares(self, branch: int) -> tuple[LoopShare, ...]:
        """Return what each loop contributes to a current, shortest loop first.

        The shares add up to the current. Loops without a battery are left out.
        """
        shares = []
        for block in self.blocks:
            for hops, weight in block.loops:
                mine = next((hop for hop in hops if hop.branch == branch), None)
                if mine is None:
                    continue
                if not mine.along:
                    hops = tuple(Hop(hop.branch, not hop.along) for hop in reversed(hops))
                emfs = tuple(
                    (symbol, rises == hop.along)
                    for hop in hops
                    for symbol, rises in self.branch_emfs[hop.branch]
                )
                if emfs:
                    shares.append(LoopShare(Loop(hops), weight, emfs, block.determinant))
        return tuple(sorted(shares, key=lambda share: len(share.loop.hops)))


def general_solution(
    circuit: Circuit, *, values: Mode = "letters", bound: int = 20000
) -> GeneralSolution:
    """Solve a circuit in letters, ties put in first; with ``given``, known values as well.

    Raises NoUniqueSolution for a contradiction, TooLarge when a denominator would have more than
    `bound` terms, UnfitTie for a tie that is neither to resistances nor to emfs, ValueError for a
    circuit with current sources. Currents that the rules leave open are None.
    """
    if circuit.has_sources:
        raise ValueError("the theorem tells currents by emfs, not by source currents")
    report = solvability(circuit)
    if isinstance(report, Contradiction | SourceCut):
        raise NoUniqueSolution(report)
    known = Values(circuit)
    if values == "given":
        look_up = known.actual
    elif report:
        # In letters the loop of given zeros would not be seen.
        look_up = known.letters_but_zeros
    else:
        look_up = known.letters
    terms = resistance_terms(circuit, look_up)
    emfs = tuple(branch_emfs(circuit, number) for number in range(len(circuit.branches)))
    sources = [look_up(symbol) for row in emfs for symbol, _ in row]
    letters = letters_of([*(term for row in terms for term in row), *sources])
    ring = Ring([symbol for symbol in letters if symbol.kind is not SymbolKind.EMF])
    graph = graph_of(circuit)
    parts = expand(graph, weights(ring, terms), bound)
    for block in parts:
        if block.determinant.is_zero:  # only a resistance that is a difference can do this
            raise NoUniqueSolution(Undetermined(block.branches, ()))
    open_branches = report.branches if report else ()
    currents = assemble(circuit, ring, parts, emfs, look_up, frozenset(open_branches))
    return GeneralSolution(ring, currents, report, parts, emfs)


def _grouped(ring: Ring, emf: Symbol, coefficient: Poly, dimension: Dimension) -> Term:
    """Return an emf times its coefficient, numbers in front, one sign where there is one."""
    signs = {c > 0 for c in coefficient.coefficients()}
    if signs == {False}:
        return Negative(_grouped(ring, emf, -coefficient, dimension))
    if len(coefficient) == 1:
        return _joined(emf, ring.term(coefficient, dimension))
    content = coefficient.content()
    return product(Number(content), emf, ring.term(coefficient * (1 / content), dimension))


def _joined(emf: Symbol, term: Term) -> Term:
    factors = term.factors if isinstance(term, Product) else (term,)
    if isinstance(factors[0], Number | Quantity):
        return product(factors[0], emf, *factors[1:])
    return product(emf, *factors)


def _grouped_text(emf: str, coefficient: Poly) -> tuple[bool, str]:
    """Return whether a minus sign stands in front, and the rest, as `_grouped` groups it."""
    minus = all(c < 0 for c in coefficient.coefficients())
    divisor = whole_divisor((coefficient,))
    rest = coefficient / (-divisor if minus else divisor)
    factors = [emf] if divisor == 1 else [str(divisor), emf]
    if len(rest) > 1:
        factors.append(f"({plain_polynomial(rest)})")
    elif rest != 1:
        factors.append(plain_polynomial(rest))
    return minus, "*".join(factors)
