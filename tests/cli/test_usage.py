"""Wrong usage is told in a line or two and ends with 2; help teaches and ends with 0."""

import re
import sys
from pathlib import Path
from subprocess import run

import pytest

from derive import __version__
from derive.bounds import FIGURES
from derive.cli.arguments import COMMANDS, FIGURE_FORMATS, FORMATS
from derive.cli.teaching import EXAMPLE
from derive.proving import _MOST_IN_LETTERS, _MOST_WITH_VALUES
from tests.cli.calls import ROOT, Command, environment


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((), "usage: loopwalk"),
        (("solve",), "FILE"),
        (("formula",), "FILE"),
        (("solve", "good.circuit", "--to", "word"), "there is no format 'word'; the formats are"),
        (("solve", "good.circuit", "--to", "tex,,pdf"), "there is no format ''"),
        (("solve", "good.circuit", "--to", ""), "there is no format ''"),
        (("solve", "good.circuit", "--engine", "word"), "embedded"),
        (("solve", "good.circuit", "--jobs", "0"), "a whole number from 1 to 1000"),
        (("solve", "good.circuit", "--jobs", "-1"), "a whole number from 1 to 1000"),
        (("solve", "good.circuit", "--jobs", "10000"), "a whole number from 1 to 1000"),
        (("solve", "-", "--watch"), "--watch is for files and a folder"),
        (
            ("solve", "good.circuit", "--to", "text", "--out", "-", "--watch"),
            "--watch is for files and a folder",
        ),
        (("complete", "fish"), "bash"),
        (("solve", "good.circuit", "--detail", "most"), "full"),
        (("solve", "good.circuit", "--figures", "0"), "a whole number from 1 to 12"),
        (("solve", "good.circuit", "--figures", "13"), "a whole number from 1 to 12"),
        (("solve", "good.circuit", "--figures", "3.5"), "'3.5' is not a whole number"),
        (("solve", "good.circuit", "--terms", "9" * 5000), "from 1 to 1000000"),
        (("solve", "good.circuit", "--number"), "--number"),
        (("solve", "good.circuit", "--out", "-"), "exactly one format"),
        (("solve", "good.circuit", "--to", "tex,pdf", "--out", "-"), "exactly one format"),
        (("solve", "good.circuit", "bad.circuit", "--to", "tex", "--out", "-"), "exactly one file"),
        (("formula", "good.circuit", "--to", "tex"), "--to"),
        (("slove", "good.circuit"), "there is no command 'slove'; try: loopwalk --help"),
        (("good.circuit",), "try: loopwalk solve good.circuit"),
        (("solve", "good.circuit", "good.circuit"), "would be written to the same files"),
        (("solve", "good.circuit", "./GOOD.circuit"), "would be written to the same files"),
    ],
)
def test_wrong_usage(
    loopwalk: Command, folder: Path, arguments: tuple[str, ...], told: str
) -> None:
    ended = loopwalk(*arguments)
    assert ended.status == 2
    assert told in ended.out + ended.err
    assert sorted(file.name for file in folder.iterdir()) == ["bad.circuit", "good.circuit"]


def test_different_stems_with_one_target_are_seen(loopwalk: Command, folder: Path) -> None:
    (folder / "good.fragment.circuit").write_text((folder / "good.circuit").read_text("utf-8"))
    names = ("good.circuit", "good.fragment.circuit")
    assert loopwalk("solve", *names, "--to", "tex,fragment").status == 2
    assert loopwalk("solve", *names, "--to", "tex").status == 0


def test_help_names_everything_and_fits_a_terminal(loopwalk: Command) -> None:
    for arguments in (("--help",), *((name, "--help") for name in COMMANDS)):
        ended = loopwalk(*arguments)
        assert (ended.status, ended.err) == (0, "")
        assert all(len(line) <= 80 for line in ended.out.splitlines())
    told = loopwalk("--help").out
    for word in (*COMMANDS, *FORMATS, *FIGURE_FORMATS):
        assert re.search(rf"^ +{word} ", told, re.MULTILINE), word
    assert all(re.search(rf"^  {status}  ", told, re.MULTILINE) for status in range(4))


