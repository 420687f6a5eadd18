"""The two graphs of a solution, read back from their drawings as a reader would read them.

The potentials and powers they are compared with come from numpy's nodal analysis
(`tests.random_circuits.nodal_currents`), which shares nothing with the derivation.
"""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, pairwise
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from derive.algebra.dimension import VOLT, WATT
from derive.algebra.term import emf
from derive.analysis.answers import derive
from derive.circuit.elaborate import load
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Circuit
from derive.circuit.values import letters_without_value
from derive.document.graphs import potential_figure, power_figure, power_shares, walk_of_check
from derive.document.telling import Telling
from derive.drawing.model import (
    Area,
    Box,
    Drawing,
    Emphasis,
    Hatch,
    Label,
    Line,
    Point,
    PointNames,
    Signed,
    Symbol,
    SymbolShape,
    Words,
)
from derive.drawing.potential_graph import potential_graph
from derive.drawing.power_bars import (
    BarWords,
    PowerShare,
    PowerShares,
    Use,
    power_bars,
    spread,
)
from derive.drawing.reckoning import style_of
from derive.drawing.scale import labelled, ticks
from derive.drawing.straight_walk import Leg, PotentialWalk
from derive.source import Source
from derive.typesetting.style import Decimal, Style
from derive.writers import svg, tikz
from tests.drawing.geometry_check import is_letter_of
from tests.random_circuits import nodal_currents, numeric_value, random_circuit

EXAMPLES = {
    path.stem: path for path in sorted((Path(__file__).parents[2] / "examples").glob("*.circuit"))
}


def _is_plain(path: Path) -> bool:
    """Tell whether an example has nothing but resistors and batteries, all with numbers.

    The independent solution of this file knows no others; those are compared with nodal analysis
    in tests/circuit_solution/test_all_parts.py.
    """
    elaborated = load(Source(path.name, path.read_text("utf-8")))
    circuit = elaborated.circuit
    return (
        elaborated.before is None
        and circuit.asks_for_currents
        and all(isinstance(element, Resistor | Battery) for element in circuit.elements)
        and not (circuit.sought or circuit.dependent or letters_without_value(circuit))
    )


WITH_NUMBERS = [name for name, path in EXAMPLES.items() if _is_plain(path)]
assert len(WITH_NUMBERS) >= 14
LONG = (
    "I1: A (-E1 r1+) B (R1) C (R2) D (+E2-) F (R3) G (lamp L1) H (-E3 r3+) J (R4) K (R5) "
    "L (R_load) M (-E4+) A\n"
    "E1 = 12 V; E2 = 3 V; E3 = 1.5 V; E4 = 0.2 V\n"
    "r1 = 0.1 ohm; r3 = 0.5 ohm; R1, R2, R3, R4, R5 = 1 ohm; L1 = 4 ohm; R_load = 10 ohm\n"
    "resistors zigzag\n"
)
TIED = "I1: A (-E1+) (R1) (R2) A\nE1 = 3 mV; R1 = 2 kohm; R2 = 2 R1\n"  # a tie, and a small scale
WORDS = BarWords("delivered", "taken in", "turned into heat", "charging")


def circuit_of(name: str) -> Circuit:
    if name.isdigit():
        return random_circuit(random.Random(int(name)), loops=(1, 4))
    texts = {"long": LONG, "tied": TIED}
    text = texts[name] if name in texts else EXAMPLES[name].read_text("utf-8")
    return load(Source(name, text)).circuit


@lru_cache(maxsize=64)
def telling_of(name: str) -> Telling:
    circuit = circuit_of(name)
    return Telling(circuit, derive(circuit, numbers_first=name not in EXAMPLES))


RANDOM = [str(seed) for seed in range(14)]
NAMES = [*WITH_NUMBERS, "long", "tied", *RANDOM]


def graph_of(name: str) -> Drawing:
    telling = telling_of(name)
    walk = walk_of_check(telling)
    if walk is None:
        pytest.skip("no loop to check by, or no current")
    return potential_graph(walk, style_of(telling.circuit))


def bars_of(name: str) -> Drawing:
    telling = telling_of(name)
    shares = power_shares(telling)
    if shares is None:
        pytest.skip("no power")
    return power_bars(shares, WORDS, style_of(telling.circuit))


def test_most_random_circuits_have_graphs() -> None:
    assert sum(walk_of_check(telling_of(name)) is not None for name in RANDOM) >= 9
    assert sum(power_shares(telling_of(name)) is not None for name in RANDOM) >= 12


# --- the potential ------------------------------------------------------------------------------


