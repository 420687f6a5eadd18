"""Recipes: what follows the values follows them rightly, and all the rest is known as fixed."""

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from derive.algebra.dimension import AMPERE, OHM, VOLT
from derive.algebra.term import (
    Number,
    Product,
    Quantity,
    Quotient,
    Sum,
    constant,
    current,
    emf,
    product,
    resistance,
)
from derive.algebra.term import replace as put_in
from derive.checker.kernel import check
from derive.circuit.elaborate import load
from derive.circuit.values import evaluate
from derive.derivation.step import Conclude
from derive.document.live import follow
from derive.document.live_sides import ChainRecipe, How, InputRecipe, PutIn, put_into, recipe_of
from derive.document.live_values import Live, live_values, value_of
from derive.document.model import AnswerLine, Box, Chain, Display, Relation, SideBySide, Values
from derive.document.narrate import narrate
from derive.drawing.reckoning import style_of
from derive.options import Options
from derive.source import Source
from derive.typesetting.style import Decimal
from tests.example_solutions import NAMES, solved
from tests.random_circuits import nodal_currents, random_circuit

NOT_YET = ("balance", "dimmer", "flash_charging", "follower", "greenhouse_fan", "relay_timer")
"""With sought values, largest powers, courses in time, dependent sources, and switches that change."""


def chains_of(blocks):
    for block in blocks:
        if isinstance(block, Display):
            yield from (row.chain for row in block.rows)
        elif isinstance(block, Values | AnswerLine):
            yield from block.chains
        elif isinstance(block, SideBySide):
            yield from chains_of(block.left + block.right)
        elif isinstance(block, Box):
            yield from chains_of(block.blocks)


@pytest.mark.parametrize("name", NAMES)
def test_every_number_has_a_recipe_or_is_fixed(name: str) -> None:
    solution = solved(name)
    if solution.switching is not None:
        assert solution.live() is None  # two circuits on one page
        return
    live = follow(solution.document, solution.circuit, solution.derivation)
    if live is None:
        # All others have values, and their numbers follow.
        circuit = solution.circuit
        still = circuit.sought or circuit.dependent or circuit.ratings
        letters = ("lantern_frame", "letters", "divider", "bridge_letters")
        # The script of a page knows the units of the SI only, no Wh and no per cent.
        trade = ("wheelchair", "multimeter", "earpiece")
        assert name in (*letters, *trade, *NOT_YET) or still
        return
    for section in solution.document.sections:
        for chain in chains_of(section.blocks):
            shown = [side.digits for side in chain.sides if isinstance(side, Decimal)]
            if any(digits.strip("0.") for digits in shown):  # zero is so whatever the values are
                assert chain in live.recipes


@pytest.mark.parametrize("name", NAMES)
def test_formulas_give_what_was_concluded(name: str) -> None:
    solution = solved(name)
    live = live_values(solution.circuit, solution.derivation)
    if live is None:
        return
    for step in solution.derivation.steps:
        if isinstance(step, Conclude):
            assert step.value is not None
            value = evaluate(solution.derivation.equation(step.value).right)
            assert live.file[step.symbol] == value


@pytest.mark.parametrize("name", ["boat_batteries", "four_loops", "strain_bridge"])
def test_numbers_first_has_nothing_to_follow(name: str) -> None:
    solution = solved(name, Options(numbers_first=True))
    assert follow(solution.document, solution.circuit, solution.derivation) is None


def test_letters_have_nothing_to_follow() -> None:
    solution = solved("letters")
    assert follow(solution.document, solution.circuit, solution.derivation) is None


def test_trials_agree_with_nodal_analysis() -> None:
    """The values of every trial are those of numpy's nodal analysis."""
    tried = 0
    for seed in range(16):
        circuit = random_circuit(random.Random(seed), loops=(2, 3))
        from derive.analysis.answers import derive

        derivation = derive(circuit)
        assert check(circuit, derivation).accepted
        live = live_values(circuit, derivation)
        if live is None:
            continue
        tried += 1
        for known in live.trials:
            changed = replace(
                circuit,
                values=tuple(
                    replace(v, value=replace(v.value, value=known[v.symbol]))
                    if v in live.inputs
                    else v
                    for v in circuit.values
                ),
            )
            flows = nodal_currents(changed)
            for branch, flow in zip(circuit.branches, flows, strict=True):
                assert float(known[branch.current]) == pytest.approx(flow, rel=1e-6, abs=1e-9)
        document = narrate(circuit, derivation, style_of(circuit))
        assert follow(document, circuit, derivation) is not None
    assert tried > 12


