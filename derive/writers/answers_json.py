"""The answers as JSON, by the contract of schema 1: names and order of the fields are stable."""

from __future__ import annotations

import json
from dataclasses import dataclass
from fractions import Fraction
from math import inf, isinf, nextafter

SCHEMA = 1


@dataclass(frozen=True, slots=True)
class Reach:
    """How far an answer may lie from its nominal value, all values being within tolerance."""

    low: Fraction | None
    """The exact least value; None where no range is stated."""
    high: Fraction | None
    shares: tuple[tuple[str, Fraction], ...]
    """First-order shares by the names of the quantities, signed; exact."""


@dataclass(frozen=True, slots=True)
class Preferred:
    """The values of a series next to a value, which is itself both where it is one of them."""

    series: str
    value: Fraction
    below: Fraction
    above: Fraction


@dataclass(frozen=True, slots=True)
class Result:
    """One value, told by a formula, exactly, and as a decimal."""

    formula: str | None
    """In element names, readable by Python; None where there is none."""
    exact: Fraction | None
    """In SI base units; None when a letter is left."""
    unit: str | None
    """Symbol of the SI unit; None for an answer that is not a quantity."""
    reach: Reach | None = None
    """None where no value has a tolerance."""
    preferred: Preferred | None = None
    """None where no preferred value is asked for."""


@dataclass(frozen=True, slots=True)
class Answer:
    """The answer to one question of the file."""

    ask: str
    """The question in the words of the circuit language, without ``ask``."""
    result: Result


@dataclass(frozen=True, slots=True)
class TransientAnswer:
    """How a capacitor goes from the start to its steady state."""

    ask: str
    formula: str | None
    """Its voltage as a function of the time ``t`` in seconds, readable by Python with ``exp`` from
    `math`; None where formulas are not told."""
    current: str | None
    """The current to it, likewise."""
    time: str
    """What the time is called in the formulas."""
    initial: Result
    final: Result
    resistance: Result
    """What the capacitor sees."""
    time_constant: Result


@dataclass(frozen=True, slots=True)
class ReductionStep:
    """One exchange of parts for others, or points that are joined."""

    exchange: str
    taken: tuple[str, ...]
    """Names of parts, or of points."""
    made: tuple[tuple[str, str], ...]
    """Names and formulas in text that Python can read; empty for what is left out."""


@dataclass(frozen=True, slots=True)
class Reducible:
    """Whether the circuit is one resistor with batteries, and which test decided."""

    verdict: bool
    reason: str
    test: str = ""
    """The name of the test that decided."""
    steps: tuple[ReductionStep, ...] = ()
    sees: tuple[tuple[str, Result], ...] = ()
    """For each battery that is left alone with one resistance, that resistance."""


@dataclass(frozen=True, slots=True)
class Tells:
    """One thing that a formula tells; positive letters are meant throughout."""

    kind: str
    """``limit``, ``special case``, ``trend`` or ``units``."""
    of: str
    """The symbol whose formula it is."""
    fields: tuple[tuple[str, str | tuple[tuple[str, str], ...] | None], ...]
    """What is told, by names of its own; pairs are the sides of equations."""


@dataclass(frozen=True, slots=True)
class RatedPart:
    """What a part is made for, and what it takes."""

    part: str
    voltage: Fraction | None
    """None for a resistor."""
    rated_power: Fraction
    power: Fraction | None
    """None where letters are left."""
    over: bool | None
    """Whether it takes more than it is rated for; None where letters are left."""


@dataclass(frozen=True, slots=True)
class Switched:
    """What was before switches changed. The contract that holds this tells what is after."""

    closes: tuple[str, ...]
    opens: tuple[str, ...]
    """The switches that close and that open."""
    before: Contract
    currents: tuple[tuple[str, Result], ...]
    """By how much each current changes; the change has no formula."""
    answers: tuple[Answer, ...]
    """By how much the other answers change."""


@dataclass(frozen=True, slots=True)
class Contract:
    """All that the contract holds."""

    circuit: str
    """The title."""
    branches: int
    junctions: int
    reducible: Reducible
    unknowns: tuple[str, ...]
    currents: tuple[tuple[str, Result], ...]
    """Every walk of the file by the name of its current, in file order."""
    answers: tuple[Answer, ...]
    checked: bool
    steps: int
    warnings: tuple[str, ...]
    tells: tuple[Tells, ...] = ()
    """What the general formulas tell; empty where there are none, or none that is short."""
    transients: tuple[TransientAnswer, ...] = ()
    """Written among the answers, behind the others."""
    ratings: tuple[RatedPart, ...] = ()
    """The rated parts in file order; where there are none, the JSON has no word of them."""
    switching: Switched | None = None
    """None where no switch changes; then the JSON has no word of it."""


