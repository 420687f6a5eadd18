"""Names for the sums that come up in an elimination in letters."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from derive.algebra.dimension import AMPERE, Dimension
from derive.algebra.name import natural_key, unused_name
from derive.algebra.polynomial import Poly, Ring
from derive.algebra.term import Symbol, SymbolKind, auxiliary
from derive.analysis.plan import LinearRow

_COEFFICIENTS = "abcdfghk"
_SOURCES = "euvwxyz"
"""First letters of the names for coefficients and for right sides, by level."""


@dataclass(frozen=True, slots=True)
class NamedRow:
    """Σ coefficient · unknown = right, in letters and names."""

    row: LinearRow
    unit: Dimension
    """Dimension of the right side."""

    @property
    def coefficient(self) -> Dimension:
        """Dimension of the coefficients."""
        return self.unit / AMPERE


@dataclass(frozen=True, slots=True)
class Naming:
    """A name and what it stands for."""

    symbol: Symbol
    value: Poly
    """In the letters and names that came before."""

    @property
    def is_bare(self) -> bool:
        """Whether it stands for a sum of letters alone; such sums may be written out again."""
        return all(s.kind is not SymbolKind.AUXILIARY for s in self.value.symbols)


class Namer:
    """Gives each sum of one level a name, the same sum the same name."""

    def __init__(
        self,
        level: int,
        taken: set[str],
        known: Iterable[Naming],
        point: Mapping[Symbol, Fraction],
    ) -> None:
        """Name the sums of a level; `point` has values for the letters and names before it."""
        self.level = level
        self.point = point
        self.taken = taken
        self.sums = {n.symbol: n.value for n in known if n.is_bare}
        self.made: dict[Poly, Symbol] = {}
        self.names: list[Naming] = []

    def coefficient(self, poly: Poly, unit: Dimension) -> Poly | Named:
        """Return a coefficient, or a name for it where it is a sum."""
        return poly if len(poly) < 2 else self._name(poly, unit, _COEFFICIENTS)

    def source(self, poly: Poly, unit: Dimension) -> Poly | Named:
        """Return a right side, or a name for it where it is a long sum."""
        # E1 − E2 on the right of a loop equation is short enough.
        least = 2 if self.level else 3
        return poly if len(poly) < least else self._name(poly, unit, _SOURCES)

    def _name(self, poly: Poly, unit: Dimension, stock: str) -> Named:
        bare = self._expanded(poly)
        size = -bare if self._is_negative(bare) else bare
        if size not in self.made:
            letter = stock[self.level]
            count = 1 + sum(naming.symbol.name.startswith(letter) for naming in self.names)
            symbol = auxiliary(unused_name(f"{letter}{count}", self.taken), unit)
            self.made[size] = symbol
            self.names.append(Naming(symbol, size))
        return Named(self.made[size], size != bare)

    def _is_negative(self, poly: Poly) -> bool:
        """Tell the sign: that of all terms, or else that of a coefficient at the test point."""
        signs = {c > 0 for c in poly.coefficients()}
        if len(signs) == 1:
            return signs == {False}
        if not self.point.keys() >= set(poly.symbols):
            return False  # it holds emfs, whose signs are not known
        return poly.evaluate(self.point) < 0

    def _expanded(self, poly: Poly) -> Poly:
        """Return R6 for R5 + R6 − R5: with sums of letters written out, where that gets shorter."""
        if len({c > 0 for c in poly.coefficients()}) == 1:
            return poly
        letters = {s for s in poly.symbols if s not in self.sums}
        letters.update(s for n in poly.symbols if n in self.sums for s in self.sums[n].symbols)
        ring = Ring(sorted(letters, key=_written_order))
        images = {
            s: self.sums[s].compose({}, ring) if s in self.sums else ring.symbol(s)
            for s in poly.symbols
        }
        bare = poly.compose(images, ring)
        return bare if bare and len(bare) <= len(poly) else poly


@dataclass(frozen=True, slots=True)
class Named:
    """A name in place of a sum, perhaps with the opposite sign."""

    symbol: Symbol
    opposite: bool


def extended(
    point: Mapping[Symbol, Fraction], names: Iterable[Naming]
) -> Mapping[Symbol, Fraction]:
    """Return a test point with the values of more names."""
    found = dict(point)
    for naming in names:
        if found.keys() >= set(naming.value.symbols):
            found[naming.symbol] = naming.value.evaluate(found)
    return found


def in_ring(entry: Poly | Named, ring: Ring) -> Poly:
    """Return an entry as a polynomial in a ring."""
    if isinstance(entry, Poly):
        return entry.compose({}, ring)
    return -ring.symbol(entry.symbol) if entry.opposite else ring.symbol(entry.symbol)


def ring_of(entries: Iterable[Poly | Named]) -> Ring:
    """Return a ring for the letters and names that are held, the letters first."""
    held: dict[Symbol, None] = {}
    for entry in entries:
        held.update(dict.fromkeys(entry.symbols if isinstance(entry, Poly) else (entry.symbol,)))
    return Ring(sorted(held, key=_written_order))


def _written_order(symbol: Symbol) -> tuple[bool, tuple[tuple[int, int, str], ...]]:
    return (symbol.kind is SymbolKind.AUXILIARY, natural_key(symbol.name))
