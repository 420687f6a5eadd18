"""Files that cannot be read, and files that must not be overwritten."""

import os
from pathlib import Path

import pytest

from tests.cli.calls import GOOD, Command
from tests.engines.fake_programs import PDFTEX, install, writing_pdf


@pytest.mark.parametrize(
    ("name", "told"),
    [
        ("gone.circuit", "gone.circuit cannot be read: there is no such file"),
        (".", "cannot be read: it is a folder"),
        ("good.circuit/x", "cannot be read"),
        ("nul\0.circuit", "cannot be read: that is no file name"),
        ("x" * 5000, "cannot be read"),
    ],
)
def test_what_cannot_be_read(loopwalk: Command, name: str, told: str) -> None:
    for command in ("solve", "formula"):
        ended = loopwalk(command, name)
        assert (ended.status, ended.out) == (2, "")
        assert told in ended.err
        assert len(ended.err.splitlines()) == 1


def test_a_file_without_permission(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "good.circuit").chmod(0)
    if os.access(folder / "good.circuit", os.R_OK):  # root may read everything

        def refuse(*_: object) -> None:
            raise PermissionError(13, "Permission denied")

        monkeypatch.setattr("derive.engines.files.open", refuse, raising=False)
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 2
    assert "you have no permission to read it" in ended.err


@pytest.mark.parametrize(
    ("data", "status", "told"),
    [
        (b"# caf\xe9\nI1: A\n", 2, "is not UTF-8 text: line 1, column 6 holds other bytes"),
        (b"ok = 1\n\xc3\xbc\xff\xfe", 2, "line 2, column 2 holds other bytes"),
        (b"\xef\xbb\xbfok\n\xe9", 2, "line 2, column 1 holds other bytes"),
        (GOOD.encode("latin-1", "replace") + b"\xe9", 2, "hint: save it again with the encoding"),
        (GOOD.encode("utf-16"), 2, "it looks like UTF-16\n  hint: save it again"),
        (b"#" * (1 << 20) + b"#", 2, "is too long for a circuit file"),
        (b"I1: A \x00 (R1) B", 1, "control character"),
        (b"\x1b[31m", 1, "control character"),
        (b"", 1, "walk"),
        (b"# nothing but a comment\n", 1, "walk"),
        (b"\xef\xbb\xbf", 1, "walk"),
    ],
)
def test_what_is_no_circuit(
    loopwalk: Command, folder: Path, data: bytes, status: int, told: str
) -> None:
    (folder / "odd.circuit").write_bytes(data)
    ended = loopwalk("solve", "odd.circuit")
    assert (ended.status, ended.out) == (status, "")
    assert told in ended.err
    assert "\x1b" not in ended.err
    assert not (folder / "build").exists()


@pytest.mark.parametrize("change", [str.encode, lambda text: text.replace("\n", "\r\n").encode()])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_and_byte_order_marks_of_other_systems(
    loopwalk: Command, folder: Path, mark: bytes, change: type[bytes]
) -> None:
    (folder / "other.circuit").write_bytes(mark + change(GOOD))
    assert loopwalk("solve", "other.circuit", "--to", "json").status == 0


@pytest.mark.skipif(os.name == "nt", reason="file names are text there")
def test_a_file_name_that_is_no_text(loopwalk: Command, folder: Path) -> None:
    name = os.fsdecode(b"caf\xe9.circuit")
    (folder / name).write_text(GOOD, "utf-8")
    ended = loopwalk("solve", name, "--to", "tex,fragment,json,text")
    assert ended.status == 0
    assert len(list((folder / "build").iterdir())) == 4
    (folder / name).write_text("I1: A\n", "utf-8")
    assert loopwalk("solve", name).status == 1


def test_the_worst_status_of_several_files_counts(loopwalk: Command) -> None:
    assert loopwalk("solve", "good.circuit", "bad.circuit", "--to", "tex").status == 1
    assert loopwalk("solve", "bad.circuit", "gone.circuit").status == 2


USERS = {
    "tex": "% my own notes\n\\documentclass{article}\n",
    "fragment": "my own words\n",
    "text": "shopping list\n",
    "json": '{"my": "own"}\n',
    "proof": '{"my": "own"}\n',
    "pdf": "%PDF-1.5\nmy scanned letter\n",
}
ENDINGS = {
    "tex": ".tex",
    "fragment": ".fragment.tex",
    "text": ".txt",
    "json": ".json",
    "proof": ".proof.json",
    "pdf": ".pdf",
}


