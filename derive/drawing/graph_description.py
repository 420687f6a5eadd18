"""The graphs of a solution in words, for a reader who does not see them.

The levels are told to three significant figures, enough to draw the graph again.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from derive.analysis.rounding import magnitude
from derive.drawing.power_bars import PowerShare, PowerShares, Use
from derive.drawing.straight_walk import Leg, PotentialWalk

_PREFIXES = {-12: "p", -9: "n", -6: "µ", -3: "m", 0: "", 3: "k", 6: "M", 9: "G"}
_ABOVE = str.maketrans("0123456789-", "⁰¹²³⁴⁵⁶⁷⁸⁹⁻")
FIGURES = 3

WALKED = "The potential, counted from the start of the walk{start}, runs level along wire."
CHANGED = "At {quantity} it {way} by {size} to {level}{there}."
UNCHANGED = "At {quantity} it stays at {level}{there}."
BACK = "It ends at the level where it began."
STEPS, SLOPES = ("steps down", "steps up"), ("slopes down", "slopes up")
BARS = (
    "Two bars of the same height: the power delivered by {delivered}, and the power taken in by "
    "{taken}."
)
BARS_HIGH = "Two bars of the same height, {total}, with a piece for every part."
DELIVERED = "Delivered, from top to bottom: {pieces}."
TAKEN = "Taken in, from top to bottom: {pieces}."
PIECE, CHARGED = "{part}, {power}", "{part}, being charged, {power}"
AND = "and"


def potential_short(walk: PotentialWalk) -> str:
    """Return one sentence about a graph of the potential."""
    met = ", ".join(leg.quantity for leg in walk.legs)
    return (
        f"Graph of the potential along a walk round a loop, past {met}: it ends at the level "
        "where it began."
    )


def potential_long(walk: PotentialWalk, *, comma: bool = False) -> str:
    """Return the description of a graph of the potential, change by change.

    With `comma` that is the decimal marker.
    """
    levels, stops = walk.levels, walk.stops
    sentences = [WALKED.format(start=start(walk))]
    for leg, names, (_, level) in zip(walk.legs, stops[1:], pairwise(levels), strict=True):
        sentences.append(_leg(leg, names, level, comma=comma))
    sentences.append(BACK)
    return " ".join(sentences)


def ways(leg: Leg) -> tuple[str, str]:
    """Return how a fall and a rise at a leg look in the graph."""
    return STEPS if leg.shape.is_emf else SLOPES


def there(names: tuple[str, ...]) -> str:
    """Return the end of a sentence that names the points behind a leg."""
    if not names:
        return ""
    return f"; there {'is' if len(names) == 1 else 'are'} {_points(names)}"


def start(walk: PotentialWalk) -> str:
    """Return where a walk starts, with a space in front."""
    return f" at {_points(walk.stops[0])}" if walk.stops[0] else ""


def _leg(leg: Leg, names: tuple[str, ...], level: Fraction, *, comma: bool) -> str:
    end = amount(level, "V", comma=comma)
    told = {"quantity": leg.quantity, "level": end, "there": there(names)}
    if not leg.change:
        return UNCHANGED.format(**told)
    size = amount(abs(leg.change), "V", comma=comma)
    return CHANGED.format(way=ways(leg)[leg.change > 0], size=size, **told)


def power_short(shares: PowerShares) -> str:
    """Return one sentence about the bars of power."""
    return BARS.format(delivered=_parts(shares.delivered), taken=_parts(shares.taken))


def power_long(shares: PowerShares, *, comma: bool = False) -> str:
    """Return the description of the bars, piece by piece."""
    total = sum((share.power for share in shares.delivered), Fraction(0))
    told = [BARS_HIGH.format(total=amount(total, "W", comma=comma))]
    for sentence, parts in ((DELIVERED, shares.delivered), (TAKEN, shares.taken)):
        told.append(sentence.format(pieces="; ".join(_piece(p, comma=comma) for p in parts)))
    return " ".join(told)


def _piece(share: PowerShare, *, comma: bool) -> str:
    sentence = CHARGED if share.use is Use.CHARGING and share.is_cell else PIECE
    return sentence.format(part=share.part, power=amount(share.power, "W", comma=comma))


def _parts(shares: tuple[PowerShare, ...]) -> str:
    return _listed([share.part for share in shares])


def _points(names: tuple[str, ...]) -> str:
    return f"{'point' if len(names) == 1 else 'points'} {_listed(list(names))}"


def _listed(items: list[str]) -> str:
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} {AND} {items[-1]}"


def amount(value: Fraction, unit: str, *, comma: bool = False) -> str:
    """Return a value with three significant figures and the prefix that suits.

    With `comma` that is the decimal marker.

    >>> amount(Fraction(-1, 47), "A"), amount(Fraction(12), "V"), amount(Fraction(1199, 10), "V")
    ('−21.3 mA', '12 V', '120 V')
    >>> amount(Fraction(1, 3 * 10**20), "W")
    '3.33 · 10⁻²¹ W'
    """
    if not value:
        return f"0 {unit}"
    size = abs(value)
    power = magnitude(size)
    place = Fraction(10) ** (power - FIGURES + 1)
    rounded = int(size / place + Fraction(1, 2)) * place
    exponent = 0 if -1 <= power < 3 else 3 * (power // 3)
    scale = exponent if exponent in _PREFIXES else power
    digits = ("−" if value < 0 else "") + _short(rounded, scale)
    if comma:
        digits = digits.replace(".", ",")
    if exponent not in _PREFIXES:
        return f"{digits} · 10{str(power).translate(_ABOVE)} {unit}"
    return f"{digits} {_PREFIXES[exponent]}{unit}"


def _short(value: Fraction, exponent: int) -> str:
    """Return the digits of a value over a power of ten, without zeros at the end."""
    return f"{float(value / Fraction(10) ** exponent):.12f}".rstrip("0").rstrip(".")
