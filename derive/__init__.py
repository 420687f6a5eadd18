"""Loopwalk: complete, checked solutions of direct-current circuits from a few lines of text.

>>> import derive
>>> found = derive.solve('''
... I: A (-E1 r1+) B (R1) A
... E1 = 9 V; r1 = 0.5 ohm; R1 = 4 ohm
... ''')
>>> [(name, str(result.exact)) for name, result in found.contract.currents]
[('I', '2')]
>>> derive.formula("I: A (-E1 r1+) B (R1) A")
('I = E1/(r1 + R1)',)
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from derive.writers.mark import VERSION

if TYPE_CHECKING:
    from derive.pipeline import Solution

__version__ = VERSION
__all__ = ["__version__", "formula", "solve"]


def solve(text: str, *, name: str = "circuit", **options: Any) -> Solution:
    """Solve a circuit given as text; `options` are the fields of `derive.pipeline.Options`.

    Raises derive.diagnostic.Rejected, whose diagnostics say what is wrong and where.
    """
    from derive.pipeline import Options, solve
    from derive.source import Source

    return solve(Source(name, text), Options(**options))


def formula(text: str, *, name: str = "circuit", **options: Any) -> tuple[str, ...]:
    """Return the currents in letters, as ``I1 = …`` in text that Python can read.

    Raises derive.diagnostic.Rejected.
    """
    from derive.pipeline import Options, formula
    from derive.source import Source

    return formula(Source(name, text), Options(**options))
