"""Can the circuit be reduced to one resistor on one battery? Decided by test, not by counting."""

from derive.analysis.reduction.decide import judge, may_change
from derive.analysis.reduction.verdict import Criterion, PointLabel, Reduced, ReductionVerdict

__all__ = ["Criterion", "PointLabel", "Reduced", "ReductionVerdict", "judge", "may_change"]
