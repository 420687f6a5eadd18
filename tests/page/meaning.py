"""Whether what a page says follows from the derivation: sides, values, roundings, conditions.

A side is worked out at two places, where every name and every unit has a value drawn at random
from the integers modulo a prime (J. T. Schwartz, 1980, and R. Zippel, 1979, from memory: two
different fractions agree there with a probability of their degree over the prime, which has 127
bits). The same is done with the terms of the checked steps, so that no algebra is needed to
compare them. Values that end a chain are compared exactly.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field, fields, is_dataclass
from fractions import Fraction
from typing import Any

from derive.algebra.dimension import AMPERE, Dimension
from derive.algebra.term import (
    Equation,
    Exponential,
    Negative,
    Number,
    Parallel,
    Power,
    Product,
    Quantity,
    Quotient,
    Sum,
    Symbol,
    SymbolKind,
    Term,
)
from derive.circuit.appearance import EmfSymbol
from derive.circuit.question import AskReading
from derive.derivation.course import RoundedCourse
from derive.derivation.laws import ChooseUnknowns, GivenValue
from derive.derivation.sense import Limit, SpecialCase, Toward
from derive.derivation.spread import Range
from derive.derivation.step import BySource, Conclude, Derivation, IdealReading
from tests.page import names
from tests.page.items import Page, Prose, Row, Run, Table, Values
from tests.page.mathematics import PREFIXES, SYMBOLS, Chain, Misread, Tree

PRIME = 2**127 - 1
_UNITS: dict[str, tuple[Fraction, tuple[int, int, int]]] = {
    "V": (Fraction(1), (1, 0, 0)), "Ω": (Fraction(1), (0, 1, 0)), "s": (Fraction(1), (0, 0, 1)),
    "A": (Fraction(1), (1, -1, 0)), "W": (Fraction(1), (2, -1, 0)), "S": (Fraction(1), (0, -1, 0)),
    "C": (Fraction(1), (1, -1, 1)), "F": (Fraction(1), (0, -1, 1)), "J": (Fraction(1), (2, -1, 1)),
    "%": (Fraction(1, 100), (0, 0, 0)), "Wh": (Fraction(3600), (2, -1, 1)),
    "Ah": (Fraction(3600), (1, -1, 1)), "min": (Fraction(60), (0, 0, 1)),
    "h": (Fraction(3600), (0, 0, 1)), "d": (Fraction(86400), (0, 0, 1)),
}  # fmt: skip
"""Units by V, Ω and s (SI Brochure, 9th edition, tables 4 and 8, from memory)."""
Print = tuple[int, int]
"""What a side is worth at the two places."""


@dataclass(frozen=True)
class Worth:
    """A value in SI base units, its dimension, and the worth of one in its last digit."""

    value: Fraction
    dimension: tuple[int, int, int]
    step: Fraction = Fraction(0)


def worth(tree: Tree) -> Worth | None:
    """Return what a side is worth that is one value; None for any other side."""
    match tree:
        case ("number", digits):
            after = len(digits.partition(".")[2])
            return Worth(Fraction(digits), (0, 0, 0), Fraction(1, 10**after))
        case ("unit", sign):
            prefix, unit = SYMBOLS[sign]
            size, dimension = _UNITS[unit]
            return Worth(size * Fraction(10) ** PREFIXES[prefix], dimension)
        case ("-", inner):
            found = worth(inner)
            return found and Worth(-found.value, found.dimension, found.step)
        case ("+", inner):
            return worth(inner)
        case ("quotient", above, below) if above[0] == below[0] == "number":
            return Worth(Fraction(above[1]) / Fraction(below[1]), (0, 0, 0))
        case ("power", base, exponent) if base[0] == "unit" or base == ("number", "10"):
            found = worth(base)
            assert found is not None
            return Worth(found.value**exponent, tuple(exponent * d for d in found.dimension))
        case ("product", *factors):
            value, step, dimension = Fraction(1), Fraction(0), (0, 0, 0)
            for place, factor in enumerate(factors):
                found = worth(factor)
                if found is None or (factor[0] not in ("unit", "power") and place):
                    return None
                value *= found.value
                step = step * found.value if place else found.step
                dimension = tuple(a + b for a, b in zip(dimension, found.dimension, strict=True))
            return Worth(value, dimension, step)
    return None


class Place:
    """A value for every name and unit."""

    def __init__(self, seed: int) -> None:
        self.seed = seed
        self.known: dict[str, int] = {}
        self.units = tuple(self.drawn(f"unit {k}") for k in range(3))

    def drawn(self, key: str) -> int:
        """Return the value of a key, always the same."""
        if key not in self.known:
            self.known[key] = random.Random(f"{self.seed} {key}").randrange(1, PRIME)
        return self.known[key]

    def tree(self, tree: Tree) -> int:
        """Work out what a page says."""
        match tree:
            case ("number", digits):
                return self.fraction(Fraction(digits))
            case ("name", said):
                return self.drawn(said)
            case ("unit", sign):
                prefix, unit = SYMBOLS[sign]
                size, dimension = _UNITS[unit]
                return self.quantity(size * Fraction(10) ** PREFIXES[prefix], dimension)
            case ("-", inner):
                return -self.tree(inner) % PRIME
            case ("+", inner):
                return self.tree(inner)
            case ("sum", *terms):
                signed = ((1 if sign == "+" else -1) * self.tree(t) for sign, t in terms)
                return sum(signed) % PRIME
            case ("product", *factors):
                return _product(map(self.tree, factors))
            case ("quotient", above, below):
                return self.tree(above) * _inverse(self.tree(below)) % PRIME
            case ("power", base, exponent):
                return pow(self.tree(base), exponent, PRIME)
            case ("parallel", *terms):
                return _inverse(sum(_inverse(self.tree(t)) for t in terms))
            case ("e", power):
                return self.drawn(f"e^{self.tree(power)}")
        raise AssertionError(tree)

    def term(self, term: Term, emf: EmfSymbol) -> int:
        """Work out a term of the derivation by its definition."""
        match term:
            case Number(value):
                return self.fraction(value)
            case Quantity(value, Dimension(volt, ohm, second)):
                return self.quantity(value, (volt, ohm, second))
            case Symbol():
                return self.drawn(names.symbol(term, emf))
            case Negative(inner):
                return -self.term(inner, emf) % PRIME
            case Sum(terms):
                return sum(self.term(t, emf) for t in terms) % PRIME
            case Product(factors):
                return _product(self.term(f, emf) for f in factors)
            case Quotient(above, below):
                return self.term(above, emf) * _inverse(self.term(below, emf)) % PRIME
            case Power(base, exponent):
                return pow(self.term(base, emf), exponent, PRIME)
            case Parallel(terms):
                return _inverse(sum(_inverse(self.term(t, emf)) for t in terms))
            case Exponential(power):
                return self.drawn(f"e^{self.term(power, emf)}")

    def fraction(self, value: Fraction) -> int:
        """Return a number modulo the prime."""
        return value.numerator * _inverse(value.denominator) % PRIME

    def quantity(self, value: Fraction, dimension: tuple[int, ...]) -> int:
        """Return a value with its unit modulo the prime."""
        found = self.fraction(value)
        for unit, power in zip(self.units, dimension, strict=True):
            found = found * pow(unit, power, PRIME) % PRIME
        return found


def _inverse(value: int) -> int:
    return pow(value % PRIME, -1, PRIME)


def _product(values: Any) -> int:
    found = 1
    for value in values:
        found = found * value % PRIME
    return found


PLACES = (Place(1), Place(2))


def print_of(tree: Tree) -> Print:
    """Return what a side of a page is worth at both places."""
    one, other = (place.tree(tree) for place in PLACES)
    return one, other


def everything(value: object, kind: type) -> Iterator[Any]:
    """Yield all that is of a kind within dataclasses and tuples."""
    if isinstance(value, kind):
        yield value
    if is_dataclass(value) and not isinstance(value, type):
        for item in fields(value):
            yield from everything(getattr(value, item.name), kind)
    elif isinstance(value, tuple):
        for item in value:
            yield from everything(item, kind)


@dataclass
class Known:
    """What the derivations prove, by prints."""

    emf: EmfSymbol
    equations: set[tuple[Print, Print]] = field(default_factory=set)
    courses: set[tuple[Print, Print]] = field(default_factory=set)
    """Courses in time with rounded numbers."""
    values: dict[Print, list[Worth]] = field(default_factory=dict)
    """Exact values by what they are the values of."""
    limits: set[tuple[Print, Print, str, str]] = field(default_factory=set)
    """A symbol, what it tends to, the letter that goes to 0 or ∞, and that."""
    cases: list[tuple[Print, Print, frozenset[frozenset[Print]]]] = field(default_factory=list)
    numerators: dict[Print, set[Print]] = field(default_factory=dict)
    """What stands above the line in the formulas of a symbol."""
    counts: set[tuple[str, int]] = field(default_factory=set)
    """Branches ``b`` and junctions ``n``."""
    ranges: set[tuple[Print, Fraction, Fraction]] = field(default_factory=set)
    """A symbol, what it is at least and at most, as printed."""
    numbers: set[tuple[Fraction, tuple[int, int, int]]] = field(default_factory=set)
    """All exact values, without their signs."""
    elsewhere: set[Print] = field(default_factory=set)
    """Voltages and sources that have another value in the circuit with a test source."""
    loose: set[Fraction] = field(default_factory=set)
    """Numbers of the steps that have no dimension of their own."""

    def add(self, derivation: Derivation) -> None:
        """Take the steps of a derivation, and those of the derivations within."""
        for step in derivation.steps:
            conclusion = getattr(step, "conclusion", None)
            if isinstance(step, RoundedCourse):
                self.courses.add(self._both(step.conclusion))
            elif isinstance(conclusion, Equation):
                self.equation(conclusion)
            if isinstance(step, Limit) and step.limit is not None:
                left = derivation.equation(step.premise).left
                to = "∞" if step.to is Toward.INFINITY else "0"
                one, other = self.print(left), self.print(step.limit)
                self.limits.add((one, other, names.symbol(step.letter, self.emf), to))
            if isinstance(step, SpecialCase):
                left = derivation.equation(step.premise).left
                assumed = frozenset(frozenset(self._both(e)) for e in step.assumptions)
                self.cases.append((self.print(left), self.print(step.result), assumed))
            if isinstance(step, ChooseUnknowns):
                self.counts |= {("b", step.branches), ("n", step.junctions)}
            if isinstance(step, Range):
                ends = step.low.shown, step.high.shown
                self.ranges.add((self.print(step.symbol), *ends))
            inner = getattr(step, "derivation", None)
            if isinstance(inner, Derivation):
                self.add(inner)
                if isinstance(step, IdealReading):
                    self._ideal(step, inner)
            if isinstance(step, BySource):
                self._by_source(step)
            for number in _fractions(step):
                self.loose.add(abs(number))

    def _ideal(self, step: IdealReading, inner: Derivation) -> None:
        """What is concluded of an ideal meter holds under the name that its reading has here."""
        read = {
            s.symbol
            for s in inner.steps
            if isinstance(s, Conclude) and s.question == AskReading(step.part)
        }
        for other in inner.steps:
            conclusion = getattr(other, "conclusion", None)
            if isinstance(conclusion, Equation) and conclusion.left in read:
                self.equation(Equation(step.conclusion.left, conclusion.right))

    def _by_source(self, step: BySource) -> None:
        """A resistance is the voltage of its test source over the current of that, which is 1 A."""
        steps = step.derivation.steps
        for other in steps:
            conclusion = getattr(other, "conclusion", None)
            if isinstance(conclusion, Equation) and isinstance(conclusion.left, Symbol):
                if conclusion.left.kind is not SymbolKind.RESISTANCE:
                    self.elsewhere.add(self.print(conclusion.left))
        tests = [
            s.symbol
            for s in steps
            if isinstance(s, GivenValue)
            and s.symbol.kind is SymbolKind.SOURCE_CURRENT
            and s.conclusion.right == Quantity(Fraction(1), AMPERE)
        ]
        for answer in steps:
            if isinstance(answer, Conclude) and answer.symbol.kind is SymbolKind.VOLTAGE:
                for source in tests:
                    quotient = Quotient(answer.symbol, source)
                    self.equation(Equation(step.conclusion.left, quotient))

    def equation(self, equation: Equation) -> None:
        """Take one equation."""
        left, right = self._both(equation)
        self.equations.add((left, right))
        above = _numerator(equation.right)
        if above is not None:
            self.numerators.setdefault(left, set()).add(self.print(above))
        exact = _value(equation.right)
        if exact is not None:
            self.values.setdefault(left, []).append(exact)
            self.numbers.add((abs(exact.value), exact.dimension))

    def print(self, term: Term) -> Print:
        """Return what a term is worth at both places."""
        one, other = (place.term(term, self.emf) for place in PLACES)
        return one, other

    def _both(self, equation: Equation) -> tuple[Print, Print]:
        return self.print(equation.left), self.print(equation.right)



def _numerator(term: Term) -> Term | None:
    match term:
        case Quotient(above, _):
            return above
        case Negative(Quotient(above, _)):
            return Negative(above)
    return None


def _value(term: Term) -> Worth | None:
    """Work out a term without letters; None for one that has some."""
    match term:
        case Number(value):
            return Worth(value, (0, 0, 0))
        case Quantity(value, Dimension(volt, ohm, second)):
            return Worth(value, (volt, ohm, second))
        case Negative(inner):
            found = _value(inner)
            return found and Worth(-found.value, found.dimension)
        case Sum(terms):
            sizes = [_value(t) for t in terms]
            if not sizes or any(size is None for size in sizes):
                return None
            known = [size for size in sizes if size is not None]
            return Worth(sum((s.value for s in known), Fraction(0)), known[0].dimension)
        case Product(factors):
            total = Worth(Fraction(1), (0, 0, 0))
            for factor in factors:
                size = _value(factor)
                if size is None:
                    return None
                total = Worth(
                    total.value * size.value, _times(total.dimension, size.dimension, 1)
                )
            return total
        case Quotient(above, below):
            over, under = _value(above), _value(below)
            if over is None or under is None:
                return None
            return Worth(over.value / under.value, _times(over.dimension, under.dimension, -1))
        case Power(base, exponent):
            size = _value(base)
            if size is None:
                return None
            a, b, c = (exponent * d for d in size.dimension)
            return Worth(size.value**exponent, (a, b, c))
    return None


def _fractions(step: object) -> Iterator[Fraction]:
    for name in fields(step):  # type: ignore[arg-type]
        value = getattr(step, name.name)
        if not isinstance(value, Derivation | Equation):
            yield from everything(value, Fraction)


def is_rounding(shown: Worth, exact: Fraction) -> bool:
    """Tell whether digits are those of an exact value, rounded to the nearest."""
    return abs(shown.value - exact) * 2 <= abs(shown.step)


# --- a page -------------------------------------------------------------------------------------


def faults(page: Page, known: Known) -> Iterator[str]:
    """Yield every statement of a page that does not follow."""
    for item in page.items:
        match item:
            case Row(chain, _, source):
                yield from _chain(chain, source, known)
            case Values(chains):
                for chain in chains:
                    yield from _chain(chain, (), known)
            case Prose(run):
                yield from _run(run, known)
            case Table(rows):
                for row in rows:
                    for cell in row:
                        yield from _run(cell, known)


def _run(run: Run, known: Known) -> Iterator[str]:
    subject: Print | None = None
    for piece in run:
        if not isinstance(piece, Chain):
            continue
        if piece.relations == (">",):
            # It is said of the current before it that it runs against its arrow then.
            great, small = map(print_of, piece.sides)
            above = tuple((b - a) % PRIME for a, b in zip(great, small, strict=True))
            if subject is None or above not in known.numerators.get(subject, ()):
                yield f"condition {piece}"
            continue
        if not piece.relations and piece.sides[0][0] == "name":
            subject = print_of(piece.sides[0])
        yield from _chain(piece, (), known)


def _chain(chain: Chain, source: Run, known: Known) -> Iterator[str]:
    if chain.relations == ("≤", "≤"):
        low, middle, high = chain.sides
        ends = worth(low), worth(high)
        if not (ends[0] and ends[1]) or (
            print_of(middle), ends[0].value, ends[1].value
        ) not in known.ranges:  # fmt: skip
            yield f"range {chain}"
        return
    first = print_of(chain.sides[0])
    for relation, side in zip(chain.relations, chain.sides[1:], strict=True):
        if not _holds(first, relation, side, source, known):
            yield f"{chain.sides[0]} {relation} {side} {source or ''}"
    if not chain.relations and (shown := worth(chain.sides[0])) is not None:
        if not _is_known(shown, known):
            yield f"value {chain.sides[0]}"


def _is_known(shown: Worth, known: Known) -> bool:
    size = Worth(abs(shown.value), shown.dimension, shown.step)
    return any(
        dimension == size.dimension and is_rounding(size, value)
        for value, dimension in known.numbers
    ) or any(is_rounding(size, value) for value in known.loose)


def _holds(first: Print, relation: str, side: Tree, source: Run, known: Known) -> bool:
    other = print_of(side)
    if relation == "→":
        letter, to = _condition(source)
        return (first, other, letter, to) in known.limits
    if source and isinstance(source[0], str) and source[0].startswith("if "):
        assumed = _assumed(source)
        return relation == "=" and (first, other, assumed) in known.cases
    if relation == "=" and (first, other) in known.equations:
        return True
    if (first, other) in known.courses:
        return True
    shown = worth(side)
    for letter, count in known.counts:
        if (first, relation) == (print_of(("name", letter)), "=") and shown == Worth(
            Fraction(count), (0, 0, 0), Fraction(1)
        ):
            return True
    if shown is None or relation not in "=≈":
        return False
    for exact in known.values.get(first, ()):
        if exact.dimension != shown.dimension and exact.value:
            continue
        if relation == "=" and shown.value == exact.value:
            return True
        if relation == "≈" and shown.value != exact.value and is_rounding(shown, exact.value):
            return True
    return False


def _condition(source: Run) -> tuple[str, str]:
    match source:
        case ("as ", Chain(sides=(("name", letter),)), arrow) if isinstance(arrow, str):
            return letter, arrow.replace("→", "").strip()
    return "", ""


def _assumed(source: Run) -> frozenset[frozenset[Print]]:
    pairs = set()
    for piece in source:
        if isinstance(piece, Chain):
            sides = [print_of(side) for side in piece.sides]
            pairs |= {frozenset((one, sides[0])) for one in sides[1:]}
    return frozenset(pairs)


# --- in the solution ----------------------------------------------------------------------------


def solved(tree: Tree, known: Known) -> Worth | None:
    """Work a side out with the exact values of the solution; None where one is not known."""
    match tree:
        case ("name", _):
            found = known.values.get(print_of(tree), [])
            one = len({w.value for w in found}) == 1  # not so for two states of a switch
            one = one and print_of(tree) not in known.elsewhere
            return max(found, key=lambda w: w.dimension) if one else None
        case ("number", _) | ("unit", _):
            return worth(tree)
        case ("-", inner):
            value = solved(inner, known)
            return value and Worth(-value.value, value.dimension)
        case ("+", inner):
            return solved(inner, known)
        case ("e", _):
            return None
        case ("power", base, exponent):
            value = solved(base, known)
            if value is None or (exponent < 0 and not value.value):
                return None
            return Worth(value.value**exponent, tuple(exponent * d for d in value.dimension))
    parts = [t[1] for t in tree[1:]] if tree[0] == "sum" else tree[1:]
    values = [solved(part, known) for part in parts]
    if any(value is None for value in values):
        return None
    sizes = [value for value in values if value is not None]
    match tree[0]:
        case "sum":
            dimensions = {v.dimension for v in sizes if v.value} or {sizes[0].dimension}
            if len(dimensions) > 1:
                raise Misread(f"units that do not fit: {tree}")
            signs = [1 if sign == "+" else -1 for sign, _ in tree[1:]]
            total = sum((s * v.value for s, v in zip(signs, sizes, strict=True)), Fraction(0))
            return Worth(total, dimensions.pop())
        case "product":
            value, dimension = Fraction(1), (0, 0, 0)
            for size in sizes:
                value *= size.value
                dimension = _times(dimension, size.dimension, 1)
            return Worth(value, dimension)
        case "quotient":
            above, below = sizes
            if not below.value:
                return None
            return Worth(above.value / below.value, _times(above.dimension, below.dimension, -1))
        case "parallel":
            if not all(size.value for size in sizes):
                return None
            return Worth(1 / sum(1 / size.value for size in sizes), sizes[0].dimension)
    raise AssertionError(tree)


def _times(
    one: tuple[int, int, int], other: tuple[int, int, int], sign: int
) -> tuple[int, int, int]:
    a, b, c = (x + sign * y for x, y in zip(one, other, strict=True))
    return a, b, c


def unequal(page: Page, known: Known) -> Iterator[str]:
    """Yield sides that are said to be equal and are not so in the solution."""
    for row in page.rows():
        if row.source and isinstance(row.source[0], str) and row.source[0].startswith(("if", "as")):
            continue
        sides = [solved(side, known) for side in row.chain.sides]
        first = sides[0]
        for relation, side, tree in zip(
            row.chain.relations, sides[1:], row.chain.sides[1:], strict=True
        ):
            if first is None or side is None:
                continue
            equal = first.value == side.value and (
                first.dimension == side.dimension or not first.value
            )
            if relation == "=" and not equal:
                yield f"{row.chain.sides[0]} is {first.value}, not {tree}"
            if relation == "≈":
                digits = worth(tree)
                if digits is None or equal or not is_rounding(digits, first.value):
                    yield f"{row.chain.sides[0]} is {first.value}, not about {tree}"
