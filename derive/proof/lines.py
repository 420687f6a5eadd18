"""Derivations as plain data: one line for each step, with the same number."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.term import Symbol, SymbolKind
from derive.checker.kernel import check
from derive.checker.ledger import Ledger
from derive.checker.seen import Place
from derive.circuit.model import Circuit
from derive.derivation.algebra import (
    BackSubstitute,
    Collect,
    Combine,
    Define,
    Isolate,
    PutInValues,
    Substitute,
    certificate,
)
from derive.derivation.comparison import Compared
from derive.derivation.course import Course, CourseAt, InitialVoltage, RoundedCourse
from derive.derivation.exchanges import (
    Agree,
    Join,
    LeftBetween,
    Levels,
    LookAtAll,
    LookBetween,
    LookFrom,
    PutBack,
    Replace,
)
from derive.derivation.further import (
    AgainstRating,
    Efficiency,
    Largest,
    Lasts,
    LoadingError,
    OverTime,
    PowerBalance,
    PowerPart,
    PreferredValue,
)
from derive.derivation.laws import (
    AcrossRule,
    Change,
    ChargeRule,
    ChooseUnknowns,
    Crossing,
    GivenValue,
    JunctionRule,
    KnownCurrent,
    LoopRule,
    PartRule,
    PathRule,
    PotentialRule,
    Rated,
    SameCurrent,
)
from derive.derivation.sense import Dimensions, Limit, SpecialCase, Trend
from derive.derivation.spread import End, NoRange, Range, Shares
from derive.derivation.step import BySource, Conclude, Derivation, IdealReading, Round, Step
from derive.derivation.step_id import StepId
from derive.proof import circuit_data
from derive.proof.circuit_data import Data, equation, question, term


@dataclass(frozen=True, slots=True)
class Network:
    """What is left of a network."""

    arms: tuple[tuple[Symbol, Place, Place], ...]
    """With the places where they begin and end."""
    ends: tuple[Place, ...]
    """The two places from which it is seen; none where all is."""


NOTHING_LEFT = Network((), ())


def state(circuit: Circuit, derivation: Derivation) -> Data:
    """Return a circuit with the lines of its derivation."""
    networks = networks_of(circuit, derivation)
    return {
        "circuit": circuit_data.circuit(circuit),
        "lines": [_line(step, k, circuit, networks) for k, step in enumerate(derivation.steps)],
    }


def comparison(found: tuple[Compared, ...]) -> Data:
    """Return what changes, line by line."""
    return [
        {
            "before": line.before,
            "after": line.after,
            "equation": None if line.change is None else equation(line.change),
            "rounded": None if line.rounded is None else _round(line.rounded),
        }
        for line in found
    ]


def networks_of(circuit: Circuit, derivation: Derivation) -> dict[StepId, Network]:
    """Return what is left after each step that begins or changes a network."""
    found: dict[StepId, Network] = {}

    def watch(ledger: Ledger) -> None:
        seen, step = ledger.seen, ledger.steps[ledger.here]
        if seen is not None and isinstance(step, NETWORK_STEPS):
            arms = tuple((symbol, *seen.ends(symbol)) for symbol in seen.arms)
            found[ledger.here] = Network(arms, seen.terminals)

    check(circuit, derivation, watch)
    return found


NETWORK_STEPS = LookAtAll | LookBetween | LookFrom | Replace | Join
_KINDS = {SymbolKind.EMF: "E", SymbolKind.SOURCE_CURRENT: "J"}


def _network(network: Network) -> Data:
    return [
        [_KINDS.get(symbol.kind, "R"), symbol.name, _place(tail), _place(head)]
        for symbol, tail, head in network.arms
    ]


def _place(place: Place) -> str:
    """Return a name of a place within a network; it has no meaning outside of it."""
    name, branch, number = place
    return name if (branch, number) == (0, 0) else f"{name}.{branch}.{number}"


def _rows(rows: tuple[Crossing, ...]) -> Data:
    return [
        [
            row.part,
            row.quantity.name,
            None if row.current is None else row.current.name,
            row.along,
            term(row.change),
        ]
        for row in rows
    ]


def _round(step: Round) -> Data:
    return {
        "kind": "rounding",
        "symbol": step.symbol.name,
        "premise": step.premise,
        "rounded": str(step.rounded),
        "exponent": step.unit_exponent,
        "decimals": step.decimals,
        "exact": step.exact,
        "unit": step.unit.value,
    }


def _end(end: End) -> Data:
    return {
        "value": str(end.value),
        "at": {symbol.name: str(value) for symbol, value in end.at},
        "shown": str(end.shown),
    }


def _text(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


def _line(step: Step, k: StepId, circuit: Circuit, networks: Mapping[StepId, Network]) -> Data:
    line: dict[str, Data] = {"kind": KINDS[type(step)]}
    if hasattr(step, "conclusion"):
        line["equation"] = equation(step.conclusion)
    if isinstance(step, NETWORK_STEPS):
        # What a proof that does not hold says of its networks is left open.
        network = networks.get(k, NOTHING_LEFT)
        line["network"] = _network(network)
        if network.ends:
            line["places"] = [_place(place) for place in network.ends]
    match step:
        case ChooseUnknowns():
            line["branches"], line["junctions"] = step.branches, step.junctions
            line["unknowns"] = [symbol.name for symbol in step.unknowns]
            line["equations"] = [
                step.junction_equations, step.loop_equations, step.voltage_equations
            ]  # fmt: skip
        case JunctionRule():
            line["node"] = step.node
            line["in"] = [symbol.name for symbol in step.flows_in]
            line["out"] = [symbol.name for symbol in step.flows_out]
        case LoopRule():
            line["walk"] = [[hop.branch, hop.along] for hop in step.loop.hops]
            line["rows"] = _rows(step.crossings)
        case Change():
            line["loop"], line["row"] = step.loop, step.row
        case PathRule():
            line["from"], line["to"] = step.origin, step.to
            line["rows"] = _rows(step.crossings)
        case PotentialRule():
            line["from"], line["to"] = step.start, step.point
            line["rows"] = _rows(step.crossings)
        case AcrossRule():
            line["part"], line["rows"] = step.part, _rows(step.crossings)
        case ChargeRule():
            line["points"] = [*step.points]
        case KnownCurrent() | InitialVoltage() | Rated() | IdealReading() | Largest():
            line["part"] = getattr(step, "capacitor", None) or getattr(step, "part", None)
            if isinstance(step, KnownCurrent) and not step.part:
                places = {b.current: k for k, b in enumerate(circuit.all_branches)}
                line["part"] = f"wire {places[step.current]}"
            if isinstance(step, IdealReading):
                line["proof"] = state(dict(circuit.ideal)[step.part], step.derivation)
            if isinstance(step, Largest):
                line["premise"] = step.premise
        case BySource():
            tested = next(t for t in circuit.tested if t.question == step.question)
            line["source"] = tested.source
            line["proof"] = state(tested.circuit, step.derivation)
        case Efficiency():
            line["part"], line["charged"], line["voltage"] = (
                step.battery, step.charged, step.voltage
            )  # fmt: skip
        case Collect() | Substitute() | Combine() | Isolate() | BackSubstitute() | PutInValues():
            proof = certificate(step)
            line["sum"] = [[term(part.multiplier), part.premise] for part in proof.combination]
            line["replacing"] = [*proof.rewriting]
            if isinstance(step, Substitute | Isolate | BackSubstitute):
                line["put_in"] = [*step.definitions]
            if isinstance(step, Isolate):
                line["symbol"] = step.symbol.name
            if isinstance(step, Combine):
                line["eliminated"] = [symbol.name for symbol in step.eliminated]
        case LookBetween():
            line["ends"] = [step.one, step.other]
        case LookFrom():
            line["part"] = step.part
        case Replace():
            line["exchange"] = step.exchange.value
            line["taken"] = [symbol.name for symbol in step.taken]
            line["made"] = [symbol.name for symbol in step.made]
        case Levels():
            line["levels"] = {point: term(level) for point, level in step.levels}
        case Join():
            line["points"] = [*step.points]
        case PutBack():
            line["exchange"], line["arm"] = step.replaced, step.arm.name
        case Agree():
            line["lines"] = [step.one, step.other]
        case Round():
            line = _round(step)
        case PowerBalance():
            line["delivered"], line["taken"] = [*step.delivered], [*step.taken]
            line["totals"] = [*step.totals]
        case PowerPart():
            line["power"], line["balance"] = step.power, step.balance
        case PreferredValue():
            line["series"], line["premise"] = step.series.name, step.premise
            line["below"], line["above"] = str(step.below), str(step.above)
            line["off"] = [str(step.off_below), str(step.off_above)]
        case AgainstRating():
            line["part"], line["power"] = step.part, step.power
            line["rating"], line["load"] = str(step.rating), step.load.value
        case Course():
            line["time"] = step.time.name
        case RoundedCourse():
            line["course"], line["figures"] = step.course, step.figures
            line["near"] = line.pop("equation")  # it is no equation that holds
        case CourseAt():
            line |= {
                "course": step.course, "time_constants": step.time_constants,
                "rounded": str(step.rounded), "exponent": step.unit_exponent,
                "decimals": step.decimals, "exact": step.exact,
            }  # fmt: skip
        case Conclude():
            line |= {
                "question": question(step.question), "symbol": step.symbol.name,
                "formula": step.formula, "value": step.value,
                "rounded": step.rounded, "also": step.also,
            }  # fmt: skip
        case Limit():
            line |= {
                "premise": step.premise, "letter": step.letter.name, "to": step.to.value,
                "limit": None if step.limit is None else term(step.limit),
            }  # fmt: skip
        case SpecialCase():
            line["premise"], line["result"] = step.premise, term(step.result)
            line["assumptions"] = [equation(assumed) for assumed in step.assumptions]
        case Trend():
            line |= {
                "premise": step.premise, "letter": step.letter.name,
                "response": step.response.value, "rate": term(step.rate),
            }  # fmt: skip
        case Dimensions():
            line["premise"] = step.premise
            line["above"], line["below"] = (
                [unit.volt, unit.ohm, unit.second] for unit in (step.above, step.below)
            )
        case Range():
            line |= {
                "answer": step.answer, "symbol": step.symbol.name,
                "low": _end(step.low), "high": _end(step.high),
                "exponent": step.unit_exponent, "decimals": step.decimals,
            }  # fmt: skip
        case NoRange():
            line |= {"symbol": step.symbol.name, "says": step.reason.value}
        case Shares():
            line |= {
                "answer": step.answer, "symbol": step.symbol.name,
                "shares": {s.letter.name: [str(s.value), str(s.shown)] for s in step.shares},
                "total": [str(step.total), str(step.total_shown)],
                "down": _text(step.down), "up": _text(step.up),
                "exponent": step.unit_exponent, "decimals": step.decimals,
            }  # fmt: skip
        case _:
            pass
    return line


KINDS: Mapping[type[Step], str] = {
    ChooseUnknowns: "count", GivenValue: "given", SameCurrent: "same current",
    KnownCurrent: "known current", JunctionRule: "junction", LoopRule: "loop", Change: "change",
    PathRule: "path", PotentialRule: "potential", AcrossRule: "across", ChargeRule: "charge",
    PartRule: "part", Define: "name", Collect: "collect", Substitute: "substitute",
    Combine: "combine", Isolate: "isolate", BackSubstitute: "go back", PutInValues: "put in values",
    LookAtAll: "network", LookBetween: "network", LookFrom: "network", Replace: "exchange",
    Levels: "levels", Join: "join", PutBack: "put back", LeftBetween: "left between",
    BySource: "by a test source", IdealReading: "ideal reading", LoadingError: "loading error",
    Lasts: "lasts", OverTime: "over time", Efficiency: "efficiency", Largest: "largest",
    PreferredValue: "preferred value", Rated: "rated", AgainstRating: "against rating",
    PowerBalance: "balance", PowerPart: "share of power", InitialVoltage: "initially",
    Course: "course", RoundedCourse: "rounded course", CourseAt: "course at", Agree: "agree",
    Round: "rounding", Conclude: "answer", Limit: "limit", SpecialCase: "special case",
    Trend: "trend", Dimensions: "units", Range: "range", NoRange: "remark", Shares: "shares",
}  # fmt: skip
"""What each step is called in a proof."""
