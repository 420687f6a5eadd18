"""The TikZ and the SVG of a figure, read back from their strokes and type, are the circuit.

`tests/bench/figures.py` does the same for 2 000 circuits. The second half shows that the reader is
no yes-man: a figure with one thing changed is refused.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import pytest

from derive.analysis.loops import DependentLoops, choose_loops
from derive.circuit.appearance import BatterySymbol, BridgeShape, ResistorSymbol
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit, Loop
from derive.drawing.model import Drawing
from derive.drawing.reckoning import style_of
from derive.drawing.schematic import View, schematic
from derive.source import Source
from derive.writers import svg, tikz
from tests.bench.figures import published
from tests.drawing.circuits import NOT_PLANAR, PLANAR
from tests.drawing.matching import check_figure, read_figure
from tests.drawing.random_planar import FAMILIES, random_planar
from tests.drawing.reading_svg import read_svg
from tests.drawing.reading_tikz import read_tikz
from tests.drawing.seeing import see
from tests.drawing.strokes import Misdrawn
from tests.drawing.test_shapes import bridges
from tests.drawing.whole_check import examine

EXAMPLES = sorted((Path(__file__).resolve().parents[2] / "examples").glob("*.circuit"))
PUBLISHED = dict(published())


def loops_of(circuit: Circuit) -> tuple[Loop, ...]:
    try:
        return choose_loops(circuit).loops
    except DependentLoops:
        return ()


def check(circuit: Circuit, *, planar: bool = True) -> None:
    for values in (False, True):
        drawing = schematic(circuit, View(values=values, loops=loops_of(circuit)))
        assert examine(circuit, drawing, values=values, planar=planar).faults == ()


@pytest.mark.parametrize("name", PLANAR)
def test_planar(name: str) -> None:
    check(PLANAR[name])


@pytest.mark.parametrize("name", ["frames", "three", "bridge", "internal", "wired", "lonely"])
@pytest.mark.parametrize("battery", BatterySymbol)
def test_other_symbols(name: str, battery: BatterySymbol) -> None:
    circuit = PLANAR[name]
    looks = replace(circuit.looks, resistor=ResistorSymbol.ZIGZAG, battery=battery)
    check(replace(circuit, looks=looks))


@pytest.mark.parametrize("width", [90.0, 150.0])
@pytest.mark.parametrize("name", ["two", "three", "bridge", "four", "hinged"])
def test_stretched(name: str, width: float) -> None:
    circuit = PLANAR[name]
    drawing = schematic(circuit, View(values=True, loops=loops_of(circuit), width=width))
    assert examine(circuit, drawing, values=True).faults == ()


@pytest.mark.parametrize("bridge", bridges())
def test_diamond(bridge: Circuit) -> None:
    turned = replace(bridge, looks=replace(bridge.looks, bridge=BridgeShape.DIAMOND))
    drawing = schematic(turned, View(values=True, loops=loops_of(turned)))
    style = style_of(turned)
    for page in (
        read_tikz(tikz.write(drawing, style, "a bridge")),
        read_svg(svg.write(drawing, style, "a bridge")),
    ):
        check_figure(turned, read_figure(turned, see(page)), values=True)


@pytest.mark.parametrize("name", NOT_PLANAR)
def test_not_planar(name: str) -> None:
    check(NOT_PLANAR[name], planar=False)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_example(path: Path) -> None:
    # A cube with a battery between opposite corners cannot be drawn without crossings.
    planar = path.stem != "lantern_frame"
    check(load(Source(path.name, path.read_text("utf-8"))).circuit, planar=planar)


@pytest.mark.parametrize("name", PUBLISHED)
def test_published(name: str) -> None:
    check(PUBLISHED[name])


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("family", FAMILIES)
def test_random(family: str, seed: int) -> None:
    circuit = random_planar(family, seed)
    drawing = schematic(circuit, View(values=True, loops=loops_of(circuit)))
    assert examine(circuit, drawing, values=True).faults == ()


def test_families_have_what_they_promise() -> None:
    circuits = [random_planar(family, seed) for family in FAMILIES for seed in range(60)]
    assert max(len(c.branches) for c in circuits) == 15
    assert max(node.degree for c in circuits for node in c.nodes) == 6
    assert any(b.head == b.tail for c in circuits for b in c.branches if len(c.branches) > 1)
    assert any(not b.passages for c in circuits for b in c.branches)
    assert any(c.ground for c in circuits)
    assert random_planar("random", 3) == random_planar("random", 3)


Change = Callable[[str], str]


def tikz_lines(text: str, pattern: str) -> list[str]:
    return [line for line in text.splitlines() if re.search(pattern, line)]


def swapped(text: str, one: str, other: str) -> str:
    assert one in text
    assert other in text
    return text.replace(one, "\0").replace(other, one).replace("\0", other)


def plates_tikz(text: str) -> str:
    """Set the long plate of the first cell where the short one was, and the other way round."""
    short = next(line for line in text.splitlines() if "line cap=butt" in line)
    long = text.splitlines()[text.splitlines().index(short) - 1]
    (pen, path), (thick, path2) = (line.split("] ") for line in (long, short))
    (x, y), (u, v) = re.findall(r"\((\S+?),(\S+?)\)", path)
    (x2, y2), (u2, v2) = re.findall(r"\((\S+?),(\S+?)\)", path2)
    if y == v:  # the plates are level: they change heights
        new = f"{pen}] ({x},{y2})--({u},{y2});", f"{thick}] ({x2},{y})--({u2},{y});"
    else:
        new = f"{pen}] ({x2},{y})--({x2},{v});", f"{thick}] ({x},{y2})--({x},{v2});"
    return text.replace(long, new[0]).replace(short, new[1])


def plates_svg(text: str) -> str:
    found = re.search(r'<path d="M(\S+) (\S+) L(\S+) (\S+)" [^>]*/><path d="M(\S+) (\S+) L(\S+) (\S+)" [^>]*butt"/>', text)  # fmt: skip
    assert found
    x, y, u, v, x2, y2, u2, v2 = found.groups()
    new = found[0]
    if y == v:
        new = new.replace(f"M{x} {y} L{u} {v}", f"M{x} {y2} L{u} {y2}")
        new = new.replace(f"M{x2} {y2} L{u2} {v2}", f"M{x2} {y} L{u2} {y}")
    else:
        new = new.replace(f"M{x} {y} L{u} {v}", f"M{x2} {y} L{x2} {v}")
        new = new.replace(f"M{x2} {y2} L{u2} {v2}", f"M{x} {y2} L{x} {v2}")
    return text.replace(found[0], new)


def first_number(text: str, pattern: str, by: float) -> str:
    """Add to the number that a pattern's only group finds first."""
    found = re.search(pattern, text)
    assert found
    moved = f"{float(found[1]) + by:.3f}"
    return text[: found.start(1)] + moved + text[found.end(1) :]


