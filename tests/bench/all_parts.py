"""Random circuits of all kinds of parts, by both routes, against modified nodal analysis.

``python -m tests.bench.all_parts --circuits 5000``: every step of every derivation must be
accepted and every answer must equal that of numpy; in every fourth circuit sources depend on
currents and voltages, and in every fourth one a value is hidden and must come out again.
"""

from __future__ import annotations

import argparse
import time
import traceback
from multiprocessing import Pool

from tests.circuit_solution.test_all_parts import compare
from tests.hidden_values import hide


def one(seed: int) -> str | None:
    """Solve one circuit; return what is wrong."""
    try:
        if seed % 4 == 3:
            return hide(seed)
        compare(seed, dependent=seed % 4 == 1)
    except Exception:
        return f"seed {seed}: {traceback.format_exc(limit=-3)}"
    return None


def main() -> int:
    """Run the circuits and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=5_000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    began = time.perf_counter()
    faults = 0
    seeds = range(options.first, options.first + options.circuits)
    with Pool(options.jobs) as pool:
        for fault in pool.imap_unordered(one, seeds, chunksize=8):
            if fault is not None:
                faults += 1
                print(fault, flush=True)
    print(f"circuits {options.circuits}, faults {faults}")
    print(f"seconds {time.perf_counter() - began:.0f}")
    return int(bool(faults))


if __name__ == "__main__":
    raise SystemExit(main())
