"""Everything that is asked of a figure, in one call: by geometry, and read back from both formats."""

from __future__ import annotations

from dataclasses import dataclass

from derive.circuit.model import Circuit
from derive.drawing.model import Drawing
from derive.drawing.reckoning import style_of
from derive.writers import svg, tikz
from tests.drawing.geometry_check import check_geometry, check_labels
from tests.drawing.matching import check_figure, read_figure
from tests.drawing.reading_svg import read_svg
from tests.drawing.reading_tikz import read_tikz
from tests.drawing.seeing import see
from tests.drawing.strokes import Misdrawn
from tests.drawing.tracing import crossings


@dataclass(frozen=True)
class Findings:
    """What is wrong with a figure, and what can be counted in it."""

    faults: tuple[str, ...]
    turns: int = 0
    eliminated: int = 0


def examine(circuit: Circuit, drawing: Drawing, *, values: bool, planar: bool = True) -> Findings:
    """Look at one figure with points and current arrows."""
    faults = []
    turns = eliminated = 0
    for check in (check_geometry, check_labels):
        try:
            check(drawing)
        except AssertionError as error:
            faults.append(f"{check.__name__}: {error}")
    if planar and crossings(drawing):
        faults.append(f"{crossings(drawing)} crossings")
    style = style_of(circuit)
    for name, read, text in (
        ("TikZ", read_tikz, tikz.write(drawing, style, "a circuit")),
        ("SVG", read_svg, svg.write(drawing, style, "a circuit", "as drawn")),
    ):
        try:
            figure = read_figure(circuit, see(read(text)))
            check_figure(circuit, figure, values=values)
            turns, eliminated = figure.joints.turns(), eliminated + figure.eliminated
        except Misdrawn as error:
            faults.append(f"{name}: {error}")
    return Findings(tuple(faults), turns, eliminated)
