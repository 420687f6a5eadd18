"""Reads the SVG that `derive.writers.svg` writes: paths, rectangles, circles and text.

A reader of a small part of SVG 1.1 (sections 8.3, 9.2, 9.3, 10.4, 10.5); what is not in that part
is refused. Classes and ``data-`` attributes are not looked at: a person does not see them.
"""

from __future__ import annotations

import re
from dataclasses import replace
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from tests.drawing.strokes import Arc, Circle, Line, Misdrawn, Page, Spot, Type, set_type, width_of

_NS = "{http://www.w3.org/2000/svg}"
_NUMBER = r"-?\d+(?:\.\d+)?"


def read_svg(text: str) -> Page:
    """Read one ``svg`` element."""
    page = Page()
    for element in ElementTree.fromstring(text):
        if element.tag not in (_NS + "title", _NS + "desc"):
            _element(page, element)
    return page


def _element(page: Page, element: Element) -> None:
    tag = element.tag.removeprefix(_NS)
    if tag == "g" and _has_text(element):
        _pieces(page, element)
    elif tag == "g":
        for child in element:
            _element(page, child)
    elif tag == "path":
        _path(page, element)
    elif tag == "rect":
        x, y, w, h = (float(element.get(key, "")) for key in ("x", "y", "width", "height"))
        corners = ((x, -y), (x + w, -y), (x + w, -y - h), (x, -y - h))
        page.lines.append(Line(corners, True, _filled(element), _dashed(element)))
    elif tag == "circle":
        x, y, r = (float(element.get(key, "")) for key in ("cx", "cy", "r"))
        page.circles.append(Circle((x, -y), r, _filled(element)))
    elif tag == "text":
        page.types.append(_line(element))
    else:
        raise Misdrawn(f"not understood: {tag}")


def _has_text(group: Element) -> bool:
    """Tell the group of a fraction's pieces from that of a whole figure or of a symbol."""
    return group.get("font-family") is None and any(c.tag == _NS + "text" for c in group)


def _filled(element: Element) -> bool:
    return element.get("fill") is not None


def _dashed(element: Element) -> bool:
    return element.get("stroke-dasharray") is not None


def _path(page: Page, element: Element) -> None:
    d = element.get("d", "")
    arc = re.fullmatch(
        rf"M({_NUMBER}) ({_NUMBER}) A{_NUMBER} {_NUMBER} 0 [01] ([01]) ({_NUMBER}) ({_NUMBER})", d
    )
    if arc:
        x1, y1, sweep, x2, y2 = map(float, arc.groups())
        page.arcs.append(Arc((x1, -y1), (x2, -y2), sweep == 0))
        return
    line = rf"M{_NUMBER} {_NUMBER}(?: L{_NUMBER} {_NUMBER})+(?: Z)?"
    if not re.fullmatch(rf"{line}(?: {line})*", d):
        raise Misdrawn(f"not a path: {d}")
    for piece in re.findall(line, d):
        points: tuple[Spot, ...] = tuple(
            (float(x), -float(y)) for x, y in re.findall(rf"({_NUMBER}) ({_NUMBER})", piece)
        )
        page.lines.append(Line(points, piece.endswith("Z"), _filled(element), _dashed(element)))


def _pieces(page: Page, group: Element) -> None:
    """Read a label with a fraction: its pieces from left to right, the bar between two of them."""
    texts = [child for child in group if child.tag == _NS + "text"]
    bars = [child for child in group if child.tag == _NS + "path"]
    if len(texts) + len(bars) != len(group) or not bars:
        raise Misdrawn("a label of unknown pieces")
    words = [["".join(text.itertext()), *_place(text)] for text in texts]
    for bar in bars:
        x1, y1, x2, _ = map(float, re.findall(_NUMBER, bar.get("d", "")))
        over = [w for w in words if x1 - 0.01 <= w[1] <= x2 + 0.01]
        above = [w for w in over if w[2] < y1]
        below = [w for w in over if w[2] > y1 + 1]
        if len(above) != 1 or len(below) != 1 or len(over) != 2:
            raise Misdrawn("a bar without a fraction")
        at = words.index(above[0])
        words[at] = [f"{above[0][0]}/{below[0][0]}", x1, y1]
        words.remove(below[0])
    spelled = "".join(str(w[0]) for w in sorted(words, key=lambda w: w[1]))
    em = float(texts[0].get("font-size", ""))
    left = min(float(w[1]) for w in words)
    bar = float(re.findall(_NUMBER, bars[0].get("d", ""))[1])
    line = set_type(spelled, (left, -bar + 0.06 * em), 0.0, em, tall=True)
    ends = [_right(text, em) for text in texts]
    ends += [float(re.findall(_NUMBER, bar.get("d", ""))[2]) for bar in bars]
    page.types.append(replace(line, right=max(ends)))


def _place(text: Element) -> tuple[float, float]:
    """Return where a text stands: its own place, or that of its first span."""
    first = text if text.get("x") is not None else text[0]
    return float((first.get("x") or "").split()[0]), float(text.get("y") or first.get("y") or "")


def _line(text: Element) -> Type:
    em = float(text.get("font-size", ""))
    x, baseline = _place(text)
    share = {"start": 0.0, "middle": 0.5, "end": 1.0}[text.get("text-anchor", "start")]
    # Half the height of a capital above the line on which it stands.
    line = set_type("".join(text.itertext()), (x, -baseline + 0.3 * em), share, em, tall=False)
    return replace(line, right=_right(text, em)) if len(text) else line


def _right(text: Element, em: float) -> float:
    """Return where a text ends: its last span has a place of its own."""
    last = text[-1] if len(text) else text
    x = float((last.get("x") or "").split()[-1])
    size = float(last.get("font-size") or em)
    return x + size * sum(map(width_of, "".join(last.itertext())))
