"""How a name written in plain text is read: base letter, subscript, primes."""

from __future__ import annotations

import re
from collections.abc import Container
from dataclasses import dataclass

_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η",
    "theta": "θ", "lambda": "λ", "mu": "μ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
    "omega": "ω", "Delta": "Δ", "Omega": "Ω",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Name:
    """The parts of a name as they are set: base italic, subscript after it, primes on top."""

    base: str
    """One letter, or a Greek letter by its sign."""
    subscript: str
    """Empty when there is none."""
    upright: bool
    """True for a subscript that is a word rather than a number or a running letter."""
    primes: int


def split_name(text: str) -> Name:
    """Read a plain-text name.

    The first letter is the base. Digits after it are its subscript; so is what stands after
    ``_``. A subscript of two or more letters is a word and set upright (ISO 80000-1, 7.1.3).

    >>> split_name("R12"), split_name("R_load").upright, split_name("I'").primes
    (Name(base='R', subscript='12', upright=False, primes=0), True, 1)
    """
    bare = text.rstrip("'")
    primes = len(text) - len(bare)
    head, _, tail = bare.partition("_")
    if head in _GREEK:
        base, rest = _GREEK[head], ""
    else:
        base, rest = head[:1], head[1:]
    subscript = rest + tail if not (rest and tail) else f"{rest},{tail}"
    upright = re.search(r"[^\W\d_]{2}", subscript) is not None
    return Name(base, subscript, upright, primes)


def is_greek(text: str) -> bool:
    """Tell whether a word is the name of a Greek letter."""
    return text in _GREEK


def natural_key(text: str) -> tuple[tuple[int, int, str], ...]:
    """Return a sort key that puts R2 before R10."""
    pieces = re.findall(r"[0-9]+|[^0-9]+", text)
    return tuple((0, int(p), "") if p.isdecimal() else (1, 0, p) for p in pieces)


def unused_name(wish: str, taken: Container[str]) -> str:
    """Return a name, with primes where it is taken.

    >>> unused_name("a1", {"a1", "a1'"}), unused_name("u", ())
    ("a1''", 'u')
    """
    while wish in taken:
        wish += "'"
    return wish
