"""Every colour of a figure stands out from white as far as WCAG 2.1 asks.

The formulas for relative luminance and contrast ratio are those of WCAG 2.1, section 5 (from memory).
"""

import re
from pathlib import Path

import pytest

from derive.analysis.loops import choose_loops
from derive.circuit.elaborate import load
from derive.drawing.reckoning import style_of
from derive.drawing.schematic import View, schematic
from derive.source import Source
from derive.writers import svg, tikz
from derive.writers.outlines import COLOUR, FAINT_TYPE
from derive.writers.tex_macros import COLOURS

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "charging.circuit"
TYPE, GRAPHICS = 4.5, 3.0
"""Success criteria 1.4.3 and 1.4.11."""


def luminance(colour: str) -> float:
    shares = [int(colour[k : k + 2], 16) / 255 for k in (0, 2, 4)]
    linear = [s / 12.92 if s <= 0.03928 else ((s + 0.055) / 1.055) ** 2.4 for s in shares]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    low, high = sorted((luminance(one), luminance(other)))
    return (high + 0.05) / (low + 0.05)


def test_formula_on_known_pairs() -> None:
    # Black on white is 21, and 767676 is the lightest grey with 4.5 to 1 (well known).
    assert contrast("000000", "FFFFFF") == pytest.approx(21)
    assert contrast("767676", "FFFFFF") >= TYPE > contrast("777777", "FFFFFF")


def figures() -> list[tuple[str, str]]:
    """Return TikZ and SVG of the main figure and of that of a walk, in which all colours occur."""
    circuit = load(Source("x", EXAMPLE.read_text("utf-8"))).circuit
    loops = choose_loops(circuit).loops
    views = View(values=True), View(loop=loops[0], loop_name="1", loops=loops)
    drawn = [(schematic(circuit, view), style_of(circuit)) for view in views]
    return [(tikz.write(d, s, "x"), svg.write(d, s, "x")) for d, s in drawn]


def test_colours_of_figures() -> None:
    lines, words = set(), set()
    for tex, xml in figures():
        for name in re.findall(r"\\(?:draw|fill)\[(\w+)", tex):
            lines.add(COLOURS[name])
        for name in re.findall(r"text=(\w+)", tex):
            words.add(COLOURS[name])
        texts = re.findall(r"<text[^>]*>", xml)
        words |= {c for text in texts for c in re.findall(r'fill="#(\w+)"', text)}
        rest = re.sub(r"<text[^>]*>", "", xml)
        lines |= set(re.findall(r'(?:fill|stroke)="#(\w+)"', rest))
    assert lines == {COLOURS[name] for name in COLOUR.values()}
    # A figure of a walk has no type that steps back just now; where there is, it has this colour.
    words.add(COLOURS[FAINT_TYPE])
    assert len(words) == 3
    assert all(contrast(colour, "FFFFFF") >= GRAPHICS for colour in lines)
    assert all(contrast(colour, "FFFFFF") >= TYPE for colour in words)


def test_type_in_the_frame_of_a_formula() -> None:
    assert contrast(COLOURS["loopwalktint"], COLOURS["loopwalkwash"]) >= TYPE
    assert contrast(COLOURS["loopwalkink"], COLOURS["loopwalkwash"]) >= TYPE


def test_a_picture_and_a_page_have_the_same_colours() -> None:
    defined = dict(re.findall(r"\\providecolor\{(\w+)\}\{HTML\}\{(\w+)\}", tikz.PREAMBLE))
    assert defined == {name: COLOURS[name] for name in defined}
    for tex, _ in figures():
        assert set(re.findall(r"loopwalk\w+", tex)) <= set(defined)
