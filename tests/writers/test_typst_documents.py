"""Complete Typst documents: their structure as text, and what is on their pages."""

import re
from dataclasses import replace
from pathlib import Path
from unicodedata import normalize

import pytest

from derive.document.model import Display, Document, Paragraph, Section, Strong, Text
from derive.document.narrate import Detail
from derive.engines.embedded import compile_pdf
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.typesetting.style import Style
from derive.writers import typst
from derive.writers.mark import MARK
from tests.example_solutions import NAMES, solved
from tests.writers.sample_document import DOCUMENT
from tests.writers.test_hostile_circuits import CIRCUIT, STATEMENT, TITLE
from tests.writers.test_latex_documents import HOSTILE, PRINTED
from tests.writers.typst_runs import as_ua, page_of, said, words

TYPST = r'#panic() #read("/etc/passwd") ] $x$ *a* _b_ `c` <l> @m // n /* o */ \u{41} #{ "'
"""Words and signs of Typst."""
TYPST_PRINTED = TYPST.replace('("/', "(“/").replace('d")', "d”)").replace('{ "', "{ “")


def titled(title: str) -> Document:
    body = (Paragraph((Text(title), Strong((Text(title),)))),)
    return Document(title, title, (Section((Text(title),), body),), Style(), digest="00")


def test_the_first_lines_are_our_mark_the_title_and_the_digest() -> None:
    lines = typst.write(DOCUMENT).splitlines()
    assert lines[0].startswith(f"// {MARK}")
    assert lines[1:3] == [
        "// Circuit: Two batteries & a heater",
        f"// SHA-256 of the circuit file: {'ab' * 32}",
    ]


def test_a_title_of_several_lines_stays_in_its_comment() -> None:
    lines = typst.write(replace(DOCUMENT, title="a\n#panic()\r\u2028b")).splitlines()
    assert lines[1] == "// Circuit: a #panic() b"


def test_the_same_document_gives_the_same_text() -> None:
    assert typst.write(DOCUMENT) == typst.write(DOCUMENT)


def test_every_equation_number_is_a_tag_and_nothing_else_numbers() -> None:
    tags = re.findall(r"tag: \[(.*?)\]\)", typst.write(DOCUMENT))
    numbers = [n for tag in tags for n in re.findall(r'#"\((\d+)\)"$', tag)]
    assert numbers == [str(n) for n in range(1, 9)]


def test_every_heading_is_a_heading() -> None:
    assert typst.write(DOCUMENT).count("#heading[") == sum(bool(s.title) for s in DOCUMENT.sections)


@pytest.mark.parametrize(
    "document",
    [
        DOCUMENT,
        replace(DOCUMENT, style=Style(decimal_comma=True)),
        replace(DOCUMENT, title="", subtitle=""),
        Document("", "", (), Style()),
        Document("", "", (Section((), ()), Section((Text("One"),), ())), Style()),
        titled(HOSTILE + TYPST),
    ],
    ids=["all blocks", "decimal comma", "no title", "nothing", "empty sections", "hostile"],
)
def test_every_document_keeps_pdf_ua(document: Document) -> None:
    assert as_ua(typst.write(document)).startswith(b"%PDF-1.7")


@pytest.mark.tex
def test_every_kind_of_block_is_on_the_page(tmp_path: Path) -> None:
    text = words(DOCUMENT, tmp_path)
    for piece in ("Two batteries & a heater", "Caution", "Answers", "1.42", "(1) in (2)", "12.5"):
        assert piece in text
    for section in DOCUMENT.sections:
        for inline in section.title:
            assert not isinstance(inline, Text) or inline.text.strip() in text


@pytest.mark.tex
@pytest.mark.parametrize(("text", "printed"), [(HOSTILE, PRINTED), (TYPST, TYPST_PRINTED)])
def test_hostile_text_is_printed_not_run(tmp_path: Path, text: str, printed: str) -> None:
    squeezed = words(titled(text), tmp_path).replace(" ", "")
    # Title, subtitle, heading, paragraph, strong paragraph.
    assert squeezed.count(printed.replace(" ", "")) == 5


