"""Stopped in the middle, the command leaves whole files or none, and no process behind."""

import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.cli.calls import Command, environment, start
from tests.engines.fake_programs import PDFTEX, install

HANGING = """\
Path({mark!r}).write_text(str(os.getpid()))
Path('solution.pdf').write_text('%PDF-1.5 half a')
time.sleep(60)
"""


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals are another matter there")
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGHUP])
def test_while_tex_runs(folder: Path, tmp_path: Path, number: signal.Signals) -> None:
    mark, scratch = tmp_path / "mark", tmp_path / "scratch"
    scratch.mkdir()
    install(tmp_path / "bin", "pdflatex", PDFTEX, HANGING.format(mark=str(mark)))
    before = signal.signal(number, signal.SIG_DFL)  # a shell's background job ignores SIGINT
    try:
        command = start(folder, "solve", "good.circuit", "--to", "json,pdf", TMPDIR=str(scratch))
    finally:
        signal.signal(number, before)
    _until(lambda: mark.exists() and mark.read_text() != "")
    command.send_signal(number)
    out, err = command.communicate(timeout=30)
    assert command.returncode == 130
    assert out == b""
    assert err.decode().splitlines()[-1] == "loopwalk: stopped"
    assert [file.name for file in (folder / "build").iterdir()] == ["good.json"]
    json.loads((folder / "build" / "good.json").read_text("utf-8"))
    assert list(scratch.iterdir()) == []
    engine = int(mark.read_text())
    _until(lambda: not _runs(engine))


def test_while_a_file_is_written(
    loopwalk: Command, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert loopwalk("solve", "good.circuit", "--to", "tex").status == 0
    before = (folder / "build" / "good.tex").read_bytes()

    def interrupt(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("os.replace", interrupt)
    assert loopwalk("solve", "good.circuit", "--to", "tex", "--figures", "5").status == 130
    assert [file.name for file in (folder / "build").iterdir()] == ["good.tex"]
    assert (folder / "build" / "good.tex").read_bytes() == before


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="signals are another matter there")
def test_who_ignores_the_end_of_the_session_means_it(folder: Path, tmp_path: Path) -> None:
    mark = tmp_path / "mark"
    install(
        tmp_path / "bin",
        "pdflatex",
        PDFTEX,
        f"Path({str(mark)!r}).touch()\ntime.sleep(1)\nPath('solution.pdf').write_text('%PDF-1')",
    )
    before = signal.signal(signal.SIGHUP, signal.SIG_IGN)  # as nohup does
    try:
        command = start(folder, "solve", "good.circuit")
    finally:
        signal.signal(signal.SIGHUP, before)
    _until(mark.exists)
    command.send_signal(signal.SIGHUP)
    command.communicate(timeout=30)
    assert command.returncode == 0


@pytest.mark.slow
@pytest.mark.skipif(os.name == "nt", reason="pipes are another matter there")
def test_a_reader_who_has_had_enough(folder: Path) -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-m", "derive", "solve", "good.circuit", "--to", "text", "--out", "-"],
        cwd=folder,
        env=environment(),
        stdout=writer,
        stderr=subprocess.PIPE,
        check=False,
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (0, b"")


@pytest.mark.slow
def test_a_terminal_that_knows_only_ascii(folder: Path) -> None:
    for arguments in (("solve", "good.circuit"), ("solve", "bad.circuit"), ("--help",)):
        done = subprocess.run(
            [sys.executable, "-m", "derive", *arguments],
            cwd=folder,
            env=environment(PYTHONIOENCODING="ascii"),
            capture_output=True,
            check=False,
        )
        assert done.returncode in (0, 1)
        assert b"Traceback" not in done.stderr


@pytest.mark.slow
def test_the_same_input_gives_the_same_bytes(folder: Path) -> None:
    results = []
    for seed in ("1", "2"):
        done = subprocess.run(
            [sys.executable, "-m", "derive", "solve", "good.circuit", "--to", "tex", "--out", "-"],
            cwd=folder,
            env=environment(PYTHONHASHSEED=seed),
            capture_output=True,
            check=True,
        )
        results.append(done.stdout)
    assert results[0] == results[1] != b""


def _until(condition: Callable[[], bool]) -> None:
    for _ in range(600):
        if condition():
            return
        time.sleep(0.05)
    pytest.fail("waited 30 s in vain")


def _runs(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text().rsplit(")", 1)[1].split()[0]
    except (FileNotFoundError, ProcessLookupError):
        return False
    return state not in "ZX"
