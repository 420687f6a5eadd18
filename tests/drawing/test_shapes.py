"""Circuits that every book draws one way are drawn that way.

What the usual ways are is common practice, no source.
"""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations, pairwise, product
from math import hypot

import pytest

from derive.analysis.loops import choose_loops
from derive.circuit.appearance import BatterySymbol, BridgeShape, ResistorSymbol
from derive.circuit.model import Circuit
from derive.drawing.model import Direction, Drawing, Emphasis, Symbol, SymbolShape
from derive.drawing.schematic import View, follows_bridge, schematic
from tests.drawing.circuits import BRIDGE, FOUR, LONELY, SINGLE, THREE, TWO, circuit
from tests.drawing.tracing import (
    Spot,
    along,
    check_connections,
    encloses,
    segments,
    spot,
    strong_cycle,
)


def drawn(circuit: Circuit, **view: object) -> Drawing:
    loops = choose_loops(circuit).loops
    return schematic(circuit, replace(View(loops=loops), **view))  # type: ignore[arg-type]


def part(drawing: Drawing, name: str) -> Symbol:
    return next(symbol for symbol in drawing.symbols if symbol.part == name)


def level(symbol: Symbol) -> bool:
    return symbol.direction.horizontal


def turned(circuit: Circuit, bridge: BridgeShape = BridgeShape.DIAMOND) -> Circuit:
    return replace(circuit, looks=replace(circuit.looks, bridge=bridge))


# --- the usual shapes ---------------------------------------------------------------------------


def test_a_single_loop_is_a_rectangle_with_parts_on_its_sides() -> None:
    # Four parts and more find a place on three sides at least, batteries on the upright ones.
    drawing = drawn(SINGLE)
    corners = {end for piece in segments(drawing.wires) for end in piece}
    corners = {
        at for at in corners
        if any(a[0] == b[0] for a, b in segments(drawing.wires) if at in (a, b))
        and any(a[1] == b[1] for a, b in segments(drawing.wires) if at in (a, b))
    }  # fmt: skip
    xs, ys = {x for x, _ in corners}, {y for _, y in corners}
    assert (len(xs), len(ys), len(corners)) == (2, 2, 4)
    sides = {(s.centre.x if not level(s) else s.centre.y, level(s)) for s in drawing.symbols}
    assert len(sides) >= 3
    assert not any(level(part(drawing, name)) for name in ("E1", "E2"))


@pytest.mark.parametrize("count", [3, 4, 5, 6])
def test_two_junctions_are_two_rails_with_the_branches_side_by_side(count: int) -> None:
    walks = [f"A (-E{k}+) (R{k}) B" if k % 2 else f"B (R{k}) A" for k in range(1, count + 1)]
    drawing = drawn(circuit(*walks))
    for k in range(1, count + 1):
        names = [f"E{k}", f"R{k}"] if k % 2 else [f"R{k}"]
        assert any(not level(part(drawing, name)) for name in names)
    rails = {y for a, b in segments(drawing.wires) if a[1] == b[1] for y in (a[1],)}
    assert len(rails) == 2
    upright = {a[0] for a, b in segments(drawing.wires) if a[0] == b[0]}
    assert len(upright) == count


@pytest.mark.parametrize("rungs", [3, 4, 5, 6])
@pytest.mark.parametrize("turn", [False, True])
def test_a_ladder_has_a_common_rail_at_the_bottom_and_its_other_parts_in_one_line(
    rungs: int, turn: bool
) -> None:
    walks = ["G (-E1+) (R1) P1"] + [f"P{k} (S{k}) G" for k in range(1, rungs)]
    walks += [f"P{k} (T{k}) P{k + 1}" for k in range(1, rungs - 1)]
    walks += [f"P{rungs - 1} (T{rungs}) (S{rungs}) G"]
    if turn:
        walks = [walks[0], *reversed(walks[1:])]
    drawing = drawn(circuit(*walks))
    assert len({y for a, b in segments(drawing.wires) if a[1] == b[1] for y in (a[1],)}) == 2
    low = min(a[1] for piece in segments(drawing.wires) for a in piece)
    for k in range(1, rungs):
        assert not level(part(drawing, f"S{k}"))
    tops = {part(drawing, f"T{k}").centre.y for k in range(1, rungs - 1)}
    assert len(tops) <= 1
    assert all(level(part(drawing, f"T{k}")) for k in range(1, rungs - 1))
    # The rail is one straight line of wire below all parts that stand upright.
    dots = [dot for dot in drawing.dots if abs(dot.centre.y - low) < 1e-6]
    assert len(dots) >= rungs - 1


