import re
from pathlib import Path

from importlinter.cli import lint_imports

ROOT = Path(__file__).parents[1]
MOST_LINES = 400
PATTERNS = ("derive/**/*.py", "derive/**/*.js", "derive/**/*.css", "grammar/*", "tests/**/*.py")


def test_imports_keep_the_layers() -> None:
    assert lint_imports(no_cache=True) == 0


def test_a_long_file_has_its_reason_among_the_developers() -> None:
    text = (ROOT / "DEVELOPERS.md").read_text("utf-8")
    reasons = text.partition("## Files over 400 lines")[2].partition("\n## ")[0]
    named = set(re.findall(r"`([\w/.]+)`", reasons))
    files = {file for pattern in PATTERNS for file in ROOT.glob(pattern) if file.is_file()}
    long = {f for f in files if len(f.read_text("utf-8").splitlines()) > MOST_LINES}
    assert long
    assert {f for f in long if not any(f.as_posix().endswith(f"/{n}") for n in named)} == set()
    assert {n for n in named if not any(f.as_posix().endswith(f"/{n}") for f in long)} == set()