def curve_of(drawing: Drawing) -> Line:
    (curve,) = (line for line in drawing.lines if line.emphasis is Emphasis.STRONG)
    return curve


def height_at(curve: Line, x: float) -> float:
    for one, other in pairwise(curve.points):
        if one.x <= x <= other.x:
            share = (x - one.x) / (other.x - one.x)
            return one.y + share * (other.y - one.y)
    raise AssertionError(f"no curve over {x}")


def scale_of(drawing: Drawing) -> tuple[float, float]:
    """Return height of zero and volts per millimetre, read off the axis."""
    marks = []
    for label in drawing.labels:
        if isinstance(label.content, Decimal):
            assert label.content.dimension == VOLT
            volts = float(label.content.digits) * 10.0**label.content.unit_exponent
            marks.append((volts, label.at.y))
    assert len(marks) >= 2
    (v0, y0), (v1, y1) = min(marks), max(marks)
    factor = (v1 - v0) / (y1 - y0)
    for volts, y in marks:
        assert volts == pytest.approx(v0 + (y - y0) * factor, abs=1e-9 * abs(v1 - v0))
        assert any(
            len(line.points) == 2 and all(p.y == pytest.approx(y) for p in line.points)
            for line in drawing.lines
        )
    return y0 - v0 / factor, factor


def potentials(circuit: Circuit) -> dict[str, float]:
    """Return the potential of every named point, by numpy's currents."""
    flows = nodal_currents(circuit)
    found: dict[str, float] = {}
    start = circuit.nodes[0]
    found.update(dict.fromkeys(start.points, 0.0))
    for _ in circuit.branches:
        for branch, flow in zip(circuit.branches, flows, strict=True):
            here, there = found.get(branch.tail), found.get(branch.head)
            if here is None and there is None:
                continue
            changes = [
                sum(
                    (numeric_value(circuit, p.element.emf) * (1 if p.along else -1))
                    for p in (passage,)
                    if isinstance(p.element, Battery)
                )
                - (
                    numeric_value(circuit, passage.element.resistance) * flow
                    if passage.element.resistance is not None
                    else 0.0
                )
                for passage in branch.passages
            ]
            level = here if here is not None else (there or 0.0) - sum(changes)
            found.setdefault(branch.tail, level)
            for k, names in enumerate(branch.stations):
                for name in names:
                    found.setdefault(name, level)
                if k < len(changes):
                    level += changes[k]
            found.setdefault(branch.head, level)
            for node in circuit.nodes:
                if node.name in found:
                    for point in node.points:
                        found.setdefault(point, found[node.name])
    return found


@pytest.mark.parametrize("name", NAMES)
def test_points_stand_at_their_potentials(name: str) -> None:
    drawing = graph_of(name)
    known = potentials(circuit_of(name))
    curve = curve_of(drawing)
    zero, factor = scale_of(drawing)
    named = [label for label in drawing.labels if isinstance(label.content, PointNames)]
    assert isinstance(named[0].content, PointNames)
    origin = known[named[0].content.names[0]]
    size = factor * max(abs(p.y - zero) for p in curve.points)
    for label in named:
        assert isinstance(label.content, PointNames)
        volts = (height_at(curve, label.at.x) - zero) * factor
        for point in label.content.names:
            assert volts == pytest.approx(known[point] - origin, abs=1e-6 * size)


@pytest.mark.parametrize("name", NAMES)
def test_every_part_stands_below_its_change(name: str) -> None:
    drawing = graph_of(name)
    circuit = circuit_of(name)
    flows = nodal_currents(circuit)
    curve = curve_of(drawing)
    _, factor = scale_of(drawing)
    span = max(p.y for p in curve.points) - min(p.y for p in curve.points)
    for symbol in drawing.symbols:
        half = symbol.length / 2
        ends = symbol.centre.x - half, symbol.centre.x + half
        change = (height_at(curve, ends[1]) - height_at(curve, ends[0])) * factor
        way = symbol.direction.dx
        if symbol.shape is SymbolShape.CELL:
            expected = way * numeric_value(circuit, emf(symbol.part))
        else:
            (k,) = [
                k
                for k, branch in enumerate(circuit.branches)
                if symbol.part in {r.name for r in branch.resistances}
            ]
            (resistance,) = [r for r in circuit.branches[k].resistances if r.name == symbol.part]
            expected = -way * numeric_value(circuit, resistance) * flows[k]
        assert change == pytest.approx(expected, abs=1e-6 * span * factor)
    # Between the parts runs level wire.
    for one, other in list(pairwise(curve.points))[::2]:
        assert one.y == other.y


