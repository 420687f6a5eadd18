"""Time from a circuit file to its LaTeX, against the time of importing sympy alone.

``python tests/bench/start_up.py``: both run in processes of their own, in turns, so that a busy
machine slows both; the medians stand side by side. The goal is a ratio below 2. Ends with 1 when
the goal is missed.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
GOAL = 2.0
WARM_UP = 2
"""Runs that are not counted: they fill the caches of the disk and of Python."""


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=15)
    parser.add_argument("--circuit", default=str(ROOT / "examples" / "three_strings.circuit"))
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        solve = ["-m", "derive", "solve", options.circuit, "--to", "tex", "--out", folder]
        rows: list[tuple[str, list[str]]] = [
            ("start Python", ["-c", ""]),
            ("import sympy", ["-c", "import sympy"]),
            (f"{Path(options.circuit).name} to .tex", solve),
        ]
        times = _measure([arguments for _, arguments in rows], options.runs)
    for (name, _), taken in zip(rows, times, strict=True):
        print(f"{name:28} {_shown(median, taken)} median  {_shown(min, taken)} least")
    ratio = median(times[2]) / median(times[1])
    print(f"{'ratio to sympy':28} {ratio:6.2f}     (goal: below {GOAL:g})")
    return 0 if ratio < GOAL else 1


def _measure(commands: list[list[str]], runs: int) -> list[list[float]]:
    times: list[list[float]] = [[] for _ in commands]
    # Both run from compiled modules, as they do for users; sympy's always are.
    known = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
    for number in range(WARM_UP + runs):
        for taken, arguments in zip(times, commands, strict=True):
            began = time.perf_counter()
            command = [sys.executable, *arguments]
            done = subprocess.run(command, cwd=ROOT, env=known, capture_output=True, check=False)
            if number >= WARM_UP:
                taken.append(time.perf_counter() - began)
            if done.returncode:
                sys.exit(done.stderr.decode())
    return times


def _shown(average: Callable[[list[float]], float], taken: list[float]) -> str:
    return f"{average(taken) * 1000:6.0f} ms"


if __name__ == "__main__":
    sys.exit(main())
