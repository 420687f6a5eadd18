"""Every file of ``tests/rejected`` is refused with what is written in it, and nothing else."""

from __future__ import annotations

from pathlib import Path

import pytest

from derive.diagnostic import Severity, render
from derive.source import Source
from tests.circuit import rejected_files

_FILES = sorted(rejected_files.FOLDER.glob("*.circuit"))


@pytest.mark.parametrize("path", _FILES, ids=lambda path: path.stem)
def test_a_rejected_file_says_what_is_written_in_it(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    source = Source(path.name, rejected_files.bare(text))
    assert rejected_files.annotated(source, rejected_files.diagnostics(source)) == text


@pytest.mark.parametrize("path", _FILES, ids=lambda path: path.stem)
def test_annotations_do_not_change_what_is_found(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    found = rejected_files.diagnostics(Source(path.name, text))
    bare = rejected_files.diagnostics(Source(path.name, rejected_files.bare(text)))
    assert [d.message for d in found] == [d.message for d in bare]
    assert found


@pytest.mark.parametrize("path", _FILES, ids=lambda path: path.stem)
def test_every_error_has_a_hint_and_can_be_shown(path: Path) -> None:
    source = Source(path.name, path.read_text(encoding="utf-8"))
    for diagnostic in rejected_files.diagnostics(source):
        assert diagnostic.message in render(diagnostic, source)
        if diagnostic.severity is Severity.ERROR:
            assert diagnostic.hints or diagnostic.code == "not-solved-yet", diagnostic


def test_there_are_many_kinds_of_mistakes() -> None:
    codes = {
        diagnostic.code
        for path in _FILES
        for diagnostic in rejected_files.diagnostics(Source("x", path.read_text(encoding="utf-8")))
    }
    assert len(codes) >= 45
