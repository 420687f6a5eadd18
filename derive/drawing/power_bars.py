"""Power delivered and power taken in as two bars of one height, a piece for every part."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from fractions import Fraction

from derive.algebra.term import Term
from derive.drawing.board import bounds
from derive.drawing.graph_board import Place, line_boxes, set_label
from derive.drawing.model import (
    Anchor,
    Area,
    Box,
    Drawing,
    Hatch,
    Label,
    LabelContent,
    Line,
    Point,
    TextSize,
    Words,
)
from derive.drawing.reckoning import POINT, label_reach, label_size
from derive.typesetting.style import Decimal, Style

HEIGHT = 32.0
BREADTH = 11.0
APART = 13.0
"""From bar to bar."""
LEADER = 5.0
"""From a bar to its labels."""
BEND = 0.75
"""Share of the way to the labels after which a line to them runs level."""
AIR = 0.8
SPACE = 1.3
"""Between a name and its value."""
LINE = 0.5
KEY = 2.6
SIZE = TextSize.SMALL
HEAD_GAP = 1.6
BETWEEN_KEYS = 3.9


class Use(Enum):
    """What a part does with power."""

    DELIVERS = "delivers"
    HEAT = "turns into heat"
    CHARGING = "takes in, being charged"


_HATCH = {Use.DELIVERS: Hatch.NONE, Use.HEAT: Hatch.SLANTED, Use.CHARGING: Hatch.CROSSED}


@dataclass(frozen=True, slots=True)
class PowerShare:
    """What one part delivers or takes in."""

    part: str
    label: Term
    power: Fraction
    """In watts, more than zero."""
    shown: Decimal
    """The power as it is printed."""
    use: Use
    is_cell: bool = False
    """Whether it is a battery, which is charged while it takes in power."""


@dataclass(frozen=True, slots=True)
class PowerShares:
    """Both sides of the balance; their sums are equal."""

    delivered: tuple[PowerShare, ...]
    taken: tuple[PowerShare, ...]


@dataclass(frozen=True, slots=True)
class BarWords:
    """What stands at the bars."""

    delivered: str
    taken: str
    heat: str
    charging: str


def power_bars(shares: PowerShares, words: BarWords, style: Style) -> Drawing:
    """Draw the balance of power. Raises ValueError when the two sides are not equal."""
    total = sum((share.power for share in shares.delivered), Fraction(0))
    if total != sum(share.power for share in shares.taken) or total <= 0:
        raise ValueError("the two sides are not equal")
    areas: list[Area] = []
    lines: list[Line] = []
    labels: list[Label] = []
    for side, parts in ((-1, shares.delivered), (1, shares.taken)):
        inner = side * APART / 2
        left, right = sorted((inner, inner + side * BREADTH))
        pieces = _stacked(parts, total, left, right)
        areas += pieces
        lines += _tell(parts, pieces, side, style, labels)
    for y in (0.0, HEIGHT):
        lines.append(Line((Point(-APART / 2, y), Point(APART / 2, y)), dashed=True))
    uses = [use for use in (Use.HEAT, Use.CHARGING) if any(s.use is use for s in shares.taken)]
    if len(uses) > 1:
        _head((words.delivered, words.taken), style, labels)
        _key({Use.HEAT: words.heat, Use.CHARGING: words.charging}, style, areas, labels)
    else:
        _head((words.delivered, words.heat if Use.HEAT in uses else words.charging), style, labels)
    boxes = [area.box for area in areas] + [label.box for label in labels]
    boxes += [box for line in lines for box in line_boxes(line)]
    box = bounds(boxes)
    box = Box(box.left, box.bottom - AIR, box.right, box.top + AIR)
    return Drawing((), (), (), (), (), None, tuple(labels), box, tuple(lines), tuple(areas))


def _stacked(
    parts: tuple[PowerShare, ...], total: Fraction, left: float, right: float
) -> list[Area]:
    """Return the pieces of a bar, the first on top."""
    pieces = []
    above = Fraction(0)
    for share in parts:
        top, bottom = (HEIGHT * float(1 - p / total) for p in (above, above + share.power))
        pieces.append(Area(Box(left, bottom, right, top), _HATCH[share.use]))
        above += share.power
    return pieces


def _tell(
    parts: tuple[PowerShare, ...],
    pieces: list[Area],
    side: int,
    style: Style,
    labels: list[Label],
) -> list[Line]:
    """Set names and values beside a bar, and return the lines that lead to them."""
    reaches = [label_reach(text, style) for share in parts for text in (share.label, share.shown)]
    above, below = (max(reach) * SIZE.value * POINT for reach in zip(*reaches, strict=True))
    middles = spread([area.box.centre.y for area in pieces], above + below + AIR)
    names = max(label_size(share.label, SIZE, style)[0] for share in parts)
    values = max(label_size(share.shown, SIZE, style)[0] for share in parts)
    edge = pieces[0].box.right if side > 0 else pieces[0].box.left
    near = edge + side * LEADER
    # Names stand at the left in a column, values at the right in another, as in a table.
    left = near + LINE if side > 0 else near - LINE - names - SPACE - values
    lines = []
    for share, area, y in zip(parts, pieces, middles, strict=True):
        elbow = Point(edge + side * LEADER * BEND, y)
        lines.append(Line((Point(edge, area.box.centre.y), elbow, Point(near, y))))
        # All on one line of text, whatever is below it.
        base = y - (above - below) / 2
        labels.append(_on_line(share.label, Point(left, base), Anchor.LEFT, style))
        end = Point(left + names + SPACE + values, base)
        labels.append(_on_line(share.shown, end, Anchor.RIGHT, style))
    return lines


def _on_line(content: LabelContent, at: Point, anchor: Anchor, style: Style) -> Label:
    """Return a label whose line of text runs through a point."""
    below = label_reach(content, style)[1] * SIZE.value * POINT
    return set_label(content, Place(Point(at.x, at.y - below), anchor, 1), SIZE, style)


def spread(wanted: list[float], distance: float) -> list[float]:
    """Return places in falling order, no two nearer than `distance`, moved as little as possible.

    Least squares: neighbours that are too near become a block round the mean of what its members
    want (pool adjacent violators; Ayer and others, Ann. Math. Stat. 26, 1955, from memory).

    >>> spread([10.0, 5.0, 5.0, 0.0], 2.0)
    [10.0, 6.0, 4.0, 0.0]
    """
    blocks: list[tuple[float, int]] = []
    for k, y in enumerate(wanted):
        mean, size = y + k * distance, 1
        while blocks and blocks[-1][0] < mean:
            before, count = blocks.pop()
            mean = (before * count + mean * size) / (count + size)
            size += count
        blocks.append((mean, size))
    level = [mean for mean, size in blocks for _ in range(size)]
    return [y - k * distance for k, y in enumerate(level)]


def _head(words: tuple[str, str], style: Style, labels: list[Label]) -> None:
    """Say above each bar what it is."""
    base = max([HEIGHT, *(label.box.top for label in labels)]) + HEAD_GAP
    base += max(label_reach(Words(word), style)[1] for word in words) * SIZE.value * POINT
    for side, word in zip((-1, 1), words, strict=True):
        at = Point(side * (APART + BREADTH) / 2, base)
        labels.append(_on_line(Words(word), at, Anchor.CENTRE, style))


def _key(words: dict[Use, str], style: Style, areas: list[Area], labels: list[Label]) -> None:
    """Say below the bars what the hatchings are."""
    widths = [KEY + AIR + label_size(Words(word), SIZE, style)[0] for word in words.values()]
    y = min([0.0, *(label.box.bottom for label in labels)]) - HEAD_GAP - KEY / 2
    reaches = [label_reach(Words(word), style) for word in words.values()]
    above, below = (max(reach) * SIZE.value * POINT for reach in zip(*reaches, strict=True))
    x = -(sum(widths) + BETWEEN_KEYS * (len(widths) - 1)) / 2
    for (use, word), width in zip(words.items(), widths, strict=True):
        areas.append(Area(Box(x, y - KEY / 2, x + KEY, y + KEY / 2), _HATCH[use]))
        base = Point(x + KEY + AIR, y - (above - below) / 2)
        labels.append(_on_line(Words(word), base, Anchor.LEFT, style))
        x += width + BETWEEN_KEYS
