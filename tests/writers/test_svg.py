"""SVG is read back as XML and compared with the drawing it was made of."""

import math
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import pytest

from derive.algebra.dimension import VOLT
from derive.algebra.term import constant
from derive.analysis.loops import choose_loops
from derive.circuit.elaborate import load
from derive.drawing import description
from derive.drawing.model import (
    Anchor,
    Box,
    Direction,
    Drawing,
    Label,
    LabelContent,
    LoopArrow,
    LoopName,
    Point,
    PointNames,
    SymbolShape,
    TextSize,
)
from derive.drawing.reckoning import label_row
from derive.drawing.schematic import schematic
from derive.drawing.view import View
from derive.pictures import draw
from derive.source import Source
from derive.typesetting.extent import row_width
from derive.typesetting.style import Style
from derive.writers import svg

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.circuit"))
NAMESPACE = "{http://www.w3.org/2000/svg}"
EM = 10 * 25.4 / 72.27
"""Ten points of TeX in millimetres."""


def source(path: Path) -> Source:
    return Source(path.name, path.read_text("utf-8"))


def drawings() -> Iterator[tuple[str, Drawing, Style]]:
    for path in EXAMPLES:
        for view in (View(), View(values=True), View(currents=False, points=False)):
            picture = draw(source(path), view)
            yield path.stem, picture.drawing, picture.style


def set_alone(content: LabelContent) -> Element:
    """Return the SVG of a label by itself."""
    box = Box(0, 0, 20, 4)
    label = Label(content, Point(0, 2), Anchor.LEFT, TextSize.NORMAL, box)
    return read(svg.write(Drawing((), (), (), (), (), None, (label,), box), Style(), "a label"))


def read(text: str) -> Element:
    return ElementTree.fromstring(text)


def found(root: Element, tag: str, kind: str = "") -> list[Element]:
    return [e for e in root.iter(NAMESPACE + tag) if not kind or e.get("class") == kind]


def corners(path: Element) -> list[tuple[float, float]]:
    return [
        (float(x), float(y)) for x, y in re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
    ]


def flipped(*points: Point) -> list[tuple[float, float]]:
    return [(pytest.approx(p.x, abs=6e-4), pytest.approx(-p.y, abs=6e-4)) for p in points]


def heights(text: Element) -> list[tuple[str, float]]:
    """Return the runs of a text, each with how far it is below the line."""
    line = float(text[0].get("y", ""))
    assert all(not span.tail for span in text)
    return [(span.text or "", float(span.get("y", "")) - line) for span in text]


def starts(text: Element) -> tuple[float, float]:
    """Return where a text begins: at its own place, or that of its first span."""
    first = text[0] if len(text) else text
    return float(first.get("x", "")), float(first.get("y", ""))


def test_there_are_examples() -> None:
    assert len(EXAMPLES) >= 8


def test_everything_drawn_is_there_at_its_place() -> None:
    for name, drawing, style in drawings():
        root = read(svg.write(drawing, style, "a circuit"))
        group = root.find(NAMESPACE + "g")
        assert group is not None
        wires = [e for e in group if e.tag == NAMESPACE + "path" and e.get("class") is None]
        assert [corners(e) for e in wires] == [flipped(*w.points) for w in drawing.wires], name
        for shape in SymbolShape:
            symbols = [s for s in drawing.symbols if s.shape is shape]
            groups = found(root, "g", shape.value.replace(" ", "-"))
            assert [g.get("data-part") for g in groups] == [s.part for s in symbols], name
        arrows = found(root, "path", "current")
        assert [e.get("data-current") for e in arrows] == [a.current for a in drawing.arrows]
        assert [corners(e)[0] for e in arrows] == flipped(*(a.tip for a in drawing.arrows))
        dots = [
            (float(e.get("cx", "")), float(e.get("cy", ""))) for e in found(root, "circle", "dot")
        ]
        assert dots == flipped(*(dot.centre for dot in drawing.dots))
        assert len(found(root, "rect", "frame")) == len(drawing.frames)
        assert len(found(root, "text")) == len(drawing.labels)


# Those aslant are paths; tests/drawing looks at them.
STRAIGHT = (Direction.RIGHT, Direction.UP, Direction.LEFT, Direction.DOWN)


