"""From the circuit to collected equations in the chord currents, as steps."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from derive.algebra.dimension import AMPERE, NUMBER, OHM, VOLT, Dimension
from derive.algebra.name import natural_key
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import (
    ZERO,
    Equation,
    Negative,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
    constant,
    negate,
    number,
    product,
    replace,
    symbols,
    total,
)
from derive.analysis.forms import Forms, control_voltages
from derive.analysis.laws import (
    given_values,
    junction_rule,
    known_currents,
    loop_rule,
    path_rule,
    points_of_voltage,
    same_currents,
)
from derive.analysis.loops import LoopChoice
from derive.analysis.plan import LinearRow
from derive.analysis.sought import SoughtVoltages
from derive.analysis.system import TreeChoice
from derive.circuit.elements import CurrentSource
from derive.circuit.model import CONDITIONS, Circuit, Given, Tie
from derive.derivation.algebra import Isolate, PutInValues, Substitute
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId


@dataclass(frozen=True, slots=True)
class Letters:
    """The letters of a circuit and what stands for them in the equations."""

    ring: Ring
    """Over the letters that are left, in natural order."""
    images: Mapping[Symbol, Poly]
    """Every quantity of the circuit as an element of the ring."""
    steps: Mapping[Symbol, StepId]
    """The `GivenValue` step of each quantity that has one."""
    numeric: bool
    """True when no letter is left."""


def read_letters(circuit: Circuit, builder: Builder, *, numbers: bool) -> Letters:
    """State the given values as steps and say what each quantity is in the equations to come.

    With `numbers`, given values take the place of their letters; ties always do.
    """
    steps: dict[Symbol, StepId] = {}
    for step in given_values(circuit):
        steps[step.symbol] = builder.add(step)
    quantities = _quantities(circuit)
    kept = [
        symbol
        for symbol in quantities
        if not isinstance(circuit.valuation(symbol), Tie)
        and not (numbers and isinstance(circuit.valuation(symbol), Given))
        and not _is_nothing(circuit, symbol)
    ]
    ring = Ring(sorted(kept, key=lambda symbol: natural_key(symbol.name)))
    images: dict[Symbol, Poly] = {}
    for symbol in quantities:
        images[symbol] = _image(circuit, ring, symbol, numbers=numbers)
    return Letters(ring, images, steps, not kept)


def _is_nothing(circuit: Circuit, symbol: Symbol) -> bool:
    """Tell whether a current or a voltage is given as zero, which no letter stands for."""
    value = circuit.valuation(symbol)
    return symbol.kind in CONDITIONS and isinstance(value, Given) and value.value == 0


def _quantities(circuit: Circuit) -> tuple[Symbol, ...]:
    """Return every emf, source current and resistance, and what ties refer to, each once.

    Then the currents and voltages that are given; what is sought is left out.
    """
    found: dict[Symbol, None] = {}
    for branch in circuit.branches:
        for battery in branch.batteries:
            found[battery.emf] = None
        for passage in branch.sources:
            assert isinstance(passage.element, CurrentSource)
            found[passage.element.source] = None
        for symbol in branch.resistances:
            found[symbol] = None
    dependent = circuit.dependent
    for branch in circuit.idle if dependent else ():
        # The voltage on which a source depends may be led past a battery without current.
        for battery in branch.batteries:
            found[battery.emf] = None
    for valuation in circuit.values:
        found[valuation.symbol] = None
        if isinstance(valuation.value, Tie) and valuation.symbol not in dependent:
            found.update(dict.fromkeys(symbols(valuation.value.term)))
    unknown = {*dependent, *circuit.sought}
    return tuple(symbol for symbol in found if symbol not in unknown)


def _image(circuit: Circuit, ring: Ring, symbol: Symbol, *, numbers: bool) -> Poly:
    if symbol in ring:
        return ring.symbol(symbol)
    match circuit.valuation(symbol):
        case Given(value=value):
            return ring.constant(value)
        case Tie(term=term):
            inner = {s: _image(circuit, ring, s, numbers=numbers) for s in symbols(term)}
            helper = Ring(tuple(inner))
            return helper.poly(term).compose(inner, ring)
        case None:
            raise KeyError(symbol.name)


@dataclass(frozen=True, slots=True)
class Scale:
    """The powers of ten in which the numbers of a circuit are written: V, kΩ, mA, …"""

    volt_exponent: int = 0
    ohm_exponent: int = 0


def choose_scale(circuit: Circuit) -> Scale:
    """Return the unit of resistance, Ω, kΩ or MΩ, in which the given values have fewest digits."""
    sizes = [
        abs(v.value.value)
        for v in circuit.values
        if isinstance(v.value, Given) and v.symbol.kind is SymbolKind.RESISTANCE and v.value.value
    ]
    digits = {e: sum(_digits(size / Fraction(10) ** e) for size in sizes) for e in (0, 3, 6)}
    return Scale(0, min(digits, key=lambda e: (digits[e], e)))


def _digits(value: Fraction) -> int:
    """Return how many digits there are to write, zeros at the front of a decimal included."""
    whole = len(str(value.numerator // value.denominator))
    decimals = 0
    while value.denominator != 1 and decimals < 9:
        value *= 10
        decimals += 1
    return whole + decimals


@dataclass(frozen=True, slots=True)
class Collected:
    """The loop equations in the chord currents."""

    unknowns: tuple[Symbol, ...]
    rows: tuple[LinearRow, ...]
    steps: tuple[StepId, ...]
    """The step that concludes each row."""
    right: Dimension
    """Dimension of the right sides: V, or A after division by a resistance unit."""
    junctions: tuple[StepId, ...]
    loops: tuple[StepId, ...]
    isolated: Mapping[int, StepId]
    """Branch → step ``I = combination of chord and source currents``, in the order of the steps."""
    known: Mapping[int, StepId]
    """Branch → step ``I = source current``, in letters or, with numbers first, as a value."""
    forms: Forms
    """Every current and every dependent source by the unknowns."""
    controls: Mapping[Symbol, StepId]
    """What sources depend on → step ``V(B,A) = changes``, or ``I5 = −I2`` for a walk."""
    still: Mapping[Symbol, StepId]
    """Current of a walk in which none can flow → step ``I = 0``."""
    sought: Mapping[Symbol, StepId]
    """Sought resistance → its law ``V(R4) = R4·I4``."""
    others: Mapping[Symbol, StepId]
    """All that is no unknown → its law: currents of sources and of the tree, dependent sources."""


def collect(
    circuit: Circuit, letters: Letters, choice: LoopChoice, tree: TreeChoice, builder: Builder
) -> Collected:
    """Write the junction and loop equations, put the former into the latter, and tidy."""
    nodes = {node.name: node for node in circuit.nodes}
    order = [node.name for node in circuit.nodes]
    builder.begin(Goal.KNOWN)
    still = still_currents(circuit, builder)
    known = _known(circuit, letters, builder)
    builder.begin(Goal.JUNCTIONS)
    laws = {
        name: builder.add(junction_rule(circuit, nodes[name]))
        for name in sorted((name for name, _ in tree.order), key=order.index)
    }
    builder.begin(Goal.LOOPS)
    loops = tuple(
        builder.add(loop_rule(circuit, loop, str(k + 1))) for k, loop in enumerate(choice.loops)
    )
    builder.begin(Goal.CONDITIONS)
    conditions = [
        builder.add(path_rule(circuit, *reversed(points_of_voltage(condition.symbol))))
        for condition in circuit.conditions
        if condition.symbol.kind is SymbolKind.VOLTAGE
    ]
    builder.begin(Goal.VOLTAGES_SOUGHT)
    voltages = SoughtVoltages(circuit, builder)
    laws_to_solve = [voltages.put_in(law) for law in (*loops, *conditions)]
    builder.begin(Goal.SOLVE_JUNCTIONS)
    isolated: dict[int, StepId] = {}
    for node, branch in tree.order:
        isolated[branch] = _isolate(circuit, tree, laws[node], branch, known | isolated, builder)
    forms = Forms(circuit, letters.ring, letters.images, tree)
    unknowns = forms.unknowns
    builder.begin(Goal.CONTROLS)
    controls = {s: voltages.put_in(step) for s, step in _controls(circuit, builder).items()}
    numeric = letters.numeric
    divided = numeric and not (forms.kept or circuit.sought)
    right = AMPERE if divided else VOLT
    rows, steps = [], []
    scale = choose_scale(circuit)
    builder.begin(Goal.COLLECT)
    others = _others(circuit, letters, forms, known | isolated)
    nothing = {
        condition.symbol: letters.steps[condition.symbol]
        for condition in circuit.conditions
        if condition.symbol.kind is SymbolKind.VOLTAGE and condition.symbol not in letters.ring
    }
    laws_of = {**others, **controls, **still, **nothing}
    premises = [*laws_to_solve, *(letters.steps[symbol] for symbol in forms.kept)]
    for law in premises:
        row, sign = _row(forms, builder.equation(law))
        definitions = _put_in(builder, law, laws_of)
        premise = _with_values(letters, law, builder) if law in laws_to_solve else law
        factor: Term = number(sign)
        if divided:
            row, ratio = _whole(row, scale)
            factor = Quotient(
                number(sign * ratio), Quantity(Fraction(10) ** scale.ohm_exponent, OHM)
            )
        elif builder.equation(law).left in forms.kept and unit_of_law(builder, law) == AMPERE:
            factor = (
                Quantity(Fraction(sign), OHM) if sign > 0 else Negative(Quantity(Fraction(1), OHM))
            )
        rows.append(row)
        steps.append(
            builder.add(
                Substitute(
                    premise=premise,
                    definitions=definitions,
                    factor=factor,
                    rewriting=_rewriting(circuit, letters, values=numeric),
                    conclusion=row_equation(row, unknowns, right),
                )
            )
        )
    return Collected(
        unknowns,
        tuple(rows),
        tuple(steps),
        right,
        tuple(laws.values()),
        loops,
        isolated,
        known,
        forms,
        controls,
        still,
        voltages.rules,
        others,
    )


def _others(
    circuit: Circuit, letters: Letters, forms: Forms, branches: Mapping[int, StepId]
) -> dict[Symbol, StepId]:
    found = {circuit.branches[k].current: step for k, step in branches.items()}
    inlined = (symbol for symbol in circuit.dependent if symbol not in forms.kept)
    return found | {symbol: letters.steps[symbol] for symbol in inlined}


def held_by(builder: Builder, law: StepId, controls: Mapping[Symbol, StepId]) -> set[Symbol]:
    """Return the symbols on the right of a law, and those that its voltages are sums of."""
    held = set(symbols(builder.equation(law).right))
    for symbol, step in controls.items():
        if symbol in held:
            held |= set(symbols(builder.equation(step).right))
    return held


def in_order(
    builder: Builder, laws: Mapping[Symbol, StepId], controls: Mapping[Symbol, StepId]
) -> Iterator[tuple[Symbol, StepId]]:
    """Yield laws ``symbol = term``, each after those that give what it holds."""
    waiting = dict(laws)
    while waiting:
        ready = [
            symbol
            for symbol, step in waiting.items()
            if not held_by(builder, step, controls) & waiting.keys()
        ]
        if not ready:
            raise ValueError("the laws go round in a circle")
        for symbol in ready:
            yield symbol, waiting.pop(symbol)


def unit_of_law(builder: Builder, law: StepId) -> Dimension:
    """Return the dimension of a law ``symbol = term``."""
    left = builder.equation(law).left
    assert isinstance(left, Symbol)
    return left.dimension


def _rewriting(circuit: Circuit, letters: Letters, *, values: bool) -> tuple[StepId, ...]:
    """Return what else is put into an equation: ties, and given values where these go first."""
    dependent = circuit.dependent
    return tuple(
        letters.steps[v.symbol]
        for v in circuit.values
        if (isinstance(v.value, Tie) or values) and v.symbol not in dependent
    )


def _controls(circuit: Circuit, builder: Builder) -> dict[Symbol, StepId]:
    """State what sources depend on: voltages as sums of changes, walks by their branches."""
    found = {
        symbol: builder.add(path_rule(circuit, *reversed(points_of_voltage(symbol))))
        for symbol in control_voltages(circuit)
    }
    ties = (circuit.valuation(symbol) for symbol in circuit.dependent)
    met = {s for tie in ties if isinstance(tie, Tie) for s in symbols(tie.term)}
    for law in same_currents(circuit):
        if law.walk in met:
            found[law.walk] = builder.add(law)
    return found


def _put_in(builder: Builder, law: StepId, laws: Mapping[Symbol, StepId]) -> tuple[StepId, ...]:
    """Return the laws of all that stands in a law and is no unknown, and of what they hold."""
    equation = builder.equation(law)
    waiting = list(dict.fromkeys((*symbols(equation.left), *symbols(equation.right))))
    found: dict[StepId, None] = {}
    for symbol in waiting:
        step = laws.get(symbol)
        if step is not None and step != law and step not in found:
            found[step] = None
            waiting += symbols(builder.equation(step).right)
    return tuple(sorted(found))


def still_currents(circuit: Circuit, builder: Builder) -> dict[Symbol, StepId]:
    """State that no current flows in the walks that a gap interrupts."""
    laws = [law for law in known_currents(circuit) if law.conclusion.right == ZERO]
    return {law.current: builder.add(law) for law in laws}


def _known(circuit: Circuit, letters: Letters, builder: Builder) -> dict[int, StepId]:
    """State the currents that sources set; with numbers first, put their values in."""
    found: dict[int, StepId] = {}
    places = {branch.current: k for k, branch in enumerate(circuit.branches)}
    for law in known_currents(circuit):
        if law.current not in places:
            continue
        step = builder.add(law)
        found[places[law.current]] = step
        right = law.conclusion.right
        unknown = (*circuit.dependent, *circuit.sought)
        if not any(s in unknown for s in symbols(right)):
            value = Ring(tuple(symbols(right))).poly(right).compose(letters.images, letters.ring)
            if not value.is_constant:
                continue  # a letter, or it stays one until the numbers go in
            put = constant(value.constant_value, AMPERE)
            found[places[law.current]] = builder.add(
                PutInValues(
                    premise=step,
                    values=tuple(letters.steps.values()),
                    conclusion=Equation(law.current, put),
                )
            )
    return found | _given_currents(circuit, letters, builder)


def _given_currents(circuit: Circuit, letters: Letters, builder: Builder) -> dict[int, StepId]:
    """Tell the currents that the author gives by the arrows of their branches.

    A letter that is the current of its branch says nothing more, and is left out.
    """
    found: dict[int, StepId] = {}
    laws = {law.walk: law for law in same_currents(circuit)}
    for index, walk in circuit.given_currents.items():
        own = circuit.branches[index].current
        put_in = walk.current not in letters.ring
        if walk.current == own:
            if put_in:
                found[index] = letters.steps[own]
            continue
        law = builder.add(laws[walk.current])
        right = letters.images[walk.current].constant_value if put_in else None
        shown = walk.current if right is None else constant(right, AMPERE)
        found[index] = builder.add(
            Isolate(
                premise=law,
                symbol=own,
                factor=number(-1 if walk.along else 1),
                definitions=(letters.steps[walk.current],) if put_in else (),
                conclusion=Equation(own, shown if walk.along else minus(shown)),
            )
        )
    return found


def _with_values(letters: Letters, step: StepId, builder: Builder) -> StepId:
    """Put the given numbers into a loop equation, if the route puts numbers first.

    Given currents and voltages go in with the junction equations.
    """
    equation = builder.equation(step)
    found = {
        s: letters.images[s]
        for s in symbols(equation.left)
        if s in letters.images and s not in letters.ring
        and letters.images[s].is_constant and s.kind not in CONDITIONS
    }  # fmt: skip
    if not found:
        return step
    values = {s: constant(p.constant_value, s.dimension) for s, p in found.items()}
    return builder.add(
        PutInValues(
            premise=step,
            values=tuple(k for s, k in letters.steps.items() if s.kind not in CONDITIONS),
            conclusion=Equation(replace(equation.left, values), equation.right),
        )
    )


def _isolate(
    circuit: Circuit,
    tree: TreeChoice,
    law: StepId,
    branch: int,
    earlier: Mapping[int, StepId],
    builder: Builder,
) -> StepId:
    target = circuit.branches[branch]
    rule = builder.equation(law)
    # In left − right of the rule, currents of the left side count as plus.
    sign = 1 if target.current in symbols(rule.left) else -1
    terms = []
    for chord, flow in zip(tree.chords, tree.flows[branch], strict=True):
        if flow:
            flowing: Term = circuit.branches[chord].current
            if chord in tree.sources or (chord in tree.given and chord in earlier):
                flowing = builder.equation(earlier[chord]).right
            if not (isinstance(flowing, Quantity) and flowing.value == 0):
                terms.append(flowing if flow > 0 else negate(flowing))
    terms.sort(key=lambda term: isinstance(term, Negative))
    met = {*symbols(rule.left), *symbols(rule.right)}
    return builder.add(
        Isolate(
            premise=law,
            symbol=target.current,
            factor=number(sign),
            definitions=tuple(
                step for k, step in earlier.items() if circuit.branches[k].current in met
            ),
            conclusion=Equation(target.current, total(tuple(terms))),
        )
    )


def _row(forms: Forms, law: Equation) -> tuple[LinearRow, int]:
    """Return Σ coefficient · unknown = right, and −1 or 1: what left − right was multiplied by."""
    found = forms.of(law.left).plus(forms.of(law.right).times(-1))
    # Left − right is a sum of changes: what the unknowns make of it goes to the other side.
    coefficients = tuple(-found.of(symbol) for symbol in forms.unknowns)
    lead = next((c for c in coefficients if c), None)
    if lead is not None and lead.leading < 0:
        return LinearRow(tuple(-c for c in coefficients), -found.rest), 1
    return LinearRow(coefficients, found.rest), -1


def _whole(row: LinearRow, scale: Scale) -> tuple[LinearRow, Fraction]:
    """Divide a row of numbers by the resistance unit and clear fractions and common factors.

    Coefficients become whole numbers; the right side stays in A.
    """
    unit = Fraction(10) ** scale.ohm_exponent
    values = [c.constant_value / unit for c in row.coefficients if c]
    if not values:
        return row, Fraction(1)
    below = lcm(*(v.denominator for v in values))
    above = gcd(*(int(v * below) for v in values))
    ratio = Fraction(below, above)
    return (
        LinearRow(tuple(c * (ratio / unit) for c in row.coefficients), row.right * (ratio / unit)),
        ratio,
    )


def row_equation(row: LinearRow, unknowns: tuple[Symbol, ...], right: Dimension) -> Equation:
    """Return Σ coefficient · unknown = right side as it is written."""
    left = []
    for poly, unknown in zip(row.coefficients, unknowns, strict=True):
        if poly:
            left.append(scaled(poly, unknown, right / unknown.dimension))
    return Equation(total(tuple(left)), by_battery(row.right, right))


def scaled(poly: Poly, unknown: Symbol, dimension: Dimension) -> Term:
    """Return coefficient · unknown, with the minus sign in front where all terms have one."""
    return _times(poly, unknown, dimension)


def _times(poly: Poly, factor: Term, dimension: Dimension) -> Term:
    """Return a polynomial times a term: signs in front, then what all its terms share."""
    coefficients = poly.coefficients()
    if len(coefficients) < 2:
        return product(poly.ring.term(poly, dimension), factor)
    if all(c < 0 for c in coefficients):
        return Negative(_times(-poly, factor, dimension))
    shared = shared_letters(poly)
    if shared == poly.ring.one:
        return Product((positive_first(poly.ring.term(poly, dimension)), factor))
    unit = letters_dimension(shared)
    rest = positive_first(poly.ring.term(poly / shared, dimension / unit))
    return product(poly.ring.term(shared, unit), rest, factor)


def shared_letters(poly: Poly) -> Poly:
    """Return the product of letters that divides every term."""
    least = [min(exponents) for exponents in zip(*poly.monomials(), strict=True)]
    return poly.ring.build({tuple(int(e) for e in least): 1})


def positive_first(term: Term) -> Term:
    """Return a sum with its positive terms in front, as a reader expects it."""
    if not isinstance(term, Sum):
        return term
    return Sum(tuple(sorted(term.terms, key=lambda item: isinstance(item, Negative))))


DRIVING = (SymbolKind.EMF, SymbolKind.VOLTAGE, SymbolKind.SOURCE_CURRENT, SymbolKind.CURRENT)
"""What drives the currents of a circuit, or is given of them: every current is a sum of multiples
of these."""


def by_battery(poly: Poly, dimension: Dimension) -> Term:
    """Return a polynomial grouped by the emfs in it: (R2 + R3) E1 − R3 E2.

    Emfs with the same factor share it: R3 (E1 − E2). Source currents are grouped as well.
    """
    ring = poly.ring
    driving = [s for s in poly.symbols if s.kind in DRIVING]
    driving.sort(key=lambda s: DRIVING.index(s.kind))
    try:
        parts, rest = poly.linear(driving)
    except ValueError:
        return positive_first(ring.term(poly, dimension))
    terms: list[Term] = []
    for part, group in _groups(zip(driving, parts, strict=True)):
        terms.extend(_grouped(part, group, dimension))
    if rest:
        constant_part = ring.term(rest, dimension)
        terms.extend(constant_part.terms if isinstance(constant_part, Sum) else (constant_part,))
    return positive_first(total(tuple(terms)))


_Group = list[tuple[Symbol, bool]]
"""Emfs, or source currents, and whether each is added."""


def _groups(pairs: Iterable[tuple[Symbol, Poly]]) -> list[tuple[Poly, _Group]]:
    """Return the factors with the emfs or the source currents that have them."""
    found: list[tuple[Poly, _Group]] = []
    for driving, part in pairs:
        for known, group in found:
            alike = group[0][0].dimension == driving.dimension
            if alike and part in (known, -known):
                group.append((driving, part == known))
                break
        else:
            found.append((part, [(driving, True)]))
    return found


def _grouped(part: Poly, group: _Group, dimension: Dimension) -> tuple[Term, ...]:
    """Return one term for emfs with one factor, or one for each where the factor is a number."""
    if len(group) == 1 or part.is_constant:
        signed = [(s, part if plus else -part) for s, plus in group]
        return tuple(scaled(factor, s, dimension / s.dimension) for s, factor in signed)
    if all(c < 0 for c in part.coefficients()):
        part, group = -part, [(s, not plus) for s, plus in group]
    if not any(plus for _, plus in group):
        part, group = -part, [(s, True) for s, _ in group]
    sums = positive_first(Sum(tuple(s if plus else Negative(s) for s, plus in group)))
    return (_times(part, sums, dimension / group[0][0].dimension),)


def minus(term: Term) -> Term:
    """Return the opposite of a sum, term by term."""
    if isinstance(term, Sum):
        return Sum(tuple(negate(item) for item in term.terms))
    return term if term == ZERO else negate(term)


def letters_dimension(poly: Poly) -> Dimension:
    """Return the dimension of the letters in the term that holds most of them.

    That of the polynomial itself where its numbers have no units.
    """
    exponents = max(poly.monomials(), key=sum)
    found = NUMBER
    for symbol, exponent in zip(poly.ring.symbols, exponents, strict=True):
        found = found * symbol.dimension ** int(exponent)
    return found
