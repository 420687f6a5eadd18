"""Zero resistances, zero and negative emfs, letters among numbers: solved, accepted and written."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.term import SymbolKind
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.expansion import count_terms
from derive.circuit.model import Circuit
from derive.circuit.solution import NoUniqueSolution
from derive.circuit.solvability import solvability
from derive.circuit.valuation import Given, Valuation
from derive.document.narrate import narrate
from derive.typesetting.style import Style
from derive.writers import latex, text
from tests.random_circuits import random_circuit


def odd(valuation: Valuation, rng: random.Random, *, zeros: bool) -> Valuation:
    """Return a value that may have become zero or negative."""
    value = valuation.value
    if not isinstance(value, Given) or not zeros:
        return valuation
    number = value.value
    if valuation.symbol.kind is SymbolKind.RESISTANCE and rng.random() < 0.2:
        number = Fraction(0)
    elif valuation.symbol.kind is SymbolKind.EMF and rng.random() < 0.2:
        number = Fraction(rng.choice([0, -3]))
    return replace(valuation, value=replace(value, value=number))


def odd_circuit(seed: int) -> Circuit:
    rng = random.Random(seed)
    case = random_circuit(rng, loops=(1, 4))
    zeros, gaps = seed % 3 != 1, seed % 3 != 0
    kept = [v for v in case.values if not gaps or rng.random() < 0.7]
    return replace(case, values=tuple(odd(v, rng, zeros=zeros) for v in kept))


@pytest.mark.parametrize("numbers_first", [False, True])
@pytest.mark.parametrize("seed", range(60))
def test_odd_values(seed: int, numbers_first: bool) -> None:
    case = odd_circuit(seed)
    if solvability(case) is not None or count_terms(case) > 300:
        return
    try:
        derivation = derive(case, numbers_first=numbers_first)
    except NoUniqueSolution:
        return
    assert check(case, derivation).refusal is None
    document = narrate(case, derivation, Style())
    assert "Answers" in text.write(document)
    assert latex.write(document)


def test_most_of_them_are_solved() -> None:
    assert sum(solvability(odd_circuit(seed)) is None for seed in range(60)) > 30
