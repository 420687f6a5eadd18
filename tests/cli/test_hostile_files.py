"""Files with hostile names, in hostile places, and texts that try to be more than a circuit."""

import os
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.cli.calls import GOOD, Command, environment

ALL = "tex,fragment,typst,html,markdown,text,json"
NAME = "new\nline\x1b[31m \u202e\"q'$(touch marked)`touch marked`&<b>%s{}\\.circuit"
HOSTILE = """\
circuit "../../up \\immediate\\write18{touch marked} <img src=x onerror=alert(1)> $(touch marked)"
statement "#read('/etc/passwd') \\openout7=marked ^^5cinput /etc/passwd `touch marked` ![x](../x)"
I1: A  (-E1+)  B  (R1)  A
E1 = 2 V; R1 = 3 ohm
"""
"""Shell, TeX, Typst, HTML and Markdown each find something here that they would obey."""


def tree(folder: Path) -> dict[str, object]:
    """Return what lies in a folder: the bytes of files, the goals of links."""
    return {
        str(path.relative_to(folder)): os.readlink(path)
        if path.is_symlink()
        else path.read_bytes()
        if path.is_file()
        else None
        for path in folder.rglob("*")
    }


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be there")
def test_a_name_cannot_drive_the_terminal(loopwalk: Command, folder: Path) -> None:
    (folder / NAME).write_text(GOOD, "utf-8")
    for arguments in (
        ("solve", NAME, "--to", ALL),
        ("solve", NAME, "good.circuit", "--to", "text", "--jobs", "1"),
        ("solve", NAME, NAME),
        ("solve", f"{NAME}gone"),
        ("draw", NAME),
        ("formula", NAME, "good.circuit"),
        ("solve", "good.circuit", "--to", NAME),
        ("solve", "good.circuit", f"--{NAME}"),
        ("solve", "good.circuit", "--out", f"good.circuit/{NAME}"),
        (NAME,),
    ):
        ended = loopwalk(*arguments)
        told = ended.out + ended.err
        assert not set("\x1b\u202e") & set(told), arguments
        assert not any(line.startswith("line") for line in told.splitlines())
    (folder / NAME).write_text("I1: A (R1\n", "utf-8")
    ended = loopwalk("solve", NAME)
    assert ended.status == 1
    assert ended.err.splitlines()[0].startswith("new\N{REPLACEMENT CHARACTER}line")
    assert not list(folder.rglob("marked"))


@pytest.mark.skipif(os.name == "nt", reason="such names cannot be there")
def test_formulas_of_a_file_with_a_line_end_in_its_name(loopwalk: Command, folder: Path) -> None:
    name = "x\nI3 = 0"
    (folder / name).write_text(GOOD, "utf-8")
    lines = loopwalk("formula", name, "good.circuit").out.splitlines()
    assert "I3 = 0" not in lines


def test_a_name_like_an_option(loopwalk: Command, folder: Path) -> None:
    (folder / "-rf.circuit").write_text(GOOD, "utf-8")
    ended = loopwalk("solve", "-rf.circuit", "good.circuit")
    assert ended.status == 2
    assert "write ./-rf.circuit" in ended.err
    assert loopwalk("solve", "./-rf.circuit", "--to", "text").status == 0
    assert loopwalk("solve", "--to", "json", "--", "-rf.circuit").status == 0
    assert sorted(file.name for file in (folder / "build").iterdir()) == ["-rf.json", "-rf.txt"]


@pytest.mark.parametrize(
    "name", ["....circuit", ".circuit", "a..circuit", "~.circuit", "*.circuit"]
)
def test_odd_names_stay_in_the_folder(loopwalk: Command, folder: Path, name: str) -> None:
    (folder / name).write_text(GOOD, "utf-8")
    before = tree(folder)
    assert loopwalk("solve", f"./{name}", "--to", "text").status == 0
    added = tree(folder).keys() - before.keys()
    assert len(added) == 2
    assert all(path.split(os.sep)[0] == "build" for path in added)


def test_a_name_that_leaves_no_room_for_an_ending(loopwalk: Command, folder: Path) -> None:
    name = "x" * 246 + ".circuit"
    (folder / name).write_text(GOOD, "utf-8")
    ended = loopwalk("solve", name, "--to", "fragment")
    assert ended.status == 3
    assert "the result cannot be written" in ended.err


