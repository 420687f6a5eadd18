"""The command ``loopwalk``; see `derive.cli.command`."""

from derive.cli.command import main

__all__ = ["main"]
