"""A drawing as SVG that stands alone: for the web, for a drawing program, for a page.

One unit is a millimetre; y runs downwards, so it is the drawing's with the other sign. Only plain
paths, circles and text are used: no scripts, style sheets, markers or fonts from elsewhere, so
that the figure survives sanitizers and is drawn by every engine.
"""

from __future__ import annotations

from hashlib import sha256
from unicodedata import category

from derive.document.model import Style
from derive.drawing.model import (
    Anchor,
    Box,
    CurrentArrow,
    Dot,
    Drawing,
    Emphasis,
    Frame,
    Label,
    LoopArrow,
    LoopName,
    Point,
    Symbol,
    SymbolShape,
    Wire,
)
from derive.writers.layout import Over, Row, Sign
from derive.writers.layout_width import glyph_width, row_width
from derive.writers.outlines import (
    COLOUR,
    FRAME_DASH,
    FRAME_WEIGHT,
    LOOP_HEAD,
    LOOP_WEIGHT,
    WEIGHT,
    arc,
    arrowhead,
    cross,
    minus_plate,
    minus_weight,
    plus_plate,
    zigzag,
)
from derive.writers.svg_text import Face, Run, Runs, label_row, runs
from derive.writers.tex_macros import COLOURS

_POINT = 25.4 / 72.27
_MARGIN = 0.5
"""Room beyond the drawing for half the breadth of a line, in millimetres."""

_FONTS = (
    "'STIX Two Text','Latin Modern Roman','New Computer Modern','Times New Roman',Times,"
    "'Liberation Serif',serif"
)
_SCRIPT_FONTS = (
    "'STIX Two Math','Latin Modern Math','New Computer Modern Math','Cambria Math',"
    "'DejaVu Sans',serif"
)
"""Fonts with the script capitals of Unicode."""

_ANCHOR = {Anchor.LEFT: "start", Anchor.CENTRE: "middle", Anchor.RIGHT: "end"}
_SMALLER = 0.7
"""Size of sub- and superscripts."""
_THIN = 0.6
"""Size of a thin space, which is a no-break space in small type: every font has that."""
_LOWER, _HIGHER = 0.17, 0.36
"""How far they stand below and above the line, in em."""
_MIDDLE, _MIDDLE_WITH_SUBSCRIPT = 0.34, 0.27
"""From the baseline to half the height of a capital, and of one with a subscript, in em."""
_AXIS = 0.25
"""From the baseline to a fraction's bar, in em."""
_NUMERATOR, _DENOMINATOR = 0.2, -0.95
"""From the bar to the baselines above and below it, in em."""


def write(
    drawing: Drawing, style: Style, short: str, long: str = "", width_mm: float | None = None
) -> str:
    """Return an ``svg`` element with `short` as its title and `long` as its description.

    With a width the whole figure, its type included, is made as wide as that.
    """
    items = [
        *map(_wire, drawing.wires),
        *map(_symbol, drawing.symbols),
        *map(_frame, drawing.frames),
        *map(_dot, drawing.dots),
        *map(_arrow, drawing.arrows),
    ]
    if drawing.loop_arrow is not None:
        items.append(_loop_arrow(drawing.loop_arrow))
    items += [_label(label, style) for label in drawing.labels]
    body = "\n".join(items)
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


def escape(text: str) -> str:
    """Return text for an element or an attribute; what XML does not allow is shown as ``�``."""
    allowed = (
        "\N{REPLACEMENT CHARACTER}" if category(c) in ("Cc", "Cs", "Cn") and c not in "\t\n" else c
        for c in text
    )
    plain = "".join(allowed)
    for character, entity in (("&", "amp"), ("<", "lt"), (">", "gt"), ('"', "quot")):
        plain = plain.replace(character, f"&{entity};")
    return plain


def _size(box: Box, width_mm: float | None) -> str:
    width, height = box.width + 2 * _MARGIN, box.height + 2 * _MARGIN
    factor = 1.0 if width_mm is None else width_mm / width
    view = " ".join(map(_number, (box.left - _MARGIN, -box.top - _MARGIN, width, height)))
    return (
        f'width="{_number(width * factor)}mm" height="{_number(height * factor)}mm" '
        f'viewBox="{view}"'
    )


