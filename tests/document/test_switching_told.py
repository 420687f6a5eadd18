"""What a solution says of two states."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

import derive
from derive.algebra.term import Equation
from derive.derivation.sense import SpecialCase
from derive.derivation.step import Silent
from derive.document import wording as w
from derive.document.model import (
    AnswerLine,
    Block,
    Box,
    Caution,
    Display,
    Document,
    Figure,
    Math,
    Paragraph,
    Relation,
    SideBySide,
    Table,
    Text,
)
from derive.document.narrate import Detail
from derive.document.room import fits_half
from derive.drawing.model import Drawing, SymbolShape
from derive.drawing.view import View
from derive.options import Options
from derive.pictures import Subject, illustrate
from derive.pipeline import before, solve
from derive.source import Source
from derive.typesetting.style import Decimal, Style
from derive.writers import html, latex, markdown, text, typst

STARTER = Source("starter", """
circuit "The headlamps while the engine starts"
I1: Frame  (-E1 r1+)  Post
I2: Post   (lamp L1)  Frame
I3: Post   (closes S1)  (Rm)  Frame
E1 = 12.6 V; r1 = 20 mohm; L1 = 1.3 ohm; Rm = 50 mohm
ask currents
ask terminal voltage of E1
ask voltage across S1
""")  # fmt: skip
LETTERS = Source("letters", STARTER.text.replace("Rm = 50 mohm", ""))
RULES = Source("rules", """
I1: A (-E1+) (R1) B
I2: A (-E2+) (R2) (opens S1) B
I3: B (R3) A
I4: B (closes S2) (R4) A
E1 = 6 V; E2 = 9 V; R1 = 1 ohm; R2 = 2 ohm; R3 = 3 ohm; R4 = 4 ohm
""")  # fmt: skip


def all_blocks(document: Document) -> Iterator[Block]:
    def inner(blocks: tuple[Block, ...]) -> Iterator[Block]:
        for block in blocks:
            yield block
            if isinstance(block, SideBySide):
                yield from inner((*block.left, *block.right))
            elif isinstance(block, Box):
                yield from inner(block.blocks)

    for section in document.sections:
        yield from inner(section.blocks)


def plain(inlines: tuple[object, ...]) -> str:
    return "".join(i.text if isinstance(i, Text) else "·" for i in inlines)


def answers_of(document: Document) -> Table:
    (table,) = (b for b in all_blocks(document) if isinstance(b, Table) and b.summary == w.COMPARED)
    return table


def test_the_parts_have_headings_of_their_own() -> None:
    document = solve(RULES).document
    heads = [plain(s.title) for s in document.sections if s.opens_part]
    assert heads == [
        "Before · closes and · opens",
        "After · closes and · opens",
        "Before and after",
    ]
    first = document.sections[0]
    assert not first.title
    assert all(section.title or section.blocks for section in document.sections)


@pytest.mark.parametrize("source", [STARTER, RULES], ids=lambda s: s.name)
def test_the_headings_of_each_state_stand_in_their_order(source: Source) -> None:
    parts: list[list[str]] = []
    for section in solve(source).document.sections[1:]:
        if section.opens_part:
            parts.append([])
        elif section.title:
            parts[-1].append(plain(section.title))
    known = list(w.HEADINGS.values())
    for headings in parts[:2]:
        places = [known.index(heading) for heading in headings]
        assert places == sorted(places)
        assert "Label the currents" in headings
        assert "The general formula" in headings
    assert parts[2] == []


def test_equations_are_counted_on_from_one_state_to_the_other() -> None:
    document = solve(RULES).document
    rows = [row for b in all_blocks(document) if isinstance(b, Display) for row in b.rows]
    numbers = [row.number for row in rows if row.number is not None]
    assert numbers == list(range(1, len(numbers) + 1))
    assert len(numbers) >= 6


@pytest.mark.parametrize("source", [STARTER, LETTERS, RULES], ids=lambda s: s.name)
def test_every_equation_of_a_state_is_a_conclusion_for_that_state(source: Source) -> None:
    solution = solve(source)
    assert solution.switching is not None
    states = iter((solution.switching.before.derivation, solution.derivation))
    proved: set[Equation] = set()
    count = 0
    for section in solution.document.sections[1:-1]:
        if section.opens_part:
            state = next(states)
            proved = {step.conclusion for step in state.steps if not isinstance(step, Silent)}
            proved |= {  # said with their condition
                Equation(state.equation(step.premise).left, step.result)
                for step in state.steps
                if isinstance(step, SpecialCase)
            }
        for block in all_blocks(replace(solution.document, sections=(section,))):
            for row in block.rows if isinstance(block, Display) else ():
                sides = row.chain.sides
                for relation, side in zip(row.chain.relations, sides[1:], strict=True):
                    if relation is Relation.EQUAL and not isinstance(side, Decimal):
                        assert Equation(sides[0], side) in proved
                        count += 1
    assert count > 10


def test_the_table_shows_what_the_derivations_conclude() -> None:
    solution = solve(STARTER)
    assert solution.contract.switching is not None
    before_, after = (
        [r.exact for _, r in c.currents] + [a.result.exact for a in c.answers]
        for c in (solution.contract.switching.before, solution.contract)
    )
    rows = answers_of(solution.document).rows
    assert len(rows) == 5
    for row, was, now in zip(rows, before_, after, strict=True):
        sizes = []
        for cell in row[1:]:
            (item,) = cell
            assert isinstance(item, Math)
            assert isinstance(item.content, Decimal)
            sizes.append(Fraction(item.content.digits) * Fraction(10) ** item.content.unit_exponent)
        assert was is not None
        assert now is not None
        for shown, exact in zip(sizes, (was, now, now - was), strict=True):
            assert abs(shown - exact) <= abs(exact) * Fraction(1, 100)


def test_changes_show_their_sign() -> None:
    written = text.write(solve(STARTER).document)
    table = written[written.rindex("change") :]
    assert re.search(r"I₂ +9\.55 A +6\.85 A +−2\.70 A", table)
    assert re.search(r"I₃ +0 A +178 A +\+178 A", table)


def places(drawing: Drawing) -> list[tuple[float, float]]:
    return [(symbol.centre.x, symbol.centre.y) for symbol in drawing.symbols]


@pytest.mark.parametrize("source", [STARTER, RULES], ids=lambda s: s.name)
def test_both_figures_are_alike_but_for_the_switches(source: Source) -> None:
    pair = next(b for b in all_blocks(solve(source).document) if isinstance(b, SideBySide))
    figures = [*pair.left, *pair.right]
    one, other = (figure.drawing for figure in figures if isinstance(figure, Figure))
    # An open blade reaches higher than a closed one; nothing else tells one from the other.
    for here, there in zip(places(one), places(other), strict=True):
        assert here == pytest.approx(there, abs=3)
    assert one.box == other.box
    turned = {SymbolShape.OPEN_SWITCH: SymbolShape.CLOSED_SWITCH}
    turned |= {closed: opened for opened, closed in turned.items()}
    shapes = [[symbol.shape for symbol in drawing.symbols] for drawing in (one, other)]
    assert shapes[0] == [turned.get(shape, shape) for shape in shapes[1]]
    assert shapes[0] != shapes[1]


def test_letters_are_answered_state_by_state() -> None:
    document = solve(LETTERS).document
    assert not any(isinstance(b, Table) and b.summary == w.COMPARED for b in all_blocks(document))
    last = text.write(document)[-1500:]
    assert "Before S₁ closes" in last
    assert "After S₁ closes" in last


def test_numbers_among_letters_are_told_state_by_state() -> None:
    """The voltage across a closed switch is zero, whatever is left open."""
    text_ = LETTERS.text.replace("L1 = 1.3 ohm;", "").replace(
        "(closes S1)", "(closes S1) (closed S2)"
    )
    solution = solve(Source("x", text_ + "ask voltage across S2\n"))
    (line,) = (c for c in solution.switching.comparison if c.change)  # type: ignore[union-attr]
    assert line.rounded is None
    assert solution.contract.switching is not None
    (change,) = (a for a in solution.contract.switching.answers if a.result.exact is not None)
    assert (change.ask, change.result.exact) == ("voltage across S2", 0)
    assert "After S₁ closes" in text.write(solution.document)


def test_short_work_stands_in_two_columns_with_all_its_equations() -> None:
    brief = solve(STARTER, Options(detail=Detail.BRIEF)).document
    assert not any(section.opens_part for section in brief.sections)
    columns = [s.blocks[0] for s in brief.sections[1:-1]]
    assert all(isinstance(block, SideBySide) for block in columns)
    for block in columns:
        assert isinstance(block, SideBySide)
        assert fits_half(block.left, Style())
        assert fits_half(block.right, Style())
    # The same equations as in two parts, which the solution in full has.
    full = solve(STARTER).document
    assert any(section.opens_part for section in full.sections)
    shown = [
        {row.chain for b in all_blocks(d) if isinstance(b, Display) for row in b.rows}
        for d in (brief, full)
    ]
    assert shown[0] <= shown[1]
    assert len(shown[0]) >= 12


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ("(closes S1)", "· is dimmer than before"),
        ("(opens S1)", "· is brighter than before"),
    ],
)
def test_what_can_be_seen_is_said(change: str, told: str) -> None:
    found = solve(Source("x", STARTER.text.replace("(closes S1)", change))).document
    first = found.sections[-1].blocks[0]
    assert isinstance(first, Paragraph)
    assert plain(first.inlines).startswith(told)
    assert len(re.findall(r"\.", plain(first.inlines))) == 1


def test_lamps_light_up_and_go_out_and_currents_turn_round() -> None:
    text = """
        I1: A (-E1+) (R1) B
        I2: A (closes S1) (-E2+) (lamp L2) B
        I3: B (lamp L3) A
        I4: B (opens S2) (lamp L4) A
        I5: A (-E3+) (R5) B
        E1 = 6 V; E2 = 60 V; E3 = 6 V; R1, R5, L2, L3, L4 = 2 ohm
    """
    first = solve(Source("x", re.sub("^ +", "", text, flags=re.M))).document.sections[-1].blocks[0]
    assert isinstance(first, Paragraph)
    told = plain(first.inlines)
    assert told.startswith("· lights up. · is brighter than before")
    assert "· goes out." in told
    assert told.endswith("· and · turn round.")


def test_ranges_are_told_for_both_states() -> None:
    text_ = STARTER.text.replace("12.6 V", "12.6 V ± 2 %")
    for detail in (Detail.FULL, Detail.ANSWERS):
        found = solve(Source("x", text_), Options(detail=detail)).document
        (box,) = (b for b in all_blocks(found) if isinstance(b, Box) and b.title)
        lines = [b for b in box.blocks if isinstance(b, AnswerLine)]
        assert len(lines) == 2
        assert all(len(line.chains) >= 4 for line in lines)


def test_one_caution_for_both_states() -> None:
    document = solve(STARTER).document
    (caution,) = (b for b in all_blocks(document) if isinstance(b, Caution))
    assert "one of the two states only" in plain(caution.inlines)


@pytest.mark.parametrize("detail", list(Detail))
@pytest.mark.parametrize("source", [STARTER, LETTERS, RULES], ids=lambda s: s.name)
def test_every_writer_tells_both_states(source: Source, detail: Detail) -> None:
    solution = solve(source, Options(detail=detail))
    for write in (text.write, markdown.write, typst.write, latex.write, html.write):
        written = write(solution.document)
        assert written.count("Before") >= 1
        assert written.count("After") >= 1
        if detail is not Detail.ANSWERS:
            assert written.index("Before") < written.rindex("After")


def test_a_page_of_two_states_stands_still() -> None:
    solution = solve(STARTER)
    assert solution.live() is None
    page = html.write(solution.document, solution.live())
    assert "<input" not in page
    levels = [int(level) for level in re.findall(r"<h(\d)", page)]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in pairwise(levels))
    assert page.count('<h2 class="part">') == 3


def test_before_by_itself_needs_a_switch() -> None:
    with pytest.raises(ValueError, match="no switch changes"):
        before(solve(Source("x", STARTER.text.replace("closes", "closed"))))


def test_figures_of_both_states() -> None:
    pictures = illustrate(STARTER, (Subject.CIRCUIT, Subject.POWERS), View())
    assert [picture.name for picture in pictures] == ["", "powers", "before", "before-powers"]
    assert "closed switch" in pictures[0].long
    assert "open switch" in pictures[2].long


def test_both_states_from_python() -> None:
    found = derive.read(STARTER.text).solve()
    was = found.before
    assert was is not None
    assert was.before is None
    assert was.currents["I3"].exact == 0
    assert found.changes["I3"] == found.currents["I3"].exact
    assert set(found.changes) == {*found.currents, *found.answers}
    assert "S₁ is open" in was.text()
    assert derive.read(STARTER.text.replace("closes", "open")).solve().changes == {}
