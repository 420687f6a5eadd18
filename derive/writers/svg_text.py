"""Labels as runs of type, for SVG: italic quantities, upright units, subscripts.

Every run has its own place, reckoned from the widths of Computer Modern: so a script stands right
in engines that do badly at setting one run after another, and type of another breadth pushes
nothing along. A space ends the run before it; it is there for those who copy the text.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from enum import Enum
from typing import assert_never

from derive.typesetting.extent import DIGIT, THIN, glyph_width, row_width
from derive.typesetting.glyphs import ITALIC, LEAN, UPRIGHT
from derive.typesetting.layout import (
    Bracket,
    Comma,
    Fence,
    Figures,
    Gap,
    Glyph,
    Implied,
    Letter,
    Lines,
    NaturalPower,
    Operator,
    Over,
    Prefix,
    Raised,
    Row,
    Sign,
    Units,
    Word,
)


class Face(Enum):
    """Kinds of type."""

    UPRIGHT = "upright"
    ITALIC = "italic"
    SCRIPT = "script"
    """Script capitals, which most text fonts lack."""


@dataclass(frozen=True, slots=True)
class Run:
    """Characters of one kind of type at one height."""

    text: str
    face: Face = Face.UPRIGHT
    level: int = 0
    """-1 in a subscript, 1 in a superscript."""
    at: float = 0.0
    """Where it begins, in em of the running text from the beginning of the row."""


Runs = tuple[Run, ...]

_SPACE = "\N{NO-BREAK SPACE}"
_SCRIPT = 0.79
"""Width of the small type of scripts against the running text."""
_MARKER, _PARENTHESIS = 0.28, 0.39
_SCRIPT_CAPITAL, _SCRIPT_LEAN = 0.53, 0.09
_BEFORE_RELATION, _BEFORE_SIGN = 0.28, 0.22


def runs(row: Row) -> Runs:
    """Spell a row without fractions; neighbours of one kind are one run."""
    joined: list[Run] = []
    for run in _row(row, 0.0):
        last = joined[-1] if joined else None
        if last is not None and _goes_on(last, run):
            joined[-1] = replace(last, text=last.text + run.text)
        else:
            joined.append(run)
    return tuple(joined)


def _goes_on(last: Run, run: Run) -> bool:
    if run.text == _SPACE:
        return True
    return not last.text.endswith(_SPACE) and (last.face, last.level) == (run.face, run.level)


def _row(row: Row, at: float) -> Iterator[Run]:
    for glyph in row:
        yield from _glyph(glyph, at)
        at += glyph_width(glyph)


def _glyph(glyph: Glyph, at: float) -> Iterator[Run]:
    match glyph:
        case Operator(sign):
            yield from _operator(sign, at)
        case Prefix(sign):
            yield Run(sign.value, at=at)
        case Gap() | Implied(spaced=True):
            yield Run(_SPACE, at=at)
        case Implied():
            return
        case Comma():
            yield Run(",", at=at)
        case Word(text):
            yield Run(text, at=at)
        case Letter():
            yield from _letter(glyph, at)
        case Figures():
            yield from _figures(glyph, at)
        case Units(parts):
            yield from _units(parts, at)
        case Over(numerator, denominator):
            yield from _row((*numerator, Operator(Sign.DIVIDED), *denominator), at)
        case Lines(rows):
            for line in rows:
                yield from _row(line, at)
        case Fence(inner):
            yield Run("(", at=at)
            yield from _row(inner, at + _PARENTHESIS)
            yield Run(")", at=at + _PARENTHESIS + row_width(inner))
        case Bracket(opening, _):
            yield Run("(" if opening else ")", at=at)
        case Raised(base, exponent):
            yield from _glyph(base, at)
            yield _power(exponent, at + _own(base))
        case NaturalPower(exponent=power):
            yield Run("e", at=at)
            for run in runs(power):
                yield replace(run, level=1, at=at + UPRIGHT["e"] + _SCRIPT * run.at)
        case _:
            assert_never(glyph)


def _operator(sign: Sign, at: float) -> Iterator[Run]:
    if sign is Sign.DIVIDED:
        yield Run(sign.value, at=at)
        return
    relation = glyph_width(Operator(sign)) > glyph_width(Operator(Sign.PLUS))
    yield Run(_SPACE, at=at)
    yield Run(sign.value, at=at + (_BEFORE_RELATION if relation else _BEFORE_SIGN))
    yield Run(_SPACE, at=at)


def _letter(letter: Letter, at: float) -> Iterator[Run]:
    yield Run("ℰ", Face.SCRIPT, at=at) if letter.script else Run(letter.base, Face.ITALIC, at=at)
    after = at + _own(letter)
    if letter.primes:
        # Many fonts lack the prime, and some engines then set its neighbours in another font too.
        lean = _SCRIPT_LEAN if letter.script else LEAN.get(letter.base, 0.0)
        yield Run("'" * letter.primes, Face.ITALIC, at=after + lean)
    for run in runs(letter.subscript):
        yield replace(run, level=-1, at=after + _SCRIPT * run.at)


def _own(glyph: Glyph) -> float:
    """Return the width of a letter without its scripts."""
    if not isinstance(glyph, Letter):
        return glyph_width(glyph)
    if glyph.script:
        return _SCRIPT_CAPITAL
    return ITALIC.get(glyph.base) or UPRIGHT.get(glyph.base, 0.60)


def _figures(figures: Figures, at: float) -> Iterator[Run]:
    yield from _groups(figures.whole, at)
    if figures.decimals:
        at += glyph_width(Figures(figures.whole))
        yield Run("," if figures.comma else ".", at=at)
        yield from _groups(figures.decimals, at + _MARKER)


def _groups(groups: Iterable[str], at: float) -> Iterator[Run]:
    for k, group in enumerate(groups):
        if k:
            yield Run(_SPACE, at=at)
            at += THIN
        yield Run(group, at=at)
        at += DIGIT * len(group)


def _units(parts: tuple[tuple[str, int], ...], at: float) -> Iterator[Run]:
    for k, (symbol, power) in enumerate(parts):
        if k:
            yield Run(_SPACE, at=at)
            at += THIN
        yield Run(symbol, at=at)
        if power != 1:
            yield _power(power, at + glyph_width(Units(((symbol, 1),))))
        at += glyph_width(Units(((symbol, power),)))


def _power(exponent: int, at: float) -> Run:
    return Run(str(exponent).replace("-", "−"), Face.UPRIGHT, 1, at)
