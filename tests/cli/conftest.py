"""A folder of its own for each test, and the command in it."""

from pathlib import Path

import pytest

from derive.cli import main
from tests.cli.calls import BAD, GOOD, Command, Ended


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The current folder, with a good circuit file and a bad one, on a machine without TeX."""
    here = tmp_path / "here"
    programs = tmp_path / "bin"
    here.mkdir()
    programs.mkdir()
    (here / "good.circuit").write_text(GOOD, "utf-8")
    (here / "bad.circuit").write_text(BAD, "utf-8")
    monkeypatch.chdir(here)
    monkeypatch.setenv("PATH", str(programs))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))  # for the logs that are kept
    return here


@pytest.fixture
def loopwalk(folder: Path, capsys: pytest.CaptureFixture[str]) -> Command:
    """Call the command in the folder; it must never show a traceback."""
    assert folder.is_dir()

    def call(*arguments: str) -> Ended:
        status = main(arguments)
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return Ended(status, out, err)

    return call
