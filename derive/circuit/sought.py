"""Values that are sought: from as many currents and voltages as the author gives."""

from __future__ import annotations

from collections.abc import Sequence

from derive.algebra.term import Symbol, symbols
from derive.circuit.complaints import Complaints
from derive.circuit.elements import Battery, own_quantity
from derive.circuit.graph import Graph
from derive.circuit.valuation import Tie, Valuation
from derive.circuit.valuations import Sought
from derive.diagnostic import Note
from derive.source import Span


def check_sought(
    graph: Graph | None,
    sought: Sequence[Sought],
    conditions: Sequence[Valuation],
    values: Sequence[Valuation],
    complaints: Complaints,
) -> None:
    """Complain where what is sought cannot follow from what is given."""
    _check_count(sought, conditions, complaints)
    _check_ties(sought, values, complaints)
    if graph is not None:
        _check_parts(graph, sought, complaints)
        _check_currents(graph, conditions, complaints)


def _check_count(
    sought: Sequence[Sought], conditions: Sequence[Valuation], complaints: Complaints
) -> None:
    if len(sought) == len(conditions):
        return
    wanted = ", ".join(item.symbol.name for item in sought)
    given = ", ".join(item.symbol.name for item in conditions)
    if not sought:
        complaints.error(
            "nothing-sought",
            f"{given} {'is' if len(conditions) == 1 else 'are'} given, but nothing is sought that "
            "would follow from it",
            conditions[0].span,
            "say which value is sought: E2 = ?",
            "or leave it out; the solution finds every current and voltage",
        )
    elif not conditions:
        complaints.error(
            "nothing-given",
            f"{wanted} {'is' if len(sought) == 1 else 'are'} sought, but no current and no voltage "
            "is given",
            sought[0].span,
            "give one for each value that is sought: I3 = 1.2 A, or V(B,A) = 5 V",
            "or leave the value out, and the quantity stays a letter",
        )
    else:
        complaints.error(
            "sought-not-matched",
            f"each value that is sought needs one given current or voltage, but {len(sought)} "
            f"({wanted}) {'is' if len(sought) == 1 else 'are'} sought, and {len(conditions)} "
            f"({given}) {'is' if len(conditions) == 1 else 'are'} given",
            sought[0].span,
            "give another current or voltage" if len(sought) > len(conditions)
            else "leave one of the given ones out",
        )  # fmt: skip


def _check_ties(
    sought: Sequence[Sought], values: Sequence[Valuation], complaints: Complaints
) -> None:
    wanted = {item.symbol for item in sought}
    for valuation in values:
        if isinstance(valuation.value, Tie):
            held = next((s for s in symbols(valuation.value.term) if s in wanted), None)
            if held is not None:
                complaints.error(
                    "tied-to-sought",
                    f"`{valuation.symbol.name}` is tied to {held.name}, whose value is sought",
                    valuation.span,
                    f"give {valuation.symbol.name} a value of its own",
                )


def _check_parts(graph: Graph, sought: Sequence[Sought], complaints: Complaints) -> None:
    idle: set[Symbol] = set()
    for branch in graph.idle:
        idle |= set(branch.resistances)
        idle |= {passage.element.emf for passage in branch.passages
                 if isinstance(passage.element, Battery)}  # fmt: skip
        idle |= {q for passage in branch.passages if (q := own_quantity(passage.element))}
    for item in sought:
        if item.symbol in idle:
            complaints.error(
                "sought-without-current",
                f"no current flows in {item.symbol.name}, so its value does not follow from any",
                item.span,
                "give it a value, or leave it out",
            )


def _check_currents(graph: Graph, conditions: Sequence[Valuation], complaints: Complaints) -> None:
    """Complain of given currents that are known without being given."""
    still = {branch.current for branch in graph.idle}
    places = {walk.current: walk.branch for walk in graph.walks}
    taken: dict[int, Valuation] = {}
    for condition in conditions:
        symbol = condition.symbol
        if symbol in still:
            complaints.error(
                "given-without-current",
                f"no current can flow in the walk of {symbol.name}, so nothing follows from it",
                condition.span,
                "give the current of another walk, or a voltage: V(B,A) = 5 V",
            )
        if symbol not in places:
            continue
        index = places[symbol]
        branch = graph.branches[index]
        if branch.sources:
            name = branch.sources[0].element.name
            complaints.error(
                "given-by-source",
                f"the current source {name} sets {symbol.name}, so nothing else follows from it",
                condition.span,
                f"give {name} its value, or give another current",
            )
        elif index in taken:
            first = taken[index]
            complaints.error(
                "given-twice",
                f"{first.symbol.name} and {symbol.name} are the same current, since no junction "
                "lies between them",
                condition.span,
                "give one of the two",
                notes=_notes(first.span),
            )
        taken[index] = condition
    _check_cut(graph, taken, complaints)


def _notes(span: Span | None) -> tuple[Note, ...]:
    return () if span is None else (Note("the first is here", span),)


def _check_cut(graph: Graph, given: dict[int, Valuation], complaints: Complaints) -> None:
    """Complain where the junction rule alone ties given currents to each other."""
    leader = {node.name: node.name for node in graph.nodes}
    for index, branch in enumerate(graph.branches):
        one, other = leader[branch.tail], leader[branch.head]
        if index not in given and not branch.sources and one != other:
            leader = {node: one if top == other else top for node, top in leader.items()}
    crossing = [
        index
        for index, branch in enumerate(graph.branches)
        if leader[branch.tail] != leader[branch.head] and index in given
    ]
    if crossing:
        names = [given[index].symbol.name for index in crossing]
        complaints.error(
            "given-currents-tied",
            f"the junction rule alone fixes {names[-1]}"
            + (f" by {', '.join(names[:-1])}" if names[:-1] else "")
            + ", so it is no condition of its own",
            given[crossing[-1]].span,
            "give another current, or a voltage: V(B,A) = 5 V",
        )
