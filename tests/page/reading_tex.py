r"""Reads mathematics in TeX: the subset that formulas of our pages are written in.

Letters with ``_{…}`` and ``^{…}``, ``\mathcal{E}``, Greek letters, ``\mathrm{…}`` and
``\text{…}``, digits with ``.`` or ``{,}`` and in groups, ``\,`` and other spaces, ``\frac``,
``( )`` in any size, ``aligned`` inside a fraction, ``\text{µ}``, ``\%`` and ``\Omega`` in units, the
operators and relations of `_SIGNS`. Whatever else stands there is refused.
"""

from __future__ import annotations

import re

from tests.page.mathematics import SYMBOLS, Misread, Token, name

_SIGNS = {
    "+": "+", "-": "−", "/": "/", "=": "=", ">": ">", "<": "<", r"\cdot": "·", r"\times": "×",
    r"\parallel": "∥", r"\approx": "≈", r"\neq": "≠", r"\div": "÷", r"\to": "→", r"\leq": "≤",
}  # fmt: skip
_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "varepsilon": "ε", "zeta": "ζ",
    "eta": "η", "theta": "θ", "iota": "ι", "kappa": "κ", "lambda": "λ", "mu": "μ", "nu": "ν",
    "xi": "ξ", "pi": "π", "rho": "ρ", "sigma": "σ", "tau": "τ", "upsilon": "υ", "varphi": "φ",
    "chi": "χ", "psi": "ψ", "omega": "ω", "Gamma": "Γ", "Delta": "Δ", "Theta": "Θ",
    "Lambda": "Λ", "Xi": "Ξ", "Pi": "Π", "Sigma": "Σ", "Phi": "Φ", "Psi": "Ψ", "Omega": "Ω",
    "infty": "∞",
}  # fmt: skip
_NOTHING = (r"\left", r"\right", r"\bigl", r"\bigr", r"\biggl", r"\biggr", r"\displaystyle", "{}")
_SPACES = (r"\,", r"\;", r"\quad", r"\qquad", " ", "\n", "~", "&", r"\\")
_COMMAND = re.compile(r"\\[A-Za-z]+|\\.", re.DOTALL)
_NUMBER = re.compile(r"\d+(?:\\,\d{3}(?!\d))*(?:(?:\.|\{,\})\d+(?:\\,\d+)*)?")


def group(text: str, start: int) -> int:
    """Return the place after the group that opens at `start`."""
    if text[start : start + 1] != "{":
        raise Misread(f"a group should stand at {text[start : start + 30]!r}")
    depth, place = 0, start
    while place < len(text):
        if text[place] == "\\":
            place += 2
            continue
        depth += {"{": 1, "}": -1}.get(text[place], 0)
        place += 1
        if not depth:
            return place
    raise Misread(f"a group that is not closed: {text[start : start + 40]!r}")


def tokens(text: str) -> list[Token]:
    """Return the tokens of a formula."""
    return _Formula(text).all()


