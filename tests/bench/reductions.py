"""Verdicts on many circuits with one battery, and the time of large reductions.

``python -m tests.bench.reductions --circuits 5000``: the verdict on each must be that of the
independent tests of `tests.analysis.test_by_reduction` (contraction, and treewidth at most 2). Then
ladders on one battery in letters, and series-parallel networks on one battery with numbers: seconds
of the derivation of all currents and of its check, and both as multiples of the smallest of a kind
beside the multiple of its size.
"""

from __future__ import annotations

import argparse
import time
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction

from derive.algebra.dimension import OHM, VOLT
from derive.analysis.answers import derive
from derive.analysis.reduction import judge
from derive.checker.kernel import check
from derive.circuit.model import Branch, Circuit, Node, Passage
from derive.circuit.question import AskCurrents, AskReducible
from derive.circuit.valuation import Given, Valuation
from tests.analysis.test_by_reduction import one_battery, verdict_is_right
from tests.bench import resistances
from tests.drawing.circuits import circuit

_SIZES = [Fraction(n) for n in (1, 2, 3, 4, 5, 6, 8, 10, 12, 15)]


def on_a_battery(network: Circuit, one: str, other: str) -> Circuit:
    """Put a battery without resistance between two points of a network."""
    (own,) = circuit(f"{other} (-E+) {one}").branches
    first = replace(own, current=replace(own.current, name="I0"))
    names = tuple(_with_one_more(node, (one, other)) for node in network.nodes)
    walk = replace(network.walks[0], current=first.current, branch=0)
    moved = tuple(replace(w, branch=w.branch + 1) for w in network.walks)
    return replace(
        network,
        nodes=names,
        branches=(first, *network.branches),
        walks=(walk, *moved),
        questions=(AskReducible(), AskCurrents()),
    )


def _with_one_more(node: Node, ends: tuple[str, str]) -> Node:
    return replace(node, degree=node.degree + 1) if node.name in ends else node


def ladder(rungs: int) -> Circuit:
    """Return a ladder of resistors in letters on a battery."""
    return on_a_battery(resistances.ladder(rungs), "P0", "G")


def series_parallel(parts: int) -> Circuit:
    """Return a network of that many resistors of usual sizes on a battery of 12 V."""
    found = on_a_battery(resistances.series_parallel(parts, 1), "A", "B")
    values = [
        Valuation(passage.element.resistance, Given(_SIZES[k % len(_SIZES)], OHM))
        for k, passage in enumerate(_resistors(found.branches))
        if passage.element.resistance is not None
    ]
    (battery,) = found.branches[0].batteries
    emf = Valuation(battery.emf, Given(Fraction(12), VOLT))
    return replace(found, values=(emf, *values))


def _resistors(branches: Sequence[Branch]) -> list[Passage]:
    return [passage for branch in branches[1:] for passage in branch.passages]


def timed(network: Circuit) -> tuple[float, float, int]:
    """Return the seconds of the derivation and of its check, and how many steps it has."""
    start = time.perf_counter()
    derivation = derive(network)
    middle = time.perf_counter()
    verdict = check(network, derivation)
    end = time.perf_counter()
    assert verdict.accepted, verdict
    return middle - start, end - middle, len(derivation.steps)


def table(name: str, make: Callable[[int], Circuit], sizes: Sequence[int]) -> None:
    """Print the times of networks that grow."""
    smallest: tuple[float, float, int] | None = None
    print(f"{name:<36} derive       check    steps   size  derive  check  (multiples)")
    for size in sizes:
        found = timed(make(size))
        smallest = smallest or found
        times = " ".join(
            f"{now / before:7.1f}" for now, before in zip(found[:2], smallest[:2], strict=True)
        )
        print(f"{size:>36} {found[0]:7.3f} s {found[1]:7.3f} s {found[2]:8} "
              f"{size / sizes[0]:6.1f} {times}", flush=True)  # fmt: skip


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=5000)
    wanted = parser.parse_args().circuits
    verdicts: Counter[str] = Counter()
    for seed in range(wanted):
        made = one_battery(seed)
        if made is not None:
            assert verdict_is_right(made), seed
            verdicts[judge(made).test.value] += 1
    print(f"{verdicts.total()} verdicts as by contraction and by treewidth: {dict(verdicts)}")
    table("ladder in letters, rungs", ladder, (50, 100, 200))
    table("series-parallel in numbers, parts", series_parallel, (500, 1000, 2000))


if __name__ == "__main__":
    main()
