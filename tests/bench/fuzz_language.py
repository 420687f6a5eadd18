"""Read very many texts: only a circuit or a refusal may come out, and each in good time.

    python tests/bench/fuzz_language.py --texts 1000000 --seed 1

Texts are good and refused files after a few edits, with tokens, names or lines of other files, with
any characters, with something huge in them; or they are made by the grammar or from pieces of the
language. With atheris (`pip install atheris`; it is not needed otherwise) a part of them is made
by libFuzzer, which keeps what reaches new branches of the language and of the circuit
(LLVM's libFuzzer, https://llvm.org/docs/LibFuzzer.html). Some of those that are circuits are solved
and written as text.

The texts are read in chunks, each in a process of its own. Prints how many were accepted, refused
(by the codes of the messages) and solved, the slowest texts, and the largest memory; ends with 1
and the texts if any failed, hung or took too much. Ctrl-C ends it with the counts so far.
"""

from __future__ import annotations

import argparse
import os
import random
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from tests.bench.fuzz_tally import LIMIT, MEMORY, Tally

CHUNK = 5_000
CHUNK_SECONDS = 3600
"""After which a chunk has hung in something that no signal interrupts."""
SHARES = {
    "a few statements, changed": 54.0,
    "pieces of the language": 25.0,
    "edited files": 4.0,
    "tokens swapped": 4.0,
    "names swapped": 5.0,
    "lines of two files": 4.0,
    "any characters": 3.6,
    "something huge": 0.3,
    "the grammar, one statement": 0.05,
    "the grammar, whole files": 0.05,
}
"""Of the texts that no coverage guides, in per cent; hypothesis takes long for the last two."""
GUIDED = "guided by coverage"
_RUN = 500
_GOOD = 0.7
"""Share of changed files that were good ones."""


