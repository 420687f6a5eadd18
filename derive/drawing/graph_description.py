"""The graphs of a solution in words, for a reader who does not see them.

The levels are told to three significant figures, enough to draw the graph again.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from derive.drawing.model import SymbolShape
from derive.drawing.power_bars import PowerShare, PowerShares, Use
from derive.drawing.straight_walk import Leg, PotentialWalk

_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_FIGURES = 3


def potential_short(walk: PotentialWalk) -> str:
    """Return one sentence about a graph of the potential."""
    met = ", ".join(leg.quantity for leg in walk.legs)
    return (
        f"Graph of the potential along a walk round a loop, past {met}: it ends at the level "
        "where it began."
    )


def potential_long(walk: PotentialWalk) -> str:
    """Return the description of a graph of the potential, change by change."""
    levels, stops = walk.levels, walk.stops
    start = f" at {_points(stops[0])}" if stops[0] else ""
    sentences = [
        f"The potential, counted from the start of the walk{start}, runs level along wire."
    ]
    for leg, names, (_, level) in zip(walk.legs, stops[1:], pairwise(levels), strict=True):
        sentences.append(_leg(leg, names, level))
    sentences.append("It ends at the level where it began.")
    return " ".join(sentences)


def _leg(leg: Leg, names: tuple[str, ...], level: Fraction) -> str:
    match leg.shape:
        case SymbolShape.CELL | SymbolShape.CELLS:
            way = "steps up" if leg.change > 0 else "steps down"
        case _:
            way = "slopes up" if leg.change > 0 else "slopes down"
    there = f"; there is {_points(names)}" if names else ""
    if not leg.change:
        return f"At {leg.quantity} it stays at {_amount(level, 'V')}{there}."
    size = _amount(abs(leg.change), "V")
    return f"At {leg.quantity} it {way} by {size} to {_amount(level, 'V')}{there}."


def power_short(shares: PowerShares) -> str:
    """Return one sentence about the bars of power."""
    return (
        f"Two bars of the same height: the power delivered by {_parts(shares.delivered)}, and the "
        f"power taken in by {_parts(shares.taken)}."
    )


def power_long(shares: PowerShares) -> str:
    """Return the description of the bars, piece by piece."""
    total = sum((share.power for share in shares.delivered), Fraction(0))
    told = [f"Two bars of the same height, {_amount(total, 'W')}, with a piece for every part."]
    for name, parts in (("Delivered", shares.delivered), ("Taken in", shares.taken)):
        pieces = [_piece(share) for share in parts]
        told.append(f"{name}, from top to bottom: {'; '.join(pieces)}.")
    return " ".join(told)


def _piece(share: PowerShare) -> str:
    charging = ", being charged" if share.use is Use.CHARGING else ""
    return f"{share.part}{charging}, {_amount(share.power, 'W')}"


def _parts(shares: tuple[PowerShare, ...]) -> str:
    return _listed([share.part for share in shares])


def _points(names: tuple[str, ...]) -> str:
    return f"{'point' if len(names) == 1 else 'points'} {_listed(list(names))}"


def _listed(items: list[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def _amount(value: Fraction, unit: str) -> str:
    """Return a value with three significant figures and the prefix that suits.

    >>> _amount(Fraction(-1, 47), "A"), _amount(Fraction(12), "V"), _amount(Fraction(1199, 10), "V")
    ('−21.3 mA', '12 V', '120 V')
    """
    if not value:
        return f"0 {unit}"
    size = abs(value)
    magnitude = len(str(size.numerator)) - len(str(size.denominator))
    if Fraction(10) ** magnitude > size:
        magnitude -= 1
    place = Fraction(10) ** (magnitude - _FIGURES + 1)
    rounded = int(size / place + Fraction(1, 2)) * place
    exponent = min(max(3 * (magnitude // 3), min(_PREFIXES)), max(_PREFIXES))
    if -1 <= magnitude < 3:
        exponent = 0
    text = f"{float(rounded / Fraction(10) ** exponent):.12f}".rstrip("0").rstrip(".")
    return f"{'−' if value < 0 else ''}{text} {_PREFIXES[exponent]}{unit}"