def _number(value: float) -> str:
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _at(point: Point) -> str:
    return f"{_number(point.x)} {_number(-point.y)}"


def _path(points: list[Point]) -> str:
    return "M" + " L".join(map(_at, points))


def _ink(emphasis: Emphasis) -> str:
    return _colour(COLOUR[emphasis])


def _colour(name: str) -> str:
    return f"#{COLOURS[name]}"


def _pen(emphasis: Emphasis, weight: float | None = None) -> str:
    points = WEIGHT[emphasis] if weight is None else weight
    return f'stroke="{_ink(emphasis)}" stroke-width="{_number(points * _POINT)}"'


def _stroke(points: list[Point], emphasis: Emphasis) -> str:
    return f'<path d="{_path(points)}" {_pen(emphasis)}/>'


def _rectangle(box: Box) -> str:
    return (
        f'<rect x="{_number(box.left)}" y="{_number(-box.top)}" width="{_number(box.width)}" '
        f'height="{_number(box.height)}"'
    )


def _circle(centre: Point, radius: float) -> str:
    return f'<circle cx="{_number(centre.x)}" cy="{_number(-centre.y)}" r="{_number(radius)}"'


def _wire(wire: Wire) -> str:
    return _stroke(list(wire.points), wire.emphasis)


def _symbol(symbol: Symbol) -> str:
    """Return a group named after the part, for programs and style sheets that look for it."""
    match symbol.shape:
        case SymbolShape.RESISTOR_BOX:
            lines = [f"{_rectangle(symbol.box)} {_pen(symbol.emphasis)}/>"]
        case SymbolShape.RESISTOR_ZIGZAG:
            lines = [_stroke(zigzag(symbol), symbol.emphasis)]
        case SymbolShape.LAMP:
            circle = _circle(symbol.centre, symbol.length / 2)
            strokes = " ".join(map(_path, cross(symbol)))
            lines = [
                f"{circle} {_pen(symbol.emphasis)}/>",
                f'<path d="{strokes}" {_pen(symbol.emphasis)}/>',
            ]
        case SymbolShape.CELL:
            thick = _pen(symbol.emphasis, minus_weight(symbol.emphasis))
            lines = [
                _stroke(plus_plate(symbol), symbol.emphasis),
                f'<path d="{_path(minus_plate(symbol))}" {thick} stroke-linecap="butt"/>',
            ]
    kind = symbol.shape.value.replace(" ", "-")
    return f'<g class="{kind}" data-part="{escape(symbol.part)}">{"".join(lines)}</g>'


def _frame(frame: Frame) -> str:
    dash = " ".join(_number(length * _POINT) for length in FRAME_DASH)
    pen = _pen(frame.emphasis, FRAME_WEIGHT)
    return f'{_rectangle(frame.box)} class="frame" {pen} stroke-dasharray="{dash}"/>'


def _dot(dot: Dot) -> str:
    circle = f'{_circle(dot.centre, dot.radius)} class="dot"'
    if dot.is_open:
        return f"{circle} {_pen(dot.emphasis)}/>"
    return f'{circle} fill="{_ink(dot.emphasis)}"/>'


def _arrow(arrow: CurrentArrow) -> str:
    return (
        f'<path class="current" data-current="{escape(arrow.current)}" '
        f'd="{_path(arrowhead(arrow))} Z" fill="{_ink(arrow.emphasis)}"/>'
    )


def _loop_arrow(arrow: LoopArrow) -> str:
    length, width = (points * _POINT for points in LOOP_HEAD)
    drawn = arc(arrow, length, width)
    # y runs downwards here, so anticlockwise is the sense that SVG calls negative.
    flags = f"{int(drawn.large)} {int(arrow.sweep < 0)}"
    radius = _number(arrow.radius)
    return (
        f'<path class="loop" d="M{_at(drawn.start)} A{radius} {radius} 0 {flags} {_at(drawn.end)}" '
        f"{_pen(Emphasis.STRONG, LOOP_WEIGHT)}/>"
        f'<path d="{_path(drawn.head)} Z" fill="{_ink(Emphasis.STRONG)}"/>'
    )


