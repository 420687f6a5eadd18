"""Complete LaTeX documents: structure without TeX, and what TeX makes of them."""

import re
from dataclasses import replace
from pathlib import Path
from unicodedata import normalize

import pytest

from derive.algebra.dimension import FARAD
from derive.document.model import Document, Figure, Math, Paragraph, Section, Strong, Text
from derive.drawing.model import Box, Drawing
from derive.typesetting.style import Decimal, Style
from derive.writers import latex
from derive.writers.mark import MARK
from tests.writers.sample_document import DOCUMENT
from tests.writers.tex_runs import overfull, run, words

HOSTILE = (
    r"\input{/etc/passwd} $x$ 5 % #1 ^^5c ~ {open_ a}b & c \\ \end{document} "
    r"<>|\"`''-- ,, ?` !` "
)
PRINTED = r"\input{/etc/passwd} $x$ 5 % #1 ^^5c ~ {open_ a}b & c \\ \end{document}"


def _titled(title: str) -> Document:
    body = (Paragraph((Text(title), Strong((Text(title),)))),)
    return Document(title, title, (Section((Text(title),), body),), Style(), digest="00")


def test_the_first_line_is_our_mark_and_no_line_is_empty() -> None:
    tex = latex.write(DOCUMENT)
    assert tex.startswith(f"% {MARK}")
    assert "" not in tex.rstrip("\n").split("\n")


def test_the_same_document_gives_the_same_text() -> None:
    assert latex.write(DOCUMENT) == latex.write(DOCUMENT)


def test_no_package_of_pylatex_slips_in() -> None:
    packages = set(re.findall(r"\\usepackage(?:\[[^]]*\])?\{([^}]*)\}", latex.write(DOCUMENT)))
    assert not packages & {"inputenc", "lastpage", "textcomp", "parskip", "siunitx"}


def test_every_equation_number_is_a_tag_and_nothing_else_numbers() -> None:
    tex = latex.write(DOCUMENT)
    assert [f"({n})" in tex for n in range(1, 9)] == [True] * 8
    assert len(re.findall(r"\\tag\*\{[^\n]*\(\d+\)\}", tex)) == 8
    assert r"\begin{equation}" not in tex


def test_a_caution_is_told_by_a_word() -> None:
    assert r"\lwcaution{Caution}" in latex.write(DOCUMENT)


def test_empty_titles_and_no_sections_are_fine() -> None:
    tex = latex.write(Document("", "", (), Style()))
    assert r"\begin{document}" in tex


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_every_kind_of_block_is_set_within_the_margins(tmp_path: Path, program: str) -> None:
    log = run(latex.write(DOCUMENT), tmp_path, program)
    assert overfull(log) == []
    assert "Missing character" not in log
    assert "undefined" not in log
    text = words(tmp_path)
    for piece in ("Two batteries & a heater", "Caution", "Answers", "1.42", "(1) in (2)", "12.5"):
        assert piece in text


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_hostile_text_is_printed_not_run(tmp_path: Path, program: str) -> None:
    run(latex.write(_titled(HOSTILE)), tmp_path, program)
    squeezed = words(tmp_path).replace(" ", "")
    # Title, subtitle, heading, paragraph, strong paragraph.
    assert squeezed.count(PRINTED.replace(" ", "")) == 5


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_unicode_is_printed_or_named(tmp_path: Path, program: str) -> None:
    title = "é ř ß Ł Ω Δ µ ± × − ≈ → 中 \u202e “q” ½ ℰ R₁ x² …"
    log = run(latex.write(_titled(title)), tmp_path, program)
    assert "Missing character" not in log
    text = normalize("NFKC", words(tmp_path))  # the ohm sign is a capital omega
    for piece in ("é", "ř", "ß", "Ł", "Ω", "[U+4E2D]", "[U+202E]", "“q”"):
        assert piece in text


@pytest.mark.tex
def test_a_column_of_values_in_decimal_comma(tmp_path: Path) -> None:
    run(latex.write(replace(DOCUMENT, style=Style(decimal_comma=True))), tmp_path)
    assert "12,5" in words(tmp_path)


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_micro_is_upright_as_units_are(tmp_path: Path, program: str) -> None:
    value = Math(Decimal("4.7", -6, FARAD))
    body = (Paragraph((Text("5 µ, "), value)),)
    tex = latex.write(Document("Micro", "", (Section((), body),), Style()))
    assert r"\mu" not in tex.partition(r"\begin{document}")[2]
    log = run(tex, tmp_path, program)
    assert "Missing character" not in log
    assert normalize("NFKC", words(tmp_path)).count("μ") == 2


def test_text_below_a_figure_keeps_a_distance() -> None:
    drawing = Drawing((), (), (), (), (), None, (), Box(0.0, 0.0, 40.0, 20.0))
    body = (Figure(drawing, (), "", ""), Paragraph((Text("What is below."),)))
    tex = latex.write(Document("T", "", (Section((), body),), Style()))
    assert "\\par\n\\vspace{5pt}\nWhat is below." in tex
