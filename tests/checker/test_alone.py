"""The checker that stands alone: true proofs are accepted, forged and changed ones refused."""

from __future__ import annotations

import ast
import json
import random
import shutil
import subprocess
import sys
from functools import cache
from itertools import islice
from pathlib import Path
from typing import Any

import pytest

import derive
from derive import proof
from derive.derivation.step import Derivation, Step
from derive.options import Options
from derive.proof.lines import KINDS
from derive.proving import prove
from derive.source import Source
from tests import random_parts
from tests.checker.alone import CHECKER, FILES, FOLDER, refusal, told
from tests.checker.proof_mutants import mutants
from tests.checker.proof_reasons import reason
from tests.checker.sound import all_proofs
from tests.checker.test_derived import EXAMPLES, derived
from tests.forged import algebra, answers, laws, network_back
from tests.forged.forgery import Forgery
from tests.forged.network import FORGERIES as OF_NETWORKS
from tests.forged.network import Writer
from tests.random_circuits import random_circuit
from tests.reference.test_published import DATA, text_of

ROOT = Path(__file__).parents[2]
FORGERIES = (*laws.FORGERIES, *algebra.FORGERIES, *answers.FORGERIES)
NOT_EXPRESSED = {
    "a definition for another symbol": "a name is the left side of its equation, and nothing else",
    "volts set against ohms": "symbols have no unit of their own in a proof",
    "a_new_current_is_a_voltage": "symbols are of no kind in a proof",
    "the_potential_of_a_point_within_a_row_that_was_drawn_together": (
        "two potentials say nothing, since zero and scale are free; others are those of the circuit"
    ),
}
"""Forgeries that a proof cannot hold, with the reason."""
VALUE = ["quantity", "186/47", [1, -1, 0]]
"""The current I1 of the boat."""
WITHOUT_SOLUTION = (
    "currents that break the junction rule",
    "currents that break the loop rule",
    "currents that break a loop without a current",
)
"""Their circuits contradict themselves, which is seen at the first line."""


@cache
def proof_of(path: Path, *, numbers_first: bool = False) -> str:
    source = Source(path.name, path.read_text("utf-8"))
    return proof.write(prove(source, Options(numbers_first=numbers_first)), source)


