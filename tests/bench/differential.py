"""Many random circuits against independent answers and against each other, in one command.

``python -m tests.bench.differential`` runs every check of `tests/differential/checks.py` at the
size of `SIZES`; ``--check numbers --circuits 100000 --first 0 --jobs 2`` runs one. Seeds go in
chunks; after each a line tells how far the run is. The table in the end has a row for each check
and number of loops: circuits, faults, and the median and the greatest time of the whole comparison
in milliseconds of this process. It ends with 1 on any fault, told with its seed.
"""

from __future__ import annotations

import argparse
import time
import traceback
from collections import defaultdict
from collections.abc import Iterator
from multiprocessing import Pool
from statistics import median

from derive.diagnostic import Rejected
from tests.differential.checks import CHECKS, MOST, net_of

SIZES = {
    "numbers": 100_000, "letters": 1_000, "symbolic": 100, "methods": 2_000, "names": 1_000,
    "directions": 1_000, "order": 1_000, "loops": 1_000, "scales": 1_000, "superposition": 1_000,
    "reciprocity": 1_000, "tellegen": 1_000,
}  # fmt: skip
_CHUNK = 250


def one(job: tuple[str, int]) -> tuple[int, float, list[str]]:
    """Run one check; return the loops of its circuit, the time, and what is wrong."""
    check, seed = job
    began = time.process_time()
    try:
        faults = list(CHECKS[check](seed))
    except Rejected as fault:
        faults = [f"refused: {fault.diagnostics[0].message}"]
    except Exception:
        faults = [traceback.format_exc(limit=-3)]
    loops = net_of(seed, most=MOST.get(check, 7)).loops
    return loops, time.process_time() - began, faults


def chunks(first: int, count: int) -> Iterator[range]:
    """Yield the seeds in chunks."""
    for start in range(first, first + count, _CHUNK):
        yield range(start, min(start + _CHUNK, first + count))


def run(check: str, first: int, count: int, jobs: int) -> int:
    """Run one check for many seeds and print its table; return the number of faults."""
    times: dict[int, list[float]] = defaultdict(list)
    faults = done = 0
    began = time.perf_counter()
    with Pool(jobs) as pool:
        for seeds in chunks(first, count):
            work = pool.imap(one, ((check, seed) for seed in seeds), chunksize=10)
            for seed, (loops, spent, wrong) in zip(seeds, work, strict=True):
                times[loops].append(spent)
                for line in wrong:
                    faults += 1
                    print(f"{check}, seed {seed}: {line}", flush=True)
            done += len(seeds)
            seconds = time.perf_counter() - began
            print(f"  {check}: {done} of {count}, faults {faults}, {seconds:.0f} s", flush=True)
    print(f"{check:14} loops circuits  median ms  longest ms  above 50 ms")
    for loops in sorted(times):
        spent = times[loops]
        long = sum(value > 0.05 for value in spent)
        print(
            f"{'':14} {loops:5} {len(spent):8}  {1000 * median(spent):9.1f}"
            f"  {1000 * max(spent):10.1f}  {long:11}"
        )
    print(f"{check:14} {count} circuits, {faults} faults", flush=True)
    return faults


def main() -> int:
    """Run the checks and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--check", choices=[*CHECKS], action="append", help="all of them if none")
    parser.add_argument("--circuits", type=int, help="how many for each check")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    faults = 0
    for check in options.check or CHECKS:
        faults += run(check, options.first, options.circuits or SIZES[check], options.jobs)
    return int(bool(faults))


if __name__ == "__main__":
    raise SystemExit(main())
