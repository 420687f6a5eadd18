"""How far the tolerances of the values reach: ranges of the answers, and what each part adds."""

from derive.analysis.tolerance.bounding import bound_answers

__all__ = ["bound_answers"]
