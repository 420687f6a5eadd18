"""Pages of the web: well-formed, complete, without anything from elsewhere."""

import base64
import hashlib
import json
import re
from dataclasses import replace
from itertools import pairwise
from xml.etree import ElementTree

import html5lib
import pytest

from derive.document.model import Document, Paragraph, Section, Text
from derive.pipeline import solve
from derive.writers import html
from derive.writers.mark import MARK, NAME
from derive.writers.tex_macros import COLOURS
from tests.example_solutions import NAMES, source_of
from tests.writers.html_pages import PAGES, page_named, page_of
from tests.writers.sample_document import DOCUMENT
from tests.writers.test_colours import GRAPHICS, TYPE, contrast
from tests.writers.test_mathml import check_core

_SPACES = {
    "http://www.w3.org/1999/xhtml": "",
    "http://www.w3.org/2000/svg": "svg:",
    "http://www.w3.org/1998/Math/MathML": "math:",
}


def parse(page: str) -> ElementTree.Element:
    """Parse strictly; any error of the HTML standard is a failure."""
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=True).parse(page)
    for element in tree.iter():
        if isinstance(element.tag, str):
            space, _, name = element.tag[1:].partition("}")
            element.tag = _SPACES[space] + name
    return tree


@pytest.fixture(params=PAGES)
def page(request: pytest.FixtureRequest) -> str:
    return page_named(request.param)


def text_of(element: ElementTree.Element) -> str:
    return " ".join("".join(element.itertext()).split())


def test_structure(page: str) -> None:
    tree = parse(page)
    assert tree.get("lang") == "en"
    assert text_of(tree.find("head/title"))
    assert len(tree.findall(".//main")) == 1
    assert len(tree.findall(".//h1")) == 1
    levels = [int(e.tag[1]) for e in tree.iter() if re.fullmatch("h[1-6]", str(e.tag))]
    assert levels[0] == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert all(text_of(e) for e in tree.iter() if re.fullmatch("h[1-6]", str(e.tag)))
    parts = [e for e in tree.iter("h2") if e.get("class") == "part"]
    for section in tree.iter("section"):
        assert section[0].tag == ("h3" if parts else "h2")
        fold = section.find("details")
        assert fold is not None
        assert fold.get("open") is not None
        assert text_of(section[0]).split(" ", 1)[1] in text_of(fold[0])


def test_tables_have_headers_and_captions(page: str) -> None:
    for table in parse(page).iter("table"):
        assert text_of(table.find("caption"))
        assert {th.get("scope") for th in table.findall("thead/tr/th")} == {"col"}
        assert all(row[0].get("scope") == "row" for row in table.findall("tbody/tr"))
        widths = {len(row) for row in table.iter("tr")}
        assert len(widths) == 1


