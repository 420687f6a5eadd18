"""Significant figures: how many the author wrote, and how many a rounded answer deserves.

Counted digits end where the author's knowledge ends: 4.70 ohm has three. Whole numbers and
fractions such as 12 V or 3/2 ohm count as exact, as textbooks use them (common practice, no
source).
"""

from __future__ import annotations

import re

from derive.bounds import FIGURES
from derive.circuit.model import Circuit

LEAST = 3
"""Answers are given to no fewer figures, whatever the data (common practice, no source)."""
MOST = FIGURES[1]
"""Answers are given to no more figures, whatever the data."""

_CODE = re.compile(r"([0-9]+)[kKM]([0-9]*)")


def written_figures(text: str) -> int | None:
    """Return the significant figures of a number as written; None when it counts as exact.

    >>> written_figures("0.050"), written_figures("1.5e3"), written_figures("4k7")
    (2, 2, 2)
    >>> written_figures("12"), written_figures("3/2"), written_figures("0.0")
    (None, None, None)
    """
    code = _CODE.fullmatch(text)
    if code is not None:
        text = ".".join(code.groups()) if code[2] else code[1]
    mantissa = text.partition("e")[0]
    if "/" in mantissa or not re.search(r"[.,]", mantissa):
        return None
    return len(re.sub(r"[.,]", "", mantissa).lstrip("0")) or None


def fewest(*counts: int | None) -> int | None:
    """Return the smallest of some counts; None when all stand for exact numbers."""
    return min((count for count in counts if count is not None), default=None)


def data_figures(circuit: Circuit) -> int | None:
    """Return the significant figures of the least accurate datum; None when all are exact."""
    initial = (start.value.figures for start in circuit.initials)
    return fewest(*(valuation.value.figures for valuation in circuit.values), *initial)


def answer_figures(circuit: Circuit) -> int:
    """Return how many significant figures a rounded answer has.

    As many as the author asks for with ``figures``; otherwise as many as the least accurate
    datum, but at least three.
    """
    if circuit.looks.figures is not None:
        return circuit.looks.figures
    return min(max(data_figures(circuit) or LEAST, LEAST), MOST)
