"""The printed page is checked, not only the data: every format is read back and compared.

The readers (`reading_*.py`) know what our pages consist of and nothing of the writers; what they
find must be the same in all formats, follow from the checked steps (`meaning.py`, `tables.py`),
and give the answers of the JSON (`answers.py`). The bench `tests.bench.read_back` does the same for
random circuits.
"""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from derive.document.telling import Detail
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import html, latex, text
from tests.example_solutions import solved
from tests.page import figures
from tests.page.check import (
    FORMATS,
    READERS,
    caught,
    faults,
    known_of,
    states,
    unfounded,
    written,
)
from tests.page.mathematics import Misread, read
from tests.page.mutations import mutations
from tests.page.reading_tex import tokens as tex_tokens
from tests.page.reading_text import text_figures
from tests.page.reading_text import tokens as text_tokens

_EXAMPLES = Path(__file__).parents[2] / "examples"
_MUTATED = "against_the_arrow"


@pytest.mark.parametrize(
    ("name", "options"),
    [
        ("against_the_arrow", Options()),  # laws, elimination, special cases, power
        ("bridge_letters", Options()),  # letters alone, a fraction on several lines
        ("bridge_letters", Options(detail=Detail.ANSWERS)),
        ("tram_line", Options(numbers_first=True)),  # potentials, points that are words
        ("kitchen_scale", Options()),  # tolerances: ranges and shares
        ("flash_charging", Options()),  # courses in time
        ("starter", Options()),  # two states of a switch
        ("model_lamp", Options(detail=Detail.BRIEF)),  # a value that is sought, preferred values
        ("dynamo_lamps", Options()),  # ratings
        ("garden_lights", Options()),  # a resistance between two points
        ("earpiece", Options()),  # energies, a matched load
    ],
    ids=str,
)
def test_every_format_says_what_was_proved(name: str, options: Options) -> None:
    assert faults(solved(name, options)) == []


@pytest.mark.parametrize(
    "looks", ["decimal comma", "symbols emf epsilon", "symbols emf italic\nfigures 5"]
)
def test_other_looks_say_the_same(looks: str) -> None:
    given = (_EXAMPLES / "relay_timer.circuit").read_text("utf-8").replace("24 V", "24.5 V")
    solution = solve(Source("looks", f"{given}\n{looks}\n"))
    assert faults(solution, written(solution, width=50)) == []


@pytest.mark.parametrize("kind", FORMATS)
def test_a_changed_page_is_refused(kind: str) -> None:
    solution = solved(_MUTATED, Options())
    texts = written(solution)
    first, known = READERS["latex"](texts["latex"]), known_of(solution)
    made = list(mutations(kind, texts[kind], random.Random(1), 2))
    assert len({mutation.kind for mutation in made}) >= 8
    survivors = [m.shown for m in made if not caught(solution, first, kind, m.text, known)]
    assert survivors == []


_SEEN_ALONE = {"flip a sign", "drop a minus", "change a digit", "change the last digit",
               "move a decimal marker", "change a relation"}  # fmt: skip


def test_a_fault_of_every_format_is_refused() -> None:
    # Where all formats were wrong alike, the derivation must tell.
    solution = solved(_MUTATED, Options())
    told, known = latex.write(solution.document), known_of(solution)
    made = mutations("latex", told, random.Random(2), 3)
    for mutation in (m for m in made if m.kind in _SEEN_ALONE):
        try:
            page = READERS["latex"](mutation.text)
        except Misread:
            continue
        assert list(unfounded(page, solution, known)), mutation.shown


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("slopes down by 5.67 V", "slopes down by 5.76 V"), ("slopes down by 3", "slopes up by 3"),
        ("R1, 16.1 W", "R1, 1.61 W"), ("its minus terminal", "its plus terminal"),
        ("then resistor R1", "then resistor R3"), ("2 batteries", "3 batteries"),
        ("A, E1, R1, C, R3, A", "A, R1, E1, C, R3, A"), ("the arrow of I1", "the arrow of I2"),
    ],
)  # fmt: skip
def test_a_figure_in_other_words_is_refused(right: str, wrong: str) -> None:
    solution = solved(_MUTATED, Options())
    page = html.write(solution.document)
    assert right in page
    known, told = known_of(solution), READERS["html"](page.replace(right, wrong))
    assert list(figures.faults(told, states(solution), known, comma=False))
    pages = {"html": told, "latex": READERS["latex"](latex.write(solution.document))}
    assert list(figures.told_alike(pages, text_figures(text.write(solution.document))))


@pytest.mark.parametrize(
    "formula", [r"R_{1}^{", r"\sqrt{2}", r"2\,3.5", r"R_{1} +", r"(R_{1}", r"\frac{1}{}", "R__{1}"]
)
def test_what_is_no_formula_is_not_read(formula: str) -> None:
    with pytest.raises(Misread):
        read(tex_tokens(formula))


@pytest.mark.parametrize("formula", ["R₁R₂", "2 R₁", "R₁ +", "(R₁", "R₁·", "I₁ = = 2 A"])
def test_what_is_no_line_of_mathematics_is_not_read(formula: str) -> None:
    with pytest.raises(Misread):
        read(text_tokens(formula))


def test_signs_subscripts_and_units_make_a_difference() -> None:
    said = r"\frac{R_{12}\,\mathcal{E}_{1} - 2I_{2}'}{3\,\mathrm{k}\Omega}".replace(
        "'", "^{\\prime}"
    )
    others = [
        said.replace("12", "21"), said.replace("-", "+"), said.replace("k", "m"),
        said.replace(r"^{\prime}", ""), said.replace("2I", "3I"), said.replace(r"\mathcal{E}", "E"),
    ]  # fmt: skip
    chains = [read(tex_tokens(formula)) for formula in (said, *others)]
    assert len(set(map(repr, chains))) == len(chains)
