"""Capacitors that share their charge, against a linear system of the test's own and a handbook."""

from __future__ import annotations

import random
from fractions import Fraction

import numpy as np
import pytest

from derive.contract import contract_of
from derive.diagnostic import Rejected
from derive.options import Options
from derive.pipeline import solve
from derive.proving import prove
from derive.source import Source
from derive.writers.answers_json import Answer
from derive.writers.text import write

PLAIN = Options()


def answers(text: str, options: Options = PLAIN) -> dict[str, Answer]:
    proved = prove(Source("capacitors", text), options)
    found = contract_of(proved.circuit, proved.derivation, proved.steps, ())
    return {answer.ask: answer for answer in found.answers}


def exact(text: str, options: Options = PLAIN) -> dict[str, float]:
    found = answers(text, options)
    return {k: float(a.result.exact) for k, a in found.items() if a.result.exact is not None}


class Network:
    """Capacitors between points, two or three of which a battery and its divider hold."""

    def __init__(self, rng: random.Random) -> None:
        self.held = {"A": 0.0, "B": 12.0, "M": 4.0}  # R1 = 2 ohm above R2 = 1 ohm
        self.islands = [f"X{k}" for k in range(rng.randint(1, 3))]
        points = ["A", "B", *(["M"] if rng.random() < 0.5 else []), *self.islands]
        self.capacitors: list[tuple[str, str, str, Fraction]] = []
        reached = points[: len(points) - len(self.islands)]
        for island in self.islands:
            self._add(rng.choice(reached), island, rng)
            reached.append(island)
        for _ in range(rng.randint(1, 4)):
            one, other = rng.sample(points, 2)
            self._add(one, other, rng)

    def _add(self, one: str, other: str, rng: random.Random) -> None:
        ends = [one, other]
        rng.shuffle(ends)
        value = Fraction(rng.randint(1, 40), rng.choice([1, 2, 5]))
        self.capacitors.append((f"C{len(self.capacitors) + 1}", *ends, value))

    @property
    def text(self) -> str:
        lines = ["I1: A (-E1+) B (R1) M (R2) A", "E1 = 12 V; R1 = 2 ohm; R2 = 1 ohm"]
        lines += [f": {one} (capacitor {name}) {other}" for name, one, other, _ in self.capacitors]
        names = ", ".join(name for name, *_ in self.capacitors)
        return "\n".join([*lines, f"uncharged {names}", *self._questions(names)]) + "\n"

    def _questions(self, names: str) -> list[str]:
        pairs = [f"ask voltage {island} A" for island in self.islands]
        kinds = ("voltage across", "charge on", "energy in")
        return pairs + [f"ask {kind} {names}" for kind in kinds]

    @property
    def values(self) -> str:
        return "".join(f"{name} = {value} F\n" for name, _, _, value in self.capacitors)

    def expected(self) -> dict[str, float]:
        """Solve Σ C·(V − V') = 0 for the potentials of the islands."""
        place = {island: k for k, island in enumerate(self.islands)}
        matrix = np.zeros((len(place), len(place)))
        right = np.zeros(len(place))
        for _, one, other, value in self.capacitors:
            for here, there in ((one, other), (other, one)):
                if here in place:
                    matrix[place[here], place[here]] += float(value)
                    if there in place:
                        matrix[place[here], place[there]] -= float(value)
                    else:
                        right[place[here]] += float(value) * self.held[there]
        found = np.linalg.solve(matrix, right)
        potential = {**self.held, **{island: found[k] for island, k in place.items()}}
        answers = {f"voltage {island} A": potential[island] for island in self.islands}
        for name, one, other, value in self.capacitors:
            across = potential[one] - potential[other]
            answers[f"voltage across {name}"] = across
            answers[f"charge on {name}"] = float(value) * across
            answers[f"energy in {name}"] = float(value) * across**2 / 2
        return answers


@pytest.mark.parametrize("seed", range(40))
def test_random_networks_of_capacitors(seed: int) -> None:
    made = Network(random.Random(seed))
    options = Options(numbers_first=seed % 3 == 0)
    found = exact(made.text + made.values, options)
    expected = made.expected()
    assert found.keys() == expected.keys()
    for asked, value in expected.items():
        assert found[asked] == pytest.approx(value, rel=1e-9, abs=1e-9), asked


@pytest.mark.parametrize("seed", range(0, 40, 4))
def test_formulas_give_the_values(seed: int) -> None:
    made = Network(random.Random(seed))
    letters = answers(made.text)
    known = {"E1": 12, "R1": 2, "R2": 1} | {name: float(v) for name, *_, v in made.capacitors}
    for asked, value in made.expected().items():
        formula = letters[asked].result.formula
        assert formula is not None
        assert eval(formula, {}, known) == pytest.approx(value, rel=1e-9, abs=1e-9), asked


ROW = "I1: A (-E1+) B (capacitor C1) X (capacitor C2) Y (capacitor C3) A\nuncharged C1, C2, C3\n"
BESIDE = "I1: A (-E1+) B (capacitor C1) X\n: X (capacitor C2) A\n: X (capacitor C3) A\n"


