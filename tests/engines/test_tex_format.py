"""What documents begin with is read once and kept; whatever is wrong with it, the PDF is the same."""

import multiprocessing
import os
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from derive.drawing.view import View
from derive.engines import cache, tex_format
from derive.engines.tex import Compiled, Engine, Kind, TexFailure, compile_pdf, find
from derive.pictures import draw
from derive.pipeline import solve
from derive.source import Source
from derive.writers import figure_tex, latex
from derive.writers.tex_macros import ALIKE_SO_FAR
from tests.engines.fake_programs import LUATEX, PDF, PDFTEX, install, writing_pdf

EXAMPLES = Path(__file__).parents[2] / "examples"

DUMPING = """
(here / 'calls').open('a').write('dump ')
Path('solution.fmt').write_bytes(b'memory of ' + Path('solution.tex').read_bytes())
Path('solution.fls').write_text(f'PWD {os.getcwd()}\\nINPUT {here / "package.sty"}\\nINPUT solution.tex')
"""
NOT_DUMPING = "(here / 'calls').open('a').write('dump '); sys.exit(1)"
HINDERED = "(here / 'calls').open('a').write('format '); sys.exit(1)"


def using(text: str = PDF) -> str:
    return f"(here / 'calls').open('a').write('format '); {writing_pdf(text)}"


def program(programs: Path, dumping: str = DUMPING, using: str = using()) -> None:
    """Install a pdflatex that notes what it is told to do."""
    lines = ["here = Path(__file__).parent", "if '-ini' in sys.argv:"]
    lines += [f"    {line}" for line in dumping.strip().splitlines()]
    lines += ["elif any(word.startswith('-fmt=') for word in sys.argv):", f"    {using}", "else:"]
    lines += [f"    (here / 'calls').open('a').write('plain '); {writing_pdf()}"]
    (programs / "package.sty").touch()
    install(programs, "pdflatex", PDFTEX, "\n".join(lines))


def document(body: str = "A page.", beginning: str = r"\documentclass{article}") -> str:
    return f"% Title: {body}\n{beginning}\n{ALIKE_SO_FAR}\n{body}\n"


def calls(programs: Path, tex: str = document()) -> str:
    """Set a document and return what the engine was told to do meanwhile."""
    told = programs / "calls"
    told.unlink(missing_ok=True)
    result = compile_pdf(tex)
    assert isinstance(result, Compiled), result
    assert result.pdf == PDF.encode()
    return told.read_text().strip()


@pytest.fixture
def programs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder that is the whole search path; the program in it can do everything."""
    folder = tmp_path / "bin"
    folder.mkdir()
    program(folder)
    monkeypatch.setenv("PATH", str(folder))
    return folder


@pytest.fixture(autouse=True)
def formats(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the formats, wherever this system has its caches; temporary files go elsewhere."""
    place, kept = tmp_path / "cache", tmp_path / "kept"
    kept.mkdir()
    monkeypatch.setattr("platformdirs.user_cache_path", lambda *_, **__: place)
    monkeypatch.setattr("tempfile.tempdir", str(kept))
    return place / "tex-formats"


def only(folder: Path) -> Path:
    (file,) = folder.iterdir()
    return file


def test_the_first_document_makes_it_and_the_next_uses_it(programs: Path, formats: Path) -> None:
    assert calls(programs) == "dump format"
    assert calls(programs) == "format"
    # Neither what follows the mark nor a comment at the head is in it.
    assert calls(programs, document("Another page.")) == "format"
    assert only(formats).suffix == ".fmt"


def test_nobody_else_may_read_or_write_it(programs: Path, formats: Path) -> None:
    calls(programs)
    assert formats.stat().st_mode & 0o777 == 0o700
    assert only(formats).stat().st_mode & 0o777 == 0o600


def test_another_beginning_has_another(programs: Path, formats: Path) -> None:
    calls(programs)
    other = document(beginning=r"\documentclass{report}")
    assert calls(programs, other) == "dump format"
    assert calls(programs, other) == calls(programs) == "format"
    assert len(list(formats.iterdir())) == 2


