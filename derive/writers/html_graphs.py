"""What the script of a page needs to draw the graphs of the check for other values.

What stays where it is, it gets as SVG; labels come set round a place of their own, with the room
they take, and the script finds where they stand.
"""

from __future__ import annotations

from collections.abc import Iterable

from derive.algebra.dimension import OHM, VOLT, Dimension
from derive.algebra.term import Symbol
from derive.document import wording as w
from derive.drawing import graph_description, power_bars
from derive.drawing.metrics import SMALL
from derive.drawing.model import Anchor, Box, Emphasis, Label, LabelContent, Point, Words
from derive.drawing.potential_graph import graph_frame
from derive.drawing.reckoning import POINT, label_reach, label_size
from derive.drawing.straight_walk import PotentialWalk
from derive.typesetting.style import Decimal, Style
from derive.writers import svg
from derive.writers.html_marking import Json
from derive.writers.outlines import COLOUR, CROSSED, SLANTED
from derive.writers.svg_label import label_text
from derive.writers.svg_spelling import colour

_WATT = VOLT * VOLT / OHM
_PREFIXES = (-12, -9, -6, -3, 0, 3, 6, 9)


def potential(walk: PotentialWalk, style: Style) -> dict[str, Json]:
    """Return what stays of the graph of the potential; the legs' changes are to be added."""
    frame = graph_frame(walk, style)
    return {
        "backdrop": svg.body_of(frame.backdrop, style),
        "box": _box(frame.backdrop.box),
        "taken": [_box(box) for box in frame.taken],
        "stops": [
            [x, bool(names)] for x, names in zip(frame.places.stops, walk.stops, strict=True)
        ],
        "legs": [
            {
                "x": list(x),
                "label": _set(label.content, style),
                "name": leg.quantity,
                "ways": list(graph_description.ways(leg)),
                "there": graph_description.there(names),
            }
            for leg, x, label, names in zip(
                walk.legs, frame.places.legs, frame.labels, walk.stops[1:], strict=True
            )
        ],
        "start": graph_description.start(walk),
        "height": frame.height,
        "floor": frame.floor,
        "overhang": frame.overhang,
        "tick": frame.tick,
        "toTick": frame.to_tick,
        "dot": frame.dot,
        "gap": frame.gap,
        "air": frame.air,
        "values": _values(VOLT, style),
        "pens": {
            "guide": svg.line_look(Emphasis.FAINT),
            "start": svg.line_look(Emphasis.NORMAL, dashed=True),
            "axis": svg.line_look(Emphasis.NORMAL),
            "curve": svg.line_look(Emphasis.STRONG),
        },
    }


def bars(parts: Iterable[Symbol], style: Style) -> dict[str, Json]:
    """Return what the bars of power are drawn with, whatever the powers are."""
    words = {
        "delivered": w.BAR_DELIVERED,
        "taken": w.BAR_TAKEN,
        "heat": w.BAR_HEAT,
        "charging": w.BAR_CHARGING,
        "source": w.BAR_SOURCE,
    }
    return {
        "labels": [_set(part, style) for part in parts],
        "words": {name: _set(Words(word), style) for name, word in words.items()},
        "height": power_bars.HEIGHT,
        "breadth": power_bars.BREADTH,
        "apart": power_bars.APART,
        "leader": power_bars.LEADER,
        "bend": power_bars.BEND,
        "line": power_bars.LINE,
        "air": power_bars.AIR,
        "space": power_bars.SPACE,
        "key": power_bars.KEY,
        "betweenKeys": power_bars.BETWEEN_KEYS,
        "headGap": power_bars.HEAD_GAP,
        "slanted": SLANTED,
        "crossed": CROSSED,
        "values": _values(_WATT, style),
        "pens": {
            "area": svg.area_look(),
            "hatch": svg.hatch_look(),
            "line": svg.line_look(Emphasis.NORMAL),
            "level": svg.line_look(Emphasis.NORMAL, dashed=True),
        },
    }


TEMPLATES = {
    name: getattr(graph_description, name)
    for name in (
        "WALKED", "CHANGED", "UNCHANGED", "BACK", "BARS", "BARS_HIGH", "DELIVERED", "TAKEN",
        "PIECE", "CHARGED",
    )
}  # fmt: skip
"""The sentences of the descriptions."""


def _box(box: Box) -> Json:
    return [box.left, box.bottom, box.right, box.top]


def _set(content: LabelContent, style: Style) -> Json:
    """Return a label with its middle at the origin, and its room in millimetres."""
    width, height = label_size(content, SMALL.text, style)
    box = Box(-width / 2, -height / 2, width / 2, height / 2)
    label = Label(content, Point(0, 0), Anchor.CENTRE, SMALL.text, box)
    above, below = (reach * SMALL.text.value * POINT for reach in label_reach(content, style))
    return {"svg": label_text(label, style), "width": width, "above": above, "below": below}


def _values(dimension: Dimension, style: Style) -> Json:
    """Return how values in a unit are set: the room of a figure, a sign, and a unit by prefix."""

    def width(digits: str, exponent: int = 0) -> float:
        return label_size(Decimal(digits, exponent, dimension), SMALL.text, style)[0]

    def reach(digits: str, exponent: int) -> Json:
        content = Decimal(digits, exponent, dimension)
        return [reach * SMALL.text.value * POINT for reach in label_reach(content, style)]

    digit = width("00") - width("0")
    return {
        "size": SMALL.text.value * POINT,
        "fill": colour(COLOUR[Emphasis.NORMAL]),
        "digit": digit,
        "marker": width("0.0") - width("00"),
        "minus": width("-1") - width("1"),
        "units": {str(exponent): width("0", exponent) - digit for exponent in _PREFIXES},
        "whole": {str(exponent): reach("0", exponent) for exponent in _PREFIXES},
        "parts": {str(exponent): reach("0.0", exponent) for exponent in _PREFIXES},
    }
