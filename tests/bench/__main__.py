"""How fast Loopwalk is: one table, each row beside a named reference measured in the same run.

``python -m tests.bench`` measures the general solution of each family of circuits, a file to its
LaTeX, figures, PDFs by each engine, the build of many files, and the start of the command. Every
measurement runs in a process of its own, ours and the reference in turns, so that what else the
machine does falls on both; times are medians, memory is the peak of the process and of those that
it started. Then follow the imports that take longest. `--only WORD` runs the rows that hold a word.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import resource
import subprocess
import sys
import tempfile
import time
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from statistics import median

ROOT = Path(__file__).resolve().parents[2]
EXAMPLES = sorted((ROOT / "examples").glob("*.circuit"))
EXAMPLE = ROOT / "examples" / "boat_batteries.circuit"
MANY = 200
AS_USERS = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
"""Processes run from compiled modules, as they do for users."""
_CAP = 120.0
"""Seconds after which a measurement is given up."""

Work = Callable[[], object]


@dataclass(frozen=True)
class Row:
    """What is measured, and the reference that does the nearest thing to it."""

    name: str
    ours: str
    reference: str
    runs: int = 5


def general(method: str, family: str) -> Work:
    """Return the general solution of a family by one method."""
    from tests.bench.general_solution import FAMILIES, METHODS

    return METHODS[method](FAMILIES[family])[0]


def to_tex() -> Work:
    """Return a whole solution in LaTeX, another emf each time so that nothing is kept."""
    from derive.pipeline import solve
    from derive.source import Source
    from derive.writers import latex

    text = EXAMPLE.read_text("utf-8")
    emf = iter(range(1000, 2000))

    def run() -> object:
        changed = text.replace("E1 = 12.6 V", f"E1 = {next(emf)} V")
        return latex.write(solve(Source(EXAMPLE.name, changed)).document)

    return run


def sympy_solution() -> Work:
    """Return sympy's solution of the same three equations in letters, simplified and in LaTeX."""
    import sympy

    i1, i2, i3 = sympy.symbols("I1:4")
    e1, e2, r1, r2, r3 = sympy.symbols("E1 E2 R1 R2 R3")
    rows = [i1 + i2 - i3, e1 - r1 * i1 - r3 * i3, e2 - r2 * i2 - r3 * i3]

    def run() -> object:
        sympy.core.cache.clear_cache()
        return [sympy.latex(sympy.factor(x)) for x in next(iter(sympy.linsolve(rows, i1, i2, i3)))]

    return run


def figures() -> Work:
    """Return the figures of all examples, laid out anew."""
    from derive.circuit.elaborate import load
    from derive.drawing import schematic as module
    from derive.drawing.view import View
    from derive.source import Source

    circuits = [load(Source(p.name, p.read_text("utf-8"))).circuit for p in EXAMPLES]

    def run() -> object:
        for kept in vars(module).values():
            if hasattr(kept, "cache_clear"):
                kept.cache_clear()
        return [module.schematic(circuit, View()) for circuit in circuits]

    return run


def kamada_kawai() -> Work:
    """Return networkx's force layout (Kamada and Kawai 1989) of the same graphs, nothing drawn."""
    import networkx

    from derive.circuit.elaborate import load
    from derive.source import Source

    graphs = []
    for path in EXAMPLES:
        circuit = load(Source(path.name, path.read_text("utf-8"))).circuit
        graph = networkx.Graph()
        for number, branch in enumerate(circuit.branches):
            places = [branch.tail, *((number, k) for k in range(len(branch.passages))), branch.head]
            networkx.add_path(graph, places)
        graphs.append(graph)
    return lambda: [networkx.kamada_kawai_layout(graph) for graph in graphs if len(graph)]


def page(way: str) -> Work:
    """Return one document set by one engine, another emf each time."""
    from tests.bench.pages import Detail, documents, ways

    (chosen,) = (found for found in ways() if found.name == way)
    texts = iter([chosen.text(document) for document in documents(8, Detail.FULL)])
    return lambda: chosen.set(next(texts))


def build(count: int) -> Work:
    """Return the command that writes the answers of many files as PDF."""
    text = EXAMPLE.read_text("utf-8")
    folder = Path(tempfile.mkdtemp())
    for k in range(count):
        changed = text.replace("E1 = 12.6 V", f"E1 = {11 + k / 100:.2f} V")
        (folder / f"sheet{k:03}.circuit").write_text(changed, "utf-8")
    command = [
        sys.executable, "-m", "derive", "solve", "--to", "pdf", "--detail", "answers", "--rebuild",
        "--out", str(folder / "out"), *map(str, sorted(folder.glob("*.circuit"))),
    ]  # fmt: skip
    return lambda: subprocess.run(command, cwd=ROOT, env=AS_USERS, capture_output=True, check=True)


def latexmk(count: int) -> Work:
    """Return latexmk on the answers of that many documents, one after another."""
    from tests.bench.pages import Detail, documents, ways

    (chosen,) = (found for found in ways() if found.name == "latexmk")
    texts = [chosen.text(document) for document in documents(count, Detail.ANSWERS)]
    return lambda: [chosen.set(text) for text in texts]


