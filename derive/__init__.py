"""Loopwalk: complete, checked solutions of direct-current circuits from a few lines of text.

>>> import derive
>>> found = derive.solve('''
... I: A (-E1 r1+) B (R1) A
... E1 = 9 V; r1 = 0.5 ohm; R1 = 4 ohm
... ''')
>>> print(found.currents["I"], found.currents["I"].exact)
I = 2.00 A 2
>>> found.formulas["I"]
'E1/(r1 + R1)'
>>> derive.formula("I: A (-E1 r1+) B (R1) A")
('I = E1/(r1 + R1)',)
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

from derive.writers.mark import VERSION

if TYPE_CHECKING:
    from derive.api import Circuit, Quantity, Solution, Step
    from derive.diagnostic import Rejected

__version__ = VERSION
__all__ = [
    "Circuit", "Quantity", "Rejected", "Solution", "Step",
    "__version__", "formula", "read", "solve",
]  # fmt: skip


def read(source: str | Path, *, name: str = "circuit") -> Circuit:
    """Read a circuit, given as text or by the path of its file.

    `name` is what messages call a text. Raises Rejected, whose diagnostics say what is wrong and
    where, and ValueError for a file that cannot be read.
    """
    from derive.api import Circuit
    from derive.engines import files

    if isinstance(source, Path):
        try:
            found = files.read("./-" if str(source) == "-" else str(source))
        except files.Unreadable as fault:
            raise ValueError(f"{source} {fault}") from None
        return Circuit(found.text, found.name)
    if not isinstance(source, str):
        raise TypeError(f"a circuit is given as text or as a pathlib.Path, not {source!r}")
    if source.endswith(".circuit") and "\n" not in source:
        raise ValueError(f"this is the name of a file, not a circuit: pass Path({source!r})")
    return Circuit(source, name)


def solve(source: str | Path | Circuit, *, name: str = "circuit", **options: Any) -> Solution:
    """Solve a circuit.

    `options` are those of the command: `numbers_first` and `expanded`, True or False; `detail`,
    "full", "brief" or "answers"; `group`, "battery" or "loop"; `figures`, 1 to 12; `terms`.
    Raises what `read` raises, and Rejected for a circuit without one solution.
    """
    from derive.api import Circuit

    circuit = source if isinstance(source, Circuit) else read(source, name=name)
    return circuit.solve(**options)


def formula(
    source: str | Path | Circuit, *, name: str = "circuit", **options: Any
) -> tuple[str, ...]:
    """Return the currents in letters, as ``I1 = …`` in text that Python can read.

    `options` are those of `solve`.
    Raises what `read` raises, and Rejected for a circuit without one solution.
    """
    from derive.api import Circuit, options_of
    from derive.pipeline import formula
    from derive.source import Source

    circuit = source if isinstance(source, Circuit) else read(source, name=name)
    return formula(Source(circuit.name, circuit.text), options_of(options))


def __getattr__(name: str) -> Any:
    # The types are imported when they are asked for: they bring the whole pipeline.
    if name == "Rejected":
        from derive.diagnostic import Rejected

        return Rejected
    if name in __all__:
        from derive import api

        return getattr(api, name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
