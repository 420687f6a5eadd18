"""What the README promises, as far as a test can see; .ci/run runs its commands."""

import contextlib
import io
import re
from pathlib import Path

import pytest

from derive.cli.arguments import FIGURE_FORMATS, FORMATS
from tests.conftest import PROGRAMS

ROOT = Path(__file__).resolve().parents[1]
README = (ROOT / "README.md").read_text("utf-8")


def block(before: str) -> str:
    """Return the first block of code after a text."""
    found = re.search(re.escape(before) + r".*?```\w*\n(.*?)```", README, re.DOTALL)
    assert found, before
    return found[1]


def test_the_example_is_the_file_that_is_solved_and_shown() -> None:
    example = ROOT / "examples" / "boat_batteries.circuit"
    assert block("boat_batteries.circuit)") == example.read_text("utf-8")
    assert f"solve {example.relative_to(ROOT)}" in block("<!-- set-up command -->")
    assert "(examples/boat_batteries.png)" in README
    assert example.with_suffix(".png").read_bytes().startswith(b"\x89PNG")


def test_each_command_is_one_command() -> None:
    for mark in ("<!-- set-up command -->", "<!-- test command -->", "<!-- TeX command -->"):
        lines = block(mark).splitlines()
        assert all(line.endswith(("&&", "\\")) for line in lines[:-1])


def test_the_packages_that_tex_needs_are_the_ones_of_the_hint(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    from derive.engines.tex import install_hint

    monkeypatch.setattr("sys.platform", "linux")
    monkeypatch.setattr("shutil.which", lambda name: f"/usr/bin/{name}")
    packages = re.findall(r"texlive-\S+|latexmk|lmodern", install_hint())
    assert len(packages) > 5
    assert set(packages) <= set(block("<!-- TeX command -->").split())


def test_ci_asks_for_the_programs_that_the_tests_need() -> None:
    script = (ROOT / ".ci" / "run").read_text("utf-8")
    # kpsewhich comes with every TeX.
    assert [name for name in PROGRAMS if name not in script] == ["kpsewhich"]


def test_links_lead_somewhere() -> None:
    links = re.findall(r"\]\(([^)]+)\)", README)
    assert len(links) > 4
    assert [link for link in links if not (ROOT / link).exists()] == []


def test_every_result_is_explained() -> None:
    for form in FORMATS:
        assert f"| `{form}` |" in README
    for form in FIGURE_FORMATS:
        assert f"| `{form}` (of `draw`) |" in README


def test_the_python_example_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        exec(block("## From Python"), {})
    lines = printed.getvalue().splitlines()
    assert [line[:5] for line in lines[:3]] == ["I1 = ", "I2 = ", "I3 = "]
    assert "The general formula" in printed.getvalue()
    assert lines[-1] == "('I = E1/(r1 + R1)',)"