@pytest.mark.parametrize("name", NAMES)
def test_the_potential_ends_where_it_began(name: str) -> None:
    drawing = graph_of(name)
    curve = curve_of(drawing)
    assert curve.points[0].y == curve.points[-1].y
    (level,) = (line for line in drawing.lines if line.dashed)
    assert {p.y for p in level.points} == {curve.points[0].y}
    zero, _ = scale_of(drawing)
    assert zero == pytest.approx(curve.points[0].y, abs=1e-9)
    named = [label.content for label in drawing.labels if isinstance(label.content, PointNames)]
    assert named[0].names[0] in named[-1].names
    told = [label.content.term for label in drawing.labels if isinstance(label.content, Signed)]
    assert told == [leg.label for leg in walk_of_check(telling_of(name)).legs]  # type: ignore[union-attr]


def leg(change: int, shape: SymbolShape = SymbolShape.CELL) -> Leg:
    return Leg(quantity="E1", element="E1", shape=shape, along=True, label=emf("E1"),
               change=Fraction(change))  # fmt: skip


def test_no_graph_of_what_is_no_closed_walk() -> None:
    stops = (("A",), ("B",), ("A",))
    with pytest.raises(ValueError, match="add up"):
        potential_graph(PotentialWalk((leg(1), leg(2)), stops), Style())
    with pytest.raises(ValueError, match="everywhere"):
        potential_graph(PotentialWalk((leg(0), leg(0)), stops), Style())


# --- the power ----------------------------------------------------------------------------------


def pieces(drawing: Drawing) -> tuple[list[Area], list[Area]]:
    """Return the pieces of the left and of the right bar, without the key below them."""
    bars = [area for area in drawing.areas if area.box.bottom >= -1e-9]
    left = [area for area in bars if area.box.right < 0]
    return left, [area for area in bars if area.box.left > 0]


def powers(circuit: Circuit) -> dict[str, float]:
    """Return the power that each emf delivers and each resistance takes in."""
    found: dict[str, float] = {}
    for branch, flow in zip(circuit.branches, nodal_currents(circuit), strict=True):
        for passage in branch.passages:
            element = passage.element
            if isinstance(element, Battery):
                way = 1 if passage.along else -1
                found[element.name] = way * flow * numeric_value(circuit, element.emf)
            if element.resistance is not None:
                heat = numeric_value(circuit, element.resistance) * flow**2
                found[element.resistance.name] = heat
    return found


@pytest.mark.parametrize("name", NAMES)
def test_both_bars_are_as_high_and_their_pieces_are_the_powers(name: str) -> None:
    drawing = bars_of(name)
    shares = power_shares(telling_of(name))
    assert shares is not None
    known = powers(circuit_of(name))
    total = sum(known[share.part] for share in shares.delivered)
    height = None
    for side, parts in zip(pieces(drawing), (shares.delivered, shares.taken), strict=True):
        assert len(side) == len(parts)
        heights = [area.box.height for area in side]
        assert height is None or sum(heights) == pytest.approx(height)
        height = sum(heights)
        for area, share, own in zip(side, parts, heights, strict=True):
            sign = -1 if share.use is Use.CHARGING else 1
            assert own / height * total == pytest.approx(sign * known[share.part], abs=1e-6 * total)
            assert area.hatch is {
                Use.DELIVERS: Hatch.NONE, Use.HEAT: Hatch.SLANTED, Use.CHARGING: Hatch.CROSSED,
            }[share.use]  # fmt: skip
        for above, below in pairwise(side):
            assert above.box.bottom == pytest.approx(below.box.top)
    told = {share.part for share in (*shares.delivered, *shares.taken)}
    size = max(map(abs, known.values()))
    assert all(abs(known[part]) < 1e-9 * size for part in known.keys() - told)


@pytest.mark.parametrize("name", NAMES)
def test_leaders_lead_from_each_piece_to_its_label(name: str) -> None:
    drawing = bars_of(name)
    shares = power_shares(telling_of(name))
    assert shares is not None
    leaders = [line for line in drawing.lines if not line.dashed]
    parts = (*shares.delivered, *shares.taken)
    areas = [area for side in pieces(drawing) for area in side]
    for line, area, share in zip(leaders, areas, parts, strict=True):
        assert line.points[0].y == pytest.approx(area.box.centre.y)
        assert line.points[0].x in (area.box.left, area.box.right)
        labels = [one for one in drawing.labels if one.content in (share.label, share.shown)]
        assert any(
            one.box.bottom <= line.points[-1].y <= one.box.top
            and min(abs(one.box.left - line.points[-1].x), abs(one.box.right - line.points[-1].x))
            < 1.0
            for one in labels
        )


