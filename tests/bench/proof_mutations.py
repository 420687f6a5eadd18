"""Changed steps of all examples, for the checker of the package and for the one that stands alone.

``python -m tests.bench.proof_mutations --each 4`` changes every kind of step of every example in up
to four ways by each route, and prints for both checkers how many changes were made and refused, and
each survivor with the reason why its meaning is the same. It ends with 1 if there is none.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import fields
from multiprocessing import Pool
from typing import Any

from derive.checker.kernel import check
from derive.options import Options
from derive.proving import prove
from derive.source import Source
from tests.checker import mutate, test_course, test_mutations
from tests.checker.alone import refusal, told
from tests.checker.proof_mutants import mutants
from tests.checker.proof_reasons import reason
from tests.checker.test_derived import COURSES, EXAMPLES

BY_A_TEST_SOURCE = """I1: A (-E1+) (R1) B
I2: B (-E2+) (R2) A
I3: B (R3) A
E1 = 10 V; R1 = 2 ohm; R2 = 3 ohm ± 5 %; R3 = 6 ohm; E2 = 2 ohm * I3
ask resistance A B
ask currents
"""
"""Kinds of steps that no example has."""
Task = tuple[str, str, bool, int, str]
"""Name, text, route, changes of a kind of step, and which checker."""
Survivor = tuple[str, str, str | None]
"""Whence it comes, what was changed, and why it means the same; None where that is not known."""
Found = tuple[str, Counter[str], Counter[str], list[Survivor]]
"""Which checker; changes made and refused by kind; survivors."""
SHOWN = 160
"""Characters of a changed part that are shown."""


def one(task: Task) -> Found:
    """Change one derivation for one checker."""
    name, text, numbers_first, each, which = task
    proved = prove(Source(name, text), Options(numbers_first=numbers_first))
    rng = random.Random(f"{name} {numbers_first}")
    made, refused = Counter[str](), Counter[str]()
    survivors: list[Survivor] = []
    data = told(proved.circuit, proved.derivation)
    if which == "package":
        every: Iterable[Any] = mutate.mutants(proved.circuit, proved.derivation)
    else:
        every = mutants(data)
    for kind, found in _some(every, each, rng).items():
        for mutant in found:
            made[kind] += 1
            if which == "package":
                gone = not check(proved.circuit, mutant.derivation).accepted
            else:
                gone = bool(refusal({**data, "lines": mutant.lines}))
            if gone:
                refused[kind] += 1
                continue
            if which == "alone":
                why = reason(mutant, data)
            elif isinstance(mutant.old, COURSES):
                same = test_course.harmless(test_course.numbers_of(proved.derivation), mutant)
                why = "the same course, or as many of its digits are right" if same else None
            else:
                why = test_mutations.reason(mutant)
            route = "numbers first" if numbers_first else "letters first"
            survivors.append((f"{name}, {route}, {kind}", _change(mutant.old, mutant.new), why))
    return which, made, refused, survivors


def _change(old: Any, new: Any) -> str:
    """Return what is not the same in a step or line, in short."""
    if new is None:
        return "left out"
    if isinstance(old, dict):
        was, now = old, new
    else:
        was, now = ({f.name: getattr(x, f.name) for f in fields(x)} for x in (old, new))
    changed = [key for key in was if key not in now or was[key] != now[key]]
    parts = (f"{key}: {_short(was[key])} → {_short(now.get(key))}" for key in changed)
    return "; ".join(parts) or f"{type(old).__name__} → {type(new).__name__}"


def _short(part: object) -> str:
    told = str(part)
    return told if len(told) <= SHOWN else f"{told[:SHOWN]}…"


def _some(every: Iterable[Any], each: int, rng: random.Random) -> dict[str, list[Any]]:
    """Return so many changes of each kind of step, any with the same chance."""
    found: dict[str, list[Any]] = defaultdict(list)
    met = Counter[str]()
    for mutant in every:
        kind = mutant.old["kind"] if isinstance(mutant.old, dict) else type(mutant.old).__name__
        met[kind] += 1
        if len(found[kind]) < each:
            found[kind].append(mutant)
        elif (place := rng.randrange(met[kind])) < each:
            found[kind][place] = mutant
    return found


def main() -> int:
    """Run all examples and print what came out."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--each", type=int, default=4, help="changes of a kind of step")
    parser.add_argument("--jobs", type=int, default=1)
    options = parser.parse_args()
    began, faults = time.perf_counter(), 0
    texts = {path.stem: path.read_text("utf-8") for path in EXAMPLES}
    texts["by a test source"] = BY_A_TEST_SOURCE
    tasks: list[Task] = [
        (name, text, first, options.each, which)
        for which in ("package", "alone")
        for name, text in texts.items()
        for first in (False, True)
    ]
    made: dict[str, Counter[str]] = defaultdict(Counter)
    refused: dict[str, Counter[str]] = defaultdict(Counter)
    survivors: dict[str, list[Survivor]] = defaultdict(list)
    done = 0
    with Pool(options.jobs) as pool:
        for which, tried, gone, left in pool.imap_unordered(one, tasks):
            done += 1
            print(f"{done} of {len(tasks)}", end="\r", file=sys.stderr, flush=True)
            made[which] += tried
            refused[which] += gone
            survivors[which] += left
    for which in made:
        print(f"{which}: {made[which].total()} changes, {refused[which].total()} refused")
        for kind in sorted(made[which]):
            print(f"  {kind}: {refused[which][kind]} of {made[which][kind]}")
        reasons = Counter(why or "UNEXPLAINED" for _, _, why in survivors[which])
        faults += reasons["UNEXPLAINED"]
        for why, number in reasons.most_common():
            print(f"  survived {number}: {why}")
            for whence, change, said in survivors[which]:
                if (said or "UNEXPLAINED") == why:
                    print(f"    {whence}: {change}")
    print(f"seconds {time.perf_counter() - began:.0f}, unexplained {faults}")
    return int(faults > 0)


if __name__ == "__main__":
    raise SystemExit(main())
