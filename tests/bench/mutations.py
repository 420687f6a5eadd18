"""Changed steps: each must be refused unless it means the same.

``python -m tests.bench.mutations --stride 13`` takes every thirteenth change of each example, by
both routes, and every change of the small proofs of the tests and of the courses in time.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Iterator
from multiprocessing import Pool
from pathlib import Path

from tests.checker import test_course
from tests.checker.mutate import mutants
from tests.checker.sound import all_proofs
from tests.checker.test_derived import EXAMPLES, derived, example, refuse_changes
from tests.checker.test_mutations import harmless_changes


def one(task: tuple[Path, bool, int]) -> tuple[str, int]:
    """Change one derivation; return its name and how many changes were refused."""
    path, numbers_first, stride = task
    circuit = example(path)
    derivation = derived(circuit, numbers_first=numbers_first)
    return path.stem, refuse_changes(circuit, derivation, start=0, stride=stride)


def small_proofs() -> Iterator[tuple[str, int]]:
    """Make every change of the small proofs; yield their names and how many were refused."""
    for proof in all_proofs():
        made = sum(1 for _ in mutants(proof.circuit, proof.derivation))
        yield proof.name, made - harmless_changes(proof, 1).total()
    for name in test_course.TEXTS:
        yield f"course, {name}", test_course.refuse_changes(name, 1)


def main() -> int:
    """Run all and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stride", type=int, default=13)
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    began = time.perf_counter()
    tasks = [(path, first, options.stride) for path in EXAMPLES for first in (False, True)]
    refused = 0
    for name, count in small_proofs():
        print(f"{name}: {count} refused", flush=True)
        refused += count
    with Pool(options.jobs) as pool:
        for name, count in pool.imap_unordered(one, tasks):
            print(f"{name}: {count} refused", flush=True)
            refused += count
    print(f"changes refused {refused}, seconds {time.perf_counter() - began:.0f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