class _Formula:
    def __init__(self, text: str) -> None:
        self.text = re.sub(r"\\begin\{aligned\}(\[b\])?|\\end\{aligned\}", " ", text)
        self.place = 0
        self.raised = ""
        """The power of the letter that has just been read, where it has primes too."""

    def all(self) -> list[Token]:
        found: list[Token] = []
        while self.place < len(self.text):
            if self._skip():
                continue
            found.append(self._one())
            if self.raised:
                found.append(("power", int(self.raised)))
                self.raised = ""
        return found

    def _skip(self) -> bool:
        for piece in (*_NOTHING, *_SPACES):
            if self.text.startswith(piece, self.place) and not (
                piece[-1].isalpha() and self.text[self.place + len(piece) :][:1].isalpha()
            ):
                self.place += len(piece)
                if piece == r"\\" and (gap := re.compile(r"\[\dpt\]").match(self.text, self.place)):
                    self.place = gap.end()
                return True
        return False

    def _one(self) -> Token:
        text, start = self.text, self.place
        if found := _NUMBER.match(text, start):
            self.place = found.end()
            digits = found[0].replace(r"\,", "").replace("{,}", ".")
            return ("number", digits)
        command = _COMMAND.match(text, start)
        piece = command[0] if command else text[start]
        self.place += len(piece)
        if piece in _SIGNS:
            return ("sign", _SIGNS[piece])
        if piece in "()":
            return (piece,)
        if piece == "^":
            return ("power", int(self._argument()))
        if piece == r"\frac":
            return ("fraction", tokens(self._argument()), tokens(self._argument()))
        if piece == r"\%":
            return ("unit", "%")
        if piece == r"\mathrm":
            return self._upright(self._argument())
        if piece in (r"\text", r"\Omega") and (unit := self._unit(piece)):
            return unit
        return self._letter(piece)

    def _argument(self) -> str:
        end = group(self.text, self.place)
        inner = self.text[self.place + 1 : end - 1]
        self.place = end
        return inner

    def _upright(self, inner: str) -> Token:
        if inner == "e" and self.text.startswith("^{", self.place):
            self.place += 1
            return ("e", tokens(self._argument()))
        if self.text.startswith(r"\Omega", self.place):
            self.place += len(r"\Omega")
            return ("unit", inner + "Ω")
        return ("word", words(inner))

    def _unit(self, piece: str) -> Token | None:
        """Read a unit that begins with a Greek letter; one is after a number or another unit."""
        before = self.text[: self.place - len(piece)].rstrip()
        if not re.search(r"\\,$", before):
            return None
        if piece == r"\Omega":
            return ("unit", "Ω")
        if self._argument() not in ("µ", r"\textmu"):
            return None
        rest = re.compile(r"\s*(?:\\mathrm\{(\w+)\}|\\(Omega))").match(self.text, self.place)
        if not rest or "µ" + (rest[1] or "Ω") not in SYMBOLS:
            return None
        self.place = rest.end()
        return ("unit", "µ" + (rest[1] or "Ω"))

    def _letter(self, piece: str) -> Token:
        base = self._base(piece)
        below, primes = "", 0
        if self.text.startswith("_", self.place):
            self.place += 1
            below = flattened(self._argument())
        if self.text.startswith("^{", self.place):
            end = group(self.text, self.place + 1)
            inner = self.text[self.place + 2 : end - 1]
            primes = inner.count(r"\prime")
            exponent = inner.replace(r"\prime", "").strip()
            if primes:
                self.place, self.raised = end, exponent
        return ("name", name(base, below, primes))

    def _base(self, piece: str) -> str:
        if re.fullmatch("[A-Za-z]", piece):
            return piece
        if piece == r"\mathcal":
            return {"E": "ℰ"}[self._argument()]
        if piece == r"\mathit":
            return words(self._argument())
        if piece[1:] in _GREEK and piece.startswith("\\"):
            return _GREEK[piece[1:]]
        raise Misread(f"{piece!r} in {self.text!r}")


def words(inner: str) -> str:
    """Return upright words, of which some may be in ``\\text``."""
    from tests.page.reading_latex import text_of  # the text of a page, which holds formulas

    found = re.fullmatch(r"\\text\{(.*)\}", inner)
    if found:
        return text_of(found[1])
    if not re.fullmatch(r"\w+", inner):
        raise Misread(f"upright {inner!r}")
    return inner


def flattened(tex: str) -> str:
    """Return a subscript as one reads it aloud, subscripts of it included."""
    told, place = "", 0
    while place < len(tex):
        if found := _NUMBER.match(tex, place):
            told += found[0].replace(r"\,", "").replace("{,}", ".")
            place = found.end()
            continue
        command = _COMMAND.match(tex, place)
        piece = command[0] if command else tex[place]
        place += len(piece)
        if piece in (",", "/") or re.fullmatch("[A-Za-z]", piece):
            told += piece
        elif piece in (" ", r"\,"):
            pass
        elif piece == r"\prime":
            told += "′"
        elif piece in ("_", "^", r"\mathrm", r"\mathcal", r"\mathit"):
            end = group(tex, place)
            inner = tex[place + 1 : end - 1]
            place = end
            if piece == r"\mathcal":
                told += {"E": "ℰ"}[inner]
            elif piece in (r"\mathrm", r"\mathit"):
                told += words(inner)
            else:
                told += flattened(inner)
        elif piece == r"\frac":
            for mark in ("/", ""):
                end = group(tex, place)
                told += flattened(tex[place + 1 : end - 1]) + mark
                place = end
        elif piece[1:] in _GREEK:
            told += _GREEK[piece[1:]]
        else:
            raise Misread(f"{piece!r} in the subscript {tex!r}")
    return told
