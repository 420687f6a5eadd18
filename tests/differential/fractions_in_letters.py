"""Fractions of polynomials compared by cross-multiplication, over sympy's own polynomial rings.

sympy's `cancel` and `together` may take minutes for a common divisor, which nothing here needs.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import sympy
from sympy.polys.rings import ring


@dataclass(frozen=True)
class Ratio:
    """A numerator and a denominator that is not zero, in no particular terms."""

    above: Any
    below: Any

    def __add__(self, other: Ratio | int) -> Ratio:
        if isinstance(other, int):
            return Ratio(self.above + other * self.below, self.below)
        if self.below == other.below:
            return Ratio(self.above + other.above, self.below)
        above = self.above * other.below + other.above * self.below
        return Ratio(above, self.below * other.below)

    def __neg__(self) -> Ratio:
        return Ratio(-self.above, self.below)

    def __sub__(self, other: Ratio | int) -> Ratio:
        return self + -other

    def __mul__(self, other: Ratio | int) -> Ratio:
        if isinstance(other, int):
            return Ratio(self.above * other, self.below)
        return Ratio(self.above * other.above, self.below * other.below)

    def __truediv__(self, other: Ratio | int) -> Ratio:
        if isinstance(other, int):
            return Ratio(self.above, self.below * other)
        return Ratio(self.above * other.below, self.below * other.above)

    def __pow__(self, exponent: int) -> Ratio:
        if exponent < 0:
            return Ratio(self.below**-exponent, self.above**-exponent)
        return Ratio(self.above**exponent, self.below**exponent)

    __radd__, __rmul__ = __add__, __mul__

    def same(self, other: Ratio) -> bool:
        """Tell whether two fractions are equal for all values."""
        return bool(self.above * other.below == other.above * self.below)


class Letters:
    """The polynomials in some letters."""

    def __init__(self, names: Iterable[str]) -> None:
        names = list(names)
        made = ring(names, sympy.ZZ)
        self.one = made[0].one
        self.letters = {
            name: Ratio(letter, self.one) for name, letter in zip(names, made[1:], strict=True)
        }

    def of_text(self, formula: str) -> Ratio:
        """Read a formula in Python's spelling."""
        return self._ratio(eval(formula, {"__builtins__": {}}, dict(self.letters)))

    def of_sympy(self, expression: sympy.Expr) -> Ratio:
        """Read an expression of sympy's."""
        if expression.is_Symbol:
            return self.letters[expression.name]
        if expression.is_Rational:
            return Ratio(int(expression.p) * self.one, int(expression.q) * self.one)
        parts = [self.of_sympy(part) for part in expression.args if not expression.is_Pow]
        if expression.is_Add:
            return sum(parts[1:], parts[0])
        if expression.is_Mul:
            found = parts[0]
            for part in parts[1:]:
                found = found * part
            return found
        base, exponent = expression.args
        return self.of_sympy(base) ** int(exponent)

    def _ratio(self, value: Ratio | int) -> Ratio:
        return value if isinstance(value, Ratio) else Ratio(value * self.one, self.one)
