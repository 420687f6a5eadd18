r"""Small changes of a written page that a reader would take for something else.

For each format the places are found in the text alone, by patterns of its own: a sign flipped or
dropped, a subscript, a digit, the prefix of a unit or a decimal marker changed, two names swapped,
a relation made another. Figures, settings and comments are left alone.
"""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

_Change = Callable[[re.Match[str]], str]


@dataclass(frozen=True)
class Mutation:
    """One changed text."""

    format: str
    kind: str
    text: str
    shown: str
    """What was changed, for a person."""


def _digit(match: re.Match[str]) -> str:
    return match[1] + str((int(match[2]) + 1) % 10) + match[3]


def _marker(match: re.Match[str]) -> str:
    whole, marker, first = match.groups()
    return (
        f"{whole[:-1]}{marker}{whole[-1]}{first}" if len(whole) > 1 else f"{whole}{first}{marker}"
    )


def _swapped(match: re.Match[str]) -> str:
    return f"{match[3]}{match[2]}{match[1]}"


def _to(text: str) -> _Change:
    return lambda match: (match[1] or "") + text + (match[match.re.groups] or "")


_TEX = r"[A-Za-z]_\{\d+\}|\\mathcal\{E\}_\{\d+\}"
_TEX_CHANGES: list[tuple[str, str, _Change]] = [
    ("flip a sign", r"(\} )\+( )", _to("-")),
    ("flip a sign", r"(\} )-( )", _to("+")),
    ("drop a minus", r"((?:= |\\approx |\())-()", _to("")),
    ("change a subscript", r"(_\{)(\d)(\d*\})", _digit),
    ("change a digit", r"((?:=|\\approx|\+|-|\\cdot|\\times|\{|\() )(\d)([\d.]*\\,)", _digit),
    ("change a digit", r"(\\frac\{)(\d)(\d*\}\{\d)", _digit),
    ("change the last digit", r"(\d\.\d*)(\d)(\\,\\mathrm)", _digit),
    ("change a unit", r"(\d\\,\\mathrm\{)m([AVWJFC]\})", _to("k")),
    ("change a unit", r"(\d\\,\\mathrm\{)([AVWJFC]\})", _to("m")),
    ("move a decimal marker", r"(\d+)(\.)(\d)", _marker),
    ("swap two names", rf"({_TEX})( [+-] |\\,| = )({_TEX})", _swapped),
    ("change a relation", r"( )=( \\frac| \d| -)", _to(r"\approx")),
    ("change a relation", r"( )\\approx( )", _to("=")),
    ("change a number of an equation", r"(\()(\d)(\d*\))", _digit),
]
_TYPST = r'attach\([A-Zℰ], b: "\d+"\)'
_TYPST_CHANGES: list[tuple[str, str, _Change]] = [
    ("flip a sign", r"(#)plus(;)", _to("minus")),
    ("flip a sign", r"(#)minus(;)", _to("plus")),
    ("drop a minus", r'()class\("normal", −\)()', _to("")),
    ("change a subscript", r'(b: ")(\d)(\d*")', _digit),
    ("change a digit", r'((?:;|\(|\$)")(\d)([\d.]*")', _digit),
    ("change the last digit", r'("\d+\.\d*)(\d)("thin)', _digit),
    ("change a unit", r'(thin")m([AVWJFC]")', _to("k")),
    ("change a unit", r'(thin")([AVWJFC]")', _to("m")),
    ("move a decimal marker", r'(?<=")(\d+)(\.)(\d)', _marker),
    ("swap two names", rf"({_TYPST})(#plus;|#minus;|thin |#equals;)({_TYPST})", _swapped),
    ("change a relation", r"(#)equals(;)", _to("approx")),
    ("change a relation", r"(#)approx(;)", _to("equals")),
    ("change a number of an equation", r'("\()(\d)(\d*\)")', _digit),
    ("change what is said", r"(says: \"[^\"]*?)−", lambda m: f"{m[1]}+"),
    ("change what is said", r"(#(?:whole|shown)\(\"[A-Z])₁()", _to("₂")),
]
_HTML = r"<msub><mi>[A-Zℰ]</mi><mn>\d+</mn></msub>"
_HTML_CHANGES: list[tuple[str, str, _Change]] = [
    ("flip a sign", r'(<mo form="infix"[^>]*>)\+(</mo>)', _to("−")),
    ("flip a sign", r'(<mo form="infix"[^>]*>)−(</mo>)', _to("+")),
    ("drop a minus", r'()<mo form="prefix"[^>]*>−</mo>()', _to("")),
    ("change a subscript", r"(</mi><mn>)(\d)(\d*</mn></msub>)", _digit),
    ("change a digit", r"((?<!</mi>)<mn>)(\d)([\d.]*</mn>)", _digit),
    ("change the last digit", r"(<mn>\d+\.\d*)(\d)(</mn>)", _digit),
    ("change a unit", r"(<mi>)m([AVWJFC]</mi>)", _to("k")),
    ("move a decimal marker", r"(?<=<mn>)(\d+)(\.)(\d)", _marker),
    ("swap two names", rf"({_HTML})(<mo[^>]*>[^<]*</mo>)({_HTML})", _swapped),
    ("change a relation", r"(<mo [^>]*>)=(</mo>)", _to("≈")),
    ("change a relation", r"(<mo [^>]*>)≈(</mo>)", _to("=")),
    ("change a number of an equation", r'(class="number">\()(\d)(\d*\))', _digit),
]
_TEXT_NAME = r"[A-Zℰ][₀-₉]+"
_BELOW = "₀₁₂₃₄₅₆₇₈₉"


