"""Syntax tree to text that reads back to an equal tree."""

from __future__ import annotations

from typing import assert_never

from derive.language.syntax import (
    Ask,
    BatteryStop,
    CapacitorStop,
    Coordinate,
    CurrentSourceStop,
    Eliminate,
    Expression,
    Figures,
    Ground,
    Initially,
    Measure,
    MeterStop,
    Multiple,
    Name,
    Place,
    PointStop,
    ProductOf,
    QuestionKind,
    Rate,
    ResistorStop,
    Setting,
    Statement,
    Stop,
    SumOf,
    SwitchStop,
    SyntaxFile,
    Uncharged,
    Unknown,
    UseJunction,
    UseLoop,
    UseMethod,
    ValueStatement,
    VoltageName,
    Walk,
    Words,
)


def print_file(file: SyntaxFile) -> str:
    """Return the text of a file, one statement a line."""
    return "".join(f"{print_statement(statement)}\n" for statement in file.statements)


def print_statement(statement: Statement) -> str:
    """Return the text of one statement."""
    match statement:
        case Walk(name=name, stops=stops):
            return f"{name.text if name else ''}: {print_stops(stops)}"
        case ValueStatement(targets=targets, value=value, tolerance=tolerance):
            left = ", ".join(_expression(target) for target in targets)
            right = "?" if isinstance(value, Unknown) else _expression(value)
            return f"{left} = {right}" + (f" ± {tolerance.text} %" if tolerance else "")
        case Rate(parts=parts, amounts=amounts):
            return f"rating {_list(parts)} = {_amounts(amounts)}"
        case Initially(capacitor=capacitor, value=value):
            return f"initially V({capacitor.text}) = {_expression(value)}"
        case Ask(kind=kind, names=names, duration=duration):
            points = kind in (QuestionKind.VOLTAGE, QuestionKind.RESISTANCE)
            asked = (" " if points else ", ").join(name.text for name in names)
            over = f" over {duration.number.text} {duration.unit.text}" if duration else ""
            return f"ask {kind.value} {asked}{over}".rstrip()
        case UseLoop(landmarks=landmarks):
            words = (f"({m.name.text})" if m.bracketed else m.name.text for m in landmarks)
            return f"use loop {' '.join(words)}"
        case UseJunction(points=points):
            return f"use junction {_list(points)}"
        case UseMethod(method=method):
            return f"use method {method.text}"
        case Eliminate(currents=currents):
            return f"eliminate {_list(currents)}"
        case Ground(point=point):
            return f"ground {point.text}"
        case Uncharged(capacitors=capacitors):
            return f"uncharged {_list(capacitors)}"
        case Place(point=point, x=x, y=y):
            return f"place {point.text} at {_coordinate(x)} {_coordinate(y)}"
        case Setting(kind=kind, choice=choice):
            return f"{kind.value} {choice.text}"
        case Figures(number=number):
            return f"figures {number.text}"
        case Words(kind=kind, text=text):
            marks = '""' if '"' not in text.text else "“”"
            return f"{kind.value} {marks[0]}{text.text}{marks[1]}"
        case _:
            assert_never(statement)


def print_stops(stops: tuple[Stop, ...]) -> str:
    """Return the points and parts of a walk."""
    return " ".join(_stop(stop) for stop in stops)


def _stop(stop: Stop) -> str:
    match stop:
        case PointStop(name=name):
            return name.text
        case ResistorStop(name=name, lamp=lamp):
            return f"({'lamp ' if lamp else ''}{name.text})"
        case BatteryStop(name=name, internal=internal, rise=rise):
            first, last = "-+" if rise else "+-"
            return f"({first}{name.text}{f' {internal.text}' if internal else ''}{last})"
        case CurrentSourceStop(name=name, along=along):
            return f"({name.text} ->)" if along else f"(<- {name.text})"
        case SwitchStop(name=name, word=word):
            return f"({word} {name.text})"
        case MeterStop(name=name, meter=meter):
            return f"({meter.value} {name.text})"
        case CapacitorStop(name=name):
            return f"(capacitor {name.text})"
        case _:
            assert_never(stop)


def _expression(expression: Expression) -> str:
    match expression:
        case Name(text=text):
            return text
        case VoltageName(to=to, origin=origin):
            return f"V({to.text},{origin.text})"
        case Measure(number=number, unit=unit):
            return number.text + (f" {unit.text}" if unit else "")
        case Multiple(number=number, factor=factor):
            return f"{number.text} {_atom(factor)}"
        case ProductOf(factors=factors):
            signs = [" / " if factor.divides else " * " for factor in factors]
            signs[0] = ""
            read = zip(signs, factors, strict=True)
            return "".join(sign + _factor(factor.expression, sign) for sign, factor in read)
        case SumOf(addends=addends):
            signs = ["- " if addend.minus else "+ " for addend in addends]
            signs[0] = "-" if addends[0].minus else ""
            items = (_addend(addend.expression) for addend in addends)
            return " ".join(sign + item for sign, item in zip(signs, items, strict=True))
        case _:
            assert_never(expression)


def _atom(expression: Expression) -> str:
    text = _expression(expression)
    return text if isinstance(expression, Name | VoltageName) else f"({text})"


def _factor(expression: Expression, sign: str) -> str:
    text = _expression(expression)
    match expression:
        case SumOf() | ProductOf():
            bracketed = True
        case Multiple():
            bracketed = bool(sign)
        case Measure(number=number):
            # A fraction is read as one number only where a product begins.
            bracketed = bool(sign) and "/" in number.text
        case _:
            bracketed = False
    return f"({text})" if bracketed else text


def _addend(expression: Expression) -> str:
    text = _expression(expression)
    return f"({text})" if isinstance(expression, SumOf) else text


def _list(names: tuple[Name, ...]) -> str:
    return ", ".join(name.text for name in names)


def _amounts(amounts: tuple[Expression, ...]) -> str:
    """Return amounts with commas; one that follows a digit directly would belong to the number."""
    *first, last = map(_expression, amounts)
    commas = (f"{text} , " if text[-1].isdigit() else f"{text}, " for text in first)
    return "".join(commas) + last


def _coordinate(coordinate: Coordinate) -> str:
    return ("-" if coordinate.minus else "") + coordinate.number.text
