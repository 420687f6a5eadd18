"""Texts that are circuit files, nearly circuit files, and nothing of the kind."""

from __future__ import annotations

import random

from hypothesis import strategies as st
from hypothesis.extra.lark import from_lark

from derive.circuit.elaborate import Elaborated, load
from derive.circuit.model import Circuit
from derive.diagnostic import Rejected, Severity, render
from derive.language import grammar
from derive.source import Source

SEEDS = (
    """circuit "A pump on two batteries"
I1: Low  (-E1 r1+)  High  (R1)  Tap
I2: Low  (-E2 r2+)  Tap
I3: Tap  (lamp L1)  Low
E1 = 12.5 V; E2 = 11 V ± 2 %
r1, r2 = 0.05 ohm
R1 = 4k7; rating L1 = 6 V, 3/2 W; rating R1 = 0.25 W
ground Low
ask reducible
ask currents
ask voltage Tap Low; ask potential High
ask power in R1, L1
ask power of E1; ask terminal voltage of E2
use loop Low High Tap (E2) Low   # by way of the second battery
use junction Tap
eliminate I3, I1
use method branch currents
figures 3; resistors zigzag; symbols emf italic
place Low at 0 0; place Tap at 4 -1.5
""",
    """title "Bridge"
statement "Find every current
    in the bridge; #1 is the galvanometer branch."
: P (-E+) Q (Ri) A
: A (R1) B (R2) P
: A (R3) C
     (R4) P
Ig: B (Rg) C
R1, R3 = 10 ohm
R2 = 2 R1; R4 = R1 + R3/2 - 1 ohm
Rg = 1.2e1 ohm
ask current in Rg; ask voltage across R4
""",
    """decimal comma
: A (+E1-) A2
A3A2: A2 A3
: A3 (R1) A
: A T
I_x: T (R_load) B (ℰ2) A3
: B (Rα) U
E1 = 1,5 V
Rα = 3 kΩ
ask voltage U A
""",
    """I1: A (ammeter M1) B (J1 ->) C (open S1) (closed S2) A
I2: A (capacitor C1) (voltmeter M2) C
I3: B (<- J2) (-E3+) C
E3 = 2 ohm * I1; J2 = ?
V(B,A) = 5 V; I2 = 1.2 A
ask charge on C1; ask energy in C1; ask resistance A B; ask value of E3
use method mesh currents
""",
    """I1: A (-E1 r1+) B
: B (lamp L1) C (opens S2) A
: C (closes S1) (R2) A
E1 = 12 V; r1 = 1 ohm
L1, R2 = 6 ohm
ask currents; ask voltage across S1
use loop A B (L1) C (R2) A
eliminate I1
""",
)

_ALPHABET = "ABCREIV'_012359.,;:()=+-*/<>?±%#\"“”„ \t\n\r\\{}[]$^&~`|@!αΩµℰ−→←é٣\u200b\ufeff\0"

TOKENS = (
    "I1:", ": ", "(R1)", "(-E1+)", "(+E2 r2-)", "A", "B", "C", "ask ", "use ", "loop ", "ground ",
    "voltage ", "across ", "power in ", " = ", "5 ohm", "9 V", "2 R1", " ± 5 %", "\n", "; ", ", ",
    "place A at 0 0", "current in ", "(lamp L1)", "(closes S1)", "rating ", "3 W", "(opens S1)", "4k7", "1,000", "V(B,A)", "?", "\n    ", "# x",
    "eliminate ", "title ", '"', "decimal comma\n", "figures ", "3/0", "1e99", "ohms",
    "use junction",
)  # fmt: skip


def mutated(text: str, choose: random.Random) -> str:
    """Return a text after a few random edits."""
    for _ in range(choose.randint(1, 6)):
        start = choose.randint(0, len(text))
        end = min(len(text), start + choose.choice((0, 1, 1, 2, 5, 20)))
        match choose.randrange(5):
            case 0:
                text = text[:start] + text[end:]
            case 1:
                text = text[:start] + choose.choice(_ALPHABET) + text[end:]
            case 2:
                text = text[:start] + choose.choice(TOKENS) + text[start:]
            case 3:
                text = text[:end] + text[start:end] + text[end:]
            case _:
                lines = text.split("\n")
                choose.shuffle(lines)
                text = "\n".join(lines)
    return text


def mutated_seeds() -> st.SearchStrategy[str]:
    """Return texts a few edits away from good ones."""
    return st.builds(mutated, st.sampled_from(SEEDS), st.randoms(use_true_random=False))


