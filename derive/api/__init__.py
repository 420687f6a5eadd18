"""Loopwalk from Python.

`derive.read`, `derive.solve` and `derive.formula` lead here. What `derive` exports is stable;
everything deeper may change.
"""

from derive.api.quantity import Quantity, Step
from derive.api.solution import Circuit, Solution, options_of

__all__ = ["Circuit", "Quantity", "Solution", "Step", "options_of"]