def test_figures_are_told_in_words(page: str) -> None:
    tree = parse(page)
    ids = [e.get("id") for e in tree.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    pictures = list(tree.iter("svg:svg"))
    assert pictures
    for picture in pictures:
        assert picture.get("role") == "img"
        names = str(picture.get("aria-labelledby")).split()
        assert all(any(e.get("id") == n and text_of(e) for e in picture) for n in names)
    assert any(text_of(e) for e in tree.iter("details") if e.get("class") == "described")


def test_mathematics_is_mathml_core(page: str) -> None:
    formulas = list(parse(page).iter("math:math"))
    assert len(formulas) > 10
    for formula in formulas:
        for element in formula.iter():
            element.tag = element.tag.removeprefix("math:")
        for mark in ("data-side", "class"):
            formula.attrib.pop(mark, None)
        check_core(formula)


def test_nothing_is_asked_for(page: str) -> None:
    tree = parse(page)
    for element in tree.iter():
        assert element.tag not in ("link", "img", "iframe", "object", "svg:use", "svg:image")
        for name, value in element.items():
            assert not name.startswith("on"), "no script in an attribute"
            assert name not in ("src", "href", "style")
            assert "url(" not in value
    assert "@import" not in page
    assert "url(" not in page


def test_policy_allows_what_is_in_the_page_and_no_more(page: str) -> None:
    tree = parse(page)
    (policy,) = (
        str(e.get("content"))
        for e in tree.iter("meta")
        if e.get("http-equiv") == "Content-Security-Policy"
    )
    rules = dict(rule.strip().split(" ", 1) for rule in policy.split(";"))
    assert rules["default-src"] == "'none'"
    (style,) = tree.iter("style")
    assert rules["style-src"] == digest(style)
    code = [e for e in tree.iter("script") if e.get("type") is None]
    assert [rules["script-src"]] == [digest(e) for e in code] if code else "script-src" not in rules


def digest(element: ElementTree.Element) -> str:
    found = hashlib.sha256((element.text or "").encode()).digest()
    return f"'sha256-{base64.b64encode(found).decode()}'"


def test_recipes_are_data(page: str) -> None:
    for script in parse(page).iter("script"):
        if script.get("type") == "application/json":
            recipes = json.loads(script.text or "")["recipes"]
            marks = re.findall(r'data-live="(\d+)"', page)
            assert [int(mark) for mark in marks] == list(range(len(recipes)))


def test_the_page_says_where_it_comes_from(page: str) -> None:
    assert page.startswith(f"<!DOCTYPE html>\n<!-- {NAME}")
    assert f'<meta name="generator" content="{MARK}">' in page


def test_same_document_same_bytes() -> None:
    assert all(page_of(solve(source_of(name))) == page_named(name) for name in NAMES[:2])


def test_all_that_the_document_says_is_there() -> None:
    page = text_of(parse(page_named("sample")))
    for words in ("Junction rule at C", "In and out:", "why", "Charging", "as drawn", "Answers",
                  "It holds nothing else.", "Caution."):  # fmt: skip
        assert words in page
    for number in range(1, 9):
        assert f"({number})" in page


def test_a_document_with_nothing() -> None:
    parse(html.write(Document("", "Worked solution", (), DOCUMENT.style)))


@pytest.mark.parametrize(
    "title",
    ["</title><script>alert(1)</script>", "a --> b", "x\x00y\x1b", '" onload="x', "&amp;", "--"],
)
def test_hostile_text(title: str) -> None:
    section = Section((Text(title),), (Paragraph((Text(title),)),))
    tree = parse(html.write(replace(DOCUMENT, title=title, digest=title, sections=(section,))))
    assert not list(tree.iter("script"))
    shown = title.replace("\x00", "\ufffd").replace("\x1b", "\ufffd")
    assert text_of(tree.find(".//h1")) == shown


def schemes() -> dict[str, dict[str, str]]:
    (style,) = (e.text or "" for e in parse(page_named("sample")).iter("style"))
    light, dark = re.findall(r":root \{(.*?)\}", style, re.S)[:2]
    print_ = re.findall(r":root \{(.*?)\}", style, re.S)[2]
    found = {"light": light, "dark": dark, "print": print_}
    return {k: dict(re.findall(r"--([\w-]+): #(\w{6})", v)) for k, v in found.items()}


@pytest.mark.parametrize("scheme", ["light", "dark", "print"])
def test_colours_stand_out(scheme: str) -> None:
    colours = schemes()[scheme]
    for paper in ("paper", "wash"):
        for type_ in ("ink", "tint", "quiet"):
            assert contrast(colours[type_], colours[paper]) >= TYPE, (type_, paper)
    assert contrast(colours["warn"], colours["warn-wash"]) >= TYPE
    assert contrast(colours["ink"], colours["warn-wash"]) >= TYPE
    assert contrast(colours["warn"], colours["paper"]) >= TYPE
    assert contrast(colours["warn"], colours["wash"]) >= TYPE
    assert contrast(colours["faint"], colours["paper"]) >= GRAPHICS


def test_colours_of_figures_follow_the_scheme() -> None:
    assert schemes()["light"] == schemes()["print"]
    named = {"ink": "loopwalkink", "tint": "loopwalktint", "faint": "loopwalkfaint",
             "quiet": "loopwalkquiet", "wash": "loopwalkwash"}  # fmt: skip
    assert {n: schemes()["light"][n] for n in named} == {n: COLOURS[k] for n, k in named.items()}
    for page in map(page_named, PAGES):
        for name, colour in re.findall(
            r'<(?:path|circle|rect|text)[^>]*? (fill|stroke)="(#\w+)"', page
        ):
            assert f'svg [{name}="{colour}"] {{' in page
