"""The stages of a network of resistances as circuits that can be drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from derive.algebra.term import Symbol, current
from derive.analysis.resistance.net import Ends, net_of
from derive.circuit.model import Battery, Branch, Circuit, Looks, Node, Passage, Resistor
from derive.derivation.step import Exchange, LookBetween, LookFrom, Replace

GAP = "terminals"
"""Stands as a battery where the two points are open terminals."""


@dataclass(frozen=True, slots=True)
class Stage:
    """What a network looks like before an exchange."""

    arms: Mapping[Symbol, Ends]
    seen_from: Ends
    """The places of the two points."""
    move: Replace | None
    """None for what is left in the end."""


def stages(
    circuit: Circuit, begun: LookBetween | LookFrom, replaced: list[Replace]
) -> Iterator[Stage]:
    """Yield the network before each exchange of a derivation but the wires, and what is left."""
    wires = [s for step in replaced if step.exchange is Exchange.WIRE for s in step.taken]
    net = net_of(circuit, begun, wires)
    for step in replaced:
        if step.exchange is not Exchange.WIRE:
            yield Stage(dict(net.arms), (net.one, net.other), step)
            net.replace(step)
    yield Stage(dict(net.arms), (net.one, net.other), None)


def stage_circuit(circuit: Circuit, begun: LookBetween | LookFrom, stage: Stage) -> Circuit:
    """Return a stage as a circuit of resistors, with a battery between the two points.

    Seen from two points it is called `GAP`; else it is the battery that sees the stage.
    """
    points, gap = (" −", " +"), Passage(Battery(GAP))
    if isinstance(begun, LookBetween):
        points = begun.one, begun.other
    else:
        k, n = circuit.find_branch(begun.battery)
        gap = Passage(Battery(begun.battery), circuit.branches[k].passages[n].along)
    ends = dict(zip(stage.seen_from, points, strict=True))
    met = Counter(place for pair in stage.arms.values() for place in pair)
    names = {place: ends.get(place, f"place {place}") for place in (*ends, *met)}
    lamps = {
        p.element.name for b in circuit.branches for p in b.passages
        if isinstance(p.element, Resistor) and p.element.lamp
    }  # fmt: skip
    branches: list[Branch] = []
    for chain, tail, head in _chains(stage.arms, {p for p in met if met[p] != 2 or p in ends}):
        passages = tuple(Passage(Resistor(s.name, s.name in lamps)) for s in chain)
        stations = ((names[tail],), *(() for _ in chain[1:]), (names[head],))
        branches.append(_branch(len(branches), names[tail], names[head], passages, stations))
    one, other = (names[place] for place in stage.seen_from)
    branches.insert(0, _branch(len(branches), one, other, (gap,), ((one,), (other,))))
    degrees = Counter(end for b in branches for end in (b.tail, b.head))
    looks = Looks(
        emf=circuit.looks.emf, resistor=circuit.looks.resistor, battery=circuit.looks.battery
    )
    return Circuit(
        title="",
        statement="",
        nodes=tuple(Node(name, (name,), degree) for name, degree in degrees.items()),
        branches=tuple(branches),
        walks=(),
        values=(),
        questions=(),
        looks=looks,
    )


def _branch(
    number: int,
    tail: str,
    head: str,
    passages: tuple[Passage, ...],
    stations: tuple[tuple[str, ...], ...],
) -> Branch:
    return Branch(current(f"I{number}"), tail, head, passages, stations)


def _chains(
    arms: Mapping[Symbol, Ends], nodes: set[int]
) -> Iterator[tuple[list[Symbol], int, int]]:
    """Yield the arms in rows from node to node, in the order of the arms."""
    at: dict[int, list[Symbol]] = {}
    for symbol, pair in arms.items():
        for place in dict.fromkeys(pair):
            at.setdefault(place, []).append(symbol)
    done: set[Symbol] = set()
    starts = [(s, place) for s, pair in arms.items() for place in pair if place in nodes]
    for symbol, tail in starts:
        if symbol in done:
            continue
        chain, place = [], tail
        here: Symbol | None = symbol
        while here is not None:
            done.add(here)
            chain.append(here)
            one, other = arms[here]
            place = other if place == one else one
            here = None if place in nodes else next((s for s in at[place] if s not in done), None)
        yield chain, tail, place
