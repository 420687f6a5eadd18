"""Whatever Unicode a title, a statement or a sentence holds, each format says it and obeys none."""

import json
import re
from unicodedata import category
from xml.etree import ElementTree

import html5lib
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from markdown_it import MarkdownIt

from derive.diagnostic import Rejected
from derive.document.model import Document, Paragraph, Section, Text
from derive.pipeline import solve
from derive.source import Source
from derive.typesetting.style import Style
from derive.writers import answers_json, html, latex, markdown, svg, text, typst
from tests.language.text_mutations import CONFUSABLE, PAYLOADS
from tests.writers.sample_document import FIGURE

CATEGORIES = (
    "Lu", "Ll", "Lt", "Lm", "Lo", "Mn", "Mc", "Me", "Nd", "Nl", "No", "Pc", "Pd", "Ps", "Pe", "Pi",
    "Pf", "Po", "Sm", "Sc", "Sk", "So", "Zs", "Zl", "Zp", "Cc", "Cf", "Cs", "Co", "Cn",
)  # fmt: skip
"""All of the Unicode Standard, table 4-4."""
CHARACTERS = st.one_of(*(st.characters(categories=[one]) for one in CATEGORIES))
TEXTS = st.lists(
    CHARACTERS
    | st.sampled_from(PAYLOADS + CONFUSABLE)
    | st.sampled_from("\\{}$&#^_%~<>\"'`*|[]()"),
    max_size=20,
).map(lambda signs: "x" + "".join(signs))
"""An empty title is told differently."""
SOME = settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck))


def document_of(words: str) -> Document:
    sections = (Section((Text(words),), (Paragraph((Text(words),)),)),)
    return Document(words, words, sections, Style())


def elements(page: str) -> list[tuple[str, tuple[str, ...]]]:
    """Return the elements of a page with their attributes; a span may keep words on one line."""
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    found = [(str(e.tag), tuple(sorted(map(str, e.keys())))) for e in tree.iter()]
    return [one for one in found if one != ("span", ("class",)) and "Comment" not in one[0]]


@SOME
@given(TEXTS)
def test_html(words: str) -> None:
    page = html.write(document_of(words))
    plain = html.write(document_of("plain"))
    assert elements(page) == elements(plain)
    tree = html5lib.parse(page, namespaceHTMLElements=False)
    allowed = (category(c) not in ("Cc", "Cs", "Cn") or c in "\t\n" for c in words)
    shown = "".join(c if ok else "\ufffd" for c, ok in zip(words, allowed, strict=True))
    assert "".join(tree.find(".//h1").itertext()) == shown


@SOME
@given(TEXTS)
def test_svg(words: str) -> None:
    written = svg.write(FIGURE.drawing, Style(), words, words)
    tree, plain = (
        ElementTree.fromstring(written),
        ElementTree.fromstring(svg.write(FIGURE.drawing, Style(), "plain", "plain")),
    )
    ours = [e.tag for e in plain.iter() if not e.tag.endswith(("}title", "}desc"))]
    assert [e.tag for e in tree.iter() if not e.tag.endswith(("}title", "}desc"))] == ours


@SOME
@given(TEXTS)
def test_markdown(words: str) -> None:
    told = markdown.write(document_of(words))
    tokens = MarkdownIt("commonmark").enable(["table", "strikethrough"]).parse(told)
    inner = [child for token in tokens for child in token.children or []]
    assert {token.type for token in tokens} <= {
        "html_block", "heading_open", "heading_close", "inline", "paragraph_open", "paragraph_close",
    }  # fmt: skip
    assert [token.content for token in tokens if token.type == "html_block"] == [
        told.splitlines()[0] + "\n"
    ]
    assert {child.type for child in inner} <= {
        "text", "text_special", "softbreak", "em_open", "em_close",
    }  # fmt: skip
    assert re.findall(r"(?<!\\)\$", told) == []


@SOME
@given(TEXTS)
def test_tex(words: str) -> None:
    """Line for line and command for command it is the document of a plain text."""
    written, plain = latex.write(document_of(words)), latex.write(document_of("plain"))
    assert written.isascii()
    assert len(written.splitlines()) == len(plain.splitlines())
    assert not re.search(
        r"\\(input|write|openout|catcode|immediate|csname|def|read)\b", _body(written)
    )
    assert "^^" not in _body(written)


def _body(tex: str) -> str:
    return tex[tex.index(r"\begin{document}") :]


@SOME
@given(TEXTS)
def test_typst(words: str) -> None:
    """Outside of string literals it is the document of a plain text."""
    literal = re.compile(r'"(?:[^"\\]|\\.)*"')
    written, plain = typst.write(document_of(words)), typst.write(document_of("plain"))
    assert literal.sub('""', _code(written)) == literal.sub('""', _code(plain))


def _code(typst_text: str) -> str:
    lines = typst_text.splitlines()
    return "\n".join(line for line in lines if not line.startswith("//"))


@SOME
@given(TEXTS)
def test_text(words: str) -> None:
    told = text.write(document_of(words))
    assert all(category(c)[0] != "C" or c == "\n" for c in told)


CIRCUIT = """\
title "{words}"
statement "{words}"
I1: A  (-E1+)  B  (R1)  A
E1 = 2 V; R1 = 3 ohm
"""


@settings(max_examples=10, deadline=None, suppress_health_check=list(HealthCheck))
@given(TEXTS.map(lambda words: re.sub(r'["“”„\n]', " ", words)))
def test_a_whole_circuit(words: str) -> None:
    """From the file to every format: its words are refused as a whole, or they are said."""
    try:
        solution = solve(Source("any.circuit", CIRCUIT.format(words=words)))
    except Rejected as refused:
        if {d.code for d in refused.diagnostics} <= {
            "control-character",
            "text-turned",
            "words-too-long",
        }:
            return
        raise
    told = json.loads(answers_json.write(solution.contract))
    assert " ".join(told["circuit"].split()) == " ".join(solution.document.title.split())
    assert html.write(solution.document, solution.live())
    assert text.write(solution.document)
    assert "^^" not in _body(latex.write(solution.document))
    assert typst.write(solution.document)
    tokens = MarkdownIt("commonmark", {"html": True}).parse(markdown.write(solution.document))
    for token in tokens:
        if token.type == "html_block" and not token.content.startswith("<!-- Made by"):
            assert_harmless(token.content)
    assert not [c for t in tokens for c in t.children or [] if c.type == "html_inline"]


def assert_harmless(figure: str) -> None:
    """A figure in Markdown is a picture: no script, no other document, nothing asked for."""
    tree = ElementTree.fromstring(figure)
    assert tree.tag.endswith("}svg")
    for element in tree.iter():
        assert element.tag.split("}")[1] not in ("script", "foreignObject", "image", "use", "a")
        assert not any(k.startswith("on") or "href" in k or "url(" in v for k, v in element.items())


def test_every_category_is_there() -> None:
    assert {category(chr(code)) for code in range(0x110000)} == set(CATEGORIES)
