"""What `loopwalk draw` writes, where, and with which exit status."""

import re
from pathlib import Path
from xml.etree import ElementTree

import pytest

from tests.cli.calls import GOOD, Command
from tests.engines.fake_programs import PDF, PDFTEX, failing, install, writing_pdf

ENDINGS = {"svg": ".figure.svg", "tikz": ".figure.tex", "pdf": ".figure.pdf"}

CONTRADICTION = "I1: A (-E1+) B\nI2: A (-E2+) B\nI3: B (R1) A\nE1 = 1 V; E2 = 2 V\n"


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def texts(svg: str) -> list[str]:
    root = ElementTree.fromstring(svg)
    return ["".join(e.itertext()) for e in root.iter("{http://www.w3.org/2000/svg}text")]


def test_nothing_said_is_svg_in_build(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("draw", "good.circuit")
    assert (ended.status, ended.out) == (0, "")
    assert ended.err == "wrote build/good.figure.svg\n"
    assert names(folder / "build") == ["good.figure.svg"]
    assert "E" not in texts((folder / "build" / "good.figure.svg").read_text("utf-8"))


@pytest.mark.parametrize("form", ["svg", "tikz"])
def test_standard_output_holds_the_figure_and_nothing_else(
    loopwalk: Command, folder: Path, form: str
) -> None:
    ended = loopwalk("draw", "good.circuit", "--to", form, "--out", "-")
    assert (ended.status, ended.err) == (0, "")
    assert names(folder) == ["bad.circuit", "good.circuit"]
    loopwalk("draw", "good.circuit", "--to", form)
    written = (folder / "build" / f"good{ENDINGS[form]}").read_text("utf-8")
    assert written.startswith(ended.out)
    assert len(written.removeprefix(ended.out).splitlines()) == 1  # the seal


def test_without_to_standard_output_is_svg(loopwalk: Command) -> None:
    assert texts(loopwalk("draw", "good.circuit", "--out", "-").out)


def test_what_is_shown(loopwalk: Command) -> None:
    def shown(*options: str) -> set[str]:
        return set(texts(loopwalk("draw", "good.circuit", "--out", "-", *options).out))

    usual = shown()
    assert {"ℰ1", "R1", "I1", "I2", "I3", "A", "B"} <= usual
    assert shown("--values") - usual == {"6\xa0V", "5\xa0V", "1\xa0Ω", "4\xa0Ω"}
    assert usual - shown("--no-arrows") == {"I1", "I2", "I3"}
    assert usual - shown("--no-points") == {"A", "B"}


def test_resistors_are_drawn_as_the_file_says_unless_told_otherwise(
    loopwalk: Command, folder: Path
) -> None:
    (folder / "z.circuit").write_text(GOOD + "resistors zigzag\n", "utf-8")
    for arguments, kind in (
        (("good.circuit",), "box"),
        (("z.circuit",), "zigzag"),
        (("good.circuit", "--resistors", "zigzag"), "zigzag"),
        (("z.circuit", "--resistors", "box"), "box"),
    ):
        svg = loopwalk("draw", *arguments, "--out", "-").out
        assert re.findall('class="resistor-(.*?)"', svg) == [kind] * 3


def test_a_width(loopwalk: Command) -> None:
    svg = loopwalk("draw", "good.circuit", "--width", "90", "--out", "-").out
    assert 'width="90mm"' in svg
    tikz = loopwalk("draw", "good.circuit", "--width", "90", "--to", "tikz", "--out", "-").out
    assert r"\resizebox{90mm}{!}" in tikz


@pytest.mark.parametrize(
    ("options", "told"),
    [
        (("--width", "10"), "'10' is not a whole number from 20 to 2000"),
        (("--width", "wide"), "'wide' is not a whole number"),
        (("--to", "text"), "text is written by loopwalk solve; the formats are svg, pdf, tikz"),
        (("--to", "png"), "png is written by loopwalk solve; the formats are svg, pdf, tikz"),
        (("--to", "word"), "there is no format 'word'; the formats are svg, pdf, tikz"),
        (("--to", "svg,tikz", "--out", "-"), "exactly one format, such as --to svg"),
        (("bad.circuit", "--out", "-"), "exactly one file"),
        (("good.circuit",), "would be written to the same files"),
        (("--resistors", "wavy"), "zigzag"),
        (("--detail", "full"), "--detail"),
    ],
)
def test_wrong_usage(loopwalk: Command, folder: Path, options: tuple[str, ...], told: str) -> None:
    ended = loopwalk("draw", "good.circuit", *options)
    assert ended.status == 2
    assert told in ended.out + ended.err
    assert names(folder) == ["bad.circuit", "good.circuit"]


def test_solve_says_who_writes_a_figure(loopwalk: Command) -> None:
    assert (
        "tikz is written by loopwalk draw" in loopwalk("solve", "good.circuit", "--to", "tikz").err
    )


def test_a_circuit_without_a_solution_is_drawn(loopwalk: Command, folder: Path) -> None:
    (folder / "odd.circuit").write_text(CONTRADICTION, "utf-8")
    assert loopwalk("solve", "odd.circuit", "--to", "text").status == 1
    ended = loopwalk("draw", "odd.circuit")
    assert ended.status == 0
    svg = (folder / "build" / "odd.figure.svg").read_text("utf-8")
    assert {"ℰ1", "ℰ2", "R1"} <= set(texts(svg))


def test_dependent_loops_of_the_author_do_not_hinder_a_figure(
    loopwalk: Command, folder: Path
) -> None:
    loop = "use loop A (R1) B (R3) A\n"
    (folder / "loops.circuit").write_text(GOOD + 2 * loop, "utf-8")
    ended = loopwalk("solve", "loops.circuit", "--to", "text")
    assert ended.status == 1
    assert "gives no new equation" in ended.err
    assert loopwalk("draw", "loops.circuit").status == 0


def test_errors_of_a_circuit_come_with_their_places(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("draw", "bad.circuit", "good.circuit")
    assert ended.status == 1
    assert "bad.circuit:2:" in ended.err
    assert "[2/2] good.circuit … svg" in ended.err.splitlines()
    assert ended.err.splitlines()[-2].startswith("1 of 2 done, 1 failed, in ")
    assert ended.err.splitlines()[-1] == "  failed: bad.circuit"
    assert names(folder / "build") == ["good.figure.svg"]


def test_the_figure_leaves_the_solution_alone(loopwalk: Command, folder: Path) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    loopwalk("solve", "good.circuit", "--to", "tex,pdf,fragment")
    assert loopwalk("draw", "good.circuit", "--to", "svg,pdf,tikz").status == 0
    figures = [f"good{ending}" for ending in ENDINGS.values()]
    others = ["good.fragment.tex", "good.pdf", "good.tex"]
    assert names(folder / "build") == sorted(figures + others)
    assert (folder / "build" / "good.figure.pdf").read_bytes().startswith(PDF.encode())


def test_a_pdf_without_tex_is_made_by_the_embedded_engine(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("draw", "good.circuit", "--to", "pdf,svg", "--show", "circuit,loops")
    assert ended.status == 0
    assert "good.figure.pdf (by Typst)" in ended.err
    data = (folder / "build" / "good.figure.pdf").read_bytes()
    assert data.startswith(b"%PDF-")
    assert loopwalk("draw", "good.circuit", "--to", "pdf", "--rebuild").status == 0
    assert (folder / "build" / "good.figure.pdf").read_bytes() == data


def test_a_pdf_that_tex_cannot_make_is_a_failure(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("draw", "good.circuit", "--to", "pdf,svg", "--engine", "tex")
    assert ended.status == 3
    assert "no PDF" in ended.err
    assert names(folder / "build") == ["good.figure.svg"]
    install(folder.parent / "bin", "pdflatex", PDFTEX, failing("./solution.tex:3: Oh no.\nl.3 \n"))
    ended = loopwalk("draw", "good.circuit", "--to", "pdf")
    assert ended.status == 3
    assert "pdflatex made no PDF: Oh no." in ended.err


USERS = {
    "svg": "<svg xmlns='http://www.w3.org/2000/svg'/>\n",
    "tikz": "\\begin{tikzpicture}\n\\end{tikzpicture}\n",
    "pdf": "%PDF-1.5\nmy scanned figure\n",
}


@pytest.mark.parametrize("form", USERS)
@pytest.mark.parametrize("empty", [False, True])
def test_a_file_of_the_user_stays(loopwalk: Command, folder: Path, form: str, empty: bool) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    file = folder / f"good{ENDINGS[form]}"
    file.write_text("" if empty else USERS[form], "utf-8")
    ended = loopwalk("draw", "good.circuit", "--to", "svg,tikz,pdf", "--out", ".")
    assert ended.status == 2
    assert f"{file.name} was not made by Loopwalk; it is not overwritten" in ended.err
    assert file.read_text("utf-8") == ("" if empty else USERS[form])
    assert len(names(folder)) == 3


@pytest.mark.parametrize("form", USERS)
def test_a_file_of_ours_is_replaced(loopwalk: Command, folder: Path, form: str) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    for _ in range(2):
        assert loopwalk("draw", "good.circuit", "--to", form).status == 0


@pytest.mark.parametrize("form", ["svg", "tikz"])
def test_a_figure_that_was_edited_stays(loopwalk: Command, folder: Path, form: str) -> None:
    loopwalk("draw", "good.circuit", "--to", form)
    file = folder / "build" / f"good{ENDINGS[form]}"
    edited = file.read_text("utf-8").replace("1B2733", "000000")
    file.write_text(edited, "utf-8")
    ended = loopwalk("draw", "good.circuit", "--to", form)
    assert ended.status == 2
    assert "was edited since Loopwalk made it" in ended.err
    assert file.read_text("utf-8") == edited


def test_a_written_svg_is_xml_with_its_mark_and_seal(loopwalk: Command, folder: Path) -> None:
    loopwalk("draw", "good.circuit")
    text = (folder / "build" / "good.figure.svg").read_text("utf-8")
    assert texts(text)
    assert text.startswith("<!-- Made by Loopwalk")


def test_standard_input(loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "stdin").write_text(GOOD, "utf-8")
    with (folder / "stdin").open(encoding="utf-8") as stream:
        monkeypatch.setattr("sys.stdin", stream)
        assert loopwalk("draw", "-").status == 0
    assert names(folder / "build") == ["circuit.figure.svg"]


@pytest.mark.parametrize("form", ["svg", "tikz"])
def test_other_figures_are_shown(loopwalk: Command, folder: Path, form: str) -> None:
    everything = "circuit,loops,potentials,powers"
    ended = loopwalk("draw", "good.circuit", "--show", everything, "--to", form)
    assert (ended.status, ended.out) == (0, "")
    parts = ["", ".loop-1", ".loop-2", ".potentials", ".powers"]
    assert names(folder / "build") == sorted(f"good{part}{ENDINGS[form]}" for part in parts)
    texts_of = {(folder / "build" / name).read_text("utf-8") for name in names(folder / "build")}
    assert len(texts_of) == len(parts)


def test_figures_of_numbers_need_numbers(loopwalk: Command, folder: Path) -> None:
    letters = "I1: A (-E1+) (R1) B\nI2: A (-E2+) (R2) B\nI3: B (R3) A\nE1 = 6 V\n"
    (folder / "letters.circuit").write_text(letters, "utf-8")
    for subject in ("potentials", "powers"):
        ended = loopwalk("draw", "letters.circuit", "--show", subject)
        assert ended.status == 1
        assert "every part needs a value" in ended.err
        assert "give values for R1, E2, R2, R3" in ended.err
    assert not (folder / "build").exists()
    assert loopwalk("draw", "letters.circuit", "--show", "loops").status == 0
    (folder / "short.circuit").write_text(CONTRADICTION, "utf-8")
    assert loopwalk("draw", "short.circuit", "--show", "circuit,loops").status == 0
    assert loopwalk("draw", "short.circuit", "--show", "powers").status == 1


@pytest.mark.parametrize("shown", ["loops", "circuit,powers"])
def test_standard_output_takes_one_figure(loopwalk: Command, shown: str) -> None:
    ended = loopwalk("draw", "good.circuit", "--show", shown, "--out", "-")
    assert (ended.status, ended.out) == (2, "")
    assert "takes one figure only" in ended.err
    ended = loopwalk("draw", "good.circuit", "--show", "powers", "--out", "-")
    assert ended.status == 0
    assert "delivered" in texts(ended.out)


def test_an_unknown_figure_is_told(loopwalk: Command) -> None:
    ended = loopwalk("draw", "good.circuit", "--show", "svg")
    assert ended.status == 2
    assert "there is no figure 'svg'; the figures are circuit, loops" in ended.err


def test_batteries_and_bridges_are_drawn_as_the_file_says_unless_told_otherwise(
    loopwalk: Command, folder: Path
) -> None:
    bridge = (
        "I1: A (-E1+) B\nI2: B (R1) C\nI3: B (R2) D\nI4: C (R3) A\nI5: D (R4) A\nI6: C (R5) D\n"
    )
    (folder / "b.circuit").write_text(bridge, "utf-8")
    (folder / "d.circuit").write_text(bridge + "bridge diamond\nbatteries cells\n", "utf-8")
    plain = loopwalk("draw", "b.circuit", "--out", "-").out
    said = loopwalk("draw", "d.circuit", "--out", "-").out
    options = ("--bridge", "diamond", "--batteries", "cells")
    back = ("--bridge", "rectangle", "--batteries", "cell")
    assert loopwalk("draw", "b.circuit", "--out", "-", *options).out == said
    assert loopwalk("draw", "d.circuit", "--out", "-", *back).out == plain
    assert 'class="cells"' in said
    assert 'class="cells"' not in plain
    ended = loopwalk("draw", "good.circuit", "--bridge", "diamond")
    assert ended.status == 0
    assert "not drawn as a diamond" in ended.err