def test_the_formulas_of_a_handbook() -> None:
    """1/C = 1/C1 + 1/C2 + 1/C3 in series, C = C2 + C3 in parallel.

    OpenStax, University Physics vol. 2, section 8.2 (from memory).
    """
    known = {"E1": 12.0, "C1": 1e-6, "C2": 5e-6, "C3": 8e-6}
    row = answers(ROW + "ask charge on C1, C2, C3\n")
    for name in ("C1", "C2", "C3"):
        formula = row[f"charge on {name}"].result.formula
        assert formula is not None
        whole = 1 / (1 / known["C1"] + 1 / known["C2"] + 1 / known["C3"])
        assert eval(formula, {}, known) == pytest.approx(whole * 12)
    beside = answers(BESIDE + "uncharged C1, C2, C3\nask charge on C1\n")
    formula = beside["charge on C1"].result.formula
    assert formula is not None
    whole = 1 / (1 / known["C1"] + 1 / (known["C2"] + known["C3"]))
    assert eval(formula, {}, known) == pytest.approx(whole * 12)


def test_the_network_of_a_textbook() -> None:
    """12 V on 12 µF in series with 2 µF and 4 µF side by side: 48 µC, 4 V and 8 V.

    OpenStax, University Physics vol. 2, example 8.8 (from memory); the second of its results,
    Q2 = 16 µC and Q3 = 32 µC, as well.
    """
    text = BESIDE + "E1 = 12 V; C1 = 12 uF; C2 = 2 uF; C3 = 4 uF\nuncharged C1, C2, C3\n"
    found = exact(text + "ask charge on C1, C2, C3\nask voltage across C1, C2, C3\n")
    expected = {"charge on C1": 48e-6, "charge on C2": 16e-6, "charge on C3": 32e-6}
    expected |= {"voltage across C1": 4.0, "voltage across C2": 8.0, "voltage across C3": 8.0}
    assert found == pytest.approx(expected)


def test_a_capacitor_behind_an_open_switch_stays_uncharged() -> None:
    text = "I1: A (-E1+) B (open S1) X (capacitor C1) A\nE1 = 9 V; C1 = 2 uF\nuncharged C1\n"
    found = exact(text + "ask voltage across C1, S1\nask charge on C1\n")
    assert found == {"voltage across C1": 0.0, "voltage across S1": 9.0, "charge on C1": 0.0}


def test_many_capacitors_are_solved_in_numbers_or_not_at_all() -> None:
    """Every two of six points are joined: 432 products would stand in the denominator."""
    points = ["A", "B", "X", "Y", "Z", "W"]
    pairs = [(a, b) for k, a in enumerate(points) for b in points[k + 1 :]][1:]
    walks = "".join(f": {a} (capacitor C{k}) {b}\n" for k, (a, b) in enumerate(pairs, 1))
    names = ", ".join(f"C{k}" for k in range(1, len(pairs) + 1))
    text = f"I1: A (-E1+) (R1) B\nI2: B (R2) A\n{walks}uncharged {names}\nask voltage X A\n"
    with pytest.raises(Rejected, match="denominator of 432 products"):
        answers(text)
    equal = exact(text + f"E1 = 9 V; R1, R2 = 1 ohm\n{names} = 3 uF\n")
    assert equal == pytest.approx({"voltage X A": 4.5 / 2})  # halfway, by symmetry


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (ROW + "ask voltage across C2\n", None),
        (ROW.replace(", C3", "") + "ask charge on C2\n",
         "nothing but the capacitors C1, C2 and C3 leads to the places between them at X and Y, so "
         "the voltages there depend on how they were charged"),
    ],
)  # fmt: skip
def test_without_a_word_of_the_beginning_it_is_refused(text: str, told: str | None) -> None:
    if told is None:
        assert answers(text)
        return
    with pytest.raises(Rejected, match=told) as refused:
        answers(text)
    hint = "if they were without charge before the circuit was connected, write: uncharged C3"
    assert hint in refused.value.diagnostics[0].hints


def test_the_page_tells_what_was_done() -> None:
    text = BESIDE + "E1 = 12 V; C1 = 12 uF; C2 = 2 uF; C3 = 4 uF\nuncharged C1, C2, C3\n"
    page = write(solve(Source("page", text + "ask charge on C1\n")).document)
    for told in (
        "C₁, C₂ and C₃ were without charge before the circuit was connected.",
        "C₂ and C₃ are in parallel",
        "C₁₂₃ = C₁·C₂₃/(C₁ + C₂₃) = ",
        "Q_C₁ = Q₁₂₃ = 48.0 µC",
    ):
        assert told in page


def test_a_charge_of_the_time_before_is_not_forgotten() -> None:
    text = "I1: A (-E1+) B (capacitor C1) X (capacitor C2) A\n: B (opens S1) X\n"
    with pytest.raises(Rejected, match="more than C1, C2 leads to X before the switches change"):
        answers(text + "uncharged C1, C2\nask voltage across C2\n")


def test_tolerances_say_that_they_do_not_reach_shared_charges() -> None:
    text = BESIDE + "I4: B (R1) A\nE1 = 12 V ± 2 %; R1 = 9 ohm\nC1 = 12 uF ± 10 %\n"
    text = text.replace("I1: A (-E1+) B (", "I1: A (-E1+) B\n: B (") + "C2 = 2 uF; C3 = 4 uF\n"
    found = solve(Source("page", text + "uncharged C1, C2, C3\nask charge on C1\n"))
    page = write(found.document)
    assert "No ranges are stated" in page
    assert "where capacitors share" in page
