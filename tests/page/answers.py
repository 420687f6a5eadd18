"""Whether the answers of a page are those of the JSON that other programs get."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from derive.algebra.name import identifier
from derive.algebra.term import Equation, Symbol, SymbolKind, Term
from derive.circuit.appearance import EmfSymbol
from derive.derivation.algebra import Define
from derive.derivation.further import Lasts
from derive.derivation.laws import GivenValue
from derive.derivation.step import Derivation
from tests.page import names
from tests.page.items import Item, Page, Prose, Row, Run, Table
from tests.page.known import everything
from tests.page.mathematics import Chain, Tree
from tests.page.worth import PRIME, Place, Print, is_rounding, worth

_UNITS = {
    "V": (1, 0, 0), "Ω": (0, 1, 0), "A": (1, -1, 0), "W": (2, -1, 0), "S": (0, -1, 0),
    "C": (1, -1, 1), "F": (0, -1, 1), "J": (2, -1, 1), "s": (0, 0, 1), "1": (0, 0, 0),
    "": (0, 0, 0), "%": (0, 0, 0),
}  # fmt: skip
_OWN = frozenset((
    SymbolKind.RESISTANCE, SymbolKind.EMF, SymbolKind.SOURCE_CURRENT, SymbolKind.CAPACITANCE,
))  # fmt: skip
"""Kinds whose letters stand in the formulas of the JSON; only a tie replaces them."""


def faults(
    page: Page, contract: str, derivations: list[Derivation], symbols: set[Symbol], emf: EmfSymbol
) -> Iterator[str]:
    """Yield answers that the box of a page and a JSON text do not share."""
    told = json.loads(contract)
    box = list(_box(page))
    if "switching" in told:
        by_identifier = {identifier(s.name): s for s in symbols}
        currents = {names.symbol(by_identifier[identifier(n)], emf): n for n in told["currents"]}
        yield from _states(box, told, currents)
        return
    defined = {
        names.symbol(step.symbol, emf)
        for derivation in derivations
        for step in derivation.steps
        if isinstance(step, Define)
    }
    rows = [item.chain for item in box if isinstance(item, Row)]
    letters = _Letters({identifier(s.name): s for s in symbols}, emf)
    for derivation in derivations:
        letters.give(derivation)
    for name, result in told["currents"].items():
        letters.put_in(name, result["formula"])
    for derivation in derivations:
        letters.follow(derivation)
    wanted = [(name, result) for name, result in told["currents"].items()]
    wanted += [("", result) for result in told["answers"] if "initial" not in result]
    for name, result in wanted:
        looks = names.symbol(letters.symbols[identifier(name)], emf) if name else ""
        if not any(_is(chain, looks, result, letters) for chain in rows):
            yield f"no answer {name or result['ask']} = {result['exact'] or result['formula']}"
    in_time = any("initial" in result for result in told["answers"])
    for chain in rows:
        left = chain.sides[0]
        if left[1] in defined:
            continue
        if left[0] != "name" or left[1].endswith("(t)") or in_time:
            continue
        if chain.relations[0] in "=≈" and not any(
            _is(chain, left[1] if name else "", result, letters) for name, result in wanted
        ):
            yield f"an answer that was not asked for: {chain}"


def _box(page: Page) -> Iterator[Item]:
    place = max(
        (k for k, item in enumerate(page.items) if item == Prose(("Answers",))), default=None
    )
    if place is not None:
        yield from page.items[place + 1 :]


def _is(chain: Chain, looks: str, result: dict[str, Any], letters: _Letters) -> bool:
    """Tell whether a chain says what a result of the JSON says."""
    if looks and chain.sides[0] != ("name", looks):
        return False
    return any(
        _says(relation, side, result, letters)
        for relation, side in zip(chain.relations, chain.sides[1:], strict=True)
    )


def _says(relation: str, side: Tree, result: dict[str, Any], letters: _Letters) -> bool:
    shown = worth(side)
    if result["exact"] is not None:
        exact = Fraction(result["exact"])
        if shown is None or (shown.dimension != _UNITS[result["unit"] or ""] and exact):
            return False
        return shown.value == exact if relation == "=" else is_rounding(shown, exact)
    if result["formula"] is None:
        return True
    return relation == "=" and letters.same(side, result["formula"])


def _unknowns(term: Term) -> set[Symbol]:
    """Return the currents, voltages and names for sub-expressions in a term."""
    return {s for s in everything(term, Symbol) if s.kind not in _OWN}


class _Letters:
    """The worth of every name at two places, once the names of sub-expressions are followed."""

    def __init__(self, symbols: dict[str, Symbol], emf: EmfSymbol) -> None:
        self.symbols, self.emf = symbols, emf
        self.places = (Place(3), Place(4))
        for place in self.places:
            place.units = (1, 1, 1)  # the JSON has numbers without units, in those of the SI
        self.settled: set[str] = set()
        self.times: list[Fraction] = []
        """What the letter t may be worth; the subscript of an answer tells which."""

    def put_in(self, name: str, formula: str | None) -> None:
        """Let a current be worth what its formula in the JSON is."""
        if formula is not None:
            looks = names.symbol(self.symbols[identifier(name)], self.emf)
            self._settle(looks, self.formula(formula))

    def give(self, derivation: Derivation) -> None:
        """Let quantities be worth what is given: a page may have put that in, or not."""
        for step in derivation.steps:
            if isinstance(step, GivenValue) and not _unknowns(step.conclusion.right):
                looks = names.symbol(step.symbol, self.emf)
                one, other = (p.term(step.conclusion.right, self.emf) for p in self.places)
                self._settle(looks, (one, other))

    def follow(self, derivation: Derivation) -> None:
        """Let names be worth what the checked steps say, each once all on its right are settled."""
        waiting: list[Equation] = []
        for step in derivation.steps:
            if isinstance(step, Lasts):
                self.times.append(step.time.seconds)
                continue
            conclusion = getattr(step, "conclusion", None)
            if isinstance(conclusion, Equation) and isinstance(conclusion.left, Symbol):
                tied = isinstance(step, GivenValue) and _unknowns(conclusion.right)
                if conclusion.left.kind not in _OWN or isinstance(step, Define) or tied:
                    waiting.append(conclusion)
        for patient in (True, False):
            while later := [e for e in waiting if not self._take(e, patient=patient)]:
                if len(later) == len(waiting):
                    break
                waiting = later

    def _take(self, equation: Equation, *, patient: bool) -> bool:
        """Settle the left side; False where something on the right has no worth yet."""
        assert isinstance(equation.left, Symbol)
        looks = names.symbol(equation.left, self.emf)
        if looks in self.settled:
            return True
        held = {names.symbol(s, self.emf) for s in _unknowns(equation.right)}
        if patient and not held <= self.settled:
            return False
        one, other = (place.term(equation.right, self.emf) for place in self.places)
        self._settle(looks, (one, other))
        return True

    def _settle(self, looks: str, worth: Print) -> None:
        self.settled.add(looks)
        for place, value in zip(self.places, worth, strict=True):
            place.known[looks] = value

    def same(self, side: Tree, formula: str) -> bool:
        """Tell whether a side of the page is a formula of the JSON."""
        wanted = self.formula(formula)
        for time in self.times or [None]:
            for place in self.places:
                if time is not None:
                    place.known["t"] = place.fraction(time)
            if self.tree(side) == wanted:
                return True
        return False

    def tree(self, tree: Tree) -> Print:
        """Work out a side of the page."""
        one, other = (place.tree(tree) for place in self.places)
        return one, other

    def formula(self, formula: str) -> Print:
        """Work out a formula in Python's notation."""
        tree = ast.parse(formula, mode="eval").body
        one, other = (self._value(tree, place) for place in self.places)
        return one, other

    def _value(self, node: ast.expr, place: Place) -> int:
        match node:
            case ast.Constant(value=int() as number):
                return number % PRIME
            case ast.Name(id=name):
                symbol = self.symbols.get(name)
                looks = names.quantity(name) if symbol is None else names.symbol(symbol, self.emf)
                return place.drawn(looks)
            case ast.UnaryOp(op=ast.USub(), operand=inner):
                return -self._value(inner, place) % PRIME
            case ast.BinOp(left=left, op=ast.Pow(), right=ast.Constant(value=int() as power)):
                return pow(self._value(left, place), power, PRIME)
            case ast.BinOp(left=left, op=op, right=right):
                a, b = self._value(left, place), self._value(right, place)
                match op:
                    case ast.Add():
                        return (a + b) % PRIME
                    case ast.Sub():
                        return (a - b) % PRIME
                    case ast.Mult():
                        return a * b % PRIME
                    case ast.Div():
                        return a * pow(b, -1, PRIME) % PRIME
        raise AssertionError(ast.dump(node))