def test_no_folder_is_no_place(loopwalk: Command, folder: Path) -> None:
    before = tree(folder)
    ended = loopwalk("solve", "good.circuit", "--to", "text", "--out", "")
    assert ended.status == 2
    assert "--out needs the name of a folder" in ended.err
    assert tree(folder) == before


def test_a_huge_file_in_the_place_of_a_result_is_not_read(loopwalk: Command, folder: Path) -> None:
    (folder / "build").mkdir()
    with (folder / "build" / "good.tex").open("wb") as file:
        file.truncate(1 << 40)
    ended = loopwalk("solve", "good.circuit", "--to", "tex")
    assert ended.status == 2
    assert "is larger than what Loopwalk makes" in ended.err
    (folder / "build" / "good.tex").unlink()
    assert loopwalk("solve", "good.circuit", "--to", "tex").status == 0
    with (folder / "build" / "good.tex").open("wb") as file:
        file.truncate(1 << 40)
    assert loopwalk("solve", "good.circuit", "--to", "tex").status == 2


@pytest.mark.skipif(not os.path.exists("/dev/zero"), reason="there are no such files here")
@pytest.mark.parametrize(("name", "status"), [("/dev/zero", 2), ("/dev/null", 1)])
def test_files_that_are_none(loopwalk: Command, name: str, status: int) -> None:
    assert loopwalk("solve", name).status == status


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="there are no such files here")
def test_a_pipe_with_a_name(loopwalk: Command, folder: Path) -> None:
    os.mkfifo(folder / "pipe.circuit")
    writer = threading.Thread(target=(folder / "pipe.circuit").write_text, args=(GOOD, "utf-8"))
    writer.start()
    assert loopwalk("solve", "pipe.circuit", "--to", "text").status == 0
    writer.join()
    os.mkfifo(folder / "build" / "good.txt")
    ended = loopwalk("solve", "good.circuit", "--to", "text")
    assert ended.status == 2
    assert "is not a regular file" in ended.err


