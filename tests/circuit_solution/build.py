"""A short way to write circuits for tests."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from fractions import Fraction

from derive.algebra.dimension import OHM, VOLT
from derive.algebra.term import Symbol, Term, current, emf, resistance
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Circuit, Node, Passage, WalkCurrent
from derive.circuit.valuation import Given, Tie, Valuation


def circuit(
    branches: Sequence[tuple[str, str, str]],
    values: Mapping[str, int | Fraction | Term] | None = None,
) -> Circuit:
    """Return a circuit of branches (tail, head, parts).

    Parts stand in walking order: ``R1`` a resistor, ``+E1`` a battery that raises the potential
    along the branch, ``-E1`` one that lowers it, ``+E1|r1`` one with an internal resistance.
    """
    made = []
    for number, (tail, head, parts) in enumerate(branches):
        passages = tuple(_passage(part) for part in parts.split())
        stations = ((tail,), *(() for _ in passages[1:]), (head,))
        made.append(Branch(current(f"I{number + 1}"), tail, head, passages, stations))
    names = dict.fromkeys(name for tail, head, _ in branches for name in (tail, head))
    nodes = tuple(
        Node(name, (name,), sum((t == name) + (h == name) for t, h, _ in branches))
        for name in names
    )
    walks = tuple(WalkCurrent(branch.current, k, True) for k, branch in enumerate(made))
    known = tuple(_valuation(name, value) for name, value in (values or {}).items())
    return Circuit("", "", nodes, tuple(made), walks, known, ())


def quantity(name: str) -> Symbol:
    """Return the symbol of a name: an emf when it starts with E or V."""
    return emf(name) if name[0] in "EV" else resistance(name)


def _passage(text: str) -> Passage:
    if text[0] not in "+-":
        return Passage(Resistor(text))
    name, _, internal = text[1:].partition("|")
    return Passage(Battery(name, internal or None), text[0] == "+")


def _valuation(name: str, value: int | Fraction | Term) -> Valuation:
    symbol = quantity(name)
    if isinstance(value, int | Fraction):
        dimension = VOLT if symbol.dimension == VOLT else OHM
        return Valuation(symbol, Given(Fraction(value), dimension))
    return Valuation(symbol, Tie(value))
