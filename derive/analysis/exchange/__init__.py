"""Parts of a circuit put for others, step by step, and the way back to all currents."""

from derive.analysis.exchange.back import WayBack, derive_way_back
from derive.analysis.exchange.between import derive_resistance
from derive.analysis.exchange.reduce import ALL, SIMPLE, derive_reduction, reduces
from derive.analysis.exchange.trial import rests_on_values, without_values

__all__ = [
    "ALL",
    "SIMPLE",
    "WayBack",
    "derive_reduction",
    "derive_resistance",
    "derive_way_back",
    "reduces",
    "rests_on_values",
    "without_values",
]
