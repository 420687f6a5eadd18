"""Reads a page of ours for the web back into items, its MathML into chains.

What is read: the ``main`` of the page as a person meets it: headings, paragraphs, displayed
equations (``div.equation`` with left, right or whole, source and number), tables, values, answers,
boxes, cautions, figures with the ``title`` of their SVG and the description below them. Of MathML:
``mi mn mo mspace mtext mrow mfrac msub msup msubsup mtable``. Every other element is refused, but
what the script of a page with live numbers needs (`controls`, marks) is passed over.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

from tests.page.items import Figure, Item, Page, Prose, Row, Run, Table, Values, run_of, told
from tests.page.mathematics import Chain, Misread, Token, name, read

_VOID = frozenset(["meta", "link", "br", "hr", "input", "mspace", "wbr"])
_SIGNS = {"⋅": "·"}
_OPERATORS = frozenset("+−⋅×∥/=≈><≠→≤")
_TIMES = "\N{INVISIBLE TIMES}"


@dataclass
class Element:
    """An element; its content is elements and text."""

    tag: str
    attributes: dict[str, str | None]
    content: list[Element | str] = field(default_factory=list)

    @property
    def kinds(self) -> list[str]:
        return (self.attributes.get("class") or "").split()

    def elements(self) -> list[Element]:
        """Return what is inside, where there may be no text."""
        if any(isinstance(c, str) and c.strip() for c in self.content):
            raise Misread(f"text in {self.tag}: {self.content}")
        return [c for c in self.content if isinstance(c, Element)]

    def find(self, tag: str) -> Element | None:
        """Return the first element of a kind, at any depth."""
        for inner in self.content:
            if isinstance(inner, Element):
                found = inner if inner.tag == tag else inner.find(tag)
                if found is not None:
                    return found
        return None

    @property
    def text(self) -> str:
        return "".join(c if isinstance(c, str) else c.text for c in self.content)


class _Tree(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.root = Element("root", {})
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        element = Element(tag, dict(attrs))
        self.open[-1].content.append(element)
        if tag not in _VOID:
            self.open.append(element)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.open[-1].content.append(Element(tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if len(self.open) < 2 or self.open[-1].tag != tag:
            raise Misread(f"</{tag}> ends {self.open[-1].tag}")
        self.open.pop()

    def handle_data(self, data: str) -> None:
        self.open[-1].content.append(data)


def read_html(text: str) -> Page:
    """Read a page."""
    tree = _Tree()
    tree.feed(text)
    tree.close()
    if len(tree.open) > 1:
        raise Misread(f"{tree.open[-1].tag} is not closed")
    main = tree.root.find("main")
    if main is None:
        raise Misread("no main")
    items: list[Item] = []
    said: list[tuple[Chain, str]] = []
    _flow(main, items, said)
    return Page(tuple(items), tuple(said))


def _flow(parent: Element, items: list[Item], said: list[tuple[Chain, str]]) -> None:
    for element in parent.elements():
        kinds = element.kinds
        if element.tag in ("summary", "form") or kinds == ["constant"] or _is_hidden(element):
            continue
        if element.tag == "h1" or (element.tag == "p" and "results" not in kinds):
            items.append(told(_run(element)))
        elif element.tag in ("h2", "h3", "h4", "h5"):
            content = element.content
            if content and isinstance(content[0], Element) and content[0].kinds == ["number"]:
                content = content[1:]
            items.append(Prose(_run(Element("h", {}, content))))
        elif element.tag == "p":
            items.extend(_results(element))
        elif element.tag == "table":
            items.append(_table(element))
        elif element.tag == "figure":
            items.extend(_figure(element))
        elif element.tag == "div" and "display" in kinds:
            items.extend(_equation(row) for row in element.elements())
        elif element.tag == "div" and "values" in kinds:
            rows = [item for column in element.elements() for item in column.elements()]
            items.append(Values(tuple(_chain(row) for row in rows)))
        elif element.tag in ("header", "section", "details", "div"):
            _flow(element, items, said)
        else:
            raise Misread(f"<{element.tag} class={kinds}>")


def _is_hidden(element: Element) -> bool:
    return "hidden" in element.attributes


def _run(element: Element) -> Run:
    return run_of(_pieces(element))


def _pieces(element: Element) -> list[str | Chain]:
    found: list[str | Chain] = []
    for inner in element.content:
        if isinstance(inner, str):
            found.append(inner)
        elif inner.tag == "math":
            found.append(_formula([inner]))
        elif inner.kinds == ["point"]:
            found.append(read([("word", inner.text)]))
        elif inner.kinds == ["formula"]:
            found.append(_formula([part for part in inner.elements() if part.tag == "math"]))
        elif inner.tag in ("span", "strong"):
            found.extend(_pieces(inner))
        else:
            raise Misread(f"<{inner.tag}> in running text")
    return found


def _results(element: Element) -> list[Item]:
    found: list[Item] = []
    for piece in element.elements():
        if piece.kinds[:1] == ["chain"]:
            found.append(Row(_sides([piece])))
        elif piece.kinds[:1] == ["remark"]:
            run = _run(piece)
            found.extend([told(run)] if run else [])
        else:
            raise Misread(f"{piece.kinds} among answers")
    return found


def _chain(element: Element) -> Chain:
    return _sides(element.elements())


def _sides(elements: list[Element]) -> Chain:
    """Read a formula that stands in several pieces of mathematics."""
    found: list[Element] = []

    def gather(element: Element) -> None:
        if element.tag == "math":
            found.append(element)
        elif element.tag in ("span", "div"):
            for inner in element.elements():
                gather(inner)
        else:
            raise Misread(f"<{element.tag}> in an equation")

    for element in elements:
        gather(element)
    return _formula(found)


def _equation(element: Element) -> Row:
    sides, source, number = [], (), None
    for piece in element.elements():
        kind = piece.kinds[0]
        if kind in ("left", "right", "whole"):
            sides.append(piece)
        elif kind == "source":
            source = _run(piece)
        elif kind == "number" and (found := re.fullmatch(r"\((\d+)\)", piece.text)):
            number = int(found[1])
        else:
            raise Misread(f"{kind} in an equation: {piece.text}")
        label = piece.attributes.get("aria-label")
        if label is not None:
            labelled = re.fullmatch(r"Equation(?: (\d+))?", label)
            if not labelled:
                raise Misread(f"label {label!r}")
    for piece in element.elements():
        label = piece.attributes.get("aria-label")
        if label is not None and label != (f"Equation {number}" if number else "Equation"):
            raise Misread(f"label {label!r} of equation {number}")
    return Row(_sides(sides), number, source)


def _table(element: Element) -> Table:
    rows = []
    for part in element.elements():
        if part.tag in ("thead", "tbody"):
            rows += [tuple(_run(cell) for cell in row.elements()) for row in part.elements()]
        elif part.tag != "caption":
            raise Misread(f"<{part.tag}> in a table")
    return Table(tuple(rows))


def _figure(element: Element) -> list[Item]:
    title = element.find("title")
    details = element.find("details")
    described = None if details is None else details.find("p")
    short = None if title is None else title.text
    found: list[Item] = [Figure(short, None if described is None else described.text)]
    caption = element.find("figcaption")
    if caption is not None:
        found.append(told(_run(caption)))
    return found


# --- MathML -------------------------------------------------------------------------------------


def read_formula(text: str) -> list[Token]:
    """Return the tokens of one ``math`` element."""
    tree = _Tree()
    tree.feed(text)
    (element,) = tree.root.elements()
    return _row(element)


def _formula(elements: list[Element]) -> Chain:
    return read([token for element in elements for token in _row(element)])


def _row(element: Element) -> list[Token]:
    return [token for inner in element.elements() for token in _tokens(inner)]


def _tokens(element: Element) -> list[Token]:
    text = element.text
    match element.tag:
        case "mn":
            return [("number", _digits(text))]
        case "mi" | "mtext":
            upright = element.attributes.get("mathvariant") == "normal" or len(text) > 1
            greek = len(text) == 1 and "Α" <= text <= "Ω"
            if upright and not (greek and text not in "ΩΜ"):
                return [("word", text.replace("μ", "µ"))]
            return [("name", name(text))]
        case "mo":
            if text == _TIMES:
                return []
            if text in ("(", ")"):
                return [(text,)]
            if text not in _OPERATORS:
                raise Misread(f"operator {text!r}")
            return [("sign", _SIGNS.get(text, text))]
        case "mspace":
            return []
        case "mrow":
            return _row(element)
        case "mfrac":
            above, below = element.elements()
            return [("fraction", _tokens(above), _tokens(below))]
        case "mtable":
            return [t for row in element.elements() for cell in row.elements() for t in _row(cell)]
        case "msub":
            base, below = element.elements()
            return [("name", name(base.text, _flattened(below)))]
        case "msup":
            base, above = element.elements()
            return _raised(base, "", above)
        case "msubsup":
            base, below, above = element.elements()
            return _raised(base, _flattened(below), above)
    raise Misread(f"<{element.tag}> in mathematics")


def _raised(base: Element, below: str, above: Element) -> list[Token]:
    if base.tag == "mi" and base.text == "e" and base.attributes.get("mathvariant") == "normal":
        return [("e", _tokens(above))]
    told = re.fullmatch(r"(′*)(−?\d*)", above.text)
    if not told:
        raise Misread(f"raised {above.text!r}")
    primes, exponent = len(told[1]), told[2]
    power: list[Token] = [("power", int(exponent.replace("−", "-")))] if exponent else []
    if base.tag == "mi" and (below or primes):
        return [("name", name(base.text, below, primes)), *power]
    if primes or below:
        raise Misread(f"primes on {base.tag}")
    return [*_tokens(base), *power]


def _digits(text: str) -> str:
    if not re.fullmatch(r"\d+(?:\u202f\d{3})*(?:[.,]\d+(?:\u202f\d+)*)?", text):
        raise Misread(f"number {text!r}")
    return text.replace("\u202f", "").replace(",", ".")


def _flattened(element: Element) -> str:
    """Return a subscript as one reads it aloud."""
    if element.tag == "mfrac":
        above, below = element.elements()
        return f"{_flattened(above)}/{_flattened(below)}"
    if element.tag in ("mrow", "msub", "msup", "msubsup"):
        return "".join(map(_flattened, element.elements()))
    if element.tag == "mspace":
        return ""
    if element.tag == "mn":
        return _digits(element.text)
    if element.tag in ("mi", "mtext", "mo"):
        return element.text
    raise Misread(f"<{element.tag}> in a subscript")
