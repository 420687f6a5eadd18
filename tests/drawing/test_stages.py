"""The figures of a reduction follow each other: no part jumps from one to the next."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from derive.document.model import Figure, SideBySide
from derive.drawing.board import distance
from derive.drawing.likeness import Spot, spots_of, unlikeness
from derive.drawing.model import Drawing, Symbol
from derive.pipeline import solve
from derive.source import Source
from tests.drawing.test_shapes import level, part

EXAMPLES = Path(__file__).parents[2] / "examples"

GREENHOUSE = (
    ": A (R1) P (R2) Q (R3) S (R4) B\n: P (R5) B\n: Q (R6) B\n"
    "R1, R2, R3, R4, R5, R6 = 6 ohm\nask resistance A B\n"
)
SIX = "".join(f": A (R{k}) B\n" for k in range(1, 7)) + "ask resistance A B\n"
BESIDE_A_BRIDGE = (
    ": A (R1) C\n: C (R2) B\n: A (R3) D\n: D (R4) B\n: C (R5) D\n: A (R6) B\n"
    "R1, R2, R3, R4, R5 = 3 ohm; R6 = 8 ohm\nask resistance A B\n"
)
SUPPLIED = (
    "I1: A (-E1 r1+) (R1) B\nI2: B (R2) A\nI3: B (R3) C\nI4: C (R4) A\nI5: C (R5) A\n"
    "E1 = 12 V; r1 = 1 ohm; R1 = 2 ohm; R2 = 6 ohm; R3 = 1 ohm; R4, R5 = 4 ohm\n"
)


def figures(text: str) -> list[Drawing]:
    """Return the figure of the problem, then those of the stages."""
    return [figure.drawing for figure in _figures(text) if isinstance(figure.drawing, Drawing)]


def _figures(text: str) -> Iterator[Figure]:
    for section in solve(Source("stages", text)).document.sections:
        for block in section.blocks:
            inner = (*block.left, *block.right) if isinstance(block, SideBySide) else (block,)
            yield from (b for b in inner if isinstance(b, Figure) and b.drawing.symbols)


def jumps(before: Drawing, after: Drawing) -> list[tuple[str, str]]:
    """Return the pairs of parts that have changed places from left to right."""
    then = {s.part: s.centre for s in before.symbols}
    now = {s.part: s.centre for s in after.symbols}
    both = [name for name in then if name in now]
    found = []
    for a, b in combinations(both, 2):
        was, then_is = then[a].x - then[b].x, now[a].x - now[b].x
        if was * then_is < 0 and min(abs(was), abs(then_is)) > 1:
            found.append((a, b))
    return found


@pytest.mark.parametrize("text", [GREENHOUSE, SIX, BESIDE_A_BRIDGE, SUPPLIED])
def test_no_part_jumps_from_one_stage_to_the_next(text: str) -> None:
    drawn = [d for d in figures(text) if not any(d.lines)]
    assert len(drawn) > 1
    for before, after in pairwise(drawn):
        assert jumps(before, after) == []


@pytest.mark.parametrize("name", ["path_lights", "stairwell", "heating_mat", "garden_lights"])
def test_batteries_stand_upright_at_the_left_of_every_stage(name: str) -> None:
    text = (EXAMPLES / f"{name}.circuit").read_text()
    for drawing in figures(text):
        cells = [s for s in drawing.symbols if s.shape.is_source and not drawing.lines]
        for cell in cells:
            assert not level(cell)
            assert cell.centre.x == pytest.approx(min(s.centre.x for s in drawing.symbols), abs=1)


def test_what_is_made_stands_where_the_first_of_those_taken_stood() -> None:
    # R34 stands where R4 stood, at the end of the ladder, to the right of R6.
    drawn = figures(GREENHOUSE)
    stage = next(d for d in drawn if any(s.part == "R34" for s in d.symbols))
    assert not level(part(stage, "R34"))
    assert part(stage, "R34").centre.x > part(stage, "R6").centre.x > part(stage, "R5").centre.x


def test_parts_round_a_corner_are_apart() -> None:
    for text in (GREENHOUSE, SUPPLIED):
        for drawing in figures(text):
            for one, other in combinations(drawing.symbols, 2):
                if level(one) is not level(other):
                    assert distance(one.box, other.box) > 0.9, (one.part, other.part)


def test_parts_on_the_way_cost_by_how_they_have_moved() -> None:
    drawing = figures(GREENHOUSE)[0]
    spots = spots_of(drawing.symbols)
    assert unlikeness(spots, drawing.symbols) == 0
    mirrored = [Spot(s.part, -s.x, s.y, s.flat) for s in spots]
    turned = [Spot(s.part, s.x, s.y, not s.flat) for s in spots]
    assert unlikeness(mirrored, drawing.symbols) > 0
    assert unlikeness(turned, drawing.symbols) > 0
    assert unlikeness([Spot("R99", 0, 0)], drawing.symbols) == 0


# --- rows of parts -------------------------------------------------------------------------------


def lowest(drawing: Drawing) -> float:
    return min(point.y for wire in drawing.wires for point in wire.points)


def on_the_bottom(drawing: Drawing) -> list[Symbol]:
    low = lowest(drawing)
    return [s for s in drawing.symbols if level(s) and s.centre.y < low + 0.01]


@pytest.mark.parametrize(
    "walks",
    [
        ": A (R1) C (R2) B\n",
        ": A (R1) C (R2) D (R3) B\n: C (R4) B\n",
        GREENHOUSE.partition("R1,")[0],
    ],
)
def test_a_row_is_on_top_and_at_the_right_before_it_is_at_the_bottom(walks: str) -> None:
    for drawing in figures(f"{walks}ask resistance A B\n"):
        assert on_the_bottom(drawing) == []
        assert level(part(drawing, "R1"))


def test_three_in_a_row_have_a_side_each() -> None:
    drawing = figures(": A (R1) C (R2) D (R3) B\nask resistance A B\n")[0]
    assert [level(part(drawing, name)) for name in ("R1", "R2", "R3")] == [True, False, True]
    assert [symbol.part for symbol in on_the_bottom(drawing)] == ["R3"]
