"""A drawing as SVG that stands alone: for the web, for a drawing program, for a page.

One unit is a millimetre; y runs downwards, so it is the drawing's with the other sign. Only plain
paths, circles and text are used: no scripts, style sheets, markers or fonts from elsewhere, so
that the figure survives sanitizers and is drawn by every engine.
"""

from __future__ import annotations

from hashlib import sha256

from derive.drawing.model import (
    Area,
    Box,
    CurrentArrow,
    Dot,
    Drawing,
    Emphasis,
    Frame,
    Line,
    LoopArrow,
    Point,
    Symbol,
    SymbolShape,
    Wire,
)
from derive.typesetting.style import Style
from derive.writers.outlines import (
    CELLS_DASH,
    COLOUR,
    DASH,
    FRAME_DASH,
    FRAME_WEIGHT,
    HATCH_WEIGHT,
    LINE_WEIGHT,
    LOOP_HEAD,
    LOOP_WEIGHT,
    WEIGHT,
    arc,
    arrowhead,
    between_cells,
    blade,
    box,
    capacitor_plates,
    contact_radius,
    contacts,
    cross,
    diamond,
    hatching,
    minus_plates,
    minus_weight,
    plus_plates,
    signs,
    source_arrow,
    zigzag,
)
from derive.writers.svg_label import label_text
from derive.writers.svg_spelling import POINT, colour, escape, number, path_data, place

MARGIN = 0.5
"""Room beyond the drawing for half the breadth of a line, in millimetres."""

_FONTS = (
    "'Latin Modern Roman','New Computer Modern','STIX Two Text','Times New Roman',Times,"
    "'Liberation Serif',serif"
)


def write(
    drawing: Drawing, style: Style, short: str, long: str = "", width_mm: float | None = None
) -> str:
    """Return an ``svg`` element with `short` as its title and `long` as its description.

    With a width the whole figure, its type included, is made as wide as that.
    """
    body = body_of(drawing, style)
    told = {"title": escape(short)} | ({"desc": escape(long)} if long else {})
    # Several figures on one page of the web need different ids.
    name = "figure-" + sha256("\n".join((*told.values(), body)).encode()).hexdigest()[:12]
    ids = " ".join(f"{name}-{tag}" for tag in told)
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" version="1.1" {_size(drawing.box, width_mm)} '
            f'role="img" aria-labelledby="{ids}">',
            *(f'<{tag} id="{name}-{tag}">{text}</{tag}>' for tag, text in told.items()),
            f'<g fill="none" stroke-linecap="round" stroke-linejoin="round" '
            f'font-family="{_FONTS}">',
            body,
            "</g>",
            "</svg>\n",
        ]
    )


def body_of(drawing: Drawing, style: Style) -> str:
    """Return what an ``svg`` element of a drawing holds, for a group with its pens and fonts."""
    items = [
        *map(_area, drawing.areas),
        *map(_line, drawing.lines),
        *map(_wire, drawing.wires),
        *map(_symbol, drawing.symbols),
        *map(_frame, drawing.frames),
        *map(_dot, drawing.dots),
        *map(_arrow, drawing.arrows),
    ]
    if drawing.loop_arrow is not None:
        items.append(_loop_arrow(drawing.loop_arrow))
    items += [label_text(label, style) for label in drawing.labels]
    return "\n".join(items)


def _size(box: Box, width_mm: float | None) -> str:
    width, height = box.width + 2 * MARGIN, box.height + 2 * MARGIN
    factor = 1.0 if width_mm is None else width_mm / width
    view = " ".join(map(number, (box.left - MARGIN, -box.top - MARGIN, width, height)))
    return (
        f'width="{number(width * factor)}mm" height="{number(height * factor)}mm" viewBox="{view}"'
    )


def _ink(emphasis: Emphasis) -> str:
    return colour(COLOUR[emphasis])


