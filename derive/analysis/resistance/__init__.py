"""The resistance between two points, step by step."""

from derive.analysis.resistance.answer import derive_reduction, derive_resistance

__all__ = ["derive_reduction", "derive_resistance"]