@pytest.mark.parametrize(
    "walks",
    [
        ("C (R1) A", "B (R2) C", "A (-E1 r1+) B", "C (R3) A", "B (R4) A"),
        ("G (-E1+) P (R1) Q (R2) M", "M (R3) G", "M (R4) G"),
    ],
)
def test_the_first_source_stands_upright_at_the_left(walks: tuple[str, ...]) -> None:
    drawing = drawn(circuit(*walks))
    cell = part(drawing, "E1")
    assert not level(cell)
    assert cell.centre.x == min(symbol.centre.x for symbol in drawing.symbols)


def test_a_bridge_is_a_rectangle_with_a_cross_piece() -> None:
    walks = ["G (-E1+) A", "A (R1) B", "A (R2) C", "B (R3) G", "C (R4) G", "B (R5) C"]
    drawing = drawn(circuit(*walks))
    assert level(part(drawing, "R5"))
    cross = part(drawing, "R5").centre.y
    for above, below in (("R1", "R3"), ("R2", "R4")):
        heights = sorted(part(drawing, name).centre.y for name in (above, below))
        assert heights[0] < cross < heights[1]
    assert not level(part(drawing, "E1"))


def test_a_delta_and_a_wye_between_two_sources() -> None:
    # Three corners joined to each other, or to one point: no figure of them needs more than three
    # heights.
    delta = ["A (R1) B", "B (R2) C", "C (R3) A", "A (-E1+) B", "B (-E2+) C"]
    wye = ["A (R1) M", "B (R2) M", "C (R3) M", "A (-E1+) B", "B (-E2+) C", "C (R4) A"]
    for walks in (delta, wye):
        drawing = drawn(circuit(*walks))
        assert len({round(a[1], 3) for a, b in segments(drawing.wires) if a[1] == b[1]}) <= 3


@pytest.mark.parametrize("name", ["TWO", "THREE", "BRIDGE", "FOUR"])
def test_batteries_stand_upright_where_the_figure_lets_them(name: str) -> None:
    chosen = {"TWO": TWO, "THREE": THREE, "BRIDGE": BRIDGE, "FOUR": FOUR}[name]
    drawing = drawn(chosen)
    cells = [symbol for symbol in drawing.symbols if symbol.shape.has_plates]
    assert sum(map(level, cells)) <= len(cells) / 3


# --- a diamond ----------------------------------------------------------------------------------


def bridges() -> list[Circuit]:
    """Return bridges with their walks in every sense and parts on every side; invented data."""
    found = []
    for seed in range(12):
        rng = random.Random(f"diamond {seed}")
        walks = []
        for k, (a, b) in enumerate(combinations("ABCD", 2), 1):
            parts = [f"(R{k})", *rng.choice([[], [], [f"(S{k})"], [f"(-E{k}+)"], [f"(+E{k}-)"]])]
            if {a, b} == {"A", "B"}:
                parts.append(rng.choice(["(-F1 f1+)", "(-F1+)"]))
            if rng.random() < 0.15:
                parts.append(f"X{k} (lamp L{k})")
            a, b = (a, b) if rng.random() < 0.5 else (b, a)
            walks.append(f"{a} {' '.join(parts)} {b}")
        rng.shuffle(walks)
        found.append(circuit(*walks))
    return found


@pytest.mark.parametrize("bridge", bridges())
def test_a_diamond_is_the_circuit_with_four_sides_aslant(bridge: Circuit) -> None:
    drawing = drawn(turned(bridge))
    check_connections(bridge, drawing)
    pieces = segments(drawing.wires)
    aslant = {
        round((b[1] - a[1]) / (b[0] - a[0]), 2) for a, b in pieces if a[0] != b[0] and a[1] != b[1]
    }
    assert aslant == {1.0, -1.0}
    assert not any(crossing(one, other) for one, other in combinations(pieces, 2))
    assert sum(symbol.direction.aslant for symbol in drawing.symbols) >= 4
    assert all(
        not one.box.overlaps(other.box, -1e-6) for one, other in combinations(drawing.labels, 2)
    )
    for label, (a, b) in product(drawing.labels, pieces):
        steps = [k / 60 for k in range(61)]
        middle = label.box
        assert not any(
            middle.left < a[0] + (b[0] - a[0]) * t < middle.right
            and middle.bottom < a[1] + (b[1] - a[1]) * t < middle.top
            for t in steps
        ), label


def crossing(one: tuple[Spot, Spot], other: tuple[Spot, Spot]) -> bool:
    """Tell whether two pieces cross inside both: each has the ends of the other on both sides."""

    def side(line: tuple[Spot, Spot], at: Spot) -> float:
        (x1, y1), (x2, y2) = line
        return (x2 - x1) * (at[1] - y1) - (y2 - y1) * (at[0] - x1)

    return all(
        side(line, met[0]) * side(line, met[1]) < -1e-6
        for line, met in ((one, other), (other, one))
    )