def test_another_engine_or_another_setting_of_tex_has_another(
    programs: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls(programs)
    with (programs / "pdflatex").open("a") as file:
        file.write("# a new version\n")
    assert calls(programs) == "dump format"
    monkeypatch.setenv("TEXMFHOME", "/somewhere/else")
    assert calls(programs) == "dump format"


def test_a_new_version_of_a_package_is_noticed(programs: Path) -> None:
    calls(programs)
    (programs / "package.sty").write_text("new")
    assert calls(programs) == "dump format"
    assert calls(programs) == "format"
    (programs / "package.sty").unlink()
    assert calls(programs) == "dump format"


def test_a_package_whose_name_is_no_text(programs: Path) -> None:
    odd = DUMPING + "\nopen('solution.fls', 'ab').write(b'\\nINPUT /caf\\xe9/odd.sty\\n')\n"
    program(programs, odd)
    assert calls(programs) == "dump format"
    assert calls(programs) == "format"


@pytest.mark.parametrize(
    "spoil",
    [
        lambda data: data[:0],
        lambda data: data[:10],
        lambda data: data[: len(data) // 2],
        lambda data: data[:5] + bytes([data[5] ^ 1]) + data[6:],
        lambda data: data[:-1] + b"z",
        lambda data: data[:-24] + b"f" * 24,
        lambda data: bytes(len(data)),
    ],
)
def test_a_damaged_file_is_made_again(
    programs: Path, formats: Path, spoil: Callable[[bytes], bytes]
) -> None:
    calls(programs)
    file = only(formats)
    good = file.read_bytes()
    file.write_bytes(spoil(good))
    assert calls(programs) == "dump format"
    assert file.read_bytes() == good


@pytest.mark.parametrize(
    ("dumping", "using", "told"),
    [
        (NOT_DUMPING, using(), "dump plain"),
        ("(here / 'calls').open('a').write('dump ')", using(), "dump plain"),
        (DUMPING.replace("INPUT", "NOTHING"), using(), "dump plain"),
        (DUMPING, HINDERED, "dump format plain"),
        (DUMPING, using("not a page"), "dump format plain"),
    ],
)
def test_what_does_not_work_is_not_tried_again_for_an_hour(
    programs: Path, formats: Path, dumping: str, using: str, told: str
) -> None:
    program(programs, dumping, using)
    assert calls(programs) == told
    assert calls(programs) == "plain"
    note = only(formats)
    before = time.time() - 3601
    os.utime(note, (before, before))
    assert calls(programs) == told
    os.utime(note, (before, before))
    # A program that was repaired has another name of its format.
    program(programs)
    assert calls(programs) == "dump format"


def test_while_another_makes_it_nobody_waits(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    met: list[str] = []
    dump = tex_format._dump

    def meanwhile(*arguments: object) -> bytes | None:
        if not met:
            met.append("in the middle")
            met.append(calls(programs))
        return dump(*arguments)  # type: ignore[arg-type]

    monkeypatch.setattr(tex_format, "_dump", meanwhile)
    assert calls(programs) == "plain dump format"
    assert met == ["in the middle", "plain"]
    assert only(formats).suffix == ".fmt"


def test_one_who_stops_the_program_leaves_nothing(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(tex_format, "run", stopped)
        with pytest.raises(KeyboardInterrupt):
            compile_pdf(document())
    assert list(formats.iterdir()) == []
    assert calls(programs) == "dump format"


def test_no_cache_is_no_trouble(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    formats.parent.write_text("a file where the folder would be")
    assert calls(programs) == "plain"

    def unknown(*_: object, **__: object) -> Path:
        raise RuntimeError("Could not determine home directory.")

    monkeypatch.setattr("platformdirs.user_cache_path", unknown)
    assert calls(programs) == "plain"


def test_a_read_only_cache_is_read(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The superuser, as whom tests may run, can write anywhere; so the system call is made to fail.
    opened = os.open

    def refusing(path: str | Path, flags: int, *others: int, **named: int) -> int:
        if str(path).startswith(str(formats)) and flags & (os.O_WRONLY | os.O_CREAT):
            raise OSError(30, "Read-only file system")
        return opened(path, flags, *others, **named)

    with monkeypatch.context() as patch:
        patch.setattr(os, "open", refusing)
        assert calls(programs) == "plain"
        assert list(formats.iterdir()) == []
    calls(programs)
    monkeypatch.setattr(os, "open", refusing)
    monkeypatch.setattr(os, "utime", lambda *_: refusing(formats, os.O_WRONLY))
    assert calls(programs) == "format"


def test_a_full_disk_is_no_trouble(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(cache, "put", full)
    assert calls(programs) == "dump plain"
    assert calls(programs) == "plain"
    assert only(formats).suffix == ".note"


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="files have other rights there")
def test_what_others_may_write_is_not_used(programs: Path, formats: Path) -> None:
    calls(programs)
    for folder in (formats, formats.parent):
        for mode in (0o777,) if folder == formats.parent else (0o770, 0o702):
            folder.chmod(mode)
            assert calls(programs) == "plain", (folder, oct(mode))
            folder.chmod(0o700)
            assert calls(programs) == "format"


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="files have other rights there")
def test_a_file_that_others_could_write_is_made_again(programs: Path, formats: Path) -> None:
    calls(programs)
    file = only(formats)
    file.chmod(0o666)
    assert calls(programs) == "dump format"
    assert file.stat().st_mode & 0o777 == 0o600
    elsewhere = formats.parent / "elsewhere"
    file.rename(elsewhere)
    file.symlink_to(elsewhere)
    assert calls(programs) == "dump format"
    assert not file.is_symlink()


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="files have other rights there")
def test_a_file_of_somebody_else_is_not_used(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    calls(programs)
    somebody = os.getuid() + 1
    monkeypatch.setattr(os, "getuid", lambda: somebody)
    assert calls(programs) == "plain"
    # Even where the folder is one's own.
    monkeypatch.setattr(cache, "folder", lambda _: formats)
    assert calls(programs).startswith("dump")


def test_old_ones_make_room(programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kinds = [document(beginning=rf"\documentclass{{{name}}}") for name in ("one", "two", "six")]
    calls(programs, kinds[0])
    size = only(formats).stat().st_size
    monkeypatch.setattr(tex_format, "_ROOM", 2 * size)
    calls(programs, kinds[1])
    before = time.time() - 100
    for file in formats.iterdir():
        os.utime(file, (before, before))
    calls(programs, kinds[0])  # now the second is the one that has not been used for longest
    calls(programs, kinds[2])
    assert calls(programs, kinds[0]) == calls(programs, kinds[2]) == "format"
    assert calls(programs, kinds[1]) == "dump format"


def test_one_that_is_too_large_is_kept_alone(
    programs: Path, formats: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tex_format, "_ROOM", 1)
    calls(programs)
    assert calls(programs) == "format"
    assert calls(programs, document(beginning="other")) == "dump format"
    only(formats)


def test_only_marked_documents_and_only_pdftex(programs: Path, formats: Path) -> None:
    assert calls(programs, document().replace(ALIKE_SO_FAR, "%")) == "plain"
    (programs / "pdflatex").unlink()
    install(programs, "lualatex", LUATEX, writing_pdf())
    assert isinstance(compile_pdf(document()), Compiled)
    assert not formats.exists()


def test_every_line_keeps_its_number(programs: Path) -> None:  # noqa: ARG001
    tex = "% head\n\\one\n\\two\n" + ALIKE_SO_FAR + "%\nfive\n\nseven\n"
    (engine,) = find()
    short = tex_format.shorten(tex, engine.path, engine.version, 5)
    assert short is not None
    before, after = tex.split("\n"), short.text.split("\n")
    assert len(before) == len(after)
    assert after[4:] == before[4:]
    assert all(line.endswith("%") for line in after[:4])


# From here on with the TeX of this machine.


@pytest.fixture
def pdflatex() -> Engine:
    found = {engine.kind: engine for engine in find()}
    assert Kind.PDFLATEX in found, "the TeX of the README is needed for the tests marked tex"
    return found[Kind.PDFLATEX]


def example(name: str) -> Source:
    return Source(name, (EXAMPLES / f"{name}.circuit").read_text("utf-8"))


def solution(name: str) -> str:
    return latex.write(solve(example(name)).document)


def figure(name: str, width: float | None) -> str:
    picture = draw(example(name), View())
    return figure_tex.page(picture.drawing, picture.style, picture.short, picture.title, width)


def without_mark(tex: str) -> str:
    """Return a document that is set as it was before there were formats."""
    assert tex.count(ALIKE_SO_FAR) == 1
    return tex.replace(ALIKE_SO_FAR, "%" * len(ALIKE_SO_FAR))


def page(tex: str, engine: Engine) -> bytes:
    result = compile_pdf(tex, engine)
    assert isinstance(result, Compiled), result
    return result.pdf


@pytest.mark.tex
@pytest.mark.parametrize(
    "tex",
    [
        pytest.param(lambda: solution("boat_batteries"), id="kirchhoff"),
        pytest.param(lambda: solution("garden_lights"), id="reduction"),
        pytest.param(lambda: figure("strain_bridge", None), id="figure"),
        pytest.param(lambda: figure("boat_batteries", 60.0), id="figure with a width"),
    ],
)
def test_the_same_bytes_with_and_without(
    tex: Callable[[], str], pdflatex: Engine, formats: Path
) -> None:
    text = tex()
    plain = page(without_mark(text), pdflatex)
    assert not formats.exists()
    made = page(text, pdflatex)
    assert only(formats).suffix == ".fmt"
    assert made == page(text, pdflatex) == plain


@pytest.mark.tex
def test_two_documents_of_a_kind_share_one(pdflatex: Engine, formats: Path) -> None:
    first, second = solution("boat_batteries"), solution("garden_lights")
    plain = page(without_mark(second), pdflatex)
    page(first, pdflatex)
    made = only(formats).stat().st_ino
    assert page(second, pdflatex) == plain
    assert only(formats).stat().st_ino == made


@pytest.mark.tex
@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("\\section{", "\\nosuch\n\\section{"),  # in the text
        ("\\end{document}", "$x\n\\end{document}"),  # at its end
        (ALIKE_SO_FAR, "\\usepackage{no-such-package}\n" + ALIKE_SO_FAR),  # while it is made
        (r"\hypersetup", r"\nosuch\hypersetup"),  # after the mark
    ],
)
def test_a_fault_is_told_in_the_same_words(old: str, new: str, pdflatex: Engine) -> None:
    good = solution("boat_batteries")
    page(good, pdflatex)
    bad = good.replace(old, new, 1)
    found, plain = (compile_pdf(text, pdflatex) for text in (bad, without_mark(bad)))
    assert isinstance(found, TexFailure)
    assert isinstance(plain, TexFailure)
    assert found.line is not None
    assert bad.split("\n")[found.line - 1].strip() == found.source
    assert (found.message, found.line, found.source, found.hint, found.blames_the_engine) == (
        plain.message, plain.line, plain.source, plain.hint, plain.blames_the_engine
    )  # fmt: skip
    assert found.log is not None
    assert plain.log is not None
    assert found.log.with_name("solution.tex").read_text("utf-8") == bad
    assert found.log.read_text("utf-8") == plain.log.read_text("utf-8")


@pytest.mark.tex
def test_one_that_tex_refuses_is_no_trouble(pdflatex: Engine, formats: Path) -> None:
    text = solution("boat_batteries")
    good = page(text, pdflatex)
    file = only(formats)
    file.write_bytes(
        tex_format._sealed(
            b"nothing TeX could read", [(pdflatex.path, tex_format._look(pdflatex.path))]
        )
    )
    assert page(text, pdflatex) == good
    assert only(formats).suffix == ".note"
    assert page(text, pdflatex) == good


@pytest.mark.tex
def test_an_endless_document_is_stopped_once(pdflatex: Engine) -> None:
    text = solution("boat_batteries")
    page(text, pdflatex)
    endless = text.replace("\\section{", "\\loop\\iftrue\\repeat\n\\section{", 1)
    start = time.monotonic()
    result = compile_pdf(endless, pdflatex, timeout=3)
    assert isinstance(result, TexFailure)
    assert "stopped after 3 s" in result.message
    assert time.monotonic() - start < 30


def _set_in_a_process(
    text: str, engine: Engine, place: str, found: "multiprocessing.Queue[bytes]"
) -> None:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("platformdirs.user_cache_path", lambda *_, **__: Path(place))
        found.put(page(text, engine))


@pytest.mark.tex
def test_several_processes_at_once(pdflatex: Engine, formats: Path) -> None:
    text = solution("boat_batteries")
    start = multiprocessing.get_context("spawn")
    found: multiprocessing.Queue[bytes] = start.Queue()
    workers = [
        start.Process(target=_set_in_a_process, args=(text, pdflatex, str(formats.parent), found))
        for _ in range(3)
    ]
    for worker in workers:
        worker.start()
    pages = {found.get(timeout=120) for _ in workers}
    for worker in workers:
        worker.join()
    assert pages == {page(without_mark(text), pdflatex)}
    assert only(formats).suffix == ".fmt"
    assert tex_format._is_good(only(formats))
