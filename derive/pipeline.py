"""The passes, in order. Nothing unchecked leaves this file."""

from __future__ import annotations

from dataclasses import dataclass, replace
from hashlib import sha256
from typing import TYPE_CHECKING

from derive.algebra.name import identifier
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents, AskResistance
from derive.circuit.switching import told
from derive.contract import changes_of, contract_of
from derive.derivation.step import Conclude, Derivation
from derive.diagnostic import Diagnostic
from derive.document.model import Chain, Document
from derive.document.narrate import Detail, narrate, summary
from derive.document.switching_told import narrate_switching
from derive.doubts import figure_doubts, type_doubts
from derive.drawing.reckoning import style_of
from derive.options import STANDARD, Options
from derive.proving import Proved, Switching, prove
from derive.source import Source
from derive.writers.answers_json import Contract, Switched

if TYPE_CHECKING:
    from derive.document.live import LiveDocument


@dataclass(frozen=True, slots=True)
class Solution:
    """A solved circuit. Its derivation has been accepted by the checker."""

    circuit: Circuit
    """Where switches change, the circuit after that; so are the derivation and the contract."""
    derivation: Derivation
    document: Document
    contract: Contract
    summary: tuple[Chain, ...]
    """The answers in a few lines for the terminal."""
    warnings: tuple[Diagnostic, ...]
    switching: Switching | None = None
    """What was before, where switches change."""
    summary_before: tuple[Chain, ...] = ()
    """The answers for the time before, in a few lines."""

    def live(self) -> LiveDocument | None:
        """Return how the numbers of the document follow other values; None where they do not.

        Where switches change they do not, nor where a test source is put in, since the document
        tells of two circuits.
        """
        from derive.document.live import follow  # for pages of the web alone

        if self.switching is not None or self.circuit.tested:
            return None
        return follow(self.document, self.circuit, self.derivation)


def solve(source: Source, options: Options = STANDARD) -> Solution:
    """Turn a circuit file into a checked solution. Raises Rejected."""
    proved = prove(source, options)
    circuit, derivation = proved.circuit, proved.derivation
    warnings = (*proved.warnings, *figure_doubts(circuit), *type_doubts(circuit))
    was = proved.switching
    return Solution(
        circuit,
        derivation,
        _told(proved, digest_of(source), options.detail),
        _contract(proved, warnings),
        summary(circuit, derivation, ranges=was is None),
        warnings,
        proved.switching,
        () if was is None else summary(was.before.circuit, was.before.derivation, ranges=False),
    )


def before(solution: Solution, detail: Detail = Detail.FULL) -> Solution:
    """Return the solution for the time before switches change, as if nothing came after.

    Raises ValueError where no switch changes.
    """
    if solution.switching is None:
        raise ValueError("no switch changes")
    was = solution.switching.before
    circuit, derivation = was.circuit, was.derivation
    return Solution(
        circuit,
        derivation,
        _told(was, solution.document.digest, detail),
        _contract(was, solution.warnings),
        summary(circuit, derivation),
        solution.warnings,
    )


def _told(proved: Proved, digest: str, detail: Detail) -> Document:
    circuit, derivation = proved.circuit, proved.derivation
    style, switching = style_of(circuit), proved.switching
    if switching is None:
        return narrate(circuit, derivation, style, digest, detail)
    was = switching.before
    return narrate_switching(
        switching.event, (was.circuit, was.derivation), (circuit, derivation),
        switching.comparison, style, digest, detail,
    )  # fmt: skip


def _contract(proved: Proved, warnings: tuple[Diagnostic, ...]) -> Contract:
    found = contract_of(proved.circuit, proved.derivation, proved.steps, warnings)
    switching = proved.switching
    if switching is None:
        return found
    was = switching.before
    earlier = contract_of(was.circuit, was.derivation, was.steps, warnings)
    changes = changes_of(found, proved.derivation, switching.comparison)
    event = switching.event
    return replace(found, switching=Switched(event.closes, event.opens, earlier, *changes))


def digest_of(source: Source) -> str:
    """Return what tells a circuit file from every other, for the files made from it."""
    return sha256(source.text.encode()).hexdigest()


def formula(source: Source, options: Options = STANDARD) -> tuple[str, ...]:
    """Return ``I1 = …`` for every current, in letters that Python can read. Raises Rejected.

    The resistances that are asked for come after them, as ``R_A_B = …``, then courses in time, as
    ``v_C1 = …`` and ``i_C1 = …``. Where switches change, those of the time before come first; a
    comment says which are which.
    """
    proved = prove(source, replace(options, numbers_first=False), numbers_will_do=False)
    if proved.switching is None:
        return _formulas(proved)
    happens = told(proved.switching.event)
    before = _formulas(proved.switching.before)
    return (f"# before {happens}", *before, f"# after {happens}", *_formulas(proved))


def _formulas(proved: Proved) -> tuple[str, ...]:
    contract = contract_of(proved.circuit, proved.derivation, proved.steps, proved.warnings)
    further = (
        step
        for step in proved.derivation.steps
        if isinstance(step, Conclude) and not isinstance(step.question, AskCurrents)
    )
    named = [*contract.currents] + [
        (identifier(step.symbol.name), answer.result)
        for step, answer in zip(further, contract.answers, strict=True)
        if isinstance(step.question, AskResistance)
    ]
    courses = [
        (f"{letter}_{answer.ask.split()[-1]}", text)
        for answer in contract.transients
        for letter, text in (("v", answer.formula), ("i", answer.current))
    ]
    formulas = [(name, result.formula) for name, result in named] + courses
    return tuple(f"{name} = {text}" for name, text in formulas if text is not None)
