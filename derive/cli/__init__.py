"""The command ``loopwalk``; see `derive.cli.command`."""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["main"]


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command and return its exit status; Ctrl-C may come while it is still loaded."""
    try:
        from derive.cli.command import main as command
    except KeyboardInterrupt:
        import sys

        from derive.cli.status import INTERRUPTED

        sys.stderr.write("loopwalk: stopped\n")
        return INTERRUPTED
    return command(argv)
