"""From a circuit to its figure."""

from __future__ import annotations

from functools import lru_cache

from derive.circuit.model import Circuit, Loop
from derive.drawing.board import bounds, wire_boxes
from derive.drawing.dressing import Dressed, dress
from derive.drawing.earth import add_earth
from derive.drawing.geometry import loop_outline
from derive.drawing.grid import GridShape
from derive.drawing.hints import hinted_shape
from derive.drawing.labelling import Labeller
from derive.drawing.layout import layout
from derive.drawing.loop_arrow import loop_arrow
from derive.drawing.metrics import MAIN, SMALL, Metrics
from derive.drawing.model import Anchor, Box, Drawing, Emphasis, Label, LoopArrow, LoopName
from derive.drawing.placing import Arrangement, arrange, place, tokens_of
from derive.drawing.reckoning import label_size
from derive.drawing.view import View

__all__ = ["View", "schematic"]

_LOOSER = (1.0, 1.2, 1.45, 1.8, 2.4)
"""How much further parts are spread when labels find no room."""


def schematic(circuit: Circuit, view: View) -> Drawing:
    """Return the figure of a circuit."""
    arranged = _layout(circuit, view.loops)
    base = MAIN if view.loop is None else SMALL
    best: tuple[tuple[bool, int], Drawing] | None = None
    for factor in _LOOSER:
        drawing, crowded = _draw(circuit, arranged, view, base.looser(factor))
        rank = (view.loop is not None and drawing.loop_arrow is None, crowded)
        if best is None or rank < best[0]:
            best = (rank, drawing)
        if rank == (False, 0):
            break
    assert best is not None
    return best[1]


def follows_hints(circuit: Circuit) -> bool:
    """Tell whether the figure is drawn by the author's places, or the author gives none."""
    return not circuit.looks.places or _hinted(circuit) is not None


@lru_cache(maxsize=8)
def _hinted(circuit: Circuit) -> GridShape | None:
    """Search once for the figure by the author's places."""
    return hinted_shape(circuit, MAIN)


@lru_cache(maxsize=8)
def _layout(circuit: Circuit, loops: tuple[Loop, ...]) -> Arrangement:
    """Lay out once for all figures of a solution."""
    hinted = _hinted(circuit) if circuit.looks.places else None
    if hinted is not None:
        return arrange(hinted, tokens_of(circuit, View(), MAIN), MAIN)
    return layout(circuit, loops, MAIN)


def _draw(
    circuit: Circuit, arranged: Arrangement, view: View, metrics: Metrics
) -> tuple[Drawing, int]:
    placed = place(arranged, tokens_of(circuit, view, metrics), view, metrics)
    dressed = dress(circuit, placed, view, metrics)
    if circuit.ground is not None:
        add_earth(dressed, circuit.ground, view.loop is None, metrics)
    outline = loop_outline(placed.routes, placed.geometry, view)
    board = Labeller(view, metrics, outline).label(dressed)
    arrow = loop_arrow(outline, board.taken, metrics) if outline else None
    labels = list(board.labels)
    if arrow is not None and view.loop_name:
        labels.append(_loop_label(arrow, view.loop_name, metrics))
    return _drawing(dressed, arrow, labels), board.crowded


def _loop_label(arrow: LoopArrow, name: str, metrics: Metrics) -> Label:
    width, height = label_size(LoopName(name), metrics.text)
    at = arrow.centre
    box = Box(at.x - width / 2, at.y - height / 2, at.x + width / 2, at.y + height / 2)
    return Label(LoopName(name), at, Anchor.CENTRE, metrics.text, box, Emphasis.STRONG)


def _drawing(dressed: Dressed, arrow: LoopArrow | None, labels: list[Label]) -> Drawing:
    boxes = [box for wire in dressed.wires for box in wire_boxes(wire)]
    boxes += [spot.symbol.box for spot in dressed.pieces]
    boxes += [frame.box for frame in dressed.frames]
    boxes += [spot.head.box for spot in dressed.arrows]
    boxes += [dot.box for dot in dressed.dots]
    boxes += [label.box for label in labels]
    return Drawing(
        wires=tuple(dressed.wires),
        symbols=tuple(spot.symbol for spot in dressed.pieces),
        frames=tuple(dressed.frames),
        dots=tuple(dressed.dots),
        arrows=tuple(spot.head for spot in dressed.arrows),
        loop_arrow=arrow,
        labels=tuple(labels),
        box=bounds(boxes),
    )
