"""From a circuit to its figure."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from derive.circuit.appearance import BridgeShape
from derive.circuit.model import Circuit, Loop
from derive.drawing.board import bounds, wire_boxes
from derive.drawing.diamond import diamond
from derive.drawing.drawn import (
    as_drawn,
    loops_as_drawn,
    seen_from_terminals,
    view_as_drawn,
    view_of_terminals,
)
from derive.drawing.dressing import Dressed, dress
from derive.drawing.earth import add_earth
from derive.drawing.geometry import Shape, crossings, loop_outline
from derive.drawing.hints import hinted_shape
from derive.drawing.labelling import Labeller
from derive.drawing.layout import Laid, layout
from derive.drawing.loop_arrow import loop_arrow
from derive.drawing.metrics import MAIN, SMALL, Metrics
from derive.drawing.model import Anchor, Box, Drawing, Emphasis, Label, LoopArrow, LoopName
from derive.drawing.placing import Arrangement, Placed, arrange, place, tokens_of
from derive.drawing.reckoning import label_size, letter_in, style_of
from derive.drawing.view import View
from derive.typesetting.style import Style

__all__ = ["View", "schematic"]

_LOOSER = (1.0, 1.2, 1.45, 1.8, 2.4)
"""How much further parts are spread when labels find no room."""
_TIGHTER = (0.85, 0.7)
"""How much closer they are set in a figure that is wider than its place."""
_PLAIN = View()
_NO_FAULTS = (False, False, 0)
_MOST_STRETCHED = 1.9
"""How much longer wires may get to fill a width; more would look empty."""
_ROUNDING = 0.5
"""Millimetres by which a figure may miss a width."""
_LEAST = 32.0
"""Millimetres to which the wires of a small figure are stretched in any case."""
_SMALL = 45.0
"""Millimetres up to which the wires of a small figure may be stretched all the same."""
_HIGHER = 0.35
"""How much of that a figure grows in height as well."""


def schematic(circuit: Circuit, view: View) -> Drawing:
    """Return the figure of a circuit, with all of its parts."""
    seen = seen_from_terminals(circuit)
    if seen is not None:
        assert circuit.terminals is not None
        whole = replace(circuit, drawn=circuit.terminals.drawn)
        return _schematic(seen, view_of_terminals(circuit, view_as_drawn(whole, view)))
    return _schematic(as_drawn(circuit), view_as_drawn(circuit, view))


def _schematic(circuit: Circuit, view: View) -> Drawing:
    plain = View(currents=view.currents, arrows=view.arrows, gap=view.gap, like=view.like)
    arranged = _layout(circuit, view.shape or view.loops, plain).arrangement
    base = MAIN if view.loop is None and not view.small else SMALL
    best: _Drawn | None = None
    for factor in _LOOSER:
        found = _draw(circuit, arranged, view, base.looser(factor), 1.0)
        if best is None or found.faults < best.faults:
            best = found
        if best.faults == _NO_FAULTS:
            break
    assert best is not None
    if not best.extent:
        return best.drawing
    if view.width is None:
        least = _LEAST * (0.6 if view.small else 1.0 if base is MAIN else 0.75)
        width = best.drawing.width + max(0.0, least - best.extent)
        return _filled(circuit, arranged, view, best, width).drawing
    for factor in _TIGHTER:
        if best.drawing.width <= view.width:
            break
        found = _draw(circuit, arranged, view, base.looser(factor), 1.0)
        if found.faults <= best.faults and found.drawing.width < best.drawing.width:
            best = found
    return _filled(circuit, arranged, view, best, view.width).drawing


def _filled(
    circuit: Circuit, arranged: Arrangement, view: View, found: _Drawn, width: float
) -> _Drawn:
    """Make wires longer until a figure fills a width, as far as that does no harm."""
    if found.drawing.width >= width:
        return found
    most = max(_MOST_STRETCHED, _SMALL / found.extent)
    factor = min(most, 1 + (width - found.drawing.width) / found.extent)
    longer = _draw(circuit, arranged, view, found.metrics, factor)
    fits = longer.drawing.width <= width + _ROUNDING
    return longer if fits and longer.faults <= found.faults else found


def follows_places(circuit: Circuit, loops: tuple[Loop, ...]) -> bool:
    """Tell whether the points lie to each other as the author places them."""
    return _layout(as_drawn(circuit), loops_as_drawn(circuit, loops)).against == 0


def follows_bridge(circuit: Circuit) -> bool:
    """Tell whether a diamond that the author asks for is drawn, or the author asks for none."""
    seen = seen_from_terminals(circuit) or as_drawn(circuit)
    return circuit.looks.bridge is BridgeShape.RECTANGLE or _diamond(seen) is not None


@lru_cache(maxsize=8)
def _layout(circuit: Circuit, loops: tuple[Loop, ...], view: View = _PLAIN) -> Laid:
    """Lay out once for all figures of a solution; a view says which arrows they may have."""
    # A single place says nothing: every figure can be moved so that it is right.
    placed = len(circuit.looks.places) > 1
    asked = hinted_shape(circuit, MAIN) if placed else _diamond(circuit)
    if asked is not None:
        return Laid(arrange(asked, tokens_of(circuit, view, MAIN), MAIN), 0)
    return layout(circuit, loops, MAIN, view)


def _diamond(circuit: Circuit) -> Shape | None:
    asked = circuit.looks.bridge is BridgeShape.DIAMOND and len(circuit.looks.places) < 2
    return diamond(circuit) if asked else None


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A figure with what decides whether it will do."""

    drawing: Drawing
    faults: tuple[bool, bool, int]
    """Whether the earth and the loop arrow found no room, and how many labels found none."""
    extent: float
    """Width of its wires."""
    metrics: Metrics


def _draw(
    circuit: Circuit, arranged: Arrangement, view: View, metrics: Metrics, across: float
) -> _Drawn:
    placed = place(arranged, tokens_of(circuit, view, metrics), view, metrics)
    extent, height = placed.geometry.extent
    if across > 1:
        upwards = across
        if not _aslant(placed):
            narrow = extent < _SMALL / 2 and view.gap is None
            upwards = across if narrow else 1 + (across - 1) * _HIGHER
            # Never higher than wide by this.
            upwards = max(1.0, min(upwards, extent * across / height)) if height else 1.0
        placed = replace(placed, geometry=placed.geometry.stretched(across, upwards))
    dressed = dress(circuit, placed, view, metrics)
    ground, whole = circuit.ground, view.loop is None
    earthed = ground is None or add_earth(dressed, ground, whole, metrics)
    outline = loop_outline(placed.routes, placed.geometry, view)
    board = Labeller(view, metrics, outline, style_of(circuit)).label(dressed)
    arrow = loop_arrow(outline, board.taken, metrics) if outline else None
    labels = list(board.labels)
    for spot in dressed.pieces:
        labels += letter_in(spot.symbol, metrics.text)
    if arrow is not None and view.loop_name:
        labels.append(_loop_label(arrow, view.loop_name, metrics))
    faults = (not earthed, not whole and arrow is None, board.crowded)
    return _Drawn(_drawing(dressed, arrow, labels), faults, extent, metrics)


def _aslant(placed: Placed) -> bool:
    """Tell whether a figure must grow alike in width and height, to keep its directions."""
    return any(stretch.direction.aslant for route in placed.routes for stretch in route)


def _loop_label(arrow: LoopArrow, name: str, metrics: Metrics) -> Label:
    width, height = label_size(LoopName(name), metrics.text, Style())
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
        crossings=crossings([wire.points for wire in dressed.wires]),
    )
