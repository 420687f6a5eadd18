"""A drawing as a TikZ picture. Plain TikZ with symbols of our own; no layout is done here.

Lengths are in millimetres and sizes of type in points, so the picture looks the same in every
document. Nothing is set for the rest of the document.
"""

from __future__ import annotations

from math import cos, radians, sin

from derive.drawing.model import (
    Anchor,
    Area,
    Box,
    CurrentArrow,
    Dot,
    Drawing,
    Emphasis,
    Frame,
    Label,
    Line,
    LoopArrow,
    Point,
    Symbol,
    SymbolShape,
    Wire,
)
from derive.drawing.reckoning import label_reach, label_row
from derive.typesetting.layout import Over
from derive.typesetting.style import Style
from derive.writers.outlines import (
    CELLS_DASH,
    COLOUR,
    DASH,
    FAINT_TYPE,
    FRAME_DASH,
    FRAME_WEIGHT,
    HATCH_WEIGHT,
    LINE_WEIGHT,
    LOOP_HEAD,
    LOOP_WEIGHT,
    WEIGHT,
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
    label_colour,
    minus_plates,
    minus_weight,
    plus_plates,
    signs,
    source_arrow,
    zigzag,
)
from derive.writers.tex_macros import colours
from derive.writers.tex_math import tex

_COLOURS = (*COLOUR.values(), FAINT_TYPE)
PREAMBLE = "\n".join(
    [
        r"\usepackage{tikz}",
        r"\usetikzlibrary{arrows.meta,babel}",
        *(line for line in colours("providecolor") if any(f"{{{c}}}" in line for c in _COLOURS)),
        "% Older TikZ does not know the key for the alternative text.",
        r"\pgfkeysifdefined{/tikz/alt/.@cmd}{}{\tikzset{alt/.code={}}}",
    ]
)
"""What a document needs before a picture."""


def setup(*, loading: bool) -> list[str]:
    """Return what pictures need: what only a preamble can load, or what a group can hold."""
    loads = (r"\usepackage", r"\usetikzlibrary")
    return [line for line in PREAMBLE.splitlines() if line.startswith(loads) is loading]


_ANCHOR = {Anchor.LEFT: "west", Anchor.CENTRE: "center", Anchor.RIGHT: "east"}


def write(drawing: Drawing, style: Style, short: str) -> str:
    """Return a complete ``tikzpicture`` with `short` as its alternative text."""
    options = f"x=1mm,y=1mm,line cap=round,line join=round,alt={{{_plain(short)}}}"
    lines = [
        rf"\begin{{tikzpicture}}[{options}]",
        rf"\useasboundingbox {_corners(drawing.box)};",
        *map(_area, drawing.areas),
        *map(_line, drawing.lines),
        *map(_wire, drawing.wires),
        *map(_symbol, drawing.symbols),
        *map(_frame, drawing.frames),
        *map(_dot, drawing.dots),
        *map(_arrow, drawing.arrows),
    ]
    if drawing.loop_arrow is not None:
        lines.append(_loop_arrow(drawing.loop_arrow))
    lines += [_label(label, style) for label in drawing.labels]
    return "\n".join([*lines, r"\end{tikzpicture}"])


