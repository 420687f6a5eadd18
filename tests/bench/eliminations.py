"""How much the solutions make a person write, against Gauss, Cramer and the best there is.

``python -m tests.bench.eliminations`` measures (`tests/elimination_routes.py`) what follows the
collected loop equations in all reference cases with two or more loops and in ``--random`` circuits,
with numbers and in letters: marks, digits of the largest number, fraction bars. It tells how much
longer Gauss's elimination in file order and Cramer's rule are on the same equations, and ends with 1
where one of them is shorter. ``--optimum N`` compares circuits of up to N unknowns with every order of
unknowns and pivots, and ``--choices N`` those of up to N loops with every tree and with other sets of
loops, where the work on the laws counts too. The reference files give printed answers alone, no
printed route, so there is none to compare with.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from dataclasses import dataclass, field
from itertools import combinations, islice
from pathlib import Path
from statistics import mean

from derive.analysis.loops import LoopChoice, choose_loops
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.diagnostic import Rejected
from derive.source import Source
from tests import elimination_routes as routes
from tests.differential.checks import net_of
from tests.elimination_routes import Cost, System, system
from tests.random_circuits import in_letters
from tests.reference import test_other_parts, test_published

_MOST_LETTERS = 4
"""Unknowns up to which systems in letters are measured: Cramer's determinants grow fast."""


def reference() -> Iterator[tuple[str, Circuit]]:
    """Yield the circuits of the reference files that have loops to solve."""
    folder = Path(test_published.__file__).parent
    for name in ("published", "reductions"):
        for case in json.loads((folder / f"{name}.json").read_text("utf-8"))["cases"]:
            kinds = {e["type"] for e in case.get("elements", ())}
            if "E" in kinds and kinds <= {"R", "E"}:
                text = test_published.text_of({**case, "answers": []})[0]
                lines = [line for line in text.splitlines() if _has_a_number(line)]
                yield from _loaded(case["id"], "\n".join(lines))
    for case in test_other_parts.CASES:
        yield from _loaded(case["id"], test_other_parts.text_of(case))


def _has_a_number(line: str) -> bool:
    """Tell whether a line is no value, or a number: some cases are in letters."""
    return "=" not in line or line.split("=")[1].split()[0][0].isdigit()


def _loaded(name: str, text: str) -> Iterator[tuple[str, Circuit]]:
    try:
        yield name, load(Source(name, text)).circuit
    except Rejected as fault:
        print(f"{name} is left out: {fault.diagnostics[0].message}")


def random(count: int, *, first: int = 0) -> Iterator[tuple[str, Circuit]]:
    """Yield random circuits with two or more loops."""
    made = 0
    while made < count:
        net = net_of(first)
        if net.loops > 1:
            made += 1
            yield from _loaded(f"seed {first}", net.text("ask currents"))
        first += 1


@dataclass
class Tally:
    """Measures of one kind."""

    ours: list[Cost] = field(default_factory=list)
    others: dict[str, list[Cost]] = field(default_factory=dict)
    worse: list[str] = field(default_factory=list)

    def add(self, name: str, ours: Cost, **others: Cost | None) -> None:
        """Count one circuit."""
        self.ours.append(ours)
        for route, cost in others.items():
            if cost is None:
                continue
            self.others.setdefault(route, []).append(cost)
            margin = cost.marks / max(1, ours.marks)
            print(f"  {name:9} ours {told(ours)}   {route:17} {told(cost)}   {margin:5.2f}")
            if cost.marks < ours.marks:
                self.worse.append(f"{name}: {route} has {cost.marks} marks, ours {ours.marks}")


def told(cost: Cost) -> str:
    """Return marks, digits of the largest number, fraction bars."""
    return f"{cost.marks:6} {cost.longest:3} {cost.fractions:4}"


def numbers_of(circuit: Circuit) -> System | None:
    """Return the loop equations with numbers; None where there are fewer than two."""
    if not circuit.branches:
        return None
    found = system(circuit, numbers=True)
    return found if len(found.rows) > 1 and found.letters.numeric else None


def letters_of(circuit: Circuit) -> System | None:
    """Return the loop equations in letters; None where there are not two to `_MOST_LETTERS`."""
    if not circuit.branches or circuit.sought or circuit.dependent or circuit.conditions:
        return None
    found = system(in_letters(circuit), numbers=False)
    return found if 2 <= len(found.rows) <= _MOST_LETTERS else None


def measure(name: str, circuit: Circuit, numbers: Tally, letters: Tally) -> None:
    """Measure one circuit with numbers and in letters."""
    found = numbers_of(circuit)
    if found is not None:
        numbers.add(
            name,
            routes.planned_numbers(found),
            gauss=routes.gauss_numbers(found),
            cramer=routes.cramer_numbers(found),
        )
    found = letters_of(circuit)
    if found is None:
        return
    ours = routes.planned_letters(found)
    if ours is None:
        print(f"  {name:9} has no elimination with names")
        return
    named = routes.named_by(found, routes.file_order(found.rows)) if len(found.rows) > 2 else None
    letters.add(
        name,
        ours,
        gauss=routes.gauss_letters(found),
        gauss_with_names=named,
        cramer=routes.cramer_letters(found),
    )


