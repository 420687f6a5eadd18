"""The engine in the wheel: what it makes, what it may not do, what it says when it fails."""

import os
import pickle
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from unicodedata import normalize

import pytest

from derive.document.model import Block, Box, Display, SideBySide
from derive.engines import embedded, tex
from derive.engines.embedded import EmbeddedFailure, compile_pages, compile_pdf, version
from derive.typesetting.style import Decimal
from derive.writers import latex, text_math, typst
from tests.example_solutions import NAMES, solved
from tests.writers.sample_document import DOCUMENT
from tests.writers.typst_runs import said

ROOT = Path(__file__).parents[2]
PAGE = (
    '#set document(title: "A page")\n#set text(lang: "en", font: "New Computer Modern")\nA page.\n'
)
TWO_PAGES = f"{PAGE}#pagebreak()\nAnother."


def test_a_page_comes_out_and_nothing_stays_behind(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    with ThreadPoolExecutor(1) as fresh:
        assert fresh.submit(compile_pdf, PAGE).result().startswith(b"%PDF-1.7")
    assert list(tmp_path.iterdir()) == []


def test_the_same_text_gives_the_same_bytes() -> None:
    text = typst.write(DOCUMENT)
    other = subprocess.run(
        [sys.executable, "-c", _SET_AGAIN], input=text.encode(), capture_output=True, check=True,
        cwd=ROOT,
    )  # fmt: skip
    assert other.stdout == compile_pdf(text)
    assert compile_pages(text, "png", 40) == compile_pages(text, "png", 40)


_SET_AGAIN = (
    "import sys; from derive.engines.embedded import compile_pdf;"
    "sys.stdout.buffer.write(compile_pdf(sys.stdin.buffer.read().decode()))"
)


def test_pictures_of_every_page() -> None:
    one, two = compile_pages(TWO_PAGES, "png", 72), compile_pages(TWO_PAGES, "png", 144)
    assert [page[:8] for page in one] == [b"\x89PNG\r\n\x1a\n"] * 2
    widths = [int.from_bytes(page[16:20], "big") for page in (one[0], two[0])]
    assert widths[1] == pytest.approx(2 * widths[0], abs=1)
    drawn = compile_pages(TWO_PAGES, "svg", 72)
    assert [page.startswith(b"<svg") for page in drawn] == [True, True]


@pytest.mark.parametrize("dpi", [0.0, -1.0, 9.0, 1e9, float("inf"), float("nan")])
def test_pictures_too_coarse_or_too_large_are_refused(dpi: float) -> None:
    with pytest.raises(EmbeddedFailure, match="dots per inch") as caught:
        compile_pages(PAGE, "png", dpi)
    assert caught.value.hint == "ask for 10 to 1200"


def test_no_file_is_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    secret = tmp_path / "secret.txt"
    secret.write_text("secret")
    for name in ("secret.txt", str(secret), f"../{tmp_path.name}/secret.txt"):
        with pytest.raises(EmbeddedFailure) as caught:
            compile_pdf(f'{PAGE}#read("{name}")')
        assert "secret.txt" not in caught.value.hint


def test_no_font_of_the_machine_is_used() -> None:
    families = set(embedded._fonts().families())
    assert families == {
        "DejaVu Sans Mono", "Libertinus Serif", "New Computer Modern", "New Computer Modern Math",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ("#nosuch", "unknown variable: nosuch"),
        ("#let f(x) = f(x)\n#f(1)", "maximum function call depth exceeded"),
        ("$ \\", "unclosed delimiter"),
        ('#panic("no\\nmore")', "panicked with"),
    ],
)
def test_a_failure_is_told_in_a_line(body: str, message: str) -> None:
    with pytest.raises(EmbeddedFailure) as caught:
        compile_pdf(f"{PAGE}{body}")
    assert caught.value.message.startswith(message)
    assert "\n" not in str(caught.value)
    assert "report" in caught.value.hint


def test_after_a_failure_pages_come_out_as_before() -> None:
    before = compile_pdf(PAGE)
    with pytest.raises(EmbeddedFailure):
        compile_pdf("#nosuch")
    assert compile_pdf(PAGE) == before


def test_a_page_that_cannot_keep_the_standard_is_a_page_all_the_same() -> None:
    assert compile_pdf(f"{PAGE} $x$").startswith(b"%PDF-1.7")


