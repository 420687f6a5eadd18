"""Read very many texts: only a circuit or a refusal may come out, and each in good time.

    python tests/bench/fuzz_language.py --texts 100000

Half of the texts are good files after a few random edits, the others are made by the grammar or
from pieces of the language. Prints how many were accepted and refused, the slowest text and its
time; stops with the text at the first failure.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import seed as seeded

from tests.language.text_strategies import (
    SEEDS,
    TOKENS,
    files_of_statements,
    mutated,
    outcome,
    statements,
)

_RUN = 500


class Tally:
    """Counts outcomes and remembers the slowest text."""

    def __init__(self) -> None:
        """Begin at nothing."""
        self.counts: Counter[tuple[str, str]] = Counter()
        self.slowest = (0.0, "")

    def take(self, origin: str, text: str) -> None:
        """Read one text."""
        begin = time.perf_counter()
        try:
            result = outcome(text)
        except BaseException:
            print(f"FAILED on a text from {origin}:\n{text!r}")
            raise
        self.slowest = max(self.slowest, (time.perf_counter() - begin, text))
        self.counts[origin, result] += 1


def main() -> None:
    """Read the texts and print the counts."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--texts", type=int, default=10_000)
    options.add_argument("--seed", type=int, default=1)
    chosen = options.parse_args()
    tally = Tally()
    choose = random.Random(chosen.seed)
    for _ in range(chosen.texts // 2):
        tally.take("edited files", mutated(choose.choice(SEEDS), choose))
    for _ in range(chosen.texts // 4):
        pieces = choose.choices(TOKENS, k=choose.randint(0, 40))
        tally.take("pieces of the language", "".join(pieces))
    rest = chosen.texts - sum(tally.counts.values())
    for origin, strategy, share in (
        ("the grammar, one statement", statements(), rest // 2),
        ("the grammar, whole files", files_of_statements(), rest - rest // 2),
    ):
        # Hypothesis remembers every text of a run, so many short runs take less memory than one.
        for begin in range(0, share, _RUN):
            _generate(tally, origin, strategy, min(_RUN, share - begin), chosen.seed + begin)
    for (origin, result), count in sorted(tally.counts.items()):
        print(f"{count:>8}  {result:<9} {origin}")
    print(f"{sum(tally.counts.values()):>8}  texts, no failure")
    seconds, text = tally.slowest
    print(f"slowest: {1000 * seconds:.1f} ms, {len(text)} characters: {text[:80]!r}")


def _generate(tally: Tally, origin: str, strategy, texts: int, seed: int) -> None:  # type: ignore[no-untyped-def]
    @seeded(seed)
    @settings(
        max_examples=texts,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(strategy)
    def run(text: str) -> None:
        tally.take(origin, text)

    if texts:
        run()


if __name__ == "__main__":
    main()
