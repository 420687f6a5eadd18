"""Fractions written on the line, for what has one line only."""

from __future__ import annotations

from derive.typesetting.layout import Fence, Gap, Glyph, Operator, Over, Prefix, Raised, Row, Sign


def flat(row: Row) -> Row:
    """Return a row with its fractions written on the line: ``(a + b)/(c·d)``."""
    glyphs: list[Glyph] = []
    for place, glyph in enumerate(row):
        match glyph:
            case Over(numerator, denominator):
                fraction = (
                    *_part(flat(numerator), below=False),
                    Operator(Sign.DIVIDED),
                    *_part(flat(denominator), below=True),
                )
                # (7/2) Ω needs its parentheses; I = 7/2 A does not: a fraction is unwrapped only
                # where nothing but a unit or an additive sign stands beside it.
                alone = _additive(row[:place][-1:]) and _additive(row[place + 1 :][:1])
                glyphs.extend(fraction if alone else (Fence(fraction),))
            case Fence(inner):
                glyphs.append(Fence(flat(inner)))
            case Raised(base, exponent):
                lying = Fence(flat(base.inner)) if isinstance(base, Fence) else base
                glyphs.append(Raised(lying, exponent))
            case _:
                glyphs.append(glyph)
    return tuple(glyphs)


def _part(row: Row, *, below: bool) -> Row:
    """Return a numerator or denominator, in parentheses unless it is a single thing."""
    if below:
        simple = len(row) == 1
    else:
        simple = not any(isinstance(glyph, Operator | Prefix) for glyph in row)
    return row if simple else (Fence(row),)


def _additive(beside: Row) -> bool:
    """Say whether what stands beside a fraction leaves it whole without parentheses."""
    if not beside:
        return True
    glyph = beside[0]
    if isinstance(glyph, Operator):
        return glyph.sign not in (Sign.DOT, Sign.CROSS, Sign.PARALLEL, Sign.DIVIDED)
    return isinstance(glyph, Prefix | Gap)
