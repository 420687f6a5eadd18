"""Pages of circuits with long names and long formulas keep within their margins."""

import re
from fractions import Fraction
from pathlib import Path
from unicodedata import normalize

import pytest

from derive.algebra.term import current, resistance
from derive.document.model import (
    Align,
    Chain,
    Display,
    Document,
    Figure,
    Paragraph,
    Relation,
    Row,
    Section,
    SideBySide,
    Table,
    Text,
)
from derive.document.narrate import Detail
from derive.drawing.model import Box, Drawing
from derive.typesetting.style import Style
from derive.writers import html, latex, markdown, tex_display, text, typst
from derive.writers.notation import DASH
from derive.writers.two_columns import one_below_the_other, shares
from tests.example_solutions import solved
from tests.writers import typst_runs
from tests.writers.tex_runs import overfull, run, words
from tests.writers.wide_circuits import CIRCUITS, solved_wide

_NAMES = tuple(CIRCUITS)

_TWELVE_CM = r"\textwidth=12cm\hsize=12cm\linewidth=12cm\columnwidth=12cm"


@pytest.mark.tex
@pytest.mark.parametrize(
    ("name", "detail"), [("fountain", Detail.ANSWERS), *((name, Detail.FULL) for name in _NAMES)]
)
def test_no_line_of_tex_is_wider_than_the_page(name: str, detail: Detail, tmp_path: Path) -> None:
    log = run(latex.write(solved_wide(name, detail).document), tmp_path)
    assert overfull(log) == []


@pytest.mark.tex
@pytest.mark.parametrize("name", _NAMES)
def test_no_line_of_a_fragment_is_wider_than_twelve_centimetres(name: str, tmp_path: Path) -> None:
    fragment = latex.fragment(solved_wide(name).document, name)
    needed = [line[1:].strip() for line in fragment.splitlines() if line.startswith(r"%   \use")]
    packages = "\n".join(line for line in needed if "fontenc" not in line)
    host = (
        "\\documentclass[11pt]{article}\n\\usepackage[T1]{fontenc}\n\\usepackage{lmodern}\n"
        f"{packages}\n\\begin{{document}}\n{_TWELVE_CM}\n\\input{{one}}\n\\end{{document}}\n"
    )
    assert overfull(run(host, tmp_path, one=fragment)) == []


def test_a_long_source_stands_below_its_own_equation() -> None:
    rows = (_row("R1", "I1"), _row("R2", "I2", "what is long"), _row("R3", "I3"))
    block = Display(rows)
    tex = tex_display.display(block, tex_display.Measure(Style(), 30.0))
    before, _, after = tex.partition("what is long")
    assert "I_{2}" in before
    assert "I_{3}" not in before
    assert "I_{3}" in after
    # No page may end between them, and what follows keeps a distance.
    assert re.search(r"I_\{2\}\\\\\*\n&\\tag\*", before)
    assert after.split("\n")[0].endswith(r"\\[4pt]")


@pytest.mark.tex
def test_a_long_source_is_printed_below_its_equation_in_both_engines(tmp_path: Path) -> None:
    rows = (_row("R1", "I1"), _row("R2", "I2", "whatislong " * 8), _row("R3", "I3"))
    document = Document("", "", (Section((Text("T"),), (Display(rows),)),), Style())
    run(latex.write(document), tmp_path)
    printed = [words(tmp_path), typst_runs.words(document, tmp_path)]
    for words_of_one in printed:
        flat = normalize("NFKC", words_of_one).replace(" ", "")
        assert flat.index("I2") < flat.index("whatislong") < flat.index("R3")


def _row(left: str, right: str, source: str = "") -> Row:
    told = (Text(f"{source} {'as long as it gets ' * 3}"),) if source else ()
    return Row(Chain((resistance(left), current(right)), (Relation.EQUAL,)), None, told)


def test_points_of_a_walk_that_are_words_have_dashes_between_them() -> None:
    document = solved_wide("smithy").document
    points = ("Back yard", "Anvil corner", "Lamp hook by the door", "Back yard")
    told = {
        "tex": latex.write(document).replace(r"\,\textendash\,\allowbreak{}", " – "),
        "typ": typst.write(document).replace(f'")#"{DASH}"#place-name("', " – "),
        "html": re.sub(r"</?span[^>]*>", "", html.write(document)),
        "md": re.sub(r"\$\\mathrm\{\\text\{([^}]*)\}\}\$", r"\1", markdown.write(document)),
        "txt": " ".join(text.write(document).split()),
    }
    for kind, page in told.items():
        plain = re.sub(r"\\lwpoint\{([^}]*)\}", r"\1", page).replace("\N{THIN SPACE}", " ")
        assert " – ".join(points) in plain.replace("\N{NO-BREAK SPACE}", " "), kind


def test_a_walk_of_letters_has_no_dashes() -> None:
    assert "–" not in text.write(solved_wide("scales").document)


_TABLE = Table(
    ((Text("part"),), (Text("what it does"),)),
    (((Text("R"),), (Text("turns into heat here"),)),),
    (Align.LEFT, Align.LEFT),
    "",
)


def _beside(width_mm: float, table: Table = _TABLE) -> SideBySide:
    drawing = Drawing((), (), (), (), (), None, (), Box(0.0, 0.0, width_mm, 20.0))
    return SideBySide((table, Paragraph(())), (Figure(drawing, (), "", ""),), Fraction(1, 2))


def test_a_table_gets_the_room_that_it_needs_or_a_line_of_its_own() -> None:
    style = Style()
    even = shares(_beside(20), style, 40.0)
    assert even is not None
    assert even[0] == even[1]
    more = shares(_beside(20), style, 20.0)
    assert more is not None
    assert more[0] > more[1]
    assert shares(_beside(60), style, 20.0) is None
    stacked = one_below_the_other(_beside(60))
    assert [type(block) for block in stacked] == [Table, Figure, Paragraph]


def test_columns_have_a_ragged_edge() -> None:
    document = solved_wide("filter").document
    assert r"\lwcolumn" in latex.write(document)
    assert "set par(justify: false)\n  grid" in typst.write(document)


def test_the_powers_of_a_small_circuit_stand_beside_their_figure() -> None:
    page = typst.write(solved("boat_batteries").document)
    table = page.index('"what it does"')
    assert page.rindex("#beside(", 0, table) > page.rindex("both bars have", 0, table)
