"""The TeX of this machine: what it makes, what it may not do, what it says when it fails."""

from pathlib import Path

import pytest

from derive.engines.tex import Compiled, Engine, Kind, TexFailure, compile_pdf, find

pytestmark = pytest.mark.tex

KINDS = (Kind.PDFLATEX, Kind.LUALATEX, Kind.LATEXMK)
"""What the README's command installs; Tectonic is in no Debian."""


@pytest.fixture(params=KINDS, ids=lambda kind: kind.value)
def engine(request: pytest.FixtureRequest) -> Engine:
    found = {engine.kind: engine for engine in find()}
    assert request.param in found, "the TeX of the README is needed for the tests marked tex"
    return found[request.param]


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder for temporary files, and for the logs that are kept."""
    folder = tmp_path / "kept"
    folder.mkdir()
    monkeypatch.setattr("tempfile.tempdir", str(folder))
    return folder


def document(body: str) -> str:
    return "\\documentclass{article}\n\\begin{document}\n" + body + "\n\\end{document}\n"


def compiled(tex: str, engine: Engine) -> bytes:
    result = compile_pdf(tex, engine)
    assert isinstance(result, Compiled), result
    return result.pdf


def refused(tex: str, engine: Engine, timeout: float = 60) -> TexFailure:
    result = compile_pdf(tex, engine, timeout)
    assert isinstance(result, TexFailure)
    return result


def test_a_page_comes_out_and_nothing_stays_behind(engine: Engine, kept: Path) -> None:
    assert compiled(document("A page."), engine).startswith(b"%PDF-")
    assert list(kept.iterdir()) == []


def test_no_command_is_run(engine: Engine, tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    body = rf"\immediate\write18{{touch {mark}}}"
    if engine.kind is Kind.LUALATEX:
        body = rf'\directlua{{os.execute("touch {mark}")}}'
    # The same document with commands allowed does leave the mark; see the test below.
    compile_pdf(document(body + "A page."), engine)
    assert not mark.exists()


def test_the_test_before_can_fail(tmp_path: Path) -> None:
    from subprocess import run

    mark = tmp_path / "mark"
    (tmp_path / "a.tex").write_text(document(rf"\immediate\write18{{touch {mark}}}A page."))
    done = run(
        ["pdflatex", "-interaction=nonstopmode", "-shell-escape", "a.tex"],
        cwd=tmp_path,
        capture_output=True,
        check=False,
    )
    assert done.returncode == 0
    assert mark.exists()


def test_no_file_outside_is_read(engine: Engine, tmp_path: Path) -> None:
    secret = tmp_path / "secret.tex"
    secret.write_text("secret")
    failure = refused(document(f"\n\\input{{{secret}}}"), engine)
    assert failure.line == 4
    assert str(secret) in failure.source


def test_no_file_outside_is_written(engine: Engine, tmp_path: Path) -> None:
    mark = tmp_path / "mark.txt"
    body = rf"\newwrite\out\immediate\openout\out={mark}\relax\immediate\write\out{{x}}A page."
    compile_pdf(document(body), engine)
    assert not mark.exists()


def test_what_tex_says_and_where(engine: Engine) -> None:
    failure = refused(document("One.\n\nThree \\nosuch."), engine)
    assert failure.engine == engine
    assert failure.message.startswith("Undefined control sequence")
    assert failure.line == 5
    assert failure.source == "Three \\nosuch."
    assert failure.log is not None
    assert "Undefined control sequence" in failure.log.read_text("utf-8")
    assert failure.log.with_name("solution.tex").exists()


def test_a_missing_package_is_named(engine: Engine) -> None:
    tex = document("A page.").replace("\n", "\n\\usepackage{no-such-package}\n", 1)
    failure = refused(tex, engine)
    assert "lacks no-such-package.sty" in failure.hint


def test_an_endless_document_is_stopped(engine: Engine) -> None:
    failure = refused(document(r"\loop\iftrue\repeat"), engine, timeout=3)
    assert "stopped after 3 s" in failure.message


def test_the_same_text_gives_the_same_bytes(engine: Engine) -> None:
    tex = document("A page.").replace("\n", "\n\\ifdefined\\pdftrailerid\\pdftrailerid{}\\fi\n", 1)
    if engine.kind is Kind.LUALATEX:
        tex = tex.replace("\n", "\n\\pdfvariable trailerid{[]}\n", 1)
    assert compiled(tex, engine) == compiled(tex, engine)