def main() -> int:
    """Read the texts and print the counts."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--texts", type=int, default=10_000)
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--guided", type=float, default=0.05, help="share that coverage guides")
    options.add_argument("--solved", type=float, default=0.015, help="share of circuits solved")
    options.add_argument("--kept", help="folder for the corpus, kept for the next run")
    options.add_argument("--chunk", help=argparse.SUPPRESS)
    options.add_argument("--report", help=argparse.SUPPRESS)
    chosen = options.parse_args()
    if chosen.chunk:
        _chunk(chosen)
        return 0
    return _all(chosen)


def _all(chosen: argparse.Namespace) -> int:
    guided = round(chosen.texts * chosen.guided) if _has_atheris() else 0
    if chosen.guided and not guided:
        print("atheris is not installed: no text is guided by coverage")
    shares = {GUIDED: guided}
    for origin, share in SHARES.items():
        shares[origin] = round((chosen.texts - guided) * share / 100)
    begun = time.monotonic()
    total = Tally()
    origins: dict[str, Counter[str]] = {}
    with tempfile.TemporaryDirectory(prefix="fuzz-") as scratch:
        corpus = chosen.kept or f"{scratch}/corpus"
        try:
            for seed, (origin, texts) in enumerate(_plan(shares), chosen.seed * 100_000):
                part = _run_chunk(origin, texts, seed, chosen.solved, Path(scratch), corpus)
                origins.setdefault(origin, Counter()).update(part.results)
                total.add(part)
                print(
                    f"{time.monotonic() - begun:7.0f} s {total.inputs:>9} texts, "
                    f"{len(total.failures)} failures: {origin}",
                    file=sys.stderr,
                    flush=True,
                )
        except KeyboardInterrupt:
            print("stopped: this is what was read until then")
    print(_table(origins, total, time.monotonic() - begun))
    return bool(total.failures) or total.memory > MEMORY


def _plan(shares: dict[str, int]) -> list[tuple[str, int]]:
    """Return chunks with their origins and sizes, in such an order that any part is a mixture."""
    chunks = [
        ((begin + CHUNK / 2) / texts, origin, min(CHUNK, texts - begin))
        for origin, texts in shares.items()
        for begin in range(0, texts, CHUNK)
    ]
    return [(origin, texts) for _, origin, texts in sorted(chunks)]


def _run_chunk(
    origin: str, texts: int, seed: int, solved: float, scratch: Path, corpus: str
) -> Tally:
    report = scratch / "report.json"
    report.unlink(missing_ok=True)
    script = "fuzz_guided.py" if origin == GUIDED else "fuzz_language.py"
    command = [
        sys.executable, str(Path(__file__).parent / script), "--chunk", origin, "--texts", str(texts),
        "--seed", str(seed), "--solved", str(solved), "--report", str(report), "--kept", corpus,
    ]  # fmt: skip
    try:
        ended = subprocess.run(
            command, capture_output=True, text=True, timeout=CHUNK_SECONDS, check=False
        )
        last = ended.stderr[-3000:]
    except subprocess.TimeoutExpired:
        last = f"the chunk was stopped after {CHUNK_SECONDS} s"
    tally = Tally.read(report)
    if tally.inputs < texts:
        tally.failures.append((f"a chunk of {origin} with seed {seed} ended early", last))
    return tally


def _chunk(chosen: argparse.Namespace) -> None:
    """Read the texts of one chunk, which have one origin."""
    from tests.language import text_mutations as change
    from tests.language.text_strategies import (
        TOKENS,
        files_of_statements,
        mutated,
        statements,
    )

    choose = random.Random(chosen.seed)
    tally = Tally(Path(chosen.report), random.Random(chosen.seed), chosen.solved)
    changes = {
        "a few statements, changed": change.a_few_statements,
        "edited files": mutated,
        "tokens swapped": change.with_tokens_swapped,
        "names swapped": change.with_names_swapped,
        "lines of two files": change.with_lines_of_another,
        "any characters": change.with_any_characters,
        "something huge": change.with_something_huge,
    }
    made = {
        "the grammar, one statement": statements,
        "the grammar, whole files": files_of_statements,
    }
    if chosen.chunk in made:
        # Hypothesis remembers every text of a run, so many short runs take less memory than one.
        for begin in range(0, chosen.texts, _RUN):
            count = min(_RUN, chosen.texts - begin)
            _generate(tally, made[chosen.chunk](), count, chosen.seed * 1000 + begin)
    for _ in range(chosen.texts - tally.inputs):
        if chosen.chunk in changes:
            files = change.good_files() if choose.random() < _GOOD else change.files()
            text = changes[chosen.chunk](choose.choice(files), choose)
        else:
            text = "".join(choose.choices(TOKENS, k=choose.randint(0, 40)))
        tally.take(text)
    tally.write()


def _generate(tally: Tally, strategy, texts: int, seed: int) -> None:  # type: ignore[no-untyped-def]
    from hypothesis import HealthCheck, Phase, given, settings
    from hypothesis import seed as seeded

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
        tally.take(text)

    run()


def _has_atheris() -> bool:
    try:
        import atheris  # noqa: F401
    except ImportError:
        return False
    return True


def _table(origins: dict[str, Counter[str]], total: Tally, seconds: float) -> str:
    columns = ("circuit", "refused", "solved", "not solved")
    lines = [f"{'':<28}{'texts':>9}" + "".join(f"{name:>12}" for name in columns)]
    for origin, results in (*origins.items(), ("all", total.results)):
        texts = results["circuit"] + results["refused"]
        counts = "".join(f"{results[name]:>12}" for name in columns)
        lines.append(f"{origin:<28}{texts:>9}{counts}")
    lines.append("\nrefused, by the first message:")
    codes = [f"{code} {count}" for code, count in total.codes.most_common()]
    width = max((len(code) for code in codes), default=0) + 2
    across = max(1, 110 // width) if width else 1
    for k in range(0, len(codes), across):
        lines.append("  " + "".join(f"{code:<{width}}" for code in codes[k : k + across]).rstrip())
    for what, slowest in (("read", total.slowest_read), ("solved", total.slowest_solved)):
        lines.append(f"\nslowest to be {what} (of at most {LIMIT:g} s of the processor):")
        for taken, text in sorted(slowest, reverse=True)[:3]:
            lines.append(f"  {taken:8.3f} s  {len(text):>6} characters: {text[:70]!r}")
    lines.append(f"\nlargest memory: {total.memory / 2**20:.0f} MiB (at most {MEMORY >> 20} MiB)")
    lines.append(f"{total.inputs} texts in {seconds:.0f} s, {len(total.failures)} failures")
    for text, fault in total.failures:
        lines.append(f"\nFAILED on {text!r}\n{fault}")
    return "\n".join(lines)


if __name__ == "__main__":
    os.environ.setdefault("PYTHONHASHSEED", "0")
    sys.exit(main())
