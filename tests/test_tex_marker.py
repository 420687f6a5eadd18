"""Where TeX is missing, tests marked `tex` are skipped; in CI they fail (tests/conftest.py)."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("ci", "status", "told"), [("", 0, "1 skipped"), ("true", 1, "in CI such a test must run")]
)
def test_a_machine_without_tex(tmp_path: Path, ci: str, status: int, told: str) -> None:
    test = "tests/writers/test_latex_fragments.py::test_in_a_unicode_tex"
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", test],
        cwd=ROOT,
        env={**os.environ, "PATH": str(tmp_path), "CI": ci},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == status
    assert told in done.stdout
