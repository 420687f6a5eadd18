"""Where a solution shows the graphs of its check, and where it does not."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from derive.document.model import Block, Figure, SideBySide
from derive.document.narrate import Detail
from derive.document.wording import HEADINGS
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import text
from tests.example_solutions import solved

WALKS = "I1: A (-E1+) B (R1) C\nI2: A (-E2+) D (R2) C\nI3: C (R3) A\n"
FULL = Options()
NUMBERS = "E1 = 12 V; E2 = 7 V; R1 = 2 ohm; R2 = 3 ohm; R3 = 6 ohm\n"
SINGLE = "I1: A (-E1+) B (R1) A\nE1 = 3 V; R1 = 2 ohm\n"


def figures(blocks: tuple[Block, ...]) -> Iterator[Figure]:
    for block in blocks:
        if isinstance(block, Figure):
            yield block
        elif isinstance(block, SideBySide):
            yield from figures((*block.left, *block.right))


def shown(circuit: str, options: Options = FULL) -> list[str]:
    """Return what kind of figure each is that stands in the check."""
    document = solve(Source("test", circuit), options).document
    check = [s for s in document.sections if getattr(next(iter(s.title), None), "text", "") == HEADINGS["check"]]  # fmt: skip
    return [figure.short.split(" ", 3)[0] for s in check for figure in figures(s.blocks)]


@pytest.mark.parametrize(
    ("circuit", "expected"),
    [
        (WALKS + NUMBERS, ["Graph", "Two"]),
        (SINGLE, ["Graph", "Two"]),
        (WALKS, []),  # all in letters
        (WALKS + NUMBERS.replace("R3 = 6 ohm", ""), []),  # one letter is left
        (WALKS + NUMBERS.replace("12 V", "0 V").replace("7 V", "0 V"), []),  # no current flows
    ],
)
def test_graphs_stand_where_all_values_are_known(circuit: str, expected: list[str]) -> None:
    assert shown(circuit) == expected
    assert shown(circuit, Options(numbers_first=True)) == expected


@pytest.mark.parametrize("detail", [Detail.BRIEF, Detail.ANSWERS])
def test_a_short_solution_has_no_graphs(detail: Detail) -> None:
    assert shown(WALKS + NUMBERS, Options(detail=detail)) == []


def test_long_walks_and_many_parts_have_none() -> None:
    parts = " ".join(f"(R{k})" for k in range(1, 16))
    values = ", ".join(f"R{k}" for k in range(1, 16))
    assert shown(f"I1: A (-E1+) {parts} A\nE1 = 9 V; {values} = 1 ohm\n") == []


def test_two_loops_at_one_point_have_no_walk_left_to_check_by() -> None:
    hung = "I1: A (-E1+) (R1) A\nI2: A (-E2+) (R2) A\nE1, E2 = 3 V; R1, R2 = 2 ohm\n"
    assert shown(hung + "use method branch currents\n") == ["Two"]


def test_a_reduction_leaves_every_loop_to_check_by() -> None:
    hung = "I1: A (-E1+) (R1) A\nI2: A (-E2+) (R2) A\nE1, E2 = 3 V; R1, R2 = 2 ohm\n"
    assert shown(hung) == ["Graph", "Two"]


def test_plain_text_tells_the_graphs() -> None:
    solution = solved("boat_batteries")
    told = " ".join(text.write(solution.document).split())
    assert "the potential comes back to the level where it began." in told
    assert "[Figure: The potential, counted from the start of the walk at point A," in told
    assert "[Figure: Two bars of the same height, 49.9 W," in told
    assert "The power of every part; both bars have the same height:" in told