def flipped_tikz(text: str) -> str:
    (line, *_) = tikz_lines(text, "cycle")
    return text.replace(line, _turned(line, r"\((\S+?),(\S+?)\)", "({:.2f},{:.2f})"))


def flipped_svg(text: str) -> str:
    found = re.search(r'd="(M[^"]+ Z)"', text)
    assert found
    turned = _turned(found[1], r"(-?[\d.]+) (-?[\d.]+)", "{:.3f} {:.3f}")
    return text.replace(found[1], turned)


def _turned(path: str, pattern: str, form: str) -> str:
    """Turn an arrowhead round about the middle between its tip and its wings."""
    points = [(float(x), float(y)) for x, y in re.findall(pattern, path)]
    x = (points[0][0] + (points[1][0] + points[3][0]) / 2) / 2
    y = (points[0][1] + (points[1][1] + points[3][1]) / 2) / 2
    new = iter([form.format(2 * x - a, 2 * y - b) for a, b in points])
    return re.sub(pattern, lambda _: next(new), path)


def without_line(pattern: str) -> Change:
    """Leave out the first line that a pattern finds."""

    def change(text: str) -> str:
        line = next(line for line in text.splitlines() if re.search(pattern, line))
        return text.replace(line + "\n", "", 1)

    return change


WIRE = r"^(\\draw\[loopwalkink,line width=0.7pt\] \(\S+\)--|<path d=)"
TIKZ: dict[str, Change] = {
    "plates": plates_tikz,
    "arrow flipped": flipped_tikz,
    "dot moved": lambda t: first_number(t, r"\\fill\[\w+\] \((-?[\d.]+),\S+ circle", 4),
    "dot left out": without_line(r"^\\fill.*circle"),
    "wire cut short": lambda t: first_number(t, r"\\draw\[loopwalkink,line width=0.7pt\] \((-?[\d.]+),", 0.4),
    "wire left out": without_line(WIRE),
    "two names swapped": lambda t: swapped(t, "{$R_{1}$}", "{$R_{2}$}"),
    "currents swapped": lambda t: swapped(t, "{$I_{1}$}", "{$I_{2}$}"),
    "points swapped": lambda t: swapped(t, "{$A$}", "{$C$}"),
    "value changed": lambda t: t.replace(r"{$4.5\,", r"{$5.5\,"),
    "plus sign gone": without_line(r"\{\$\+\$\};"),
}  # fmt: skip
SVG: dict[str, Change] = {
    "plates": plates_svg,
    "arrow flipped": flipped_svg,
    "dot moved": lambda t: first_number(t, r'<circle cx="(-?[\d.]+)"[^>]*fill', 4),
    "dot left out": without_line(r"^<circle.*fill"),
    "wire cut short": lambda t: first_number(t, r'<path d="M(-?[\d.]+) ', 0.4),
    "wire left out": without_line(WIRE),
    "two names swapped": lambda t: _exchange(t, "R1", "R2"),
    "currents swapped": lambda t: _exchange(t, "I1", "I2"),
    "points swapped": lambda t: _exchange(t, "A", "C"),
    "plus sign gone": without_line(r"^<text.*\+</"),
}