def command(*arguments: str) -> Work:
    """Return a run of Python."""
    whole = [sys.executable, *arguments]
    return lambda: subprocess.run(whole, cwd=ROOT, env=AS_USERS, capture_output=True, check=True)


def start() -> Work:
    """Return the command from its start to the LaTeX of one file."""
    folder = tempfile.mkdtemp()
    file = str(EXAMPLE.relative_to(ROOT))
    return command("-m", "derive", "solve", file, "--to", "tex", "--rebuild", "--out", folder)


def rows() -> Iterator[Row]:
    """Yield all measurements that this machine can make."""
    from tests.bench.general_solution import FAMILIES
    from tests.bench.pages import ways

    for family in FAMILIES:
        name = f"general solution, {family}"
        yield Row(name, f"general('ours', '{family}')", f"general('solve_den', '{family}')")
    yield Row("a file to LaTeX, warm", "to_tex()", "sympy_solution()")
    yield Row(f"{len(EXAMPLES)} figures", "figures()", "kamada_kawai()")
    found = [way.name for way in ways()]
    if "latexmk" in found:
        for way in found[:-1]:
            yield Row(f"a PDF by {way}", f"page('{way}')", "page('latexmk')", runs=3)
        yield Row(f"{MANY} PDFs in one build", f"build({MANY})", "latexmk(10)", runs=1)
    yield Row("start to LaTeX", "start()", "command('-c', 'import sympy')", runs=9)


REFERENCES = {
    "general": "sympy solve_den", "sympy": "sympy linsolve, factor, latex",
    "kamada": "networkx kamada_kawai_layout", "page": "latexmk", "latexmk": f"latexmk, 10 · {MANY // 10}",
    "command": "import sympy",
}  # fmt: skip


def one(work: str) -> None:
    """Time one piece of work in this process and print seconds and MiB."""
    run: Work = eval(work)
    times = []
    while len(times) < 5 and sum(times) < 2:
        began = time.perf_counter()
        run()
        times.append(time.perf_counter() - began)
    peaks = (
        resource.getrusage(who).ru_maxrss
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    print(json.dumps([min(times), max(peaks) / 1024]))


def measured(work: str) -> tuple[float, float] | None:
    """Run one piece of work in a process of its own; None where it takes too long."""
    whole = [sys.executable, "-m", "tests.bench", "--one", work]
    try:
        done = subprocess.run(
            whole, cwd=ROOT, env=AS_USERS, capture_output=True, text=True, timeout=_CAP, check=True
        )
    except subprocess.TimeoutExpired:
        return None
    except subprocess.CalledProcessError as fault:
        raise SystemExit(fault.stderr) from None
    seconds, peak = json.loads(done.stdout.splitlines()[-1])
    return seconds, peak


def told(row: Row) -> str:
    """Measure a row and return its line."""
    ours, others = [], []
    for _ in range(row.runs):
        first, second = measured(row.ours), measured(row.reference)
        if first is None:
            return f"{row.name:32} gave up after {_CAP:.0f} s"
        ours.append(first)
        if second is None:
            break
        others.append(second)
    own, peak = median(t for t, _ in ours), max(p for _, p in ours)
    kind = re.split(r"[(_]", row.reference)[0]
    line = f"{row.name:32} {own * 1e3:9.1f} ms {peak:6.0f} MiB"
    if not others:
        return f"{line}      more than {_CAP / own:.0f} times faster than {REFERENCES[kind]}"
    times = median(t for t, _ in others)
    if kind == "latexmk":
        times *= MANY / 10
    return (
        f"{line}   {times / own:8.2f} × as fast as {REFERENCES[kind]} "
        f"({times * 1e3:.0f} ms, {max(p for _, p in others):.0f} MiB)"
    )


def imports() -> Iterator[str]:
    """Yield the packages whose modules take longest to import for a solution in LaTeX."""
    whole = [sys.executable, "-X", "importtime", "-c",
             "import derive.cli.command, derive.pipeline, derive.writers.latex"]  # fmt: skip
    done = subprocess.run(whole, cwd=ROOT, env=AS_USERS, capture_output=True, text=True, check=True)
    own: dict[str, int] = defaultdict(int)
    for found in re.finditer(r"import time: +(\d+) \| +\d+ \| +(\S+)", done.stderr):
        parts = found[2].split(".")
        own[".".join(parts[:2]) if parts[0] == "derive" else parts[0]] += int(found[1])
    whole_time = sum(own.values())
    yield f"imports, {whole_time / 1e3:.0f} ms in all; the longest by package:"
    for name, time_taken in sorted(own.items(), key=lambda item: -item[1])[:12]:
        yield f"  {name:30} {time_taken / 1e3:6.1f} ms  {100 * time_taken / whole_time:4.1f} %"


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--only", default="", help="rows that hold this word")
    parser.add_argument("--one", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.one:
        one(options.one)
        return
    for row in rows():
        if options.only in row.name:
            print(told(row), flush=True)
    if options.only in "imports":
        print("\n".join(imports()))


if __name__ == "__main__":
    main()
