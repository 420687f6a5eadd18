"""What the author decides about the derivation."""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.term import Symbol
from derive.circuit.complaints import Complaints, not_solved_yet
from derive.circuit.graph import Graph
from derive.circuit.loops import resolve_loop
from derive.circuit.model import Choices, Loop, Method
from derive.circuit.register import Kind, Register
from derive.language.nearest import nearest
from derive.language.syntax import (
    Eliminate,
    Name,
    Statement,
    UseJunction,
    UseLoop,
    UseMethod,
)
from derive.source import Span

_METHODS = {method.value: method for method in Method}
_LATER = ("mesh currents", "node potentials", "superposition")


def read_choices(
    statements: Iterable[Statement],
    graph: Graph | None,
    register: Register,
    complaints: Complaints,
) -> Choices:
    """Return the choices of a file. Without a graph only the names are looked at."""
    loops: list[tuple[Loop, Span]] = []
    junctions: dict[str, None] = {}
    eliminate: dict[Symbol, None] = {}
    methods: list[UseMethod] = []
    last_junction: Name | None = None
    last_current: Name | None = None
    for statement in statements:
        match statement:
            case UseLoop():
                loop = resolve_loop(statement, graph, register, complaints)
                if loop is not None:
                    loops.append((loop, statement.span))
            case UseJunction(points=points):
                for last_junction in points:
                    _add_junction(last_junction, graph, register, complaints, junctions)
            case Eliminate(currents=currents):
                for last_current in currents:
                    _add_current(last_current, graph, register, complaints, eliminate)
            case UseMethod():
                methods.append(statement)
            case _:
                pass
    all_of_them = graph is not None and junctions and len(junctions) == len(graph.nodes)
    if all_of_them and last_junction is not None:
        junctions.popitem()
        _warn_of_every_junction(last_junction, len(junctions) + 1, complaints)
    every = graph is not None and eliminate and len(eliminate) == _unknowns(graph)
    if every and last_current is not None:
        eliminate.popitem()
        _warn_of_every_current(last_current, len(eliminate) + 1, complaints)
    return Choices(
        tuple(loop for loop, _ in loops),
        tuple(span for _, span in loops),
        tuple(junctions),
        tuple(eliminate),
        *_methods(methods, complaints),
    )


def _unknowns(graph: Graph) -> int:
    return sum(not branch.sources for branch in graph.branches)


def _add_junction(
    point: Name,
    graph: Graph | None,
    register: Register,
    complaints: Complaints,
    junctions: dict[str, None],
) -> None:
    if register.find(point, "a point", (Kind.POINT,)) is None or graph is None:
        return
    known = [node for node in graph.nodes if node.degree >= 3]
    node = next((node for node in known if point.text in node.points), None)
    if node is None:
        names = ", ".join(node.name for node in known)
        complaints.error(
            "not-a-junction",
            f"{point.text} is not a junction: fewer than three ends of branches meet there",
            point.span,
            f"the junctions are: {names}" if names else "a single loop has no junction",
        )
    elif node.name in junctions:
        complaints.error(
            "junction-twice", f"the junction {node.name} is chosen twice", point.span,
            "each junction gives one equation",
        )  # fmt: skip
    else:
        junctions[node.name] = None


def _warn_of_every_junction(last: Name, count: int, complaints: Complaints) -> None:
    if count == 1:
        message = (
            f"{last.text} is the only junction; its equation says nothing of the currents, so it "
            "is left out"
        )
        hint = "leave this choice out"
    else:
        message = (
            "every junction is named, but one equation follows from the others; that of "
            f"{last.text}, named last, is left out"
        )
        hint = "name all junctions but one, or only those that matter"
    complaints.warn("every-junction", message, last.span, hint)


def _warn_of_every_current(last: Name, count: int, complaints: Complaints) -> None:
    if count == 1:
        message = f"{last.text} is the only unknown current, so it is found, not eliminated"
        hint = "leave this choice out"
    else:
        message = (
            "every current is named here, but one must be left to be found; "
            f"{last.text}, named last, does not count"
        )
        hint = "leave out the current that the solution should find first"
    complaints.warn("every-current-eliminated", message, last.span, hint)


def _add_current(
    name: Name,
    graph: Graph | None,
    register: Register,
    complaints: Complaints,
    eliminate: dict[Symbol, None],
) -> None:
    if register.find(name, "a current", (Kind.CURRENT,)) is None or graph is None:
        return
    walk = next((walk for walk in graph.walks if walk.current.name == name.text), None)
    if walk is None or graph.branches[walk.branch].sources:
        why = "it is zero" if walk is None else "a current source sets it"
        complaints.error(
            "known-current", f"the current {name.text} is no unknown: {why}", name.span,
            "name a current that is sought",
        )  # fmt: skip
        return
    unknown = graph.branches[walk.branch].current
    if unknown in eliminate:
        complaints.error(
            "eliminated-twice",
            f"the current {name.text} is eliminated twice"
            + (f", since it is that of {unknown.name}" if unknown.name != name.text else ""),
            name.span,
            "name each current once: eliminate I3, I1",
        )
    eliminate[unknown] = None


def _methods(
    statements: list[UseMethod], complaints: Complaints
) -> tuple[tuple[Method, ...], tuple[Span, ...]]:
    chosen: dict[Method, Span] = {}
    for statement in statements:
        name = statement.method.text
        if name in _LATER:
            not_solved_yet(
                complaints,
                f"the method `{name}`",
                statement.method.span,
                f"write: use method {Method.BRANCH_CURRENTS.value}",
            )
        elif name not in _METHODS:
            near = nearest(name, (*_METHODS, *_LATER))
            hints = [f"did you mean: use method {near}"] if near is not None else []
            complaints.error(
                "unknown-method",
                f"`{name}` is not a method known here",
                statement.method.span,
                *hints,
                f"methods are: {', '.join((*_METHODS, *_LATER))}",
            )
        elif _METHODS[name] in chosen:
            complaints.error(
                "said-twice", f"the method `{name}` is chosen twice", statement.span,
                "name each method once; two different ones are both carried out",
            )  # fmt: skip
        else:
            chosen[_METHODS[name]] = statement.span
    return tuple(chosen), tuple(chosen.values())