def _number(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text


def _at(point: Point) -> str:
    return f"({_number(point.x)},{_number(point.y)})"


def _corners(box: Box) -> str:
    return f"{_at(Point(box.left, box.bottom))} rectangle {_at(Point(box.right, box.top))}"


def _pen(emphasis: Emphasis) -> str:
    return f"{COLOUR[emphasis]},line width={_number(WEIGHT[emphasis])}pt"


def _path(points: list[Point]) -> str:
    return "--".join(map(_at, points))


def _area(area: Area) -> str:
    ink = COLOUR[Emphasis.NORMAL]
    thin, thinner = _number(LINE_WEIGHT[Emphasis.NORMAL]), _number(HATCH_WEIGHT)
    outline = rf"\draw[{ink},line width={thin}pt] {_corners(area.box)};"
    strokes = " ".join(map(_path, hatching(area)))
    if not strokes:
        return outline
    return rf"\draw[{ink},line width={thinner}pt,line cap=butt] {strokes};" + f"\n{outline}"


def _line(line: Line) -> str:
    pen = f"{COLOUR[line.emphasis]},line width={_number(LINE_WEIGHT[line.emphasis])}pt"
    if line.dashed:
        pen += f",{_dash(FRAME_DASH)}"
    return rf"\draw[{pen}] {_path(list(line.points))};"


def _wire(wire: Wire) -> str:
    pen = _pen(wire.emphasis)
    if wire.emphasis in DASH:
        pen += f",{_dash(DASH[wire.emphasis])}"
    return rf"\draw[{pen}] {_path(list(wire.points))};"


def _symbol(symbol: Symbol) -> str:
    match symbol.shape:
        case SymbolShape.RESISTOR_BOX:
            return rf"\draw[{_pen(symbol.emphasis)}] {_box(symbol)};"
        case SymbolShape.RESISTOR_ZIGZAG:
            return rf"\draw[{_pen(symbol.emphasis)}] {_path(zigzag(symbol))};"
        case SymbolShape.LAMP:
            return _lamp(symbol)
        case SymbolShape.CELL | SymbolShape.CELLS:
            return _cell(symbol)
        case SymbolShape.CURRENT_SOURCE:
            return _arrow_in(symbol, _ring(symbol.centre, symbol.length / 2))
        case SymbolShape.DEPENDENT_EMF:
            strokes = " ".join(map(_path, signs(symbol)))
            return rf"\draw[{_pen(symbol.emphasis)}] {_diamond(symbol)} {strokes};"
        case SymbolShape.DEPENDENT_CURRENT:
            return _arrow_in(symbol, _diamond(symbol))
        case SymbolShape.AMMETER | SymbolShape.VOLTMETER:
            return rf"\draw[{_pen(symbol.emphasis)}] {_ring(symbol.centre, symbol.length / 2)};"
        case SymbolShape.OPEN_SWITCH | SymbolShape.CLOSED_SWITCH:
            rims = " ".join(_ring(at, contact_radius(symbol)) for at in contacts(symbol))
            return rf"\draw[{_pen(symbol.emphasis)}] {rims} {_path(blade(symbol))};"
        case SymbolShape.CAPACITOR:
            plates = " ".join(map(_path, capacitor_plates(symbol)))
            return rf"\draw[{_pen(symbol.emphasis)}] {plates};"


def _box(symbol: Symbol) -> str:
    return _path(box(symbol)) + "--cycle" if symbol.direction.aslant else _corners(symbol.box)


def _lamp(symbol: Symbol) -> str:
    strokes = " ".join(map(_path, cross(symbol)))
    circle = _ring(symbol.centre, symbol.length / 2)
    return rf"\draw[{_pen(symbol.emphasis)}] {circle} {strokes};"


def _ring(centre: Point, radius: float) -> str:
    return f"{_at(centre)} circle[radius={_number(radius)}]"


def _diamond(symbol: Symbol) -> str:
    return _path(diamond(symbol)) + "--cycle"


def _arrow_in(symbol: Symbol, outline: str) -> str:
    """Return a current source: its arrow in a circle or a diamond."""
    shaft, head = source_arrow(symbol)
    return (
        rf"\draw[{_pen(symbol.emphasis)}] {outline} {_path(shaft)};" + "\n"
        rf"\fill[{COLOUR[symbol.emphasis]}] {_path(head)}--cycle;"
    )


def _cell(symbol: Symbol) -> str:
    thick = f"{COLOUR[symbol.emphasis]},line width={_number(minus_weight(symbol.emphasis))}pt"
    pen = _pen(symbol.emphasis)
    lines = [
        rf"\draw[{pen}] {' '.join(map(_path, plus_plates(symbol)))};",
        rf"\draw[{thick},line cap=butt] {' '.join(map(_path, minus_plates(symbol)))};",
    ]
    if dashes := between_cells(symbol):
        lines.append(rf"\draw[{pen},{_dash(CELLS_DASH)}] {_path(dashes)};")
    return "\n".join(lines)


def _dash(lengths: tuple[float, float]) -> str:
    on, off = map(_number, lengths)
    return f"line cap=butt,dash pattern=on {on}pt off {off}pt"


def _frame(frame: Frame) -> str:
    pen = f"{COLOUR[frame.emphasis]},line width={_number(FRAME_WEIGHT)}pt"
    return rf"\draw[{pen},{_dash(FRAME_DASH)}] {_corners(frame.box)};"


def _dot(dot: Dot) -> str:
    ink = COLOUR[dot.emphasis]
    circle = _ring(dot.centre, dot.radius)
    if dot.is_open:
        return rf"\draw[{_pen(dot.emphasis)}] {circle};"
    filled = rf"\fill[{ink}] {circle};"
    if dot.ring is None:
        return filled
    pen = f"{ink},line width={_number(LOOP_WEIGHT)}pt"
    return filled + "\n" + rf"\draw[{pen}] {_ring(dot.centre, dot.ring)};"


def _arrow(arrow: CurrentArrow) -> str:
    return rf"\fill[{COLOUR[arrow.emphasis]}] {_path(arrowhead(arrow))}--cycle;"


def _loop_arrow(arrow: LoopArrow) -> str:
    angle = radians(arrow.start)
    start = Point(
        arrow.centre.x + arrow.radius * cos(angle), arrow.centre.y + arrow.radius * sin(angle)
    )
    end = _number(arrow.start + arrow.sweep)
    length, width = map(_number, LOOP_HEAD)
    return (
        rf"\draw[loopwalktint,line width={_number(LOOP_WEIGHT)}pt,"
        rf"-{{Stealth[length={length}pt,width={width}pt]}}] "
        f"{_at(start)} arc[start angle={_number(arrow.start)},end angle={end},"
        f"radius={_number(arrow.radius)}];"
    )


def _label(label: Label, style: Style) -> str:
    ink = label_colour(label)
    size = label.size.value
    font = rf"\fontsize{{{_number(size)}}}{{{_number(size * 1.2)}}}\selectfont"
    # The line stands where the box was reckoned to have it, whichever letters are on it.
    above, below = (_number(reach * size) for reach in label_reach(label.content, style))
    options = (
        f"anchor={_ANCHOR[label.anchor]},inner sep=0pt,text={ink},font={font},"
        f"text height={above}pt,text depth={below}pt"
    )
    row = label_row(label.content, style)
    # The fractions of a figure are as large as those of SVG.
    display = r"\displaystyle " if any(isinstance(glyph, Over) for glyph in row) else ""
    return rf"\node[{options}] at {_at(label.at)} {{${display}{tex(row)}$}};"


_UNSAFE = {
    "\\": "/", "{": "(", "}": ")", "[": "(", "]": ")", "%": " percent", "#": "", "$": "",
    "&": "and", "^": "", "_": " ", "~": " ", "\n": " ",
}  # fmt: skip


def _plain(text: str) -> str:
    """Return text that TeX takes as it stands; the alternative text allows no commands."""
    return "".join(_UNSAFE.get(character, character) for character in text)
