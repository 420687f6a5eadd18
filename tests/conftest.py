"""Tests marked `tex` are skipped where TeX is missing, except in CI: there a skip is a failure."""

import os
import shutil
from collections.abc import Generator
from functools import cache

import pytest

PROGRAMS = ("pdflatex", "lualatex", "latexmk", "kpsewhich", "pdftotext")
"""What the README's first command installs for these tests."""


@pytest.fixture(autouse=True, scope="session")
def _cache_of_the_tests(tmp_path_factory: pytest.TempPathFactory) -> Generator[None]:
    """Keep formats of TeX and records of what was made away from the user's own."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_CACHE_HOME", str(tmp_path_factory.mktemp("cache")))
        yield


@cache
def missing() -> str:
    return ", ".join(name for name in PROGRAMS if shutil.which(name) is None)


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("tex") and missing():
        pytest.skip(f"TeX is not complete on this machine: no {missing()}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    wanted = item.get_closest_marker("tex") and os.environ.get("CI")
    if wanted and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped, but in CI tests marked tex must run: {report.longrepr}"
    return report