@pytest.mark.parametrize("form", USERS)
@pytest.mark.parametrize("empty", [False, True])
def test_a_file_of_the_user_stays(loopwalk: Command, folder: Path, form: str, empty: bool) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    text = "" if empty else USERS[form]
    file = folder / f"good{ENDINGS[form]}"
    file.write_text(text, "utf-8")
    ended = loopwalk("solve", "good.circuit", "--to", f"{form},tex,json", "--out", ".")
    assert ended.status == 2
    assert f"{file.name} was not made by Loopwalk; it is not overwritten" in ended.err
    assert "--out" in ended.err
    assert file.read_text("utf-8") == text
    # Either all results are written or none.
    assert len(list(folder.iterdir())) == 3


@pytest.mark.parametrize("form", USERS)
def test_a_file_of_ours_is_replaced(loopwalk: Command, folder: Path, form: str) -> None:
    install(folder.parent / "bin", "pdflatex", PDFTEX, writing_pdf())
    assert loopwalk("solve", "good.circuit", "--to", form).status == 0
    before = (folder / "build" / f"good{ENDINGS[form]}").read_bytes()
    changed = GOOD.replace("E1 = 6 V", "E1 = 7 V").replace("Two", "Both")
    (folder / "good.circuit").write_text(changed, "utf-8")
    assert loopwalk("solve", "good.circuit", "--to", form).status == 0
    after = (folder / "build" / f"good{ENDINGS[form]}").read_bytes()
    assert form == "pdf" or after != before


@pytest.mark.parametrize("form", ["tex", "fragment"])
def test_tex_that_its_author_edited_stays(loopwalk: Command, folder: Path, form: str) -> None:
    assert loopwalk("solve", "good.circuit", "--to", form).status == 0
    file = folder / "build" / f"good{ENDINGS[form]}"
    edited = file.read_text("utf-8").replace("buzzer", "bell", 1)
    file.write_text(edited, "utf-8")
    ended = loopwalk("solve", "good.circuit", "--to", form)
    assert ended.status == 2
    assert "was edited since Loopwalk made it" in ended.err
    assert file.read_text("utf-8") == edited


def test_the_circuit_itself_is_never_overwritten(loopwalk: Command, folder: Path) -> None:
    (folder / "good.tex").write_text(GOOD, "utf-8")
    ended = loopwalk("solve", "good.tex", "--to", "tex", "--out", ".")
    assert ended.status == 2
    assert "is the circuit file itself" in ended.err
    assert (folder / "good.tex").read_text("utf-8") == GOOD


def test_a_link_is_not_followed(loopwalk: Command, folder: Path) -> None:
    (folder / "build").mkdir()
    (folder / "elsewhere").write_text("mine", "utf-8")
    (folder / "build" / "good.tex").symlink_to(folder / "elsewhere")
    assert loopwalk("solve", "good.circuit", "--to", "tex").status == 2
    assert (folder / "elsewhere").read_text("utf-8") == "mine"


def test_a_folder_in_the_place_of_a_result(loopwalk: Command, folder: Path) -> None:
    (folder / "build" / "good.tex").mkdir(parents=True)
    ended = loopwalk("solve", "good.circuit", "--to", "tex")
    assert ended.status == 2
    assert "not a regular file" in ended.err


@pytest.mark.parametrize("out", ["good.circuit", "good.circuit/deeper"])
def test_a_file_in_the_place_of_the_folder(loopwalk: Command, out: str) -> None:
    ended = loopwalk("solve", "good.circuit", "--to", "tex", "--out", out)
    assert ended.status == 2
    assert "good.circuit is a file, not a folder" in ended.err


def test_a_full_disk(loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("os.replace", refuse)
    ended = loopwalk("solve", "good.circuit", "--to", "tex")
    assert ended.status == 3
    assert "No space left on device" in ended.err
    assert list((folder / "build").iterdir()) == []


def test_a_result_has_the_usual_permissions(loopwalk: Command, folder: Path) -> None:
    assert loopwalk("solve", "good.circuit", "--to", "tex").status == 0
    (folder / "other").touch()
    usual = (folder / "other").stat().st_mode
    assert (folder / "build" / "good.tex").stat().st_mode == usual