def test_terminals_of_cells_and_boxes_of_resistors() -> None:
    seen = Counter[SymbolShape]()
    for _, drawing, style in drawings():
        root = read(svg.write(drawing, style, "a circuit"))
        groups = [g for g in found(root, "g") if g.get("data-part")]
        for symbol, group in zip(drawing.symbols, groups, strict=True):
            seen[symbol.shape] += 1
            if symbol.shape is SymbolShape.CELL:
                long, short = (corners(path) for path in group)
                lengths = [math.dist(*plate) for plate in (long, short)]
                assert lengths == pytest.approx([symbol.breadth, symbol.breadth / 2], abs=2e-3)
                # From the − plate to the + plate is the way the symbol points.
                way = [sum(p[k] for p in long) - sum(p[k] for p in short) for k in (0, 1)]
                assert way[0] * symbol.direction.dx - way[1] * symbol.direction.dy > 1
            elif symbol.shape is SymbolShape.RESISTOR_BOX and symbol.direction in STRAIGHT:
                x, y, width, height = (
                    float(group[0].get(key, "")) for key in ("x", "y", "width", "height")
                )
                box = symbol.box
                assert (x, y) == flipped(Point(box.left, box.top))[0]
                assert (width, height) == pytest.approx((box.width, box.height), abs=2e-3)
    assert seen[SymbolShape.CELL] > 10
    assert seen[SymbolShape.RESISTOR_BOX] > 10
    assert seen[SymbolShape.LAMP]


def test_a_zigzag_is_drawn_from_end_to_end() -> None:
    picture = draw(Source("x", "I1: A (-E1+) (R1) A\nresistors zigzag\n"), View())
    (symbol,) = (s for s in picture.drawing.symbols if s.shape is SymbolShape.RESISTOR_ZIGZAG)
    (group,) = found(read(svg.write(picture.drawing, picture.style, "s")), "g", "resistor-zigzag")
    line = corners(group[0])
    assert len(line) == 8
    assert math.dist(line[0], line[-1]) == pytest.approx(symbol.length, abs=2e-3)


def test_a_current_source_flows_from_minus_to_plus_of_the_battery_in_whose_place_it_is() -> None:
    circuit = load(Source("x", "I1: A (-E1+) (R1) B\nI2: B (-E2+) A\nI3: B (R2) A\n")).circuit
    plates = found(read(svg.write(schematic(circuit, View()), Style(), "s")), "g", "cell")
    view = View(current_sources=frozenset({"E1", "E2"}))
    sources = found(read(svg.write(schematic(circuit, view), Style(), "s")), "g", "current-source")
    assert len(plates) == len(sources) == 2
    ways = []
    for cell, source_drawn in zip(plates, sources, strict=True):
        assert cell.get("data-part") == source_drawn.get("data-part")
        long, short = (corners(path)[0][1] for path in cell)
        circle, shaft, head = source_drawn
        centre, radius = float(circle.get("cy", "")), float(circle.get("r", ""))
        tail, tip = corners(shaft)[0], corners(head)[0]
        assert abs(tip[1] - centre) < radius
        assert (tip[1] > tail[1]) is (long > short)
        ways.append(tip[1] > tail[1])
    assert ways == [False, True]  # up and down


def test_texts_stand_in_the_room_that_is_kept_for_them() -> None:
    for name, drawing, style in drawings():
        root = read(svg.write(drawing, style, "a circuit"))
        for label, text in zip(drawing.labels, found(root, "text"), strict=True):
            em = label.size.value * 25.4 / 72.27
            width = row_width(label_row(label.content, style)) * em
            share = {Anchor.LEFT: 0.0, Anchor.CENTRE: 0.5, Anchor.RIGHT: 1.0}[label.anchor]
            left, baseline = starts(text)
            assert left == pytest.approx(label.at.x - share * width, abs=6e-4)
            baseline = -baseline
            assert label.box.bottom < baseline < label.box.top, name
            # The widths of Latin Modern, which test_layout_width compares with TeX.
            assert width <= label.box.width + 0.35 * em
            assert float(text.get("font-size", "")) == pytest.approx(em, abs=6e-4)


