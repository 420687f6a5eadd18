"""Energy and charge over a time, and the efficiency of a battery."""

from __future__ import annotations

from enum import Enum
from fractions import Fraction

from derive.algebra.dimension import COULOMB, JOULE, NUMBER, SECOND
from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    Equation,
    Negative,
    Product,
    Quantity,
    Quotient,
    Symbol,
    SymbolKind,
    Term,
    auxiliary,
    symbols,
    without_zeros,
)
from derive.algebra.term import replace as put_in
from derive.algebra.unit import Unit
from derive.analysis.by_voltage import Answered, law_by_voltage, ties, with_factor
from derive.analysis.conclude import formula_of, rounded_value
from derive.analysis.evaluate import Known, put_values
from derive.analysis.relations import part_rule
from derive.analysis.rounding import rounded
from derive.analysis.solve import Currents
from derive.circuit.elements import Battery, CurrentSource
from derive.circuit.model import Circuit
from derive.circuit.question import (
    AskChargeOf,
    AskChargeThrough,
    AskEfficiency,
    AskEnergyIn,
    AskEnergyOf,
    Duration,
    Question,
)
from derive.derivation.algebra import BackSubstitute
from derive.derivation.builder import Builder
from derive.derivation.further import Efficiency, Kept, Lasts, OverTime
from derive.derivation.laws import PartLaw
from derive.derivation.step import Conclude
from derive.derivation.step_id import StepId

AskOverTime = AskEnergyIn | AskEnergyOf | AskChargeThrough | AskChargeOf
OVER_TIME = (AskEnergyIn, AskEnergyOf, AskChargeThrough, AskChargeOf)


class Useless(Enum):
    """Why a battery does nothing that is of use."""

    STILL = "no current flows in {battery}"
    EMPTY = "the emf of {battery} is 0 V and delivers nothing"
    LOST = "all that {battery} gives, and more, is lost in its own internal resistance"


class NoEfficiency(ValueError):  # noqa: N818  (a finding about the circuit)
    """A battery does nothing that is of use, so that no efficiency can be told of it."""

    def __init__(self, battery: str, reason: Useless) -> None:
        """Keep the battery and the reason."""
        super().__init__(reason.value.format(battery=battery))
        self.battery = battery
        self.reason = reason


def answer_over_time(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: AskOverTime,
    digits: int,
) -> None:
    """Answer by a steady power or current, and the time."""
    time = question.time
    symbol = auxiliary(f"t({time.text})", SECOND)
    lasts = builder.add(
        Lasts(time=time, conclusion=Equation(symbol, Quantity(time.seconds, SECOND)))
    )
    rate: Answered | None = None
    match question:
        case AskEnergyIn(part=part):
            kind, law_of = Kept.ENERGY_IN, PartLaw.POWER_IN
            rate = _power(circuit, found, known, builder, part, law_of, digits)
        case AskEnergyOf(battery=part):
            kind, law_of = Kept.ENERGY_OF, PartLaw.POWER_OF
            rate = _power(circuit, found, known, builder, part, law_of, digits)
        case AskChargeThrough(part=part):
            kind = Kept.CHARGE_THROUGH
        case AskChargeOf(battery=part):
            kind = Kept.CHARGE_OF
    rule = builder.add(over_time(circuit, kind, part, time))
    law = builder.equation(rule)
    assert isinstance(law.left, Symbol)
    further: dict[Symbol, StepId] = {symbol: lasts}
    formula = None
    if rate is None:
        formula = _charge_in_letters(found, builder, rule) if found.formulas else None
    else:
        if rate.formula is not None:
            right = with_factor(law.right, rate.symbol, builder.equation(rate.formula).right)
            formula = builder.add(
                BackSubstitute(
                    premise=rule, definitions=(rate.formula,), conclusion=Equation(law.left, right)
                )
            )
        if rate.value is not None:
            further[rate.symbol] = rate.value
            rounded_value(builder, rate.value, digits)
    value = put_values(known, builder, rule, further) if found.values else None
    trade = Unit.WATT_HOUR if law.left.kind is SymbolKind.ENERGY else Unit.AMPERE_HOUR
    _answer(found, builder, question, Answered(law.left, formula, value), digits,
            also=None if time.unit is Unit.SI else trade)  # fmt: skip


def over_time(circuit: Circuit, kind: Kept, part: str, time: Duration) -> OverTime:
    """Return the law that gives an energy or a charge over a time."""
    match kind:
        case Kept.ENERGY_IN | Kept.ENERGY_OF:
            law = PartLaw.POWER_IN if kind is Kept.ENERGY_IN else PartLaw.POWER_OF
            head, unit, sort = "W", JOULE, SymbolKind.ENERGY
            rate: Term = part_rule(circuit, part, law).conclusion.left
        case Kept.CHARGE_THROUGH | Kept.CHARGE_OF:
            head, unit, sort = "Q", COULOMB, SymbolKind.CHARGE
            rate = part_rule(circuit, part, PartLaw.CURRENT).conclusion.right
    if kind is Kept.CHARGE_OF:
        rate = _leaving(circuit, part, rate)
    head += "d" if kind in (Kept.ENERGY_OF, Kept.CHARGE_OF) else ""
    left = Symbol(f"{head}({part},{time.text})", sort, unit)
    duration = auxiliary(f"t({time.text})", SECOND)
    negative = isinstance(rate, Negative)
    size = Product((rate.term if isinstance(rate, Negative) else rate, duration))
    right: Term = Negative(size) if negative else size
    return OverTime(kind=kind, part=part, time=time, conclusion=Equation(left, right))