def statements() -> st.SearchStrategy[str]:
    """Return statements made by the grammar itself; names and spaces fall as they may."""
    names = st.sampled_from(["A", "B", "C", "R1", "R2", "E1", "r1", "I1", "x_'", "ℰ", "V"])
    units = st.sampled_from(["V", "A", "ohm", "kΩ", "mA", "F", "µS"])
    explicit = {
        "VOLTAGE_OF": st.just("V"),
        "PAIR_QUESTION": st.sampled_from(["voltage ", "resistance "]),
        "NAME": names.map(lambda name: f" {name} "),
        "UNIT": units.map(lambda unit: f" {unit} "),
        "TEXT": st.sampled_from(['"x"', '""', '"a # b; c"']),
        "FRACTION": st.sampled_from(["3/2", "1/ 3 ", "5/0"]),
        "LETTER_CODE": st.sampled_from(["4k7", "2M", "10k"]),
        "DECIMAL": st.from_regex(r"[0-9]{1,3}([.,][0-9]{1,3})?(e[+-]?[0-9]{1,2})?", fullmatch=True),
    }
    return from_lark(grammar.load("circuit"), start="start", explicit=explicit)


def files_of_statements() -> st.SearchStrategy[str]:
    """Return whole files of such statements."""
    return st.lists(statements(), min_size=1, max_size=8).map("\n".join)


def token_soup() -> st.SearchStrategy[str]:
    """Return pieces of the language in any order."""
    return st.lists(st.sampled_from(TOKENS), max_size=25).map("".join)


def outcome(text: str) -> str:
    """Read a text; say ``accepted`` or ``rejected``. Anything else is raised."""
    return "accepted" if read_or_refused(text) is None else "rejected"


def read_or_refused(text: str) -> Rejected | None:
    """Read a text and check what came of it; return the refusal if it is no circuit."""
    source = Source("fuzz.circuit", text)
    try:
        elaborated = load(source)
    except Rejected as rejected:
        errors = [d for d in rejected.diagnostics if d.severity is Severity.ERROR]
        assert errors, "rejected without an error"
        for diagnostic in rejected.diagnostics:
            assert render(diagnostic, source)
        return rejected
    check_circuit(elaborated)
    return None


def check_circuit(elaborated: Elaborated) -> None:
    """Assert what every circuit must satisfy, whatever its file said."""
    assert (elaborated.event is None) == (elaborated.before is None)
    if elaborated.before is not None:
        _check_one(elaborated.before)
    _check_one(elaborated.circuit)


def _check_one(circuit: Circuit) -> None:
    nodes = {node.name: node for node in circuit.nodes}
    points = [point for node in circuit.nodes for point in node.points]
    assert len(points) == len(set(points))
    ends = [end for branch in circuit.branches for end in (branch.tail, branch.head)]
    for node in circuit.nodes:
        assert node.degree == ends.count(node.name)
        assert node.degree != 2 or len(circuit.branches) == 1
        assert node.points[0] == node.name
    for branch in circuit.branches:
        assert len(branch.stations) == len(branch.passages) + 1
        inner = [point for station in branch.stations[1:-1] for point in station]
        assert all(circuit.node_of(point) is None for point in inner)
        first = {circuit.node_of(point) for point in branch.stations[0]}
        last = {circuit.node_of(point) for point in branch.stations[-1]}
        assert branch.tail in nodes
        assert branch.head in nodes
        if branch.passages:
            assert first == {branch.tail}
            assert last == {branch.head}
    walked = {walk.branch for walk in circuit.walks if walk.along}
    assert walked == set(range(len(circuit.branches)))
    currents = [walk.current for walk in circuit.walks]
    assert len(currents) == len(set(currents))
    symbols = [valuation.symbol for valuation in circuit.values]
    assert len(symbols) == len(set(symbols))
    for loop in circuit.choices.loops:
        _check_loop(circuit.branches, loop.hops)


def _check_loop(branches: tuple, hops: tuple) -> None:  # type: ignore[type-arg]
    ends = [
        (branches[h.branch].tail, branches[h.branch].head)
        if h.along
        else (branches[h.branch].head, branches[h.branch].tail)
        for h in hops
    ]
    assert len({h.branch for h in hops}) == len(hops)
    for (_, head), (tail, _) in zip(ends, ends[1:] + ends[:1], strict=True):
        assert head == tail
