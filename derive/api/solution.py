"""Circuits that are read, their solutions, and how both show themselves."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cached_property
from html import escape
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from derive.algebra.term import SymbolKind
from derive.api.quantity import Quantity, Step
from derive.bounds import FIGURES, TERMS, WIDTHS
from derive.circuit.elaborate import load
from derive.circuit.question import AskCurrents
from derive.contract import in_letters, written_out
from derive.derivation.step import Conclude
from derive.document.model import Block, Box, Display, Row, SideBySide
from derive.document.narrate import Detail
from derive.drawing.view import View
from derive.options import Group, Options
from derive.pictures import draw
from derive.pipeline import Solution as Solved
from derive.pipeline import before
from derive.pipeline import solve as solve_source
from derive.source import Source
from derive.writers.answers_json import Result

if TYPE_CHECKING:
    import sympy

Engine = Literal["tex", "embedded"]


@dataclass(frozen=True)
class Circuit:
    """A circuit that has been read and holds no error.

    In a notebook it shows its figure.
    """

    text: str
    """In the circuit language."""
    name: str = "circuit"
    """What messages call it: the name of its file."""

    def __post_init__(self) -> None:
        """Refuse a circuit with errors. Raises Rejected."""
        load(self._source)

    @property
    def _source(self) -> Source:
        return Source(self.name, self.text)

    @property
    def title(self) -> str:
        """The title that the file gives; empty for none."""
        return load(self._source).circuit.title

    @property
    def letters(self) -> tuple[str, ...]:
        """The names of all emfs and resistances, in the order of the file."""
        elements = (SymbolKind.EMF, SymbolKind.RESISTANCE)
        symbols = load(self._source).circuit.symbols
        return tuple(symbol.name for symbol in symbols if symbol.kind in elements)

    def solve(self, **options: Any) -> Solution:
        """Solve it; `options` are those of `derive.solve`. Raises Rejected."""
        return Solution(self, solve_source(self._source, options_of(options)))

    def svg(self, *, values: bool = False, width_mm: int | None = None) -> str:
        """Return its figure, as wide as it needs or as wide as asked for: 20 to 2000 mm.

        Raises ValueError for another width.
        """
        from derive.writers import svg

        least, most = WIDTHS
        if width_mm is not None and not least <= width_mm <= most:
            raise ValueError(f"a figure is {least} to {most} mm wide, not {width_mm}")
        picture = draw(self._source, View(values=values, width=width_mm))
        return svg.write(picture.drawing, picture.style, picture.short, picture.long, width_mm)

    def _repr_html_(self) -> str:
        title = f"<p><strong>{escape(self.title)}</strong></p>" if self.title else ""
        return title + self.svg(values=True)


@dataclass(frozen=True)
class Solution:
    """A solved circuit, every equation of which has been proved.

    In a notebook it shows the whole page.
    """

    circuit: Circuit
    solved: Solved = field(repr=False)
    """What the pipeline made: the derivation, the document, the contract."""

    @cached_property
    def before(self) -> Solution | None:
        """The solution for the time before switches change, by itself; None where none does.

        All else that is said here is then of the time after, but for the written solution, which
        tells of both.
        """
        if self.solved.switching is None:
            return None
        return Solution(self.circuit, before(self.solved))

    @cached_property
    def changes(self) -> Mapping[str, Fraction | None]:
        """By how much each current, by its name, and each answer, by its question, changes.

        In SI base units; None where a letter is left. Empty where no switch changes.
        """
        switching = self.solved.contract.switching
        if switching is None:
            return {}
        answers = {answer.ask: answer.result.exact for answer in switching.answers}
        return {name: result.exact for name, result in switching.currents} | answers

    @cached_property
    def currents(self) -> Mapping[str, Quantity]:
        """The current of every walk of the file, by its name."""
        found = {q.name: q for q, question in self._quantities() if question is None}
        names = [name for name, _ in self.solved.contract.currents]
        return {name: found[name] for name in names}

    @cached_property
    def answers(self) -> Mapping[str, Quantity]:
        """What the file asks for besides all currents, by the question: ``voltage across R3``."""
        found = {question: q for q, question in self._quantities() if question is not None}
        return found

    @property
    def formulas(self) -> Mapping[str, str]:
        """The formula of every current that has one, readable by Python."""
        found = {name: q.formula for name, q in self.currents.items()}
        return {name: text for name, text in found.items() if text is not None}

    @cached_property
    def steps(self) -> tuple[Step, ...]:
        """Every displayed equation, in the order of the page."""
        document = self.solved.document
        found = []
        for section in document.sections:
            title = "".join(getattr(part, "text", "") for part in section.title)
            for row in _rows(section.blocks):
                found.append(Step(row.chain, document.style, title, row.number))
        return tuple(found)

    @property
    def warnings(self) -> tuple[str, ...]:
        """What is doubtful about the file."""
        return self.solved.contract.warnings

    def to_sympy(self) -> dict[str, sympy.Expr]:
        """Return the formula of every current that has one, for sympy."""
        return {name: q.to_sympy() for name, q in self.currents.items() if q._term is not None}

    def _quantities(self) -> Iterator[tuple[Quantity, str | None]]:
        """Yield every result with its question; None for the currents."""
        solved = self.solved
        written = written_out(solved.derivation)
        chains = {chain.sides[0]: chain for chain in solved.summary}
        results: dict[str, Result] = dict(solved.contract.currents)
        asked = iter(solved.contract.answers)
        for step in solved.derivation.steps:
            if not isinstance(step, Conclude):
                continue
            question = None
            if isinstance(step.question, AskCurrents):
                result = results.get(step.symbol.name)
            else:
                answer = next(asked)
                result, question = answer.result, answer.ask
            if result is None or step.symbol not in chains:
                continue
            term = None
            if result.formula is not None and step.formula is not None:
                term = in_letters(solved.derivation.equation(step.formula).right, written)
            quantity = Quantity(
                chains[step.symbol], solved.document.style, step.symbol.name,
                result.formula, result.exact, result.unit, term,
            )  # fmt: skip
            yield quantity, question

    # --- as text ----------------------------------------------------------------------------------

    def text(self) -> str:
        """Return the solution as plain text."""
        from derive.writers import text

        return text.write(self.solved.document)

    def latex(self) -> str:
        """Return a complete LaTeX document."""
        from derive.writers import latex

        return latex.write(self.solved.document)

    def fragment(self, prefix: str = "solution") -> str:
        r"""Return TeX for ``\input``, its labels beginning with a prefix."""
        from derive.writers import latex

        return latex.fragment(self.solved.document, prefix)

    def typst(self) -> str:
        """Return a Typst document."""
        from derive.writers import typst

        return typst.write(self.solved.document)

    def html(self) -> str:
        """Return a page for the web that stands alone."""
        from derive.writers import html

        return html.write(self.solved.document, self.solved.live())

    def markdown(self) -> str:
        """Return Markdown with mathematics between dollars."""
        from derive.writers import markdown

        return markdown.write(self.solved.document)

    def json(self) -> str:
        """Return the answers for other programs."""
        from derive.writers import answers_json

        return answers_json.write(self.solved.contract)

    def proof(self) -> str:
        """Return every step as JSON, for ``python -m derive.checker``."""
        from derive import proof

        return proof.write(self.solved, self.circuit._source)

    def pdf(self, engine: Engine | None = None) -> bytes:
        """Return a PDF: by the engine named, else by a TeX that works, else by the embedded one.

        Raises RuntimeError with what the engine said.
        """
        from derive.engines import pages

        made = pages.pdf(self.latex, self.typst, pages.Wanted(engine or ""))
        if isinstance(made, pages.NoPage):
            raise RuntimeError(made.told)
        return made.data

    def write(self, path: str | Path) -> Path:
        """Write a file by its ending.

        That is ``.tex``, ``.fragment.tex``, ``.typ``, ``.pdf``, ``.html``, ``.md``, ``.txt``,
        ``.json`` or ``.proof.json``.
        A file that Loopwalk did not make is not overwritten, nor one that is made to be edited if
        somebody has edited it.
        Raises FileExistsError then, OSError, or ValueError for another ending.
        """
        from derive.engines import files
        from derive.engines.ours import Ending

        place = Path(path)
        makers = {
            Ending.FRAGMENT: self.fragment, Ending.PROOF: self.proof,
            Ending.TEX: self.latex, Ending.TYPST: self.typst, Ending.HTML: self.html,
            Ending.MARKDOWN: self.markdown, Ending.TEXT: self.text, Ending.JSON: self.json,
        }  # fmt: skip
        known = [*makers, Ending.PDF]
        ending = next((one for one in known if place.name.lower().endswith(one.value)), None)
        if ending is None:
            endings = ", ".join(one.value for one in known)
            raise ValueError(f"{place.name} has none of the endings {endings}")
        data = self.pdf() if ending is Ending.PDF else makers[ending]().encode()
        try:
            files.write(place, data, ending, "-")
        except files.Refused as refused:
            raise FileExistsError(str(refused)) from None
        return place

    def _repr_html_(self) -> str:
        # In a frame of its own, so that the styles of the notebook and of the page keep apart.
        page = escape(self.html(), quote=True)
        return (
            f'<iframe srcdoc="{page}" title="{escape(self.circuit.title or "Worked solution")}" '
            'style="width: 100%; height: 40em; border: 1px solid #ccc"></iframe>'
        )

    def _repr_latex_(self) -> str:
        lines = [chain.latex for chain in (*self.currents.values(), *self.answers.values())]
        body = r" \\ ".join(lines)
        return rf"$$\begin{{gathered}} {body} \end{{gathered}}$$"


def options_of(chosen: Mapping[str, Any]) -> Options:
    """Return options by their names. Raises TypeError or ValueError for what is none."""
    known = dict(chosen)
    if "detail" in known:
        known["detail"] = Detail(known["detail"])
    if "group" in known:
        known["group"] = Group(known["group"])
    for name, (least, most) in (("figures", FIGURES), ("terms", TERMS)):
        number = known.get(name)
        if number is not None and (type(number) is not int or not least <= number <= most):
            raise ValueError(f"{name} is a whole number from {least} to {most}, not {number!r}")
    return Options(**known)


def _rows(content: tuple[Block, ...]) -> Iterator[Row]:
    for block in content:
        match block:
            case Display(rows):
                yield from rows
            case SideBySide(left, right):
                yield from _rows((*left, *right))
            case Box(_, _, inner):
                yield from _rows(inner)
            case _:
                pass