def test_title_and_description() -> None:
    picture = draw(source(EXAMPLES[0]), View())
    root = read(svg.write(picture.drawing, picture.style, picture.short, picture.long))
    assert root.get("role") == "img"
    named = {e.get("id"): e for e in root.iter() if e.get("id")}
    title, desc = (named[key] for key in root.get("aria-labelledby", "").split())
    assert (title.tag, title.text) == (f"{NAMESPACE}title", picture.short)
    assert (desc.tag, desc.text) == (f"{NAMESPACE}desc", picture.long)
    # A reader of the screen takes the title that is the first child (SVG 1.1, section 5.4).
    assert root[0] is title


def test_two_figures_on_one_page_have_different_ids_and_one_figure_the_same_bytes() -> None:
    texts = []
    for path in EXAMPLES:
        first, second = (draw(source(path), View()) for _ in range(2))
        texts.append(svg.write(first.drawing, first.style, first.short, first.long))
        assert texts[-1] == svg.write(second.drawing, second.style, second.short, second.long)
    different = set(texts)  # two examples have one figure
    assert len(different) > 5
    ids = [name for text in different for name in re.findall(r' id="([^"]+)"', text)]
    assert len(ids) == len(set(ids)) == 2 * len(different)


def test_the_size_is_in_millimetres_and_a_width_scales_it() -> None:
    picture = draw(source(EXAMPLES[0]), View())
    natural = read(svg.write(picture.drawing, picture.style, "s"))
    wide = read(svg.write(picture.drawing, picture.style, "s", width_mm=120))
    left, top, width, height = map(float, natural.get("viewBox", "").split())
    box = picture.drawing.box
    assert left < box.left
    assert top < -box.top
    assert left + width > box.right
    assert top + height > -box.bottom
    assert natural.get("width") == f"{width:g}mm"
    assert natural.get("height") == f"{height:g}mm"
    assert wide.get("viewBox") == natural.get("viewBox")
    assert wide.get("width") == "120mm"
    assert float(wide.get("height", "")[:-2]) == pytest.approx(120 * height / width, abs=2e-3)


HOSTILE = "<script>alert('x')</script>&amp;\"]]>\x00\x1b\ud800\ufffe--><!--"


def test_names_are_text_and_nothing_else() -> None:
    picture = draw(source(EXAMPLES[0]), View())
    drawing = replace(
        picture.drawing,
        symbols=tuple(replace(s, part=HOSTILE) for s in picture.drawing.symbols),
        arrows=tuple(replace(a, current=HOSTILE) for a in picture.drawing.arrows),
        labels=tuple(
            replace(label, content=content)
            for label in picture.drawing.labels
            for content in (LoopName(HOSTILE), PointNames((HOSTILE, "A")))
        ),
    )
    root = read(svg.write(drawing, picture.style, HOSTILE, HOSTILE))
    shown = HOSTILE.translate({ord(c): "\N{REPLACEMENT CHARACTER}" for c in "\x00\x1b\ud800\ufffe"})
    assert root[0].text == root[1].text == shown
    assert {g.get("data-part") for g in found(root, "g") if g.get("class")} == {shown}
    tags = {e.tag.removeprefix(NAMESPACE) for e in root.iter()}
    assert tags <= {"svg", "title", "desc", "g", "path", "rect", "circle", "text", "tspan"}
    plain = svg.write(picture.drawing, picture.style, "s")
    assert not re.search(r"href|url\(|<style|on\w+=", plain)
    assert re.findall(r"https?:\S+", plain) == ['http://www.w3.org/2000/svg"']


def test_a_subscript_is_lowered_and_the_line_found_again() -> None:
    root = set_alone(PointNames(("A_in", "B")))
    (text,) = found(root, "text")
    runs = heights(text)
    assert "".join(run for run, _ in runs) == "Ain,\N{NO-BREAK SPACE}B"
    assert [run for run, below in runs if below > 0.1 * EM] == ["in"]
    assert all(below == pytest.approx(0, abs=1e-3) for run, below in runs if run != "in")
    spans = {span.text: span for span in text}
    assert float(spans["in"].get("font-size", "")) == pytest.approx(0.7 * EM, abs=1e-3)
    # Quantities are italic, words in subscripts upright (ISO 80000-1, 7.1).
    assert spans["A"].get("font-style") == spans["B"].get("font-style") == "italic"
    assert spans["in"].get("font-style") is None


