r"""Reads the TikZ that `derive.writers.tikz` writes: paths, circles, arcs and nodes.

A reader of a small part of the language (TikZ & PGF manual, "Syntax for Path Specifications");
what is not in that part is refused. Nothing of the writers is used.
"""

from __future__ import annotations

import re
from math import cos, radians, sin

from tests.drawing.strokes import Arc, Circle, Line, Misdrawn, Page, Spot, set_type

_POINT = 25.4 / 72.27
_NUMBER = r"-?\d+(?:\.\d+)?"
_AT = rf"\(({_NUMBER}),({_NUMBER})\)"
_GREEK = {
    "alpha": "α", "beta": "β", "gamma": "γ", "delta": "δ", "varepsilon": "ε", "eta": "η",
    "theta": "θ", "lambda": "λ", "mu": "µ", "rho": "ρ", "sigma": "σ", "tau": "τ",
    "varphi": "φ", "omega": "ω", "Delta": "Δ", "Omega": "Ω",
}  # fmt: skip


def read_tikz(text: str) -> Page:
    """Read one ``tikzpicture``."""
    first, *lines, last = text.splitlines()
    if not first.startswith(r"\begin{tikzpicture}[x=1mm,y=1mm,") or last != r"\end{tikzpicture}":
        raise Misdrawn("not a picture in millimetres")
    page = Page()
    for line in lines:
        if line.startswith(r"\useasboundingbox"):
            continue
        node = re.fullmatch(rf"\\node\[(.*)\] at {_AT} \{{\$(.*)\$\}};", line)
        path = re.fullmatch(r"\\(draw|fill)\[(.*?)\] (\(.*);", line)
        if node:
            _node(page, node[1], (float(node[2]), float(node[3])), node[4])
        elif path:
            _path(page, path[1] == "fill", "dash pattern" in path[2], path[3])
        else:
            raise Misdrawn(f"not understood: {line}")
    return page


def _path(page: Page, filled: bool, dashed: bool, rest: str) -> None:
    while rest:
        if m := re.match(rf"{_AT} rectangle {_AT} ?", rest):
            x1, y1, x2, y2 = map(float, m.groups())
            corners = ((x1, y1), (x2, y1), (x2, y2), (x1, y2))
            page.lines.append(Line(corners, True, filled, dashed))
        elif m := re.match(rf"{_AT} circle\[radius=({_NUMBER})\] ?", rest):
            x, y, r = map(float, m.groups())
            page.circles.append(Circle((x, y), r, filled))
        elif m := re.match(
            rf"{_AT} arc\[start angle=({_NUMBER}),end angle=({_NUMBER}),radius=({_NUMBER})\]", rest
        ):
            page.arcs.append(_arc(*map(float, m.groups())))
        elif m := re.match(rf"{_AT}(?:--{_AT})+(--cycle)? ?", rest):
            points = tuple((float(x), float(y)) for x, y in re.findall(_AT, m[0]))
            page.lines.append(Line(points, m.groups()[-1] is not None, filled, dashed))
        else:
            raise Misdrawn(f"not a path: {rest}")
        rest = rest[m.end() :]


def _arc(x: float, y: float, start: float, end: float, radius: float) -> Arc:
    x0, y0 = x - radius * cos(radians(start)), y - radius * sin(radians(start))
    last: Spot = (x0 + radius * cos(radians(end)), y0 + radius * sin(radians(end)))
    return Arc((x, y), last, end > start)


def _node(page: Page, options: str, at: Spot, mathematics: str) -> None:
    anchor = re.search(r"anchor=(\w+)", options)
    size = re.search(r"\\fontsize\{([\d.]+)\}", options)
    if not anchor or not size:
        raise Misdrawn(f"a node without place or size: {options}")
    share = {"west": 0.0, "center": 0.5, "east": 1.0}[anchor[1]]
    tall = r"\frac" in mathematics
    em = float(size[1]) * _POINT
    page.types.append(set_type(spoken(mathematics), at, share, em, tall))


def spoken(tex: str) -> str:
    """Return mathematics as one reads it aloud: letters in their order, primes last.

    >>> spoken(r"\\mathcal{E}_{1}"), spoken(r"4.5\\,\\mathrm{k}\\Omega"), spoken(r"R_{a}^{\\prime}")
    ('ℰ1', '4.5\\xa0kΩ', "Ra'")
    """
    text = re.sub(r"\\mathcal\{(\w)\}", lambda m: {"E": "ℰ"}.get(m[1], m[1]), tex)
    text = text.replace(r"\displaystyle", "").replace(r"\text{\textmu}", "µ")
    text = re.sub(r"\\(\w+) ", r"\\\1{}", text)  # a space after a control word does not print
    words = []
    for word in re.split(r"(\\text\{[^}]*\})", text):
        words.append(word if word.startswith(r"\text") else word.replace(" ", ""))
    text = re.sub(r"\\([A-Za-z]+)", lambda m: _GREEK.get(m[1], m[0]), "".join(words))
    while (shorter := re.sub(r"\\(?:mathrm|mathit|text)\{([^{}]*)\}", r"\1", text)) != text:
        text = shorter
    text = re.sub(r"\\frac\{([^{}]*)\}\{([^{}]*)\}", r"\1/\2", text)
    text = text.replace(r"\,", "\N{NO-BREAK SPACE}").replace(r"\prime", "'")
    text = re.sub(r"[{}_^]", "", text)
    if "\\" in text.replace(r"\cdot", ""):
        raise Misdrawn(f"mathematics not understood: {tex}")
    return text.replace(r"\cdot", "·").replace("-", "−")
