"""Whether the answers of a page are those of the JSON that other programs get."""

from __future__ import annotations

import ast
import json
from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from derive.algebra.name import identifier
from derive.algebra.term import Equation, Quantity, Symbol, SymbolKind
from derive.circuit.appearance import EmfSymbol
from derive.derivation.laws import GivenValue
from derive.derivation.step import Derivation
from tests.page import names
from tests.page.items import Item, Page, Prose, Row, Table
from tests.page.mathematics import Chain, Tree
from tests.page.meaning import PRIME, Place, Print, everything, is_rounding, worth

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
        yield from _states(box, told)
        return
    rows = [item.chain for item in box if isinstance(item, Row)]
    letters = _Letters({identifier(s.name): s for s in symbols}, emf)
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
    for chain in rows:
        left = chain.sides[0]
        if left[0] != "name" or left[1].endswith("(t)") or left[1][0] == "τ":
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


def _is(
    chain: Chain, looks: str, result: dict[str, Any], letters: _Letters
) -> bool:
    """Tell whether a chain says what a result of the JSON says."""
    if looks and chain.sides[0] != ("name", looks):
        return False
    return any(
        _says(relation, side, result, letters)
        for relation, side in zip(chain.relations, chain.sides[1:], strict=True)
    )


def _says(
    relation: str, side: Tree, result: dict[str, Any], letters: _Letters
) -> bool:
    shown = worth(side)
    if result["exact"] is not None:
        exact = Fraction(result["exact"])
        if shown is None or (shown.dimension != _UNITS[result["unit"] or ""] and exact):
            return False
        return shown.value == exact if relation == "=" else is_rounding(shown, exact)
    if result["formula"] is None:
        return True
    return relation == "=" and letters.tree(side) == letters.formula(
        result["formula"]
    )


class _Letters:
    """The worth of every name at two places, once the names of sub-expressions are followed."""

    def __init__(self, symbols: dict[str, Symbol], emf: EmfSymbol) -> None:
        self.symbols, self.emf = symbols, emf
        self.places = (Place(3), Place(4))
        self.settled: set[str] = set()

    def put_in(self, name: str, formula: str | None) -> None:
        """Let a current be worth what its formula in the JSON is."""
        if formula is not None:
            looks = names.symbol(self.symbols[identifier(name)], self.emf)
            self._settle(looks, self.formula(formula))

    def follow(self, derivation: Derivation) -> None:
        """Let names be worth what the checked steps say, where only letters say it."""
        for step in derivation.steps:
            conclusion = getattr(step, "conclusion", None)
            if not isinstance(conclusion, Equation) or not isinstance(conclusion.left, Symbol):
                continue
            looks = names.symbol(conclusion.left, self.emf)
            own = conclusion.left.kind in _OWN and not isinstance(step, GivenValue)
            numbers = next(everything(conclusion.right, Quantity), None) is not None
            if looks not in self.settled and not own and not numbers:
                one, other = (place.term(conclusion.right, self.emf) for place in self.places)
                self._settle(looks, (one, other))

    def _settle(self, looks: str, worth: Print) -> None:
        self.settled.add(looks)
        for place, value in zip(self.places, worth, strict=True):
            place.known[looks] = value

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


def _states(box: list[Item], told: dict[str, Any]) -> Iterator[str]:
    """Compare the table of both states."""
    tables = [item for item in box if isinstance(item, Table)]
    if not tables:
        return
    rows = tables[0].rows[1:]
    switching = told["switching"]
    states = (switching["before"], told, switching["changes"])
    columns = [
        [*state["currents"].values(), *(a for a in state["answers"] if "initial" not in a)]
        for state in states
    ]
    if len(rows) != len(columns[1]):
        yield f"{len(rows)} lines for {len(columns[1])} answers"
        return
    for row, *results in zip(rows, *columns, strict=True):
        for cell, result in zip(row[1:], results, strict=True):
            piece = cell[0] if cell else ""
            shown = worth(piece.sides[0]) if isinstance(piece, Chain) else None
            if shown is None or result["exact"] is None:
                continue
            exact = Fraction(result["exact"])
            if not is_rounding(shown, exact):
                yield f"{row[0]}: {cell} is not {exact}"
