"""Random circuits through derivation, checker and writers, against numpy and sympy.

``python -m tests.bench.many_circuits --circuits 10000``: every step of every derivation must be
accepted and every current must equal numpy's nodal solution to 1e-9. Even seeds put numbers first,
odd ones letters (where the formulas are not too long, as in the pipeline). Of every fiftieth
circuit the currents in letters are compared with those of sympy, and its solution is written as
text and as LaTeX.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from multiprocessing import Pool

import sympy

from derive.algebra.interchange import to_sympy
from derive.algebra.polynomial import Ring
from derive.algebra.term import replace
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.expansion import count_terms
from derive.circuit.model import Circuit
from derive.circuit.question import AskCurrents
from derive.derivation.algebra import Define
from derive.derivation.step import Conclude, Derivation
from derive.document.narrate import narrate
from derive.typesetting.style import Style
from derive.writers import latex, text
from tests.random_circuits import in_letters, nodal_currents, random_circuit, sympy_currents

_TERMS = 300
_SAMPLE = 50
_MOST_FOR_SYMPY = 60
"""Products in Δ; sympy takes minutes for more."""


@dataclass
class Tally:
    """What a run of circuits came to."""

    loops: Counter[int] = field(default_factory=Counter)
    routes: Counter[str] = field(default_factory=Counter)
    steps: int = 0
    wrong: list[str] = field(default_factory=list)
    largest: float = 0.0


def one(seed: int) -> Tally:
    """Solve one circuit and look at everything."""
    tally = Tally()
    circuit = random_circuit(random.Random(seed))
    numbers_first = seed % 2 == 0 or count_terms(circuit) > _TERMS
    derivation = derive(circuit, numbers_first=numbers_first)
    tally.routes["numbers" if numbers_first else "letters"] += 1
    tally.loops[len(circuit.branches) - len(circuit.nodes) + 1] += 1
    verdict = check(circuit, derivation)
    tally.steps += verdict.steps
    if not verdict.accepted:
        tally.wrong.append(f"seed {seed}: {verdict.refusal}")
        return tally
    expected = dict(
        zip((b.current for b in circuit.branches), nodal_currents(circuit), strict=True)
    )
    for step in _currents(derivation):
        value = float(Ring(()).poly(derivation.equation(step.value or 0).right).constant_value)
        if step.symbol in expected:
            off = abs(value - expected[step.symbol]) / max(1.0, abs(value))
            tally.largest = max(tally.largest, off)
            if off > 1e-9:
                tally.wrong.append(f"seed {seed}: {step.symbol.name} is off by {off}")
    if seed % _SAMPLE == 1:
        tally.wrong += _sampled(seed, circuit, derivation)
        tally.routes["written"] += 1
        tally.routes["against sympy"] += count_terms(circuit) <= _MOST_FOR_SYMPY
    return tally


def _currents(derivation: Derivation) -> Iterator[Conclude]:
    for step in derivation.steps:
        if isinstance(step, Conclude) and isinstance(step.question, AskCurrents):
            yield step


def _sampled(seed: int, circuit: Circuit, derivation: Derivation) -> Iterator[str]:
    document = narrate(circuit, derivation, Style())
    if not text.write(document) or not latex.write(document):
        yield f"seed {seed}: nothing written"
    if count_terms(circuit) > _MOST_FOR_SYMPY:
        return
    letters = in_letters(circuit)
    found = derive(letters)
    if not check(letters, found).accepted:
        yield f"seed {seed}: refused in letters"
    expected = sympy_currents(letters)
    for step in _currents(found):
        right = sympy_term(found, step)
        if step.symbol.name in expected and sympy.cancel(right - expected[step.symbol.name]) != 0:
            yield f"seed {seed}: {step.symbol.name} differs from sympy's"


def sympy_term(derivation: Derivation, step: Conclude) -> sympy.Expr:
    """Return a formula for sympy, the names for denominators put in."""
    names = {s.symbol: s.conclusion.right for s in derivation.steps if isinstance(s, Define)}
    assert step.formula is not None
    term = derivation.equation(step.formula).right
    return to_sympy(replace(term, names))


def main() -> int:
    """Run the circuits and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    began = time.perf_counter()
    whole = Tally()
    seeds = range(options.first, options.first + options.circuits)
    with Pool(options.jobs) as pool:
        for tally in pool.imap_unordered(one, seeds, chunksize=8):
            whole.loops += tally.loops
            whole.routes += tally.routes
            whole.steps += tally.steps
            whole.wrong += tally.wrong
            whole.largest = max(whole.largest, tally.largest)
            for line in tally.wrong:
                print(line, flush=True)
    print(f"circuits {options.circuits}, by number of loops {dict(sorted(whole.loops.items()))}")
    print(f"routes {dict(whole.routes)}")
    print(f"steps checked {whole.steps}, faults {len(whole.wrong)}")
    print(f"largest deviation {whole.largest:.1e}, seconds {time.perf_counter() - began:.0f}")
    return int(bool(whole.wrong))


if __name__ == "__main__":
    raise SystemExit(main())
