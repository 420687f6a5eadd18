"""Every way of changing a single thing in a line of a proof that is carried away.

The walk is generic over the JSON: a new kind of line is changed without a change here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

HEADS = ("number", "quantity", "-", "+", "*", "/", "^", "parallel", "exp")
NUMBER = re.compile(r"-?[0-9]+(/[0-9]+)?")


@dataclass(frozen=True)
class Mutant:
    """The lines of a proof with one change."""

    lines: list[Any]
    at: int
    place: str
    """The fields that lead to the change."""
    old: Any
    new: Any
    """The line before and after; None where it is dropped."""


def mutants(state: dict[str, Any]) -> Iterator[Mutant]:
    """Yield the lines of a state with each single change of each line."""
    lines = state["lines"]
    stock = list(dict.fromkeys(s for line in lines for s in _symbols(line.get("equation", []))))
    for at, line in enumerate(lines):
        for place, new in _changed(line, stock[:12], len(lines)):
            if new != line:
                yield Mutant([*lines[:at], new, *lines[at + 1 :]], at, place, line, new)
        yield Mutant(_without(lines, at), at, "dropped", line, None)


def _symbols(term: Any) -> Iterator[str]:
    if isinstance(term, str):
        yield term
    elif isinstance(term, list) and term[:1] not in (["number"], ["quantity"]):
        for inner in term[1:] if term and term[0] in HEADS else term:
            yield from _symbols(inner)


CITING = {
    "loop", "premise", "formula", "value", "rounded", "also", "power", "balance", "voltage",
    "course", "answer", "replacing", "put_in", "totals", "delivered", "taken", "lines",
}  # fmt: skip


def _without(lines: list[Any], gone: int) -> list[Any]:
    """Return the lines without one, those behind it renumbered."""

    def told(value: Any) -> Any:
        if isinstance(value, bool) or not isinstance(value, int | list):
            return value
        if isinstance(value, list):
            return [told(item) for item in value]
        return value - 1 if value > gone else 10**6 if value == gone else value

    found = []
    for line in lines[:gone] + lines[gone + 1 :]:
        new = dict(line)
        for key in CITING & new.keys():
            if key != "taken" or line["kind"] == "balance":
                new[key] = told(new[key])
        if line["kind"] == "put back":
            new["exchange"] = told(new["exchange"])
        if "sum" in new:
            new["sum"] = [[factor, told(cited)] for factor, cited in new["sum"]]
        found.append(new)
    return found


def _changed(value: Any, stock: list[str], count: int) -> Iterator[tuple[str, Any]]:
    """Yield a value with each single change; the text says where."""
    match value:
        case bool():
            yield "flipped", not value
        case int():
            yield from (("shifted", value + n) for n in (-2, -1, 1, 2, count))
        case None:
            yield from (("filled", new) for new in (0, 3, stock[0] if stock else "R1"))
        case str() if NUMBER.fullmatch(value):
            number = Fraction(value)
            changed = (-number, number + 1, number * 2, number + Fraction(1, 99))
            yield from (("number", str(new)) for new in changed)
        case str():
            yield from (("renamed", new) for new in (*stock, f"{value}x", "") if new != value)
        case dict():
            for key, inner in value.items():
                if key != "proof":  # the lines of another circuit are changed by themselves
                    for place, new in _changed(inner, stock, count):
                        yield f"{key} {place}", {**value, key: new}
                yield f"{key} lost", {k: v for k, v in value.items() if k != key}
            pairs = list(value.items())
            if len(pairs) > 1 and not isinstance(value.get("kind"), str):
                (a, x), (b, y) = pairs[:2]
                yield "swapped", {**value, a: y, b: x}
        case list():
            yield from _changed_list(value, stock, count)
        case _:
            raise TypeError(type(value))


def _changed_list(value: list[Any], stock: list[str], count: int) -> Iterator[tuple[str, Any]]:
    is_term = bool(value) and isinstance(value[0], str) and value[0] in HEADS and len(value) > 1
    if is_term:
        yield "sign", value[1] if value[0] == "-" else ["-", value]
        yield "zeroed", ["number", "0"]
        yield "plus one", ["+", value, ["number", "1"]]
        if value[0] == "quantity":
            yield "unit lost", ["number", value[1]]
    for k, item in enumerate(value):
        if is_term and k == 0:
            continue
        before, after = value[:k], value[k + 1 :]
        if not is_term or value[0] in ("+", "*", "parallel"):
            yield f"[{k}] dropped", before + after
            yield f"[{k}] doubled", [*before, item, item, *after]
        if after:
            yield f"[{k}] swapped", [*before, after[0], item, *after[1:]]
        if isinstance(item, str) and not NUMBER.fullmatch(item):
            yield f"[{k}] sign", [*before, ["-", item], *after]
        for place, new in _changed(item, stock, count):
            yield f"[{k}] {place}", [*before, new, *after]