def summary(title: str, tally: Tally) -> None:
    """Print what one kind of measures came to."""
    mine = tally.ours
    print(f"{title}: {len(mine)} systems, {sum(c.marks for c in mine)} marks")
    for route, costs in tally.others.items():
        compared = tally.ours if len(costs) == len(mine) else None
        margins = [] if compared is None else [
            other.marks / max(1, own.marks) for own, other in zip(mine, costs, strict=True)
        ]  # fmt: skip
        line = f"  {route:17} {sum(c.marks for c in costs)} marks in {len(costs)} systems"
        if margins:
            line += f", {mean(margins):.2f} of ours on average, {min(margins):.2f} at least"
            digits = mean(o.longest - c.longest for c, o in zip(mine, costs, strict=True))
            bars = mean(o.fractions - c.fractions for c, o in zip(mine, costs, strict=True))
            line += f"; {digits:+.1f} digits, {bars:+.1f} fraction bars"
        print(line)
    for line in tally.worse:
        print(f"  WORSE {line}")


def optimum(name: str, circuit: Circuit, most: int) -> Iterator[tuple[str, float]]:
    """Yield how much longer our plan is than the best one, with numbers and in letters."""
    found = numbers_of(circuit)
    if found is not None and len(found.rows) <= most:
        plans = (p for p in routes.every_plan(len(found.rows)) if routes.possible(found.rows, p))
        best = min(routes.by_plan(found, plan).marks for plan in plans)
        yield "numbers", _ratio(name, "numbers", routes.planned_numbers(found).marks, best)
    found = letters_of(circuit)
    if found is None or not 3 <= len(found.rows) <= most:
        return
    ours = routes.planned_letters(found)
    if ours is None:
        return
    tried = (routes.named_by(found, plan) for plan in routes.every_plan(len(found.rows)))
    best = min(cost.marks for cost in tried if cost is not None)
    yield "letters", _ratio(name, "letters", ours.marks, best)


def _ratio(name: str, kind: str, ours: int, best: int) -> float:
    if ours > best:
        print(f"  {name:9} {kind}: {ours} marks, the best plan has {best}")
    return ours / best


def choices(name: str, circuit: Circuit, most: int) -> Iterator[tuple[str, float]]:
    """Yield how much longer the whole work is than with the best tree, and with the best loops."""
    base = choose_loops(circuit)
    if not 2 <= len(base.loops) <= most or circuit.sought or numbers_of(circuit) is None:
        return
    ours = routes.whole(circuit, base).marks
    trees = list(islice(routes.every_tree(circuit), 101))
    if len(trees) <= 100:
        best = min(routes.whole(circuit, base, tree).marks for tree in trees)
        yield "tree", ours / best
    sets = list(islice(loop_sets(circuit), 60))
    best = min(routes.whole(circuit, loops).marks for loops in sets)
    yield "loops", ours / best
    print(f"  {name:9} {ours} marks, best of {len(sets)} sets of loops {best}")


def loop_sets(circuit: Circuit) -> Iterator[LoopChoice]:
    """Yield independent sets of the loops that are easiest to write."""
    easiest = routes.easiest_loops(circuit)[:14]
    for chosen in combinations(easiest, len(choose_loops(circuit).loops)):
        if routes.are_independent(chosen):
            yield LoopChoice(chosen, None, windows=False)


def main() -> int:
    """Measure and print."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--random", type=int, default=100, help="random circuits besides")
    parser.add_argument("--optimum", type=int, default=0, help="unknowns up to which all is tried")
    parser.add_argument("--choices", type=int, default=0, help="loops up to which others are tried")
    parser.add_argument("--sample", type=int, default=20, help="random circuits for these two")
    options = parser.parse_args()
    worse = 0
    for title, circuits in (("reference", reference()), ("random", random(options.random))):
        numbers, letters = Tally(), Tally()
        for name, circuit in circuits:
            measure(name, circuit, numbers, letters)
        summary(f"{title}, numbers", numbers)
        summary(f"{title}, letters", letters)
        worse += len(numbers.worse) + len(letters.worse)
    for most, compare in ((options.optimum, optimum), (options.choices, choices)):
        ratios: dict[str, list[float]] = {}
        for name, circuit in (*reference(), *random(options.sample)) if most else ():
            for kind, ratio in compare(name, circuit, most):
                ratios.setdefault(kind, []).append(ratio)
        for kind, found in ratios.items():
            print(f"{kind}: {len(found)} systems, ours over the best {mean(found):.4f} on average,")
            print(f"  {max(found):.4f} at most; best in {sum(r <= 1 for r in found)}")
    return int(bool(worse))


if __name__ == "__main__":
    raise SystemExit(main())
