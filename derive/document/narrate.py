"""From a checked derivation to a document: one section for each stage of the work."""

from __future__ import annotations

from collections.abc import Iterator

from derive.circuit.model import Circuit, Method
from derive.circuit.question import AskReducible
from derive.derivation.step import Derivation
from derive.document import (
    answers,
    charges_told,
    checks,
    idle_told,
    laws_told,
    opening,
    preferred_told,
    ratings_told,
    reduction_told,
    resistance_told,
    results,
    tells_told,
    tolerance_told,
    transient_told,
)
from derive.document.model import Block, Chain, Document, Section, Text
from derive.document.solving import solving
from derive.document.telling import Detail, Telling
from derive.document.wording import HEADINGS, SUBTITLE
from derive.typesetting.style import Style

__all__ = ["Detail", "narrate", "summary"]


def narrate(
    circuit: Circuit,
    derivation: Derivation,
    style: Style,
    digest: str = "",
    detail: Detail = Detail.FULL,
) -> Document:
    """Return the solution as a document. Every equation in it is a conclusion of a step."""
    telling = Telling(circuit, derivation, detail)
    sections = tuple(section for section in _sections(telling) if section.blocks)
    return Document(circuit.title, SUBTITLE, sections, style, digest=digest)


def summary(circuit: Circuit, derivation: Derivation, *, ranges: bool = True) -> tuple[Chain, ...]:
    """Return the answers in a few lines, with the names that they use, and perhaps their ranges."""
    telling = Telling(circuit, derivation, Detail.ANSWERS)
    return (
        *answers.names_in_answers(telling),
        *answers.answer_chains(telling),
        *(tolerance_told.range_chains(telling) if ranges else ()),
    )


def _sections(telling: Telling) -> Iterator[Section]:
    yield Section((), tuple(opening.opening(telling)))
    yield lamps(telling)
    yield from working(telling)
    if telling.circuit.asks_for_currents:
        yield Section((), tuple(checks.cautions(telling)))
    yield Section((), tuple(answers.answers(telling)))


def lamps(telling: Telling) -> Section:
    """Return what the ratings of lamps say of their resistances; perhaps nothing."""
    told = telling.detail is not Detail.ANSWERS
    return _section("lamps", ratings_told.lamps(telling) if told else iter(()))


def working(telling: Telling) -> Iterator[Section]:
    """Yield the sections between the opening and the answers; some may hold nothing."""
    if telling.detail is Detail.ANSWERS:
        return
    yield _section("still", idle_told.without_current(telling))
    asked = AskReducible() in telling.circuit.questions
    reduced = laws_told.reducible(telling) if asked else reduction_told.reduction(telling)
    yield _section("reduce" if asked else "reduction", reduced)
    if telling.circuit.asks_for_currents:
        yield from _currents(telling)
    yield _section("resistance", resistance_told.resistances(telling))
    yield _section("transient", transient_told.transient(telling))
    yield _section("preferred", preferred_told.preferred_values(telling))
    yield _section("tolerance", tolerance_told.tolerances(telling))
    if telling.circuit.asks_for_currents:
        yield _section("meaning", checks.meaning(telling))
        yield _section("check", checks.check(telling))
        yield _section("ratings", ratings_told.against_ratings(telling))


def _currents(telling: Telling) -> Iterator[Section]:
    ways = [_by_rules, _by_reduction]
    if telling.circuit.choices.methods[:1] == (Method.REDUCTION,):
        ways.reverse()
    yield _section("label", laws_told.label(telling))
    for way in ways:
        yield from way(telling)
    yield Section((), tuple(reduction_told.agreement(telling)))
    yield _section("formula", results.formulas(telling))
    yield _section("tells", tells_told.tells(telling))
    yield _section("numbers", results.numbers(telling))
    yield _section("charges", charges_told.charges(telling))
    yield _section("further", results.further(telling))


def _by_rules(telling: Telling) -> Iterator[Section]:
    if telling.by_rules:
        yield _section("junctions", laws_told.junctions(telling))
        yield _section("loops", laws_told.loops(telling))
        yield _section("solve_sought" if telling.circuit.sought else "solve", solving(telling))


def _by_reduction(telling: Telling) -> Iterator[Section]:
    yield _section("back", reduction_told.way_back(telling))


def _section(key: str, blocks: Iterator[Block]) -> Section:
    return Section((Text(HEADINGS[key]),), tuple(blocks))
