"""All that a solution says in every format, read back and compared: the one entry for tests."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction

from derive.algebra.term import Symbol
from derive.circuit.model import Circuit
from derive.derivation.step import Derivation
from derive.pipeline import Solution
from derive.writers import answers_json, html, latex, markdown, text, typst
from tests.page import answers, figures, meaning, sources, tables
from tests.page.agreement import differences
from tests.page.items import Page
from tests.page.known import Known, everything
from tests.page.mathematics import Misread, read
from tests.page.reading_html import read_html
from tests.page.reading_latex import read_fragment, read_latex
from tests.page.reading_markdown import read_markdown
from tests.page.reading_text import text_differences, text_figures, tokens
from tests.page.reading_typst import read_typst

READERS: dict[str, Callable[[str], Page]] = {
    "latex": read_latex,
    "fragment": read_fragment,
    "typst": read_typst,
    "html": read_html,
    "markdown": read_markdown,
}
"""How each format is read; plain text is compared with one of these pages."""
TEXT = "text"
FORMATS = (*READERS, TEXT)


def written(solution: Solution, *, width: int = 80) -> dict[str, str]:
    """Return a solution in every format."""
    document = solution.document
    return {
        "latex": latex.write(document),
        "fragment": latex.fragment(document, "page"),
        "typst": typst.write(document),
        "html": html.write(document),
        "markdown": markdown.write(document),
        TEXT: text.write(document, width),
    }


def states(solution: Solution) -> list[tuple[Circuit, Derivation]]:
    """Return the circuits that a solution tells of, with their derivations."""
    found = [(solution.circuit, solution.derivation)]
    if solution.switching is not None:
        was = solution.switching.before
        found.insert(0, (was.circuit, was.derivation))
    return found


def every_derivation(solution: Solution) -> list[Derivation]:
    """Return all derivations, those of circuits within others included."""
    found = [derivation for _, derivation in states(solution)]
    for derivation in found:
        inner = (getattr(step, "derivation", None) for step in derivation.steps)
        found += [d for d in inner if isinstance(d, Derivation)]
    return found


def known_of(solution: Solution) -> Known:
    """Return all that the derivations of a solution prove."""
    known = Known(solution.document.style.emf)
    for circuit, derivation in states(solution):
        known.add(derivation)
        known.loose |= {abs(number) for number in everything(circuit, Fraction)}
    if solution.switching is not None:
        for line in solution.switching.comparison:
            if line.change is not None:
                known.equation(line.change)
    return known


def unfounded(page: Page, solution: Solution, known: Known) -> Iterator[str]:
    """Yield what a page says that does not follow from the derivations and their circuits."""
    yield from meaning.faults(page, known)
    yield from meaning.unequal(page, known)
    yield from tables.faults(page, states(solution), known)
    yield from sources.faults(page, every_derivation(solution), known)
    symbols: set[Symbol] = set()
    for circuit, derivation in states(solution):
        for step in derivation.steps:
            symbols |= set(everything(step, Symbol))
        symbols |= set(everything(circuit, Symbol))
    contract = answers_json.write(solution.contract)
    yield from answers.faults(page, contract, [d for _, d in states(solution)], symbols, known.emf)
    numbers = [row.number for row in page.rows() if row.number is not None]
    # Where two states stand side by side, each goes on with its own numbers.
    ordered = numbers if solution.switching is None else sorted(numbers)
    if ordered != list(range(1, len(numbers) + 1)):
        yield f"equations are numbered {numbers}"


def several_words(solution: Solution) -> tuple[str, ...]:
    """Return the names of points that are several words, the longest first."""
    found = {
        point.replace("_", " ")
        for circuit, _ in states(solution)
        for node in circuit.nodes
        for point in (*node.points, *_stations(circuit))
        if re.fullmatch(r"[^\W\d_]{2,}[0-9]*(_\w+)+", point)
    }
    return tuple(sorted(found, key=lambda words: (-len(words), words)))


def _stations(circuit: Circuit) -> Iterator[str]:
    for branch in (*circuit.branches, *circuit.idle):
        for points in branch.stations:
            yield from points


def said_otherwise(page: Page, spaced: tuple[str, ...]) -> Iterator[str]:
    """Yield formulas for which a screen reader says something else."""
    for chain, words in page.said:
        try:
            alike = read(tokens(words, spaced)) == chain
        except Misread:
            alike = False
        if not alike:
            yield f"{words!r} is said for {chain}"


def faults(solution: Solution, texts: dict[str, str] | None = None) -> list[str]:
    """Return every fault of the texts of a solution; the first ones tell where to look."""
    texts = written(solution) if texts is None else texts
    pages = {}
    for kind, reader in READERS.items():
        if kind in texts:
            try:
                pages[kind] = reader(texts[kind])
            except Misread as fault:
                return [f"{kind} cannot be read: {fault}"]
    first = pages["latex"]
    found = [f"latex: {fault}" for fault in unfounded(first, solution, known_of(solution))]
    document = solution.document
    spaced = several_words(solution)
    titles = bool(document.title) + bool(document.subtitle)
    for kind, page in pages.items():
        whole = replace(first, items=first.items[titles:]) if kind == "fragment" else first
        found += [f"{kind}: {fault}" for fault in differences(whole, page)]
        found += [f"{kind}: {fault}" for fault in said_otherwise(page, spaced)]
    if TEXT in texts:
        found += [f"text: {fault}" for fault in text_differences(first, texts[TEXT], spaced)]
    if "html" in pages and TEXT in texts:
        comma = document.style.decimal_comma
        known = known_of(solution)
        found += figures.told_alike(pages, text_figures(texts[TEXT]))
        found += figures.faults(pages["html"], states(solution), known, comma=comma)
    return found


def caught(solution: Solution, first: Page, kind: str, text: str, known: Known) -> bool:
    """Tell whether a changed text of one format is refused: unread, or unlike the LaTeX page."""
    spaced = several_words(solution)
    if kind == TEXT:
        try:
            return any(True for _ in text_differences(first, text, spaced))
        except Misread:
            return True
    try:
        page = READERS[kind](text)
    except Misread:
        return True
    if kind == "fragment":
        document = solution.document
        titles = bool(document.title) + bool(document.subtitle)
        first = replace(first, items=first.items[titles:])
    return (
        any(True for _ in differences(first, page))
        or any(True for _ in said_otherwise(page, spaced))
        or (kind == "latex" and any(True for _ in unfounded(page, solution, known)))
    )
