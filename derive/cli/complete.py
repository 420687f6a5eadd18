"""``loopwalk complete``: what lets a shell complete the command."""

from __future__ import annotations

import argparse

import shtab

from derive.cli.arguments import parser
from derive.cli.status import DONE


def complete(shell: str) -> int:
    """Print the script of a shell."""
    known = parser()
    for command in _commands(known):
        for action in command._actions:
            if action.dest == "files":
                action.complete = shtab.FILE  # type: ignore[attr-defined]
            elif action.dest == "out":
                action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
    print(shtab.complete(known, shell))
    return DONE


def _commands(known: argparse.ArgumentParser) -> list[argparse.ArgumentParser]:
    return [
        command
        for action in known._actions
        if isinstance(action, argparse._SubParsersAction)
        for command in action.choices.values()
    ]