def _leaving(circuit: Circuit, battery: str, along_walk: Term) -> Term:
    """Return the current that leaves at the + terminal, from that along the battery's walk."""
    index, position = circuit.find_branch(battery)
    if index >= len(circuit.branches):
        return along_walk
    branch = circuit.branches[index]
    return branch.current if branch.passages[position].along else Negative(branch.current)


def _charge_in_letters(found: Currents, builder: Builder, rule: StepId) -> StepId:
    """Put the formula of a current into its charge, as one fraction."""
    law = builder.equation(rule)
    used = [s for s in dict.fromkeys(symbols(law.right)) if s in found.formulas]
    if not used:
        nothing = Equation(law.left, without_zeros(law.right))  # where no current can flow
        if nothing == law:
            return rule
        return builder.add(BackSubstitute(premise=rule, definitions=(), conclusion=nothing))
    right = with_factor(law.right, used[0], builder.equation(found.formulas[used[0]]).right)
    return builder.add(
        BackSubstitute(
            premise=rule,
            definitions=(found.formulas[used[0]],),
            rewriting=(*found.definitions, *ties(found, builder)),
            conclusion=Equation(law.left, right),
        )
    )


def _power(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    part: str,
    law: PartLaw,
    digits: int,
) -> Answered:
    """Work out the power that a part takes in, or that a source delivers."""
    if isinstance(circuit.element(part), CurrentSource):
        return law_by_voltage(circuit, found, known, builder, part, law, digits)
    return _by_currents(circuit, found, known, builder, part, law)


def _by_currents(
    circuit: Circuit, found: Currents, known: Known, builder: Builder, part: str, law: PartLaw
) -> Answered:
    rule = builder.add(part_rule(circuit, part, law))
    left = builder.equation(rule).left
    assert isinstance(left, Symbol)
    formula = formula_of(found, builder, rule) if found.formulas else None
    value = put_values(known, builder, rule) if found.values else None
    return Answered(left, formula, value)


def answer_efficiency(
    circuit: Circuit,
    found: Currents,
    known: Known,
    builder: Builder,
    question: AskEfficiency,
    digits: int,
) -> None:
    """Answer by the voltage at the terminals and the emf. Raises NoEfficiency."""
    battery = circuit.element(question.battery)
    assert isinstance(battery, Battery)
    index, _ = circuit.find_branch(battery.name)
    flow = circuit.all_branches[index].current
    if index >= len(circuit.branches):
        raise NoEfficiency(battery.name, Useless.STILL)
    if _vanishes(found, known, builder, battery.emf):
        raise NoEfficiency(battery.name, Useless.EMPTY)
    if _vanishes(found, known, builder, flow):
        raise NoEfficiency(battery.name, Useless.STILL)
    voltage = _by_currents(circuit, found, known, builder, battery.name, PartLaw.VOLTAGE)
    cited = None
    charged = False
    if voltage.value is not None and known.numeric:
        cited = voltage.value
        rounded_value(builder, cited, digits)
        charged = _is_charged(battery, _number(builder.equation(cited).right),
                              _number(known.terms[battery.emf]))  # fmt: skip
    sides = (battery.emf, voltage.symbol) if charged else (voltage.symbol, battery.emf)
    left = auxiliary(f"η({battery.name})", NUMBER)
    law = Efficiency(
        battery=battery.name,
        charged=charged,
        voltage=cited,
        conclusion=Equation(left, Quotient(*sides)),
    )
    rule = builder.add(law)
    formula = None
    if voltage.formula is not None:
        right = put_in(
            law.conclusion.right, {voltage.symbol: builder.equation(voltage.formula).right}
        )
        formula = builder.add(
            BackSubstitute(
                premise=rule, definitions=(voltage.formula,), conclusion=Equation(left, right)
            )
        )
    further = {} if voltage.value is None else {voltage.symbol: voltage.value}
    value = put_values(known, builder, rule, further) if found.values else None
    _answer(found, builder, question, Answered(left, formula, value), digits, Unit.PERCENT)


def _vanishes(found: Currents, known: Known, builder: Builder, symbol: Symbol) -> bool:
    """Tell whether an emf or a current is zero, by its value or by its formula."""
    formula = found.formulas.get(symbol)
    told = known.terms.get(symbol, symbol if formula is None else builder.equation(formula).right)
    return Ring(tuple(dict.fromkeys(symbols(told)))).fraction(told)[0].is_zero


def _is_charged(battery: Battery, voltage: Fraction, emf: Fraction) -> bool:
    """Tell whether a battery is being charged, by its emf and the voltage at its terminals."""
    out = emf - voltage  # the current that leaves at +, times the internal resistance
    if not out:
        raise NoEfficiency(battery.name, Useless.STILL)
    if out * emf > 0 and voltage * emf < 0:
        raise NoEfficiency(battery.name, Useless.LOST)
    return out * emf < 0


def _number(term: Term) -> Fraction:
    return Ring(()).poly(term).constant_value


def _answer(
    found: Currents,
    builder: Builder,
    question: Question,
    told: Answered,
    digits: int,
    unit: Unit = Unit.SI,
    also: Unit | None = None,
) -> None:
    """Conclude an answer, rounded in a unit, and in another one."""
    value = told.value
    closed = value is not None and next(symbols(builder.equation(value).right), None) is None
    once = again = None
    if found.numeric and value is not None and closed:
        once = builder.add(rounded(builder, value, digits, unit))
        if also is not None:
            again = builder.add(rounded(builder, value, digits, also))
    builder.add(
        Conclude(
            question=question,
            symbol=told.symbol,
            formula=told.formula,
            value=value,
            rounded=once,
            also=again,
        )
    )
