"""Call the command as its users do, in this process or in one of its own."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

GOOD = """\
circuit "Two cells keep a buzzer going"
I1: A  (-E1+)  (R1)  B
I2: A  (-E2+)  (R2)  B
I3: B  (R3)  A
E1 = 6 V;  E2 = 5 V;  R1, R2 = 1 ohm;  R3 = 4 ohm
ask currents
ask voltage across R3
"""
"""V = (6/1 + 5/1)/(1/1 + 1/1 + 1/4) = 44/9 V by Millman's theorem, so I3 = 11/9 A."""

BAD = "I1: A (-E1+) B (R1) A\nE1 = 6 volt\nR2 = 3 ohm\n"


@dataclass(frozen=True, slots=True)
class Ended:
    """How the command ended."""

    status: int
    out: str
    err: str


Command = Callable[..., Ended]
"""Call the command with these arguments."""


def environment(path: str | None = None, **more: str) -> dict[str, str]:
    """Return an environment for a process in any folder; `path` replaces the search path."""
    known = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8", **more}
    return known if path is None else {**known, "PATH": path}


def start(folder: Path, *arguments: str, **variables: str) -> subprocess.Popen[bytes]:
    """Start the command in a process of its own."""
    return subprocess.Popen(
        [sys.executable, "-m", "derive", *arguments],
        cwd=folder,
        env=environment(**variables),
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    )