def _pen(emphasis: Emphasis, weight: float | None = None) -> str:
    points = WEIGHT[emphasis] if weight is None else weight
    return f'stroke="{_ink(emphasis)}" stroke-width="{number(points * POINT)}"'


def _stroke(points: list[Point], emphasis: Emphasis) -> str:
    return f'<path d="{path_data(points)}" {_pen(emphasis)}/>'


def _rectangle(box: Box) -> str:
    return (
        f'<rect x="{number(box.left)}" y="{number(-box.top)}" width="{number(box.width)}" '
        f'height="{number(box.height)}"'
    )


def _circle(centre: Point, radius: float) -> str:
    return f'<circle cx="{number(centre.x)}" cy="{number(-centre.y)}" r="{number(radius)}"'


def _wire(wire: Wire) -> str:
    path = f'<path d="{path_data(list(wire.points))}" {_pen(wire.emphasis)}'
    if wire.emphasis in DASH:
        return f"{path} {_dash(DASH[wire.emphasis])}/>"
    return f"{path}/>"


def _symbol(symbol: Symbol) -> str:
    """Return a group named after the part, for programs and style sheets that look for it."""
    match symbol.shape:
        case SymbolShape.RESISTOR_BOX:
            lines = [_box(symbol)]
        case SymbolShape.RESISTOR_ZIGZAG:
            lines = [_stroke(zigzag(symbol), symbol.emphasis)]
        case SymbolShape.LAMP:
            circle = _circle(symbol.centre, symbol.length / 2)
            strokes = " ".join(map(path_data, cross(symbol)))
            lines = [
                f"{circle} {_pen(symbol.emphasis)}/>",
                f'<path d="{strokes}" {_pen(symbol.emphasis)}/>',
            ]
        case SymbolShape.CELL | SymbolShape.CELLS:
            lines = _cell(symbol)
        case SymbolShape.CURRENT_SOURCE:
            lines = _current_source(symbol)
        case SymbolShape.DEPENDENT_EMF:
            strokes = " ".join(map(path_data, signs(symbol)))
            lines = [_diamond(symbol), f'<path d="{strokes}" {_pen(symbol.emphasis)}/>']
        case SymbolShape.DEPENDENT_CURRENT:
            lines = [_diamond(symbol), *_source_arrow(symbol)]
        case SymbolShape.AMMETER | SymbolShape.VOLTMETER:
            lines = [f"{_circle(symbol.centre, symbol.length / 2)} {_pen(symbol.emphasis)}/>"]
        case SymbolShape.OPEN_SWITCH | SymbolShape.CLOSED_SWITCH:
            lines = _switch(symbol)
        case SymbolShape.CAPACITOR:
            plates = " ".join(map(path_data, capacitor_plates(symbol)))
            lines = [f'<path d="{plates}" {_pen(symbol.emphasis)}/>']
    kind = symbol.shape.value.replace(" ", "-")
    return f'<g class="{kind}" data-part="{escape(symbol.part)}">{"".join(lines)}</g>'


def _box(symbol: Symbol) -> str:
    if not symbol.direction.aslant:
        return f"{_rectangle(symbol.box)} {_pen(symbol.emphasis)}/>"
    return f'<path d="{path_data(box(symbol))} Z" {_pen(symbol.emphasis)}/>'


def _diamond(symbol: Symbol) -> str:
    return f'<path d="{path_data(diamond(symbol))} Z" {_pen(symbol.emphasis)}/>'


def _current_source(symbol: Symbol) -> list[str]:
    circle = f"{_circle(symbol.centre, symbol.length / 2)} {_pen(symbol.emphasis)}/>"
    return [circle, *_source_arrow(symbol)]


def _source_arrow(symbol: Symbol) -> list[str]:
    shaft, head = source_arrow(symbol)
    return [
        _stroke(shaft, symbol.emphasis),
        f'<path d="{path_data(head)} Z" fill="{_ink(symbol.emphasis)}"/>',
    ]


