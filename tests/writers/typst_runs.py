"""Sets Typst documents for tests and reads what is on the page."""

import shutil
import subprocess
from pathlib import Path

from derive.document.model import Document
from derive.engines.embedded import _compile, compile_pdf
from derive.typesetting.style import Style
from derive.writers import typst


def said(program: str, pdf: bytes, folder: Path, *options: str) -> str:
    """Return what a program of poppler says of a PDF."""
    found = shutil.which(program)
    assert found, f"{program} (poppler-utils) is needed for the tests marked tex"
    path = folder / "page.pdf"
    path.write_bytes(pdf)
    tail = [str(path), "-"] if program == "pdftotext" else [str(path)]
    done = subprocess.run([found, *options, *tail], capture_output=True, check=True)
    return done.stdout.decode()


def words(document: Document, folder: Path) -> str:
    """Return the text of a document's pages, white space made plain."""
    pdf = compile_pdf(typst.write(document))
    return " ".join(said("pdftotext", pdf, folder, "-layout", "-enc", "UTF-8").split())


def as_ua(text: str) -> bytes:
    """Return a PDF that keeps PDF/UA-1; a document that cannot is an error.

    The engine refuses, among others, a formula or a figure without a text for it, and a character
    that no font has.
    """
    return _compile(text, "pdf", standard="ua-1")[0]


def page_of(body: str) -> str:
    """Return a document that holds a piece of Typst, with the functions of our pages."""
    return f"{typst.write(Document('A title', '', (), Style()))}\n{body}\n"
