"""The examples of the repository, each solved once for all tests of a process."""

from functools import cache
from pathlib import Path

from derive.options import Options
from derive.pipeline import Solution, solve
from derive.source import Source

EXAMPLES = tuple(sorted((Path(__file__).resolve().parents[1] / "examples").glob("*.circuit")))
NAMES = tuple(path.stem for path in EXAMPLES)


def source_of(name: str) -> Source:
    path = EXAMPLES[NAMES.index(name)]
    return Source(path.name, path.read_text("utf-8"))


def solved(name: str, options: Options | None = None) -> Solution:
    return _solved(name, options or Options())


@cache
def _solved(name: str, options: Options) -> Solution:
    return solve(source_of(name), options)
