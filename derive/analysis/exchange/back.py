"""The way back: from what a circuit was reduced to, through the same steps, to all currents."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, groupby

from derive.algebra.polynomial import Ring
from derive.algebra.term import (
    ONE,
    ZERO,
    Equation,
    Negative,
    Quotient,
    Sum,
    Symbol,
    Term,
    negate,
    number,
    product,
    quotient,
    replace,
    symbols,
    total,
)
from derive.analysis.exchange.defined import flat
from derive.analysis.exchange.flows import Flows, signed
from derive.analysis.exchange.net import Ends, Exchanged, is_emf
from derive.analysis.exchange.reduce import Reduction
from derive.analysis.laws import junction_rule
from derive.analysis.put_in import current_term, fraction_term
from derive.circuit.expansion import count_terms
from derive.circuit.model import Circuit, Node
from derive.circuit.solution import general_solution
from derive.circuit.solvability import letters_of
from derive.circuit.values import Values
from derive.derivation.algebra import BackSubstitute, Isolate, PutInValues
from derive.derivation.exchanges import Exchange, PutBack, Replace
from derive.derivation.goal import Goal
from derive.derivation.step_id import StepId

_MOST_EXPANDED = 300
"""Products in a denominator that is still written as a sum."""
_LONGEST_NESTED = 16
"""Letters in the formula of a current; a longer one is left to the names of its parts."""


@dataclass(frozen=True, slots=True)
class WayBack:
    """Where the currents of the branches are concluded."""

    formulas: Mapping[Symbol, StepId]
    """Current → step ``I = term`` in letters and names for expressions in letters."""
    values: Mapping[Symbol, StepId]
    """Current → step ``I = exact value``; empty where a letter has no value."""


def derive_way_back(
    circuit: Circuit,
    reduction: Reduction,
    given: Mapping[Symbol, StepId],
    *,
    expanded: bool = False,
) -> WayBack:
    """Add the steps that lead from a complete reduction to all currents.

    Formulas stay nested, or are expanded to one fraction each where that is not too long.
    """
    work = _Back(circuit, reduction, given)
    work.builder.begin(Goal.WAY_BACK)
    for group in _last_first(reduction.exchanged):
        for step, exchanged in group:
            work.undo(step, exchanged)
    work.builder.begin(Goal.JUNCTIONS_LAST)
    work.junctions()
    work.builder.begin(Goal.NESTED)
    if expanded and count_terms(circuit) <= _MOST_EXPANDED:
        work.expand()
    formulas = work.formulas()
    values = work.values
    if len(values) < len(circuit.branches):
        work.builder.begin(Goal.LETTERS_LEFT)
        values = work.with_letters_left() if given else {}
    return WayBack(formulas, values)


def _last_first(
    exchanged: Sequence[tuple[StepId, Exchanged]],
) -> Iterator[list[tuple[StepId, Exchanged]]]:
    """Yield exchanges from the last to the first; batteries side by side keep their order."""

    def together(found: tuple[StepId, Exchanged]) -> StepId | None:
        return None if found[1].step.exchange is Exchange.CURRENT_SOURCE else found[0]

    for _, group in groupby(reversed(exchanged), key=together):
        yield list(group)[::-1]


class _Back:
    """Undoes exchanges, the last one first."""

    def __init__(
        self, circuit: Circuit, reduction: Reduction, given: Mapping[Symbol, StepId]
    ) -> None:
        self.builder = reduction.workings.builder
        self.values: dict[Symbol, StepId] = {}
        self._circuit = circuit
        self._workings = reduction.workings
        self._given = given
        self._flows = Flows(circuit, reduction.exchanged)
        self._found: dict[Symbol, StepId] = {}
        """Current → the law that gives it."""
        self._nested: dict[Symbol, Term] = {}
        self._without_currents: dict[StepId, StepId] = {}
        self._voltages: list[tuple[Ends, Symbol]] = []
        """Voltages of batteries that stood for others: from the first place up to the second."""
        self._at: StepId = 0
        """The exchange that is being undone."""
        self._ties = tuple(
            k for k in given.values() if any(True for _ in symbols(self.builder.equation(k).right))
        )
        self._branches = {branch.current for branch in circuit.branches}

    def undo(self, step: StepId, exchanged: Exchanged) -> None:
        """Find the currents in what an exchange took."""
        self._at = step
        if exchanged.step.exchange in (Exchange.SERIES, Exchange.EMFS):
            flow = self._flows.of(step, exchanged.step.made[0])
            if flow is None or flow[0] not in self._found:
                return  # a row of emfs alone: the junction rule must tell its current
        for arm, right, nested in self._rights(exchanged):
            self._put_back(step, arm, right, nested)

    def _put_back(self, step: StepId, arm: Symbol, right: Term, nested: Term | None) -> None:
        flow = self._flows.of(step, arm)
        if flow is None and is_emf(arm):
            return  # relieved of what lay across it; its row has the current of its resistance
        if flow is None:
            flow = self._workings.current_in(arm), True
            self._flows.name(step, arm, flow[0])
        symbol, along = flow
        if symbol in self._found:
            return
        law = PutBack(replaced=step, arm=arm, conclusion=Equation(symbol, signed(right, along)))
        if law.conclusion.right == symbol:
            return
        self._keep(symbol, self.builder.add(law))
        if nested is not None and self._is_short(nested):
            self._nested[symbol] = signed(nested, along)

    def _is_short(self, nested: Term) -> bool:
        """Tell whether a term is written in the letters of the circuit, and in few."""
        held = list(symbols(nested))
        made = self._workings.definitions
        return len(held) <= _LONGEST_NESTED and not any(s in made for s in held)

    def _keep(self, symbol: Symbol, step: StepId) -> None:
        self._found[symbol] = step
        value = self._workings.reckon(symbol, step, shown=True) if self._given else None
        if value is not None and symbol in self._branches:
            self.values[symbol] = value

    def _flow(self, arm: Symbol) -> tuple[Term, Term | None]:
        """Return the current along an arm, and the same in the letters of the circuit."""
        flow = self._flows.of(self._at, arm)
        assert flow is not None, f"the current in {arm.name} follows from a later exchange"
        symbol, along = flow
        nested = self._nested.get(symbol)
        return signed(symbol, along), None if nested is None else signed(nested, along)

    def _rights(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        """Yield each arm taken with its current: by what is known, and in the letters."""
        step, along = exchanged.step, exchanged.along
        match step.exchange:
            case Exchange.IDLE | Exchange.LEVEL:
                for arm in step.taken:
                    yield arm, ZERO, ZERO
            case Exchange.SERIES | Exchange.EMFS:
                flow, nested = self._flow(step.made[0])
                for arm in step.taken:
                    yield arm, signed(flow, along[arm]), _maybe(nested, along[arm])
            case Exchange.PARALLEL:
                yield from self._parallel(exchanged)
            case Exchange.ACROSS:
                yield from self._across(exchanged)
            case Exchange.BATTERY:
                self._battery(exchanged)
            case Exchange.CURRENT_SOURCE:
                yield from self._current_source(exchanged)
            case Exchange.ALIKE:
                made = next(s for s in step.made if not is_emf(s))
                flow, nested = self._flow(made)
                share = number(sum(not is_emf(s) for s in step.taken))
                for arm in step.taken:
                    part = None if nested is None else signed(quotient(nested, share), along[arm])
                    yield arm, signed(quotient(flow, share), along[arm]), part
            case Exchange.DELTA:
                yield from self._delta(exchanged)
            case Exchange.STAR:
                yield from self._star(exchanged)
            case Exchange.WIRE | Exchange.CURRENTS:
                return

    def _parallel(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        step = exchanged.step
        (made,) = step.made
        if self._flows.of(self._at, made) is None:
            yield from self._beside_sources(exchanged)
            return
        flow, nested = self._flow(made)
        voltage = self._voltage(made, product(made, flow))
        for arm in step.taken:
            share = None
            if nested is not None:
                share = signed(self._share(nested, arm, step), exchanged.along[arm])
            yield arm, signed(Quotient(voltage, arm), exchanged.along[arm]), share

    def _share(self, flow: Term, arm: Symbol, step: Replace) -> Term:
        """Return the part of a current that one of several resistances side by side takes."""
        term = self._workings.term
        whole = term(step.made[0])
        if isinstance(flow, Quotient) and flow.denominator == whole:
            return Quotient(flow.numerator, term(arm))  # a battery lies straight across
        if len(step.taken) == 2:
            (other,) = (s for s in step.taken if s != arm)
            both = Sum(tuple(term(s) for s in step.taken))
            return product(flow, Quotient(term(other), flat(both)))
        return product(flow, Quotient(whole, term(arm)))

    def _voltage(self, arm: Symbol, term: Term) -> Symbol:
        """Give the voltage across what was made a name."""
        symbol = self._workings.voltage_across(arm)
        step = self._workings.define(symbol, term)
        self._workings.reckon(symbol, step, shown=True)
        return symbol

    def _across(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        assert exchanged.battery is not None
        resistance = next(s for s in exchanged.step.taken if not is_emf(s))
        driven: list[Term] = [exchanged.battery]
        driven += [signed(s, exchanged.along[s]) for s in exchanged.step.taken if is_emf(s)]
        # The emf that is first in the sum has a plus sign where any has.
        driven.sort(key=lambda term: isinstance(term, Negative))
        right = quotient(total(tuple(driven)), resistance)
        nested = self._in_letters(right)
        for arm in exchanged.step.taken:
            sign = exchanged.along[arm]
            yield arm, signed(right, sign), signed(nested, sign)

    def _in_letters(self, term: Term) -> Term:
        inner = {s: self._workings.term(s) for s in dict.fromkeys(symbols(term))}
        return flat(replace(term, inner))

    def _battery(self, exchanged: Exchanged) -> None:
        """Name the voltage of a battery that stands for others."""
        current_source, resistance = exchanged.step.taken
        (source,) = exchanged.step.made
        flow = signed(self._flow(resistance)[0], exchanged.along[resistance])
        drop = negate(product(resistance, flow))
        voltage = self._voltage(resistance, total((source, drop)))
        self._voltages.append((exchanged.taken[current_source], voltage))

    def _rise(self, tail: int, head: int) -> Term:
        """Return the voltage from one place up to another, which has a name."""
        for ends, voltage in reversed(self._voltages):
            if set(ends) == {tail, head}:
                return signed(voltage, ends == (tail, head))
        raise AssertionError("the battery that stood there comes later, so it is undone before")

    def _beside_sources(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        """Find the currents in the rows without an emf; the others follow from their sources."""
        for arm in exchanged.step.taken:
            if not self._flows.is_beside_source(self._at, arm):
                tail, head = exchanged.taken[arm]
                yield arm, quotient(self._rise(head, tail), arm), None

    def _current_source(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        """What an emf drives through its row against the voltage between the ends of that."""
        emf, resistance = exchanged.step.taken
        (source,) = exchanged.step.made
        driven: list[Term] = [emf, negate(self._rise(*exchanged.made[source]))]
        right = quotient(total(tuple(driven)), resistance)
        yield resistance, signed(right, exchanged.along[resistance]), None
        yield emf, right, None

    def _delta(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        """The voltage between two corners, by way of the middle of the wye."""
        step = exchanged.step
        corner = {exchanged.made[s][1]: s for s in step.made}
        for arm in step.taken:
            tail, head = (corner[place] for place in exchanged.taken[arm])
            terms = [product(head, self._flow(head)[0]), negate(product(tail, self._flow(tail)[0]))]
            terms.sort(key=lambda term: isinstance(term, Negative))
            yield arm, quotient(total(tuple(terms)), arm), None

    def _star(self, exchanged: Exchanged) -> Iterator[tuple[Symbol, Term, Term | None]]:
        """What flows towards the middle divides among the sides that begin at the same end."""
        step = exchanged.step
        pairs = list(zip(step.made, combinations(step.taken, 2), strict=True))
        for arm in step.taken:
            terms: list[Term] = []
            for side, (first, second) in pairs:
                if arm in (first, second):
                    terms.append(signed(self._flow(side)[0], arm == first))
            terms.sort(key=lambda term: isinstance(term, Negative))
            if not exchanged.along[arm]:
                terms = sorted(map(negate, terms), key=lambda term: isinstance(term, Negative))
            yield arm, total(tuple(terms)), None

    # --- what is left -----------------------------------------------------------------------------

    def junctions(self) -> None:
        """Find the currents of branches without resistance by the junction rule."""
        left = [b.current for b in self._circuit.branches if b.current not in self._found]
        while left:
            node, symbol = next(
                (node, unknown[0])
                for node in self._circuit.nodes
                if len(unknown := self._unknown_at(node)) == 1
            )
            self._by_junction(node, symbol)
            left.remove(symbol)

    def _unknown_at(self, node: Node) -> list[Symbol]:
        rule = junction_rule(self._circuit, node)
        return [s for s in (*rule.flows_in, *rule.flows_out) if s not in self._found]

    def _by_junction(self, node: Node, symbol: Symbol) -> None:
        rule = junction_rule(self._circuit, node)
        step = self.builder.add(rule)
        inwards = symbol in rule.flows_in
        terms: list[Term] = list(rule.flows_out if inwards else rule.flows_in)
        same = rule.flows_in if inwards else rule.flows_out
        terms += [Negative(s) for s in same if s != symbol]
        right = total(tuple(terms))
        isolated = self.builder.add(
            Isolate(
                premise=step,
                symbol=symbol,
                factor=ONE if symbol in set(symbols(rule.conclusion.left)) else Negative(ONE),
                conclusion=Equation(symbol, right),
            )
        )
        self._keep(symbol, isolated)
        held = {s: self._nested.get(s) for s in symbols(right)}
        if all(nested is not None for nested in held.values()):
            nested = _tidied(replace(right, {s: t for s, t in held.items() if t is not None}))
            if self._is_short(nested):
                self._nested[symbol] = nested

    # --- formulas ---------------------------------------------------------------------------------

    def expand(self) -> None:
        """Take the fractions of the general solution in the place of nested formulas."""
        solution = general_solution(self._circuit)
        for k, branch in enumerate(self._circuit.branches):
            self._nested[branch.current] = solution.formula(k)

    def formulas(self) -> dict[Symbol, StepId]:
        """Write each current in the letters of the circuit where that is short."""
        found: dict[Symbol, StepId] = {}
        for branch in self._circuit.branches:
            symbol = branch.current
            step = self._found[symbol]
            nested = self._nested.get(symbol)
            if nested is None or nested == self.builder.equation(step).right:
                found[symbol] = self._closed(step)
                continue
            found[symbol] = self.builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=(),
                    rewriting=(*self._rules(step), *self._ties),
                    conclusion=Equation(symbol, nested),
                )
            )
        return found

    def _closed(self, step: StepId) -> StepId:
        """Put the laws of other currents into what the junction rule gives."""
        if not isinstance(self.builder.step(step), Isolate):
            return step
        if step not in self._without_currents:
            equation = self.builder.equation(step)
            held = {s: self._closed(self._found[s]) for s in symbols(equation.right)}
            rights = {s: self.builder.equation(k).right for s, k in held.items()}
            self._without_currents[step] = self.builder.add(
                BackSubstitute(
                    premise=step,
                    definitions=tuple(held.values()),
                    conclusion=Equation(equation.left, _tidied(replace(equation.right, rights))),
                )
            )
        return self._without_currents[step]

    def _rules(self, step: StepId) -> tuple[StepId, ...]:
        """Return the definitions and laws on which a law rests."""
        found: dict[StepId, None] = {}
        waiting = [step]
        while waiting:
            for symbol in symbols(self.builder.equation(waiting.pop()).right):
                rule = self._found.get(symbol, self._workings.definitions.get(symbol))
                if rule is not None and rule not in found:
                    found[rule] = None
                    waiting.append(rule)
        return tuple(found)

    def with_letters_left(self) -> dict[Symbol, StepId]:
        """Put the values that are given into all that was made or found, one after the other.

        Letters without a value stay.
        """
        numbers = len(self._ties) < len(self._given)
        values = Values(self._circuit)
        done: dict[Symbol, StepId] = {}
        for step in sorted((*self._workings.definitions.values(), *self._found.values())):
            equation = self.builder.equation(step)
            symbol = equation.left
            assert isinstance(symbol, Symbol)
            cited: dict[StepId, None] = {}
            known: dict[Symbol, Term] = {}
            for inner in dict.fromkeys(symbols(equation.right)):
                cited |= dict.fromkeys([done[inner]] if inner in done else self._said(inner))
                if inner in done:
                    known[inner] = self.builder.equation(done[inner]).right
                else:
                    known[inner] = values.actual(inner)
            right = replace(equation.right, known)
            fraction = Ring(letters_of([right])).fraction(right)
            if symbol in self._branches:
                told = current_term(*fraction, decimals=numbers)
            else:
                told = fraction_term(*fraction, symbol.dimension)
            put_in = PutInValues(
                premise=step, values=tuple(cited), conclusion=Equation(symbol, told)
            )
            done[symbol] = step if told == equation.right else self.builder.add(put_in)
        return {symbol: done[symbol] for symbol in self._found if symbol in self._branches}

    def _said(self, letter: Symbol) -> Iterator[StepId]:
        """Yield the steps that say what a letter of the circuit is, by way of ties."""
        if letter in self._given:
            yield self._given[letter]
            for inner in symbols(self.builder.equation(self._given[letter]).right):
                yield from self._said(inner)


def _maybe(nested: Term | None, along: bool) -> Term | None:
    return None if nested is None else signed(nested, along)


def _tidied(term: Term) -> Term:
    """Write a sum as one row, without zeros and without what adds and subtracts the same."""
    kept: list[Term] = []
    for item in _items(term):
        if item in (ZERO, Negative(ZERO)):
            continue
        if negate(item) in kept:
            kept.remove(negate(item))
        else:
            kept.append(item)
    return total(tuple(kept))


def _items(term: Term) -> Iterator[Term]:
    match term:
        case Sum(terms):
            for inner in terms:
                yield from _items(inner)
        case Negative(Sum(terms)):
            for inner in terms:
                yield from map(negate, _items(inner))
        case _:
            yield term
