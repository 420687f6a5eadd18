"""What Kirchhoff's rules still fix where they leave some currents open."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from derive.algebra.dimension import AMPERE
from derive.circuit.amounts import shown
from derive.circuit.model import Circuit
from derive.circuit.solution import GeneralSolution, NoUniqueSolution, TooLarge, general_solution
from derive.circuit.solvability import Undetermined
from derive.circuit.values import MissingValue, evaluate

_MOST_TERMS = 200
_MOST_SHOWN = 6
_LONGEST = 60
"""Longest formula that is told in a message."""


def what_is_fixed(circuit: Circuit, report: Undetermined) -> tuple[tuple[str, str], ...]:
    """Return what is fixed all the same: the name each finding belongs to, and the sentence.

    First the sums of open currents that the junction rule fixes, then single currents.
    """
    if circuit.has_sources:
        return ()
    try:
        letters = general_solution(circuit, bound=_MOST_TERMS)
        given = general_solution(circuit, values="given", bound=_MOST_TERMS)
    except (NoUniqueSolution, TooLarge):
        return ()
    amounts = {
        branch.current.name: _amount(given, number)
        for number, branch in enumerate(circuit.branches)
        if number not in report.branches
    }
    told = list(_sums(circuit, report, amounts))
    for walk in circuit.walks:
        own = circuit.branches[walk.branch].current.name
        if own not in amounts:
            continue
        name, amount = walk.current.name, amounts[own]
        if amount is not None:
            what = _ampere(amount if walk.along else -amount)
        elif name == own:
            what = letters.text(walk.branch)
        else:
            what = own if walk.along else f"−{own}"
        equals = f" = {what}" if len(what) <= _LONGEST else ""
        told.append((name, f"{name}{equals} is fixed all the same"))
    return tuple(told[:_MOST_SHOWN])


def _sums(
    circuit: Circuit, report: Undetermined, amounts: dict[str, Fraction | None]
) -> Iterator[tuple[str, str]]:
    """Yield what the junction rule says of open currents, where just two meet fixed ones."""
    seen: set[frozenset[int]] = set()
    for node in circuit.nodes:
        ends = [
            (number, branch.tail == node.name)
            for number, branch in enumerate(circuit.branches)
            if node.name in (branch.tail, branch.head) and branch.tail != branch.head
        ]
        free = [(k, leaves) for k, leaves in ends if k in report.branches]
        bound = [(k, leaves) for k, leaves in ends if k not in report.branches]
        group = frozenset(k for k, _ in free)
        if len(free) < 2 or group in seen:
            continue
        seen.add(group)
        out = free[0][1]
        left = _sum(circuit, [(k, leaves == out) for k, leaves in free])
        right = _sum(circuit, [(k, leaves != out) for k, leaves in bound])
        values = [(amounts[circuit.branches[k].current.name], leaves != out) for k, leaves in bound]
        known = [value if plus else -value for value, plus in values if value is not None]
        if bound and len(known) == len(values):
            right += f" = {_ampere(sum(known, Fraction(0)))}"
        rule = f"by the junction rule at {node.name}: {left} = {right}"
        yield node.name, f"only their balance is fixed, {rule}"


def _sum(circuit: Circuit, items: list[tuple[int, bool]]) -> str:
    text = ""
    for number, plus in items:
        text += (" + " if plus else " − ") if text else ("" if plus else "−")
        text += circuit.branches[number].current.name
    return text or "0"


def _amount(solution: GeneralSolution, branch: int) -> Fraction | None:
    """Return a current in numbers; None when a letter is left."""
    try:
        return evaluate(solution.formula(branch))
    except MissingValue:
        return None


def _ampere(value: Fraction) -> str:
    return shown(value, AMPERE).replace("-", "−")
