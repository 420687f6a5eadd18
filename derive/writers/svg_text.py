"""Labels as runs of type, for SVG: italic quantities, upright units, subscripts, fractions."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum
from typing import assert_never

from derive.document.model import PointName, Style
from derive.drawing.model import LabelContent, LoopName, PlusSign, PointNames
from derive.writers.layout import (
    Bracket,
    Comma,
    Fence,
    Figures,
    Gap,
    Glyph,
    Implied,
    Letter,
    Lines,
    Operator,
    Over,
    Prefix,
    Raised,
    Row,
    Sign,
    Units,
    Word,
)
from derive.writers.notation import set_content
from derive.writers.text_math import flat


class Face(Enum):
    """Kinds of type."""

    UPRIGHT = "upright"
    ITALIC = "italic"
    SCRIPT = "script"
    """Script capitals, which most text fonts lack."""
    THIN = "thin"
    """A space narrower than that between words."""


@dataclass(frozen=True, slots=True)
class Run:
    """Characters of one kind of type at one height."""

    text: str
    face: Face = Face.UPRIGHT
    level: int = 0
    """-1 in a subscript, 1 in a superscript."""


_THIN = Run("\N{NO-BREAK SPACE}", Face.THIN)


Runs = tuple[Run, ...]


def label_row(content: LabelContent, style: Style) -> Row:
    """Return a label as set mathematics; a fraction stands only at the outermost level."""
    match content:
        case PlusSign():
            return (Prefix(Sign.PLUS),)
        case LoopName(name):
            return (Word(name),)
        case PointNames(names):
            row: list[Glyph] = []
            for name in names:
                row += [Comma(), Gap()] if row else []
                row += set_content(PointName(name), style)
            return tuple(row)
        case _:
            return _outermost(set_content(content, style))


def _outermost(row: Row) -> Row:
    glyphs: list[Glyph] = []
    for glyph in row:
        match glyph:
            case Over(numerator, denominator):
                glyphs.append(Over(flat(numerator), flat(denominator)))
            case _:
                glyphs.extend(flat((glyph,)))
    return tuple(glyphs)


def runs(row: Row) -> Runs:
    """Spell a row without fractions; neighbours of one kind are one run."""
    joined: list[Run] = []
    for glyph in row:
        for run in _glyph(glyph):
            last = joined[-1] if joined else None
            if last is not None and (last.face, last.level) == (run.face, run.level):
                joined[-1] = Run(last.text + run.text, run.face, run.level)
            else:
                joined.append(run)
    return tuple(joined)


def _glyph(glyph: Glyph) -> Runs:
    match glyph:
        case Operator(sign):
            run = Run(sign.value)
            return (run,) if sign is Sign.DIVIDED else (_THIN, run, _THIN)
        case Prefix(sign):
            return (Run(sign.value),)
        case Gap():
            return (_THIN,)
        case Implied(spaced):
            return (_THIN,) if spaced else ()
        case Comma():
            return (Run(","),)
        case Word(text):
            return (Run(text),)
        case Letter():
            return _letter(glyph)
        case Figures(whole, decimals, comma):
            marker = (Run("," if comma else "."),) if decimals else ()
            return (*_groups(whole), *marker, *_groups(decimals))
        case Units(parts):
            return _units(parts)
        case Over(numerator, denominator):
            return (*runs(numerator), Run("/"), *runs(denominator))
        case Lines(rows):
            return tuple(run for row in rows for run in runs(row))
        case Fence(inner):
            return (Run("("), *runs(inner), Run(")"))
        case Bracket(opening, _):
            return (Run("(" if opening else ")"),)
        case Raised(base, exponent):
            return (*_glyph(base), _power(exponent))
        case _:
            assert_never(glyph)


def _letter(letter: Letter) -> Runs:
    base = Run("ℰ", Face.SCRIPT) if letter.script else Run(letter.base, Face.ITALIC)
    # Many fonts lack the prime, and some engines then set its neighbours in another font as well.
    primes = (Run("'" * letter.primes, Face.ITALIC),) if letter.primes else ()
    below = (Run(run.text, run.face, -1) for run in runs(letter.subscript))
    return (base, *primes, *below)


def _groups(groups: tuple[str, ...]) -> Runs:
    spelled: list[Run] = []
    for group in groups:
        spelled += [_THIN, Run(group)] if spelled else [Run(group)]
    return tuple(spelled)


def _units(parts: tuple[tuple[str, int], ...]) -> Runs:
    spelled: list[Run] = []
    for symbol, power in parts:
        spelled += [_THIN] if spelled else []
        spelled.append(Run(symbol))
        spelled += [_power(power)] if power != 1 else []
    return tuple(spelled)


def _power(exponent: int) -> Run:
    return Run(str(exponent).replace("-", "−"), Face.UPRIGHT, 1)