def _exchange(text: str, one: str, other: str) -> str:
    """Exchange two labels by moving each to the other's place."""
    lines = [line for line in text.splitlines() if line.startswith("<text")]
    by_name = {re.sub(r"<[^>]*>", "", line): line for line in lines}
    a, b = by_name[one], by_name[other]
    inner = [re.sub(r"<(/?)text[^>]*>", "", line) for line in (a, b)]
    return text.replace(a, a.replace(inner[0], inner[1])).replace(b, b.replace(inner[1], inner[0]))


@lru_cache(maxsize=1)
def sample() -> tuple[Circuit, Drawing]:
    circuit = PLANAR["two"]
    return circuit, schematic(circuit, View(values=True, loops=loops_of(circuit)))


def _tikz(drawing: Drawing, circuit: Circuit) -> str:
    return tikz.write(drawing, style_of(circuit), "a circuit")


def _svg(drawing: Drawing, circuit: Circuit) -> str:
    return svg.write(drawing, style_of(circuit), "a circuit")


@pytest.mark.parametrize(
    ("form", "name"), [*(("tikz", name) for name in TIKZ), *(("svg", name) for name in SVG)]
)
def test_changed_figure_is_refused(form: str, name: str) -> None:
    circuit, drawing = sample()
    if form == "tikz":
        text = _tikz(drawing, circuit)
        changed, read = TIKZ[name](text), read_tikz
    else:
        text = _svg(drawing, circuit)
        changed, read = SVG[name](text), read_svg
    assert changed != text
    check_figure(circuit, read_figure(circuit, see(read(text))), values=True)
    with pytest.raises(Misdrawn):
        check_figure(circuit, read_figure(circuit, see(read(changed))), values=True)