def test_a_failure_passes_from_process_to_process() -> None:
    failure = pickle.loads(pickle.dumps(EmbeddedFailure("a", "b")))
    assert (failure.message, failure.hint, str(failure)) == ("a", "b", "a")


def test_several_threads_at_once() -> None:
    texts = [PAGE.replace("A page.", f"Page {k}.") for k in range(12)]
    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(compile_pdf, texts)) == [compile_pdf(text) for text in texts]


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system does not fork")
def test_a_forked_process_is_told_instead_of_waiting_for_ever() -> None:
    script = (
        "import os\nfrom derive.engines.embedded import EmbeddedFailure, compile_pdf\n"
        f"page = {PAGE!r}\ncompile_pdf(page)\n"
        "if os.fork() == 0:\n"
        "    try:\n        compile_pdf(page + 'x')\n"
        "    except EmbeddedFailure as failure:\n        print(failure, flush=True)\n"
        "else:\n    os.wait()\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=60, check=True,
        cwd=ROOT,
    )  # fmt: skip
    assert "before this process was forked" in done.stdout


def test_a_machine_without_the_wheel(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)
    monkeypatch.setattr(embedded, "_mine", embedded._Mine())
    assert version() is None
    with pytest.raises(EmbeddedFailure, match="not installed") as caught:
        compile_pdf(PAGE)
    assert caught.value.hint == embedded.INSTALL_HINT


def test_a_machine_without_a_temporary_folder(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object, **__: object) -> None:
        raise FileNotFoundError("No usable temporary directory found")

    monkeypatch.setattr(embedded, "_mine", embedded._Mine())
    monkeypatch.setattr("tempfile.TemporaryDirectory", refuse)
    with pytest.raises(EmbeddedFailure, match="No usable temporary directory"):
        compile_pdf(PAGE)


def test_the_version() -> None:
    assert re.fullmatch(r"\d+\.\d+\.\d+.*", version() or "")


def test_the_wheel_is_not_loaded_before_it_is_wanted() -> None:
    script = (
        "import sys, derive.engines.embedded, derive.writers.typst; print('typst' in sys.modules)"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert done.stdout.strip() == "False"


_SPELLED = str.maketrans("∆⋅’", "Δ·'", "\N{SOFT HYPHEN}-‐()!")
"""What one fact is by TeX's fonts and by Typst's; words are divided at other places, and
parentheses that TeX makes tall have no name in its fonts, or the one of another sign."""


def characters(text: str) -> Counter[str]:
    """Count what is printed, whatever stands beside or below what."""
    # The last line of a page is its number.
    pages = [page.rstrip().rsplit("\n", 1)[0] for page in text.split("\f")[:-1]]
    plain = normalize("NFKC", "\n".join(pages)).replace("=\N{COMBINING LONG SOLIDUS OVERLAY}", "≠")
    return Counter(c for c in plain.translate(_SPELLED) if c.isprintable() and not c.isspace())


def tags(text: str) -> list[str]:
    """Return the numbers at the ends of lines, in reading order."""
    return re.findall(r" {3}\((\d+)\)$", text, re.MULTILINE)


def numbers(blocks: tuple[Block, ...]) -> Iterator[str]:
    """Yield the numbers of a document's equations."""
    for block in blocks:
        match block:
            case Display(rows):
                yield from (str(row.number) for row in rows if row.number is not None)
            case SideBySide(left, right):
                yield from numbers((*left, *right))
            case Box(blocks=inner):
                yield from numbers(inner)


@pytest.mark.tex
@pytest.mark.parametrize("name", NAMES)
def test_the_page_carries_what_the_page_by_tex_carries(name: str, tmp_path: Path) -> None:
    solution = solved(name)
    document = solution.document
    made = tex.compile_pdf(latex.write(document))
    assert isinstance(made, tex.Compiled), made
    ours, theirs = (
        said("pdftotext", pdf, tmp_path, "-layout", "-enc", "UTF-8")
        for pdf in (compile_pdf(typst.write(document)), made.pdf)
    )
    assert characters(ours) == characters(theirs)
    expected = [n for section in document.sections for n in numbers(section.blocks)]
    assert tags(ours) == tags(theirs) == expected
    plain = re.sub(r"\s", "", ours)
    for chain in solution.summary:
        if isinstance(chain.sides[-1], Decimal):
            value = text_math.inline(chain.sides[-1], document.style)
            assert re.sub(r"\s", "", value) in plain
