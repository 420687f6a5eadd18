"""Loops and laws on circuits built by hand: a bridge, windows, loops hung on one point."""

import pytest

from derive.algebra.term import ZERO, Equation, Negative, Product, Sum, current, emf, resistance
from derive.analysis.laws import junction_rule, loop_rule, path_rule
from derive.analysis.loops import DependentLoops, choose_loops, window_order, windows
from derive.analysis.relations import part_rule
from derive.circuit.elements import Battery, Resistor
from derive.circuit.model import Branch, Choices, Circuit, Hop, Loop, Node, Passage, WalkCurrent
from derive.derivation.laws import PartLaw


def branch(name: str, tail: str, head: str, *parts: str) -> Branch:
    """Parts as ``R1``, ``+E1`` (met − first) or ``-E1`` (met + first)."""
    passages = tuple(
        Passage(Battery(p[1:]), p[0] == "+") if p[0] in "+-" else Passage(Resistor(p))
        for p in parts
    )
    stations = ((tail,), *(() for _ in parts[1:]), (head,))
    return Branch(current(name), tail, head, passages, stations)


def circuit(*branches: Branch, choices: Choices | None = None) -> Circuit:
    names = list(dict.fromkeys(end for b in branches for end in (b.tail, b.head)))
    nodes = tuple(
        Node(n, (n,), sum((b.tail == n) + (b.head == n) for b in branches)) for n in names
    )
    walks = tuple(WalkCurrent(b.current, k, True) for k, b in enumerate(branches))
    return Circuit("", "", nodes, branches, walks, (), (), choices=choices or Choices())


PUMP = circuit(
    branch("I1", "A", "C", "+E1", "R1"),
    branch("I2", "A", "C", "R4", "+E2", "R2"),
    branch("I3", "C", "A", "R3"),
)
BRIDGE = circuit(
    branch("I1", "A", "B", "R1"), branch("I2", "A", "D", "R2"), branch("I3", "B", "C", "R3"),
    branch("I4", "D", "C", "R4"), branch("I5", "B", "D", "R5"), branch("I6", "C", "A", "+E1", "R6"),
)  # fmt: skip


def test_windows_put_the_plain_branch_in_the_middle() -> None:
    assert window_order(PUMP) == (0, 2, 1)
    choice = choose_loops(PUMP)
    assert choice.windows
    assert [[hop.branch for hop in loop.hops] for loop in choice.loops] == [[0, 2], [1, 2]]
    assert choice.check is not None
    assert {hop.branch for hop in choice.check.hops} == {0, 1}


def test_loops_with_a_bare_battery_give_one_current_each() -> None:
    """Three resistors side by side on a battery without resistance; the figure keeps its windows."""
    parallel = circuit(
        branch("I1", "A", "B", "R1"), branch("I2", "B", "A", "+E1"),
        branch("I3", "A", "B", "R2", "-E2"), branch("I4", "A", "B", "R3"),
    )  # fmt: skip
    choice = choose_loops(parallel)
    assert [{hop.branch for hop in loop.hops} for loop in choice.loops] == [{0, 1}, {1, 2}, {1, 3}]
    assert not choice.windows
    shown = [{hop.branch for hop in loop.hops} for loop in windows(parallel)]
    assert shown == [{0, 1}, {1, 2}, {2, 3}]


def test_loop_rule_gives_each_change_its_sign() -> None:
    # Sign rule of the trade: −RI along the arrow, +E from − to + (common practice, no source).
    step = loop_rule(PUMP, choose_loops(PUMP).loops[1], "2")
    i2, i3 = current("I2"), current("I3")
    changes = (
        Negative(Product((resistance("R4"), i2))), emf("E2"),
        Negative(Product((resistance("R2"), i2))), Negative(Product((resistance("R3"), i3))),
    )  # fmt: skip
    assert step.conclusion == Equation(Sum(changes), ZERO)


def test_bridge_gets_three_independent_short_loops() -> None:
    choice = choose_loops(BRIDGE)
    assert len(choice.loops) == 3
    assert {hop.branch for hop in choice.loops[0].hops} == {0, 1, 4}
    assert {hop.branch for loop in choice.loops for hop in loop.hops} == set(range(6))


def test_every_loop_is_a_closed_walk() -> None:
    for loop in choose_loops(BRIDGE).loops:
        ends = [
            (b.tail, b.head) if hop.along else (b.head, b.tail)
            for hop in loop.hops
            for b in [BRIDGE.branches[hop.branch]]
        ]
        assert all(ends[k][0] == ends[k - 1][1] for k in range(len(ends)))


def test_loops_hung_on_one_point() -> None:
    hinged = circuit(branch("I1", "A", "A", "+E1", "R1"), branch("I2", "A", "A", "+E2", "R2"))
    assert [loop.hops for loop in choose_loops(hinged).loops] == [
        (Hop(0, True),), (Hop(1, True),)
    ]  # fmt: skip
    assert junction_rule(hinged, hinged.nodes[0]).conclusion == Equation(ZERO, ZERO)


def test_a_dependent_choice_names_the_loops_it_follows_from() -> None:
    two = (Loop((Hop(0, True), Hop(2, True))), Loop((Hop(1, True), Hop(2, True))))
    third = Loop((Hop(0, True), Hop(1, False)))
    refused = circuit(*PUMP.branches, choices=Choices(loops=(*two, third)))
    with pytest.raises(DependentLoops) as caught:
        choose_loops(refused)
    assert (caught.value.index, caught.value.others) == (2, (0, 1))


def test_junction_rule_counts_in_and_out() -> None:
    step = junction_rule(PUMP, PUMP.nodes[1])
    assert step.conclusion == Equation(Sum((current("I1"), current("I2"))), current("I3"))


def test_path_and_part_rules() -> None:
    path = path_rule(PUMP, "A", "C")
    assert path.conclusion.right == Product((resistance("R3"), current("I3")))
    delivered = part_rule(PUMP, "E2", PartLaw.POWER_OF)
    assert delivered.conclusion.right == Product((emf("E2"), current("I2")))
