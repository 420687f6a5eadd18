"""Pages of random circuits, read back in every format and compared with their derivations.

``python -m tests.bench.read_back --circuits 1000``: a random file is solved by a random route and
in random detail, written in every format and read back (`tests.page.check`). What is told on one
page must be told on every other, and must follow from the checked steps. Refused files are counted.
With ``--mutations N`` up to N places of every kind are changed in every format, and every change
must be found.
"""

from __future__ import annotations

import argparse
import random
import time
import traceback
from collections import Counter
from dataclasses import dataclass, field
from functools import partial
from multiprocessing import Pool

from derive.diagnostic import Rejected
from derive.document.telling import Detail
from derive.options import Group, Options
from derive.pipeline import Solution, solve
from derive.source import Source
from tests.page.check import FORMATS, READERS, caught, faults, known_of, written
from tests.page.mutations import mutations
from tests.page.random_files import random_file


@dataclass
class Outcome:
    """What a file came to."""

    came: str
    faults: list[str] = field(default_factory=list)
    made: Counter[str] = field(default_factory=Counter)
    """Changed pages by format."""


def one(seed: int, changes: int) -> Outcome:
    """Solve one file and read its pages."""
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
        texts = written(solution, width=rng.choice([80, 80, 60, 100, 40]))
        found = faults(solution, texts)
        outcome = Outcome("fault" if found else "agreed", [f"{len(found)}: {f}" for f in found[:1]])
        if changes and not found:
            _change(outcome, solution, texts, rng, changes)
    except Rejected as refused:
        code = refused.diagnostics[0].code
        return Outcome(f"refused: {code}", [text] if code == "unproved" else [])
    except Exception:
        return Outcome("broken", [f"{traceback.format_exc(limit=-4)}\n{text}"])
    return outcome


def _change(
    outcome: Outcome, solution: Solution, texts: dict[str, str], rng: random.Random, count: int
) -> None:
    first, known = READERS["latex"](texts["latex"]), known_of(solution)
    for kind in FORMATS:
        for mutation in mutations(kind, texts[kind], rng, count):
            outcome.made[kind] += 1
            if not caught(solution, first, kind, mutation.text, known):
                outcome.came = "survived"
                outcome.faults.append(f"{kind}, {mutation.kind}: {mutation.shown}")


def main() -> int:
    """Run the circuits and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--circuits", type=int, default=1_000)
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--jobs", type=int, default=2)
    parser.add_argument("--mutations", type=int, default=0, help="changes of each kind a format")
    options = parser.parse_args()
    began = time.perf_counter()
    came: Counter[str] = Counter()
    made: Counter[str] = Counter()
    survived = 0
    seeds = range(options.first, options.first + options.circuits)
    with Pool(options.jobs) as pool:
        work = partial(one, changes=options.mutations)
        for seed, outcome in zip(seeds, pool.imap(work, seeds, chunksize=4), strict=True):
            came[outcome.came] += 1
            made += outcome.made
            survived += len(outcome.faults) if outcome.came == "survived" else 0
            for fault in outcome.faults:
                print(f"seed {seed}: {fault}", flush=True)
    print(f"circuits {options.circuits}: {dict(came.most_common())}")
    if options.mutations:
        print(f"changed pages {dict(made)}, not found {survived}")
    print(f"seconds {time.perf_counter() - began:.0f}")
    wrong = came["fault"] + came["broken"] + came["survived"] + came["refused: unproved"]
    return int(bool(wrong))


if __name__ == "__main__":
    raise SystemExit(main())
