"""What `loopwalk solve` and `loopwalk formula` write, where, and with which exit status."""

import json
import sys
from pathlib import Path

import pytest

from derive.engines import embedded
from tests.cli.calls import GOOD, Command
from tests.engines.fake_programs import PDF, PDFTEX, failing, install, writing_pdf

ENDINGS = {
    "tex": ".tex",
    "fragment": ".fragment.tex",
    "typst": ".typ",
    "html": ".html",
    "markdown": ".md",
    "text": ".txt",
    "json": ".json",
    "proof": ".proof.json",
}


def names(folder: Path) -> list[str]:
    return sorted(file.name for file in folder.iterdir())


def test_nothing_said_is_tex_and_pdf_in_build_and_answers_here(
    loopwalk: Command, folder: Path
) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 0
    assert names(folder / "build") == ["good.pdf", "good.tex"]
    assert (folder / "build" / "good.pdf").read_bytes().startswith(PDF.encode())
    assert "I₃ ≈ 1.22 A" in ended.out.splitlines()
    assert "wrote build/good.tex, build/good.pdf (by pdflatex)" in ended.err


@pytest.mark.parametrize(("form", "ending"), ENDINGS.items())
def test_one_format(loopwalk: Command, folder: Path, form: str, ending: str) -> None:
    assert loopwalk("solve", "good.circuit", "--to", form).status == 0
    assert names(folder / "build") == [f"good{ending}"]
    assert (folder / "build" / f"good{ending}").stat().st_size > 100