def test_figures_have_the_same_bounds_in_the_file(loopwalk: Command, folder: Path) -> None:
    text = (folder / "good.circuit").read_text("utf-8")
    for figures, status in ((FIGURES[1], 0), (FIGURES[1] + 1, 1)):
        (folder / "good.circuit").write_text(f"{text}\nfigures {figures}\n", "utf-8")
        assert loopwalk("solve", "good.circuit", "--to", "json").status == status


def test_the_bounds_of_the_help_are_those_of_the_passes(loopwalk: Command) -> None:
    for command, bounds in (
        ("solve", {_MOST_IN_LETTERS, _MOST_WITH_VALUES}),
        ("formula", {_MOST_IN_LETTERS}),
    ):
        told = loopwalk(command, "--help").out.split("--terms N ")[-1]
        assert {int(number) for number in re.findall(r"\(else\s+(\d+)\)", told)} == bounds


def test_the_example_of_the_help_can_be_solved(loopwalk: Command, folder: Path) -> None:
    indented = loopwalk("--help").out
    lines = [line[6:] for line in indented.splitlines() if line.startswith("      ")]
    assert "\n".join(lines).startswith(EXAMPLE.rstrip("\n"))
    (folder / "light.circuit").write_text(EXAMPLE, "utf-8")
    assert loopwalk("solve", "light.circuit", "--to", "text").status == 0


def test_version(loopwalk: Command) -> None:
    ended = loopwalk("--version")
    assert (ended.status, ended.out) == (0, f"loopwalk {__version__}\n")


def test_help_does_not_wait_for_the_algebra() -> None:
    code = "import sys; from derive.cli import main; main(['--help']); print(*sys.modules)"
    done = run([sys.executable, "-c", code], env=environment(), capture_output=True, check=True)
    loaded = set(done.stdout.decode().split("\n")[-2].split())
    assert "derive.cli.command" in loaded
    assert not loaded & {"lark", "flint", "sympy", "pylatex", "derive.pipeline"}


def test_a_solution_does_not_wait_for_what_it_does_not_need(folder: Path) -> None:
    code = (
        "import sys; from derive.cli import main\n"
        "assert main(['solve', 'good.circuit', '--to', 'tex']) == 0; print(*sys.modules)"
    )
    done = run(
        [sys.executable, "-c", code],
        env=environment(),
        cwd=folder,
        capture_output=True,
        check=True,
    )
    loaded = set(done.stdout.decode().split("\n")[-2].split())
    assert {"lark", "flint", "pylatex"} <= loaded
    assert not loaded & {"sympy", "networkx", "numpy", "derive.engines.tex"}


def test_a_missing_library_is_named() -> None:
    done = run(
        [sys.executable, "-S", "-m", "derive", "formula", "examples/letters.circuit"],
        cwd=ROOT,
        env=environment(PYTHONPATH=""),
        capture_output=True,
        check=False,
    )
    assert done.returncode == 3
    told = done.stderr.decode()
    assert re.match(r"loopwalk: the Python package \w+ is missing\n  hint: install", told)
    assert "Traceback" not in told


def test_a_broken_program_says_so(loopwalk: Command, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError("a slip of ours")

    monkeypatch.setattr("derive.cli.command._options", fail)
    ended = loopwalk("solve", "good.circuit")
    assert ended.status == 3
    assert "a slip of ours" in ended.err


def test_both_names_of_the_command_are_one() -> None:
    text = (ROOT / "pyproject.toml").read_text("utf-8")
    assert 'loopwalk = "derive.cli:main"' in text
    assert "from derive.cli import main" in (ROOT / "derive" / "__main__.py").read_text("utf-8")
