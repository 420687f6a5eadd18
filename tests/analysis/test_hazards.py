"""What calls for a caution, with and without a current; the numbers were worked out by hand."""

import pytest

import derive
from derive.analysis.hazards import Hazards, Stored, find_hazards
from derive.pipeline import solve
from derive.source import Source


def hazards(text: str) -> Hazards:
    solution = solve(Source("scene", f'circuit "x"\n{text}'))
    return find_hazards(solution.circuit, solution.derivation)


CHARGED_UP = "I1: A (-E1+) (R1) B (capacitor C1) A\nR1 = 1 kohm\n"


@pytest.mark.parametrize(
    ("values", "high", "stored"),
    [
        ("E1 = 400 V; C1 = 1 mF", True, (Stored("C1", True),)),  # 80 J at 400 V
        ("E1 = 50 V; C1 = 10 mF", False, (Stored("C1", False),)),  # 12.5 J
        ("E1 = 50 V; C1 = 8 mF", False, ()),  # 10 J are not more than that
        ("E1 = 60 V; C1 = 1 mF", False, ()),
        ("E1 = 61 V", True, (Stored("C1", True),)),  # whatever the capacitance
        ("E1 = -61 V", True, (Stored("C1", True),)),
        ("C1 = 1 mF", False, ()),
    ],
)
def test_a_charged_capacitor_is_found_where_no_current_flows(
    values: str, high: bool, stored: tuple[Stored, ...]
) -> None:
    found = hazards(f"{CHARGED_UP}{values}\nask voltage across C1")
    assert (found.high_voltage, found.stored) == (high, stored)


@pytest.mark.parametrize(
    "text",
    [
        "I1: A (-E1+) B (R1) C (open S1) A\nE1 = 100 V; R1 = 1 kohm\nask voltage A C",
        "I1: A (-E1+) B (R1) C (open S1) A\nE1 = 100 V\nask voltage across S1",
        "I1: A (-E1 r1+) B (voltmeter M1) A\nE1 = 100 V; r1 = 1 ohm\nask reading of M1",
        # 40 V + 40 V, beyond a walk in which a current flows.
        "I1: A (-E1+) (R1) A\n: A (+E2-) B (open S1) C (-E3+) (R2) A\n"
        "E1, E2, E3 = 40 V; R1, R2 = 1 kohm\nask voltage across S1",
    ],
)
def test_a_high_voltage_at_a_gap_is_found(text: str) -> None:
    assert hazards(text).high_voltage


def test_a_capacitor_beside_a_bleeder_keeps_its_charge() -> None:
    bleeder = (
        "I1: A (-E1+) (R1) B\nI2: B (R2) A\n: A (capacitor C1) B\n"
        "R1 = 1 kohm; R2 = {bleeder}; E1 = 400 V; C1 = 1 mF\nask energy in C1"
    )
    assert hazards(bleeder.format(bleeder="1 Mohm")).stored == (Stored("C1", True),)
    # By hand: 400 V · 0.1/1.1 = 36 V, 0.7 J.
    assert hazards(bleeder.format(bleeder="100 ohm")).stored == ()


def test_capacitors_that_share_a_charge_are_found() -> None:
    row = (
        "I1: G (-E1+) P (capacitor C1) M\n: M (capacitor C2) G\nuncharged C1, C2\n"
        "E1 = 90 V; C1 = 1 uF; C2 = 3 uF\nask voltage across C2"
    )
    # By hand: 67.5 V across C1, 22.5 V across C2.
    found = hazards(row)
    assert found.high_voltage
    assert found.stored == (Stored("C1", True),)


SHORTED = "I1: A (-E1 r1+) B\n: A B\nI2: B (R2) A\nE1 = 1.5 V; r1 = {inner}; R2 = 5 ohm\n"


def test_a_battery_whose_terminals_are_joined_by_wire_is_shorted() -> None:
    found = hazards(SHORTED.format(inner="0.1 ohm"))
    assert [s.name for s in found.shorted] == ["E1"]
    assert (found.hot, found.hot_inside) == ((), ())
    small = hazards(SHORTED.format(inner="1 ohm"))  # 1.5 A
    assert small == Hazards()


def test_a_short_circuit_is_no_matter_of_what_is_asked() -> None:
    through_meter = "I1: A (-E1 r1+) B (ammeter M1) A\nE1 = 1.5 V; r1 = 0.1 ohm\nask reading of M1"
    assert [s.name for s in hazards(through_meter).shorted] == ["E1"]
    loaded = "I1: A (-E1 r1+) B (R1) A\nE1 = 12 V; r1 = 0.02 ohm; R1 = 0.1 ohm"
    assert hazards(loaded).shorted == ()  # 100 A, in a load


def test_heat_inside_a_battery_is_told_apart() -> None:
    # By hand: 4 A, 8 W in r1, 40 W in R1.
    found = hazards("I1: A (-E1 r1+) B (R1) A\nE1 = 12 V; r1 = 0.5 ohm; R1 = 2.5 ohm")
    assert [s.name for s in found.hot] == ["R1"]
    assert [s.name for s in found.hot_inside] == ["E1"]


def test_what_one_state_of_a_switch_holds_is_kept() -> None:
    one = Hazards(stored=(Stored("C1", False),), hot_inside=())
    other = Hazards(stored=(Stored("C1", True),))
    assert one.joined(other).stored == other.joined(one).stored == (Stored("C1", True),)


def test_cautions_say_what_was_found() -> None:
    text = derive.read(f'circuit "x"\n{SHORTED.format(inner="0.1 ohm")}').solve().text()
    assert "Never try a short circuit of ℰ₁" in text
    assert "parts rated for more" not in text
