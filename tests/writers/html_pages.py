"""The pages of the examples, and one that holds every kind of block, each written once."""

from functools import cache

from derive.pipeline import Solution
from derive.writers import html
from tests.example_solutions import NAMES, solved
from tests.writers.sample_document import DOCUMENT

PAGES = (*NAMES, "sample")


def page_of(solution: Solution) -> str:
    return html.write(solution.document, solution.live())


@cache
def page_named(name: str) -> str:
    return html.write(DOCUMENT) if name == "sample" else page_of(solved(name))
