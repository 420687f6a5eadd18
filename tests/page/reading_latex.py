r"""Reads a complete LaTeX document of ours back into items, and its mathematics into chains.

What is read: the body of the document, its sections and parts, paragraphs, ``align*`` and
``gather*`` with their ``\tag*``, ``aligned`` in a line of text, tables and columns of values,
frames, cautions, answers, captions, and the ``alt`` of a ``tikzpicture``. Every command must be one
of those named here; text is taken as TeX would print it.
"""

from __future__ import annotations

import re
from dataclasses import replace
from unicodedata import normalize

from tests.page import reading_tex
from tests.page.items import Figure, Item, Page, Row, Run, Table, Values, run_of, told
from tests.page.mathematics import Chain, Misread, read
from tests.page.reading_tex import group

_DROPPED = {
    "noindent", "nobreak", "centering", "raggedright", "lwapart", "lwparagraphs", "lwcolumn", "small",
    "footnotesize", "hfill", "LARGE", "Large", "large", "bfseries", "lwdisplaystart", "toprule",
    "midrule", "bottomrule", "arraybackslash", "allowbreak", "quad", "linewidth",
}  # fmt: skip
_DROPPED_WITH = {"vspace": 1, "color": 1, "lwshare": 1}
_INSIDE = {
    "textbf": 0, "mbox": 0, "lwfit": 0, "lwsource": 0, "lwframe": 2, "lwopen": 2,
    "textsubscript": 0, "lwtall": 0,
}  # fmt: skip
"""Commands whose last argument is printed, and how many stand before it."""
_PRINTED = {
    "textbackslash": "\\", "textasciicircum": "^", "textasciitilde": "~", "textless": "<",
    "textgreater": ">", "textbar": "|", "textquotedbl": '"', "textasciigrave": "`",
    "textendash": "–", "textemdash": "—", "textquoteleft": "‘", "textquoteright": "’",
    "textquotedblleft": "“", "textquotedblright": "”", "quotedblbase": "„", "guillemotleft": "«",
    "guillemotright": "»", "dots": "…", "textbullet": "•", "S": "§", "texteuro": "€", "pounds": "£",
    "copyright": "©", "ss": "ß", "L": "Ł", "l": "ł", "O": "Ø", "o": "ø", "AE": "Æ", "ae": "æ",
    "OE": "Œ", "oe": "œ", "i": "ı", "textmu": "µ",
}  # fmt: skip
_SURE = {
    "-": "−", r"\cdot": "·", r"\times": "×", r"\div": "÷", r"\pm": "±", r"\approx": "≈",
    r"\neq": "≠", r"\leq": "≤", r"\geq": "≥", r"\parallel": "∥", r"\infty": "∞",
    r"\rightarrow": "→", r"\leftarrow": "←", r"\surd": "√", r"{}^{\circ}": "°",
    r"\frac12": "½", r"\frac14": "¼", r"\frac34": "¾", r"\mathcal{E}": "ℰ",
}  # fmt: skip
"""Signs in running text."""
_ACCENTS = {
    "`": "\u0300", "'": "\u0301", "^": "\u0302", "~": "\u0303", '"': "\u0308", "=": "\u0304",
    ".": "\u0307", "r": "\u030a", "H": "\u030b", "v": "\u030c", "u": "\u0306", "c": "\u0327",
    "k": "\u0328", "d": "\u0323",
}  # fmt: skip
_ABOVE = str.maketrans("0123456789", "⁰¹²³⁴⁵⁶⁷⁸⁹")
_BELOW = str.maketrans("0123456789", "₀₁₂₃₄₅₆₇₈₉")


def read_latex(text: str) -> Page:
    """Read a document."""
    begin, end = r"\begin{document}", r"\end{document}"
    if begin not in text or end not in text:
        raise Misread("no document")
    body = text.partition(begin)[2].partition(end)[0]
    return Page(tuple(_Body(body).items()))


def read_fragment(text: str) -> Page:
    """Read a fragment for ``\\input``: what stands in its own group, without definitions."""
    begin, end = r"\begingroup", r"\endgroup"
    if begin not in text or end not in text:
        raise Misread("no fragment")
    body = text.partition(begin)[2].rpartition(end)[0]
    body = body[body.index(r"\par\lwparagraphs") :]
    page = Page(tuple(_Body(body).items()))
    labels = [int(n) for n in re.findall(r"\\lwlabel\{(\d+)\}\{[\w-]+-eq-\1\}", body)]
    if labels != [row.number for row in page.rows() if row.number is not None]:
        raise Misread(f"labels {labels}")
    return page


def text_of(tex: str) -> str:
    """Return running text as it is printed, without formulas."""
    found = run_of(_Body(tex).run())
    if not all(isinstance(piece, str) for piece in found):
        raise Misread(f"a formula within {tex!r}")
    return "".join(map(str, found))


