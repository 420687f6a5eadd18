"""Which capacitors that share their charge are needed for the questions of a circuit."""

from __future__ import annotations

from collections.abc import Collection

from derive.analysis.laws import NoPath, across_rule, path_rule
from derive.circuit.elements import Capacitor, CurrentSource, is_gap
from derive.circuit.islands import Cluster, clusters
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskCharge,
    AskEnergy,
    AskPotential,
    AskPotentials,
    AskReading,
    AskVoltage,
    AskVoltageAcross,
    Question,
)
from derive.derivation.laws import AcrossRule, PathRule


def clusters_asked_for(circuit: Circuit) -> tuple[Cluster, ...]:
    """Return the clusters without which some question has no answer, in file order.

    Where the author does not say how the capacitors of a cluster began, it has none with it.
    """
    known = [cluster for cluster in clusters(circuit) if cluster.uncharged(circuit)]
    past = [plates.capacitor for cluster in known for plates in cluster.capacitors]
    needed = {name for q in circuit.questions for name in _needed(circuit, q, past)}
    return tuple(
        cluster for cluster in known if needed & {plates.capacitor for plates in cluster.capacitors}
    )


def _needed(circuit: Circuit, question: Question, past: Collection[str]) -> tuple[str, ...]:
    """Return the capacitors that share their charge and matter for a question."""
    if not past:
        return ()
    match question:
        case AskCharge(capacitor=part) | AskEnergy(capacitor=part) if part in past:
            return (part,)
        case AskVoltageAcross(part=part) if part in past:
            return (part,)
        case AskVoltageAcross(part=part) | AskReading(part=part):
            element = circuit.element(part)
            if is_gap(element) or isinstance(element, CurrentSource):
                return _passed(circuit, past, part, ())
        case AskVoltage(to=to, origin=origin):
            return _passed(circuit, past, None, (origin, to))
        case AskPotential(point=to) if circuit.ground is not None:
            return _passed(circuit, past, None, (circuit.ground, to))
        case AskPotentials() if circuit.ground is not None:
            ends = [(circuit.ground, point) for point in circuit.points]
            return tuple(name for pair in ends for name in _passed(circuit, past, None, pair))
        case _:
            pass
    return ()


def _passed(
    circuit: Circuit, past: Collection[str], part: str | None, points: tuple[str, ...]
) -> tuple[str, ...]:
    """Return the capacitors on the way where no way leads round them."""

    def rule(past: Collection[str]) -> AcrossRule | PathRule:
        if part is not None:
            return across_rule(circuit, part, past)
        origin, to = points
        return path_rule(circuit, origin, to, past)

    try:
        rule(())
    except NoPath:
        try:
            found = rule(past)
        except NoPath:
            return ()  # said where the question is answered
        elements = (circuit.element(row.part) for row in found.crossings)
        return tuple(e.name for e in elements if isinstance(e, Capacitor))
    return ()
