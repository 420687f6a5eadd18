"""Resistances between two points of many random networks, and of two large ones.

``python -m tests.bench.resistances --circuits 5000``: each must equal the quotient of determinants
(exactly) and networkx's `resistance_distance`, and every step must pass the checker. Then a ladder
of 200 rungs in letters, and a series-parallel network of 2 000 parts in numbers, with the time of
the reduction and of its check.
"""

from __future__ import annotations

import argparse
import random
import time
from collections import Counter
from dataclasses import replace

from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.model import Circuit
from derive.circuit.question import AskResistance
from derive.derivation.exchanges import Replace
from tests.analysis.test_resistance import arms, by_networkx, by_trees, derived
from tests.drawing.circuits import circuit
from tests.random_circuits import random_circuit


def series_parallel(parts: int, seed: int) -> Circuit:
    """Return a network of that many resistors between A and B."""
    rng = random.Random(seed)
    edges = [("A", "B")]
    while len(edges) < parts:
        k = rng.randrange(len(edges))
        one, other = edges[k]
        if rng.random() < 0.5:
            edges.append((one, other))
        else:
            edges[k] = one, f"N{len(edges)}"
            edges.append((f"N{len(edges)}", other))
    return circuit(*(f"{a} (R{k}) {b}" for k, (a, b) in enumerate(edges, 1)))


def ladder(rungs: int) -> Circuit:
    """Return a ladder of resistors in letters."""
    walks = []
    for k in range(rungs):
        walks += [f"P{k} (R{2 * k + 1}) P{k + 1}", f"P{k + 1} (R{2 * k + 2}) G"]
    return replace(circuit(*walks), values=())


def timed(name: str, network: Circuit, one: str, other: str) -> None:
    asked = replace(network, questions=(AskResistance(one, other),))
    start = time.perf_counter()
    derivation = derive(asked)
    middle = time.perf_counter()
    accepted = check(asked, derivation).accepted
    end = time.perf_counter()
    assert accepted, name
    print(f"{name}: {middle - start:.2f} s, check {end - middle:.2f} s")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=5000)
    wanted = parser.parse_args().circuits
    exchanges: Counter[str] = Counter()
    compared = 0
    for seed in range(wanted):
        rng = random.Random(f"bench {seed}")
        network = random_circuit(rng, loops=(1, 7))
        names = [node.name for node in network.nodes]
        if len(names) < 2:
            continue
        one, other = rng.sample(names, 2)
        try:
            edges, root = arms(network)
        except ValueError:  # letters
            continue
        derivation, found = derived(replace(network, questions=(AskResistance(one, other),)))
        exchanges.update(s.exchange.value for s in derivation.steps if isinstance(s, Replace))
        if root[one] == root[other]:
            assert found == 0, seed
            continue
        assert found == by_trees(edges, root[one], root[other]), seed
        reference = by_networkx(edges, root[one], root[other])
        assert abs(float(found) - reference) <= 1e-9 * reference, seed
        compared += 1
    print(f"{compared} networks equal determinants and networkx; exchanges: {dict(exchanges)}")
    timed("ladder of 200 rungs in letters", ladder(200), "P0", "G")
    timed("2 000 parts in numbers", series_parallel(2000, 1), "A", "B")


if __name__ == "__main__":
    main()
