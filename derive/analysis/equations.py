"""From the circuit to collected equations in the chord currents, as steps."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import gcd, lcm

from derive.algebra.dimension import AMPERE, OHM, VOLT, Dimension
from derive.algebra.term import (
    Equation,
    Negative,
    Quantity,
    Quotient,
    Symbol,
    SymbolKind,
    Term,
    constant,
    number,
    replace,
    symbols,
)
from derive.analysis.expressions import row_equation
from derive.analysis.forms import Forms, control_voltages
from derive.analysis.known_branches import isolate, known_branches, still_currents
from derive.analysis.laws import (
    junction_rule,
    loop_rule,
    path_rule,
    points_of_voltage,
    same_currents,
)
from derive.analysis.letters import Letters, Scale, choose_scale
from derive.analysis.loops import LoopChoice
from derive.analysis.plan import LinearRow
from derive.analysis.sought import SoughtVoltages
from derive.analysis.system import TreeChoice
from derive.circuit.model import Circuit
from derive.circuit.valuation import CONDITIONS, Tie
from derive.derivation.algebra import PutInValues, Substitute
from derive.derivation.builder import Builder
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId


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
    known = known_branches(circuit, letters, builder)
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
        earlier = known | isolated
        isolated[branch] = isolate(circuit, tree, laws[node], branch, earlier, letters, builder)
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
