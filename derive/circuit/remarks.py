"""Warnings about a circuit that can be solved all the same."""

from __future__ import annotations

from derive.circuit.complaints import Complaints
from derive.circuit.graph import Graph
from derive.circuit.model import Circuit
from derive.circuit.register import Register
from derive.circuit.solvability import solvability
from derive.circuit.values import letters_without_value
from derive.language.syntax import SyntaxFile, ValueStatement


def warn(graph: Graph, register: Register, complaints: Complaints) -> None:
    """Warn of what looks like a slip."""
    for branch in graph.branches:
        driven = branch.batteries or branch.sources
        if branch.tail == branch.head and len(graph.branches) > 1 and not driven:
            for passage in branch.passages:
                entry = register.get(passage.element.name)
                complaints.warn(
                    "no-current",
                    f"both ends of {passage.element.name} are at the same potential, so it carries "
                    "no current",
                    entry.span if entry is not None else None,
                    "is one of its points meant to be another one?",
                )


def _warn_of_no_battery(circuit: Circuit, complaints: Complaints) -> None:
    # In a loop of wire a current of any size may flow, even without a battery.
    driven = any(branch.batteries or branch.sources for branch in circuit.branches)
    if not circuit.asks_for_currents or circuit.idle:
        return
    if not driven and solvability(circuit) is None:
        complaints.warn(
            "no-battery",
            "there is no battery in the circuit, so every current is zero",
            None,
            "a battery shows its terminals: (-E1+)",
        )


def _warn_of_tolerances(file: SyntaxFile, circuit: Circuit, complaints: Complaints) -> None:
    """Say once that tolerances say nothing while some other value is a letter."""
    given = (s for s in file.statements if isinstance(s, ValueStatement))
    first = next((s.tolerance for s in given if s.tolerance is not None), None)
    letters = [symbol.name for symbol in letters_without_value(circuit)]
    if first is not None and circuit.sought:
        complaints.warn(
            "tolerance-not-used",
            "tolerances are not worked with where a value is sought; the nominal values are used",
            first.span,
            f"put the value that is found into the file in place of {circuit.sought[0].name} = ?",
        )
    elif first is not None and letters:
        complaints.warn(
            "tolerance-not-used",
            "tolerances are worked with only where every value is given; "
            f"{letters[0]} has none, so the nominal values are used",
            first.span,
            f"give a value to {', '.join(letters[:6])}{', …' if len(letters) > 6 else ''}",
        )
