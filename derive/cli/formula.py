"""``loopwalk formula``: the formula of every current, for other programs."""

from __future__ import annotations

from dataclasses import dataclass, replace

from derive import pipeline
from derive.cli.console import Console, Voice
from derive.cli.each import gravest
from derive.cli.results import Built
from derive.cli.status import DONE
from derive.cli.work import guarded, shown, with_circuit
from derive.options import Options
from derive.source import Source


@dataclass(frozen=True, slots=True)
class Request:
    """What ``loopwalk formula`` was asked for."""

    files: tuple[str, ...]
    options: Options

    def build(self, name: str, voice: Voice) -> Built:
        """Print the formulas of one file."""
        options = replace(self.options, announce=lambda words: voice.say(f"{shown(name)}: {words}"))

        def work(source: Source) -> Built:
            for line in pipeline.formula(source, options):
                print(line, flush=True)
            return Built(DONE)

        return with_circuit(name, voice, work)


def formula(request: Request) -> int:
    """Print the formulas of every file and return the exit status."""
    console = Console(progress=False)
    statuses = []
    for name in request.files:
        if len(request.files) > 1:
            print(f"# {shown(name)}")
        statuses.append(guarded(name, console, request.build).status)
    return gravest(statuses)
