r"""What TeX files have in common: colours, lines of the preamble, macros (all named ``\lw…``)."""

from __future__ import annotations

COLOURS = {
    "loopwalkink": "1B2733",
    "loopwalktint": "0B5E8A",
    "loopwalkfaint": "848F98",
    "loopwalkquiet": "63707A",
    "loopwalkwash": "F1F5F8",
}
"""Figures use them too; an author who defines one first keeps that one in a fragment.

On white, lines have a contrast of 3 to 1 or more, type of 4.5 to 1 (WCAG 2.1, 1.4.3 and 1.4.11).
"""

MACROS = {
    "lwsource": (1, r"{\footnotesize\color{loopwalktint}#1}"),
    "lwsigned": (1, r"{\color{loopwalktint}$#1$}"),
    # The name of a point that is words; they are text, whose lines may end between them.
    "lwpoint": (1, r"#1"),
    "lwparagraphs": (
        0,
        r"\setlength{\parindent}{0pt}\setlength{\parskip}{5pt plus 1pt}\emergencystretch=2em ",
    ),
    # Narrow columns have no even edge at the right: the spaces of justified lines would gape.
    "lwcolumn": (0, r"\lwparagraphs\raggedright"),
    # A display that opens a paragraph would have an empty line above it.
    "lwdisplaystart": (0, r"\par\nobreak\vspace{-.5\baselineskip}\noindent"),
    # Lines with fractions in them keep a distance.
    "lwapart": (0, r"\lineskip=4pt \lineskiplimit=3pt "),
    # In a narrow column, what stands side by side elsewhere stands one below the other.
    "lwshare": (1, r"\ifdim\linewidth<290pt 1\else #1\fi"),
    # A picture wider than its column is made as wide as the column.
    "lwfit": (
        1,
        r"\sbox0{#1}\ifdim\wd0>\linewidth\resizebox{\linewidth}{!}{\usebox0}"
        r"\else\mbox{\usebox0}\fi",
    ),
    "lwframe": (
        3,
        r"\vspace{4pt}\noindent\setlength{\fboxsep}{8pt}\setlength{\fboxrule}{.6pt}"
        r"\fcolorbox{#1}{#2}{\begin{minipage}{\dimexpr\linewidth-2\fboxsep-2\fboxrule}"
        r"\lwparagraphs #3\end{minipage}}\vspace{4pt}",
    ),
    "lwopen": (
        3,
        r"\vspace{4pt}{\color{#1}\hrule height .6pt}\nobreak\vspace{6pt}#3"
        r"\par\nobreak\vspace{6pt}{\color{#1}\hrule height .6pt}\vspace{4pt}",
    ),
    # No break below: it would leave the answers, which come next, alone on a page.
    "lwcaution": (
        2,
        r"\vspace{5pt}\noindent\setlength{\fboxsep}{6pt}\setlength{\fboxrule}{1pt}"
        r"\fbox{\begin{minipage}{\dimexpr\linewidth-2\fboxsep-2\fboxrule}"
        r"\lwparagraphs\textbf{#1.} #2\end{minipage}}\par\nobreak\vspace{2pt}",
    ),
    # The heading of several sections.
    "lwpart": (
        1,
        r"\par\penalty-300\vspace{20pt plus 6pt}\noindent{\Large\bfseries\raggedright #1\par}"
        r"\nobreak\vspace{3pt}{\color{loopwalkfaint}\hrule height .5pt}\nobreak\vspace{4pt}"
        r"\nobreak",
    ),
    "lwanswergap": (0, r"\hspace{1.8em plus .6em minus .4em}\allowbreak"),
    "lwremarkgap": (0, r"\nobreak\hspace{1.8em plus .6em minus .4em}"),
    # An answer with fractions keeps a distance from those above and below it.
    "lwtall": (
        1,
        r"\setbox0\hbox{#1}\ht0=\dimexpr\ht0+3pt\relax\dp0=\dimexpr\dp0+3pt\relax\leavevmode\box0",
    ),
    # What stands beside a title begins at one place on every line.
    "lwtitled": (
        2,
        r"\sbox0{#1\hspace{1.8em}}\noindent\usebox0"
        r"\begin{minipage}[t]{\dimexpr\linewidth-\wd0}\lwparagraphs #2\end{minipage}",
    ),
}

FRAGMENT_MACROS = {
    # Lets the author's own text \ref to an equation; the tags stay as they are.
    "lwlabel": (2, r"\expandafter\def\csname @currentlabel\endcsname{#1}\label{#2}"),
    "lwheading": (
        2,
        # No stretch that would tempt a page to end early.
        r"\par\penalty-200\vspace{1.6ex plus .6ex}\noindent{\bfseries\color{loopwalktint}#1#2\par}"
        r"\nobreak\vspace{.4ex}\nobreak",
    ),
}

# A TeX that does not start with Unicode fonts gets T1.
FONT_ENCODING = (
    r"\def\unicodefonts{TU}\ifx\encodingdefault\unicodefonts\else\usepackage[T1]{fontenc}\fi"
)

ALIKE_SO_FAR = "% The lines above are alike in every document of this kind."
r"""Ends what TeX may keep ready for the next document; no line above it may set type."""

SAME_BYTES = (
    "% The same text gives the same PDF, byte for byte.",
    r"\ifdefined\pdftrailerid\pdftrailerid{}\fi",
    r"\ifdefined\pdfvariable\pdfvariable trailerid{[]}\fi",
)


def definitions(macros: dict[str, tuple[int, str]], command: str) -> list[str]:
    """Return the definitions, one a line."""
    lines = []
    for name, (count, body) in macros.items():
        arguments = f"[{count}]" if count else ""
        lines.append(rf"\{command}{{\{name}}}{arguments}{{{body}}}")
    return lines


def colours(command: str) -> list[str]:
    """Return the colour definitions, one a line."""
    return [rf"\{command}{{{name}}}{{HTML}}{{{value}}}" for name, value in COLOURS.items()]
