"""Figures of planar circuits: the published cases and random ones of every family.

``python -m tests.bench.figures --circuits 2000``: no two wires may cross, no two labels touch, no
label lie on a wire, part, arrow or frame, every wire must run along an axis, and the figure, read
back from the TikZ and from the SVG, must be the circuit. Prints for each family how many bends a
figure has (turns of a branch's line on its way from node to node), how large it is, how long its
layout took, how often it had to be stretched for its labels, and how many names were doubtful until
those of the other parts had been read. Every fault is told with its family and seed.
"""

from __future__ import annotations

import argparse
import json
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from multiprocessing import Pool
from pathlib import Path
from statistics import mean, median

from derive.analysis.loops import DependentLoops, choose_loops
from derive.circuit.elaborate import load
from derive.circuit.model import Circuit
from derive.drawing.metrics import Metrics
from derive.drawing.schematic import View, schematic
from derive.source import Source
from tests.drawing.random_planar import FAMILIES, planar, random_planar
from tests.drawing.whole_check import examine
from tests.reference.test_published import text_of

_PUBLISHED = "published"
_LARGE = 15
_DATA = Path(__file__).parents[1] / "reference" / "published.json"


@dataclass(frozen=True)
class Measured:
    """One figure."""

    family: str
    name: str
    branches: int
    faults: tuple[str, ...]
    turns: int
    eliminated: int
    width: float
    height: float
    seconds: float
    stretched: bool


@dataclass
class Tally:
    """All figures of a family."""

    figures: list[Measured] = field(default_factory=list)

    def row(self, family: str) -> str:
        turns = [f.turns for f in self.figures]
        times = [f.seconds * 1000 for f in self.figures]
        return (
            f"{family:16}{len(turns):6}{mean(turns):7.1f}{max(turns):5}"
            f"{mean(f.width * f.height for f in self.figures):8.0f}"
            f"{mean(f.width for f in self.figures):6.0f}{mean(f.height for f in self.figures):6.0f}"
            f"{median(times):8.1f}{max(times):7.1f}"
            f"{sum(f.stretched for f in self.figures) / len(turns):10.0%}"
            f"{sum(f.eliminated for f in self.figures):9}"
            f"{sum(bool(f.faults) for f in self.figures):8}"
        )


HEAD = (
    f"{'family':16}{'number':>6}{'bends':>7}{'most':>5}{'mm²':>8}{'wide':>6}{'high':>6}"
    f"{'ms':>8}{'worst':>7}{'stretched':>10}{'doubtful':>9}{'faulty':>8}"
)


def published() -> Iterator[tuple[str, Circuit]]:
    """Yield the published cases with planar circuits."""
    for case in json.loads(_DATA.read_text("utf-8"))["cases"]:
        circuit = load(Source(case["id"], text_of(case)[0])).circuit
        if planar(circuit):
            yield case["id"], circuit


def one(task: tuple[str, int]) -> Measured:
    """Draw a random circuit and look at its figure."""
    family, seed = task
    return measured(family, f"{family} {seed}", random_planar(family, seed))


def measured(family: str, name: str, circuit: Circuit) -> Measured:
    """Draw a circuit with its values and look at everything."""
    try:
        loops = choose_loops(circuit).loops
    except DependentLoops:
        loops = ()
    view = View(values=True, loops=loops)
    with _Stretches() as stretches:
        began = time.perf_counter()
        try:
            drawing = schematic(circuit, view)
        except Exception as error:  # a long run tells every fault
            told = f"{type(error).__name__}: {error}"
            return Measured(family, name, len(circuit.branches), (told,), 0, 0, 0, 0, 0, False)
        seconds = time.perf_counter() - began
    faults = []
    if schematic(circuit, view) != drawing:
        faults.append("not the same figure twice")
    found = examine(circuit, drawing, values=True)
    faults += found.faults
    return Measured(
        family, name, len(circuit.branches), tuple(faults), found.turns, found.eliminated,
        drawing.width, drawing.height, seconds, stretches.seen,
    )  # fmt: skip


class _Stretches:
    """Notes whether a figure was tried with longer wires than the usual."""

    def __enter__(self) -> _Stretches:
        self.seen = False
        self._looser: Callable[[Metrics, float], Metrics] = Metrics.looser

        def looser(metrics: Metrics, factor: float) -> Metrics:
            self.seen |= factor > 1
            return self._looser(metrics, factor)

        Metrics.looser = looser  # type: ignore[method-assign]
        return self

    def __exit__(self, *_: object) -> None:
        Metrics.looser = self._looser  # type: ignore[method-assign]


def main() -> int:
    """Draw the circuits and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=2000, help="random ones, in all families")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--family", choices=FAMILIES, action="append")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    families = options.family or list(FAMILIES)
    seeds = range(options.first, options.first + -(-options.circuits // len(families)))
    tallies = {family: Tally() for family in (_PUBLISHED, *families)}
    for name, circuit in published():
        tallies[_PUBLISHED].figures.append(measured(_PUBLISHED, name, circuit))
    tasks = [(family, seed) for family in families for seed in seeds]
    with Pool(options.jobs) as pool:
        for figure in pool.imap(one, tasks, chunksize=8):
            tallies[figure.family].figures.append(figure)
    everything = [figure for tally in tallies.values() for figure in tally.figures]
    for figure in everything:
        for fault in figure.faults:
            print(f"{figure.name}: {fault}")
    print(HEAD)
    for family, tally in tallies.items():
        print(tally.row(family))
    print(Tally(everything).row("all"))
    large = [figure.seconds * 1000 for figure in everything if figure.branches >= _LARGE]
    if large:
        print(
            f"{len(large)} circuits of {_LARGE} branches: {median(large):.1f} ms, worst {max(large):.1f} ms"
        )
    return int(any(figure.faults for figure in everything))


if __name__ == "__main__":
    raise SystemExit(main())
