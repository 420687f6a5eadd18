"""What is found on the search path is asked, and what does not work gives way to the next."""

import os
import time
from pathlib import Path

import pytest

from derive.engines import tex
from derive.engines.tex import Compiled, Kind, TexFailure, compile_pdf, find
from tests.engines.fake_programs import (
    LATEXMK,
    LUATEX,
    PDF,
    PDFTEX,
    failing,
    install,
    writing_pdf,
)


@pytest.fixture
def programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that is the whole search path; kept logs go to another folder of the test."""
    folder, kept = tmp_path / "bin", tmp_path / "kept"
    folder.mkdir()
    kept.mkdir()
    monkeypatch.setenv("PATH", str(folder))
    monkeypatch.setattr("tempfile.tempdir", str(kept))
    return folder


def failure(source: str = "one\ntwo\n") -> TexFailure:
    result = compile_pdf(source)
    assert isinstance(result, TexFailure)
    return result


def made_by(result: Compiled | TexFailure) -> Kind:
    assert isinstance(result, Compiled), result
    assert result.pdf == PDF.encode()
    return result.engine.kind


def test_the_order_of_preference(programs: Path) -> None:
    for name, answer in (("latexmk", LATEXMK), ("lualatex", LUATEX), ("pdflatex", PDFTEX)):
        install(programs, name, answer, writing_pdf())
    install(programs, "tectonic", "tectonic 0.15.0", writing_pdf())
    assert [engine.kind for engine in find()] == list(Kind)
    assert find()[0].version == PDFTEX


@pytest.mark.parametrize(
    ("name", "answer"),
    [
        ("latexmk", LATEXMK),
        ("lualatex", LUATEX),
        ("pdflatex", PDFTEX),
        ("tectonic", "tectonic 0.15.0"),
    ],
)
def test_any_of_them_alone_is_enough(programs: Path, name: str, answer: str) -> None:
    install(programs, name, answer, writing_pdf())
    assert made_by(compile_pdf("text")) is Kind(name)


def test_no_tex_is_said_with_what_was_looked_for(programs: Path) -> None:
    assert not list(programs.iterdir())
    result = failure()
    assert result.engine is None
    for kind in Kind:
        assert kind.value in result.message
    assert result.hint


def test_another_program_of_the_same_name_is_not_taken(programs: Path) -> None:
    install(programs, "latexmk", "latexmk 0.9, a wrapper in Python", writing_pdf())
    assert find() == ()


def test_a_program_that_fails_to_say_its_version_is_not_taken(programs: Path) -> None:
    install(programs, "pdflatex", PDFTEX, writing_pdf(), status=1)
    assert find() == ()


def test_a_program_that_cannot_be_started_is_not_taken(programs: Path) -> None:
    (programs / "pdflatex").write_text("#!/no/such/interpreter\n")
    (programs / "pdflatex").chmod(0o755)
    install(programs, "lualatex", LUATEX, writing_pdf())
    assert [engine.kind for engine in find()] == [Kind.LUALATEX]


def test_a_program_that_hangs_at_its_version_is_not_taken(
    programs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tex, "_ANSWER_TIME", 0.3)
    program = install(programs, "pdflatex", PDFTEX, "")
    program.write_text(program.read_text().replace("import os", "import time; time.sleep(60)\n#"))
    install(programs, "lualatex", LUATEX, writing_pdf())
    # 0.3 s may be too short for the good one on a busy machine, but never long enough for both.
    assert Kind.PDFLATEX not in [engine.kind for engine in find()]


def test_one_that_rejects_our_options_gives_way(programs: Path) -> None:
    # pdflatex without its format file says its version and can do nothing else.
    message = "I can't find the format file `pdflatex.fmt'!"
    install(programs, "pdflatex", PDFTEX, f"print({message!r}); sys.exit(1)")
    install(programs, "latexmk", LATEXMK, "print('unknown option -norc'); sys.exit(10)")
    install(programs, "tectonic", "tectonic 0.15.0", writing_pdf())
    assert made_by(compile_pdf("text")) is Kind.TECTONIC


def test_the_first_that_did_not_work_is_told_when_none_does(programs: Path) -> None:
    message = "I can't find the format file `pdflatex.fmt'!"
    install(programs, "pdflatex", PDFTEX, f"print({message!r}); sys.exit(1)")
    install(programs, "latexmk", LATEXMK, "print('unknown option -norc'); sys.exit(10)")
    result = failure()
    assert result.engine is not None
    assert result.engine.kind is Kind.PDFLATEX
    assert result.message == message
    assert "does not seem to work" in result.hint
    assert str(programs / "pdflatex") in result.hint


def test_success_without_a_pdf_is_a_failure(programs: Path) -> None:
    install(programs, "pdflatex", PDFTEX, "print('fine')")
    assert failure().message == "fine"
    install(programs, "lualatex", LUATEX, writing_pdf("an empty page"))
    assert failure().message == "fine"


def test_a_fault_of_the_document_is_final(programs: Path) -> None:
    install(programs, "pdflatex", PDFTEX, failing("./solution.tex:2: Undefined control sequence."))
    install(programs, "lualatex", LUATEX, writing_pdf())
    result = failure()
    assert (result.line, result.source) == (2, "two")
    assert result.message == "Undefined control sequence."


def test_a_package_that_one_lacks_another_may_have(programs: Path) -> None:
    lacking = failing("./solution.tex:2: LaTeX Error: File `circuitikz.sty' not found.")
    install(programs, "pdflatex", PDFTEX, lacking)
    result = failure()
    assert "lacks circuitikz.sty" in result.hint
    install(programs, "tectonic", "tectonic 0.15.0", writing_pdf())
    assert made_by(compile_pdf("text")) is Kind.TECTONIC


def test_the_time_limit_ends_the_engine_and_its_children(programs: Path, tmp_path: Path) -> None:
    # As latexmk does: a child works, and the parent waits.
    install(
        programs,
        "latexmk",
        LATEXMK,
        "child = os.fork()\n"
        "if not child:\n"
        "    time.sleep(60)\n"
        f"Path({str(tmp_path / 'child')!r}).write_text(str(child))\n"
        "os.wait()",
    )
    result = compile_pdf("text", timeout=2)
    assert isinstance(result, TexFailure)
    assert "stopped after 2 s" in result.message
    assert result.log is not None
    child = int((tmp_path / "child").read_text())
    assert _ends(child)


def _ends(process: int) -> bool:
    """Wait until a process that was killed is gone, or only its entry is left."""
    for _ in range(200):
        try:
            state = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0]
        except (FileNotFoundError, ProcessLookupError):
            return True
        if state in "ZX":
            return True
        time.sleep(0.05)
    return False


def test_a_failure_keeps_its_log_and_its_text_and_nothing_else(
    programs: Path, tmp_path: Path
) -> None:
    log = "This is a log\n! Something is wrong.\nl.1 one\n"
    install(programs, "pdflatex", PDFTEX, "Path('solution.aux').touch()\n" + failing(log))
    result = failure()
    assert result.log is not None
    assert result.log.read_text() == log
    kept = result.log.parent
    assert sorted(file.name for file in kept.iterdir()) == ["solution.log", "solution.tex"]
    assert (kept / "solution.tex").read_text() == "one\ntwo\n"
    assert list((tmp_path / "kept").iterdir()) == [kept]


def test_success_leaves_nothing_behind(programs: Path, tmp_path: Path) -> None:
    install(programs, "pdflatex", PDFTEX, writing_pdf())
    made_by(compile_pdf("text"))
    assert list((tmp_path / "kept").iterdir()) == []


def test_the_engine_is_told_to_be_careful(programs: Path, tmp_path: Path) -> None:
    seen = tmp_path / "seen"
    note = (
        f"Path({str(seen)!r}).write_text(repr((sys.argv[1:], dict(os.environ), sys.stdin.read())))"
    )
    for name, answer in (("pdflatex", PDFTEX), ("lualatex", LUATEX), ("latexmk", LATEXMK)):
        program = install(programs, name, answer, f"{note}\n{writing_pdf()}")
        made_by(compile_pdf("text"))
        program.unlink()
        text = seen.read_text()
        for option in ("-no-shell-escape", "-halt-on-error", "-interaction=nonstopmode"):
            assert option in text
        for setting in ("'openin_any': 'p'", "'openout_any': 'p'", "'shell_escape': 'f'"):
            assert setting in text
        assert ("-norc" in text) is (name == "latexmk")


def test_a_relative_search_path_is_no_trouble(
    programs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    install(programs, "pdflatex", PDFTEX, writing_pdf())
    monkeypatch.chdir(programs.parent)
    monkeypatch.setenv("PATH", programs.name)
    assert os.path.isabs(find()[0].path)
    assert made_by(compile_pdf("text")) is Kind.PDFLATEX