@pytest.mark.tex
@pytest.mark.parametrize("title", [TITLE, TYPST.replace('"', "''")])
def test_hostile_words_of_a_circuit_file(tmp_path: Path, title: str) -> None:
    document = solve(Source("hostile.circuit", CIRCUIT.replace(TITLE, title))).document
    page = re.sub(r"\s", "", words(document, tmp_path))
    assert re.sub(r"\s", "", title).replace("'", "’") in page
    for word in STATEMENT.replace("''c''", "").split():
        assert word in page
    assert "write18" in page


@pytest.mark.tex
def test_unicode_is_printed_or_named(tmp_path: Path) -> None:
    title = "é ř ß Ł Ω Δ µ ± × − ≈ → 中 \u202e “q” ½ ℰ R₁ x² …"
    text = normalize("NFKC", words(titled(title), tmp_path))
    for piece in ("é", "ř", "ß", "Ł", "Ω", "Δ", "→", "[U+4E2D]", "[U+202E]", "“q”"):
        assert piece in text


@pytest.mark.tex
def test_title_language_and_tags_are_in_the_pdf(tmp_path: Path) -> None:
    pdf = compile_pdf(typst.write(replace(DOCUMENT, language="fr")))
    told = said("pdfinfo", pdf, tmp_path)
    assert re.search(r"^Title: +Two batteries & a heater$", told, re.MULTILINE)
    assert re.search(r"^Tagged: +yes$", told, re.MULTILINE)
    assert re.search(rf"^Subject: +Worked solution\. {MARK}\.$", told, re.MULTILINE)
    assert re.search(rb"/Lang *\(fr\)", pdf)
    tags = re.findall(r"^ *([A-Z][A-Za-z0-9]*)\b", said("pdfinfo", pdf, tmp_path, "-struct"), re.M)
    assert tags.count("H1") == sum(bool(section.title) for section in DOCUMENT.sections)
    assert tags.count("Figure") == 2
    assert tags.count("Table") == 4
    assert tags.count("TH") == 3 + 3 + 2 + 2
    assert tags.count("Formula") > 50


def beyond(pdf: bytes, folder: Path) -> list[str]:
    """Return the words that stand outside the text's margins by more than a point."""
    told = said("pdftotext", pdf, folder, "-bbox")
    found = re.findall(r'<word xMin="(\S+)" yMin="(\S+)" xMax="(\S+)" yMax="(\S+)">(.*?)<', told)
    left, right, top = (mm * 72 / 25.4 for mm in (22.5, 210 - 22.5, 20))
    return [
        word
        for x1, y1, x2, _, word in found
        # Punctuation may stand out a little; a line may reach above its capitals.
        if float(x1) < left - 1 or float(x2) > right + 3 or float(y1) < top - 8
    ]


@pytest.mark.tex
def test_nothing_is_wider_than_the_text(tmp_path: Path) -> None:
    assert beyond(compile_pdf(typst.write(DOCUMENT)), tmp_path) == []
    assert beyond(as_ua(page_of('#box(width: 170mm, align(right, "wide"))')), tmp_path) == ["wide"]


@pytest.mark.tex
@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("detail", Detail)
def test_no_example_is_wider_than_the_text(name: str, detail: Detail, tmp_path: Path) -> None:
    text = typst.write(solved(name, Options(detail=detail)).document)
    assert beyond(as_ua(text), tmp_path) == []


@pytest.mark.tex
def test_a_paragraph_before_an_equation_is_justified_too(tmp_path: Path) -> None:
    """Its block must be as wide as the line, or its lines end where their words do."""
    paragraph = Paragraph((Text("A battery delivers what the others take in. " * 8),))
    equation = next(b for s in DOCUMENT.sections for b in s.blocks if isinstance(b, Display))
    section = Section((), (paragraph, paragraph, equation))
    pdf = compile_pdf(typst.write(Document("", "", (section,), Style())))
    found = re.findall(
        r'yMin="(\S+)" xMax="(\S+)" yMax="\S+">[A-Za-z.]+<',
        said("pdftotext", pdf, tmp_path, "-bbox"),
    )
    ends = list({height: float(end) for height, end in found}.values())
    first, second = ends[: len(ends) // 2], ends[len(ends) // 2 :]
    assert len(first) > 2
    assert first == second
    # The right margin, and the little that punctuation stands out.
    assert all(531 < end < 535 for end in first[:-1])
