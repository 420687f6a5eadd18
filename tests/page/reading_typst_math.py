"""Reads mathematics in Typst: ``attach``, ``frac``, ``lr``, ``class``, signs, strings, letters."""

from __future__ import annotations

import re

from tests.page.mathematics import Misread, Token, name

_SIGNS = {
    "plus": "+", "minus": "−", "times": "·", "cross": "×", "parallel": "∥", "over": "/",
    "equals": "=", "approx": "≈", "greater": ">", "less": "<", "differs": "≠", "tends": "→",
    "atmost": "≤",
}  # fmt: skip
STRING = re.compile(r'"((?:[^"\\]|\\.)*)"', re.DOTALL)
_LETTER = re.compile(r"[A-Za-zα-ωΑ-Ωℰ∞](?![A-Za-z(])")


def unescaped(inner: str) -> str:
    """Return what a string literal stands for."""
    return re.sub(r"\\(.)", r"\1", inner, flags=re.DOTALL)


def tokens(text: str) -> list[Token]:
    """Return the tokens of mathematics without its dollars."""
    reader = _Mathematical(text)
    found = reader.row()
    if reader.place < len(text):
        raise Misread(f"{text[reader.place :]!r} in {text!r}")
    return found


class _Mathematical:
    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.thin = False
        """Whether a thin space has been met just before."""

    def _take(self, mark: str) -> bool:
        if self.text.startswith(mark, self.place):
            self.place += len(mark)
            return True
        return False

    def row(self) -> list[Token]:
        """Read up to a comma or a parenthesis that belongs to what is around."""
        found: list[Token] = []
        while self.place < len(self.text):
            if self.text[self.place] in ",)":
                break
            before, self.thin = self.thin, False
            for token in self._one():
                if token[0] == "number" and found and found[-1][0] == "number" and before:
                    found[-1] = ("number", found[-1][1] + token[1])
                else:
                    found.append(token)
        return found

    def _one(self) -> list[Token]:
        text = self.text
        if text[self.place] in " \n&":
            self.place += 1
            self.thin = False
            return []
        if self._take(r"\ "):
            return []
        if self._take(r"\("):
            return [("(",)]
        if self._take(r"\)"):
            return [(")",)]
        if string := STRING.match(text, self.place):
            self.place = string.end()
            return [_literal(unescaped(string[1]))]
        if slanted := re.compile(r'#slanted\("(.)"\);').match(text, self.place):
            self.place = slanted.end()
            return [("name", name(slanted[1]))]
        if sign := re.compile(r"#(\w+);").match(text, self.place):
            self.place = sign.end()
            if sign[1] not in _SIGNS:
                raise Misread(f"#{sign[1]}")
            return [("sign", _SIGNS[sign[1]])]
        if prefix := re.compile(r'class\("normal", ([+−])\)').match(text, self.place):
            self.place = prefix.end()
            return [("sign", prefix[1])]
        if self._take('class("normal", '):
            inner = self.row()
            self._close()
            return inner
        for word in ("thin", "quad"):
            if re.compile(rf"{word}(?![A-Za-z])").match(text, self.place):
                self.place += len(word)
                self.thin = word == "thin"
                return []
        if self._take("attach("):
            return self._attached()
        if self._take("frac("):
            above = self.row()
            self._comma()
            below = self.row()
            self._close()
            return [("fraction", above, below)]
        if self._take("lr("):
            if size := re.compile(r"size: #[\d.]+em, ").match(text, self.place):
                self.place = size.end()
            inner = self.row()
            self._close()
            return inner
        if letter := _LETTER.match(text, self.place):
            self.place = letter.end()
            return [("name", name(letter[0]))]
        if self._take("μ"):
            return [("name", "μ")]
        raise Misread(f"{text[self.place : self.place + 20]!r} in {text!r}")

    def _comma(self) -> None:
        if not self._take(", "):
            raise Misread(f"a comma should stand at {self.text[self.place :]!r}")

    def _close(self) -> None:
        if not self._take(")"):
            raise Misread(f"a parenthesis should stand at {self.text[self.place :]!r}")

    def _attached(self) -> list[Token]:
        base = self.row()
        above, below = "", ""
        power: list[Token] = []
        while self._take(", "):
            if self._take("b: "):
                below = self._subscript()
            elif self._take("t: "):
                start = self.place
                if base == [("word", "e")]:
                    power = self.row()
                else:
                    above = self._subscript()
                if self.place == start:
                    raise Misread("nothing is raised")
            else:
                raise Misread(f"attached: {self.text[self.place :]!r}")
        self._close()
        if power:
            return [("e", power)]
        raised = re.fullmatch(r"(′*)(−?\d*)", above)
        if not raised:
            raise Misread(f"raised {above!r}")
        primes, exponent = len(raised[1]), raised[2]
        if below or primes:
            ((kind, letter),) = base
            if kind != "name":
                raise Misread(f"a subscript of {base}")
            base = [("name", name(letter, below, primes))]
        if exponent:
            base = [*base, ("power", int(exponent.replace("−", "-")))]
        return base

    def _subscript(self) -> str:
        """Read a subscript or superscript as one reads it aloud."""
        told = ""
        while self.place < len(self.text) and self.text[self.place] not in ",)":
            if string := STRING.match(self.text, self.place):
                self.place = string.end()
                told += unescaped(string[1])
            elif self._take("#kern;") or self._take("thin") or self._take(" "):
                pass
            elif self._take("prime"):
                told += "′"
            elif self._take("attach("):
                told += self._subscript()
                after = {"b: ": "", "t: ": ""}
                while self._take(", "):
                    for key in after:
                        if self._take(key):
                            after[key] = self._subscript()
                self._close()
                told += after["b: "] + after["t: "]
            elif self._take("frac("):
                told += self._subscript() + "/"
                self._comma()
                told += self._subscript()
                self._close()
            elif slanted := re.compile(r'#slanted\("(.)"\);').match(self.text, self.place):
                self.place = slanted.end()
                told += slanted[1]
            elif letter := _LETTER.match(self.text, self.place):
                self.place = letter.end()
                told += letter[0]
            else:
                raise Misread(f"a subscript {self.text[self.place :]!r}")
        return told


def _literal(text: str) -> Token:
    if re.fullmatch(r"\d+(?:[.,]\d+)?", text):
        return ("number", text.replace(",", "."))
    return ("word", text)
