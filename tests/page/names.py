"""How names look in print, by their spelling alone; written for the tests and shared with no writer.

A quantity is its first letter with what follows as a subscript (ISO 80000-1, 7.1.1 and 7.1.3, from
memory: one letter, subscripts tell quantities apart). Made names are those of `SymbolKind`.
"""

from __future__ import annotations

import re
from fractions import Fraction

from derive.algebra.term import Symbol, SymbolKind
from derive.circuit.appearance import EmfSymbol
from tests.page.mathematics import name

GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η",
    "theta": "θ", "lambda": "λ", "mu": "μ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
    "omega": "ω", "Delta": "Δ", "Omega": "Ω",
}  # fmt: skip
_EMF = {EmfSymbol.SCRIPT: "ℰ", EmfSymbol.EPSILON: "ε", EmfSymbol.ITALIC: "E"}
_WORDS = {"Isc": "sc", "Voc": "oc", "Pm": "max", "Iideal": "ideal", "Videal": "ideal"}


def quantity(text: str, battery: str = "") -> str:
    """Return how a plain name looks; `battery` is the letter in place of its E."""
    bare = text.rstrip("'")
    primes = len(text) - len(bare)
    head, _, tail = bare.partition("_")
    base, rest = (GREEK[head], "") if head in GREEK else (bare[:1], head[1:])
    if battery and base in ("E", "ℰ"):
        base = battery
    pieces = [piece for piece in re.split("[,_]+", f"{rest},{tail}") if piece]
    return name(base, ",".join(pieces), primes)


def point(text: str) -> str:
    """Return how the name of a point looks: a word as it is, else a letter with a subscript."""
    if re.fullmatch(r"[^\W\d_]{2,}[0-9]*(_\w+)*", text) and text not in GREEK:
        return text.replace("_", "")
    return quantity(text)


def below(looks: str) -> str:
    """Return a name as it stands in a subscript."""
    return looks.replace("_", "")


def symbol(of: Symbol, emf: EmfSymbol) -> str:
    """Return how a symbol looks."""
    made = re.fullmatch(r"([^\W\d_]+)\(([^(),]+)(?:,([^(),]+))?\)", of.name)
    if made is None:
        return quantity(of.name, _EMF[emf] if of.kind is SymbolKind.EMF else "")
    head, first, second = made.groups()
    part = below(quantity(first, _EMF[emf]))
    if head == "t":
        return "t"
    if head in ("Rn", "Cn") and second:
        own = quantity(first)
        return f"{own},{second}" if "_" in own else f"{own}_{second}"
    if head == "Rm":
        return quantity(f"{first.rstrip(chr(39))}_match{chr(39) * first.count(chr(39))}")
    way = ",in" if head in ("P", "W") and first[0] in "EJ" else ""
    if head in _WORDS:
        return name(head[0], f"{_WORDS[head]},{part}")
    if second is not None and of.kind in (SymbolKind.ENERGY, SymbolKind.CHARGE):
        count, unit = re.fullmatch(r"(.*?)([a-z]+)", second).groups()  # type: ignore[union-attr]
        return name(head[0], f"{part},{_decimal(Fraction(count))}{unit}{way}")
    if second is not None:
        between = "," if len(first) > 1 or len(second) > 1 else ""
        return name(head[0], below(point(first)) + between + below(point(second)))
    if of.kind is SymbolKind.POTENTIAL:
        return name(head[0], below(point(first)))
    looks = name(head[0], part + way)
    return f"{looks}(t)" if of.kind is SymbolKind.COURSE else looks


def _decimal(value: Fraction) -> str:
    """Return a short decimal where there is one, else a fraction."""
    for decimals in range(9):
        scaled = value * 10**decimals
        if scaled.denominator == 1:
            digits = str(scaled.numerator).rjust(decimals + 1, "0")
            return f"{digits[:-decimals]}.{digits[-decimals:]}" if decimals else digits
    return f"{value.numerator}/{value.denominator}"
