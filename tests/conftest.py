"""Tests that need a TeX or a browser are skipped where it is missing; in CI a skip is a failure.

They are marked `tex`; those that ask for the fixture `browser` are marked so here.
"""

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


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "browser" in getattr(item, "fixturenames", ()):
            item.add_marker("browser")


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("tex") and missing():
        pytest.skip(f"TeX is not complete on this machine: no {missing()}")


@pytest.hookimpl(wrapper=True)
def pytest_runtest_makereport(
    item: pytest.Item,
) -> Generator[None, pytest.TestReport, pytest.TestReport]:
    report = yield
    marked = item.get_closest_marker("tex") or item.get_closest_marker("browser")
    wanted = marked and os.environ.get("CI")
    if wanted and report.skipped and not hasattr(report, "wasxfail"):
        report.outcome = "failed"
        report.longrepr = f"skipped, but in CI such a test must run: {report.longrepr}"
    return report