def _below(match: re.Match[str]) -> str:
    return match[1] + _BELOW[(_BELOW.index(match[2]) + 1) % 10]


_TEXT_CHANGES: list[tuple[str, str, _Change]] = [
    ("flip a sign", r"([₀-₉)] )\+( )", _to("−")),
    ("flip a sign", r"([₀-₉)] )−( )", _to("+")),
    ("drop a minus", r"([=≈(] ?)−()(?=\S)", _to("")),
    ("change a subscript", rf"([A-Zℰ])([{_BELOW}])", _below),
    ("change a digit", r"([=≈+−·(] )(\d)([\d.]*)", _digit),
    ("change the last digit", r"(\d\.\d*)(\d)( [A-Zmkµ])", _digit),
    ("change a unit", r"(\d )m([AVWJFC]\b)", _to("k")),
    ("change a unit", r"(\d )([AVWJFC]\b)", _to("m")),
    ("move a decimal marker", r"(?<=[ (−])(\d+)(\.)(\d)", _marker),
    ("swap two names", rf"({_TEXT_NAME})( [+−] |·| = )({_TEXT_NAME})", _swapped),
    ("change a relation", r"( )=( [\d(−])", _to("≈")),
    ("change a relation", r"( )≈( )", _to("=")),
    ("change a number of an equation", r"(  \()(\d)(\d*\)$)", _digit),
]
CHANGES = {
    "latex": _TEX_CHANGES, "fragment": _TEX_CHANGES, "markdown": _TEX_CHANGES,
    "typst": _TYPST_CHANGES, "html": _HTML_CHANGES, "text": _TEXT_CHANGES,
}  # fmt: skip
_LEFT_ALONE = {
    "latex": r"\A.*?\\begin\{document\}|\\begin\{tikzpicture\}.*?\\end\{tikzpicture\}"
    r"|\\lwshare\{[^}]*\}",
    "fragment": r"\A.*?\\par\\lwparagraphs|\\begin\{tikzpicture\}.*?\\end\{tikzpicture\}"
    r"|\\lwshare\{[^}]*\}|\\lwlabel[^\n]*",
    "markdown": r"<!--.*?-->|<svg.*?</svg>|^\*Made by.*"
    r"|^(?:> )?(?:\d+ junctions?:|No junction|The potential, counted|Two bars|At the start )[^\n]*",
    "typst": r"\A.*?#set text\(lang|#drawn\(.*?\n\)\n",
    "html": r"\A.*?<main>|<svg.*?</svg>|<details class=\"described\">.*?</details>",
    "text": r"\[Figure: .*?\](?=\n)|^Made by.*",
}
"""Figures have tests of their own."""


def mutations(kind: str, text: str, rng: random.Random, count: int) -> Iterator[Mutation]:
    """Yield up to `count` changed texts of every way to change one."""
    spans = [m.span() for m in re.finditer(_LEFT_ALONE[kind], text, re.DOTALL | re.MULTILINE)]
    for what, pattern, change in CHANGES[kind]:
        places = [
            match
            for match in re.finditer(pattern, text, re.MULTILINE)
            if not any(a < match.end() and match.start() < b for a, b in spans)
        ]
        for match in rng.sample(places, min(count, len(places))):
            new = change(match)
            if new != match[0]:
                changed = text[: match.start()] + new + text[match.end() :]
                around = text[max(0, match.start() - 30) : match.end() + 30]
                yield Mutation(kind, what, changed, f"{match[0]!r} → {new!r} in {around!r}")