def test_a_file_that_changes_while_it_is_read(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was made of a text that is there no more is not taken for unchanged."""
    from derive import pipeline

    first, changed = pipeline.solve, GOOD.replace("E1 = 6 V", "E1 = 60 V")

    def solve(*arguments: object) -> object:
        (folder / "good.circuit").write_text(changed, "utf-8")
        return first(*arguments)

    with monkeypatch.context() as patch:
        patch.setattr("derive.pipeline.solve", solve)
        assert "1.22" in loopwalk("solve", "good.circuit", "--to", "text").out
    again = loopwalk("solve", "good.circuit", "--to", "text")
    assert "unchanged" not in again.err
    assert "1.22" not in again.out


@pytest.mark.parametrize("sign", ["\u202e", "\u202a", "\u2066", "\u2069"])
@pytest.mark.parametrize("place", ["# {}\n", 'title "{}"\n', "R3{} = 4 ohm\n"])
def test_text_that_is_turned_around(loopwalk: Command, folder: Path, sign: str, place: str) -> None:
    """Boucher and Anderson, Trojan Source (2023): a file that does not hold what it shows."""
    (folder / "turned.circuit").write_text(GOOD + place.format(sign), "utf-8")
    ended = loopwalk("solve", "turned.circuit")
    assert ended.status == 1
    assert f"U+{ord(sign):04X}" in ended.err
    assert sign not in ended.err


def test_words_from_right_to_left_are_no_fault(loopwalk: Command, folder: Path) -> None:
    (folder / "good.circuit").write_text(GOOD + 'title "שתי סוללות"\n', "utf-8")
    assert loopwalk("solve", "good.circuit", "--to", "html,text").status == 0


@pytest.mark.parametrize("end", ["\r", "\x0b", "\x0c", "\x1c", "\x85", "\u2028", "\u2029"])
def test_other_line_ends(loopwalk: Command, folder: Path, end: str) -> None:
    """They end no line here: either it is told, or the text means the same with a space there."""
    (folder / "odd.circuit").write_bytes(GOOD.replace("\n", end).encode())
    ended = loopwalk("solve", "odd.circuit", "--to", "text")
    assert ended.status == 1
    assert "error:" in ended.err


def test_nothing_outside_the_folder_is_written(loopwalk: Command, folder: Path) -> None:
    (folder.parent / "up").mkdir()
    (folder / "evil.circuit").write_text(HOSTILE, "utf-8")
    before = tree(folder.parent)
    assert loopwalk("solve", "evil.circuit", "--to", f"{ALL},pdf,png,svg").status == 0
    assert loopwalk("draw", "evil.circuit", "--to", "svg,pdf,tikz").status == 0
    after = tree(folder.parent)
    assert before.items() <= after.items()
    added = {Path(path).parts[:2] for path in after.keys() - before.keys()}
    assert {part for part in added if part[0] != "cache"} == {("here", "build")}


STRACE = shutil.which("strace")


@pytest.mark.slow
@pytest.mark.skipif(STRACE is None, reason="there is no strace")
def test_what_the_system_is_asked_for(folder: Path, tmp_path: Path) -> None:
    """No program, no connection, and no file to be written but those that are wanted."""
    (folder / "evil.circuit").write_text(HOSTILE, "utf-8")
    log, scratch = tmp_path / "log", tmp_path / "scratch"
    scratch.mkdir()
    calls = "trace=openat,open,creat,rename,renameat,renameat2,link,linkat,symlink,execve,connect"
    command = [sys.executable, "-m", "derive", "solve", "evil.circuit", "--to", f"{ALL},pdf"]
    subprocess.run(
        [str(STRACE), "-f", "-qq", "-s", "4000", "-o", log, "-e", calls, *command],
        cwd=folder,
        env=environment(TMPDIR=str(scratch), PYTHONDONTWRITEBYTECODE="1"),
        capture_output=True,
        check=True,
    )
    lines = log.read_text("utf-8", "replace").splitlines()
    assert [line for line in lines if "execve(" in line][1:] == []
    assert not any("connect(" in line or "passwd" in line for line in lines)
    ways = ("O_WRONLY", "O_RDWR", "O_CREAT", "rename", "link")
    written = [line for line in lines if any(way in line for way in ways) and "ENOENT" not in line]
    allowed = ('"build', '".evil', '"/proc/self/fd/', '"/dev/null"', str(tmp_path))
    assert any('"build/evil.json"' in line for line in written)
    for line in written:
        assert any(place in line for place in allowed), line


@pytest.mark.slow
@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no such file")
@pytest.mark.parametrize(
    ("arguments", "stream"),
    [
        (("solve", "good.circuit", "--to", "text", "--out", "-"), "stdout"),
        (("formula", "good.circuit"), "stdout"),
        (("solve", "gone.circuit"), "stderr"),
    ],
)
def test_nobody_takes_what_is_said(folder: Path, arguments: tuple[str, ...], stream: str) -> None:
    with open("/dev/full", "wb") as full:
        streams = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, stream: full}
        done = subprocess.run(
            [sys.executable, "-m", "derive", *arguments],
            cwd=folder,
            env=environment(),
            check=False,
            **streams,
        )
    assert done.returncode == 3
    assert b"Traceback" not in (done.stdout or b"") + (done.stderr or b"")


@pytest.mark.slow
def test_an_environment_with_nothing_in_it(folder: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "derive", "solve", "good.circuit", "--to", "text,pdf"],
        cwd=folder,
        env={"PYTHONPATH": environment()["PYTHONPATH"], "HOME": "/dev/null", "PATH": ""},
        capture_output=True,
        check=False,
    )
    assert (done.returncode, b"Traceback" in done.stderr) == (0, False)


def test_ctrl_c_while_the_command_is_loaded(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from derive.cli import main

    class Interrupted:
        def find_spec(self, name: str, *_: object) -> None:
            if name == "derive.cli.command":
                raise KeyboardInterrupt

    monkeypatch.delitem(sys.modules, "derive.cli.command")
    monkeypatch.setattr("sys.meta_path", [Interrupted(), *sys.meta_path])
    assert main(["--version"]) == 130
    assert capsys.readouterr().err == "loopwalk: stopped\n"
