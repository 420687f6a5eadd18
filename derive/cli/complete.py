"""``loopwalk complete``: what lets a shell complete the command."""

from __future__ import annotations

import argparse
from collections.abc import Mapping

import shtab

from derive.cli.arguments import FIGURE_FORMATS, FORMATS, SUBJECTS, parser
from derive.cli.status import DONE

_CIRCUITS = {"bash": "_loopwalk_circuits", "zsh": "_files -g '*.circuit'", "tcsh": "f:*.circuit"}
_BASH = """\
_loopwalk_circuits() {
  compgen -d -- "$1"
  compgen -f -X '!?*.circuit' -- "$1"
}
# Of a list with commas between, what is behind the last comma.
_loopwalk_list() {
  local before=""
  [[ $1 == *,* ]] && before="${1%,*},"
  compgen -P "$before" -W "$2" -- "${1##*,}"
}
"""


def complete(shell: str) -> int:
    """Print the script of a shell."""
    known = parser()
    functions = [_BASH]
    for name, command in _commands(known).items():
        lists = {"to": FIGURE_FORMATS if name == "draw" else FORMATS, "show": SUBJECTS}
        for action in command._actions:
            if action.dest == "files":
                _offer(action, _CIRCUITS)
            elif action.dest == "out":
                _offer(action, shtab.DIRECTORY)
            elif action.dest in lists:
                words = lists[action.dest]
                function = f"_loopwalk_{name}_{action.dest}"
                functions.append(f'{function}() {{ _loopwalk_list "$1" "{" ".join(words)}"; }}\n')
                _offer(action, {"bash": function, "zsh": f"({' '.join(words)})"})
    preamble = {"bash": "".join(functions)}
    script = shtab.complete(known, shell, preamble=preamble)  # type: ignore[arg-type]
    # So that bash puts a name with spaces in as one word, and a stroke behind a folder.
    print(script.replace("complete -o bashdefault", "complete -o filenames -o bashdefault"))
    return DONE


def _offer(action: argparse.Action, what: Mapping[str, object]) -> None:
    action.complete = what  # type: ignore[attr-defined]  # shtab looks for it


def _commands(known: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    return {
        name: command
        for action in known._actions
        if isinstance(action, argparse._SubParsersAction)
        for name, command in action.choices.items()
    }
