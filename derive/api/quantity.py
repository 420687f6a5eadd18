"""Results and equations as a notebook shows them."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from derive.algebra.term import Term
from derive.document.model import Chain
from derive.typesetting.style import Style

if TYPE_CHECKING:
    import sympy


@dataclass(frozen=True)
class Shown:
    """An equation that shows itself."""

    _chain: Chain = field(repr=False)
    _style: Style = field(repr=False)

    def __str__(self) -> str:
        """Return the equation as plain text, ``I₁ ≈ 1.42 A``."""
        from derive.writers.text_math import inline
        from derive.writers.text_wrap import unglue

        return unglue(inline(self._chain, self._style))

    @property
    def latex(self) -> str:
        """The equation in TeX, without dollars."""
        from derive.writers.tex_math import inline

        return inline(self._chain, self._style)


@dataclass(frozen=True)
class Quantity(Shown):
    """A result: a current, a voltage, a power, a resistance.

    In a notebook it shows itself as an equation; `float` gives its value in SI base units.
    """

    name: str
    """``I1``, ``V(B,A)``, ``P(R1)``."""
    formula: str | None
    """In element names, readable by Python; None where there is none."""
    exact: Fraction | None
    """In SI base units; None while a letter is left."""
    unit: str | None
    """Symbol of the SI unit."""
    _term: Term | None = field(repr=False)

    def __float__(self) -> float:
        """Return the value in SI base units. Raises ValueError while a letter is left."""
        if self.exact is None:
            raise ValueError(f"{self.name} holds letters without a value: {self.formula}")
        return float(self.exact)

    def to_sympy(self) -> sympy.Expr:
        """Return the formula for sympy. Raises ValueError where there is none."""
        from derive.algebra.interchange import to_sympy

        if self._term is None:
            raise ValueError(f"there is no formula of {self.name} in letters")
        return to_sympy(self._term)

    def _repr_latex_(self) -> str:
        return f"${self.latex}$"


@dataclass(frozen=True)
class Step(Shown):
    """One displayed equation of a solution, proved by the checker before it was written."""

    section: str
    """The heading under which it stands."""
    number: int | None
    """The number in the margin; None for a line without."""

    def _repr_latex_(self) -> str:
        tag = "" if self.number is None else rf" \tag{{{self.number}}}"
        return f"$${self.latex}{tag}$$"
