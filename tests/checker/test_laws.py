"""The laws the checker reads off a circuit, against modified nodal analysis in numpy."""

from __future__ import annotations

import random

import networkx  # type: ignore[import-untyped]
import pytest

from derive.algebra.term import Negative, Number, Power, Product, Sum, Symbol, Term
from derive.checker import laws, walks
from derive.checker.system import equations, fundamental_loops, power_balance
from derive.circuit.model import Circuit
from tests.checker.sound import I1, I2, one_loop, only_letters
from tests.random_circuits import nodal_currents, numeric_value, random_circuit

SEEDS = range(25)


def _circuit(seed: int) -> Circuit:
    return random_circuit(random.Random(seed), loops=(1, 7))


def _value(circuit: Circuit, term: Term, currents: dict[Symbol, float]) -> float:
    match term:
        case Symbol():
            return currents[term] if term in currents else numeric_value(circuit, term)
        case Number(value):
            return float(value)
        case Negative(inner):
            return -_value(circuit, inner, currents)
        case Sum(terms):
            return sum(_value(circuit, item, currents) for item in terms)
        case Product(factors):
            found = 1.0
            for factor in factors:
                found *= _value(circuit, factor, currents)
            return found
        case Power(base, exponent):
            return _value(circuit, base, currents) ** exponent
        case _:
            raise TypeError(term)


def _currents(circuit: Circuit) -> dict[Symbol, float]:
    solved = nodal_currents(circuit)
    found = {
        walk.current: solved[walk.branch] * (1 if walk.along else -1) for walk in circuit.walks
    }
    return {b.current: v for b, v in zip(circuit.branches, solved, strict=True)} | found


@pytest.mark.parametrize("seed", SEEDS)
def test_the_true_currents_satisfy_every_equation(seed: int) -> None:
    circuit = _circuit(seed)
    currents = _currents(circuit)
    balance = [("power", power_balance(circuit))]
    for name, equation in [*equations(circuit), *balance]:
        left, right = (_value(circuit, side, currents) for side in (equation.left, equation.right))
        assert left == pytest.approx(right, rel=1e-9, abs=1e-6), name


@pytest.mark.parametrize("seed", SEEDS)
def test_the_loops_are_as_many_as_the_circuit_has_and_independent(seed: int) -> None:
    circuit = _circuit(seed)
    graph = networkx.MultiGraph((b.tail, b.head) for b in circuit.branches)
    found = list(fundamental_loops(circuit))
    expected = (
        graph.number_of_edges()
        - graph.number_of_nodes()
        + networkx.number_connected_components(graph)
    )
    assert len(found) == expected
    # Each holds a branch that no other one holds.
    own = [loop.hops[0].branch for loop in found]
    assert all(sum(hop.branch == k for loop in found for hop in loop.hops) == 1 for k in own)


def test_a_battery_shows_its_emf_first_along_the_arrow() -> None:
    circuit = one_loop().circuit
    (loop,) = fundamental_loops(circuit)
    assert [row.quantity.name for row in walks.loop_rows(circuit, loop)] == ["E1", "r1", "R1"]


def test_a_current_that_only_leaves_is_among_those_that_flow_out() -> None:
    circuit = only_letters().circuit
    into, out = laws.flows(circuit, "A")
    assert into == ()
    assert out[:2] == (I1, I2)


def test_a_loop_hung_on_one_node_is_in_no_junction_equation() -> None:
    circuit = one_loop().circuit
    assert laws.flows(circuit, "A") == ((), ())
