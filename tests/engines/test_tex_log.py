"""The first error of a log is told, with the line of the document that it is in."""

import pytest

from derive.engines.tex_log import Complaint, complaint, last_words

# Shortened logs: the first three as pdfTeX 1.40.24 of Debian 12 writes them, the fourth as Tectonic
# does by its manual (from memory).
LOCATED = """\
This is pdfTeX, Version 3.141592653-2.6-1.40.24
(./solution.tex
./solution.tex:7: Undefined control sequence.
l.7 \\nosuch
           {x}
Here is how much of TeX's memory you used:
"""
CLASSIC = """\
! LaTeX Error: File `circuitikz.sty' not found.

Type X to quit or <RETURN> to proceed,
l.12 \\usepackage
"""
IN_A_PACKAGE = """\
(./solution.tex (/usr/share/texmf/tex/latex/some.sty
/usr/share/texmf/tex/latex/some.sty:3: Missing number, treated as zero.
<to be read again>
"""
TECTONIC = "note: downloading\nerror: solution.tex:3: Undefined control sequence\n"


@pytest.mark.parametrize(
    ("log", "found"),
    [
        (LOCATED, Complaint("Undefined control sequence.\nl.7 \\nosuch\n           {x}", 7)),
        (CLASSIC, Complaint("LaTeX Error: File `circuitikz.sty' not found.", 12)),
        (IN_A_PACKAGE, Complaint("Missing number, treated as zero.\n<to be read again>", None)),
        (TECTONIC, Complaint("Undefined control sequence", 3)),
        ("error: cannot reach the server\n", Complaint("cannot reach the server", None)),
        ("LaTeX Warning: Reference `a' undefined on input line 3.\n", None),
        ("Overfull \\hbox (3.0pt too wide) in paragraph at lines 3--4\n", None),
        ("", None),
    ],
)
def test_known_logs(log: str, found: Complaint | None) -> None:
    assert complaint(log, "solution.tex") == found


def test_last_words() -> None:
    assert last_words("\n".join(f"line {n}" for n in range(9))).startswith("line 3")
    assert "without a word" in last_words("\n\n")