def _label(label: Label, style: Style) -> str:
    row = label_row(label.content, style)
    em = label.size.value * _POINT
    ink = _label_ink(label)
    if not any(isinstance(glyph, Over) for glyph in row):
        spelled = runs(row)
        baseline = label.at.y - _rise(spelled) * em
        return _text(spelled, Point(label.at.x, baseline), label.anchor, em, ink)
    return _with_fractions(row, label, em, ink)


def _label_ink(label: Label) -> str:
    if isinstance(label.content, LoopName):
        return _ink(Emphasis.STRONG)
    faint = label.emphasis is Emphasis.FAINT
    return _ink(Emphasis.FAINT if faint else Emphasis.NORMAL)


def _rise(spelled: Runs) -> float:
    """Return how far half the height of a line is above its baseline, in em."""
    if [run.text for run in spelled] == [Sign.PLUS.value]:
        return _AXIS
    lowered = any(run.level < 0 for run in spelled)
    return _MIDDLE_WITH_SUBSCRIPT if lowered else _MIDDLE


def _with_fractions(row: Row, label: Label, em: float, ink: str) -> str:
    """Set a row with fractions piece by piece, each at its reckoned place."""
    share = {Anchor.LEFT: 0.0, Anchor.CENTRE: 0.5, Anchor.RIGHT: 1.0}[label.anchor]
    x, bar = label.at.x - share * row_width(row) * em, label.at.y
    pieces = []
    for glyph in row:
        width = glyph_width(glyph) * em
        if isinstance(glyph, Over):
            middle = x + width / 2
            for part, rise in ((glyph.numerator, _NUMERATOR), (glyph.denominator, _DENOMINATOR)):
                at = Point(middle, bar + rise * em)
                pieces.append(_text(runs(part), at, Anchor.CENTRE, em, ink))
            line = _path([Point(x + 0.06 * em, bar), Point(x + width - 0.06 * em, bar)])
            pieces.append(f'<path d="{line}" stroke="{ink}" stroke-width="{_number(0.04 * em)}"/>')
        else:
            at = Point(x, bar - _AXIS * em)
            pieces.append(_text(runs((glyph,)), at, Anchor.LEFT, em, ink))
        x += width
    return f"<g>{''.join(pieces)}</g>"


def _text(spelled: Runs, at: Point, anchor: Anchor, em: float, ink: str) -> str:
    spans = []
    level = 0
    for run in spelled:
        spans.append(_span(run, level, em))
        level = run.level
    return (
        f'<text x="{_number(at.x)}" y="{_number(-at.y)}" font-size="{_number(em)}" '
        f'text-anchor="{_ANCHOR[anchor]}" fill="{ink}">{"".join(spans)}</text>'
    )


def _span(run: Run, level: int, em: float) -> str:
    """Return a run that follows one of some level; the line is found again after a script."""
    attributes = []
    if run.level != level:
        attributes.append(f'dy="{_number((_drop(run.level) - _drop(level)) * em)}"')
    size = (_SMALLER if run.level else 1.0) * (_THIN if run.face is Face.THIN else 1.0)
    if size != 1.0:
        attributes.append(f'font-size="{_number(size * em)}"')
    match run.face:
        case Face.ITALIC:
            attributes.append('font-style="italic"')
        case Face.SCRIPT:
            attributes.append(f'font-family="{_SCRIPT_FONTS}"')
        case Face.UPRIGHT | Face.THIN:
            pass
    if not attributes:
        return escape(run.text)
    return f"<tspan {' '.join(attributes)}>{escape(run.text)}</tspan>"


def _drop(level: int) -> float:
    return _LOWER if level < 0 else -_HIGHER if level > 0 else 0.0
