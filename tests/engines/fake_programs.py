"""A search path of programs that behave as a test wants."""

import sys
from pathlib import Path

PDFTEX = "pdfTeX 3.141592653-2.6-1.40.24 (TeX Live 2022/Debian)"
LUATEX = "This is LuaHBTeX, Version 1.15.0 (TeX Live 2022/Debian)"
LATEXMK = "Latexmk, John Collins, 31 Jan. 2021. Version 4.70b"
"""What these programs of Debian 12 say, copied from their terminal output."""

PDF = "%PDF-1.5 a page"


def install(folder: Path, name: str, answer: str, compiling: str, status: int = 0) -> Path:
    """Put a program on the path: it prints `answer` for its version, else runs Python text.

    The text sees `Path`, `os`, `sys` and `time`, in the folder of the document.
    """
    folder.mkdir(exist_ok=True)
    program = folder / name
    program.write_text(
        f"#!{sys.executable}\n"
        "import os, sys, time\n"
        "from pathlib import Path\n"
        "if sys.argv[1] in ('-version', '--version'):\n"
        f"    print({answer!r})\n"
        f"    sys.exit({status})\n"
        f"{compiling}\n"
    )
    program.chmod(0o755)
    return program


def writing_pdf(text: str = PDF) -> str:
    """Return what a program does that works."""
    return f"Path('solution.pdf').write_text({text!r})"


def failing(log: str) -> str:
    """Return what a program does that leaves a log and fails."""
    return f"Path('solution.log').write_text({log!r}); sys.exit(1)"
