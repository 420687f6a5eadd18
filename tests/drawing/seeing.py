"""Sees parts, wires and arrows in the strokes of a page, as a reader does: by their shape alone.

Nothing of the layout code, the drawing type or the writers is used.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import combinations, pairwise, permutations
from math import atan2, degrees, dist

from tests.drawing.strokes import TOUCH, Arc, Circle, Line, Misdrawn, Page, Spot, Type, nearness

_TERMINAL = 1.2
"""Radius in millimetres: a larger circle is a part, a smaller one an open terminal."""
_CONTACT = 0.7
"""Radius in millimetres: a circle smaller than this is a contact of a switch."""
_LETTERS = {"A": "ammeter", "V": "voltmeter"}


@dataclass(frozen=True)
class Part:
    """A symbol with two ends.

    For a cell, and a diamond with signs, the first end is −, the second +; the arrow of a current
    source points to its second.
    """

    kind: str
    ends: tuple[Spot, Spot]
    outline: tuple[tuple[Spot, Spot], ...]


@dataclass(frozen=True)
class Head:
    """An arrowhead on a wire."""

    tip: Spot
    back: Spot
    outline: tuple[tuple[Spot, Spot], ...]


@dataclass
class Seen:
    """What a figure shows."""

    wires: list[Line] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    heads: list[Head] = field(default_factory=list)
    dots: list[Circle] = field(default_factory=list)
    terminals: list[Circle] = field(default_factory=list)
    frames: list[Line] = field(default_factory=list)
    earths: list[Spot] = field(default_factory=list)
    """Where the stub of an earth ends."""
    arcs: list[Arc] = field(default_factory=list)
    types: list[Type] = field(default_factory=list)


def middle(one: Spot, other: Spot) -> Spot:
    return (one[0] + other[0]) / 2, (one[1] + other[1]) / 2


def sides(line: Line) -> tuple[tuple[Spot, Spot], ...]:
    """Return the straight pieces of a line."""
    points = (*line.points, line.points[0]) if line.closed else line.points
    return tuple(pairwise(points))


def see(page: Page) -> Seen:
    """Tell what each stroke belongs to."""
    seen = Seen(arcs=page.arcs, types=page.types)
    left: list[Line] = []
    rings = [c for c in page.circles if not c.filled]
    # A ring round a dot shows where a walk starts.
    rings = [
        c for c in rings if all(dist(c.centre, d.centre) > TOUCH for d in page.circles if d.filled)
    ]
    large = [c for c in rings if c.radius > _TERMINAL]
    diamonds = [line for line in page.lines if _is_diamond(line)]
    darts: list[Head] = []
    for line in page.lines:
        if line.filled:
            within = any(dist(at, c.centre) < c.radius for c in large for at in line.points)
            within = within or any(_holds(one, at) for one in diamonds for at in line.points)
            _head(darts if within else seen.heads, line, seen.arcs)
        elif line in diamonds:
            continue
        elif line.dashed and line.closed:
            seen.frames.append(line)
        elif line.dashed:
            continue  # the dashes between two cells carry no meaning of their own
        elif line.closed:
            seen.parts.append(_box(line))
        elif _is_zigzag(line):
            seen.parts.append(Part("zigzag", (line.points[0], line.points[-1]), sides(line)))
        else:
            left.append(line)
    seen.dots = [c for c in page.circles if c.filled]
    seen.terminals = [c for c in rings if _CONTACT <= c.radius <= _TERMINAL]
    contacts = [c for c in rings if c.radius < _CONTACT]
    seen.types, letters = _without_letters(seen.types, large)
    left, found = _diamonds(diamonds, left, darts)
    seen.parts += found
    darts = [dart for dart in darts if not any(_holds(one, dart.tip) for one in diamonds)]
    arrows = {dart: next(c for c in large if dist(dart.tip, c.centre) < c.radius) for dart in darts}
    for dart, ring in arrows.items():
        left = _without_shaft(left, dart, ring)
    lamps = [c for c in large if c not in letters and c not in arrows.values()]
    for lamp in lamps:
        left = _without_cross(left, lamp)
    left, switches = _switches(left, contacts)
    seen.parts += switches
    rims = [*large, *rings]
    bars = list(_bars(left, [side for part in seen.parts for side in part.outline], rims))
    seen.wires = [line for line in left if line not in bars]
    ends = [end for wire in seen.wires for end in (wire.points[0], wire.points[-1])]
    seen.parts += [_round("lamp", lamp, ends) for lamp in lamps]
    seen.parts += [_round(_LETTERS[letter], ring, ends) for ring, letter in letters.items()]
    seen.parts += [_source(dart, _round("source", ring, ends)) for dart, ring in arrows.items()]
    _cells_and_earths(seen, bars, ends)
    return seen


def _without_letters(
    types: list[Type], rings: list[Circle]
) -> tuple[list[Type], dict[Circle, str]]:
    """Take what stands in the middle of a circle for the letter of an instrument."""
    found: dict[Circle, str] = {}
    left = []
    for type_ in types:
        ring = next((c for c in rings if dist(type_.centre, c.centre) < c.radius / 3), None)
        if ring is None:
            left.append(type_)
            continue
        if ring in found or type_.text not in _LETTERS:
            raise Misdrawn(f"{type_.text} stands in a circle")
        found[ring] = type_.text
    return left, found


def _is_diamond(line: Line) -> bool:
    """Tell four equal sides that stand on a corner, or lie on one."""
    if not line.closed or line.filled or line.dashed or len(line.points) != 4:
        return False
    lengths = [dist(*side) for side in sides(line)]
    return max(lengths) - min(lengths) < TOUCH


def _holds(diamond: Line, at: Spot) -> bool:
    """Tell whether a place is within a diamond: nearer to its middle than its sides are."""
    x, y = middle(diamond.points[0], diamond.points[2])
    (ax, ay), (bx, by) = (
        ((corner[0] - x), (corner[1] - y)) for corner in (diamond.points[0], diamond.points[1])
    )
    size = ax * ax + ay * ay
    along = abs((at[0] - x) * ax + (at[1] - y) * ay) / size
    across = abs((at[0] - x) * bx + (at[1] - y) * by) / size
    return along + across < 0.99


def _diamonds(
    diamonds: list[Line], lines: list[Line], darts: list[Head]
) -> tuple[list[Line], list[Part]]:
    """Take diamonds with what is in them for dependent sources; the other lines are left."""
    found, left = [], list(lines)
    for diamond in diamonds:
        inside = [line for line in left if all(_holds(diamond, at) for at in line.points)]
        left = [line for line in left if line not in inside]
        heads = [dart for dart in darts if _holds(diamond, dart.tip)]
        ends = [end for line in left for end in (line.points[0], line.points[-1])]
        met = [corner for corner in diamond.points if any(dist(corner, e) < TOUCH for e in ends)]
        if len(met) != 2 or dist(middle(*met), middle(*diamond.points[::2])) > TOUCH:
            raise Misdrawn("a diamond is not met from two sides")
        if heads:
            if len(heads) != 1 or len(inside) != 1:
                raise Misdrawn("a diamond with more than an arrow in it")
            part = Part("diamond with an arrow", (met[0], met[1]), sides(diamond))
            found.append(_source(heads[0], part))
        else:
            found.append(_signed(diamond, inside, met))
    return left, found


def _signed(diamond: Line, strokes: list[Line], met: list[Spot]) -> Part:
    """Return a dependent voltage source: two strokes cross near its + end, one lies near its −."""
    crossing = [
        (a, b) for a, b in combinations(strokes, 2)
        if dist(middle(*a.points), middle(*b.points)) < TOUCH
    ]  # fmt: skip
    if len(strokes) != 3 or len(crossing) != 1:
        raise Misdrawn("a diamond without its two signs")
    plus = middle(*crossing[0][0].points)
    (single,) = (line for line in strokes if line not in crossing[0])
    minus = middle(*single.points)
    ends = sorted(met, key=lambda end: dist(end, minus))
    if dist(ends[0], minus) > dist(ends[0], plus) or nearness(plus, *ends) > TOUCH:
        raise Misdrawn("the signs in a diamond do not lie along its wire")
    return Part("diamond with signs", (ends[0], ends[1]), sides(diamond))


def _without_shaft(lines: list[Line], dart: Head, ring: Circle) -> list[Line]:
    """Remove the shaft of the arrow in a current source: a stroke through its middle."""
    shafts = [
        line
        for line in lines
        if len(line.points) == 2
        and all(dist(end, ring.centre) < 0.8 * ring.radius for end in line.points)
        and nearness(ring.centre, *line.points) < TOUCH
        and min(dist(end, dart.tip) for end in line.points) < dist(*line.points)
    ]
    if len(shafts) != 1 or dist(dart.tip, ring.centre) > 0.8 * ring.radius:
        raise Misdrawn("a head in a circle without a shaft")
    return [line for line in lines if line not in shafts]


def _source(dart: Head, part: Part) -> Part:
    """Return a current source whose second end is the one its arrow points to."""
    one, other = sorted(part.ends, key=lambda end: -dist(end, dart.tip))
    if nearness(dart.tip, one, other) > TOUCH or nearness(dart.back, one, other) > TOUCH:
        raise Misdrawn("the arrow of a current source does not lie along its wire")
    return Part(part.kind, (one, other), part.outline)


def _switches(lines: list[Line], contacts: list[Circle]) -> tuple[list[Line], list[Part]]:
    """Take pairs of small circles with a stroke for switches; the other lines are left."""
    left, free, found = list(lines), list(contacts), []
    for line in lines:
        if len(line.points) != 2:
            continue
        for hinge, other in permutations(free, 2):
            blade = _blade(line, hinge, other)
            if blade is not None:
                found.append(blade)
                left = [one for one in left if one is not line]
                free = [c for c in free if c not in (hinge, other)]
                break
    if free:
        raise Misdrawn(f"a contact without a blade at {free[0].centre}")
    return left, found


def _blade(line: Line, hinge: Circle, other: Circle) -> Part | None:
    """Return the switch of two contacts whose blade a stroke is, if it is."""
    span, r = dist(hinge.centre, other.centre), hinge.radius
    ahead = tuple((b - a) / span for a, b in zip(hinge.centre, other.centre, strict=True))
    (x1, y1), (x2, y2) = (
        (
            (x - hinge.centre[0]) * ahead[0] + (y - hinge.centre[1]) * ahead[1],
            (y - hinge.centre[1]) * ahead[0] - (x - hinge.centre[0]) * ahead[1],
        )
        for x, y in line.points
    )
    if span > 12 * r or abs(r - other.radius) > TOUCH or abs(dist((x1, y1), (0, 0)) - r) > TOUCH:
        return None
    angle = abs(degrees(atan2(y2 - y1, x2 - x1)))
    if abs(dist((x2, y2), (span, 0)) - r) < TOUCH and angle < 1 and abs(abs(y1) - r) < TOUCH:
        kind = "closed switch"
    elif 20 < angle < 45 and dist((x2, y2), (span, 0)) > 3 * r and dist((x2, y2), (0, 0)) > 8 * r:
        kind = "open switch"
    else:
        return None
    ends = tuple(
        (c.centre[0] + side * r * ahead[0], c.centre[1] + side * r * ahead[1])
        for c, side in ((hinge, -1), (other, 1))
    )
    return Part(kind, (ends[0], ends[1]), (*sides(line), (ends[0], ends[1])))


def _head(heads: list[Head], line: Line, arcs: list[Arc]) -> None:
    """Take a filled dart for an arrowhead: its tip is the corner opposite to the notch."""
    if len(line.points) != 4:
        raise Misdrawn(f"a filled shape of {len(line.points)} corners")
    corners = line.points
    far = max(range(4), key=lambda k: dist(corners[k], corners[k - 2]) + _even(corners, k))
    tip, notch = corners[far], corners[far - 2]
    wings = corners[far - 1], corners[far - 3]
    if dist(middle(*wings), tip) < dist(notch, tip):
        tip, notch = notch, tip
    if any(dist(tip, arc.end) < 2 and dist(notch, arc.end) < 1 for arc in arcs):
        return
    heads.append(Head(tip, middle(*wings), sides(line)))


def _even(corners: tuple[Spot, ...], k: int) -> float:
    """Return much where both neighbours of a corner are equally far: it is on the axis."""
    uneven = abs(dist(corners[k], corners[k - 1]) - dist(corners[k], corners[k - 3]))
    return 100.0 if uneven < TOUCH else 0.0


def _box(line: Line) -> Part:
    if len(line.points) != 4:
        raise Misdrawn(f"a closed shape of {len(line.points)} corners")
    short = sorted(sides(line), key=lambda side: dist(*side))[:2]
    if dist(*short[0]) > 0.6 * dist(line.points[0], line.points[2]):
        raise Misdrawn("a box that is not longer than broad")
    return Part("box", (middle(*short[0]), middle(*short[1])), sides(line))


def _is_zigzag(line: Line) -> bool:
    """Tell a line with sharp turns; a wire turns by a right angle or less."""
    steps = [(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(line.points)]
    return any(a[0] * b[0] + a[1] * b[1] < -0.5 for a, b in pairwise(steps))


def _without_cross(lines: list[Line], lamp: Circle) -> list[Line]:
    """Remove the two strokes in the circle of a lamp."""
    cross = [
        line
        for line in lines
        if len(line.points) == 2
        and dist(middle(*line.points), lamp.centre) < TOUCH
        and abs(dist(*line.points) - 2 * lamp.radius) < 2 * TOUCH
    ]
    if len(cross) != 2:
        raise Misdrawn("a circle without a cross")
    return [line for line in lines if line not in cross]


def _round(kind: str, ring: Circle, ends: list[Spot]) -> Part:
    met = [end for end in ends if abs(dist(end, ring.centre) - ring.radius) < TOUCH]
    if len(met) != 2 or dist(middle(*met), ring.centre) > TOUCH:
        raise Misdrawn(f"a {kind} is not met from two sides")
    x, y, r = *ring.centre, ring.radius
    round_it = Line(
        tuple((x + r * a, y + r * b) for a, b in ((1, 0.414), (0.414, 1), (-0.414, 1), (-1, 0.414),
        (-1, -0.414), (-0.414, -1), (0.414, -1), (1, -0.414))), closed=True,
    )  # fmt: skip
    return Part(kind, (met[0], met[1]), sides(round_it))


def _bars(
    lines: list[Line], outlines: list[tuple[Spot, Spot]], rims: list[Circle]
) -> Iterator[Line]:
    """Yield the strokes that nothing meets at their ends: plates and the bars of an earth."""
    for line in lines:
        if len(line.points) != 2:
            continue
        others = outlines + [side for o in lines if o is not line for side in sides(o)]
        free = not any(
            nearness(end, *side) < TOUCH for end in line.points for side in others
        ) and not any(
            abs(dist(end, c.centre) - c.radius) < TOUCH for end in line.points for c in rims
        )
        met = any(
            dist(end, middle(*line.points)) < TOUCH
            for other in lines
            if other is not line
            for end in (other.points[0], other.points[-1])
        )
        if free and (met or dist(*line.points) < 7):
            yield line


def _cells_and_earths(seen: Seen, bars: list[Line], ends: list[Spot]) -> None:
    met = [bar for bar in bars if _meets(ends, middle(*bar.points))]
    left = list(bars)
    for one, other in combinations(met, 2):
        between = [bar for bar in left if bar not in (one, other) and _between(bar, one, other)]
        if one not in left or other not in left or not _face(one, other, 2.0 if not between else 9):
            continue
        if any(bar in met for bar in between):
            continue  # two cells with wire between them
        if len(between) not in (0, 2):
            raise Misdrawn("a battery of an odd number of plates")
        seen.parts.append(_battery(one, other, between))
        left = [bar for bar in left if bar not in (one, other, *between)]
    for first in sorted(left, key=lambda bar: -dist(*bar.points)):
        if first not in left or first not in met:
            continue
        near = [bar for bar in left if bar is not first and _face(first, bar, 2.6)]
        if len(near) != 2 or any(bar in met for bar in near):
            raise Misdrawn(f"a stroke that is part of nothing at {first.points}")
        seen.earths.append(middle(*first.points))
        left = [bar for bar in left if bar is not first and bar not in near]
    if left:
        raise Misdrawn(f"a stroke that is part of nothing at {left[0].points}")


def _battery(one: Line, other: Line, between: list[Line]) -> Part:
    """Return a capacitor, a cell, or two cells: short and long plates take turns in these."""
    if not between and abs(dist(*one.points) - dist(*other.points)) < TOUCH:
        return Part("capacitor", (_centre(one), _centre(other)), (*sides(one), *sides(other)))
    first, last = sorted((one, other), key=lambda bar: dist(*bar.points))
    row = sorted([first, last, *between], key=lambda bar: dist(_centre(bar), _centre(first)))
    lengths = [dist(*bar.points) for bar in row]
    if any(short > 0.75 * long for short in lengths[::2] for long in lengths[1::2]):
        raise Misdrawn("plates that do not differ in length")
    outline = tuple(side for bar in row for side in sides(bar))
    return Part("cell", (_centre(first), _centre(last)), outline)


def _centre(bar: Line) -> Spot:
    return middle(*bar.points)


def _between(bar: Line, one: Line, other: Line) -> bool:
    return (
        _face(bar, one, 9)
        and _face(bar, other, 9)
        and nearness(_centre(bar), _centre(one), _centre(other)) < TOUCH
    )


def _meets(ends: Iterable[Spot], at: Spot) -> bool:
    return any(dist(end, at) < TOUCH for end in ends)


def _face(one: Line, other: Line, most: float) -> bool:
    """Tell whether two strokes are parallel, one in the middle before the other and near."""
    (a, b), (c, d) = one.points, other.points
    way, across = (b[0] - a[0], b[1] - a[1]), (d[0] - c[0], d[1] - c[1])
    (x1, y1), (x2, y2) = middle(a, b), middle(c, d)
    step = (x2 - x1, y2 - y1)
    parallel = abs(way[0] * across[1] - way[1] * across[0]) < 0.1
    ahead = abs(way[0] * step[0] + way[1] * step[1]) < 0.1
    return parallel and ahead and 0.2 < dist((x1, y1), (x2, y2)) < most
