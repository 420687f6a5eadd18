"""The passes, in order. Nothing unchecked leaves this file."""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256

from derive.analysis.answers import derive
from derive.analysis.equations import choose_scale
from derive.analysis.loops import DependentLoops
from derive.analysis.plan import Singular
from derive.checker.kernel import check
from derive.circuit.elaborate import elaborate
from derive.circuit.model import Circuit
from derive.derivation.step import Derivation
from derive.diagnostic import Diagnostic, Rejected
from derive.document.model import Document, Style
from derive.document.narrate import narrate
from derive.language.parser import parse
from derive.source import Source


@dataclass(frozen=True, slots=True)
class Options:
    """What the user of the command decides."""

    numbers_first: bool = False
    figures: int | None = None


@dataclass(frozen=True, slots=True)
class Solution:
    """A solved circuit. Its derivation has been accepted by the checker."""

    circuit: Circuit
    derivation: Derivation
    document: Document
    warnings: tuple[Diagnostic, ...]


def solve(source: Source, options: Options = Options()) -> Solution:
    """Turn a circuit file into a checked solution. Raises Rejected."""
    syntax = parse(source)
    elaborated = elaborate(syntax)
    circuit = elaborated.circuit
    derivation = _derive(circuit, options)
    verdict = check(circuit, derivation)
    if not verdict.accepted:
        raise Rejected([_unproved(str(verdict.refusal))])
    scale = choose_scale(circuit)
    style = Style(
        circuit.looks.emf,
        circuit.looks.resistor,
        circuit.looks.decimal_comma,
        scale.volt_exponent,
        scale.ohm_exponent,
    )
    digest = sha256(source.text.encode()).hexdigest()
    document = narrate(circuit, derivation, style, digest)
    return Solution(circuit, derivation, document, elaborated.warnings)


def _derive(circuit: Circuit, options: Options) -> Derivation:
    try:
        return derive(circuit, numbers_first=options.numbers_first, figures=options.figures)
    except DependentLoops as fault:
        spans = circuit.choices.loop_spans
        names = " and ".join(str(k + 1) for k in fault.others)
        raise Rejected(
            [
                Diagnostic(
                    "dependent-loops",
                    f"this loop gives no new equation: it follows from loop {names}",
                    spans[fault.index] if fault.index < len(spans) else None,
                    ("choose a loop with a branch that no other loop has",),
                )
            ]
        ) from None
    except Singular:
        raise Rejected(
            [
                Diagnostic(
                    "not-determined",
                    "the circuit does not fix its currents: some loop holds no resistance",
                    None,
                    ("give every battery an internal resistance, or put a resistor in the loop",),
                )
            ]
        ) from None


def _unproved(reason: str) -> Diagnostic:
    return Diagnostic(
        "unproved",
        f"the derivation was not accepted by the checker, so nothing is written: {reason}",
        None,
        ("this is a fault of the program; please report the circuit",),
    )
