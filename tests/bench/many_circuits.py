"""Random circuits through derivation and checker, against numpy's nodal solution.

``python tests/bench/many_circuits.py --circuits 10000``: every step of every derivation must be
accepted and every current must equal the nodal solution to 1e-9.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from derive.algebra.polynomial import Ring
from derive.analysis.answers import derive
from derive.checker.kernel import check
from derive.circuit.model import AskCurrents
from derive.derivation.step import Conclude
from tests.random_circuits import nodal_currents, random_circuit


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=10_000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    options = parser.parse_args()
    began = time.perf_counter()
    loops: Counter[int] = Counter()
    steps = refused = wrong = 0
    largest = 0.0
    for seed in range(options.first, options.first + options.circuits):
        circuit = random_circuit(random.Random(seed))
        derivation = derive(circuit, numbers_first=True)
        verdict = check(circuit, derivation)
        steps += verdict.steps
        if not verdict.accepted:
            refused += 1
            print(f"seed {seed}: {verdict.refusal}")
            continue
        loops[len(circuit.branches) - len(circuit.nodes) + 1] += 1
        expected = dict(
            zip((b.current for b in circuit.branches), nodal_currents(circuit), strict=True)
        )
        for step in derivation.steps:
            if isinstance(step, Conclude) and isinstance(step.question, AskCurrents):
                right = derivation.equation(step.value or 0).right
                value = float(Ring(()).poly(right).constant_value)
                if step.symbol in expected:
                    off = abs(value - expected[step.symbol]) / max(1.0, abs(value))
                    largest = max(largest, off)
                    wrong += off > 1e-9
    print(f"circuits {options.circuits}, by number of loops {dict(sorted(loops.items()))}")
    print(f"steps checked {steps}, derivations refused {refused}, currents off {wrong}")
    print(f"largest deviation {largest:.1e}, seconds {time.perf_counter() - began:.0f}")
    return int(bool(refused or wrong))


if __name__ == "__main__":
    raise SystemExit(main())
