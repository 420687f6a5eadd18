"""Circuit files that try to speak TeX, all the way to the page."""

import re
from pathlib import Path

import pytest

from derive.pipeline import solve
from derive.source import Source
from derive.writers import latex
from tests.writers.tex_runs import run, words

TITLE = r"\immediate\write18{touch marked} \input{/etc/passwd} 5 % $x_1$ #1 & ^^41 ~ {"
STATEMENT = r"\end{document} \def\par{ } \\ \csname x\fi <\>| a -- b ''c'' `d` ]"

CIRCUIT = f"""\
circuit "{TITLE}"
statement "{STATEMENT}"
par: relax  (-E_input+)  (R_end)  csname
I': relax  (-E'+)  (R__x_)  csname
I_write18: csname  (Rσ)  relax
E_input = 3 V;  E' = 2 V;  R_end, R__x_ = 1 ohm;  Rσ = 2 ohm
ask currents
ask voltage csname relax
"""
"""Words of TeX wherever a word may stand, and signs of TeX wherever a sign may."""


def squeezed(text: str) -> str:
    return re.sub(r"\s", "", text)


@pytest.mark.tex
@pytest.mark.parametrize("program", ["pdflatex", "lualatex"])
def test_a_document(tmp_path: Path, program: str) -> None:
    document = solve(Source("hostile.circuit", CIRCUIT)).document
    log = run(latex.write(document), tmp_path, program)
    assert "Missing character" not in log
    assert not (tmp_path / "marked").exists()
    page = squeezed(words(tmp_path))
    assert squeezed(TITLE) in page
    # The statement stands in a narrow column: its lines are mixed with those of the figure.
    for word in STATEMENT.replace("''c''", "").replace("`d`", "").split():
        assert word in page
    assert "input" in page
    assert "write18" in page


@pytest.mark.tex
def test_a_fragment_in_a_host_with_active_characters(tmp_path: Path) -> None:
    fragment = latex.fragment(solve(Source("hostile.circuit", CIRCUIT)).document, TITLE)
    needed = re.findall(r"^%   (\\use[a-z]+(?:\[[^]]*\])?\{[^}]*\})", fragment, re.MULTILINE)
    active = "".join(rf"\catcode`\{sign}=13 \def{sign}{{\string{sign}}}" for sign in '"?!;')
    host = "\n".join(
        [
            r"\documentclass{article}\usepackage[T1]{fontenc}\usepackage{physics,lmodern}",
            *needed,
            rf"\begin{{document}}{active}\input{{one}}\end{{document}}",
        ]
    )
    run(host, tmp_path, one=fragment)
    assert not (tmp_path / "marked").exists()
    assert "Answers" in words(tmp_path)
