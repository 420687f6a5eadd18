"""Texts that try TeX's, Typst's and Markdown's ways to other files, set by the real programs."""

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from derive.document.model import Document
from derive.engines.embedded import EmbeddedFailure, compile_pdf
from derive.engines.tex import Compiled
from derive.engines.tex import compile_pdf as by_tex
from derive.engines.tex_run import ENVIRONMENT, OPTIONS
from derive.pipeline import solve
from derive.source import Source
from derive.writers import latex, typst
from tests.writers.tex_runs import words
from tests.writers.typst_runs import page_of

TRIES = (
    r"\input{secret}", r"\input secret ", r"^^5cinput secret", r"^^\input{secret}", r"\write18{touch marked}",
    r"\immediate\openout7=marked\immediate\write7{x}\immediate\closeout7 ", r"\catcode`\%=12 %",
    r"\catcode`\^^M=0 ^^Minput secret", r"\begingroup\catcode92=12 \endgroup", r"}\input{secret}{",
    r"$\input{secret}$", r"\csname input\endcsname{secret}", r"\directlua{os.execute('touch marked')}",
    r"\openin5=secret \read5 to\x \x", r"\usepackage{secret}", r"\include{secret}", r"\endinput",
    r"\verb|x|", r"\end{document}", r"\end", r"\special{dvi}", r"\pdfximage{secret}", r"#1 ## &\\ ~",
    r"\scantokens{\input secret}", r"\everypar{\input secret }", r"%\input{secret}", "^^M", "^^@", "^^7f",
)  # fmt: skip
"""Of TeX: Knuth, The TeXbook (1984), chapters 7, 8, 20 and 21; the rest is common practice."""
CIRCUIT = """\
circuit "{words}"
statement "{words}"
I1: A  (-E1+)  B  (R_input)  A
E1 = 2 V; R_input = 3 ohm
"""


def document_of(words: str) -> Document:
    return solve(Source("hostile.circuit", CIRCUIT.format(words=words))).document


def run_guarded(tex: str, folder: Path, program: str) -> list[str]:
    """Set a document as our engine does, and return the files it has opened by its own record."""
    (folder / "host.tex").write_text(tex, "utf-8")
    engine = shutil.which(program)
    assert engine
    done = subprocess.run(
        [engine, "-recorder", *OPTIONS, "host.tex"],
        cwd=folder,
        env={**os.environ, **ENVIRONMENT},
        capture_output=True,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stdout.decode("utf-8", "replace")[-2000:]
    return (folder / "host.fls").read_text("utf-8", "replace").splitlines()


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
@pytest.mark.parametrize("kind", ["document", "fragment"])
def test_tex_reads_and_writes_nothing_else(tmp_path: Path, program: str, kind: str) -> None:
    (tmp_path / "secret.tex").write_text("STOLEN", "utf-8")
    told = "  ".join(TRIES)
    document = document_of(told)
    if kind == "document":
        host = latex.write(document)
    else:
        fragment = latex.fragment(document, told)
        (tmp_path / "one.tex").write_text(fragment, "utf-8")
        needed = re.findall(r"^%   (\\use[a-z]+(?:\[[^]]*\])?\{[^}]*\})", fragment, re.MULTILINE)
        host = "\n".join(
            [
                r"\documentclass{article}\usepackage[T1]{fontenc}\usepackage{lmodern}",
                *needed,
                r"\begin{document}before \input{one} after\end{document}",
            ]
        )
    record = run_guarded(host, tmp_path, program)
    opened = {line.split(" ", 1)[1] for line in record if line.startswith("INPUT")}
    written = {line.split(" ", 1)[1] for line in record if line.startswith("OUTPUT")}
    own = {
        name
        for name in opened
        if not name.startswith(("/usr/", "/var/", "/etc/texmf", "/root/.texlive"))
    }
    assert {name.removeprefix("./") for name in own} <= {
        "host.tex",
        "one.tex",
        "host.aux",
        "host.out",
    }
    assert {name.removeprefix("./") for name in written} <= {
        "host.log", "host.pdf", "host.aux", "host.out",
    }  # fmt: skip
    assert not (tmp_path / "marked").exists()
    page = words(tmp_path)
    assert "STOLEN" not in page
    assert "Answers" in page


@pytest.mark.tex
def test_the_test_before_can_fail(tmp_path: Path) -> None:
    (tmp_path / "secret.tex").write_text("STOLEN", "utf-8")
    tex = r"\documentclass{article}\begin{document}\input{secret}\end{document}"
    assert any(line.endswith("secret.tex") for line in run_guarded(tex, tmp_path, "pdflatex"))
    assert "STOLEN" in words(tmp_path)


@pytest.mark.tex
@pytest.mark.parametrize(
    "body",
    [
        r"\input{/etc/passwd}", r"\input{../secret}", r"\openin5=/etc/passwd \ifeof5\undefined\fi",
        r"\immediate\openout7=../marked\immediate\write7{x}", r"\immediate\write18{touch ../marked}\undefined",
    ],
)  # fmt: skip
def test_our_engine_lets_tex_at_nothing(
    tmp_path: Path, body: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Even a document that is TeX of somebody else: nothing is read, written or run outside."""
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))  # the engine works in a folder there
    (tmp_path / "secret.tex").write_text("STOLEN", "utf-8")
    tex = rf"\documentclass{{article}}\begin{{document}}{body}\end{{document}}"
    made = by_tex(tex, timeout=60)
    assert not isinstance(made, Compiled) or b"STOLEN" not in made.pdf
    assert not isinstance(made, Compiled) or "openout" in body
    assert not list(tmp_path.rglob("marked"))


@pytest.mark.parametrize(
    "code",
    [
        '#read("/etc/passwd")', '#read("../../../etc/passwd")', '#include "/etc/passwd"',
        '#image("/etc/passwd")', '#import "@preview/cetz:0.3.0": canvas', '#plugin("x.wasm")',
        '#csv("secret.csv")', '#bibliography("x.yml")',
    ],
)  # fmt: skip
def test_typst_finds_no_file(code: str) -> None:
    """A page that is Typst of somebody else finds no file, no package and no program."""
    with pytest.raises(EmbeddedFailure):
        compile_pdf(page_of(code))


def test_typst_says_what_would_be_code() -> None:
    tries = " ".join(
        [
            "#read('/etc/passwd')", "#eval('1')", "$ sum_1 $", "// x", "/* x", "*/", "```x```",
            "\\#let x", "@ref", "<label>", "#set page(height: 1pt)", "= x", "#{", "]", "\\u{41}",
        ]
    )  # fmt: skip
    written = typst.write(document_of(tries))
    assert compile_pdf(written).startswith(b"%PDF")
    code = re.sub(r'"(?:[^"\\]|\\.)*"', "", re.sub(r"^//.*$", "", written, flags=re.MULTILINE))
    assert not re.search(r"#(read|eval|include|import|plugin|csv|json)\b", code)
