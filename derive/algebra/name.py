"""How a name written in plain text is read: base letter, subscript, primes."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, replace
from functools import lru_cache
from keyword import iskeyword
from unicodedata import normalize

_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "epsilon": "ε", "eta": "η",
    "theta": "θ", "lambda": "λ", "mu": "μ", "rho": "ρ", "sigma": "σ", "tau": "τ", "phi": "φ",
    "omega": "ω", "Delta": "Δ", "Omega": "Ω",
}  # fmt: skip

_TWINS = str.maketrans("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧο", "ABEZHIKMNOPTYXo")
"""Greek letters with the shape of a Latin one (Unicode Technical Standard 39, from memory)."""


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


def look(text: str) -> Name:
    """Return what a reader sees of a name: equal for names that look the same in print.

    >>> look("R_12") == look("R12"), look("Delta_1") == look("Δ_1"), look("R'") == look("R")
    (True, True, False)
    """
    name = split_name(text.translate(_TWINS))
    pieces = re.split(r"[,_]+", name.subscript)
    return replace(name, subscript=",".join(piece for piece in pieces if piece))


def identifier(name: str) -> str:
    """Return a name as an identifier of Python: primes in words, other signs as ``_``.

    Letters take the form to which Python itself brings them: script ``ℰ`` becomes ``E``.

    >>> identifier("R_load"), identifier("E''"), identifier("V(B,A)"), identifier("ℰ1")
    ('R_load', 'E_prime_prime', 'V_B_A', 'E1')
    """
    worded = normalize("NFKC", name.replace("'", "_prime").replace("∞", "inf"))
    if not worded.isidentifier():
        worded = re.sub(r"\W+", "_", worded).strip("_")
    return worded + "_" if iskeyword(worded) else worded


def unused_name(wish: str, taken: Collection[str]) -> str:
    """Return a name, with primes where one of the same look or in a formula is taken.

    >>> unused_name("a1", {"a1", "a1'"}), unused_name("u", ())
    ("a1''", 'u')
    >>> unused_name("Delta", {"Δ", "Delta_prime"})
    "Delta''"
    """
    forms = {form for name in taken for form in _forms(name)}
    while not forms.isdisjoint(_forms(wish)):
        wish += "'"
    return wish


class TakenNames:
    """Names that have a meaning, kept so that many more can be found quickly.

    >>> taken = TakenNames(("R_a",))
    >>> taken.free("R_a"), taken.free("R_b")
    (False, True)
    """

    def __init__(self, names: Iterable[str]) -> None:
        """Start with the names that are taken."""
        self._forms = {form for name in names for form in _forms(name)}

    def free(self, wish: str) -> bool:
        """Tell whether a name has no twin of the same look or in a formula."""
        return self._forms.isdisjoint(_forms(wish))

    def take(self, name: str) -> None:
        """Give a name away."""
        self._forms.update(_forms(name))


@lru_cache(maxsize=4096)  # a search for a short solution asks for names again and again
def _forms(name: str) -> tuple[Name, str]:
    return look(name), identifier(name)