def test_a_key_says_what_the_hatchings_are() -> None:
    told = {
        name: [
            label.content.text for label in bars_of(name).labels if isinstance(label.content, Words)
        ]
        for name in ("charging", "four_loops")
    }
    assert told == {
        "charging": ["delivered", "taken in", "turned into heat", "charging"],
        "four_loops": ["delivered", "turned into heat"],
    }


def test_no_bars_of_what_does_not_balance() -> None:
    def share(power: int) -> PowerShare:
        shown = Decimal(str(power), 0, WATT)
        return PowerShare("E1", emf("E1"), Fraction(power), shown, Use.DELIVERS)

    with pytest.raises(ValueError, match="equal"):
        power_bars(PowerShares((share(2),), (share(1), share(2))), WORDS, Style())


@given(st.lists(st.floats(0, 40), min_size=1, max_size=12), st.floats(0.5, 4))
@settings(max_examples=200, deadline=None)
def test_labels_are_spread_as_little_as_possible(wanted: list[float], distance: float) -> None:
    wanted.sort(reverse=True)
    found = spread(wanted, distance)
    assert all(a - b >= distance - 1e-6 for a, b in pairwise(found))
    moved = sum((a - b) ** 2 for a, b in zip(wanted, found, strict=True))
    # No label can move alone, nor any group of neighbours together, for the better.
    for first, last in combinations(range(len(found) + 1), 2):
        for step in (0.01, -0.01):
            other = [y + step if first <= k < last else y for k, y in enumerate(found)]
            if all(a - b >= distance - 1e-9 for a, b in pairwise(other)):
                assert sum((a - b) ** 2 for a, b in zip(wanted, other, strict=True)) > moved - 1e-6


# --- the axis -----------------------------------------------------------------------------------


@given(st.fractions(-1000, 1000), st.fractions(Fraction(1, 10**9), 10**6))
def test_marks_are_round_and_few(low: Fraction, size: Fraction) -> None:
    values = ticks(low, low + size)
    assert 2 <= len(values) <= 5
    assert all(low <= value <= low + size for value in values)
    (step,) = {b - a for a, b in pairwise(values)}
    assert re.fullmatch(r"[125]0*|0\.0*[125]", f"{float(step):.12f}".rstrip("0").rstrip("."))
    for value, label in zip(values, labelled(values, VOLT), strict=True):
        assert Fraction(label.digits) * Fraction(10) ** label.unit_exponent == value


# --- both ---------------------------------------------------------------------------------------


def crosses(one: Point, other: Point, box: Box) -> bool:
    """Tell whether a line passes through the inside of a box (Liang and Barsky 1984)."""
    enters, leaves = 0.0, 1.0
    for start, step, low, high in (
        (one.x, other.x - one.x, box.left, box.right),
        (one.y, other.y - one.y, box.bottom, box.top),
    ):
        if step == 0:
            if not low < start < high:
                return False
            continue
        a, b = sorted(((low - start) / step, (high - start) / step))
        enters, leaves = max(enters, a), min(leaves, b)
    return enters < leaves


def drawings(name: str) -> Iterator[Drawing]:
    telling = telling_of(name)
    style = style_of(telling.circuit)
    walk, shares = walk_of_check(telling), power_shares(telling)
    if walk is not None:
        yield potential_graph(walk, style)
    if shares is not None:
        yield power_bars(shares, WORDS, style)


def outlines(drawing: Drawing) -> Iterator[tuple[Point, Point]]:
    for line in drawing.lines:
        yield from pairwise(line.points)
    for wire in drawing.wires:
        yield from pairwise(wire.points)
    boxes = [area.box for area in drawing.areas] + [frame.box for frame in drawing.frames]
    for box in boxes:
        corners = [
            Point(box.left, box.bottom), Point(box.right, box.bottom),
            Point(box.right, box.top), Point(box.left, box.top),
        ]  # fmt: skip
        yield from pairwise([*corners, corners[0]])


@pytest.mark.parametrize("name", NAMES)
def test_labels_are_in_the_way_of_nothing(name: str) -> None:
    for drawing in drawings(name):
        for one, other in combinations(drawing.labels, 2):
            assert not one.box.overlaps(other.box), (one.content, other.content)
        for label in drawing.labels:
            for start, end in outlines(drawing):
                assert not crosses(start, end, label.box), label.content
            for item in (*drawing.symbols, *drawing.dots):
                inside = isinstance(item, Symbol) and is_letter_of(label, item)
                assert inside or not label.box.overlaps(item.box), label.content
            assert drawing.box.holds(label.box)