def _switch(symbol: Symbol) -> list[str]:
    pen, radius = _pen(symbol.emphasis), contact_radius(symbol)
    rims = [f"{_circle(centre, radius)} {pen}/>" for centre in contacts(symbol)]
    return [*rims, _stroke(blade(symbol), symbol.emphasis)]


def _cell(symbol: Symbol) -> list[str]:
    pen = _pen(symbol.emphasis)
    thick = _pen(symbol.emphasis, minus_weight(symbol.emphasis))
    long, short = plus_plates(symbol), minus_plates(symbol)
    lines = [
        f'<path d="{" ".join(map(path_data, long))}" {pen}/>',
        f'<path d="{" ".join(map(path_data, short))}" {thick} stroke-linecap="butt"/>',
    ]
    if dashes := between_cells(symbol):
        dash = _dash(CELLS_DASH)
        lines.append(f'<path d="{path_data(dashes)}" {pen} {dash}/>')
    return lines


def _dash(lengths: tuple[float, float]) -> str:
    spelled = " ".join(number(length * POINT) for length in lengths)
    return f'stroke-dasharray="{spelled}" stroke-linecap="butt"'


def _frame(frame: Frame) -> str:
    dash = _dash(FRAME_DASH)
    pen = _pen(frame.emphasis, FRAME_WEIGHT)
    return f'{_rectangle(frame.box)} class="frame" {pen} {dash}/>'


def _area(area: Area) -> str:
    outline = f"{_rectangle(area.box)} {area_look()}/>"
    strokes = " ".join(map(path_data, hatching(area)))
    return f'<path d="{strokes}" {hatch_look()}/>{outline}' if strokes else outline


def area_look() -> str:
    """Return the attributes of the outline of an area."""
    return f'class="area" {_pen(Emphasis.NORMAL, LINE_WEIGHT[Emphasis.NORMAL])}'


def hatch_look() -> str:
    """Return the attributes of the lines that fill an area."""
    return f'class="hatch" {_pen(Emphasis.NORMAL, HATCH_WEIGHT)} stroke-linecap="butt"'


def _line(line: Line) -> str:
    look = line_look(line.emphasis, line.dashed)
    return f'<path d="{path_data(list(line.points))}" {look}/>'


def line_look(emphasis: Emphasis, dashed: bool = False) -> str:
    """Return the attributes of a line of a graph."""
    dash = f" {_dash(FRAME_DASH)}" if dashed else ""
    return f'class="line" {_pen(emphasis, LINE_WEIGHT[emphasis])}{dash}'


def _dot(dot: Dot) -> str:
    circle = f'{_circle(dot.centre, dot.radius)} class="dot"'
    if dot.is_open:
        return f"{circle} {_pen(dot.emphasis)}/>"
    filled = f'{circle} fill="{_ink(dot.emphasis)}"/>'
    if dot.ring is None:
        return filled
    ring = _circle(dot.centre, dot.ring)
    return f'{filled}{ring} class="start" {_pen(dot.emphasis, LOOP_WEIGHT)}/>'


def _arrow(arrow: CurrentArrow) -> str:
    return (
        f'<path class="current" data-current="{escape(arrow.current)}" '
        f'd="{path_data(arrowhead(arrow))} Z" fill="{_ink(arrow.emphasis)}"/>'
    )


def _loop_arrow(arrow: LoopArrow) -> str:
    length, width = (points * POINT for points in LOOP_HEAD)
    drawn = arc(arrow, length, width)
    # y runs downwards here, so anticlockwise is the sense that SVG calls negative.
    flags = f"{int(drawn.large)} {int(arrow.sweep < 0)}"
    radius = number(arrow.radius)
    return (
        f'<path class="loop" d="M{place(drawn.start)} A{radius} {radius} 0 {flags} '
        f'{place(drawn.end)}" {_pen(Emphasis.STRONG, LOOP_WEIGHT)}/>'
        f'<path d="{path_data(drawn.head)} Z" fill="{_ink(Emphasis.STRONG)}"/>'
    )
