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

from derive.algebra.dimension import AMPERE, NUMBER, VOLT, Dimension
from derive.algebra.laplace import laplace
from derive.algebra.name import unused_name
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    Term,
    auxiliary,
    number,
    product,
    quotient,
    symbols,
    total,
)
from derive.analysis.equations import (
    Collected,
    Letters,
    by_battery,
    held_by,
    in_order,
    letters_dimension,
    scaled,
    shared_letters,
)
from derive.analysis.forms import Form
from derive.analysis.plan import LinearRow, Singular
from derive.circuit.model import Circuit
from derive.circuit.solution import GeneralSolution
from derive.derivation.builder import Builder
from derive.derivation.step import (
    BackSubstitute,
    Combine,
    Define,
    Goal,
    Isolate,
    Scaled,
    StepId,
)

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
    """Current → step ``I = numerator/denominator``; of dependent sources and the sought too."""
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
        self._letters = letters
        self._ring = letters.ring
        self._collected = collected
        self._builder = builder
        self._shares = shares
        self._size = len(collected.rows)
        self._cofactors = _adjugate([row.coefficients for row in collected.rows], self._ring)
        self._rules: dict[Symbol, StepId] = {}
        self._taken = {symbol.name for symbol in (*letters.images, *circuit.symbols)}

    @property
    def _unit(self) -> Dimension:
        """The dimension of the determinant: all rows are voltages, some unknowns may be too."""
        found = NUMBER
        for symbol in self._collected.unknowns:
            found = found * (VOLT / symbol.dimension)
        return found

    @cached_property
    def _determinant(self) -> Poly:
        if not self._size:
            return self._ring.one  # current sources set every current
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
        steps = self._in_turn(forms, names)
        for column, symbol in enumerate(self._collected.unknowns):
            if symbol not in steps:
                steps[symbol] = self._chord(column, symbol, forms[symbol], names)
        collected = self._collected
        known = {**collected.still}
        for symbol, step in in_order(self._builder, collected.others, collected.controls):
            own = held_by(self._builder, step, collected.controls)
            known |= steps
            used = [s for s in known if s in own]
            voltages = tuple(k for s, k in collected.controls.items() if s in own)
            if not used and not voltages:
                steps[symbol] = step  # a source that depends on nothing
                continue
            cited = [names.get(forms[s].denominator) for s in (symbol, *used) if s in forms]
            steps[symbol] = self._builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=(*voltages, *(known[s] for s in used)),
                    rewriting=tuple(dict.fromkeys(self._rules[s] for s in cited if s)),
                    conclusion=Equation(symbol, self._fraction(symbol, forms[symbol], names)),
                )
            )
        # A given current whose letter stays is what it is.
        flows = (b.current for b in self._circuit.branches if b.current in steps)
        ordered = {symbol: steps[symbol] for symbol in flows}
        further = (*self._circuit.dependent, *self._collected.forms.sought)
        ordered |= {symbol: steps[symbol] for symbol in further}
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
        collected = self._collected
        for symbol in collected.others:
            form = self._form(symbol)
            value = self._determinant * form.rest if form.rest else self._ring.zero
            for s, part in form.parts.items():
                value = value + above[s] * part
            above[symbol] = value
        found = {symbol: self._lowest(value) for symbol, value in above.items()}
        for branch in collected.known:
            symbol = self._circuit.branches[branch].current
            form = self._form(symbol)
            if not form.parts:
                found[symbol] = ClosedForm(form.rest, self._ring.one, NUMBER, self._determinant)
        return found

    def _form(self, symbol: Symbol) -> Form:
        return self._collected.forms.of(symbol)

    def _lowest(self, numerator: Poly) -> ClosedForm:
        determinant = self._determinant
        content = determinant.content() * (1 if determinant.leading > 0 else -1)
        plain = determinant / content, self._ring.constant(content)
        unit = self._unit
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
            form = forms.get(branch.current)
            if form is not None and len(form.denominator) >= NAMED_FROM:
                long.setdefault(form.denominator, form.unit)
        names: dict[Poly, Symbol] = {}
        for k, (poly, unit) in enumerate(long.items()):
            wish = "Delta" if len(long) == 1 else f"Delta_{k + 1}"
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
        result = Equation(symbol, self._fraction(symbol, form, names))
        if self._size == 1:
            lead = self._ring.term(self._collected.rows[0].coefficients[0], self._unit)
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
                multiplier = self._multiplier(cofactor, form.divisor, symbol)
                parts.append(Scaled(multiplier=multiplier, premise=self._collected.steps[row]))
        top = by_battery(form.numerator, symbol.dimension * form.unit)
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

    def _in_turn(
        self, forms: Mapping[Symbol, ClosedForm], names: Mapping[Poly, Symbol]
    ) -> dict[Symbol, StepId]:
        """Find the unknowns one after another, where each equation in turn holds but one new one.

        That is how a value that is sought comes out when what is known goes in first. What is left
        when no equation does is found from the equations that are left.
        """
        collected = self._collected
        order = _turns(collected.rows) if collected.forms.sought else []
        if not order:
            return {}
        found: dict[Symbol, StepId] = {}
        self._builder.begin(Goal.IN_TURN)
        for row, column in order:
            symbol = collected.unknowns[column]
            isolated = self._isolated(row, column)
            result = Equation(symbol, self._fraction(symbol, forms[symbol], names))
            met = set(symbols(self._builder.equation(isolated).right))
            used = tuple(step for s, step in found.items() if s in met)
            found[symbol] = isolated
            if used:
                found[symbol] = self._builder.add(
                    BackSubstitute(
                        premise=isolated,
                        definitions=used,
                        rewriting=tuple(self._rules.values()),
                        conclusion=result,
                    )
                )
        self._builder.begin(Goal.FRACTIONS)
        return found | self._left_over(order, found, forms, names)

    def _left_over(
        self,
        order: Sequence[tuple[int, int]],
        found: Mapping[Symbol, StepId],
        forms: Mapping[Symbol, ClosedForm],
        names: Mapping[Poly, Symbol],
    ) -> dict[Symbol, StepId]:
        """Find what was not found in turn, by the equations that are left and what was found."""
        collected = self._collected
        rows = [k for k in range(self._size) if all(k != row for row, _ in order)]
        columns = [k for k in range(self._size) if all(k != column for _, column in order)]
        known = {column: collected.unknowns[column] for _, column in order}
        wide = Ring((*self._ring.symbols, *known.values()))
        letters = {symbol: wide.symbol(symbol) for symbol in self._ring.symbols}
        cofactors = _adjugate(
            [[collected.rows[r].coefficients[c] for c in columns] for r in rows], self._ring
        )
        steps: dict[Symbol, StepId] = {}
        for cofactor, column in zip(cofactors, columns, strict=True):
            symbol = collected.unknowns[column]
            determinant, above = self._ring.zero, wide.zero
            for factor, r in zip(cofactor, rows, strict=True):
                line = collected.rows[r]
                right = line.right.compose(letters, wide)
                for k, other in known.items():
                    share = line.coefficients[k].compose(letters, wide)
                    right = right - share * wide.symbol(other)
                determinant = determinant + factor * line.coefficients[column]
                above = above + factor.compose(letters, wide) * right
            if determinant.is_zero:
                raise Singular
            below, divisor = self._lowest_left(above, determinant, letters, wide)
            unit = NUMBER
            for k in columns:
                unit = unit * (VOLT / collected.unknowns[k].dimension)
            parts = tuple(
                Scaled(
                    multiplier=self._multiplier(factor, divisor, symbol, unit),
                    premise=collected.steps[r],
                )
                for factor, r in zip(cofactor, rows, strict=True)
                if factor
            )
            unit = unit / letters_dimension(divisor)
            top = by_battery(above / divisor.compose(letters, wide), symbol.dimension * unit)
            used = [collected.rows[r] for f, r in zip(cofactor, rows, strict=True) if f]
            combined = self._builder.add(
                Combine(
                    parts=parts,
                    eliminated=tuple(
                        collected.unknowns[k]
                        for k in columns
                        if k != column and any(line.coefficients[k] for line in used)
                    ),
                    conclusion=Equation(product(factored(below, unit), symbol), top),
                )
            )
            isolated = self._builder.add(
                Isolate(
                    premise=combined,
                    symbol=symbol,
                    factor=Quotient(ONE, factored(below, unit)),
                    conclusion=Equation(symbol, quotient(top, factored(below, unit))),
                )
            )
            met = set(symbols(top))
            steps[symbol] = self._builder.add(
                BackSubstitute(
                    premise=isolated,
                    definitions=tuple(step for s, step in found.items() if s in met),
                    rewriting=tuple(self._rules.values()),
                    conclusion=Equation(symbol, self._fraction(symbol, forms[symbol], names)),
                )
            )
        return steps

    def _lowest_left(
        self, above: Poly, determinant: Poly, letters: Mapping[Symbol, Poly], wide: Ring
    ) -> tuple[Poly, Poly]:
        """Return the denominator in lowest terms, and what was cancelled."""
        below = determinant.compose(letters, wide)
        if above and len(above) * len(below) <= MOST_WORK:
            _, below = cancel(above, below)
        images = {symbol: self._ring.zero for symbol in wide.symbols if symbol not in letters}
        images |= {symbol: self._ring.symbol(symbol) for symbol in letters}
        lowest = below.compose(images, self._ring)
        if all(c < 0 for c in lowest.coefficients()):
            lowest = -lowest
        return lowest, determinant / lowest

    def _isolated(self, row: int, column: int) -> StepId:
        """Solve an equation for an unknown, the others being left as they are."""
        collected, line = self._collected, self._collected.rows[row]
        symbol, lead = collected.unknowns[column], line.coefficients[column]
        known = self._builder.equation(collected.steps[row])
        if known.left == symbol and symbol not in set(symbols(known.right)):
            return collected.steps[row]
        sign = -1 if all(c < 0 for c in lead.coefficients()) else 1
        lead = lead * sign
        unit = VOLT / symbol.dimension
        terms: list[Term] = []
        if line.right:
            right = by_battery(line.right * sign, VOLT)
            terms += right.terms if isinstance(right, Sum) else (right,)
        for k, other in enumerate(collected.unknowns):
            if k != column and line.coefficients[k]:
                poly = line.coefficients[k] * -sign
                terms.append(scaled(poly, other, VOLT / other.dimension))
        terms.sort(key=lambda term: isinstance(term, Negative))
        above = total(tuple(terms))
        below = self._ring.term(lead, unit)
        plain = below == ONE or above == ZERO
        return self._builder.add(
            Isolate(
                premise=collected.steps[row],
                symbol=symbol,
                factor=number(sign) if below == ONE else Quotient(number(sign), below),
                conclusion=Equation(symbol, above if plain else quotient(above, below)),
            )
        )

    def _multiplier(
        self, cofactor: Poly, divisor: Poly, symbol: Symbol, whole: Dimension | None = None
    ) -> Term:
        unit = (whole or self._unit) * symbol.dimension / VOLT
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
        return names.get(form.denominator) or factored(form.denominator, form.unit)

    def _fraction(self, symbol: Symbol, form: ClosedForm, names: Mapping[Poly, Symbol]) -> Term:
        if not form.numerator:
            return ZERO
        dimension = symbol.dimension * form.unit
        top = self._by_loop(symbol, form) or by_battery(form.numerator, dimension)
        if form.denominator == 1 and form.unit == NUMBER:
            return top
        return quotient(top, self._below(form, names))

    def _by_loop(self, symbol: Symbol, form: ClosedForm) -> Term | None:
        """Return the numerator grouped by loops; None where that is not the same numerator."""
        if self._shares is None:
            return None
        branch = next(k for k, b in enumerate(self._circuit.branches) if b.current == symbol)
        found = self._shares
        value, terms = self._ring.zero, []
        for share in found.loop_shares(branch):
            if not all(battery in self._ring for battery, _ in share.emfs):
                return None
            emfs = self._ring.zero
            for battery, rises in share.emfs:
                emfs = emfs + self._ring.symbol(battery) * (1 if rises else -1)
            weight = share.weight.compose({}, self._ring)
            if share.denominator.compose({}, self._ring) != form.denominator:
                return None
            value = value + weight * emfs
            signed = tuple(s if rises else Negative(s) for s, rises in share.emfs)
            sums = total(tuple(sorted(signed, key=lambda term: isinstance(term, Negative))))
            terms.append(product(found.ring.term(share.weight, AMPERE * form.unit / VOLT), sums))
        return total(tuple(terms)) if value == form.numerator and terms else None


def factored(poly: Poly, unit: Dimension) -> Term:
    """Return a polynomial as a term, with the letters that all of it shares in front."""
    if len(poly) < 2:
        return poly.ring.term(poly, unit)
    shared = shared_letters(poly)
    outside = letters_dimension(shared)
    return product(poly.ring.term(shared, outside), poly.ring.term(poly / shared, unit / outside))


def _turns(rows: Sequence[LinearRow]) -> list[tuple[int, int]]:
    """Return (row, column) so that each row holds no unknown but those before it and its own.

    Rows for which there is no such turn are left out.
    """
    waiting = list(range(len(rows)))
    known: set[int] = set()
    order: list[tuple[int, int]] = []
    while waiting:
        for row in waiting:
            new = [k for k, c in enumerate(rows[row].coefficients) if c and k not in known]
            if len(new) == 1:
                order.append((row, new[0]))
                known.add(new[0])
                waiting.remove(row)
                break
        else:
            break
    return order


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