def write(contract: Contract) -> str:
    """Return the contract as JSON text with a newline at its end."""
    fields = {"schema": SCHEMA, **_fields(contract)}
    if contract.switching is not None:
        fields["switching"] = _switched(contract.switching)
    return json.dumps(fields, ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def _switched(switching: Switched) -> dict[str, object]:
    return {
        "closes": list(switching.closes),
        "opens": list(switching.opens),
        "before": _fields(switching.before),
        "changes": {
            "currents": {name: _result(result) for name, result in switching.currents},
            "answers": [{"ask": a.ask, **_result(a.result)} for a in switching.answers],
        },
    }


def _fields(contract: Contract) -> dict[str, object]:
    return {
        "circuit": contract.circuit,
        "branches": contract.branches,
        "junctions": contract.junctions,
        "reducible": {
            "verdict": contract.reducible.verdict,
            "reason": contract.reducible.reason,
            "test": contract.reducible.test,
            "steps": [
                {"exchange": s.exchange, "taken": list(s.taken), "made": dict(s.made)}
                for s in contract.reducible.steps
            ],
            "sees": {name: _result(result) for name, result in contract.reducible.sees},
        },
        "unknowns": list(contract.unknowns),
        "currents": {name: _result(result) for name, result in contract.currents},
        "answers": [
            *({"ask": a.ask, **_result(a.result)} for a in contract.answers),
            *map(_transient, contract.transients),
        ],
        "tells": [_told(told) for told in contract.tells],
        **({"ratings": list(map(_rated, contract.ratings))} if contract.ratings else {}),
        "checked": contract.checked,
        "steps": contract.steps,
        "warnings": list(contract.warnings),
    }


def _rated(part: RatedPart) -> dict[str, object]:
    """Return what a part is made for as exact fractions in SI base units."""
    return {
        "part": part.part,
        **({} if part.voltage is None else {"rated_voltage": str(part.voltage)}),
        "rated_power": str(part.rated_power),
        "power": None if part.power is None else str(part.power),
        "over": part.over,
    }


def _told(told: Tells) -> dict[str, object]:
    fields = {k: dict(v) if isinstance(v, tuple) else v for k, v in told.fields}
    return {"kind": told.kind, "of": told.of, **fields}


def _transient(answer: TransientAnswer) -> dict[str, object]:
    return {
        "ask": answer.ask,
        "formula": answer.formula,
        "exact": None,
        "value": None,
        "unit": "V",
        "current": answer.current,
        "time": answer.time,
        "initial": _result(answer.initial),
        "final": _result(answer.final),
        "resistance": _result(answer.resistance),
        "time_constant": _result(answer.time_constant),
    }


def _result(result: Result) -> dict[str, object]:
    return {
        "formula": result.formula,
        "exact": None if result.exact is None else str(result.exact),
        "value": None if result.exact is None else _nearest_float(result.exact),
        "unit": result.unit,
        **({} if result.reach is None else _reach(result.reach)),
        **({} if result.preferred is None else {"preferred": _preferred(result.preferred)}),
    }


def _preferred(found: Preferred) -> dict[str, str]:
    """Return the neighbours of a value as exact fractions in SI base units."""
    return {
        "series": found.series,
        "of": str(found.value),
        "below": str(found.below),
        "above": str(found.above),
    }


def _reach(reach: Reach) -> dict[str, object]:
    """Return the range and the shares; as doubles the ends lie outside of the exact ones."""
    ends = None
    if reach.low is not None and reach.high is not None:
        ends = {
            "low": _beyond(reach.low, -1),
            "high": _beyond(reach.high, 1),
            "exact_low": str(reach.low),
            "exact_high": str(reach.high),
        }
    shares = {n: {"exact": str(v), "value": _nearest_float(v)} for n, v in reach.shares}
    return {"range": ends, "shares": shares}


def _beyond(value: Fraction, outwards: int) -> float | None:
    """Return the double at a value, or the next one outwards."""
    found = _nearest_float(value)
    if found is None or isinf(found) or (Fraction(found) - value) * outwards >= 0:
        return found
    return nextafter(found, outwards * inf)


def _nearest_float(value: Fraction) -> float | None:
    """Return the double nearest to a value; None beyond the range of doubles."""
    try:
        return float(value)
    except OverflowError:
        return None
