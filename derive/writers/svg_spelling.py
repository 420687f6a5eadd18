"""How SVG spells numbers, places, lines, colours and text; one unit is a millimetre."""

from __future__ import annotations

from unicodedata import category

from derive.drawing.model import Point
from derive.writers.tex_macros import COLOURS

POINT = 25.4 / 72.27
"""A point of TeX."""


def escape(text: str) -> str:
    """Return text for an element or an attribute; what XML does not allow is shown as ``�``."""
    allowed = (
        "\N{REPLACEMENT CHARACTER}" if category(c) in ("Cc", "Cs", "Cn") and c not in "\t\n" else c
        for c in text
    )
    plain = "".join(allowed)
    for character, entity in (("&", "amp"), ("<", "lt"), (">", "gt"), ('"', "quot")):
        plain = plain.replace(character, f"&{entity};")
    return plain


def number(value: float) -> str:
    """Return a number to a thousandth."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def place(point: Point) -> str:
    """Return a place; y runs downwards here."""
    return f"{number(point.x)} {number(-point.y)}"


def path_data(points: list[Point]) -> str:
    """Return a line through points."""
    return "M" + " L".join(map(place, points))


def colour(name: str) -> str:
    """Return a colour by its name."""
    return f"#{COLOURS[name]}"
