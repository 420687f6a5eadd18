"""The voltages across capacitors that share their charge, and what is on them.

As a person would find them: capacitors in parallel add up, in series the reciprocals do; what is
left holds the charge of its voltage, and the way back gives that of each one. Where that leads to
no end, or a battery lies on an island, the charge rules are solved together.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction

from derive.algebra.dimension import COULOMB, VOLT
from derive.algebra.name import TakenNames
from derive.algebra.polynomial import Poly, Ring, cancel
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Product,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    capacitance,
    negate,
    product,
    quotient,
    symbols,
    total,
    voltage_across,
)
from derive.algebra.term import replace as put_in
from derive.analysis.by_voltage import ties
from derive.analysis.capacitor_groups import Group, Kind, groups_of
from derive.analysis.charge_laws import Laws, Link, products_of
from derive.analysis.evaluate import Known, put_values
from derive.analysis.laws import charge_on
from derive.analysis.one_fraction import _begins_with_minus, _negated, one_fraction
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents
from derive.analysis.taken import taken_names
from derive.circuit.islands import Cluster
from derive.circuit.model import Circuit
from derive.circuit.question import AskCharge, AskVoltageAcross, Question
from derive.derivation.algebra import BackSubstitute, Define, Substitute
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId

MOST_PRODUCTS = 60
"""Products in a denominator that is still written in letters (common practice, no source)."""

_NAMED_FROM = 3
"""A determinant with at least this many products gets a name."""


@dataclass(frozen=True, slots=True)
class Held:
    """Where a charge or a voltage of a capacitor is concluded."""

    law: StepId
    formula: StepId | None
    """In letters; None on the route that puts numbers first."""
    value: StepId | None
    """With the values put in; None when nothing has one."""


@dataclass(frozen=True, slots=True)
class Charges:
    """What is known of the capacitors of some clusters, by the symbols of charges and voltages."""

    known: Mapping[Symbol, Held]

    def answer(self, question: Question) -> tuple[Symbol, Held] | None:
        """Return the answer to a question about a charge or a voltage of one of them."""
        match question:
            case AskCharge(capacitor=part):
                symbol = charge_on(part)
            case AskVoltageAcross(part=part):
                symbol = voltage_across(part)
            case _:
                return None
        held = self.known.get(symbol)
        return None if held is None else (symbol, held)

    def added_to(self, found: Currents) -> Currents:
        """Return what is known of the circuit with the voltages of these capacitors in it."""
        voltages = {s: h for s, h in self.known.items() if s.kind is SymbolKind.VOLTAGE}
        formulas = {s: h.formula for s, h in voltages.items() if h.formula is not None}
        # Where nothing has a value, the formula is all there is to put in.
        known = {s: h.formula if h.value is None else h.value for s, h in voltages.items()}
        values = {s: step for s, step in known.items() if step is not None}
        return replace(
            found, formulas={**found.formulas, **formulas}, values={**found.values, **values}
        )

    @property
    def capacitors(self) -> tuple[str, ...]:
        """The capacitors whose voltages are known."""
        names = (s.name[2:-1] for s in self.known if s.kind is SymbolKind.VOLTAGE)
        return tuple(names)


def derive_charges(
    circuit: Circuit,
    clusters: tuple[Cluster, ...],
    found: Currents,
    known: Known,
    builder: Builder,
    digits: int,
) -> Charges:
    """Find charge and voltage of every capacitor of some clusters. Raises NoPath."""
    taken = taken_names(circuit, builder)
    held: dict[Symbol, Held] = {}
    for cluster in clusters:
        builder.begin(Goal.CHARGES)
        work = _Work(circuit, cluster, found, known, builder, digits, taken)
        work.solve()
        held |= work.held
    return Charges(held)


class LongFormula(Exception):  # noqa: N818  (a finding about the circuit)
    """The voltages across capacitors would be too long in letters, and some have no values."""

    def __init__(self, products: int, letters: tuple[Symbol, ...]) -> None:
        """Keep the number of products in the denominator, and the capacitances without values."""
        super().__init__(f"{products} products")
        self.products = products
        self.letters = letters


class _Work:
    def __init__(
        self,
        circuit: Circuit,
        cluster: Cluster,
        found: Currents,
        known: Known,
        builder: Builder,
        digits: int,
        taken: TakenNames,
    ) -> None:
        self._circuit = circuit
        self._cluster = cluster
        self._found = found
        self._known = known
        self._builder = builder
        self._digits = digits
        self._taken = taken
        self._laws = self._state()
        self.held: dict[Symbol, Held] = {}
        self._names: dict[Group, Symbol] = {}
        self._defined: dict[Symbol, StepId] = {}
        self._values: dict[Symbol, StepId] = {}
        self._sources: dict[Symbol, Term] = {}

    def _state(self) -> Laws:
        """State the laws: in numbers where the formulas would be too long."""
        letters = [capacitance(p.capacitor) for p in self._cluster.capacitors]
        count = products_of(self._cluster)
        if count <= MOST_PRODUCTS:
            return Laws(self._circuit, self._cluster, self._builder)
        terms = {s: self._known.terms.get(s, s) for s in letters}
        unknown = [s for s, term in terms.items() if next(symbols(term), None) is not None]
        if unknown:
            raise LongFormula(count, tuple(unknown))
        numbers = {s.name: Ring(()).poly(term).constant_value for s, term in terms.items()}
        given = self._known.cited(Sum(tuple(letters)))
        return Laws(self._circuit, self._cluster, self._builder, numbers, given)

    def solve(self) -> None:
        """State what every capacitor of the cluster holds."""
        groups = groups_of(self._cluster, self._laws.levels)
        driven = None if groups is None else [(g, self._source(g)) for g in groups]
        if driven is None or any(source == ZERO for _, source in driven):
            self._together()
            return
        for group, source in driven:
            self._by_groups(group, source)

    # --- in series and in parallel --------------------------------------------------------------

    def _source(self, group: Group) -> Term:
        """Return the voltage from one end of a row to the other; 0 where nothing drives it."""
        names = dict(group.leaves())
        for link in self._laws.links:
            name = link.plates.capacitor
            if name in names and link.source != ZERO:
                return link.source if names[name] else negate(link.source)
        return ZERO

    def _by_groups(self, group: Group, source: Term) -> None:
        if isinstance(source, Negative) or _begins_with_minus(source):
            group, source = group.turned(), _negated(source)
        made = self._made(group)
        self._row(group, made, product(made, source))

    def _made(self, group: Group) -> Symbol:
        """Define the capacitance of a group, those inside of it first."""
        if group.kind is Kind.ONE:
            return capacitance(group.capacitor)
        inner = [self._made(part) for part in group.parts]
        symbol = capacitance(self._name("C", inner))
        self._names[group] = symbol
        if group.kind is Kind.PARALLEL:
            term: Term = Sum(tuple(inner))
        elif len(inner) == 2:
            term = Quotient(Product(tuple(inner)), Sum(tuple(inner)))
        else:
            term = Quotient(ONE, Sum(tuple(Quotient(ONE, c) for c in inner)))
        self._define(symbol, term)
        return symbol

    def _row(self, group: Group, made: Symbol, charge: Term) -> None:
        """Tell the charge of a row, and what each of its parts has of it."""
        symbol = Symbol(self._like("Q", made), SymbolKind.CHARGE, COULOMB)
        self._define(symbol, charge)
        inside: list[tuple[Group, Symbol, Term]] = []
        for part in group.parts:
            if part.kind is Kind.ONE:
                own = capacitance(part.capacitor)
                self._leaf(part, symbol, Quotient(symbol, own))
                continue
            own = self._names[part]
            for branch in part.parts:  # side by side: one voltage, and the charge divides
                if branch.kind is Kind.ONE:
                    self._leaf(branch, None, Quotient(symbol, own))
                else:
                    inner = self._names[branch]
                    inside.append((branch, inner, Quotient(Product((inner, symbol)), own)))
        for branch, inner, share in inside:
            self._row(branch, inner, share)

    def _leaf(self, leaf: Group, charge: Symbol | None, across: Term) -> None:
        name = leaf.capacitor
        if not leaf.along:
            across = negate(across)
        self._hold(voltage_across(name), self._conclude(voltage_across(name), across))
        own: Term = Product((capacitance(name), voltage_across(name)))
        if charge is not None:
            own = charge if leaf.along else Negative(charge)
        self._hold(charge_on(name), self._conclude(charge_on(name), own))

    # --- all rules together ---------------------------------------------------------------------

    def _together(self) -> None:
        laws = self._laws
        for rule in laws.rules:
            self._collected(rule)
        ring, above = self._numerators()
        determinant = laws.determinant.compose({}, ring)
        sign = 1 if determinant.leading > 0 else -1
        determinant = determinant * sign
        name = None
        if len(determinant) >= _NAMED_FROM:
            wish = "Delta"
            while not self._taken.free(wish):
                wish += "'"
            self._taken.take(wish)
            name = auxiliary(wish, capacitance("C").dimension ** len(laws.rules))
            self._define(name, ring.term(determinant))
        tree = [voltage_across(p.capacitor) for p in laws.tree]
        forms = {s: poly * sign for s, poly in zip(tree, above, strict=True)}
        for symbol, poly in forms.items():
            right = self._fraction(ring, poly, determinant, name)
            self._hold(symbol, self._conclude(symbol, right))
        for link in laws.links:
            symbol = voltage_across(link.plates.capacitor)
            poly = self._driven(ring, link) * determinant
            for other, factor in link.signs.items():
                poly = poly + forms[other] * factor
            self._hold(symbol, link.step, self._fraction(ring, poly, determinant, name))
        for plates in self._cluster.capacitors:
            self._hold(charge_on(plates.capacitor), laws.parts[plates.capacitor])

    def _collected(self, rule: StepId) -> None:
        """Put capacitance times voltage into a charge rule, and the voltages of links."""
        laws, builder = self._laws, self._builder
        signs = laws.signs(rule)
        links = [link for link in laws.links if link.plates.capacitor in signs]
        number = laws.rules.index(rule)
        row = laws.matrix[number]
        own = laws.own[number]
        # The voltage of the capacitor that leads to the island gets a plus sign.
        sign = 1 if row[own].leading > 0 else -1
        left = tuple(
            product(laws.term(entry * sign), voltage_across(p.capacitor))
            for entry, p in zip(row, laws.tree, strict=True)
            if entry
        )
        right = tuple(
            product(laws.term(laws.letter(link.plates.capacitor, laws.letters)), link.source)
            if signs[link.plates.capacitor] * sign < 0
            else negate(
                product(laws.term(laws.letter(link.plates.capacitor, laws.letters)), link.source)
            )
            for link in links
            if link.source != ZERO
        )
        builder.add(
            Substitute(
                premise=rule,
                definitions=(
                    *(laws.parts[name] for name in signs),
                    *(link.step for link in links),
                ),
                rewriting=laws.given,
                factor=ONE if sign > 0 else Negative(ONE),
                conclusion=Equation(total(left), total(right)),
            )
        )

    def _numerators(self) -> tuple[Ring, list[Poly]]:
        """Return each tree voltage times the determinant, with a letter for each source."""
        laws = self._laws
        for link in laws.links:
            if link.source != ZERO and link.source not in self._sources.values():
                name = f"source {len(self._sources) + 1}"
                self._sources[auxiliary(name, VOLT)] = link.source
        ring = Ring((*laws.letters.symbols, *self._sources))
        constant = []
        for rule in laws.rules:
            value = ring.zero
            for link in laws.links:
                sign = laws.signs(rule).get(link.plates.capacitor, 0)
                own = laws.letter(link.plates.capacitor, ring) * self._driven(ring, link)
                value = value - own * sign
            constant.append(value)
        above = []
        for t in range(len(laws.tree)):
            value = ring.zero
            for k, own in enumerate(constant):
                value = value + laws.cofactors[k][t].compose({}, ring) * own
            above.append(value)
        return ring, above

    def _driven(self, ring: Ring, link: Link) -> Poly:
        """Return the letter of the source of a link."""
        letters = (s for s, source in self._sources.items() if source == link.source)
        found = next(letters, None)
        return ring.zero if found is None else ring.symbol(found)

    def _fraction(self, ring: Ring, above: Poly, below: Poly, name: Symbol | None) -> Term:
        """Return a numerator, grouped by what drives it, over the determinant."""
        top, under = cancel(above, below)
        if not top:
            return ZERO
        letters = len(self._laws.letters.symbols)
        shares: dict[tuple[int, ...], dict[tuple[int, ...], Fraction]] = {}
        scale = under.constant_value if under.is_constant else 1
        for exponents, coefficient in top.terms():
            own = (*exponents[:letters], *(0 for _ in exponents[letters:]))
            rest = (*(0 for _ in exponents[:letters]), *exponents[letters:])
            shares.setdefault(rest, {})[own] = coefficient / scale
        items = []
        for rest, coefficients in shares.items():
            factor = ring.build(coefficients)
            negative = factor.leading < 0
            drive = put_in(ring.monomial(rest, Fraction(1)), self._sources)
            item = product(ring.term(-factor if negative else factor), drive)
            items.append(negate(item) if negative else item)
        if under.is_constant:
            return total(tuple(items))
        known = name is not None and under == below
        return quotient(total(tuple(items)), name if known and name else ring.term(under))

    # --- steps ----------------------------------------------------------------------------------

    def _define(self, symbol: Symbol, term: Term) -> None:
        step = self._builder.add(Define(symbol=symbol, conclusion=Equation(symbol, term)))
        self._defined[symbol] = step
        self._evaluate(symbol, step)

    def _conclude(self, symbol: Symbol, right: Term) -> StepId:
        return self._laws.conclude(Equation(symbol, right), self._defined)

    def _hold(self, symbol: Symbol, law: StepId, formula: Term | None = None) -> None:
        """Note where a charge or a voltage is concluded."""
        found = None
        if self._found.formulas and not self._laws.given:
            own = law if formula is None else self._conclude(symbol, formula)
            found = self._formula(own)
        value = self._evaluate(symbol, law)
        self.held[symbol] = Held(law, found, value)

    def _evaluate(self, symbol: Symbol, step: StepId) -> StepId | None:
        """Put the values in, as far as there are any, and round what is a number then."""
        if not self._circuit.values:
            return None
        right = self._builder.equation(step).right
        used = {s: self._values[s] for s in dict.fromkeys(symbols(right)) if s in self._values}
        value = put_values(self._known, self._builder, step, used)
        self._values[symbol] = value
        if next(symbols(self._builder.equation(value).right), None) is None:
            self._builder.add(rounded(self._builder, value, self._digits))
        return value

    def _formula(self, law: StepId) -> StepId:
        """Return a law in letters: names of charges, voltages and currents put in."""
        equation = self._builder.equation(law)
        right = equation.right
        cited: dict[StepId, None] = {}
        while True:
            rules = {s: k for s in dict.fromkeys(symbols(right))
                     if (k := self._expression(s)) is not None}  # fmt: skip
            if not rules:
                break
            cited |= dict.fromkeys(rules.values())
            right = put_in(right, {s: self._builder.equation(k).right for s, k in rules.items()})
        if not cited:
            return law
        right = one_fraction(right)
        return self._builder.add(
            BackSubstitute(
                premise=law,
                definitions=tuple(cited),
                rewriting=(*self._found.definitions, *ties(self._found, self._builder)),
                conclusion=Equation(equation.left, right),
            )
        )

    def _expression(self, symbol: Symbol) -> StepId | None:
        """Return what is put in for a symbol of a formula."""
        if symbol.kind is SymbolKind.CHARGE and symbol in self._defined:
            return self._defined[symbol]
        if symbol in self.held:
            return self.held[symbol].formula
        return self._found.formulas.get(symbol)

    # --- names ----------------------------------------------------------------------------------

    def _name(self, letter: str, parts: list[Symbol]) -> str:
        digits = "".join(s.name.removeprefix(letter) for s in parts)
        wish = letter + digits
        if not digits.isdigit() or len(digits) > 4 or not self._taken.free(wish):
            words = (f"{letter}_{chr(ord('a') + k)}" for k in range(26))
            wish = next(word for word in words if self._taken.free(word))
        self._taken.take(wish)
        return wish

    def _like(self, letter: str, made: Symbol) -> str:
        wish = letter + made.name[1:]
        while not self._taken.free(wish):
            wish += "'"
        self._taken.take(wish)
        return wish
