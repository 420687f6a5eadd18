"""Steps that state a law, compared with the law worked out anew from the circuit."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.term import ZERO, Equation, Negative, Sum, Symbol, Term, total
from derive.checker import charges, laws, naming, relations, walks
from derive.checker.evaluation import dimension, occurring
from derive.checker.ledger import Ledger, cited_line, require
from derive.checker.polynomial import Expansion, Refused
from derive.circuit.model import Circuit
from derive.derivation.laws import (
    AcrossRule,
    Change,
    ChargeRule,
    Crossing,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PartLaw,
    PartRule,
    PathRule,
    PotentialRule,
    SameCurrent,
)


def check_law(
    ledger: Ledger,
    step: GivenValue
    | SameCurrent
    | KnownCurrent
    | JunctionRule
    | LoopRule
    | PathRule
    | PotentialRule
    | AcrossRule
    | ChargeRule
    | PartRule,
) -> None:
    """Check that a step states what the circuit says."""
    circuit, stated = ledger.circuit, step.conclusion
    match step:
        case GivenValue(symbol=symbol):
            value = laws.given(circuit, symbol)
            require(value is not None, f"the author gives no value for {symbol.name}")
            _require_same(stated, Equation(symbol, value or ZERO), "the author's value")
            ledger.assumed[ledger.here] = frozenset((ledger.here,))
        case SameCurrent(walk=walk):
            _require_same(stated, laws.same_current(circuit, walk), "the current of the branch")
        case KnownCurrent(current=symbol, part=part):
            known = Equation(symbol, laws.known_current(circuit, symbol, part))
            require(stated == known, "the current is another one")
        case JunctionRule():
            _check_junction(circuit, step)
        case LoopRule():
            rows = walks.loop_rows(circuit, step.loop)
            require(step.crossings == rows, "the parts met on the loop are not these")
            changes = total(tuple(row.change for row in rows))
            require(stated == Equation(changes, ZERO), "the changes add up to something else")
        case PathRule(origin=origin, to=to):
            walks.follow(circuit, origin, to, step.crossings)
            changes = _sum_of_changes(step.crossings)
            symbol = naming.path_symbol(origin, to)
            require(stated == Equation(symbol, changes), "the changes add up to something else")
            _name_all(ledger, (symbol, *occurring(changes)))
        case PotentialRule():
            _check_potential(ledger, step)
        case AcrossRule(part=part):
            walks.follow_past(circuit, part, step.crossings)
            symbol = naming.part_symbol(PartLaw.VOLTAGE, part)
            changes = _sum_of_changes(step.crossings)
            require(stated == Equation(symbol, changes), "the changes add up to something else")
            _name_all(ledger, (symbol, *occurring(changes)))
        case ChargeRule():
            charges.check_rule(circuit, step)
            _name_all(ledger, (*step.leads_in, *step.leads_out))
        case PartRule(kind=kind, part=part):
            expected = relations.part_relation(circuit, kind, part)
            _require_same(stated, expected, "the relation of the part")
            _name_all(ledger, (naming.part_symbol(kind, part), *occurring(expected.right)))


def _name_all(ledger: Ledger, symbols: Iterable[Symbol]) -> None:
    """Note what has a meaning from here on: what a law relates."""
    for symbol in symbols:
        ledger.named.setdefault(symbol.name, symbol)


def _check_potential(ledger: Ledger, step: PotentialRule) -> None:
    """The grounded point is at zero; every other potential has been told before it is used."""
    ground = ledger.circuit.ground
    require(ground is not None, "no point is at zero")
    walks.follow(ledger.circuit, step.start, step.point, step.crossings)
    terms: list[Term] = [row.change for row in step.crossings if row.change != ZERO]
    if step.start != ground:
        terms.insert(0, naming.potential_symbol(step.start))
    symbol = naming.potential_symbol(step.point)
    right = total(tuple(terms))
    require(step.conclusion == Equation(symbol, right), "the changes add up to something else")
    changes = (row.change for row in step.crossings)
    _name_all(ledger, (symbol, *occurring(*changes)))


def _sum_of_changes(rows: tuple[Crossing, ...]) -> Term:
    """Return the sum of the changes on a path; where no current can flow there is none."""
    return total(tuple(row.change for row in rows if row.change != ZERO))


def check_change(ledger: Ledger, step: Change) -> None:
    """The change is that row of an earlier walk, and its name is new."""
    cited_line(ledger, step.loop)
    rule = ledger.steps[step.loop]
    if not isinstance(rule, LoopRule) or not 0 <= step.row < len(rule.crossings):
        raise Refused(f"step {step.loop} walks past no such part")
    symbol = step.conclusion.left
    if not isinstance(symbol, Symbol):
        raise Refused("a change needs one name")
    require(symbol.name not in ledger.named and "(" not in symbol.name, "the name has a meaning")
    change = rule.crossings[step.row].change
    require(step.conclusion.right == change, "the change on the walk is another one")
    ledger.named[symbol.name] = symbol


def _require_same(stated: Equation, expected: Equation, what: str) -> None:
    """The left sides must be one symbol; the right sides may be written differently."""
    same = stated.left == expected.left and dimension(stated.right) == dimension(expected.right)
    difference = Sum((stated.right, Negative(expected.right)))
    require(same and Expansion().is_zero(difference), f"this is not {what}")


def _check_junction(circuit: Circuit, step: JunctionRule) -> None:
    into, out = laws.flows(circuit, step.node)
    same = sorted(s.name for s in into) == sorted(s.name for s in step.flows_in)
    same = same and sorted(s.name for s in out) == sorted(s.name for s in step.flows_out)
    require(same, f"other currents flow into and out of {step.node}")
    sides = [total(step.flows_in), total(step.flows_out)]
    if not into:  # a reader expects the zero on the right
        sides.reverse()
    require(step.conclusion == Equation(*sides), f"this is not the junction rule at {step.node}")