def test_a_value_is_upright_with_its_unit() -> None:
    (text,) = found(set_alone(constant(Fraction(9, 2), VOLT)), "text")
    assert "".join(text.itertext()) == "4.5\N{NO-BREAK SPACE}V"
    assert all(span.get("font-style") is None for span in text)


def test_a_fraction_stands_on_its_bar() -> None:
    root = set_alone(constant(Fraction(7, 3), VOLT))
    texts = found(root, "text")
    assert ["".join(text.itertext()) for text in texts] == ["7", "3", "\N{NO-BREAK SPACE}V"]
    above, below, unit = texts
    ((start, bar), (end, level)) = next(corners(path) for path in found(root, "path"))
    assert bar == level == -2.0
    assert start < float(above.get("x", "")) < end < starts(unit)[0]
    assert above.get("x") == below.get("x")
    # The digits of Times are 0.68 em high (from memory).
    assert float(above.get("y", "")) < bar < float(below.get("y", "")) - 0.68 * EM


def test_a_script_letter_is_the_one_of_unicode() -> None:
    picture = draw(Source("x", "I1: A (-E1+) (R1) A\n"), View())
    texts = found(read(svg.write(picture.drawing, picture.style, "s")), "text")
    assert "ℰ1" in ["".join(text.itertext()) for text in texts]


def centre(path: Element) -> tuple[float, float, float]:
    """Return centre and radius of a circular arc by its end points and flags."""
    d = re.fullmatch(r"M(\S+) (\S+) A(\S+) \S+ 0 ([01]) ([01]) (\S+) (\S+)", path.get("d", ""))
    assert d
    x1, y1, r, large, sweep, x2, y2 = map(float, d.groups())
    # SVG 1.1, appendix F.6.5, for a circle: with equal flags the centre is on the other side.
    half = math.dist((x1, y1), (x2, y2)) / 2
    away = math.sqrt(max(r * r - half * half, 0.0)) / (2 * half)
    sign = -1 if large == sweep else 1
    return (
        (x1 + x2) / 2 + sign * away * (y1 - y2),
        (y1 + y2) / 2 + sign * away * (x2 - x1),
        r,
    )


@pytest.mark.parametrize("start", [0.0, 130.0])
@pytest.mark.parametrize("sweep", [-300.0, -150.0, 150.0, 300.0])
def test_a_loop_arrow_lies_on_its_circle_and_turns_the_right_way(
    start: float, sweep: float
) -> None:
    arrow = LoopArrow(Point(7, 3), 4.0, start, sweep)
    drawing = Drawing((), (), (), (), (), arrow, (), Box(0, -3, 14, 9))
    root = read(svg.write(drawing, Style(), "a loop"))
    (line,) = found(root, "path", "loop")
    x, y, r = centre(line)
    assert (x, y, r) == pytest.approx((7, -3, 4), abs=5e-3)
    head = corners(found(root, "path")[1])
    angle = math.radians(start + sweep)
    assert head[0] == pytest.approx((7 + 4 * math.cos(angle), -3 - 4 * math.sin(angle)), abs=2e-3)
    # From back to tip is the way of the arrow; anticlockwise as seen is clockwise with y down.
    back = head[2]
    turn = (back[0] - 7) * (head[0][1] + 3) - (back[1] + 3) * (head[0][0] - 7)
    assert turn * sweep < 0


def test_the_loop_of_a_walk_is_drawn() -> None:
    circuit = load(source(EXAMPLES[0])).circuit
    loops = choose_loops(circuit).loops
    view = View(loop=loops[0], loop_name="1", loops=loops)
    drawing = schematic(circuit, view)
    root = read(svg.write(drawing, Style(), description.short(circuit, view)))
    assert len(found(root, "path", "loop")) == 1
    widths = {path.get("stroke-width") for path in found(root, "path")}
    assert len(widths) > 3  # what is walked stands out by weight, not by colour alone