def alone(folder: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """Run the checker in a folder that holds its files alone, without what is installed."""
    command = [sys.executable, "-I", "-S", "__main__.py", *arguments]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


@pytest.fixture
def away(tmp_path: Path) -> Path:
    for name in FILES:
        shutil.copy(FOLDER / name, tmp_path)
    return tmp_path


# --- by itself -----------------------------------------------------------------------------------


@pytest.mark.parametrize("name", FILES)
def test_it_uses_the_standard_library_alone_and_is_short(name: str) -> None:
    text = (FOLDER / name).read_text("utf-8")
    assert text.count("\n") < 400
    for node in ast.walk(ast.parse(text)):
        names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
        names += [str(node.module)] if isinstance(node, ast.ImportFrom) else []
        assert {found.split(".")[0] for found in names} <= sys.stdlib_module_names


def test_it_runs_away_from_the_repository(away: Path) -> None:
    text = proof_of(ROOT / "examples" / "boat_batteries.circuit")
    (away / "boat.proof.json").write_text(text, "utf-8")
    ended = alone(away, "boat.proof.json")
    assert (ended.returncode, ended.stderr) == (0, "")
    assert ended.stdout.startswith("accepted: ")
    assert ended.stdout.endswith("Not covered by this checker: 0.\n")
    (away / "boat.proof.json").write_text(text.replace('"186/47"', '"187/47"', 1), "utf-8")
    ended = alone(away, "boat.proof.json")
    assert (ended.returncode, ended.stderr) == (1, "")
    assert (
        "line 21 (put in values): it does not follow from the lines that it cites" in ended.stdout
    )


def test_a_proof_is_written_from_python(tmp_path: Path) -> None:
    solution = derive.solve("I: A (-E1 r1+) B (R1) A\nE1 = 9 V; r1 = 0.5 ohm")
    file = solution.write(tmp_path / "x.proof.json")
    assert CHECKER.main([str(file)]) == 0
    solution.write(file)  # it is ours
    file.write_text('{"my": "own"}', "utf-8")
    with pytest.raises(FileExistsError):
        solution.write(file)


def test_what_cannot_be_read_is_said(away: Path) -> None:
    (away / "text").write_text("no proof", "utf-8")
    (away / "bytes").write_bytes(b"\xff\xfe")
    (away / "other.json").write_text('{"proof": 7}', "utf-8")
    (away / "deep.json").write_text("[" * 100_000, "utf-8")
    for name in ("text", "bytes", "other.json", "deep.json", "missing", "."):
        ended = alone(away, name)
        assert ended.returncode == 2
        assert f"{name} cannot be read: " in ended.stderr
        assert "Traceback" not in ended.stderr
    assert alone(away).returncode == 2


def test_broken_proofs_are_refused_in_words(tmp_path: Path, capsys: Any) -> None:
    """Whatever stands in the file: no exception leaves the checker."""
    whole = json.loads(proof_of(ROOT / "examples" / "garden_lights.circuit"))
    rng = random.Random(7)
    file = tmp_path / "x.proof.json"
    for _ in range(60):
        data = json.loads(json.dumps(whole))
        place: Any = data
        for _ in range(rng.randint(1, 7)):
            if not isinstance(place, dict | list) or not place:
                break
            key = rng.choice(list(place)) if isinstance(place, dict) else rng.randrange(len(place))
            if rng.random() < 0.4:
                place[key] = rng.choice([None, 3, -1, 2.5, "R1", "", [], {}, [[]], True, ["+", 1]])
                break
            place = place[key]
        file.write_text(json.dumps(data), "utf-8")
        assert CHECKER.main([str(file)]) in (0, 1, 2)
    assert "refused: " in capsys.readouterr().out


# --- what is true --------------------------------------------------------------------------------


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_an_example_is_accepted(path: Path, tmp_path: Path, capsys: Any) -> None:
    for numbers_first in (False, True) if len(path.stem) % 4 == 0 else (False,):
        file = tmp_path / "x.proof.json"
        file.write_text(proof_of(path, numbers_first=numbers_first), "utf-8")
        assert CHECKER.main([str(file)]) == 0
        assert "Not covered by this checker: 0." in capsys.readouterr().out


@pytest.mark.parametrize("seed", range(6))
def test_random_circuits_are_accepted(seed: int) -> None:
    rng = random.Random(seed)
    circuit = random_circuit(rng, loops=(1, 5))
    assert not refusal(told(circuit, derived(circuit, numbers_first=bool(seed % 2))))


@pytest.mark.parametrize("seed", range(6))
def test_random_circuits_of_all_parts_are_accepted(seed: int) -> None:
    rng = random.Random(seed)
    made = random_parts.scene(rng)
    if seed % 3 == 0:
        made = random_parts.with_dependent_sources(made, rng)
    proved = prove(Source("x", made.text), Options(numbers_first=bool(seed % 2)))
    assert not refusal(told(proved.circuit, proved.derivation))


def test_every_kind_of_step_has_a_line_that_is_checked() -> None:
    assert KINDS.keys() == set(_kinds(Step))
    known = {*CHECKER.HANDLERS, *CHECKER.ALGEBRA, *CHECKER.OF_PARTS}
    own = {"name", "change", "given", "known current", "rounding", "answer", "remark"}
    assert set(KINDS.values()) == known | own


def _kinds(union: Any) -> list[type]:
    members = getattr(union, "__args__", ())
    return [kind for member in members for kind in _kinds(member)] if members else [union]


# --- what is false -------------------------------------------------------------------------------


@pytest.mark.parametrize("forgery", FORGERIES, ids=lambda forgery: forgery.name)
def test_a_forgery_is_refused(forgery: Forgery) -> None:
    fault = refusal(told(forgery.circuit, forgery.derivation))
    if forgery.name in NOT_EXPRESSED:
        assert not fault
        return
    assert fault
    if forgery.name in WITHOUT_SOLUTION:
        return
    whole = forgery.step == len(forgery.derivation.steps)
    assert fault.startswith("the proof" if whole else f"line {forgery.step} ")


@pytest.mark.parametrize("write", [w for w, _ in OF_NETWORKS], ids=lambda write: write.__name__)
def test_a_forged_network_is_refused(write: Writer) -> None:
    draft = write()
    fault = refusal(told(draft.circuit, Derivation(tuple(draft.steps))))
    expressed = write.__name__ not in NOT_EXPRESSED
    assert fault.startswith(f"line {len(draft.steps) - 1} ") == expressed, fault


def test_what_the_forged_networks_begin_with_holds() -> None:
    draft, *_ = network_back.reduced()
    assert refusal(told(draft.circuit, Derivation(tuple(draft.steps)))).startswith("the proof: ")


@pytest.mark.parametrize("sound", list(all_proofs()), ids=lambda found: found.name)
def test_a_changed_line_is_refused(sound: Any) -> None:
    data = told(sound.circuit, sound.derivation)
    assert not refusal(data)
    _refuse_changes(data, 0, 151)


@pytest.mark.parametrize(
    ("name", "stride"),
    [("flash_charging", 701), ("kitchen_scale", 1201), ("lantern_frame", 2001), ("dimmer", 701)],
)
def test_a_changed_line_of_an_example_is_refused(name: str, stride: int) -> None:
    path = ROOT / "examples" / f"{name}.circuit"
    proved = prove(Source(path.name, path.read_text("utf-8")))
    _refuse_changes(told(proved.circuit, proved.derivation), 5, stride)


def _refuse_changes(data: Any, start: int, stride: int) -> None:
    refused = 0
    for mutant in islice(mutants(data), start, None, stride):
        if refusal({**data, "lines": mutant.lines}):
            refused += 1
            continue
        why = reason(mutant, data)
        assert why, f"accepted: {mutant.place}\n{mutant.old}\n{mutant.new}"
    assert refused


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda d: d["states"].reverse(), "changes in another way"),
        (lambda d: d["switching"]["changes"].pop(), "an answer is left out"),
        (lambda d: d["switching"]["closes"].append("S9"), "there is no such switch"),
        (lambda d: d["switching"].update(closes=[], opens=[]), "changes in another way"),
        (lambda d: d["switching"]["changes"][0]["equation"].reverse(), "something else"),
        (lambda d: d["states"].pop(), "are compared"),
        (lambda d: d["source"].update(text="x"), "the text is another one"),
        (lambda d: d["states"][0]["circuit"]["values"].popitem(), "line "),
    ],
)
def test_two_states_that_do_not_fit_are_refused(
    change: Any, said: str, tmp_path: Path, capsys: Any
) -> None:
    data = json.loads(proof_of(ROOT / "examples" / "stairwell.circuit"))
    change(data)
    file = tmp_path / "x.proof.json"
    file.write_text(json.dumps(data), "utf-8")
    assert CHECKER.main([str(file)]) == 1
    assert said in capsys.readouterr().out