class _Body:
    """Goes through a text once; paragraphs are gathered until something ends them."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.place = 0
        self.found: list[Item] = []
        self.pieces: list[str | Chain] = []

    def items(self) -> list[Item]:
        self._go()
        self._ends()
        return self.found

    def run(self) -> list[str | Chain]:
        self._go()
        if self.found:
            raise Misread(f"more than running text in {self.text!r}")
        return self.pieces

    def _ends(self) -> None:
        run = run_of(self.pieces)
        self.pieces = []
        if run:
            self.found.append(told(run))

    def _go(self) -> None:
        while self.place < len(self.text):
            sign = self.text[self.place]
            if sign == "\\":
                self._command()
            elif sign == "$":
                self._formula()
            elif sign in "{}":
                self.place += 1
            elif sign == "%":
                end = self.text.find("\n", self.place)
                self.place = len(self.text) if end < 0 else end
                while self.text[self.place : self.place + 1].isspace():
                    self.place += 1
            elif sign in "&#^_":
                raise Misread(f"{sign!r} in running text: {self._near()}")
            else:
                self.place += 1
                self.pieces.append(" " if sign == "~" else sign)

    def _near(self) -> str:
        return repr(self.text[max(0, self.place - 20) : self.place + 40])

    def _argument(self) -> str:
        end = group(self.text, self.place)
        inner = self.text[self.place + 1 : end - 1]
        self.place = end
        return inner

    def _formula(self) -> None:
        end = self.text.index("$", self.place + 1)
        inner = self.text[self.place + 1 : end]
        self.place = end + 1
        if inner.startswith(r"\displaystyle"):
            self._ends()
            if self.text.startswith("\\\\[6pt]", self.place):
                self.place += len("\\\\[6pt]")
            self.found.extend(_rows(inner.removeprefix(r"\displaystyle").strip()))
        else:
            self.pieces.append(read(reading_tex.tokens(inner)))

    def _command(self) -> None:
        found = re.compile(r"\\([A-Za-z]+) ?|\\(.)", re.DOTALL).match(self.text, self.place)
        if not found:
            raise Misread(f"a lone backslash: {self._near()}")
        word, sign = found[1], found[2]
        self.place = found.end()
        if sign is not None:
            self._sign(sign)
        elif word in _DROPPED:
            pass
        elif word in ("par", "lwanswergap", "lwremarkgap"):
            self._ends()
        elif word in _DROPPED_WITH:
            for _ in range(_DROPPED_WITH[word]):
                self._argument()
        elif word in _INSIDE:
            self._inside(word)
        elif word == "lwlabel":
            self._argument()
            self._argument()
        elif word == "lwheading":
            self._ends()
            self._argument()
            self.pieces.extend(_Body(self._argument()).run())
            self._ends()
        elif word in ("interdisplaylinepenalty", "clubpenalty", "widowpenalty"):
            penalty = re.compile(r"=\d+ ?").match(self.text, self.place)
            self.place = penalty.end() if penalty else self.place
        elif word in ("section", "lwpart"):
            self._ends()
            self.pieces.extend(_Body(self._argument()).run())
            self._ends()
        elif word == "lwsigned":
            self.pieces.append(read(reading_tex.tokens(self._argument())))
        elif word == "lwcaution":
            self._ends()
            self.pieces.append(self._argument() + ". ")
            self.pieces.extend(_Body(self._argument()).run())
            self._ends()
        elif word == "lwtitled":
            self._ends()
            for _ in ("the title", "what stands beside it"):
                self.found.extend(_Body(self._argument()).items())
        elif word == "lwpoint":
            self.pieces.append(read([("word", text_of(self._argument()))]))
        elif word == "ensuremath":
            self._sure(self._argument())
        elif word == "textsuperscript":
            self.pieces.append(self._argument().translate(_ABOVE))
        elif word == "hrule":
            rule = re.compile(r"height [.\d]+pt").match(self.text, self.place)
            self.place = rule.end() if rule else self.place
        elif word == "begin":
            self._environment(self._argument())
        elif word == "end":
            if self._argument() != "minipage":
                raise Misread(f"an end of nothing: {self._near()}")
            self._ends()
        elif word in _PRINTED:
            self.pieces.append(_PRINTED[word])
        elif word in _ACCENTS:
            self._sign(word)
        elif word == "kern":
            self.place += len("0pt")
        else:
            raise Misread(f"\\{word}: {self._near()}")

    def _inside(self, word: str) -> None:
        for _ in range(_INSIDE[word]):
            self._argument()
        inner = self._argument()
        if word == "textsubscript":
            self.pieces.append(inner.translate(_BELOW))
        elif word in ("lwframe", "lwopen", "lwfit"):
            self._ends()
            self.found.extend(_Body(inner).items())
        else:
            self._held(_Body(inner))

    def _held(self, inner: _Body) -> None:
        """Take what is in a group: running text, or an equation that is set apart."""
        inner._go()
        if inner.found:
            self._ends()
            self.found.extend(inner.found)
        self.pieces.extend(inner.pieces)

    def _sign(self, sign: str) -> None:
        if sign in "{}$&#%_":
            self.pieces.append(sign)
        elif sign in ", ":
            self.pieces.append(" ")
        elif sign in _ACCENTS:
            self.pieces.append(normalize("NFC", self._argument() + _ACCENTS[sign]))
        else:
            raise Misread(f"\\{sign}: {self._near()}")

    def _sure(self, inner: str) -> None:
        if inner in _SURE:
            self.pieces.append(_SURE[inner])
            return
        ((kind, said),) = reading_tex.tokens(inner)
        if kind != "name":
            raise Misread(f"a sign in running text: {inner}")
        self.pieces.append(said)

    def _environment(self, kind: str) -> None:
        text = self.text
        if kind == "minipage":
            self._ends()
            self.place = group(text, text.index("{", self.place))
            return
        end_mark = rf"\end{{{kind}}}"
        end = text.index(end_mark, self.place)
        inner = text[self.place : end]
        self.place = end + len(end_mark)
        self._ends()
        if kind in ("align*", "gather*"):
            self.found.extend(_rows(inner))
        elif kind == "tikzpicture":
            start = inner.index("alt=") + len("alt=")
            self.found.append(Figure(text_of(inner[start + 1 : group(inner, start) - 1]), None))
        elif kind in ("tabular", "tabularx"):
            self.found.append(_table(inner, kind))
        else:
            raise Misread(f"environment {kind}")


# --- equations ----------------------------------------------------------------------------------


def _split(text: str, mark: str) -> list[str]:
    r"""Split at a mark (``\\`` or ``&``) outside groups and environments."""
    pieces, depth, nested, place, start = [], 0, 0, 0, 0
    while place < len(text):
        if not depth and not nested and text.startswith(mark, place):
            pieces.append(text[start:place])
            place += len(mark)
            if mark == "\\\\" and (gap := re.compile(r"\*|\[\dpt\]").match(text, place)):
                place = gap.end()
            start = place
            continue
        if text[place] == "\\":
            nested += text.startswith(r"\begin{", place) - text.startswith(r"\end{", place)
            place += 2
            continue
        depth += {"{": 1, "}": -1}.get(text[place], 0)
        place += 1
    return [*pieces, text[start:]]


def _rows(text: str) -> list[Item]:
    """Read displayed equations, each on one line or more."""
    lines = _split(_unwrapped(text.strip()), "\\\\")
    rows: list[Row] = []
    parts: list[str] = []
    tag: tuple[int | None, Run] = (None, ())

    def end() -> None:
        nonlocal parts, tag
        if parts:
            rows.append(Row(read(reading_tex.tokens(" ".join(parts))), *tag))
        elif tag[1]:
            # A source on a line of its own belongs to the equation above it.
            if not rows or rows[-1].source:
                raise Misread(f"a source without an equation: {text}")
            rows[-1] = replace(rows[-1], source=tag[1])
        parts, tag = [], (None, ())

    for line in lines:
        body, mark, tagged = line.partition(r"\tag*")
        left, aligned, right = body.strip().partition("&")
        starts_anew = bool(left.strip()) if aligned else True
        if body.strip() in ("&", "") or (starts_anew and parts):
            end()
        if body.strip() not in ("&", ""):
            parts.append(f"{left} {right}" if aligned else left)
        if mark:
            tag = _tag(tagged.strip())
            end()
    end()
    return list(rows)


def _unwrapped(text: str) -> str:
    """Return what is inside one `aligned` that is all there is."""
    begin = re.match(r"\\begin\{aligned\}(?:\[b\])?", text)
    if not begin:
        return text
    depth = 0
    for mark in re.finditer(r"\\(begin|end)\{aligned\}", text):
        depth += 1 if mark[1] == "begin" else -1
        if not depth:
            return text[begin.end() : mark.start()] if mark.end() == len(text) else text
    raise Misread(f"aligned without an end: {text}")


def _tag(text: str) -> tuple[int | None, Run]:
    inner = text[1 : group(text, 0) - 1]
    if text[group(text, 0) :].strip():
        raise Misread(f"more after the tag {text!r}")
    source: Run = ()
    if inner.startswith(r"\lwsource"):
        end = group(inner, len(r"\lwsource"))
        source = run_of(_Body(inner[len(r"\lwsource") + 1 : end - 1]).run())
        inner = inner[end:].removeprefix(r"\quad").strip()
    if not inner:
        return None, source
    number = re.fullmatch(r"\((\d+)\)", inner)
    if not number:
        raise Misread(f"the tag {text!r}")
    return int(number[1]), source


# --- tables -------------------------------------------------------------------------------------


def _table(inner: str, kind: str) -> Item:
    place = group(inner, 0)  # the columns, after the width of a tabularx
    if kind == "tabularx":
        place = group(inner, place)
    body = re.sub(
        r"\\(toprule|midrule|bottomrule|raggedright|arraybackslash)\b ?", "", inner[place:]
    )
    rows = [
        tuple(run_of(_Body(cell).run()) for cell in _split(row, "&"))
        for row in _split(body, "\\\\")
        if row.strip()
    ]
    if r"\toprule" in inner:
        return Table(tuple(rows))
    chains = [cell for row in rows for cell in row if cell]
    if not all(len(cell) == 1 and isinstance(cell[0], Chain) for cell in chains):
        raise Misread(f"values: {chains}")
    return Values(tuple(cell[0] for cell in chains if isinstance(cell[0], Chain)))
