"""Before and after switches change: both states against nodal analysis, and the changes checked."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest

from derive.checker.comparison import check_comparison
from derive.circuit.model import Event
from derive.contract import changes_of, contract_of
from derive.derivation.comparison import Comparison
from derive.derivation.step import Conclude
from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import formula, solve
from derive.proving import Proved, Switching, prove
from derive.source import Source
from tests import random_parts
from tests.circuit_solution.test_all_parts import expected, questions
from tests.random_parts import Scene

LAMPS = Source("lamps", """
I1: A (-E1 r1+) B
I2: B (lamp L1) A
I3: B (closes S1) (lamp L2) A
E1 = 12 V; r1 = 1 ohm
L1 = 12 ohm; L2 = 6 ohm
ask currents
ask voltage across S1
ask power in L1
""")  # fmt: skip


def changing(made: Scene, rng: random.Random) -> tuple[Scene, Scene, str] | None:
    """Let a switch or two of a scene change; return it before and after, and its text."""
    walks = [walk for walk in made.walks.values()
             if walk[0].tail[0] == walk[-1].head[0] == "N"
             and any(p.kind == "resistor" for p in walk)]  # fmt: skip
    switches = [p for walk in walks for p in walk if p.kind in ("open", "closed")]
    if not switches:
        return None
    chosen = rng.sample(switches, min(len(switches), rng.randint(1, 2)))
    other = {"open": "closed", "closed": "open"}
    scenes = []
    for kinds in ({"open": "open", "closed": "closed"}, other):
        scenes.append(
            Scene({
                name: [replace(p, kind=kinds[p.kind]) if p in chosen else p for p in walk]
                for name, walk in made.walks.items()
            })
        )  # fmt: skip
    text = made.text
    for part in chosen:
        text = text.replace(part.text, part.text.replace("open ", "closes ").replace(
            "closed ", "opens "))  # fmt: skip
    return scenes[0], scenes[1], text


def compare(seed: int) -> bool:
    rng = random.Random(seed)
    made = changing(random_parts.scene(rng), rng)
    if made is None:
        return False
    before, after, text = made
    asked = questions(before, rng)
    text += "ask currents\n" + "".join(f"ask {question}\n" for question in asked)
    try:
        answers = [random_parts.solve(scene) for scene in (before, after)]
    except np.linalg.LinAlgError:
        return False
    try:
        found = prove(Source("scene", text), Options(numbers_first=seed % 2 == 0))
    except Rejected as rejected:
        # A voltage between circuits that nothing joins in one state, a source with no way round.
        told = [d.message for d in rejected.diagnostics]
        assert all(t.startswith(("before ", "after ")) for t in told), text
        return False
    assert found.switching is not None
    was = found.switching.before
    states = [contract_of(s.circuit, s.derivation, s.steps, ()) for s in (was, found)]
    currents, others = changes_of(states[1], found.derivation, found.switching.comparison)
    changes = dict(currents)
    answered = {a.ask: a.result for a in others}
    for name, change in changes.items():
        values = [dict(state.currents)[name].exact for state in states]
        for value, answer in zip(values, answers, strict=True):
            assert value is not None
            assert float(value) == pytest.approx(answer.currents[name], abs=1e-7), text
        wanted = answers[1].currents[name] - answers[0].currents[name]
        assert change.exact is not None
        assert float(change.exact) == pytest.approx(wanted, abs=1e-7)
    assert set(changes) == set(answers[0].currents)
    for question, about in asked.items():
        sizes = []
        for scene, answer, state in zip((before, after), answers, states, strict=True):
            part = about
            if not isinstance(about, tuple):
                part = next(p for p in scene.parts if p.name == about.name)  # type: ignore[attr-defined]
            wanted = expected(scene, answer, question, part)
            exact = {a.ask: a.result.exact for a in state.answers}[question]
            assert exact is not None
            assert float(exact) == pytest.approx(wanted, rel=1e-6, abs=1e-6), (question, text)
            sizes.append(wanted)
        change = answered[question].exact
        assert change is not None
        assert float(change) == pytest.approx(sizes[1] - sizes[0], rel=1e-6, abs=1e-6)
    return True


@pytest.mark.parametrize("block", range(3))
def test_both_states_and_the_changes_are_those_of_nodal_analysis(block: int) -> None:
    solved = sum(compare(seed) for seed in range(block * 12, block * 12 + 12))
    assert solved >= 3


@cache
def proved() -> tuple[Proved, Switching]:
    found = prove(LAMPS)
    assert found.switching is not None
    return found, found.switching


def verdict(comparison: Comparison, event: Event | None = None) -> bool:
    found, switching = proved()
    was = switching.before
    states = (was.circuit, was.derivation), (found.circuit, found.derivation)
    return check_comparison(event or switching.event, *states, comparison).accepted


def test_the_comparison_is_accepted() -> None:
    comparison = proved()[1].comparison
    assert len(comparison) == 5
    assert verdict(comparison)


def test_a_changed_comparison_is_refused() -> None:
    comparison = proved()[1].comparison
    forged: list[Comparison] = [comparison[1:], (*comparison, comparison[0]), ()]
    for place, line in enumerate(comparison):
        others = [k for k in range(len(comparison)) if k != place]
        assert line.change is not None
        assert line.rounded is not None
        one = replace(line.change, right=comparison[others[0]].change.right)  # type: ignore[union-attr]
        changes = [
            replace(line, before=comparison[others[0]].before),
            replace(line, after=comparison[others[-1]].after),
            replace(line, before=0),
            replace(line, before=10**6),
            replace(line, change=None, rounded=None),
            replace(line, rounded=None),
            replace(line, change=replace(line.change, left=one.right)),
            replace(line, rounded=replace(line.rounded, rounded=line.rounded.rounded + 1)),
            replace(line, rounded=replace(line.rounded, decimals=line.rounded.decimals - 4)),
            replace(line, rounded=replace(line.rounded, exact=not line.rounded.exact)),
            replace(line, rounded=replace(line.rounded, premise=place + 1)),
        ]
        if one != line.change:
            changes.append(replace(line, change=one))
        forged += [(*comparison[:place], new, *comparison[place + 1 :]) for new in changes]
    for wrong in forged:
        assert not verdict(wrong), wrong


@pytest.mark.parametrize(
    "event",
    [
        Event((), ("S1",)),
        Event((), ()),
        Event(("S1", "S2"), ()),
        Event(("S1",), ("S1",)),
        Event(("L1",), ()),
    ],
)
def test_another_event_is_refused(event: Event) -> None:
    assert not verdict(proved()[1].comparison, event)


def test_two_circuits_that_differ_in_more_than_a_switch_are_refused() -> None:
    found, switching = proved()
    was = switching.before
    before, after = (was.circuit, was.derivation), (found.circuit, found.derivation)
    fewer = replace(found.circuit, values=found.circuit.values[1:])
    asked = replace(found.circuit, questions=found.circuit.questions[1:])
    parts = replace(found.circuit, branches=found.circuit.branches[1:])
    for circuit in (fewer, asked, parts):
        state = circuit, found.derivation
        assert not check_comparison(switching.event, before, state, switching.comparison).accepted
    assert check_comparison(switching.event, before, after, switching.comparison).accepted


def test_letters_have_no_change_in_numbers() -> None:
    found = prove(Source("x", LAMPS.text.replace("L2 = 6 ohm", "")))
    assert found.switching is not None
    lines = found.switching.comparison
    assert {line.change is None for line in lines} == {True, False}
    for line in lines:
        step = found.derivation.steps[line.after]
        assert isinstance(step, Conclude)


def test_formulas_of_both_states() -> None:
    lines = formula(LAMPS)
    assert lines[0] == "# before S1 closes"
    assert lines[1:4] == ("I1 = E1/(r1 + L1)", "I2 = E1/(r1 + L1)", "I3 = 0")
    assert lines[4] == "# after S1 closes"
    letters = {"E1": 12, "r1": 1, "L1": 12, "L2": 6}
    values = {name: Fraction(value) for name, value in letters.items()}
    for line in lines:
        exec(line, {}, values)
    assert [values[name] for name in ("I1", "I2", "I3")] == [Fraction(12, 5), Fraction(4, 5),
                                                             Fraction(8, 5)]  # fmt: skip


def test_a_state_without_a_solution_is_named_with_the_usual_caution() -> None:
    text = "I1: A (-E1+) B\nI2: B (R1) A\nI3: B (closes S1) A\nE1 = 9 V; R1 = 3 ohm\n"
    with pytest.raises(Rejected) as rejected:
        solve(Source("x", text))
    (fault,) = rejected.value.diagnostics
    assert fault.message.startswith("after S1 closes: ")
    assert "short-circuited" in fault.message
    assert any("do not build it" in hint for hint in (*fault.hints, fault.message))
