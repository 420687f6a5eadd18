"""The time of a page by each engine, side by side in one run.

``python -m tests.bench.pages``: documents of one example, with another emf each time so that no
engine has seen one before, are set by the embedded engine, by pdfTeX with its format and without
(the mark is taken out of the text), and by latexmk in a folder of its own, as `compile_pdf` runs it
(latexmk sets a new document twice, to see whether anything changes) and told to set it once. The
engines take turns, so that what else the machine does falls on all of them; times are medians. Then
200 pages, each with the answers of another circuit: all by the embedded engine, latexmk's from
20 unless ``--full``. What the package does before an engine begins is in no time.
"""

from __future__ import annotations

import argparse
import importlib
import os
import subprocess
import tempfile
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

from derive.document.model import Document
from derive.document.narrate import Detail
from derive.engines.tex import Compiled, Engine, Kind, compile_pdf, find
from derive.engines.tex_run import ENVIRONMENT, JOB, OPTIONS, folder_of_its_own, put_document
from derive.options import Options
from derive.pipeline import solve
from derive.source import Source
from derive.writers import latex
from derive.writers.tex_macros import ALIKE_SO_FAR

_EXAMPLE = Path(__file__).parents[2] / "examples" / "boat_batteries.circuit"
_EMF = "E1 = 12.6 V"
_PAGES = 200
_SAMPLE = 20


@dataclass(frozen=True)
class Way:
    """A way to set a document; what is timed takes its text."""

    name: str
    text: Callable[[Document], str]
    set: Callable[[str], bytes]


def documents(count: int, detail: Detail) -> list[Document]:
    """Return solutions of the example with emfs of 11.01 V, 11.02 V and so on."""
    text = _EXAMPLE.read_text("utf-8")
    assert _EMF in text
    return [
        solve(
            Source(_EXAMPLE.name, text.replace(_EMF, f"E1 = {11 + number / 100:.2f} V")),
            Options(detail=detail),
        ).document
        for number in range(1, count + 1)
    ]


def by_tex(engine: Engine) -> Callable[[str], bytes]:
    """Return how the package sets a text by an engine."""

    def made(text: str) -> bytes:
        result = compile_pdf(text, engine)
        assert isinstance(result, Compiled), result
        return result.pdf

    return made


def by_latexmk_once(engine: Engine) -> Callable[[str], bytes]:
    """Return how latexmk sets a text that it may set only once."""

    def made(text: str) -> bytes:
        with folder_of_its_own() as folder:
            put_document(folder, text)
            once = ["-norc", "-pdf", "-f", "-e", "$max_repeat = 1"]
            subprocess.run(
                [engine.path, *once, *OPTIONS, f"{JOB}.tex"],
                cwd=folder,
                env={**os.environ, **ENVIRONMENT},
                capture_output=True,
                check=False,  # it complains that it has not set it twice
            )
            return (folder / f"{JOB}.pdf").read_bytes()

    return made


def ways() -> list[Way]:
    """Return the ways that this machine has, the slowest last."""
    found = []
    try:
        # Both may be missing where only a TeX is wanted.
        embedded = importlib.import_module("derive.engines.embedded")
        typst = importlib.import_module("derive.writers.typst")
        importlib.import_module("typst")
    except ImportError as fault:
        print(f"no embedded engine: {fault}")
    else:
        found.append(Way("embedded", typst.write, embedded.compile_pdf))
    engines = {engine.kind: engine for engine in find()}
    if Kind.PDFLATEX in engines:
        pdftex = by_tex(engines[Kind.PDFLATEX])
        found.append(Way("pdflatex with format", latex.write, pdftex))
        found.append(Way("pdflatex", without_format, pdftex))
    if Kind.LATEXMK in engines:
        latexmk = engines[Kind.LATEXMK]
        found.append(Way("latexmk, once", latex.write, by_latexmk_once(latexmk)))
        found.append(Way("latexmk", latex.write, by_tex(latexmk)))
    return found


def without_format(document: Document) -> str:
    """Return the text of a document that no format can serve."""
    return latex.write(document).replace(ALIKE_SO_FAR, "%")


def seconds(way: Way, document: Document) -> float:
    """Return the time from a text to its PDF."""
    text = way.text(document)
    start = time.perf_counter()
    pdf = way.set(text)
    taken = time.perf_counter() - start
    assert pdf.startswith(b"%PDF-"), way.name
    return taken


def page_count(pdf: bytes) -> int:
    """Ask poppler how many pages a PDF has."""
    with tempfile.NamedTemporaryFile(suffix=".pdf") as file:
        file.write(pdf)
        file.flush()
        told = subprocess.run(["pdfinfo", file.name], capture_output=True, text=True, check=True)
    return int(told.stdout.split("Pages:")[1].split()[0])


def one_document(found: Sequence[Way], runs: int) -> None:
    """Print the time of one document by each way, and how many times faster than latexmk it is."""
    made = documents(runs + 1, Detail.FULL)
    first = {way.name: seconds(way, made[0]) for way in found}
    taken: dict[str, list[float]] = {way.name: [] for way in found}
    for document in made[1:]:
        for way in found:
            taken[way.name].append(seconds(way, document))
    times = {name: median(of_one) for name, of_one in taken.items()}
    slowest = times.get("latexmk")
    pages = page_count(found[-1].set(found[-1].text(made[0])))
    print(f"{_EXAMPLE.stem}, {pages} pages, {runs} runs")
    print(f"{'':<22}    first   median   times faster than latexmk")
    for name, value in times.items():
        ratio = f"{slowest / value:8.1f}" if slowest else ""
        print(f"{name:<22} {first[name] * 1e3:5.0f} ms {value * 1e3:5.0f} ms {ratio}", flush=True)


def many_pages(found: Sequence[Way], *, full: bool) -> None:
    """Print the time of 200 pages by the embedded engine, pdfTeX with its format and latexmk."""
    made = documents(_PAGES, Detail.ANSWERS)
    chosen = [way for way in found if way.name in ("embedded", "pdflatex with format", "latexmk")]
    times = {}
    for way in chosen:
        assert page_count(way.set(way.text(made[0]))) == 1, way.name
        count = _PAGES if full or way.name == "embedded" else _SAMPLE
        times[way.name] = sum(seconds(way, document) for document in made[:count]) * _PAGES / count
    print(f"{_PAGES} documents of one page" + ("" if full else f" (TeX: {_SAMPLE} of them)"))
    for name, value in times.items():
        ratio = f"{times['latexmk'] / value:8.1f}" if "latexmk" in times else ""
        print(f"{name:<22} {value:17.1f} s {ratio}", flush=True)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=7)
    parser.add_argument("--full", action="store_true", help="set all 200 pages by TeX too")
    wanted = parser.parse_args()
    found = ways()
    if not found:
        print("no engine was found")
        return
    one_document(found, wanted.runs)
    many_pages(found, full=wanted.full)


if __name__ == "__main__":
    main()
