"""Changed steps of the examples, by both routes: each must be refused unless it means the same.

``python -m tests.bench.mutations --stride 13`` takes every thirteenth change of each example.
"""

from __future__ import annotations

import argparse
import time
from multiprocessing import Pool
from pathlib import Path

from derive.analysis.answers import derive
from tests.checker.test_derived import EXAMPLES, example, refuse_changes


def one(task: tuple[Path, bool, int]) -> tuple[str, int]:
    """Change one derivation; return its name and how many changes were refused."""
    path, numbers_first, stride = task
    circuit = example(path)
    derivation = derive(circuit, numbers_first=numbers_first)
    return path.stem, refuse_changes(circuit, derivation, start=0, stride=stride)


def main() -> int:
    """Run all examples and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--stride", type=int, default=13)
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    began = time.perf_counter()
    tasks = [(path, first, options.stride) for path in EXAMPLES for first in (False, True)]
    refused = 0
    with Pool(options.jobs) as pool:
        for name, count in pool.imap_unordered(one, tasks):
            print(f"{name}: {count} refused", flush=True)
            refused += count
    print(f"changes refused {refused}, seconds {time.perf_counter() - began:.0f}")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
