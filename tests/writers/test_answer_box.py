"""The box of answers in print: its rows begin at one place and keep a distance."""

import re
from pathlib import Path

import pytest

from derive.algebra.term import Quotient, Sum, current, emf, resistance
from derive.document.model import (
    AnswerLine,
    Box,
    BoxKind,
    Chain,
    Document,
    Relation,
    Section,
    Text,
)
from derive.engines.embedded import compile_pdf
from derive.typesetting.style import Style
from derive.writers import latex, tex_blocks, typst
from derive.writers.answer_box import beside_title, holds_remark
from tests.writers.tex_runs import run
from tests.writers.typst_runs import said

_FRACTION = Quotient(emf("E1"), resistance("R1"))
_WIDE = Sum(tuple(Quotient(emf("E1"), resistance(f"R{k}")) for k in range(10, 50)))
_REMARK = (Text("every one of them just as drawn"),)


def _box(*sides: Quotient | Sum, remark: bool = False) -> Box:
    chains = tuple(
        Chain((current(f"I{k}"), side), (Relation.EQUAL,)) for k, side in enumerate(sides, 1)
    )
    lines = (AnswerLine(chains, _REMARK if remark else ()),)
    return Box(BoxKind.ANSWERS, (Text("Answers"),), lines)


def _printed(box: Box, folder: Path) -> list[list[tuple[str, float, float, float]]]:
    """Return the words in print of either engine: text, left edge, top, bottom."""
    document = Document("", "", (Section((), (box,)),), Style())
    run(latex.write(document), folder)
    pdfs = (folder / "host.pdf").read_bytes(), compile_pdf(typst.write(document))
    found = []
    for pdf in pdfs:
        told = said("pdftotext", pdf, folder, "-bbox")
        pattern = r'xMin="(\S+)" yMin="(\S+)" xMax="\S+" yMax="(\S+)">([^<]*)<'
        found.append(
            [
                (word, float(left), float(top), float(bottom))
                for left, top, bottom, word in re.findall(pattern, told)
            ]
        )
    return found


def _edges(words: list[tuple[str, float, float, float]]) -> list[float]:
    """Return where rows begin: the left edge of each current's letter."""
    return [left for word, left, _, _ in words if re.match("[I𝐼]", word)]


@pytest.mark.tex
def test_answers_of_several_rows_begin_at_one_place(tmp_path: Path) -> None:
    wide = Sum(tuple(resistance(f"R{k}") for k in range(1, 9)))
    for words in _printed(_box(wide, wide, wide), tmp_path):
        edges = _edges(words)
        assert len(edges) == 3
        assert max(edges) - min(edges) < 0.1
        (title,) = [left for word, left, _, _ in words if word == "Answers"]
        assert title < min(edges) - 40


@pytest.mark.tex
def test_answers_wider_than_the_line_begin_where_the_others_do(tmp_path: Path) -> None:
    for words in _printed(_box(_WIDE, _FRACTION, _WIDE), tmp_path):
        edges = _edges(words)
        assert len(edges) == 3
        assert max(edges) - min(edges) < 0.1


@pytest.mark.tex
def test_fractions_of_two_rows_keep_a_distance(tmp_path: Path) -> None:
    above = Sum(tuple(emf(f"E{k}") for k in range(1, 13)))
    fraction = Quotient(above, resistance("R7"))
    for words in _printed(_box(fraction, fraction), tmp_path):
        denominators = sorted(bottom for word, _, _, bottom in words if re.match("[R𝑅]", word))
        numerators = sorted({bottom for word, _, _, bottom in words if word == "+"})
        assert len(denominators) == len(numerators) == 2
        assert numerators[1] - denominators[0] > 17  # from line to line, in points


@pytest.mark.tex
def test_a_remark_is_not_alone_on_a_line(tmp_path: Path) -> None:
    side = Sum(tuple(resistance(f"R{k}") for k in range(1, 4)))
    for words in _printed(_box(side, side, side, remark=True), tmp_path):
        (level,) = [bottom for word, _, _, bottom in words if word == "drawn"]
        letters = [bottom for word, _, _, bottom in words if re.match("[I𝐼]", word)]
        assert min(abs(bottom - level) for bottom in letters) < 6


def test_a_title_stands_above_answers_that_are_as_wide_as_the_box() -> None:
    assert beside_title(_box(_FRACTION), Style(), 40.0) is not None
    assert beside_title(_box(_FRACTION, _WIDE), Style(), 40.0) is None
    assert beside_title(Box(BoxKind.ANSWERS, (), _box(_FRACTION).blocks), Style(), 40.0) is None


def test_a_remark_wider_than_the_line_beside_the_last_answer_stands_alone() -> None:
    (line,) = _box(_FRACTION, remark=True).blocks
    assert isinstance(line, AnswerLine)
    assert holds_remark(line, Style(), 30.0)
    assert not holds_remark(line, Style(), 15.0)
    narrow = tex_blocks.Setting(Style(), "en", 15.0)
    assert "lwremarkgap" not in tex_blocks.blocks((line,), narrow)
