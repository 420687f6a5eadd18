"""A long formula is announced before it is worked out."""

from __future__ import annotations

from itertools import combinations
from pathlib import Path

from tests.cli.calls import Command


def test_the_number_of_products_is_told_first(loopwalk: Command, folder: Path) -> None:
    # The complete graph on five points has 5³ = 125 spanning trees (Cayley 1889, from memory).
    walks = [
        f"I{k}: P{a} (-E{k}+) (R{k}) P{b}" for k, (a, b) in enumerate(combinations(range(5), 2), 1)
    ]
    (folder / "five.circuit").write_text("\n".join(walks) + "\n", encoding="utf-8")
    ended = loopwalk("formula", "five.circuit")
    assert ended.status == 0
    assert "the common denominator will have 125 products" in ended.err
    assert ended.out.count(" = ") == 10
    refused = loopwalk("formula", "five.circuit", "--terms", "124")
    assert refused.status == 1
    assert "has 125 products, more than 124" in refused.err
    assert refused.out == ""
