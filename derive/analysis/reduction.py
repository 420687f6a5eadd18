"""Can the circuit be reduced to one resistor on one battery? Decided by test, not by counting.

The batteries must stand in one branch; then the rest must shrink to one branch by series and
parallel steps alone (Duffin 1965: exactly when the graph holds no bridge, K4).
"""

from __future__ import annotations

from dataclasses import dataclass

from derive.circuit.model import Circuit


@dataclass(frozen=True, slots=True)
class ReductionVerdict:
    """The verdict and the sentence that gives its reason."""

    reducible: bool
    reason: str


def judge(circuit: Circuit) -> ReductionVerdict:
    """Return whether series and parallel steps leave one resistor on one battery."""
    held = [k for k, branch in enumerate(circuit.branches) if branch.batteries]
    if not held:
        return ReductionVerdict(False, "There is no battery, so there is nothing to reduce for.")
    if len(held) > 1:
        names = " and ".join(circuit.branches[k].batteries[0].name for k in held[:2])
        return ReductionVerdict(
            False,
            f"Not to a resistor alone: {names} stand in different branches, so resistors on either "
            "side of them are neither in series nor in parallel.",
        )
    source = circuit.branches[held[0]]
    edges = [
        (branch.tail, branch.head) for k, branch in enumerate(circuit.branches) if k != held[0]
    ]
    left = _shrink(edges, {source.tail, source.head})
    if len(left) <= 1:
        return ReductionVerdict(
            True, "All batteries stand in one branch and the rest is series and parallel."
        )
    return ReductionVerdict(
        False,
        "Although the batteries stand in one branch, what is left holds a bridge: no two of its "
        "branches are in series or in parallel.",
    )


def _shrink(edges: list[tuple[str, str]], terminals: set[str]) -> list[tuple[str, str]]:
    """Merge parallel and series branches and drop what hangs loose until nothing changes."""
    current = [tuple(sorted(edge)) for edge in edges if edge[0] != edge[1]]
    while True:
        merged = [edge for edge in dict.fromkeys(current) if edge[0] != edge[1]]
        degree: dict[str, list[int]] = {}
        for k, edge in enumerate(merged):
            for end in edge:
                degree.setdefault(end, []).append(k)
        inner = next(
            (n for n, ends in degree.items() if len(ends) <= 2 and n not in terminals), None
        )
        if inner is None:
            return [(edge[0], edge[1]) for edge in merged]
        ends = degree[inner]
        far = [end for k in ends for end in merged[k] if end != inner]
        current = [edge for k, edge in enumerate(merged) if k not in ends]
        if len(far) == 2:
            current.append(tuple(sorted(far)))