def _states(box: list[Item], told: dict[str, Any], looks: dict[str, str]) -> Iterator[str]:
    """Compare the table of both states: the currents by their names, the others in their order."""
    tables = [item for item in box if isinstance(item, Table)]
    if not tables:
        return
    switching = told["switching"]
    states = (switching["before"], told, switching["changes"])
    by_question = [{a["ask"]: a for a in state["answers"]} for state in states]
    left = [
        tuple(column[a["ask"]] for column in by_question)
        for a in told["answers"]
        if "initial" not in a
    ]
    named = set(looks)
    for row in tables[0].rows[1:]:
        quantity = row[0][0]
        assert isinstance(quantity, Chain)
        told_name = str(quantity.sides[0][1])
        if told_name in named:
            named.remove(told_name)
            choices = [tuple(state["currents"][looks[told_name]] for state in states)]
        else:
            choices = left
        found = next((c for c in choices if all(map(_shows, row[1:], c))), None)
        if found is None:
            yield f"{row} is no answer"
        elif found in left:
            left.remove(found)
    if left:
        yield f"no answers to {[results[1]['ask'] for results in left]}"


def _shows(cell: Run, result: dict[str, Any]) -> bool:
    piece = cell[0] if cell else ""
    shown = worth(piece.sides[0]) if isinstance(piece, Chain) else None
    if result["exact"] is None or shown is None:
        return result["exact"] is None or shown is not None
    return is_rounding(shown, Fraction(result["exact"]))