def tikz_paths(text: str) -> list[list[tuple[float, float]]]:
    return [
        [(float(x), float(y)) for x, y in re.findall(r"\((-?[\d.]+),(-?[\d.]+)\)", line)]
        for line in text.splitlines()
        if line.startswith(r"\draw")
    ]


def near(points: list[tuple[float, float]], exact: list[Point], error: float) -> bool:
    return len(points) == len(exact) and all(
        abs(x - p.x) <= error and abs(y - p.y) <= error
        for (x, y), p in zip(points, exact, strict=True)
    )


@pytest.mark.parametrize("name", [*WITH_NUMBERS, "long"])
def test_both_writers_draw_the_same(name: str) -> None:
    for drawing in drawings(name):
        style = style_of(telling_of(name).circuit)
        paths = tikz_paths(tikz.write(drawing, style, "a graph"))
        root = ElementTree.fromstring(svg.write(drawing, style, "a graph"))
        shapes = {
            kind: [e for e in root.iter() if e.get("class") == kind] for kind in ("line", "area")
        }
        assert len(shapes["line"]) == len(drawing.lines)
        for line, element in zip(drawing.lines, shapes["line"], strict=True):
            found = re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d", ""))
            assert near([(float(x), -float(y)) for x, y in found], list(line.points), 6e-4)
            assert ("stroke-dasharray" in element.attrib) == line.dashed
            assert any(near(path, list(line.points), 6e-3) for path in paths)
        assert len(shapes["area"]) == len(drawing.areas)
        for area, element in zip(drawing.areas, shapes["area"], strict=True):
            x, y, w, h = (float(element.get(key, "")) for key in ("x", "y", "width", "height"))
            corners = [Point(area.box.left, area.box.bottom), Point(area.box.right, area.box.top)]
            assert near([(x, -y - h), (x + w, -y)], corners, 2e-3)
            assert any(near(path, corners, 6e-3) for path in paths)
        hatched = [area for area in drawing.areas if area.hatch is not Hatch.NONE]
        assert len([e for e in root.iter() if e.get("class") == "hatch"]) == len(hatched)


def test_a_hatching_stays_inside() -> None:
    for name in ("charging", "strain_bridge"):
        drawing = bars_of(name)
        root = ElementTree.fromstring(svg.write(drawing, Style(), "bars"))
        filled = [area for area in drawing.areas if area.hatch is not Hatch.NONE]
        for area, element in zip(
            filled, (e for e in root.iter() if e.get("class") == "hatch"), strict=True
        ):
            for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", element.get("d", "")):
                assert area.box.left - 1e-3 <= float(x) <= area.box.right + 1e-3
                assert area.box.bottom - 1e-3 <= -float(y) <= area.box.top + 1e-3


@pytest.mark.parametrize("name", WITH_NUMBERS)
def test_both_graphs_are_told_in_words(name: str) -> None:
    telling = telling_of(name)
    for figure in (potential_figure(telling), power_figure(telling)):
        assert figure is not None
        assert figure.short.endswith(".")
        assert figure.long.endswith(".")
    walk = walk_of_check(telling)
    graph, bars = potential_figure(telling), power_figure(telling)
    assert walk is not None
    assert graph is not None
    assert bars is not None
    met = re.findall(r"At ([\w']+) it", graph.long)
    assert met == [one.quantity for one in walk.legs]
    assert "It ends at the level where it began." in graph.long
    for element in telling.circuit.elements:
        assert re.search(rf"\b{element.name}\b", bars.long)


def test_what_the_words_say_by_hand() -> None:
    # 4.5 V over 0.6 + 0.4 + 8 ohm: 0.5 A, so 0.3 V, 0.2 V and 4 V; 2.25 W in all.
    telling = telling_of("bicycle_lamp")
    graph, bars = potential_figure(telling), power_figure(telling)
    assert graph is not None
    assert bars is not None
    assert "At E1 it steps up by 4.5 V to 4.5 V. At r1 it slopes down by 0.3 V to 4.2 V; there is point B." in graph.long  # fmt: skip
    assert "At L1 it slopes down by 4 V to 0 V; there is point A." in graph.long
    assert bars.long.startswith("Two bars of the same height, 2.25 W,")
    assert "Taken in, from top to bottom: r1, 0.15 W; R1, 0.1 W; L1, 2 W." in bars.long


def test_the_same_drawing_again() -> None:
    first, second = (list(drawings("four_loops")) for _ in range(2))
    assert first == second
    assert all(isinstance(label, Label) for drawing in first for label in drawing.labels)