@pytest.mark.parametrize("bridge", bridges()[:4])
def test_a_loop_of_a_diamond_is_set_off_as_in_every_figure(bridge: Circuit) -> None:
    loops = choose_loops(bridge).loops
    for loop in loops:
        drawing = schematic(turned(bridge), View(loop=loop, loop_name="1", loops=loops))
        corners = strong_cycle(drawing)
        assert drawing.loop_arrow is not None
        assert encloses(corners, drawing.loop_arrow.centre)


def test_the_battery_goes_round_and_the_cross_piece_lies_level() -> None:
    walks = ["A (R1) B", "A (R2) C", "G (R3) B", "C (R4) G", "B (R5) C", "G (-E1 r1+) A"]
    drawing = drawn(turned(circuit(*walks)))
    assert part(drawing, "E1").direction in (Direction.UP, Direction.DOWN)
    assert level(part(drawing, "R5"))
    assert all(part(drawing, f"R{k}").direction.aslant for k in (1, 2, 3, 4))


def test_what_is_no_bridge_is_drawn_as_always_and_that_is_told() -> None:
    for other in (TWO, SINGLE, LONELY):
        assert drawn(turned(other)) == drawn(other)
        assert not follows_bridge(turned(other))
    framed = ["A (R1) B", "A (R2) C", "A (-E1 r1+) (R3) D", "B (-E2 r2+) C", "B (R5) D"]
    assert not follows_bridge(turned(circuit(*framed, "C (-E6 r6+) D")))
    assert follows_bridge(turned(BRIDGE))
    assert follows_bridge(TWO)


# --- sizes and symbols --------------------------------------------------------------------------


@pytest.mark.parametrize("width", [80.0, 95.0, 110.0])
def test_a_figure_fills_the_width_it_is_given(width: float) -> None:
    for chosen in (TWO, THREE, BRIDGE):
        natural = drawn(chosen).width
        given = drawn(chosen, width=width)
        check_connections(chosen, given)
        if natural <= width <= 1.5 * natural:
            assert given.width == pytest.approx(width, abs=0.6)
        else:
            assert given.width <= max(natural, width) + 0.6


def test_wires_alone_are_stretched() -> None:
    one, other = drawn(TWO), drawn(TWO, width=110.0)
    assert other.width > one.width
    assert {(s.part, s.length, s.breadth) for s in one.symbols} == {
        (s.part, s.length, s.breadth) for s in other.symbols
    }
    assert {label.size for label in one.labels} == {label.size for label in other.labels}


def test_several_cells_take_more_room_than_one_and_keep_their_signs() -> None:
    several = replace(TWO, looks=replace(TWO.looks, battery=BatterySymbol.CELLS))
    drawing = drawn(several)
    check_connections(TWO, drawing)
    assert part(drawing, "E1").shape is SymbolShape.CELLS
    assert part(drawing, "E1").length > part(drawn(TWO), "E1").length


def test_a_zigzag_is_a_look_only() -> None:
    zigzag = replace(TWO, looks=replace(TWO.looks, resistor=ResistorSymbol.ZIGZAG))
    check_connections(TWO, drawn(zigzag))


def test_the_walk_begins_at_a_ring() -> None:
    for chosen in (TWO, THREE, BRIDGE, FOUR):
        loops = choose_loops(chosen).loops
        for loop in loops:
            drawing = schematic(chosen, View(loop=loop, loops=loops, loop_name="1"))
            (ring,) = [dot for dot in drawing.dots if dot.ring is not None]
            first = loop.hops[0]
            branch = chosen.branches[first.branch]
            names = [p.element.name for p in branch.passages]
            if not names:
                continue
            # From the ring, along strong wire and past no part, one comes to the first part met.
            symbol = part(drawing, names[0 if first.along else -1])
            passage = branch.passages[0 if first.along else -1]
            entered = along(symbol, -1 if passage.along == first.along else 1)
            assert entered in reached(drawing, spot(ring.centre))


def reached(drawing: Drawing, start: Spot) -> set[Spot]:
    """Return what strong wire leads to from a place."""
    strong = [w for w in drawing.wires if w.emphasis is Emphasis.STRONG]
    found = {start}
    while True:
        more = {
            spot(at)
            for wire in strong
            for at in wire.points
            if any(touches(place, pair) for place in found for pair in pairwise(wire.points))
        }
        if more <= found:
            return found
        found |= more


def touches(place: Spot, pair: object) -> bool:
    a, b = (spot(at) for at in pair)  # type: ignore[attr-defined]
    reach = hypot(b[0] - a[0], b[1] - a[1])
    return (
        abs(
            hypot(place[0] - a[0], place[1] - a[1])
            + hypot(place[0] - b[0], place[1] - b[1])
            - reach
        )
        < 1e-3
    )
