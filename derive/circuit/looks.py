"""The author's choices of appearance, and the words of the problem."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import TypeVar

from derive.bounds import LONGEST_STATEMENT, LONGEST_TITLE
from derive.circuit.appearance import BatterySymbol, BridgeShape, EmfSymbol, Looks, ResistorSymbol
from derive.circuit.complaints import Complaints
from derive.circuit.figures import MOST as MOST_FIGURES
from derive.circuit.numbers import Numbers
from derive.circuit.register import Kind, Register
from derive.diagnostic import Note
from derive.language.nearest import nearest
from derive.language.syntax import (
    Coordinate,
    Figures,
    Ground,
    Name,
    Place,
    Setting,
    SettingKind,
    Statement,
    Words,
    WordsKind,
)
from derive.source import Span

_FARTHEST_PLACE = 100


class _Decimal(Enum):
    COMMA = "comma"
    POINT = "point"


@dataclass(frozen=True, slots=True)
class Said:
    """The statements that may be said once, by what they say."""

    settings: dict[SettingKind, Setting]
    words: dict[WordsKind, Words]
    figures: Figures | None
    ground: Ground | None


def said_once(statements: Iterable[Statement], complaints: Complaints) -> Said:
    """Collect the statements that set one thing each; complain of what is set twice."""
    seen: dict[str, Span] = {}
    settings: dict[SettingKind, Setting] = {}
    words: dict[WordsKind, Words] = {}
    figures: Figures | None = None
    ground: Ground | None = None
    for statement in statements:
        match statement:
            case Setting(kind=kind) if _first(kind.value, statement.span, seen, complaints):
                settings[kind] = statement
            case Words(kind=sort) if _first(sort.value, statement.span, seen, complaints):
                words[sort] = statement
                _check_length(statement, complaints)
            case Figures() if _first("figures", statement.span, seen, complaints):
                figures = statement
            case Ground() if _first("ground", statement.span, seen, complaints):
                ground = statement
            case _:
                pass
    return Said(settings, words, figures, ground)


def _check_length(said: Words, complaints: Complaints) -> None:
    most = LONGEST_STATEMENT if said.kind is WordsKind.STATEMENT else LONGEST_TITLE
    length = len(said.text.text)
    if length > most:
        noun = "statement" if said.kind is WordsKind.STATEMENT else "title"
        complaints.error(
            "words-too-long",
            f"the {noun} has {length} characters; {most} are the most",
            said.span,
            "shorten it; what is long to tell can stand in the text that holds the solution",
        )


def _first(what: str, span: Span, seen: dict[str, Span], complaints: Complaints) -> bool:
    if what not in seen:
        seen[what] = span
        return True
    complaints.error(
        "said-twice",
        f"`{what}` is said twice",
        span,
        "keep one of the two",
        notes=(Note("the first one is here", seen[what]),),
    )
    return False


def decimal_comma(said: Said, complaints: Complaints) -> bool:
    """Tell whether the file writes its decimals with a comma."""
    return _choice(said, SettingKind.DECIMAL, _Decimal.POINT, complaints) is _Decimal.COMMA


def read_looks(
    said: Said,
    places: Iterable[Place],
    numbers: Numbers,
    register: Register,
    complaints: Complaints,
    comma: bool,
) -> Looks:
    """Return the choices of appearance."""
    return Looks(
        emf=_choice(said, SettingKind.EMF_SYMBOL, EmfSymbol.SCRIPT, complaints),
        resistor=_choice(said, SettingKind.RESISTORS, ResistorSymbol.BOX, complaints),
        battery=_choice(said, SettingKind.BATTERIES, BatterySymbol.CELL, complaints),
        bridge=_choice(said, SettingKind.BRIDGE, BridgeShape.RECTANGLE, complaints),
        decimal_comma=comma,
        figures=_figures(said.figures, numbers, complaints),
        places=_places(places, numbers, register, complaints),
    )


_E = TypeVar("_E", bound=Enum)


def _choice(said: Said, kind: SettingKind, default: _E, complaints: Complaints) -> _E:
    setting = said.settings.get(kind)
    if setting is None:
        return default
    values: dict[str, _E] = {member.value: member for member in type(default)}
    if setting.choice.text in values:
        return values[setting.choice.text]
    near = nearest(setting.choice.text, values)
    hints = [f"did you mean: {kind.value} {near}"] if near is not None else []
    complaints.error(
        "unknown-choice",
        f"`{setting.choice.text}` is not a choice for `{kind.value}`",
        setting.choice.span,
        *hints,
        f"choices are: {', '.join(values)}",
    )
    return default


def _figures(figures: Figures | None, numbers: Numbers, complaints: Complaints) -> int | None:
    if figures is None:
        return None
    value = numbers.read(figures.number)
    if value is None:
        return None
    if value.denominator == 1 and 1 <= value <= MOST_FIGURES:
        return int(value)
    complaints.error(
        "figures-out-of-range",
        f"the number of significant figures is a whole number from 1 to {MOST_FIGURES}",
        figures.number.span,
        "three are usual: figures 3",
    )
    return None


def _places(
    places: Iterable[Place], numbers: Numbers, register: Register, complaints: Complaints
) -> tuple[tuple[str, Fraction, Fraction], ...]:
    taken: dict[tuple[Fraction, Fraction], Name] = {}
    placed: dict[str, tuple[Fraction, Fraction]] = {}
    spans: dict[str, Span] = {}
    for place in places:
        name = place.point.text
        x, y = (_coordinate(c, numbers, complaints) for c in (place.x, place.y))
        if register.find(place.point, "a point", (Kind.POINT,)) is None or x is None or y is None:
            continue
        if name in placed:
            complaints.error(
                "placed-twice",
                f"the point {name} is placed twice",
                place.span,
                "keep one of the two",
                notes=(Note("the first place is here", spans[name]),),
            )
        elif (x, y) in taken:
            complaints.error(
                "place-taken",
                f"the points {taken[x, y].text} and {name} have the same place",
                place.span,
                "give each point a place of its own",
                notes=(Note(f"{taken[x, y].text} is placed here", taken[x, y].span),),
            )
        else:
            taken[x, y] = place.point
            placed[name] = (x, y)
            spans[name] = place.span
    return tuple((name, x, y) for name, (x, y) in placed.items())


def _coordinate(
    coordinate: Coordinate, numbers: Numbers, complaints: Complaints
) -> Fraction | None:
    value = numbers.read(coordinate.number)
    if value is not None and value > _FARTHEST_PLACE:
        complaints.error(
            "place-too-far",
            f"a place is at most {_FARTHEST_PLACE} units from the origin",
            coordinate.number.span,
            "one unit is about the length of a part: place A at 0 2",
        )
        return None
    return None if value is None else -value if coordinate.minus else value
