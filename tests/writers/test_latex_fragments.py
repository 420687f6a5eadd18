"""Fragments inside documents of other people."""

import re
from pathlib import Path

import pytest

from derive.writers import latex
from derive.writers.mark import MARK
from tests.writers.sample_document import DOCUMENT
from tests.writers.tex_runs import has_file, overfull, run, words

FRAGMENT = latex.fragment(DOCUMENT, "frost heater_1")


def _french() -> str:
    """Load babel's French, which makes ; : ! ? active.

    Where it is not installed, English with the same characters made active by babel's own means
    stands for it.
    """
    if has_file("french.ldf"):
        return r"\usepackage[french]{babel}"
    active = (rf"\useshorthands*{{{c}}}\defineshorthand{{{c}}}{{\string{c}}}" for c in ";:!?")
    return rf"\usepackage[english]{{babel}}\AtBeginDocument{{{''.join(active)}}}"


def _needed() -> str:
    """The preamble lines that the fragment's own header asks for."""
    lines = re.findall(r"^%   (\\use[a-z]+(?:\[[^]]*\])?\{[^}]*\})", FRAGMENT, re.MULTILINE)
    assert lines
    return "\n".join(lines)


def _host(body: str, *preamble: str, kind: str = "article") -> str:
    start = rf"\documentclass{{{kind}}}" + "\n" + "\n".join(preamble) + "\n\\usepackage{lmodern}\n"
    return f"{start}{_needed()}\n\\begin{{document}}\n{body}\n\\end{{document}}\n"


def test_the_header_says_what_is_needed_and_where_it_is_from() -> None:
    head = FRAGMENT.split("\\begingroup")[0]
    assert head.startswith(f"% {MARK}")
    assert DOCUMENT.digest in head
    assert all(line.startswith("%") for line in head.splitlines())


def test_nothing_but_local_definitions() -> None:
    body = FRAGMENT[FRAGMENT.index("\\begingroup") :]
    assert body.rstrip().endswith("\\endgroup")
    for command in (
        r"\documentclass",
        r"\usepackage",
        r"\newcommand",
        r"\verb",
        r"\global",
        "siunitx",
    ):
        assert command not in body
    assert "" not in FRAGMENT.rstrip("\n").split("\n")


def test_labels_carry_the_prefix() -> None:
    assert r"\lwlabel{1}{frost-heater-1-eq-1}" in FRAGMENT


@pytest.mark.tex
def test_twice_in_a_narrow_column_with_physics_and_french(tmp_path: Path) -> None:
    body = (
        r"\textwidth=12cm\hsize=12cm\linewidth=12cm\columnwidth=12cm\parindent=17pt"
        "\n\\input{one}\n\\input{two}\n"
        r"\typeout{INDENT=\the\parindent}"
        r"\ifdefined\lwframe\typeout{LEFTOVER}\fi\relax "
        r"See (\ref{frost-heater-1-eq-4}), \ref{second-eq-1}."
    )
    host = _host(body, r"\usepackage[T1]{fontenc}", _french(), r"\usepackage{physics}")
    second = latex.fragment(DOCUMENT, "second")
    run(host, tmp_path, one=FRAGMENT, two=second)
    log = run(host, tmp_path)
    assert overfull(log) == []
    assert "INDENT=17.0pt" in log
    assert "LEFTOVER" not in log
    assert "multiply defined" not in log
    assert "See (4), 1." in words(tmp_path)


@pytest.mark.tex
def test_in_a_beamer_frame(tmp_path: Path) -> None:
    body = "\\begin{frame}[allowframebreaks]\n\\input{one}\n\\end{frame}"
    host = _host(
        body, r"\usepackage[T1]{fontenc}", _french(), r"\usepackage{physics}", kind="beamer"
    )
    run(host, tmp_path, one=FRAGMENT)
    assert "Caution" in words(tmp_path)


@pytest.mark.tex
def test_in_a_unicode_tex(tmp_path: Path) -> None:
    run(_host(r"\input{one}"), tmp_path, "lualatex", one=FRAGMENT)
    assert "Caution" in words(tmp_path)


@pytest.mark.tex
def test_in_a_narrow_column_the_figure_stands_below_the_text(tmp_path: Path) -> None:
    folders = [tmp_path / name for name in ("wide", "narrow")]
    heights = []
    for folder, width in zip(folders, (400, 250), strict=True):
        folder.mkdir()
        body = (
            rf"\setbox0=\vbox{{\hsize={width}pt\linewidth=\hsize\input{{one}}}}"
            r"\typeout{HEIGHT=\the\dimexpr\ht0+\dp0\relax}\unvbox0"
        )
        log = run(_host(body, r"\usepackage[T1]{fontenc}"), folder, one=FRAGMENT)
        found = re.search(r"HEIGHT=([0-9.]+)pt", log)
        assert found
        heights.append(float(found[1]))
    assert heights[1] > heights[0] + 60
