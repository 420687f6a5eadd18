"""The currents in letters, each as one fraction of polynomials.

Each chord current follows from the collected equations multiplied by the cofactors of its column
(Cramer 1750), one combination that a checker can verify without any division. The common
denominator Δ is the sum over spanning trees of the products of the resistances outside the tree
(Kirchhoff 1847); where parts of a circuit share no current, or values are tied, what cancels is
cancelled.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from derive.algebra.dimension import AMPERE, NUMBER, OHM, VOLT, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.name import unused_name
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Quotient,
    Symbol,
    Term,
    auxiliary,
    product,
    quotient,
    total,
)
from derive.analysis.equations import Collected, Letters, by_battery, letters_dimension
from derive.analysis.plan import Singular
from derive.circuit.model import Circuit
from derive.circuit.solution import GeneralSolution
from derive.derivation.builder import Builder
from derive.derivation.step import BackSubstitute, Combine, Define, Isolate, Scaled, StepId

NAMED_FROM = 3
"""A denominator with at least this many products gets a name."""

MOST_WORK = 20000
"""Beyond this product of term counts no common divisor is looked for; in general there is none."""


@dataclass(frozen=True, slots=True)
class ClosedForm:
    """One current as a fraction of polynomials in the letters."""

    numerator: Poly
    denominator: Poly
    """All of its terms are positive when the resistances are independent."""
    unit: Dimension
    """Dimension of the denominator."""
    divisor: Poly
    """What was cancelled: the determinant over the denominator."""


@dataclass(frozen=True, slots=True)
class ClosedForms:
    """The closed forms of all branch currents and the steps that conclude them."""

    forms: Mapping[Symbol, ClosedForm]
    steps: Mapping[Symbol, StepId]
    """Current → step ``I = numerator/denominator``."""
    names: Mapping[Symbol, Poly]
    """The denominators that got a name."""
    definitions: Mapping[Symbol, StepId]
    """Their `Define` steps."""

    @property
    def products(self) -> int:
        """The number of products in the longest denominator."""
        return max((len(form.denominator) for form in self.forms.values()), default=0)


def derive_closed_forms(
    circuit: Circuit,
    letters: Letters,
    collected: Collected,
    builder: Builder,
    shares: GeneralSolution | None = None,
) -> ClosedForms:
    """Return each current as one fraction, its numerator grouped by battery.

    With `shares` the numerators are grouped by the loops of that solution where it gives the same
    fraction. Raises Singular.
    """
    work = _Forms(circuit, letters, collected, builder, shares)
    return work.write()


class _Forms:
    def __init__(
        self,
        circuit: Circuit,
        letters: Letters,
        collected: Collected,
        builder: Builder,
        shares: GeneralSolution | None,
    ) -> None:
        self._circuit = circuit
        self._ring = letters.ring
        self._collected = collected
        self._builder = builder
        self._shares = shares
        self._size = len(collected.rows)
        self._cofactors = _adjugate([row.coefficients for row in collected.rows], self._ring)
        self._rules: dict[Symbol, StepId] = {}
        self._taken = {symbol.name for symbol in (*letters.images, *circuit.symbols)}

    @cached_property
    def _determinant(self) -> Poly:
        value = self._ring.zero
        for row in range(self._size):
            first = self._collected.rows[row].coefficients[0]
            value = value + first * self._cofactors[0][row]
        if value.is_zero:
            raise Singular
        return value

    def write(self) -> ClosedForms:
        forms = self._fractions()
        names = self._names(forms)
        steps: dict[Symbol, StepId] = {}
        for column, symbol in enumerate(self._collected.unknowns):
            steps[symbol] = self._chord(column, symbol, forms[symbol], names)
        for branch, step in self._collected.isolated.items():
            symbol = self._circuit.branches[branch].current
            flows = self._flows(step)
            cited = [names.get(forms[s].denominator) for s in (symbol, *flows)]
            steps[symbol] = self._builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=tuple(steps[s] for s in flows),
                    rewriting=tuple(dict.fromkeys(self._rules[s] for s in cited if s)),
                    conclusion=Equation(symbol, self._fraction(branch, forms[symbol], names)),
                )
            )
        ordered = {b.current: steps[b.current] for b in self._circuit.branches}
        named = {symbol: poly for poly, symbol in names.items()}
        return ClosedForms(forms, ordered, named, self._rules)

    def _fractions(self) -> dict[Symbol, ClosedForm]:
        """Return the closed form of every current, the chords first."""
        above: dict[Symbol, Poly] = {}
        for column, symbol in enumerate(self._collected.unknowns):
            value = self._ring.zero
            for row, cofactor in enumerate(self._cofactors[column]):
                value = value + cofactor * self._collected.rows[row].right
            above[symbol] = value
        for branch, step in self._collected.isolated.items():
            value = self._ring.zero
            for s, flow in self._flows(step).items():
                value = value + above[s] * flow
            above[self._circuit.branches[branch].current] = value
        return {symbol: self._lowest(value) for symbol, value in above.items()}

    def _lowest(self, numerator: Poly) -> ClosedForm:
        determinant = self._determinant
        content = determinant.content() * (1 if determinant.leading > 0 else -1)
        plain = determinant / content, self._ring.constant(content)
        unit = OHM**self._size
        if not numerator or len(numerator) * len(determinant) > MOST_WORK:
            return ClosedForm(numerator / content, plain[0], unit, plain[1])
        above, below = cancel(numerator, determinant)
        divisor = determinant / below
        return ClosedForm(above, below, unit / letters_dimension(divisor), divisor)

    def _names(self, forms: Mapping[Symbol, ClosedForm]) -> dict[Poly, Symbol]:
        """Name the long denominators, in the order of the branches."""
        if self._size == 1:
            return {}
        long: dict[Poly, Dimension] = {}
        for branch in self._circuit.branches:
            form = forms[branch.current]
            if len(form.denominator) >= NAMED_FROM:
                long.setdefault(form.denominator, form.unit)
        names: dict[Poly, Symbol] = {}
        for number, (poly, unit) in enumerate(long.items()):
            wish = "Delta" if len(long) == 1 else f"Delta_{number + 1}"
            symbol = auxiliary(unused_name(wish, self._taken), unit)
            names[poly] = symbol
            self._rules[symbol] = self._builder.add(
                Define(symbol=symbol, conclusion=Equation(symbol, self._ring.term(poly, unit)))
            )
        return names

    def _chord(
        self, column: int, symbol: Symbol, form: ClosedForm, names: Mapping[Poly, Symbol]
    ) -> StepId:
        rewriting = self._rule(form, names)
        below = self._below(form, names)
        result = Equation(symbol, self._fraction(self._branch(symbol), form, names))
        if self._size == 1:
            lead = self._ring.term(self._collected.rows[0].coefficients[0], OHM)
            return self._builder.add(
                Isolate(
                    premise=self._collected.steps[0],
                    symbol=symbol,
                    factor=Quotient(ONE, lead),
                    conclusion=result,
                )
            )
        parts = []
        for row, cofactor in enumerate(self._cofactors[column]):
            if cofactor:
                multiplier = self._multiplier(cofactor, form.divisor)
                parts.append(Scaled(multiplier=multiplier, premise=self._collected.steps[row]))
        top = by_battery(form.numerator, AMPERE * form.unit)
        combined = self._builder.add(
            Combine(
                parts=tuple(parts),
                eliminated=self._removed(column),
                rewriting=rewriting,
                conclusion=Equation(product(below, symbol), top),
            )
        )
        return self._builder.add(
            Isolate(
                premise=combined,
                symbol=symbol,
                factor=Quotient(ONE, below),
                rewriting=rewriting,
                conclusion=result,
            )
        )

    def _multiplier(self, cofactor: Poly, divisor: Poly) -> Term:
        unit = OHM ** (self._size - 1)
        if divisor.is_constant:
            return _signed(cofactor / divisor.constant_value, unit)
        above, below = cancel(cofactor, divisor)
        shared = letters_dimension(cofactor / above) if above else NUMBER
        top = _signed(above, unit / shared)
        return (
            top
            if below == 1
            else Quotient(top, self._ring.term(below, letters_dimension(divisor) / shared))
        )

    def _removed(self, column: int) -> tuple[Symbol, ...]:
        """Return the other unknowns that the equations used hold."""
        rows = self._collected.rows
        used = [row for row, m in zip(rows, self._cofactors[column], strict=True) if m]
        return tuple(
            symbol
            for k, symbol in enumerate(self._collected.unknowns)
            if k != column and any(row.coefficients[k] for row in used)
        )

    def _rule(self, form: ClosedForm, names: Mapping[Poly, Symbol]) -> tuple[StepId, ...]:
        symbol = names.get(form.denominator)
        return () if symbol is None else (self._rules[symbol],)

    def _below(self, form: ClosedForm, names: Mapping[Poly, Symbol]) -> Term:
        named = names.get(form.denominator)
        return named or self._ring.term(form.denominator, form.unit)

    def _fraction(self, branch: int, form: ClosedForm, names: Mapping[Poly, Symbol]) -> Term:
        if not form.numerator:
            return ZERO
        top = self._by_loop(branch, form) or by_battery(form.numerator, AMPERE * form.unit)
        if form.denominator == 1 and form.unit == NUMBER:
            return top
        return quotient(top, self._below(form, names))

    def _branch(self, symbol: Symbol) -> int:
        return next(k for k, b in enumerate(self._circuit.branches) if b.current == symbol)

    def _by_loop(self, branch: int, form: ClosedForm) -> Term | None:
        """Return the numerator grouped by loops; None where that is not the same numerator."""
        if self._shares is None:
            return None
        found = self._shares
        value, terms = self._ring.zero, []
        for share in found.loop_shares(branch):
            if not all(symbol in self._ring for symbol, _ in share.emfs):
                return None
            emfs = self._ring.zero
            for symbol, rises in share.emfs:
                emfs = emfs + self._ring.symbol(symbol) * (1 if rises else -1)
            weight = share.weight.compose({}, self._ring)
            if share.denominator.compose({}, self._ring) != form.denominator:
                return None
            value = value + weight * emfs
            signed = tuple(s if rises else Negative(s) for s, rises in share.emfs)
            sums = total(tuple(sorted(signed, key=lambda term: isinstance(term, Negative))))
            terms.append(product(found.ring.term(share.weight, AMPERE * form.unit / VOLT), sums))
        return total(tuple(terms)) if value == form.numerator and terms else None

    def _flows(self, step: StepId) -> dict[Symbol, int]:
        """Return the factor of each chord current on the right of ``I = combination``."""
        unknowns = self._collected.unknowns
        right = self._builder.equation(step).right
        parts, _ = Ring(unknowns).poly(right).linear(unknowns)
        flows = zip(unknowns, parts, strict=True)
        return {s: int(p.constant_value) for s, p in flows if p}


def _signed(poly: Poly, unit: Dimension) -> Term:
    """Return a polynomial as a term, one minus sign in front where all its terms have one."""
    if len(poly) > 1 and all(c < 0 for c in poly.coefficients()):
        return Negative(poly.ring.term(-poly, unit))
    return poly.ring.term(poly, unit)


def _adjugate(matrix: Sequence[Sequence[Poly]], ring: Ring) -> list[list[Poly]]:
    """Return the cofactors, those of one column after those of another."""
    size = len(matrix)
    return [[_cofactor(matrix, row, column, ring) for row in range(size)] for column in range(size)]


def _cofactor(matrix: Sequence[Sequence[Poly]], row: int, column: int, ring: Ring) -> Poly:
    minor = [
        tuple(c for k, c in enumerate(line) if k != column)
        for number, line in enumerate(matrix)
        if number != row
    ]
    value = laplace(minor, ring)
    return -value if (row + column) % 2 else value
