"""A drawing as a TikZ picture. Plain TikZ with symbols of our own; no layout is done here.

Lengths are in millimetres and sizes of type in points, so the picture looks the same in every
document. Nothing is set for the rest of the document.
"""

from __future__ import annotations

from math import cos, radians, sin

from derive.document.model import PointName, Style
from derive.drawing.model import (
    Anchor,
    Box,
    CurrentArrow,
    Dot,
    Drawing,
    Emphasis,
    Frame,
    Label,
    LabelContent,
    LoopArrow,
    LoopName,
    PlusSign,
    Point,
    PointNames,
    Symbol,
    SymbolShape,
    Wire,
)
from derive.writers.outlines import (
    COLOUR,
    FRAME_DASH,
    FRAME_WEIGHT,
    LOOP_HEAD,
    LOOP_WEIGHT,
    WEIGHT,
    arrowhead,
    cross,
    minus_plate,
    minus_weight,
    plus_plate,
    zigzag,
)
from derive.writers.tex_math import inline

PREAMBLE = r"""\usepackage{tikz}
\usetikzlibrary{arrows.meta,babel}
\providecolor{loopwalkink}{HTML}{1B2733}
\providecolor{loopwalktint}{HTML}{0B5E8A}
\providecolor{loopwalkfaint}{HTML}{AEB7BF}
% Older TikZ does not know the key for the alternative text.
\pgfkeysifdefined{/tikz/alt/.@cmd}{}{\tikzset{alt/.code={}}}"""
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


def _wire(wire: Wire) -> str:
    return rf"\draw[{_pen(wire.emphasis)}] {_path(list(wire.points))};"


def _symbol(symbol: Symbol) -> str:
    match symbol.shape:
        case SymbolShape.RESISTOR_BOX:
            return rf"\draw[{_pen(symbol.emphasis)}] {_corners(symbol.box)};"
        case SymbolShape.RESISTOR_ZIGZAG:
            return rf"\draw[{_pen(symbol.emphasis)}] {_path(zigzag(symbol))};"
        case SymbolShape.LAMP:
            return _lamp(symbol)
        case SymbolShape.CELL:
            return _cell(symbol)


def _lamp(symbol: Symbol) -> str:
    strokes = " ".join(map(_path, cross(symbol)))
    radius = _number(symbol.length / 2)
    circle = f"{_at(symbol.centre)} circle[radius={radius}]"
    return rf"\draw[{_pen(symbol.emphasis)}] {circle} {strokes};"


def _cell(symbol: Symbol) -> str:
    thick = f"{COLOUR[symbol.emphasis]},line width={_number(minus_weight(symbol.emphasis))}pt"
    return (
        rf"\draw[{_pen(symbol.emphasis)}] {_path(plus_plate(symbol))};"
        "\n"
        rf"\draw[{thick},line cap=butt] {_path(minus_plate(symbol))};"
    )


def _frame(frame: Frame) -> str:
    on, off = map(_number, FRAME_DASH)
    pen = (
        f"{COLOUR[frame.emphasis]},line width={_number(FRAME_WEIGHT)}pt,"
        f"dash pattern=on {on}pt off {off}pt"
    )
    return rf"\draw[{pen}] {_corners(frame.box)};"


def _dot(dot: Dot) -> str:
    ink = COLOUR[dot.emphasis]
    circle = f"{_at(dot.centre)} circle[radius={_number(dot.radius)}]"
    if dot.is_open:
        return rf"\draw[{_pen(dot.emphasis)}] {circle};"
    return rf"\fill[{ink}] {circle};"


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
    ink = "loopwalktint" if isinstance(label.content, LoopName) else _label_ink(label.emphasis)
    size = label.size.value
    font = rf"\fontsize{{{_number(size)}}}{{{_number(size * 1.2)}}}\selectfont"
    options = f"anchor={_ANCHOR[label.anchor]},inner sep=0pt,text={ink},font={font}"
    return rf"\node[{options}] at {_at(label.at)} {{${_content(label.content, style)}$}};"


def _label_ink(emphasis: Emphasis) -> str:
    return "loopwalkfaint" if emphasis is Emphasis.FAINT else "loopwalkink"


def _content(content: LabelContent, style: Style) -> str:
    match content:
        case PlusSign():
            return "+"
        case PointNames(names):
            return ",\\,".join(inline(PointName(name), style) for name in names)
        case LoopName(name):
            return rf"\mathrm{{{_plain(name)}}}"
        case _:
            return inline(content, style)


_UNSAFE = {
    "\\": "/", "{": "(", "}": ")", "[": "(", "]": ")", "%": " percent", "#": "", "$": "",
    "&": "and", "^": "", "_": " ", "~": " ", "\n": " ",
}  # fmt: skip


def _plain(text: str) -> str:
    """Return text that TeX takes as it stands; the alternative text allows no commands."""
    return "".join(_UNSAFE.get(character, character) for character in text)