def test_a_list_of_formats_and_a_folder(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("solve", "good.circuit", "--to", "json, text,json", "--out", "a/b")
    assert ended.status == 0
    assert names(folder / "a" / "b") == ["good.json", "good.txt"]
    assert not (folder / "build").exists()


@pytest.mark.parametrize("form", ENDINGS)
def test_standard_output_holds_the_result_and_nothing_else(
    loopwalk: Command, folder: Path, form: str
) -> None:
    ended = loopwalk("solve", "good.circuit", "--to", form, "--out", "-")
    assert (ended.status, ended.err) == (0, "")
    assert names(folder) == ["bad.circuit", "good.circuit"]
    loopwalk("solve", "good.circuit", "--to", form)
    written = (folder / "build" / f"good{ENDINGS[form]}").read_text("utf-8")
    assert written.startswith(ended.out)
    assert len(written.removeprefix(ended.out).splitlines()) <= 1  # the seal of TeX files


def test_json_is_the_contract(loopwalk: Command) -> None:
    fields = json.loads(loopwalk("solve", "good.circuit", "--to", "json", "--out", "-").out)
    assert fields["schema"] == 1
    assert fields["checked"] is True
    assert fields["currents"]["I3"]["exact"] == "11/9"
    assert fields["answers"][0]["exact"] == "44/9"
    assert fields["answers"][0]["ask"] == "voltage across R3"


def test_standard_input(loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (folder / "stdin").write_text(GOOD, "utf-8")
    with (folder / "stdin").open(encoding="utf-8") as stream:
        monkeypatch.setattr("sys.stdin", stream)
        ended = loopwalk("solve", "-", "--to", "json")
    assert ended.status == 0
    assert names(folder / "build") == ["circuit.json"]


def test_numbers_first_takes_another_route_to_the_same_answers(loopwalk: Command) -> None:
    outputs = {}
    for form in ("text", "json"):
        arguments = ("solve", "good.circuit", "--to", form, "--out", "-")
        outputs[form] = (loopwalk(*arguments).out, loopwalk(*arguments, "--numbers-first").out)
    letters, numbers = outputs["text"]
    assert letters != numbers
    first, second = (
        {name: result["exact"] for name, result in json.loads(text)["currents"].items()}
        for text in outputs["json"]
    )
    assert first == second


def test_detail_says_less_and_less(loopwalk: Command) -> None:
    lengths = []
    for detail in ("full", "brief", "answers"):
        ended = loopwalk("solve", "good.circuit", "--to", "text", "--out", "-", "--detail", detail)
        assert ended.status == 0
        assert "1.22" in ended.out
        lengths.append(len(ended.out))
    assert lengths[0] > lengths[1] > lengths[2]


def test_figures_are_the_digits_of_the_results(loopwalk: Command) -> None:
    for figures, shown in (("2", "1.2 A"), ("4", "1.222 A")):
        ended = loopwalk("solve", "good.circuit", "--to", "json", "--figures", figures)
        assert f"I₃ ≈ {shown}" in ended.out.splitlines()


def test_formula_prints_what_python_can_read(loopwalk: Command) -> None:
    ended = loopwalk("formula", "good.circuit")
    assert (ended.status, ended.err) == (0, "")
    values = {"E1": 6.0, "E2": 5.0, "R1": 1.0, "R2": 1.0, "R3": 4.0}
    results = {}
    for line in ended.out.splitlines():
        name, formula = line.split(" = ")
        results[name] = eval(formula, {"__builtins__": {}}, values)
    assert results == pytest.approx({"I1": 10 / 9, "I2": 1 / 9, "I3": 11 / 9})


def test_formulas_of_several_files_tell_them_apart(loopwalk: Command, folder: Path) -> None:
    (folder / "more.circuit").write_text(GOOD, "utf-8")
    lines = loopwalk("formula", "good.circuit", "more.circuit").out.splitlines()
    assert [line for line in lines if line.startswith("#")] == ["# good.circuit", "# more.circuit"]


def test_a_bad_file_among_good_ones(loopwalk: Command, folder: Path) -> None:
    (folder / "more.circuit").write_text(GOOD, "utf-8")
    ended = loopwalk("solve", "good.circuit", "bad.circuit", "more.circuit", "--to", "tex,json")
    assert ended.status == 1
    assert names(folder / "build") == ["good.json", "good.tex", "more.json", "more.tex"]
    assert "[1/3] good.circuit … tex json" in ended.err.splitlines()
    assert "[3/3] more.circuit … tex json" in ended.err.splitlines()
    assert "bad.circuit:2:" in ended.err
    assert ended.err.splitlines()[-2].startswith("2 of 3 done, 1 failed, in ")
    assert ended.err.splitlines()[-1] == "  failed: bad.circuit"


def test_all_errors_of_a_circuit_come_with_their_places(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("solve", "bad.circuit")
    assert ended.status == 1
    assert ended.out == ""
    assert "bad.circuit:2:" in ended.err
    assert "bad.circuit:3:" in ended.err
    assert "^" in ended.err
    assert not (folder / "build").exists()
    assert loopwalk("formula", "bad.circuit").status == 1


def test_without_tex_the_pdf_is_made_by_the_embedded_engine(
    loopwalk: Command, folder: Path
) -> None:
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 0
    assert names(folder / "build") == ["good.pdf", "good.tex"]
    assert "wrote build/good.tex, build/good.pdf (by Typst)" in ended.err
    assert "no PDF" not in ended.err


def test_the_engine_is_the_one_that_is_asked_for(loopwalk: Command, folder: Path) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    told = {
        engine: loopwalk("solve", "good.circuit", "--to", "pdf", "--engine", engine).err
        for engine in ("embedded", "tex")
    }
    assert "good.pdf (by Typst)" in told["embedded"]
    assert "good.pdf (by pdflatex)" in told["tex"]


def test_a_tex_that_lacks_a_file_gives_way_to_the_embedded_engine(
    loopwalk: Command, folder: Path
) -> None:
    log = "./solution.tex:3: LaTeX Error: File `titlesec.sty' not found.\nl.3 \n"
    install(folder.parent / "bin", "pdflatex", PDFTEX, failing(log))
    ended = loopwalk("solve", "good.circuit", "--to", "pdf")
    assert ended.status == 0
    assert "titlesec.sty" in ended.err
    assert "so the embedded engine made the PDF" in ended.err
    assert "good.pdf (by Typst)" in ended.err
    assert loopwalk("solve", "good.circuit", "--to", "pdf", "--engine", "tex").status == 3


def test_a_pdf_by_tex_that_cannot_be_made_is_a_failure(loopwalk: Command, folder: Path) -> None:
    ended = loopwalk("solve", "good.circuit", "--to", "pdf,tex", "--engine", "tex")
    assert ended.status == 3
    assert names(folder / "build") == ["good.tex"]
    assert "no PDF" in ended.err
    assert "hint:" in ended.err
    arguments = ("--to", "pdf", "--engine", "tex")
    assert loopwalk("solve", "good.circuit", *arguments, "--out", "-").status == 3
    (folder / "more.circuit").write_text(GOOD, "utf-8")
    ended = loopwalk("solve", "good.circuit", "more.circuit", *arguments)
    assert ended.err.count("no PDF") == 1


def test_without_any_engine_it_is_told_how_to_get_one(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "typst", None)  # as if the wheel were not there
    monkeypatch.setattr("derive.engines.embedded._mine", embedded._Mine())
    ended = loopwalk("solve", "good.circuit", "--to", "tex,pdf")
    assert ended.status == 3
    assert names(folder / "build") == ["good.tex"]
    assert "pip install typst" in ended.err
    told = loopwalk("engines").out
    assert "No engine can set a PDF" in told
    assert "pip install typst" in told


def test_what_a_failing_tex_says_is_told(loopwalk: Command, folder: Path) -> None:
    log = "./solution.tex:3: Undefined control sequence.\nl.3 \\nosuch\n"
    install(folder.parent / "bin", "pdflatex", PDFTEX, failing(log))
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 3
    assert names(folder / "build") == ["good.tex"]
    assert "pdflatex made no PDF: Undefined control sequence." in ended.err
    third = (folder / "build" / "good.tex").read_text("utf-8").splitlines()[2]
    assert f"line 3: {third}" in ended.err
    place = next(line for line in ended.err.splitlines() if line.startswith("  log: "))
    assert Path(place.removeprefix("  log: ")).read_text("utf-8") == log


def test_a_pdf_of_before_stays_when_tex_fails(loopwalk: Command, folder: Path) -> None:
    program = install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    assert loopwalk("solve", "good.circuit").status == 0
    before = (folder / "build" / "good.pdf").read_bytes()
    program.unlink()
    assert loopwalk("solve", "good.circuit", "--to", "pdf", "--engine", "tex").status == 3
    assert (folder / "build" / "good.pdf").read_bytes() == before


def test_a_fault_of_the_program_is_owned_up_to(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("a slip of ours")

    monkeypatch.setattr("derive.pipeline.solve", fail)
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 3
    assert "a slip of ours" in ended.err
    assert "fault of Loopwalk" in ended.err
    assert not (folder / "build").exists()