R1, R2, E1, I1 = resistance("R1"), resistance("R2"), emf("E1"), current("I1")


def little() -> Live:
    text = "I1: A (-E1+) (R1) (R2) A\nE1 = 12 V; R1 = 2 ohm; R2 = 4 ohm\nask currents\n"
    circuit = load(Source("x", text)).circuit
    file = {E1: Fraction(12), R1: Fraction(2), R2: Fraction(4), I1: Fraction(2)}
    other = {E1: Fraction(5), R1: Fraction(3), R2: Fraction(2), I1: Fraction(1)}
    return Live(circuit.values, ((I1, Quotient(E1, Sum((R1, R2)))),), (file, other), ())


def volts(value: int) -> Quantity:
    return Quantity(Fraction(value), VOLT)


def ohms(value: int) -> Quantity:
    return Quantity(Fraction(value), OHM)


FORMULA = Quotient(E1, Sum((R1, R2)))
EQUAL = Relation.EQUAL


def recipe(*sides, others=()):
    return recipe_of(Chain(sides, (EQUAL,) * (len(sides) - 1)), little(), others, 0)


def test_the_three_ways_to_put_numbers_in() -> None:
    known = little().file
    assert put_into(PutIn(How.LETTERS, Product((R1, I1))), known, 0) == Product(
        (ohms(2), Quantity(Fraction(2), AMPERE))
    )
    batteries = PutIn(How.BATTERIES, Quotient(product(Sum((R1, R2)), E1), Sum((R1, R2))))
    assert put_into(batteries, known, 0) == Quotient(Product((ohms(6), volts(12))), ohms(6))
    squares = Sum((Product((R1, R2)), Product((R1, R1))))
    bare = [Number(Fraction(n)) for n in (2, 4, 2, 2)]
    shown = Sum((Product((bare[0], bare[1])), Product((bare[2], bare[3]))))
    unit = Quantity(Fraction(1), OHM**2)
    assert put_into(PutIn(How.PRODUCTS, squares), known, 0) == Product((shown, unit))


def test_a_recipe_is_taken_only_where_it_gives_the_side() -> None:
    good = recipe(I1, FORMULA, Quotient(volts(12), ohms(6)), constant(Fraction(2), AMPERE))
    assert isinstance(good, ChainRecipe)
    assert (good.kept, len(good.put_in), good.exact, good.rounded) == (2, 1, True, False)
    assert recipe(I1, FORMULA, Quotient(volts(12), ohms(7))) is None
    assert recipe(I1, FORMULA, constant(Fraction(3), AMPERE)) is None


def test_what_is_true_of_the_file_by_chance_gets_no_recipe() -> None:
    # I1 = R1 / (1 Ω) A, and I1·R1 = R2 · 1 A, in the file only.
    assert (
        recipe(I1, Quotient(E1, Product((R1, Sum((R1,))))), constant(Fraction(2), AMPERE)) is None
    )
    assert recipe(Product((R1, I1)), R2, Quantity(Fraction(4), VOLT)) is None


def test_a_sum_that_is_zero_by_chance_gets_no_recipe() -> None:
    terms = Sum((E1, product(Number(Fraction(-6)), R1)))
    shown = put_in(terms, {s: constant(v, s.dimension) for s, v in little().file.items()})
    assert value_of(terms, little().file) == 0
    assert recipe(shown, Number(Fraction(0)), others=(terms,)) is None


def test_given_values_are_inputs() -> None:
    solution = solved("charging")
    live = follow(solution.document, solution.circuit, solution.derivation)
    assert live is not None
    inputs = [r.symbol.name for r in live.recipes.values() if isinstance(r, InputRecipe)]
    assert sorted(inputs) == sorted(v.symbol.name for v in live.live.inputs)