@pytest.mark.parametrize(
    ("line", "said"),
    [
        # True of the circuit, but no law, and it follows from nothing.
        ({"kind": "part", "equation": ["I1", VALUE]}, "no law of one part"),
        ({"kind": "same current", "equation": ["I1", VALUE]}, "no law of one part"),
        ({"kind": "part", "equation": ["I3", ["+", "I1", "I2"]]}, "no law of one part"),
        ({"kind": "collect", "equation": ["I1", VALUE], "sum": [], "replacing": []}, "nothing"),
        ({"kind": "remark", "equation": ["I1", VALUE]}, "no line of its kind"),
        ({"kind": "given", "equation": ["I1", VALUE]}, "the author says something else"),
        ({"kind": "left between", "equation": ["I1", VALUE]}, "no network has been begun"),
        # A name that would hide what a symbol means.
        ({"kind": "name", "equation": ["E1", ["number", "1"]]}, "has a meaning already"),
        ({"kind": "name", "equation": ["V(C,A)", ["number", "1"]]}, "is no name"),
        ({"kind": "course", "equation": ["v(R1)", "E1"], "time": "E1"}, "the name of something"),
        ({"kind": "believe", "equation": ["I1", VALUE]}, "no kind of line"),
    ],
)
def test_a_true_line_without_a_reason_is_refused(line: Any, said: str) -> None:
    data = json.loads(proof_of(ROOT / "examples" / "boat_batteries.circuit"))["states"][0]
    assert not refusal(data)
    fault = refusal({**data, "lines": [line, *data["lines"]]})
    assert fault.startswith(f"line 0 ({line['kind']})")
    assert said in fault


EQUAL_BY_NUMBERS = """I1: A (-E1 r1+) B
I2: A (-E2 r2+) B
I3: B (R1) A
E1, E2 = 3 V; r1, r2 = 2 ohm; R1 = 10 ohm
ask currents
"""


@pytest.mark.parametrize("numbers_first", [False, True], ids=["letters", "numbers"])
@pytest.mark.parametrize(
    "case", [*DATA["cases"], None], ids=lambda case: case["id"] if case else "own"
)
def test_a_published_case_is_accepted(case: dict[str, Any] | None, numbers_first: bool) -> None:
    """The circuits of `reference/published.json`; equal batteries that only their values show."""
    source = Source("case", text_of(case)[0] if case else EQUAL_BY_NUMBERS)
    proved = prove(source, Options(numbers_first=numbers_first))
    assert not refusal(told(proved.circuit, proved.derivation))
