"""Runs TeX for tests and reads what it set."""

import re
import shutil
import subprocess
from pathlib import Path


def run(tex: str, folder: Path, program: str = "pdflatex", **inputs: str) -> str:
    """Set a document and return the log; `inputs` are files beside it, by stem."""
    for stem, text in inputs.items():
        (folder / f"{stem}.tex").write_text(text, encoding="utf-8")
    (folder / "host.tex").write_text(tex, encoding="utf-8")
    engine = shutil.which(program)
    assert engine, f"{program} is needed for the tests marked tex"
    done = subprocess.run(
        [engine, "-interaction=nonstopmode", "-halt-on-error", "-no-shell-escape", "host.tex"],
        cwd=folder,
        capture_output=True,
        check=False,
        timeout=120,
    )
    log = (folder / "host.log").read_text("utf-8", "replace")
    assert done.returncode == 0, "\n".join(re.findall(r"^!.*(?:\n.*){0,6}", log, re.MULTILINE))
    return log


def overfull(log: str) -> list[str]:
    """Return TeX's complaints of lines that are too wide."""
    return re.findall(r"Overfull \\hbox.*", log)


def words(folder: Path) -> str:
    """Return the text of the PDF, white space made plain."""
    reader = shutil.which("pdftotext")
    assert reader, "pdftotext (poppler-utils) is needed for the tests marked tex"
    done = subprocess.run(
        [reader, "-layout", "-enc", "UTF-8", "host.pdf", "-"],
        cwd=folder,
        capture_output=True,
        check=True,
    )
    return " ".join(done.stdout.decode().split())


def has_file(name: str) -> bool:
    """Say whether this TeX has a file."""
    finder = shutil.which("kpsewhich")
    assert finder
    return subprocess.run([finder, name], capture_output=True, check=False).returncode == 0
