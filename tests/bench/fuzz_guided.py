"""One chunk of `fuzz_language.py` whose texts are made by libFuzzer, by way of atheris."""

from __future__ import annotations

import argparse
import os
import random
import sys
from pathlib import Path
from unicodedata import category

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

import atheris

with atheris.instrument_imports(include=["derive.language", "derive.circuit", "derive.diagnostic"]):
    from tests.language import text_mutations as change
    from tests.language.text_strategies import TOKENS, mutated

from tests.bench.fuzz_tally import MEMORY, Tally

_LONGEST = 1500
_CHANGES = (
    mutated,
    change.with_tokens_swapped,
    change.with_names_swapped,
    change.with_lines_of_another,
    change.with_any_characters,
)


def main() -> None:
    """Read texts until there are enough."""
    options = argparse.ArgumentParser()
    for name in ("--chunk", "--report", "--kept"):
        options.add_argument(name, required=True)
    options.add_argument("--texts", type=int, required=True)
    options.add_argument("--seed", type=int, required=True)
    options.add_argument("--solved", type=float, required=True)
    chosen = options.parse_args()
    corpus = Path(chosen.kept)
    if not corpus.exists():
        corpus.mkdir(parents=True)
        for number, text in enumerate(change.files()):
            (corpus / f"seed-{number}").write_text(text, "utf-8")
    words = Path(chosen.report).with_suffix(".words")
    words.write_text("".join(f'"{_spelled(token)}"\n' for token in TOKENS), "utf-8")
    tally = Tally(Path(chosen.report), random.Random(chosen.seed), chosen.solved)

    def read(data: bytes) -> None:
        tally.take(_text(data))
        if tally.inputs >= chosen.texts:
            tally.write()
            os._exit(0)  # libFuzzer has no other end that is sure to let the report be whole

    def changed(data: bytes, longest: int, seed: int) -> bytes:
        choose = random.Random(seed)
        if choose.random() < 0.5:
            return atheris.Mutate(data, longest)
        text = choose.choice(_CHANGES)(_text(data), choose)
        return text.encode("utf-8", "replace")[:longest]

    atheris.Setup(
        [
            sys.argv[0], str(corpus), f"-max_len={_LONGEST}", f"-seed={chosen.seed}",
            f"-rss_limit_mb={MEMORY >> 20}", f"-dict={words}", "-timeout=300",
            f"-artifact_prefix={words.parent}/",
        ],
        read,
        custom_mutator=changed,
    )  # fmt: skip
    atheris.Fuzz()


def _text(data: bytes) -> str:
    """Return bytes as text; what would be refused at once as no text is a piece of the language."""
    pieces = []
    for character in data.decode("utf-8", "ignore"):
        control = category(character) == "Cc" and character not in "\n\t"
        pieces.append(TOKENS[ord(character) % len(TOKENS)] if control else character)
    return "".join(pieces)


def _spelled(token: str) -> str:
    """Return a token as a dictionary of libFuzzer has it."""
    return "".join(
        chr(byte) if 32 <= byte < 127 and chr(byte) not in '"\\' else f"\\x{byte:02x}"
        for byte in token.encode()
    )


if __name__ == "__main__":
    main()
